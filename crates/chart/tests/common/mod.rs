//! Pieces from rows of tokens, for all tests of the chart.

use chart::{Chart, Options};
use loops::{Piece, Row, Side, Step, Stitch, Worked, parse_tokens};
use span::Span;

/// A piece from rows such as `1 R k*3 yo`: label, side, tokens.
pub fn piece(cast_on: u32, worked: Worked, rows: &str) -> Piece {
    let rows = rows.lines().map(str::trim).filter(|line| !line.is_empty()).map(|line| {
        let mut parts = line.splitn(3, ' ');
        let (label, side, ops) =
            (parts.next().unwrap_or(""), parts.next().unwrap_or(""), parts.next().unwrap_or(""));
        row(label, if side == "W" { Side::Wrong } else { Side::Right }, &parse_tokens(ops).expect("tokens"))
    });
    of_rows(cast_on, worked, rows.collect())
}

pub fn row(label: &str, side: Side, ops: &[Stitch]) -> Row {
    let steps = ops.iter().map(|stitch| Step::Work(stitch.op, stitch.span)).collect();
    Row { label: label.to_owned(), side, steps, span: Span::DETACHED }
}

pub fn of_rows(cast_on: u32, worked: Worked, rows: Vec<Row>) -> Piece {
    Piece {
        name: None,
        worked,
        first_side: Side::Right,
        cast_on,
        multiple: None,
        needles: Vec::new(),
        once: 0,
        rows,
    }
}

/// Lays a piece out with the usual options.
#[allow(dead_code, reason = "each test file uses some of the helpers")]
pub fn chart(cast_on: u32, worked: Worked, rows: &str) -> Chart {
    Chart::of(&piece(cast_on, worked, rows), &Options::default()).expect("small enough")
}
