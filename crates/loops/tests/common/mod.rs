//! Builds pieces whose sides follow the turns.

use loops::{Piece, Row, Side, Step, Stitch, Worked, side_after, tally};
use span::Span;

/// A piece of rows of steps, with `first_side` facing in the first.
pub fn piece(worked: Worked, first_side: Side, cast_on: u32, rows: Vec<Vec<Step>>) -> Piece {
    let mut side = first_side;
    let rows = rows.into_iter().enumerate().map(|(index, steps)| {
        let row = Row { label: (index + 1).to_string(), side, steps, span: Span::new(index, index + 1) };
        side = side_after(worked, side, row.ops().is_ok_and(|ops| tally(&ops).turns));
        row
    });
    let rows = rows.collect();
    Piece { first_side, ..Piece::of_rows(worked, cast_on, rows) }
}

/// Operations as steps without repeats.
pub fn steps(ops: &[Stitch]) -> Vec<Step> {
    ops.iter().map(|stitch| Step::Work(stitch.op, stitch.span)).collect()
}
