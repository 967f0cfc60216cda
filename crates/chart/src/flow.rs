//! The flow of stitches from row to row, as seen from the right side.
//!
//! Each row becomes one run of cells from left to right, without gaps; each cell knows which columns of the run
//! below it grew from. Nothing is placed yet. Short rows are followed: after a turn the next row starts where
//! the work was turned, and stitches not worked rest in their places.
//!
//! ```text
//! live before   1 2 3 4 5 6        right side, worked from the right: k2tog yo k2 turn
//! run of cells  ~ ~ | . . o /      two unworked, the turn, four worked; / grew from 5 and 6
//! ```

use loops::{Op, Side, WorkedRow, tally};

/// A cell of a run, before it has a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Loose {
    /// The operation as worked; `None` for a stitch that rests.
    pub op: Option<Op>,
    /// Columns it fills; none for a turn.
    pub width: usize,
    /// First and last column of the run below that it grew from.
    pub from: Option<(usize, usize)>,
}

/// The live stitches and where the next row starts.
pub(crate) struct Flow {
    /// The run column of each live stitch, from left to right.
    live: Vec<usize>,
    /// The place between live stitches where the work was turned.
    turned_at: Option<usize>,
}

/// How the live stitches fall apart in a row: resting on the left, taken, resting on the right.
struct Split {
    low: usize,
    high: usize,
    /// Stitches taken that are not there, to the left of `low`.
    missing_left: usize,
}

impl Flow {
    pub(crate) fn new(cast_on: usize) -> Flow {
        Flow { live: (0..cast_on).collect(), turned_at: None }
    }

    /// Works one row and gives its run of cells.
    pub(crate) fn row(&mut self, row: &WorkedRow) -> Vec<Loose> {
        let sum = tally(&row.ops);
        let split = self.split(row.side, sum.takes as usize);
        let mut run = Run::default();
        run.rest(&self.live[..split.low]);
        let left = run.live.len();
        let mut taken = split.low as isize - split.missing_left as isize;
        let mut work = |op: Op| {
            let next = taken + op.takes() as isize;
            run.work(op, parents(&self.live, taken.max(split.low as isize), next.min(split.high as isize)));
            taken = next;
        };
        match row.side {
            Side::Right => row.ops.iter().rev().for_each(|stitch| work(stitch.op)),
            Side::Wrong => row.ops.iter().for_each(|stitch| work(stitch.op)),
        }
        let right = run.live.len();
        run.rest(&self.live[split.high..]);
        self.turned_at = None;
        self.live = run.live;
        match (row.side, sum.turns) {
            (Side::Right, true) => self.turned_at = Some(left),
            (Side::Wrong, true) => self.turned_at = Some(right),
            (Side::Right, false) => drop(self.live.drain(..left)),
            (Side::Wrong, false) => self.live.truncate(right),
        }
        run.cells
    }

    fn split(&self, side: Side, takes: usize) -> Split {
        let all = self.live.len();
        let turned_at = self.turned_at.unwrap_or(match side {
            Side::Right => all,
            Side::Wrong => 0,
        });
        match side {
            Side::Right => {
                let high = if takes > turned_at { all } else { turned_at };
                let low = high.saturating_sub(takes);
                Split { low, high, missing_left: takes - (high - low) }
            }
            Side::Wrong => {
                let low = if takes > all - turned_at { 0 } else { turned_at };
                Split { low, high: (low + takes).min(all), missing_left: 0 }
            }
        }
    }
}

fn parents(live: &[usize], from: isize, to: isize) -> Option<(usize, usize)> {
    let from = usize::try_from(from).ok()?;
    let last = usize::try_from(to).ok()?.checked_sub(1)?;
    (from <= last).then(|| Some((*live.get(from)?, *live.get(last)?)))?
}

#[derive(Default)]
struct Run {
    cells: Vec<Loose>,
    live: Vec<usize>,
    width: usize,
}

impl Run {
    fn rest(&mut self, stitches: &[usize]) {
        for &stitch in stitches {
            self.live.push(self.width);
            self.push(Loose { op: None, width: 1, from: Some((stitch, stitch)) });
        }
    }

    fn work(&mut self, op: Op, from: Option<(usize, usize)>) {
        let makes = op.makes() as usize;
        self.live.extend(self.width..self.width + makes);
        self.push(Loose { op: Some(op), width: columns_of(op), from });
    }

    fn push(&mut self, cell: Loose) {
        self.width += cell.width;
        self.cells.push(cell);
    }
}

/// Columns that an operation fills: one for each stitch it makes, one where it makes none, none for a turn.
pub(crate) fn columns_of(op: Op) -> usize {
    if op == Op::Turn { 0 } else { op.makes().max(1) as usize }
}

#[cfg(test)]
mod tests {
    use loops::parse_tokens;
    use span::Span;

    use super::*;

    fn row(side: Side, ops: &str) -> WorkedRow {
        let ops = parse_tokens(ops).expect("tokens");
        WorkedRow { label: String::new(), side, before: 0, ops, after: 0, span: Span::DETACHED }
    }

    fn shown(cells: &[Loose]) -> String {
        let name = |cell: &Loose| cell.op.map_or("~".to_owned(), |op| op.to_string());
        cells.iter().map(name).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn a_right_side_row_runs_from_the_right() {
        let mut flow = Flow::new(4);
        let cells = flow.row(&row(Side::Right, "k2tog yo k*2"));
        assert_eq!(shown(&cells), "k k yo k2tog");
        assert_eq!(cells[3].from, Some((2, 3)));
        assert_eq!(cells[2].from, None);
    }

    #[test]
    fn after_a_turn_the_next_row_starts_where_the_work_was_turned() {
        let mut flow = Flow::new(6);
        assert_eq!(shown(&flow.row(&row(Side::Right, "k*4 turn"))), "~ ~ turn k k k k");
        assert_eq!(shown(&flow.row(&row(Side::Wrong, "p*2 turn"))), "~ ~ p p turn ~ ~");
        let back = flow.row(&row(Side::Right, "k*3 turn"));
        assert_eq!(shown(&back), "~ turn k k k ~ ~");
        assert_eq!(shown(&flow.row(&row(Side::Wrong, "p*6"))), "p p p p p p");
    }

    #[test]
    fn a_row_that_takes_too_many_leaves_its_last_stitches_without_parents() {
        let mut flow = Flow::new(2);
        let cells = flow.row(&row(Side::Right, "k*3"));
        assert_eq!(
            cells.iter().map(|cell| cell.from).collect::<Vec<_>>(),
            [None, Some((0, 0)), Some((1, 1))]
        );
    }

    #[test]
    fn a_row_that_takes_too_few_shows_the_rest_once() {
        let mut flow = Flow::new(3);
        assert_eq!(shown(&flow.row(&row(Side::Right, "k*2"))), "~ k k");
        assert_eq!(shown(&flow.row(&row(Side::Wrong, "p*2"))), "p p");
    }
}
