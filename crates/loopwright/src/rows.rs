//! The rows of a piece as a compact table: number, side, stitches before and after, what is worked.

use std::fmt::Write as _;

use loops::{Op, Side, Worked, WorkedRow};
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
    for row in rows {
        let side = match row.side {
            _ if !is_flat => "",
            Side::Right => " RS",
            Side::Wrong => " WS",
        };
        let stitches = format!("{:>count$} → {:>count$}", row.before, row.after);
        let _ = writeln!(out, "  {:>label$}{side}  {stitches}  {}", row.label, worked(row, terms));
    }
    out
}

fn worked(row: &WorkedRow, terms: Terms) -> String {
    let ops: Vec<Op> = row.ops.iter().map(|stitch| stitch.op).collect();
    sentence(&fold(&ops, row.before, Width::Fixed), terms)
}

fn digits(count: u32) -> usize {
    count.to_string().len()
}
