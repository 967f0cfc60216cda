//! What can be seen of a piece after each of its rows: count, face, ridges, holes, crossings.
//!
//! She holds the needle with the stitches in her left hand, ready to knit; what faces her then is the side of the next
//! row. Where the eye could judge one way or the other, a sign holds both: it is a range, or it fits more than one
//! answer, as does the count where stitches wait behind a turn. So a sign may leave too many rows, never too few.

use loops::{Face, Op, Piece, Side, Tally, WorkedPiece, side_after, tally};
use serde::Serialize;

use crate::needle::{Loop, Needles, makes_hole};
use crate::work::waits;

/// How far an observation goes with what a row would show.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Match {
    /// It goes.
    Fits,
    /// It would go if it were one off, or judged a little otherwise.
    Near,
    /// It does not go.
    Not,
}

/// What the stitches right under the needle show her.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Shows {
    /// All or nearly all smooth.
    Plain,
    /// All or nearly all bars.
    Purl,
    /// Some of each.
    Mixed,
}

/// A number that could be counted: at least and at most.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Between {
    /// At least.
    pub least: u32,
    /// At most.
    pub most: u32,
}

/// What can be seen after so many rows.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Signs {
    /// Rows worked, the cast-on not counted.
    pub rows: usize,
    /// The side that faces when the next row is to be worked.
    #[serde(serialize_with = "crate::json::side")]
    pub side: Side,
    /// Stitches on the needles.
    pub count: u32,
    /// How many of these wait: the work was turned before them.
    pub waits: u32,
    /// Stitches from the tip of the left needle to where the work was turned, or to the end.
    pub reach: u32,
    /// Whether plain, purl, or some of each is what shows under the needle.
    pub shows: [Match; 3],
    /// Ridges from the cast-on to the needle, on the side that faces.
    pub ridges: Between,
    /// Rows with holes since the cast-on.
    pub hole_rows: u32,
    /// Rows worked above the topmost row with holes; `None` where there is none.
    pub above_holes: Option<u32>,
    /// Where in that row the first hole lies, counted in stitches from the tip of the left needle; `None` where there
    /// is none, or where short rows make that uncertain.
    pub hole_at: Option<u32>,
    /// Rows with crossings since the cast-on.
    pub cross_rows: u32,
    /// Rows worked above the topmost row with crossings; `None` where there is none.
    pub above_crosses: Option<u32>,
}

/// From which share of bars on, and up to which, something is seen as all bars, as all smooth, as some of each. Guesses.
const PURL_FROM: f64 = 0.75;
const PLAIN_TO: f64 = 0.25;
const MIXED: (f64, f64) = (0.1, 0.9);
/// How far beyond these the eye may stray.
const STRAY: f64 = 0.25;
/// A row is seen as a ridge from this share of bars on; below the other it is seen as none.
const RIDGE: (f64, f64) = (0.3, 0.7);

impl Signs {
    /// The signs after each number of rows, from none to all.
    pub fn of(piece: &Piece, worked: &WorkedPiece) -> Vec<Signs> {
        let mut needles = Needles::cast_on(piece.cast_on, piece.first_side, piece.worked);
        let mut seen = Seen::default();
        let mut side = worked.rows.first().map_or(piece.first_side, |row| row.side);
        let mut signs = vec![seen.signs(0, side, 0, &needles)];
        for (index, row) in worked.rows.iter().enumerate() {
            needles.work_row(&row.ops, row.side);
            seen.add(index, &Trace::of(&row.ops, row.side));
            side = worked
                .rows
                .get(index + 1)
                .map_or_else(|| side_after(piece.worked, row.side, tally(&row.ops).turns), |next| next.side);
            signs.push(seen.signs(index + 1, side, waits(row), &needles));
        }
        signs
    }

    /// Rows that can be counted from the cast-on up.
    pub fn height(&self) -> u32 {
        u32::try_from(self.rows).unwrap_or(u32::MAX)
    }

    /// How far this row goes with a number of stitches. Where some wait, she may count all, those that she worked last,
    /// or those up to where the work was turned.
    pub fn counting(&self, count: u32) -> Match {
        let may_count = [self.count, self.count.saturating_sub(self.waits), self.reach];
        let matches = may_count.map(|exactly| Between { least: exactly, most: exactly }.matches(count));
        matches.into_iter().min().unwrap_or(Match::Not)
    }

    /// How far this row goes with what she says shows under the needle.
    pub fn showing(&self, shows: Shows) -> Match {
        self.shows[shows as usize]
    }
}

impl Between {
    /// How far a count goes with this.
    pub fn matches(self, count: u32) -> Match {
        if (self.least..=self.most).contains(&count) {
            Match::Fits
        } else if (self.least.saturating_sub(1)..=self.most.saturating_add(1)).contains(&count) {
            Match::Near
        } else {
            Match::Not
        }
    }
}

/// What one row leaves behind in the cloth.
struct Trace {
    side: Side,
    /// Share of bars among its stitches, on the side that faced; `None` where none shows a face, or the row was turned.
    purl: Option<f64>,
    /// Stitches that it made or passed on, and the place among them of the first and the last hole.
    stitches: u32,
    holes: Option<(u32, u32)>,
    crosses: bool,
    turns: bool,
}

impl Trace {
    fn of(ops: &[loops::Stitch], side: Side) -> Trace {
        let Tally { makes, turns, .. } = tally(ops);
        let made = ops.iter().flat_map(|stitch| (0..stitch.op.makes()).map(move |index| (stitch.op, index)));
        let mut holes: Option<(u32, u32)> = None;
        for (place, (op, index)) in (0u32..).zip(made.clone()) {
            if makes_hole(op, index) {
                holes = Some((holes.map_or(place, |(first, _)| first), place));
            }
        }
        let loops = made.map(|(op, index)| Loop { op, index, side });
        let purl = if turns { None } else { purl_share(loops, side) };
        let crosses = ops.iter().any(|stitch| matches!(stitch.op, Op::Cross(_)));
        Trace { side, purl, stitches: makes, holes, crosses, turns }
    }

    /// The share of bars seen from a side.
    fn purl_from(&self, side: Side) -> Option<f64> {
        self.purl.map(|share| if side == self.side { share } else { 1.0 - share })
    }

    /// Where the first hole lies from the right-hand edge, seen from a side; `None` where the row was turned.
    fn hole_from(&self, side: Side) -> Option<u32> {
        let (first, last) = self.holes?;
        if self.turns {
            None
        } else if side == self.side {
            Some(first + 1)
        } else {
            Some(self.stitches - last)
        }
    }
}

fn purl_share(loops: impl Iterator<Item = Loop>, side: Side) -> Option<f64> {
    let (mut plain, mut purl) = (0u32, 0u32);
    for face in loops.map(|made| made.face(side)) {
        plain += u32::from(face == Face::Plain);
        purl += u32::from(face == Face::Purl);
    }
    (plain + purl > 0).then(|| f64::from(purl) / f64::from(plain + purl))
}

/// Ridges counted so far on one side.
#[derive(Clone, Copy, Default)]
struct Ridges {
    least: u32,
    most: u32,
    /// Whether the row below was surely a ridge, so that one more above it may be counted as the same.
    on_ridge: bool,
}

impl Ridges {
    fn add(&mut self, purl: Option<f64>) {
        let share = purl.unwrap_or(0.5);
        let (may_be, is) = (share >= RIDGE.0, share >= RIDGE.1);
        self.most += u32::from(may_be);
        self.least += u32::from(is && !self.on_ridge);
        self.on_ridge = may_be;
    }
}

/// What has been left in the cloth so far.
#[derive(Default)]
struct Seen {
    right: Ridges,
    wrong: Ridges,
    hole_rows: u32,
    cross_rows: u32,
    /// The topmost row with holes and its number, and the topmost with crossings.
    holes: Option<(usize, Trace)>,
    crosses: Option<usize>,
}

impl Seen {
    fn add(&mut self, row: usize, trace: &Trace) {
        self.right.add(trace.purl_from(Side::Right));
        self.wrong.add(trace.purl_from(Side::Wrong));
        if trace.holes.is_some() {
            self.hole_rows += 1;
            self.holes = Some((row, Trace { ..*trace }));
        }
        if trace.crosses {
            self.cross_rows += 1;
            self.crosses = Some(row);
        }
    }

    fn signs(&self, rows: usize, side: Side, waits: u32, needles: &Needles) -> Signs {
        let above = |row: usize| u32::try_from(rows - 1 - row).unwrap_or(u32::MAX);
        let ridges = if side == Side::Right { self.right } else { self.wrong };
        let purl = purl_share(needles.left.iter().chain(&needles.right).copied(), side);
        Signs {
            rows,
            side,
            count: u32::try_from(needles.count()).unwrap_or(u32::MAX),
            waits,
            reach: u32::try_from(needles.left.len()).unwrap_or(u32::MAX),
            shows: shows(purl),
            ridges: Between { least: ridges.least, most: ridges.most },
            hole_rows: self.hole_rows,
            above_holes: self.holes.as_ref().map(|(row, _)| above(*row)),
            hole_at: self.holes.as_ref().and_then(|(_, trace)| trace.hole_from(side)),
            cross_rows: self.cross_rows,
            above_crosses: self.crosses.map(above),
        }
    }
}

/// How far each answer goes, for a share of bars; where no stitch shows a face, anything may be seen.
fn shows(purl: Option<f64>) -> [Match; 3] {
    let Some(share) = purl else { return [Match::Fits; 3] };
    let within = |least: f64, most: f64| {
        if (least..=most).contains(&share) {
            Match::Fits
        } else if (least - STRAY..=most + STRAY).contains(&share) {
            Match::Near
        } else {
            Match::Not
        }
    };
    [within(0.0, PLAIN_TO), within(PURL_FROM, 1.0), within(MIXED.0, MIXED.1)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_answer_or_two_by_the_share_of_bars() {
        use Match::{Fits, Near, Not};
        assert_eq!(shows(Some(0.0)), [Fits, Not, Near]);
        assert_eq!(shows(Some(1.0)), [Not, Fits, Near]);
        assert_eq!(shows(Some(0.2)), [Fits, Not, Fits]);
        assert_eq!(shows(Some(0.5)), [Near, Near, Fits]);
    }

    #[test]
    fn garter_has_a_ridge_for_two_rows_and_rough_ground_between_one_and_all() {
        let mut garter = Ridges::default();
        (0..6).for_each(|row| garter.add(Some(f64::from(row % 2))));
        assert_eq!((garter.least, garter.most), (3, 3));
        let mut rough = Ridges::default();
        (0..6).for_each(|_| rough.add(Some(1.0)));
        assert_eq!((rough.least, rough.most), (1, 6));
    }
}
