//! Pieces made from tokens, for all tests.

use loops::{Piece, Row, Side, Step, Worked, parse_tokens, side_of};
use span::Span;

/// A row from tokens.
fn row(label: &str, side: Side, ops: &str) -> Row {
    let stitches = parse_tokens(ops).expect("tokens of the tests are good");
    let steps = stitches.into_iter().map(|stitch| Step::Work(stitch.op, stitch.span)).collect();
    Row { label: label.to_owned(), side, steps, span: Span::DETACHED }
}

/// A piece from labels and tokens, its sides in turn.
pub fn piece(worked: Worked, first_side: Side, cast_on: u32, rows: &[(&str, &str)]) -> Piece {
    let rows = rows.iter().enumerate();
    Piece {
        name: None,
        worked,
        first_side,
        cast_on,
        multiple: None,
        needles: Vec::new(),
        once: 0,
        rows: rows.map(|(index, (label, ops))| row(label, side_of(worked, first_side, index), ops)).collect(),
    }
}
