//! Pieces from rows of tokens, for all tests of the chart.

use chart::{Chart, Options};
use loops::{Piece, Row, Side, Worked, parse_tokens};

/// A piece from rows such as `1 R k*3 yo`: label, side, tokens.
pub fn piece(cast_on: u32, worked: Worked, rows: &str) -> Piece {
    let rows = rows.lines().map(str::trim).filter(|line| !line.is_empty()).map(|line| {
        let mut parts = line.splitn(3, ' ');
        let (label, side, ops) =
            (parts.next().unwrap_or(""), parts.next().unwrap_or(""), parts.next().unwrap_or(""));
        let side = if side == "W" { Side::Wrong } else { Side::Right };
        Row::of(label, side, &parse_tokens(ops).expect("tokens"))
    });
    Piece::of_rows(worked, cast_on, rows.collect())
}

/// Lays a piece out with the usual options.
#[allow(dead_code, reason = "each test file uses some of the helpers")]
pub fn chart(cast_on: u32, worked: Worked, rows: &str) -> Chart {
    Chart::of(&piece(cast_on, worked, rows), &Options::default()).expect("small enough")
}
