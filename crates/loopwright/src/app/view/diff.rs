//! Two readings of one text side by side: the rows that they work otherwise.

use std::sync::Arc;

use loops::Op;
use reading::{PieceReading, Reading};
use wording::Terms;

use super::patch::Patch;
use crate::app::wire::RowChange;
use crate::rows::worked;

/// The most rows that are shown side by side.
const SHOWN: usize = 24;

/// What differs between two readings.
#[derive(Clone, Debug, Default)]
pub struct Difference {
    /// The rows, told.
    pub rows: Vec<RowChange>,
    /// Those of the first piece that differs, cut out.
    pub patch: Option<Arc<Patch>>,
}

/// A row that differs: of which piece, and its places in the one and in the other.
struct Pair {
    piece: usize,
    one: Option<usize>,
    other: Option<usize>,
    label: String,
}

impl Difference {
    /// The rows of `after` that are not worked as in `before`, and those that only one of them has; where some of them
    /// have the label, these alone.
    pub fn of(before: &Reading, after: &Reading, told_of: Option<&str>, terms: Terms) -> Difference {
        let mut pairs = pairs(before, after);
        if pairs.iter().any(|pair| Some(pair.label.as_str()) == told_of) {
            pairs.retain(|pair| Some(pair.label.as_str()) == told_of);
        }
        pairs.truncate(SHOWN);
        let told =
            |reading: &Reading, piece: usize, row: Option<usize>| match (reading.pieces.get(piece), row) {
                (Some(piece), Some(row)) => worked(piece, row, terms),
                _ => String::new(),
            };
        let rows = pairs.iter().map(|pair| RowChange {
            piece: pair.piece as u32,
            label: pair.label.clone(),
            before_written: told(before, pair.piece, pair.one),
            after_written: told(after, pair.piece, pair.other),
        });
        Difference { rows: rows.collect(), patch: patch(before, after, &pairs).map(Arc::new) }
    }
}

/// The rows of the first piece that differs. Where only one reading has some, the other shows where they would be.
fn patch(before: &Reading, after: &Reading, pairs: &[Pair]) -> Option<Patch> {
    let first = pairs.first()?;
    let of_it = || pairs.iter().filter(|pair| pair.piece == first.piece);
    let start = of_it().filter_map(|pair| pair.one.into_iter().chain(pair.other).min()).min()?;
    let range = |row: fn(&Pair) -> Option<usize>| {
        let rows = || of_it().filter_map(row);
        rows().min().unwrap_or(start)..rows().max().map_or(start, |last| last + 1)
    };
    let readings = [before, after].map(|reading| reading.pieces.get(first.piece));
    Patch::of(readings, [range(|pair| pair.one), range(|pair| pair.other)])
}

fn pairs(before: &Reading, after: &Reading) -> Vec<Pair> {
    let count = before.pieces.len().max(after.pieces.len());
    let of_piece = |piece: usize| {
        let changed = changed(before.pieces.get(piece), after.pieces.get(piece));
        changed.into_iter().map(move |(one, other)| {
            let label = label(before, piece, one).or_else(|| label(after, piece, other));
            Pair { piece, one, other, label: label.unwrap_or_default() }
        })
    };
    (0..count).flat_map(of_piece).collect()
}

fn label(reading: &Reading, piece: usize, row: Option<usize>) -> Option<String> {
    Some(reading.pieces.get(piece)?.worked.rows.get(row?)?.label.clone())
}

/// The places of rows that differ, in the one and in the other.
fn changed(
    before: Option<&PieceReading>,
    after: Option<&PieceReading>,
) -> Vec<(Option<usize>, Option<usize>)> {
    let rows = |piece: Option<&PieceReading>| piece.map_or(0, |piece| piece.worked.rows.len());
    let ops = |piece: Option<&PieceReading>, row: usize| -> Option<Vec<Op>> {
        Some(piece?.worked.rows.get(row)?.ops.iter().map(|stitch| stitch.op).collect())
    };
    // Rows too many or too few stand together: what is before and after them is paired.
    let (ours, theirs) = (rows(before), rows(after));
    let alike = |one: usize, other: usize| ops(before, one) == ops(after, other);
    let least = ours.min(theirs);
    let head = (0..least).take_while(|row| ours == theirs || alike(*row, *row)).count();
    let tail = (0..least - head).take_while(|row| alike(ours - 1 - row, theirs - 1 - row)).count();
    let paired = (0..head).filter(|row| !alike(*row, *row)).map(|row| (Some(row), Some(row)));
    let (mut one, mut other) = (head..ours - tail, head..theirs - tail);
    let middle = std::iter::from_fn(move || match (one.next(), other.next()) {
        (None, None) => None,
        pair => Some(pair),
    });
    paired.chain(middle).collect()
}
