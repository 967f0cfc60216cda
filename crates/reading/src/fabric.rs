//! What the cloth of a reading says for or against it, beyond its arithmetic.
//!
//! Knit and purl take and make alike, so no count tells them apart; but cloth is regular. Decreases stand among
//! stitches of their own face; a stitch stands on one of its own face (stocking stitch, ribs), or all of a row
//! against it (garter stitch); a stitch slipped inside a row is worked before long. Knows worked rows alone: the
//! sum is one more cost, and [`Grain`] says where it comes from.

use std::rc::Rc;

use loops::{Face, Op, Stitch, Worked, WorkedPiece, WorkedRow};

use crate::plan::Readings;
use crate::read::{PieceReading, Reading};
use crate::rowwork::{Below, needle_after};

/// Nats against a decrease that stands beside a plain or purled stitch of the other face. Guess: one in six does.
const ODD_DECREASE: f64 = 1.2;
/// Nats against a row of which half stands on its own face and half against it.
const UNEVEN_ROW: f64 = 0.8;
/// Nats against three slipped stitches or more side by side.
const LONG_SLIP: f64 = 1.5;
/// Nats against a stitch inside the row that is slipped again and again.
const SLIPPED_AGAIN: f64 = 1.0;
/// Rows for which a stitch may be slipped before that is odd.
const SLIPPED_ROWS: u32 = 4;
/// Nats against the first purled decrease with a stitch passed over: books purl two together instead. Guess.
const PASSED_OVER_PURL: f64 = 3.0;
/// Nats against work that is purled throughout: all plain is the same cloth for less trouble. Guess.
const ALL_PURLED: f64 = 4.0;
/// Evenness counts up to here: figures of knit and purl are uneven by intention.
const MOST_UNEVEN: f64 = 2.0;
/// Nats against rows whose words are worked again over another number of stitches. Guess: shaped pieces do that.
const REGROWN: f64 = 2.5;
/// Evidence of one kind counts up to here: it is all of one mind, or all of one misreading.
const MOST: f64 = 12.0;

/// What is odd in the cloth of one reading.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Grain {
    /// Decreases, and how many of them stand beside a stitch of the other face.
    pub decreases: (u32, u32),
    /// Rows that stand on the row below, and how uneven they are together: 1 for a row that is half and half.
    pub rows: (u32, f64),
    /// Purled decreases with a stitch passed over.
    pub passed_over: u32,
    /// Rows that are told with a repeat in height and begin with another number of stitches than the first time.
    pub regrown: u32,
    /// Stitches knitted plain, and stitches purled.
    pub faces: (u32, u32),
    /// Slipped stitches side by side, three or more, and stitches slipped in too many rows.
    pub slips: (u32, u32),
}

impl Grain {
    /// The grain of all pieces of a text.
    pub fn of(reading: &Reading) -> Grain {
        let mut grain = Grain::default();
        for piece in &reading.pieces {
            grain.add(&piece.worked, piece.piece.worked == Worked::Flat);
            grain.regrown += regrown(piece);
        }
        grain
    }

    /// Nats against the cloth.
    pub fn cost(&self) -> f64 {
        let decreases = ODD_DECREASE * f64::from(self.decreases.1);
        let rows = UNEVEN_ROW * self.rows.1;
        let slips = LONG_SLIP * f64::from(self.slips.0) + SLIPPED_AGAIN * f64::from(self.slips.1);
        let passed_over = if self.passed_over > 0 { PASSED_OVER_PURL } else { 0.0 };
        let regrown = if self.regrown > 0 { REGROWN } else { 0.0 };
        let all_purled = if self.faces.0 == 0 && self.faces.1 > 0 { ALL_PURLED } else { 0.0 };
        decreases.min(MOST) + rows.min(MOST_UNEVEN) + slips.min(MOST) + passed_over + all_purled + regrown
    }

    fn add(&mut self, piece: &WorkedPiece, flat: bool) {
        let mut needle: Vec<Below> = Vec::new();
        let mut slipped: Vec<u32> = Vec::new();
        for row in &piece.rows {
            self.decreases(&row.ops);
            self.evenness(&row.ops, &needle);
            slipped = self.slips(&row.ops, &slipped, flat);
            needle = needle_after(&row.ops, &needle, flat);
        }
    }

    fn decreases(&mut self, ops: &[Stitch]) {
        let single = |op: Op| matches!(op, Op::K | Op::P);
        for (at, stitch) in ops.iter().enumerate().filter(|(_, stitch)| stitch.op.is_decrease()) {
            let near = |beside: Option<&Stitch>| beside.map(|beside| beside.op).filter(|op| single(*op));
            let solid = |stitch: &&Stitch| stitch.op.takes() > 0;
            let before = near(ops[..at].iter().rev().find(solid));
            let after = near(ops[at + 1..].iter().find(solid));
            let odd = |beside: Op| beside.face() != stitch.op.face();
            let beside: Vec<Op> = before.into_iter().chain(after).collect();
            self.passed_over += u32::from(matches!(stitch.op, Op::Spp | Op::Sp2p));
            self.decreases.0 += u32::from(!beside.is_empty());
            self.decreases.1 += u32::from(!beside.is_empty() && beside.into_iter().all(odd));
        }
    }

    fn evenness(&mut self, ops: &[Stitch], needle: &[Below]) {
        let (mut same, mut other) = (0.0, 0.0);
        let mut taken = 0;
        for stitch in ops {
            match stitch.op {
                Op::K => self.faces.0 += 1,
                Op::P => self.faces.1 += 1,
                _ => {}
            }
            if let Some(below) = needle.get(taken).filter(|below| below.face != Face::Open)
                && matches!(stitch.op, Op::K | Op::P)
            {
                *(if stitch.op.face() == below.face { &mut same } else { &mut other }) += 1.0;
            }
            taken += stitch.op.takes() as usize;
        }
        if same + other > 0.0 {
            let share: f64 = same / (same + other);
            self.rows.0 += 1;
            self.rows.1 += 4.0 * share * (1.0 - share);
        }
    }

    /// Counts slips inside a row; gives for each loop after it how many rows it has been slipped for.
    fn slips(&mut self, ops: &[Stitch], before: &[u32], flat: bool) -> Vec<u32> {
        let mut after = Vec::new();
        let (mut taken, mut run) = (0, 0);
        for (at, stitch) in ops.iter().enumerate() {
            let inside = at > 0 && at + 1 < ops.len();
            if stitch.op.is_slip() && inside {
                let rows = before.get(taken).copied().unwrap_or(0) + 1;
                run += 1;
                self.slips.0 += u32::from(run == 3);
                self.slips.1 += u32::from(rows == SLIPPED_ROWS + 1);
                after.push(rows);
            } else {
                run = 0;
                after.extend((0..stitch.op.makes()).map(|_| 0));
            }
            taken += stitch.op.takes() as usize;
        }
        if flat {
            after.reverse();
        }
        after
    }

    /// What speaks for this grain against another, in plain words; nothing where the two are alike.
    pub fn reasons(&self, other: &Grain, us: &str, them: &str) -> Vec<String> {
        let mut reasons = Vec::new();
        if self.decreases.1 != other.decreases.1 {
            let told = |grain: &Grain, answer| {
                format!(
                    "as {answer}, {} of {} decreases stand among stitches of the other face",
                    grain.decreases.1, grain.decreases.0
                )
            };
            reasons.push(format!("{}; {}", told(self, us), told(other, them)));
        }
        if (self.rows.1 - other.rows.1).abs() > 0.05 {
            let word = if self.rows.1 < other.rows.1 { "more evenly" } else { "less evenly" };
            reasons.push(format!("as {us} the rows stand {word} on those below than as {them}"));
        }
        for (ours, theirs, answer) in [(self, other, us), (other, self, them)] {
            if ours.faces.0 == 0 && theirs.faces.0 > 0 {
                reasons.push(format!("as {answer}, no stitch of the whole would be knitted plain"));
            }
            if ours.passed_over > theirs.passed_over {
                reasons.push(format!("as {answer}, slipped stitches would be passed over purled ones"));
            }
        }
        if self.regrown != other.regrown {
            let answer = if self.regrown > other.regrown { us } else { them };
            reasons.push(format!("as {answer}, rows would be worked again over another number of stitches"));
        }
        if self.slips != other.slips {
            let told = |grain: &Grain| grain.slips.0 + grain.slips.1;
            reasons.push(format!(
                "as {us}, {} stitches inside the rows are slipped side by side or again and again; as {them}, {}",
                told(self),
                told(other)
            ));
        }
        reasons
    }
}

/// How many rows with figures are worked again, from the same words, over another number of loops.
fn regrown(piece: &PieceReading) -> u32 {
    let mut first: Vec<(&Readings, u32)> = Vec::new();
    let mut grown = 0;
    // A stitch and the over that goes with it are two loops.
    let pairs = |row: &WorkedRow| row.ops.iter().filter(|stitch| stitch.op == Op::SlYo).count() as u32;
    let below = std::iter::once(0).chain(piece.worked.rows.iter().map(pairs));
    for ((row, chosen), pairs) in piece.plan.rows.iter().zip(&piece.path.rows).zip(below) {
        let figured = row.readings.first().is_some_and(|(_, seq)| {
            seq.shape().fixed.takes + seq.shape().fixed.makes > 0 || seq.open_group().is_some()
        });
        if !figured {
            continue;
        }
        match first.iter().find(|(readings, _)| Rc::ptr_eq(readings, &row.readings)) {
            Some((_, loops)) => grown += u32::from(*loops != chosen.before + pairs),
            None => first.push((&row.readings, chosen.before + pairs)),
        }
    }
    grown
}
