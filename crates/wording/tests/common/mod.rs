//! Pieces made from tokens, for all tests.

use loops::{Piece, Side, Worked};

/// A piece from labels and tokens, its sides in turn.
pub fn piece(worked: Worked, first_side: Side, cast_on: u32, rows: &[(&str, &str)]) -> Piece {
    let tokens = rows.iter().map(|(_, tokens)| tokens);
    let mut piece =
        Piece::of_tokens(worked, first_side, cast_on, tokens).expect("tokens of the tests are good");
    for (row, (label, _)) in piece.rows.iter_mut().zip(rows) {
        (*label).clone_into(&mut row.label);
    }
    piece
}
