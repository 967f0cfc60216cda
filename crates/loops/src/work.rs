//! Working a program: counts, sides and faults, row by row.
//!
//! Working never stops at a fault: the fault is noted, and the next row starts from what the row, as written,
//! leaves. So one slip gives one fault.
//!
//! | the row | leaves | fault |
//! |---|---|---|
//! | takes all that is on the needles | what it makes | none |
//! | ends in a turn with stitches left | what it makes, and those left | none |
//! | leaves stitches without a turn | what it makes; those left are lost from the count | row-short |
//! | takes more than there is | what it makes, as if the missing had been there | row-long |
//! | is too long to spell out | what it found | row-too-long |
//!
//! Losing the stitches of a short row is meant: the likeliest cause is a dropped instruction or a wrong number,
//! and the rows after it are written for a needle without them.
//!
//! Counts look at all live stitches. Which of them lie within reach after a turn is known to
//! [`crate::ClothGraph`] alone.

use span::Span;

use crate::Op;
use crate::program::{Piece, Row, Side, Stitch, TooLong, Worked};

/// A piece with every row worked.
#[derive(Clone, Debug, PartialEq)]
pub struct WorkedPiece {
    /// The rows in order.
    pub rows: Vec<WorkedRow>,
    /// What did not come out.
    pub faults: Vec<Fault>,
}

/// A row as worked.
#[derive(Clone, Debug, PartialEq)]
pub struct WorkedRow {
    /// The printed number, or a name.
    pub label: String,
    /// The side that faces the worker.
    pub side: Side,
    /// Stitches on the needles before the row.
    pub before: u32,
    /// The operations one by one, as the worker does them.
    pub ops: Vec<Stitch>,
    /// Stitches on the needles after the row: those it makes, and after a turn the unworked ones too. Of a row
    /// that is short without a turn only those it makes.
    pub after: u32,
    /// The words the row came from.
    pub span: Span,
}

/// Something in a program that cannot be worked as written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The kind.
    pub kind: FaultKind,
    /// Index of the row in the piece.
    pub row: usize,
    /// The words at fault.
    pub span: Span,
}

/// The kinds of fault that working finds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FaultKind {
    /// The row takes fewer stitches than are on the needle and does not turn; the rest is lost from the count.
    RowShort {
        /// Stitches the row takes.
        takes: u32,
        /// Stitches on the needle.
        on_needle: u32,
    },
    /// The row takes more stitches than are on the needle; it leaves what it would with all of them there.
    RowLong {
        /// Stitches the row takes.
        takes: u32,
        /// Stitches on the needle.
        on_needle: u32,
    },
    /// Stitches are taken from a holder that has too few.
    HolderEmpty {
        /// Stitches missing.
        missing: u32,
    },
    /// The row's repeats would be too long to spell out; it is passed over.
    RowTooLong,
}

impl FaultKind {
    /// A short stable name for files and JSON.
    pub fn code(self) -> &'static str {
        match self {
            FaultKind::RowShort { .. } => "row-short",
            FaultKind::RowLong { .. } => "row-long",
            FaultKind::HolderEmpty { .. } => "holder-empty",
            FaultKind::RowTooLong => "row-too-long",
        }
    }
}

/// Loops taken and made by a run of operations, and whether it ends in a turn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Loops taken from the left needle.
    pub takes: u32,
    /// Loops made on the right needle.
    pub makes: u32,
    /// Whether the work is turned with stitches left.
    pub turns: bool,
}

/// Counts what operations take and make.
pub fn tally(ops: &[Stitch]) -> Tally {
    ops.iter().fold(Tally::default(), |sum, stitch| Tally {
        takes: sum.takes.saturating_add(stitch.op.takes()),
        makes: sum.makes.saturating_add(stitch.op.makes()),
        turns: sum.turns || stitch.op == Op::Turn,
    })
}

/// Works every row of a piece.
pub fn work(piece: &Piece) -> WorkedPiece {
    let mut state = Needles { on_needle: piece.cast_on, held: 0 };
    let mut worked = WorkedPiece { rows: Vec::with_capacity(piece.rows.len()), faults: Vec::new() };
    for (index, row) in piece.rows.iter().enumerate() {
        let row = work_row(row, index, &mut state, &mut worked.faults);
        worked.rows.push(row);
    }
    worked
}

/// The side that faces in row `index` (from 0) of a piece.
pub fn side_of(worked: Worked, first: Side, index: usize) -> Side {
    match worked {
        Worked::Round => Side::Right,
        Worked::Flat if index.is_multiple_of(2) => first,
        Worked::Flat => first.turned(),
    }
}

/// The side that faces in the row after one in which `side` faced; `turned` when that row ended in a turn.
///
/// Where [`side_of`] only counts rows, this follows short rows in the round as well.
pub fn side_after(worked: Worked, side: Side, turned: bool) -> Side {
    if worked == Worked::Flat || turned { side.turned() } else { side }
}

struct Needles {
    on_needle: u32,
    held: u32,
}

fn work_row(row: &Row, index: usize, state: &mut Needles, faults: &mut Vec<Fault>) -> WorkedRow {
    let before = state.on_needle;
    let mut fault = |kind| faults.push(Fault { kind, row: index, span: row.span });
    let ops = match row.ops() {
        Ok(ops) => {
            state.work(&ops, &mut fault);
            ops
        }
        Err(TooLong) => {
            fault(FaultKind::RowTooLong);
            Vec::new()
        }
    };
    WorkedRow {
        label: row.label.clone(),
        side: row.side,
        before,
        ops,
        after: state.on_needle,
        span: row.span,
    }
}

impl Needles {
    fn work(&mut self, ops: &[Stitch], fault: &mut impl FnMut(FaultKind)) {
        let Tally { takes, makes, turns } = tally(ops);
        let on_needle = self.on_needle;
        if takes > on_needle {
            fault(FaultKind::RowLong { takes, on_needle });
        } else if takes < on_needle && !turns {
            fault(FaultKind::RowShort { takes, on_needle });
        }
        let missing = self.hold(ops);
        if missing > 0 {
            fault(FaultKind::HolderEmpty { missing });
        }
        let unworked = if turns { on_needle.saturating_sub(takes) } else { 0 };
        self.on_needle = makes.saturating_add(unworked);
    }

    /// Moves stitches to and from the holder; gives the number taken that were not there.
    fn hold(&mut self, ops: &[Stitch]) -> u32 {
        let mut missing = 0;
        for stitch in ops {
            match stitch.op {
                Op::Hold => self.held = self.held.saturating_add(1),
                Op::Take if self.held > 0 => self.held -= 1,
                Op::Take => missing += 1,
                _ => {}
            }
        }
        missing
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::program::Step;

    /// Works rows of tokens on `cast_on` stitches; gives the counts after each and the faults as `row code`.
    fn worked(cast_on: u32, rows: &[&str]) -> (Vec<u32>, Vec<String>) {
        let piece = Piece::of_tokens(Worked::Round, Side::Right, cast_on, rows).unwrap();
        let worked = work(&piece);
        let faults = worked.faults.iter().map(|fault| format!("{} {}", fault.row, fault.kind.code()));
        (worked.rows.iter().map(|row| row.after).collect(), faults.collect())
    }

    #[test]
    fn one_slip_gives_one_fault() {
        let (after, faults) = worked(10, &["k*10", "k*7 k2tog", "k*8", "k*8"]);
        assert_eq!((after, faults), (vec![10, 8, 8, 8], vec!["1 row-short".to_owned()]));
        let (after, faults) = worked(10, &["k*12", "k*12"]);
        assert_eq!((after, faults), (vec![12, 12], vec!["0 row-long".to_owned()]));
    }

    #[test]
    fn a_turn_keeps_the_unworked_stitches() {
        let (after, faults) = worked(10, &["k*3 k2tog turn", "p*4 turn", "k*9"]);
        assert_eq!((after, faults), (vec![9, 9, 9], Vec::new()));
    }

    #[test]
    fn a_holder_gives_back_what_it_was_given() {
        let (after, faults) = worked(6, &["k*2 hold*2 k*2", "k*2 take*2 k*2", "k*6 take*2"]);
        assert_eq!((after, faults), (vec![4, 6, 8], vec!["2 holder-empty".to_owned()]));
    }

    #[test]
    fn a_row_too_long_leaves_the_needles_as_they_were() {
        let long = Row {
            label: String::new(),
            side: Side::Right,
            steps: vec![Step::Times(u32::MAX, vec![Step::Work(Op::K, Span::DETACHED)])],
            span: Span::DETACHED,
        };
        let mut state = Needles { on_needle: u32::MAX, held: 0 };
        let mut faults = Vec::new();
        let row = work_row(&long, 0, &mut state, &mut faults);
        assert_eq!((row.after, faults.len(), faults[0].kind), (u32::MAX, 1, FaultKind::RowTooLong));
    }

    #[test]
    fn sides_follow_turns() {
        use Side::{Right, Wrong};
        assert_eq!(side_after(Worked::Flat, Right, true), Wrong);
        assert_eq!(side_after(Worked::Flat, Wrong, false), Right);
        assert_eq!(side_after(Worked::Round, Right, false), Right);
        assert_eq!(side_after(Worked::Round, Right, true), Wrong);
    }
}
