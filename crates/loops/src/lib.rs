//! The craft: stitch operations, needles, rows, and working them.
//!
//! Knows operations and what they take, make and show; programs of rows with repeats; working a program into
//! counts and faults, and stitch by stitch into a cloth graph. Knows nothing of words, files or screens. Start
//! at [`Op`], then [`Piece`], then [`work()`] for the counts and [`ClothGraph`] for the cloth.

mod op;
mod program;
mod repeat;
mod work;

mod graph;

pub use self::graph::{
    ClothGraph, ClothRow, ClothStitch, Fate, Hang, Inconsistent, Layer, RowId, STITCH_LIMIT, Slip, StitchId,
    TooManyStitches,
};
pub use self::op::{Cross, Face, Facts, Lean, Op, UnknownOp, YarnAt};
pub use self::program::{
    Multiple, Piece, ROW_LIMIT, Row, Side, Step, Stitch, TooLong, Worked, parse_tokens, tokens,
};
pub use self::repeat::{DoesNotRepeat, Repeat};
pub use self::work::{Fault, FaultKind, Tally, WorkedPiece, WorkedRow, side_after, side_of, tally, work};
