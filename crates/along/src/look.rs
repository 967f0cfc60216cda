//! Count wrong: what to look at next.
//!
//! Each slip that is still possible tells what she would see of it. For every answer to a question the slips are weighed
//! anew as if she had given it; the question that tells most is the one after which the slip that is then named first is
//! the right one most often:
//!
//! ```text
//!  sum over the answers of  e^-(cost of the likeliest slip by that answer)
//! ───────────────────────────────────────────────────────────────────────
//!  sum over the answers of  the sum over all slips of  e^-(cost)
//! ```
//!
//! Costs are nats with what the eye overlooks in them, so that a question hard to answer tells less.

use std::collections::BTreeSet;

use loops::{Op, WorkedPiece};
use serde::Serialize;

use crate::slip::{Found, Off, Shown, Slip, SlipPlace, slips};
use crate::work::AlongPiece;

/// What she can look at where a count is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Look {
    /// The yarn overs of the row.
    YarnOvers,
    /// Where stitches lie together in it.
    Together,
    /// A loose loop below the needles.
    LooseLoop,
    /// From where on it looks wrong.
    WrongFrom,
    /// The holes of the row before.
    HolesBelow,
    /// From where on the row before looks wrong.
    BeforeWrongFrom,
}

/// By how much oftener the first slip must be the right one for a question to be worth asking.
const WORTH: f64 = 0.01;

/// The most answers to one question that the slips are weighed for: of more, as to where a wide row looks wrong from, some
/// stand for those beside them.
const ANSWERS: usize = 40;

impl Look {
    /// All of them, in the order in which they are asked; of two that tell as much the first is taken.
    pub const ALL: [Look; 6] = [
        Look::YarnOvers,
        Look::Together,
        Look::LooseLoop,
        Look::WrongFrom,
        Look::HolesBelow,
        Look::BeforeWrongFrom,
    ];

    /// Whether she has said it.
    fn is_said(self, found: &Found) -> bool {
        match self {
            Look::YarnOvers => found.here.yarn_overs.is_some(),
            Look::Together => found.here.together.is_some(),
            Look::LooseLoop => found.loose_loop.is_some(),
            Look::WrongFrom => found.here.off != Off::Unsaid,
            Look::HolesBelow => found.before.yarn_overs.is_some(),
            Look::BeforeWrongFrom => found.before.off != Off::Unsaid,
        }
    }

    /// What she found with an answer in it: a number, or 0 where there is no loose loop and where a row looks right.
    fn with(self, found: &Found, answer: u32) -> Found {
        let mut found = *found;
        match self {
            Look::YarnOvers => found.here.yarn_overs = Some(answer),
            Look::Together => found.here.together = Some(answer),
            Look::LooseLoop => found.loose_loop = Some(answer > 0),
            Look::WrongFrom => found.here.off = Some(answer).into(),
            Look::HolesBelow => found.before.yarn_overs = Some(answer),
            Look::BeforeWrongFrom => found.before.off = Some(answer).into(),
        }
        found
    }

    /// The row it is asked of; there is none before the first.
    fn row(self, found: &Found) -> Option<usize> {
        match self {
            Look::HolesBelow | Look::BeforeWrongFrom => found.row.checked_sub(1),
            _ => Some(found.row),
        }
    }

    /// What she would see of a place.
    fn seen_of(self, place: &SlipPlace) -> u32 {
        match self {
            Look::YarnOvers | Look::HolesBelow => place.shown.yarn_overs,
            Look::Together => place.shown.together,
            Look::LooseLoop => 1,
            Look::WrongFrom | Look::BeforeWrongFrom => place.off.unwrap_or(0),
        }
    }

    /// What she would see of a row without a slip.
    fn seen_of_row(self, shown: Shown) -> u32 {
        match self {
            Look::YarnOvers | Look::HolesBelow => shown.yarn_overs,
            Look::Together => shown.together,
            Look::LooseLoop | Look::WrongFrom | Look::BeforeWrongFrom => 0,
        }
    }

    /// The answers that she may give; none where there is nothing to look at.
    fn answers(self, worked: &WorkedPiece, found: &Found, slips: &[Slip]) -> BTreeSet<u32> {
        let Some((index, row)) = self.row(found).and_then(|row| Some((row, worked.rows.get(row)?))) else {
            return BTreeSet::new();
        };
        let ops: Vec<Op> = row.ops.iter().map(|stitch| stitch.op).collect();
        let in_row = slips.iter().filter(|slip| slip.row == Some(index));
        let of_slips = in_row.flat_map(|slip| &slip.places).map(|place| self.seen_of(place));
        of_slips.chain([self.seen_of_row(Shown::of(&ops))]).collect()
    }
}

/// The question that tells most of those that she has left open; none where a single slip is left, or where no answer
/// makes it surer.
pub fn next_look(worked: &WorkedPiece, along: &AlongPiece, found: &Found, possible: &[Slip]) -> Option<Look> {
    let now = Weights::of(possible).surest();
    let surer = |look: &Look| {
        let answers = look.answers(worked, found, possible);
        let by_answer = sampled(&answers).into_iter().map(|(answer, stands_for)| {
            Weights::of(&slips(worked, along, &look.with(found, answer))).times(stands_for)
        });
        by_answer.fold(Weights::default(), Weights::and).surest()
    };
    let open = Look::ALL.into_iter().filter(|look| !look.is_said(found));
    let mut best: Option<(f64, Look)> = None;
    for look in open {
        let sure = surer(&look);
        if sure > best.map_or(now + WORTH, |(sure, _)| sure) {
            best = Some((sure, look));
        }
    }
    best.map(|(_, look)| look)
}

/// The lowest of some answers, that a row looks right, and at most [`ANSWERS`] of the others, each with how many it stands
/// for.
///
/// Which of its neighbours an answer stands for changes by the golden section, so that it is not the same stitch of every
/// repeat.
fn sampled(answers: &BTreeSet<u32>) -> Vec<(u32, usize)> {
    const GOLDEN: f64 = 0.618_034;
    let answers: Vec<u32> = answers.iter().copied().collect();
    let Some((&lowest, others)) = answers.split_first() else {
        return Vec::new();
    };
    let blocks = others.chunks(others.len().div_ceil(ANSWERS).max(1)).enumerate();
    let picked = blocks.map(|(place, block)| {
        let within = (place as f64 * GOLDEN).fract() * block.len() as f64;
        (block[within as usize], block.len())
    });
    std::iter::once((lowest, 1)).chain(picked).collect()
}

/// How much there is to be said for the likeliest slip, and for all.
#[derive(Clone, Copy, Default)]
struct Weights {
    first: f64,
    all: f64,
}

impl Weights {
    fn of(slips: &[Slip]) -> Weights {
        let weights = || slips.iter().map(|slip| (-slip.cost).exp());
        Weights { first: weights().fold(0.0, f64::max), all: weights().sum() }
    }

    fn and(self, other: Weights) -> Weights {
        Weights { first: self.first + other.first, all: self.all + other.all }
    }

    fn times(self, times: usize) -> Weights {
        Weights { first: self.first * times as f64, all: self.all * times as f64 }
    }

    /// How often the slip that is named first is the right one.
    fn surest(self) -> f64 {
        if self.all > 0.0 { self.first / self.all } else { 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::slip::SlipKind;
    use loops::{Piece, Side, Worked, work};
    use wording::Terms;

    fn asked(rows: &[&str], cast_on: u32, found: Found) -> Option<Look> {
        let piece = Piece::of_tokens(Worked::Flat, Side::Right, cast_on, rows).unwrap();
        let (worked, along) = (work(&piece), AlongPiece::of(&piece, Terms::default()));
        let possible = slips(&worked, &along, &found);
        next_look(&worked, &along, &found, &possible)
    }

    #[test]
    fn in_a_plain_row_only_a_loose_loop_or_a_place_tells_anything() {
        let found = Found { row: 1, count: 19, ..Found::default() };
        let look = asked(&["k*20", "p*20"], 20, found);
        assert!(matches!(look, Some(Look::LooseLoop | Look::Together | Look::WrongFrom)), "{look:?}");
    }

    #[test]
    fn of_many_answers_some_stand_for_all() {
        for count in [0, 1, 2, 40, 41, 42, 600] {
            let picked = sampled(&(0..count).collect());
            assert_eq!(picked.iter().map(|(_, stands_for)| stands_for).sum::<usize>(), count as usize);
            assert!(picked.len() <= ANSWERS + 1 && (count > 41 || picked.len() == count as usize));
        }
    }

    #[test]
    fn what_was_said_is_not_asked_again_and_a_certain_slip_asks_nothing() {
        let rows = ["k*2 yo k2tog k*4 yo k2tog k*2", "p*12"];
        let piece = Piece::of_tokens(Worked::Flat, Side::Right, 12, rows).unwrap();
        let (worked, along) = (work(&piece), AlongPiece::of(&piece, Terms::default()));
        let mut found = Found { row: 0, count: 11, ..Found::default() };
        let mut asked = Vec::new();
        while let Some(look) = next_look(&worked, &along, &found, &slips(&worked, &along, &found)) {
            assert!(!asked.contains(&look), "{asked:?}, {look:?}");
            asked.push(look);
            // She missed the second yarn over.
            let answer = match look {
                Look::YarnOvers => 1,
                Look::Together => 2,
                Look::LooseLoop => 0,
                Look::WrongFrom => 9,
                Look::HolesBelow | Look::BeforeWrongFrom => 0,
            };
            found = look.with(&found, answer);
        }
        assert!((1..=4).contains(&asked.len()), "{asked:?}");
        assert_eq!(slips(&worked, &along, &found)[0].kind, SlipKind::YarnOverMissed);
    }
}
