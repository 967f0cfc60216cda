//! The rows that two readings work otherwise, cut out of the piece with a few around them, before and after.
//!
//! Knows programs; not how they are drawn.

use std::ops::Range;

use loops::Piece;
use reading::PieceReading;

/// Rows around those that differ, in a chart: enough to see how they sit on each other.
const IN_CHART: usize = 1;
/// The same in a cloth, whose edges curl and draw in.
const IN_CLOTH: usize = 6;
/// The most rows that are cut out; of more, the first are taken.
const LONGEST: usize = 24;

/// Rows before and after.
#[derive(Clone, Debug, PartialEq)]
pub struct Patch {
    /// As they would be without; nothing where there are none.
    pub before: Option<Cut>,
    /// As they would be with it.
    pub after: Option<Cut>,
}

/// Rows of a piece.
#[derive(Clone, Debug, PartialEq)]
pub struct Cut {
    /// For a chart.
    pub chart: Piece,
    /// Those rows of the chart that differ.
    pub changed: Range<usize>,
    /// For a cloth.
    pub cloth: Piece,
}

impl Patch {
    /// Cuts out the rows that differ.
    pub fn of(
        [before, after]: [Option<&PieceReading>; 2],
        [ours, theirs]: [Range<usize>; 2],
    ) -> Option<Patch> {
        let (before, after) = (Cut::of(before, ours), Cut::of(after, theirs));
        (before.is_some() || after.is_some()).then_some(Patch { before, after })
    }
}

impl Cut {
    fn of(piece: Option<&PieceReading>, changed: Range<usize>) -> Option<Cut> {
        let piece = piece?;
        let changed = changed.start..changed.end.min(changed.start + LONGEST);
        let start = changed.start.saturating_sub(IN_CHART);
        Some(Cut {
            chart: rows(piece, &changed, IN_CHART)?,
            changed: changed.start - start..changed.end - start,
            cloth: rows(piece, &changed, IN_CLOTH)?,
        })
    }
}

/// Some rows with so many around them, as a piece of its own on the stitches that the row before left.
fn rows(reading: &PieceReading, changed: &Range<usize>, around: usize) -> Option<Piece> {
    let piece = &reading.piece;
    let end = (changed.end + around).min(piece.rows.len()).min(reading.worked.rows.len());
    let start = changed.start.saturating_sub(around);
    let rows = piece.rows.get(start..end).filter(|rows| !rows.is_empty())?;
    Some(Piece::of_rows(piece.worked, reading.worked.rows[start].before, rows.to_vec()))
}
