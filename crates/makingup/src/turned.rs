//! Corners turned by short rows or a pleat, asked of the model of the cloth.
//!
//! ```text
//!   outer edge ──────╮        what the plane asks for is rounded to whole pairs of short rows, or whole repeats; cloth
//!              ╲     │        that lies askew, or gives, asks for a little more or less
//!   corner ─────┐╲   │
//!               │ ╲  │        so the numbers next to it are worked too, and the flattest is taken
//! ```
//!
//! Start at [`Turned::of`]. Knows convex corners only: at an inner one there is too little of the outer edge to look at.

mod rows;
mod table;

use cloth::Gauge;
use loops::Piece;

use self::table::Table;
use crate::corner::{ShortRows, Treatment};
use crate::flat::FLAT;
use crate::{Flatness, Problem, Strip};

/// How often the numbers next to the best so far are tried: what the plane asks for is off by two pairs at most.
const STEPS: usize = 4;

/// What lies this flat is taken as it is: its neighbours are no flatter by anything that could be seen.
const FLAT_ENOUGH: f64 = FLAT / 2.0;

/// The corner of an angle as the model of the cloth has it.
#[derive(Clone, Debug, PartialEq)]
pub struct Turned {
    /// The angle, in radians.
    pub turn: f64,
    /// The short rows of the flattest mitre.
    pub short_rows: ShortRows,
    /// Whether they go on in pattern; where that grows or shrinks between two repeats, they are knitted.
    pub in_pattern: bool,
    /// How it lies.
    pub mitre: Flatness,
    /// Repeats in the flattest pleat.
    pub pleated: u32,
    /// How it lies.
    pub pleat: Flatness,
}

impl Turned {
    /// The flattest mitre and the flattest pleat of an edging round a corner of `turn` radians, above 0.
    ///
    /// # Errors
    /// A [`Problem`] when the cloth cannot be worked out.
    pub fn of(piece: &Piece, strip: &Strip, gauge: &Gauge, turn: f64) -> Result<Turned, Problem> {
        let table = Table::of(piece, strip, gauge)?;
        let (short_rows, mitre) = flattest_mitre(&table, strip, turn)?;
        let (pleated, pleat) = flattest_pleat(&table, strip, turn)?;
        Ok(Turned { turn, short_rows, in_pattern: table.in_pattern(), mitre, pleated, pleat })
    }
}

impl Flatness {
    /// An edging that is mitred by these short rows round a corner of `turn` radians.
    ///
    /// # Errors
    /// A [`Problem`] when the cloth cannot be worked out.
    pub fn mitred(
        piece: &Piece,
        strip: &Strip,
        gauge: &Gauge,
        turn: f64,
        short_rows: &ShortRows,
    ) -> Result<Flatness, Problem> {
        Table::of(piece, strip, gauge)?.mitred(short_rows, turn)
    }

    /// An edging of which so many repeats are folded into a pleat at a corner of `turn` radians.
    ///
    /// # Errors
    /// A [`Problem`] when the cloth cannot be worked out.
    pub fn pleated(
        piece: &Piece,
        strip: &Strip,
        gauge: &Gauge,
        turn: f64,
        repeats: u32,
    ) -> Result<Flatness, Problem> {
        Table::of(piece, strip, gauge)?.pleated(repeats, turn)
    }
}

/// The short rows that the plane asks for, a pair more or fewer on either side as long as that lies flatter.
fn flattest_mitre(table: &Table<'_>, strip: &Strip, turn: f64) -> Result<(ShortRows, Flatness), Problem> {
    let begun = ShortRows::of(strip, turn);
    flattest(begun, |short_rows| table.mitred(short_rows, turn), |best| neighbours(strip, best))
}

/// The repeats that the plane asks for, one more or fewer as long as that lies flatter.
fn flattest_pleat(table: &Table<'_>, strip: &Strip, turn: f64) -> Result<(u32, Flatness), Problem> {
    let begun = Treatment::Pleat.repeats(strip, turn);
    let near = |repeats: &u32| [repeats + 1, repeats - 1].into_iter().filter(|near| *near > 0).collect();
    flattest(begun, |repeats| table.pleated(*repeats, turn), near)
}

/// What to begin with, or what is found flatter step by step among what is `near` the best so far.
///
/// More on one that pulls need not be flatter: a pleat may settle in another fold. So both ways are tried.
fn flattest<T>(
    begun: T,
    lies: impl Fn(&T) -> Result<Flatness, Problem>,
    near: impl Fn(&T) -> Vec<T>,
) -> Result<(T, Flatness), Problem> {
    let mut best = (lies(&begun)?, begun);
    for _ in 0..STEPS {
        let off = best.0.off();
        if off <= FLAT_ENOUGH {
            break;
        }
        for one in near(&best.1) {
            let lies = lies(&one)?;
            if lies.off() < best.0.off() {
                best = (lies, one);
            }
        }
        if best.0.off() >= off {
            break;
        }
    }
    Ok((best.1, best.0))
}

/// One pair of short rows more, or one fewer, among those that leave stitches or among those that take them in.
fn neighbours(strip: &Strip, short_rows: &ShortRows) -> Vec<ShortRows> {
    let (leaving, taking) = (short_rows.leaving.len() as u32, short_rows.taking.len() as u32);
    let beside = [(1, 0), (0, 1), (-1, 0), (0, -1)];
    let pairs =
        beside.map(|(left, taken)| leaving.checked_add_signed(left).zip(taking.checked_add_signed(taken)));
    let some = pairs.into_iter().flatten().filter(|(leaving, taking)| leaving + taking > 0);
    some.map(|(leaving, taking)| ShortRows::in_pairs(strip, leaving, taking)).collect()
}
