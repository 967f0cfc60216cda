//! Ripped back: which row is on the needle, by what can be seen.
//!
//! Every number of rows, from none to all, is held against each observation. A row stays as long as no observation
//! speaks against it; one that is merely one off costs [`ONE_OFF`]. So the row itself is always among those listed, as
//! long as nobody counts wrong by more than one.
//!
//! How often it is the only one that fits, over all 592 rows of the checked readings of the corpus (in brackets 4,396 of
//! the fixtures and the demo), as `cargo run -p along --example figures` prints it: by the two signs that tell most
//! 100 % (100 %), one of which may be all rows counted from the cast-on; without counting those 74 % (67 %); by the
//! count and the one sign that is asked for then 58 % (48 %), by two asked for 88 % (84 %). What is left are rows that
//! look alike, a repeat apart.

use loops::{Side, Worked};
use serde::Serialize;

use crate::signs::{Between, Match, Shows, Signs};

/// The cost, in nats, of a count that is one off or a face judged a little otherwise: about one in eight counts of what
/// cannot be touched with the needle's tip. From memory of own knitting, no published source.
pub const ONE_OFF: f64 = 2.1;

/// What she can say of the work in her hand; anything may be left out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Observed {
    /// Stitches on the needles.
    pub count: Option<u32>,
    /// What the stitches right under the needle show, on the side that faces.
    pub shows: Option<Shows>,
    /// The side that faces, the yarn at the tip of the left needle.
    pub side: Option<Side>,
    /// Ridges from the cast-on up, on the side that faces.
    pub ridges: Option<u32>,
    /// Rows with holes from the cast-on up.
    pub hole_rows: Option<u32>,
    /// Rows worked above the topmost holes.
    pub above_holes: Option<u32>,
    /// The stitch of that row in which the first hole lies, counted from the tip of the left needle.
    pub hole_at: Option<u32>,
    /// Crossings one above the other, from the cast-on up.
    pub cross_rows: Option<u32>,
    /// Rows worked above the topmost crossing.
    pub above_crosses: Option<u32>,
    /// Rows from the cast-on up, counted stitch over stitch.
    pub height: Option<u32>,
    /// The row she was in before ripping back, as a number of rows worked: it cannot be a later one.
    pub at_most: Option<usize>,
}

/// Something to look at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Sign {
    /// [`Observed::count`].
    Count,
    /// [`Observed::shows`].
    Shows,
    /// [`Observed::side`].
    Side,
    /// [`Observed::ridges`].
    Ridges,
    /// [`Observed::hole_rows`].
    HoleRows,
    /// [`Observed::above_holes`].
    AboveHoles,
    /// [`Observed::hole_at`].
    HoleAt,
    /// [`Observed::cross_rows`].
    CrossRows,
    /// [`Observed::above_crosses`].
    AboveCrosses,
    /// [`Observed::height`].
    Height,
}

/// A row that may be the one on the needle.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Rows worked; the next one is the row with this index.
    pub rows: usize,
    /// Nats against it.
    pub cost: f64,
    /// What would have to be one off.
    pub off: Vec<Sign>,
}

impl Sign {
    /// All of them, the quickest to look at first.
    pub const ALL: [Sign; 10] = [
        Sign::Count,
        Sign::Side,
        Sign::Shows,
        Sign::AboveHoles,
        Sign::HoleRows,
        Sign::HoleAt,
        Sign::Ridges,
        Sign::AboveCrosses,
        Sign::CrossRows,
        Sign::Height,
    ];

    /// What to do to see it.
    pub fn question(self) -> &'static str {
        match self {
            Sign::Count => "Count the stitches on the needle.",
            Sign::Shows => "Look right under the needle: smooth, bars, or some of each?",
            Sign::Side => "Hold the stitches in the left hand, the yarn at the tip: which side faces you?",
            Sign::Ridges => "Count the ridges from the cast-on up, on the side that faces you.",
            Sign::HoleRows => "Count the rows with holes, from the cast-on up.",
            Sign::AboveHoles => "Count the rows above the topmost holes, up to the needle.",
            Sign::HoleAt => {
                "In the topmost row with holes, count from the tip: in which stitch is the first hole?"
            }
            Sign::CrossRows => "Count the rows with crossings, from the cast-on up.",
            Sign::AboveCrosses => "Count the rows above the topmost crossing, up to the needle.",
            Sign::Height => "Count the rows from the cast-on up, stitch over stitch.",
        }
    }

    /// What it is called when it is one off.
    pub fn name(self) -> &'static str {
        match self {
            Sign::Count => "the stitches on the needle",
            Sign::Shows => "what shows under the needle",
            Sign::Side => "the side that faces",
            Sign::Ridges => "the ridges",
            Sign::HoleRows => "the rows with holes",
            Sign::AboveHoles => "the rows above the holes",
            Sign::HoleAt => "where the first hole lies",
            Sign::CrossRows => "the rows with crossings",
            Sign::AboveCrosses => "the rows above the crossing",
            Sign::Height => "the rows from the cast-on",
        }
    }

    /// Whether there is anything to see of it in a piece that shows these signs from row to row.
    pub(crate) fn tells_of(self, signs: &[Signs], worked: Worked) -> bool {
        let any = |seen: fn(&Signs) -> bool| signs.iter().any(seen);
        match self {
            Sign::Count | Sign::Shows | Sign::Height => true,
            Sign::Side => worked == Worked::Flat,
            Sign::Ridges => any(|row| row.ridges.most > 0),
            Sign::HoleRows | Sign::AboveHoles | Sign::HoleAt => any(|row| row.hole_rows > 0),
            Sign::CrossRows | Sign::AboveCrosses => any(|row| row.cross_rows > 0),
        }
    }

    /// How far an observation of this goes with a row; `None` where nothing was said of it.
    fn matches(self, signs: &Signs, observed: &Observed) -> Option<Match> {
        let exactly = |count| Between { least: count, most: count };
        let above =
            |seen: Option<u32>, said: u32| seen.map_or(Match::Not, |seen| exactly(seen).matches(said));
        match self {
            Sign::Count => observed.count.map(|count| signs.counting(count)),
            Sign::Shows => observed.shows.map(|shows| signs.showing(shows)),
            Sign::Side => {
                let same = |side| if side == signs.side { Match::Fits } else { Match::Not };
                observed.side.map(same)
            }
            Sign::Ridges => observed.ridges.map(|ridges| signs.ridges.matches(ridges)),
            Sign::HoleRows => observed.hole_rows.map(|rows| exactly(signs.hole_rows).matches(rows)),
            Sign::AboveHoles => observed.above_holes.map(|rows| above(signs.above_holes, rows)),
            Sign::HoleAt => observed.hole_at.map(|place| match (signs.above_holes, signs.hole_at) {
                (None, _) => Match::Not,
                (Some(_), None) => Match::Fits,
                (Some(_), Some(seen)) => exactly(seen).matches(place),
            }),
            Sign::CrossRows => observed.cross_rows.map(|rows| exactly(signs.cross_rows).matches(rows)),
            Sign::AboveCrosses => observed.above_crosses.map(|rows| above(signs.above_crosses, rows)),
            Sign::Height => observed.height.map(|rows| exactly(signs.height()).matches(rows)),
        }
    }
}

impl Observed {
    /// The same with what a row would truly show of one sign; unchanged where the row shows nothing of it.
    #[must_use]
    pub fn with(self, sign: Sign, signs: &Signs) -> Observed {
        let shown = [Shows::Plain, Shows::Purl, Shows::Mixed].into_iter();
        let mut seen = self;
        match sign {
            Sign::Count => seen.count = Some(signs.count),
            Sign::Shows => seen.shows = shown.min_by_key(|&shows| signs.showing(shows)),
            Sign::Side => seen.side = Some(signs.side),
            Sign::Ridges => seen.ridges = Some(signs.ridges.least),
            Sign::HoleRows => seen.hole_rows = Some(signs.hole_rows),
            Sign::AboveHoles => seen.above_holes = signs.above_holes,
            Sign::HoleAt => seen.hole_at = signs.hole_at,
            Sign::CrossRows => seen.cross_rows = Some(signs.cross_rows),
            Sign::AboveCrosses => seen.above_crosses = signs.above_crosses,
            Sign::Height => seen.height = Some(signs.height()),
        }
        seen
    }

    fn has(&self, sign: Sign) -> bool {
        match sign {
            Sign::Count => self.count.is_some(),
            Sign::Shows => self.shows.is_some(),
            Sign::Side => self.side.is_some(),
            Sign::Ridges => self.ridges.is_some(),
            Sign::HoleRows => self.hole_rows.is_some(),
            Sign::AboveHoles => self.above_holes.is_some(),
            Sign::HoleAt => self.hole_at.is_some(),
            Sign::CrossRows => self.cross_rows.is_some(),
            Sign::AboveCrosses => self.above_crosses.is_some(),
            Sign::Height => self.height.is_some(),
        }
    }
}

/// The rows that go with what was observed: those that fit as they are first, then those with something one off, among
/// equals the later row first, since people rip back only a few.
pub fn places(signs: &[Signs], observed: &Observed) -> Vec<Place> {
    let within = |row: &&Signs| observed.at_most.is_none_or(|most| row.rows <= most);
    let mut places: Vec<Place> =
        signs.iter().filter(within).filter_map(|signs| place(signs, observed)).collect();
    places.sort_by(|a, b| a.cost.total_cmp(&b.cost).then(b.rows.cmp(&a.rows)));
    places
}

fn place(signs: &Signs, observed: &Observed) -> Option<Place> {
    let mut off = Vec::new();
    for sign in Sign::ALL {
        match sign.matches(signs, observed) {
            Some(Match::Not) => return None,
            Some(Match::Near) => off.push(sign),
            Some(Match::Fits) | None => {}
        }
    }
    Some(Place { rows: signs.rows, cost: ONE_OFF * off.len() as f64, off })
}

/// What to look at next: the sign that leaves the fewest of the rows that fit. To count all rows from the cast-on is
/// asked only where nothing else tells them apart; `None` where nothing does, or one row is left.
pub fn next_sign(signs: &[Signs], observed: &Observed, places: &[Place]) -> Option<Sign> {
    let fitting: Vec<&Signs> =
        places.iter().filter(|place| place.off.is_empty()).map(|place| &signs[place.rows]).collect();
    let left = |sign: Sign| -> usize {
        let others = |truth: &&Signs| {
            let seen = Observed::default().with(sign, truth);
            fitting.iter().filter(|row| sign.matches(row, &seen).is_none_or(|m| m == Match::Fits)).count()
        };
        fitting.iter().map(others).sum()
    };
    let unseen = Sign::ALL.into_iter().filter(|&sign| !observed.has(sign));
    let telling = unseen.map(|sign| (sign == Sign::Height, left(sign), sign));
    let telling = telling.filter(|&(_, left, _)| left < fitting.len() * fitting.len());
    telling.min_by_key(|&(is_long, left, _)| (is_long, left)).map(|(.., sign)| sign)
}
