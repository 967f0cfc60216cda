//! Which rows share a line.
//!
//! Three ways, tried in this order over the rows from first to last:
//!
//! 1. a block of rows that was worked before is repeated: "Rows 5–8: Repeat rows 1–4.";
//! 2. one row after another is the same: "Rows 1–6: Knit.";
//! 3. every second row is the same and leaves the count alone: "Rows 2, 4 and 6 (WS): Purl."
//!
//! Rows are the same when their phrases are, so that a star or "to end" may stand for different widths.
//! Invariants (tested): every row is in one line and in one only; lines are in the order of their first rows;
//! rows that share a line, and rows that a line refers to, carry numbers of one section without a gap, and a
//! number that is referred to names one row of the piece only. A section without a name is never referred to
//! from another one.

use std::collections::HashMap;
use std::ops::Range;

use loops::Side;

use crate::label::Label;

/// The longest block that is looked for; more rows than that are written out again. A guess: above any repeat
/// in height of the patterns seen.
const LONGEST_BLOCK: usize = 300;

/// The fewest rows for which the start of a section is referred to again from afar.
const DISTANT_BLOCK: usize = 4;

/// How often a pair must be repeated; fewer times, two lines that name every second row are shorter.
const PAIR_TIMES: usize = 3;

/// What grouping needs to know of a row.
pub(crate) struct RowKind {
    /// The same for rows with the same phrase.
    pub phrase: usize,
    pub side: Side,
    pub label: Label,
    /// Whether the row leaves another count than it found.
    pub shapes: bool,
}

/// Rows that share a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Line {
    /// Rows that are all the same.
    Same(Vec<usize>),
    /// Rows that repeat earlier ones.
    Repeat { rows: Range<usize>, of: Range<usize>, times: usize },
}

impl Line {
    fn first(&self) -> usize {
        match self {
            Line::Same(rows) => rows.first().copied().unwrap_or(0),
            Line::Repeat { rows, .. } => rows.start,
        }
    }
}

/// Groups the rows of a piece.
pub(crate) fn group(rows: &[RowKind]) -> Vec<Line> {
    let mut lines = Vec::new();
    let mut fresh = 0;
    for block in blocks(rows) {
        if let Line::Repeat { rows: range, .. } = &block {
            lines.extend(lines_of_fresh(rows, fresh..range.start));
            fresh = range.end;
        }
        lines.push(block);
    }
    lines.extend(lines_of_fresh(rows, fresh..rows.len()));
    lines.sort_by_key(Line::first);
    lines
}

/// The blocks that repeat earlier rows, in order.
fn blocks(rows: &[RowKind]) -> Vec<Line> {
    let search = Search::new(rows);
    let mut blocks = Vec::new();
    let mut starts: Vec<usize> = Vec::new();
    let mut place = 0;
    while place < rows.len() {
        let begins_section = place == 0 || rows[place - 1].label.section() != rows[place].label.section();
        let after_block = blocks.last().is_some_and(|(_, end)| *end == place);
        if let Some((block, end)) = search.adjacent(place).or_else(|| search.distant(&starts, place)) {
            blocks.push((block, end));
            place = end;
        } else {
            if begins_section || after_block {
                starts.push(place);
            }
            place += 1;
        }
    }
    blocks.into_iter().map(|(block, _)| block).collect()
}

struct Search<'a> {
    rows: &'a [RowKind],
    /// For each row, the first one after it that does not go on with its numbering.
    numbered_to: Vec<usize>,
    /// Whether the label of a row is its alone.
    is_unique: Vec<bool>,
    /// The side on which the section of each row began.
    first_sides: Vec<Side>,
}

impl Search<'_> {
    fn new(rows: &[RowKind]) -> Search<'_> {
        let mut numbered_to: Vec<usize> = (1..=rows.len()).collect();
        for place in (1..rows.len()).rev() {
            if rows[place - 1].label.is_followed_by(&rows[place].label) {
                numbered_to[place - 1] = numbered_to[place];
            }
        }
        let mut seen: HashMap<(&str, Option<u32>), usize> = HashMap::new();
        let key = |row: &'_ RowKind| match &row.label {
            Label::Number { number, .. } => Some(*number),
            Label::Name(_) => None,
        };
        for row in rows {
            *seen.entry((row.label.section(), key(row))).or_default() += 1;
        }
        let is_unique = rows.iter().map(|row| seen[&(row.label.section(), key(row))] == 1).collect();
        let mut first_sides: Vec<Side> = rows.iter().map(|row| row.side).collect();
        for place in 1..rows.len() {
            if rows[place - 1].label.section() == rows[place].label.section() {
                first_sides[place] = first_sides[place - 1];
            }
        }
        Search { rows, numbered_to, is_unique, first_sides }
    }

    /// The block at a place that repeats the rows right before it and covers most, with its end.
    fn adjacent(&self, place: usize) -> Option<(Line, usize)> {
        let mut best: Option<(Line, usize)> = None;
        for length in 2..=LONGEST_BLOCK.min(place).min(self.rows.len() - place) {
            let of = place - length..place;
            if !self.is_same(of.start, place) || self.numbered_to[of.start] <= place || !self.is_block(&of) {
                continue;
            }
            let times = self.times(&of, place);
            let worth = if length == 2 && !self.shapes(&of) { PAIR_TIMES } else { 1 };
            let end = place + times * length;
            if times >= worth && best.as_ref().is_none_or(|(_, known)| end > *known) {
                best = Some((Line::Repeat { rows: place..end, of, times }, end));
            }
        }
        best
    }

    /// The block at a place that repeats most rows from one of the starts, with its end.
    fn distant(&self, starts: &[usize], place: usize) -> Option<(Line, usize)> {
        let room = self.numbered_to[place] - place;
        let blocks = starts.iter().rev().filter_map(|&start| {
            let longest = room.min(self.numbered_to[start].min(place) - start);
            let same = (0..longest).take_while(|&step| self.is_same(start + step, place + step)).count();
            let of = start..start + same;
            let section = self.rows[start].label.section();
            let may_be_named = section == self.rows[place].label.section() || !section.is_empty();
            (same >= DISTANT_BLOCK && may_be_named && self.is_block(&of)).then_some(of)
        });
        let of = blocks.max_by_key(|of| of.len())?;
        let rows = place..place + of.len();
        let end = rows.end;
        Some((Line::Repeat { rows, of, times: 1 }, end))
    }

    /// How often a block stands at a place, one after the other and numbered without a gap.
    fn times(&self, of: &Range<usize>, place: usize) -> usize {
        let room = self.numbered_to[place] - place;
        let same =
            (0..room).take_while(|&step| self.is_same(of.start + step % of.len(), place + step)).count();
        same / of.len()
    }

    fn is_same(&self, a: usize, b: usize) -> bool {
        self.rows[a].phrase == self.rows[b].phrase && self.rows[a].side == self.rows[b].side
    }

    /// Whether rows make a block that can be named: numbers that stand only once, not all rows alike, and the
    /// first no mere continuation of like rows before it. Flat blocks begin on the side that their section does.
    fn is_block(&self, of: &Range<usize>) -> bool {
        let rows = &self.rows[of.clone()];
        let Some(first) = rows.first() else { return false };
        let is_cut = of.start.checked_sub(1).is_some_and(|before| {
            let before = &self.rows[before];
            before.phrase == first.phrase && before.label.is_followed_by(&first.label)
        });
        !is_cut
            && first.side == self.first_sides[of.start]
            && self.is_unique[of.clone()].iter().all(|&unique| unique)
            && rows.iter().any(|row| row.phrase != first.phrase)
    }

    fn shapes(&self, of: &Range<usize>) -> bool {
        self.rows[of.clone()].iter().any(|row| row.shapes)
    }
}

/// The lines of rows that repeat no earlier block.
fn lines_of_fresh(rows: &[RowKind], fresh: Range<usize>) -> Vec<Line> {
    let mut lines = Vec::new();
    let mut is_done = vec![false; fresh.len()];
    for place in fresh.clone() {
        if is_done[place - fresh.start] {
            continue;
        }
        let run = run_from(rows, place, fresh.end);
        let members = if run.len() > 1 { run } else { every_second_from(rows, place, fresh.end) };
        // A row of an earlier line cuts the new one short.
        let members: Vec<usize> = members.into_iter().take_while(|row| !is_done[row - fresh.start]).collect();
        members.iter().for_each(|row| is_done[row - fresh.start] = true);
        lines.push(Line::Same(members));
    }
    lines
}

/// Like rows one after another, the sides all the same or in turn.
fn run_from(rows: &[RowKind], place: usize, end: usize) -> Vec<usize> {
    let turns = place + 1 < end && rows[place].side != rows[place + 1].side;
    let goes_on = |&row: &usize| {
        let (last, next) = (&rows[row - 1], &rows[row]);
        last.phrase == next.phrase
            && last.label.is_followed_by(&next.label)
            && (last.side != next.side) == turns
    };
    std::iter::once(place).chain((place + 1..end).take_while(goes_on)).collect()
}

/// Like rows with one other between each two.
fn every_second_from(rows: &[RowKind], place: usize, end: usize) -> Vec<usize> {
    let goes_on = |&row: &usize| {
        let [last, between, next] = [&rows[row - 2], &rows[row - 1], &rows[row]];
        last.phrase == next.phrase
            && last.side == next.side
            && !last.shapes
            && !next.shapes
            && last.label.is_followed_by(&between.label)
            && between.label.is_followed_by(&next.label)
    };
    std::iter::once(place).chain((place + 2..end).step_by(2).take_while(goes_on)).collect()
}
