//! The faults of a reading, in words: rows that cannot be worked as read, and counts that disagree with the text.

use loops::{Fault, FaultKind};
use reading::{PieceReading, Reading};
use span::Span;

use crate::checked::row_word;

/// A fault with its words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FoundFault {
    /// A short stable name.
    pub code: &'static str,
    /// Index of the piece.
    pub piece: usize,
    /// Index of the row in the piece.
    pub row: usize,
    /// The printed number of the row, or its name.
    pub label: String,
    /// The words at fault.
    pub span: Span,
    /// The row in words: "row 7".
    pub place: String,
    /// What is wrong with it, to be read after the place.
    pub message: String,
    /// What to look for.
    pub help: String,
}

/// All faults, piece by piece.
pub fn faults(reading: &Reading) -> Vec<FoundFault> {
    reading.pieces.iter().enumerate().flat_map(|(index, piece)| piece_faults(index, piece)).collect()
}

fn piece_faults(index: usize, piece: &PieceReading) -> Vec<FoundFault> {
    let worked = piece.worked.faults.iter().map(|fault| of_fault(index, piece, fault));
    let counts = (0..piece.plan.rows.len()).filter_map(|row| of_count(index, piece, row));
    let mut all: Vec<FoundFault> = worked.chain(counts).collect();
    all.sort_by_key(|fault| fault.row);
    all
}

fn of_fault(index: usize, piece: &PieceReading, fault: &Fault) -> FoundFault {
    let label = label(piece, fault.row);
    let (message, help) = match fault.kind {
        FaultKind::RowShort { takes, on_needle } => (
            format!("takes {}, and {on_needle} are on the needle", stitches(takes)),
            format!(
                "{} left over: look for a number too small, or words left out",
                are(on_needle.saturating_sub(takes))
            ),
        ),
        FaultKind::RowLong { takes, on_needle } => (
            format!("takes {}, and only {on_needle} are on the needle", stitches(takes)),
            format!(
                "{} wanting: look for a number too large, or words set twice",
                are(takes.saturating_sub(on_needle))
            ),
        ),
        FaultKind::HolderEmpty { missing } => (
            format!("takes {} from a holder that has not so many", stitches(missing)),
            "look for the row that should have put them there".to_owned(),
        ),
        FaultKind::RowTooLong => {
            ("is too long to be worked".to_owned(), "look for a number of times that is too large".to_owned())
        }
    };
    let place = place(piece, &label);
    FoundFault {
        code: fault.kind.code(),
        piece: index,
        row: fault.row,
        label,
        span: fault.span,
        place,
        message,
        help,
    }
}

/// A count that the text states and the rows do not bear out. Where several needles hold the stitches, the text
/// may mean each of them.
fn of_count(index: usize, piece: &PieceReading, row: usize) -> Option<FoundFault> {
    let (stated, span) = piece.plan.rows.get(row)?.stated?;
    let after = piece.worked.rows.get(row)?.after;
    let needles = piece.piece.needles.len().max(1);
    let is_borne_out = after == stated || u64::from(after) == u64::from(stated) * needles as u64;
    (!is_borne_out).then(|| {
        let label = label(piece, row);
        let message = format!("is said to leave {}, and leaves {after}", stitches(stated));
        let help = "look for a misprint in this number, or in the rows before it".to_owned();
        let place = place(piece, &label);
        FoundFault { code: "count-differs", piece: index, row, label, span, place, message, help }
    })
}

fn place(piece: &PieceReading, label: &str) -> String {
    format!("{} {label}", row_word(piece))
}

fn label(piece: &PieceReading, row: usize) -> String {
    piece.piece.rows.get(row).map_or_else(String::new, |row| row.label.clone())
}

fn stitches(count: u32) -> String {
    if count == 1 { "1 stitch".to_owned() } else { format!("{count} stitches") }
}

fn are(count: u32) -> String {
    format!("{} {}", stitches(count), if count == 1 { "is" } else { "are" })
}
