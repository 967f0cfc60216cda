//! Programs to plan with.
#![allow(dead_code, reason = "each test file uses some of these")]
#![allow(clippy::unwrap_used, reason = "a helper of tests")]

use loops::{Piece, Side, Worked};

/// A flat piece of rows given as tokens.
pub fn flat(name: &str, cast_on: u32, rows: &[&str]) -> Piece {
    piece(name, Worked::Flat, cast_on, rows)
}

/// A piece of rows given as tokens.
pub fn piece(name: &str, worked: Worked, cast_on: u32, rows: &[&str]) -> Piece {
    let piece = Piece::of_tokens(worked, Side::Right, cast_on, rows).unwrap();
    Piece { name: Some(name.to_owned()), ..piece }
}

/// Garter of so many stitches and rows.
pub fn garter(name: &str, stitches: u32, rows: usize) -> Piece {
    let row = format!("k*{stitches}");
    flat(name, stitches, &vec![row.as_str(); rows])
}

/// Plain fabric of so many stitches and rows.
pub fn plain(name: &str, stitches: u32, rows: usize) -> Piece {
    let both = [format!("k*{stitches}"), format!("p*{stitches}")];
    let rows: Vec<&str> = (0..rows).map(|row| both[row % 2].as_str()).collect();
    flat(name, stitches, &rows)
}

/// A pointed edging of twenty rows, with holes; own work.
pub fn points(name: &str) -> Piece {
    let rows = [
        "slp k*2 yo k2tog yo k*2",
        "k*8",
        "slp k*2 yo k2tog k yo k*2",
        "k*9",
        "slp k*2 yo k2tog k*2 yo k*2",
        "k*10",
        "slp k*2 yo k2tog k*3 yo k*2",
        "k*11",
        "slp k*2 yo k2tog k*4 yo k*2",
        "k*12",
        "slp k*2 yo k2tog k*5 yo k*2",
        "k*13",
        "slp k*2 yo k2tog k*3 k2tog yo k2tog k",
        "k*12",
        "slp k*2 yo k2tog k*2 k2tog yo k2tog k",
        "k*11",
        "slp k*2 yo k2tog k k2tog yo k2tog k",
        "k*10",
        "slp k*2 yo k2tog k*5",
        "bo*3 k*7",
    ];
    flat(name, 7, &rows)
}
