//! The rows of a piece as a compact table: number, side, stitches before and after, what is worked.

use std::fmt::Write as _;

use loops::{Fault, FaultKind, Op, Side, Worked};
use reading::PieceReading;
use wording::{Terms, Width, fold, sentence, write};

/// The widest label that takes part in lining the table up.
const LABEL: usize = 12;

/// The cast-on and the rows, one a line.
pub fn table(piece: &PieceReading, terms: Terms) -> String {
    let mut out = write(&piece.piece, terms).cast_on;
    out.push('\n');
    let rows = &piece.worked.rows;
    let label = rows.iter().map(|row| row.label.chars().count()).max().unwrap_or(0).min(LABEL);
    let count = rows.iter().map(|row| digits(row.before).max(digits(row.after))).max().unwrap_or(1);
    let is_flat = piece.piece.worked == Worked::Flat;
    for (index, row) in rows.iter().enumerate() {
        let side = match row.side {
            _ if !is_flat => "",
            Side::Right => " RS",
            Side::Wrong => " WS",
        };
        let stitches = format!("{:>count$} → {:>count$}", row.before, row.after);
        let _ = writeln!(out, "  {:>label$}{side}  {stitches}  {}", row.label, worked(piece, index, terms));
    }
    out
}

/// What is worked in one row, in words.
pub fn worked(piece: &PieceReading, index: usize, terms: Terms) -> String {
    let is_too_long = |fault: &Fault| fault.row == index && fault.kind == FaultKind::RowTooLong;
    match piece.worked.rows.get(index) {
        Some(row) if !piece.worked.faults.iter().any(is_too_long) => {
            let ops: Vec<Op> = row.ops.iter().map(|stitch| stitch.op).collect();
            sentence(&fold(&ops, row.before, Width::Fixed), terms)
        }
        _ => "Too long to write out".to_owned(),
    }
}

fn digits(count: u32) -> usize {
    count.to_string().len()
}
