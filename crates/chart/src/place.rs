//! Where each row's run of cells stands among the columns.
//!
//! A run has no gaps, so a row needs but one number, its offset. Idea: of all offsets take those under which the
//! stitches stay most nearly above the ones they grew from (least sum of squared shifts), in no more columns than
//! the widest row needs. Rows are placed one after the other, each as well as the row below allows, from several
//! starts; the best start wins. An edging that is bound off along one edge is set flush along the other.
//!
//! Limits: the rows are not placed all at once, so that a late wide row can push a few rows out of line.

use loops::Op;

use crate::flow::Loose;
use crate::settle::starts;

/// Starts tried: enough for the exact best in common shapings, few enough for wide pieces.
const STARTS: usize = 64;

/// One row's part of a zone.
struct Strip {
    /// Columns it fills.
    width: usize,
    /// Twice the shift that each stitch asks for, against the strip below.
    asked: Vec<i64>,
    /// Where it loses stitches for good.
    loses: Option<Edge>,
}

/// An edge of a zone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Edge {
    Left,
    Right,
}

/// A zone of the chart with the columns of its cells.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Placed {
    pub width: usize,
    /// For each row the first column of each cell, counted from the left of the zone.
    pub columns: Vec<Vec<usize>>,
}

impl Strip {
    /// Takes a part of a row; `below` is the run column where the part under it begins.
    fn new(cells: &[Loose], below: usize) -> Strip {
        let mut strip = Strip { width: 0, asked: Vec::new(), loses: None };
        for cell in cells {
            if let Some((first, last)) = cell.from {
                let parent = (first + last) as i64 - 2 * below as i64;
                let middle = 2 * strip.width as i64 + cell.width.max(1) as i64 - 1;
                strip.asked.push(parent - middle);
            }
            strip.width += cell.width;
        }
        strip.loses = losing_edge(cells, strip.width);
        strip
    }

    /// The shift that most stitches ask for; a draw goes up or down in turn.
    fn wish(&self, up: &mut bool) -> i64 {
        let count = 2 * self.asked.len() as i64;
        if count == 0 {
            return 0;
        }
        let sum: i64 = self.asked.iter().sum();
        let (whole, rest) = (sum.div_euclid(count), sum.rem_euclid(count));
        match (2 * rest).cmp(&count) {
            std::cmp::Ordering::Less => whole,
            std::cmp::Ordering::Greater => whole + 1,
            std::cmp::Ordering::Equal => {
                *up = !*up;
                whole + i64::from(!*up)
            }
        }
    }

    fn cost(&self, shift: i64) -> i64 {
        self.asked.iter().map(|asked| (asked - 2 * shift).pow(2)).sum()
    }
}

/// The edge near which stitches are bound off or put aside, others staying.
fn losing_edge(cells: &[Loose], width: usize) -> Option<Edge> {
    let gone = |cell: &&Loose| matches!(cell.op, Some(Op::Bo | Op::Hold));
    let count = cells.iter().filter(gone).count();
    if count == 0 || count == width {
        return None;
    }
    let (mut at, mut sum) = (0, 0);
    for cell in cells {
        if gone(&cell) {
            sum += 2 * at + 1;
        }
        at += cell.width;
    }
    Some(if sum <= count * width { Edge::Left } else { Edge::Right })
}

/// Places the rows of one zone, each without gaps; `below` tells for each where the part under it begins in
/// its run.
pub(crate) fn place(rows: &[&[Loose]], below: &[usize]) -> Placed {
    let strips: Vec<Strip> = rows.iter().zip(below).map(|(cells, &below)| Strip::new(cells, below)).collect();
    let width = strips.iter().map(|strip| strip.width).max().unwrap_or(0);
    let moved =
        |(cells, offset): (&&[Loose], usize)| starts(cells).iter().map(|start| start + offset).collect();
    Placed { width, columns: rows.iter().zip(offsets(&strips, width)).map(moved).collect() }
}

fn offsets(strips: &[Strip], width: usize) -> Vec<usize> {
    match ragged_edge(strips) {
        Some(Edge::Right) => vec![0; strips.len()],
        Some(Edge::Left) => strips.iter().map(|strip| width - strip.width).collect(),
        None => follow_stitches(strips, width),
    }
}

/// The one edge at which stitches are lost for good.
fn ragged_edge(strips: &[Strip]) -> Option<Edge> {
    let mut edges = strips.iter().filter_map(|strip| strip.loses);
    let first = edges.next()?;
    edges.all(|edge| edge == first).then_some(first)
}

fn follow_stitches(strips: &[Strip], width: usize) -> Vec<usize> {
    let slack = strips.first().map_or(0, |strip| width - strip.width);
    let tries = slack.clamp(1, STARTS - 1);
    (0..=tries)
        .map(|step| follow_from(strips, width, slack * step / tries))
        .min_by_key(|(cost, _)| *cost)
        .map_or_else(Vec::new, |(_, offsets)| offsets)
}

fn follow_from(strips: &[Strip], width: usize, start: usize) -> (i64, Vec<usize>) {
    let (mut cost, mut offset, mut up) = (0, start as i64, false);
    let mut offsets = Vec::with_capacity(strips.len());
    for (row, strip) in strips.iter().enumerate() {
        if row > 0 {
            let wished = offset + strip.wish(&mut up);
            let placed = wished.clamp(0, (width - strip.width) as i64);
            cost += strip.cost(placed - offset);
            offset = placed;
        }
        offsets.push(offset as usize);
    }
    (cost, offsets)
}

#[cfg(test)]
mod tests {
    use loops::{Side, WorkedRow, parse_tokens};
    use span::Span;

    use super::*;
    use crate::flow::Flow;

    /// The first column of each of some right-side rows.
    fn offsets(cast_on: usize, rows: &[&str]) -> Vec<usize> {
        let mut flow = Flow::new(cast_on);
        let run = |text: &&str| {
            let ops = parse_tokens(text).expect("tokens");
            let (label, span) = (String::new(), Span::DETACHED);
            flow.row(&WorkedRow { label, side: Side::Right, before: 0, ops, after: 0, span })
        };
        let runs: Vec<Vec<Loose>> = rows.iter().map(run).collect();
        let rows: Vec<&[Loose]> = runs.iter().map(Vec::as_slice).collect();
        place(&rows, &vec![0; rows.len()]).columns.iter().map(|columns| columns[0]).collect()
    }

    #[test]
    fn decreases_at_both_ends_stay_in_the_middle() {
        assert_eq!(offsets(8, &["k*8", "k2tog k*4 ssk", "k2tog k*2 ssk"]), [0, 1, 2]);
    }

    #[test]
    fn increases_at_both_ends_start_in_the_middle() {
        assert_eq!(offsets(3, &["k*3", "m1 k*3 m1", "m1 k*5 m1"]), [2, 1, 0]);
    }

    #[test]
    fn stitches_cast_on_at_one_end_leave_the_others_in_place() {
        assert_eq!(offsets(4, &["k*4", "k*4 co*3", "k*7"]), [3, 0, 0]);
    }

    #[test]
    fn an_edging_is_flush_along_the_edge_that_is_not_bound_off() {
        assert_eq!(offsets(3, &["k yo k*2", "k yo k*3", "bo*2 k*3"]), [0, 0, 0]);
        assert_eq!(offsets(3, &["k*2 yo k", "k*3 yo k", "k*3 bo*2"]), [1, 0, 0]);
    }
}
