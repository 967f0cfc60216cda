//! Two readings of one text side by side: the rows that they work otherwise.

use loops::Op;
use reading::{PieceReading, Reading};
use wording::Terms;

use crate::app::wire::RowChange;
use crate::rows::worked;

/// The most rows that are shown side by side.
const SHOWN: usize = 24;

/// The rows of `after` that are not worked as in `before`, and those that only one of them has.
pub fn rows_changed(before: &Reading, after: &Reading, terms: Terms) -> Vec<RowChange> {
    let count = before.pieces.len().max(after.pieces.len());
    let pieces = (0..count).flat_map(|piece| {
        let changed = changed(before.pieces.get(piece), after.pieces.get(piece));
        changed.into_iter().map(move |(one, other)| (piece, one, other))
    });
    let told = |piece: &Reading, index: usize, row: Option<usize>| match (piece.pieces.get(index), row) {
        (Some(piece), Some(row)) => worked(piece, row, terms),
        _ => String::new(),
    };
    pieces
        .take(SHOWN)
        .map(|(piece, one, other)| RowChange {
            piece: piece as u32,
            label: label(before, piece, one).or_else(|| label(after, piece, other)).unwrap_or_default(),
            before_written: told(before, piece, one),
            after_written: told(after, piece, other),
        })
        .collect()
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
