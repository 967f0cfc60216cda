//! The scores of both finders, counted the same way by the tests and by the figures.

#![allow(dead_code, reason = "each test uses its part")]

use std::collections::BTreeMap;
use std::fmt;
use std::ops::Range;

use along::{AlongPiece, Observed, Sign, Signs, SlipKind, next_sign, places};
use loops::{Piece, work};
use prose::{Rng, random_program};
use wording::Terms;

use super::common::checked_readings;
use super::common::eye::look;
use super::common::hands::{self, Eye, Made, slip};

/// How often something came out.
#[derive(Clone, Copy, Default)]
pub struct Share {
    pub good: u32,
    pub of: u32,
}

impl Share {
    fn add(&mut self, good: bool) {
        self.good += u32::from(good);
        self.of += 1;
    }

    pub fn share(self) -> f64 {
        f64::from(self.good) / f64::from(self.of.max(1))
    }
}

impl fmt::Display for Share {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:5.1} % of {:5}", 100.0 * self.share(), self.of)
    }
}

// ---- ripped back ------------------------------------------------------------------------------------------------

/// Over all rows of some pieces.
#[derive(Default)]
pub struct Ripped {
    /// The row is listed, whatever two things are looked at, and with everything looked at.
    pub listed: Share,
    /// The row alone fits, by the two signs that tell most.
    pub alone_by_best_two: Share,
    /// The same, though she does not count all rows from the cast-on.
    pub alone_uncounted: Share,
    /// The row alone fits, by the count and the sign that the finder then asks for.
    pub alone_by_asked_two: Share,
    /// The row alone fits, by the count and two signs asked for.
    pub alone_by_asked_three: Share,
    /// Rows of which something that can be seen at all tells them apart from every other.
    pub alone_by_all: Share,
}

pub struct RippedBack(pub Vec<(&'static str, Ripped)>);

pub fn ripped_back(first: u64, programs: u64) -> RippedBack {
    let random = (first..first + programs).map(random_program);
    let checked = checked_readings().into_iter();
    let is_corpus = |name: &str| !name.contains("/fixtures/") && !name.contains("/demo/");
    let (corpus, fixtures): (Vec<_>, Vec<_>) = checked.partition(|(name, _)| is_corpus(name));
    RippedBack(vec![
        ("random programs", ripped(random)),
        ("fixtures and demo", ripped(fixtures.into_iter().map(|(_, piece)| piece))),
        ("corpus", ripped(corpus.into_iter().map(|(_, piece)| piece))),
    ])
}

fn ripped(pieces: impl Iterator<Item = Piece>) -> Ripped {
    let mut score = Ripped::default();
    let mut rng = Rng::new(7);
    for piece in pieces {
        let signs = Signs::of(&piece, &work(&piece));
        for truth in 0..signs.len() {
            score_row(&piece, &signs, truth, &mut rng, &mut score);
        }
    }
    score
}

fn score_row(piece: &Piece, signs: &[Signs], truth: usize, rng: &mut Rng, score: &mut Ripped) {
    let seen = look(piece, truth, rng);
    let fits = |observed: &Observed| -> Vec<usize> {
        places(signs, observed).iter().filter(|place| place.off.is_empty()).map(|place| place.rows).collect()
    };
    let is_listed = |observed: &Observed| places(signs, observed).iter().any(|place| place.rows == truth);
    let pairs = pairs_of(&seen);
    let uncounted = pairs.iter().filter(|pair| pair.height.is_none());
    score.listed.add(is_listed(&seen) && pairs.iter().all(is_listed));
    score.alone_by_all.add(fits(&seen) == [truth]);
    score.alone_uncounted.add(uncounted.clone().any(|pair| fits(pair) == [truth]));
    score.alone_by_best_two.add(pairs.iter().any(|pair| fits(pair) == [truth]));
    let mut asked = only(&seen, Sign::Count);
    for step in [&mut score.alone_by_asked_two, &mut score.alone_by_asked_three] {
        if let Some(sign) = next_sign(signs, &asked, &places(signs, &asked)) {
            asked = both(&asked, &only(&seen, sign));
        }
        step.add(fits(&asked) == [truth]);
    }
}

fn pairs_of(seen: &Observed) -> Vec<Observed> {
    let mut pairs = Vec::new();
    for (index, &a) in Sign::ALL.iter().enumerate() {
        for &b in &Sign::ALL[index + 1..] {
            pairs.push(both(&only(seen, a), &only(seen, b)));
        }
    }
    pairs
}

fn only(seen: &Observed, sign: Sign) -> Observed {
    let mut one = Observed::default();
    match sign {
        Sign::Count => one.count = seen.count,
        Sign::Shows => one.shows = seen.shows,
        Sign::Side => one.side = seen.side,
        Sign::Ridges => one.ridges = seen.ridges,
        Sign::HoleRows => one.hole_rows = seen.hole_rows,
        Sign::AboveHoles => one.above_holes = seen.above_holes,
        Sign::HoleAt => one.hole_at = seen.hole_at,
        Sign::CrossRows => one.cross_rows = seen.cross_rows,
        Sign::AboveCrosses => one.above_crosses = seen.above_crosses,
        Sign::Height => one.height = seen.height,
    }
    one
}

fn both(a: &Observed, b: &Observed) -> Observed {
    Observed {
        count: a.count.or(b.count),
        shows: a.shows.or(b.shows),
        side: a.side.or(b.side),
        ridges: a.ridges.or(b.ridges),
        hole_rows: a.hole_rows.or(b.hole_rows),
        above_holes: a.above_holes.or(b.above_holes),
        hole_at: a.hole_at.or(b.hole_at),
        cross_rows: a.cross_rows.or(b.cross_rows),
        above_crosses: a.above_crosses.or(b.above_crosses),
        height: a.height.or(b.height),
        at_most: None,
    }
}

impl fmt::Display for RippedBack {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (name, score) in &self.0 {
            writeln!(f, "ripped back, {name}:")?;
            writeln!(f, "  the row is listed                              {}", score.listed)?;
            writeln!(f, "  alone by the two signs that tell most          {}", score.alone_by_best_two)?;
            writeln!(f, "  the same, rows from the cast-on not counted    {}", score.alone_uncounted)?;
            writeln!(f, "  alone by the count and one sign asked for      {}", score.alone_by_asked_two)?;
            writeln!(f, "  alone by the count and two signs asked for     {}", score.alone_by_asked_three)?;
            writeln!(f, "  alone by all that can be seen                  {}", score.alone_by_all)?;
        }
        Ok(())
    }
}

// ---- slips --------------------------------------------------------------------------------------------------------

/// Ranks of slips that were made.
#[derive(Default)]
pub struct Ranks {
    pub first: Share,
    pub first_three: Share,
}

#[derive(Default)]
pub struct SlipScore {
    pub all: Ranks,
    /// What a finder would reach that knew how often each slip is made and each number miscounted, first and among the
    /// first three; not worked out where she looks for the place, since that place is asked for too.
    pub best: Option<(f64, f64)>,
    pub by_kind: BTreeMap<SlipKind, Ranks>,
}

pub struct SlipScores(pub Vec<(&'static str, SlipScore)>);

pub fn slips_of(eye: Eye, first: u64, tries: u64) -> SlipScore {
    let (mut score, mut best) = (SlipScore::default(), (0.0, 0.0));
    for seed in first..first + tries {
        let piece = random_program(seed);
        let mut rng = Rng::new(seed ^ 0x5eed);
        let kind = hands::kind(&mut rng);
        let Some(made) = slip(&piece, kind, eye, &mut rng) else { continue };
        let one = hands::best(&piece, &made.found);
        best = (best.0 + one.0, best.1 + one.1);
        let rank = rank(&piece, &made);
        for ranks in [&mut score.all, score.by_kind.entry(made.kind).or_default()] {
            ranks.first.add(rank == Some(0));
            ranks.first_three.add(rank.is_some_and(|rank| rank < 3));
        }
    }
    let cases = f64::from(score.all.first.of.max(1));
    score.best = (eye != Eye::Looks).then_some((best.0 / cases, best.1 / cases));
    score
}

pub fn slips(first: u64, tries: u64) -> SlipScores {
    SlipScores(vec![
        ("looked where it goes wrong", slips_of(Eye::Looks, first, tries)),
        (
            "yarn overs and what lies together counted too, and looked for a loose loop",
            slips_of(Eye::All, first, tries),
        ),
        (
            "yarn overs counted too, and looked for a loose loop",
            slips_of(Eye::YarnOversAndLoop, first, tries),
        ),
        ("yarn overs counted too", slips_of(Eye::YarnOvers, first, tries)),
        ("only counted", slips_of(Eye::Counts, first, tries)),
    ])
}

/// The place of a slip in the list: of its kind and row, and, where she looked, with its place among the first three.
fn rank(piece: &Piece, made: &Made) -> Option<usize> {
    let along = AlongPiece::of(piece, Terms::Us);
    along::slips(&work(piece), &along, &made.found).iter().position(|slip| {
        let known_place = made.looked && !matches!(made.kind, SlipKind::YarnOverLost | SlipKind::CastOn);
        let is_here = |ops: &Range<usize>| ops.start == made.op || ops.contains(&made.op);
        let at_place = || slip.places.iter().take(3).any(|place| is_here(&place.ops));
        slip.kind == made.kind && slip.row == made.row && (!known_place || at_place())
    })
}

impl fmt::Display for SlipScores {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (name, score) in &self.0 {
            writeln!(f, "slips, {name}:          first              first three")?;
            let kinds = score.by_kind.iter().map(|(kind, ranks)| (format!("{kind:?}"), ranks));
            for (name, ranks) in kinds.chain([("all".to_owned(), &score.all)]) {
                writeln!(f, "  {name:<20} {}   {}", ranks.first, ranks.first_three)?;
            }
            if let Some((first, three)) = score.best {
                writeln!(
                    f,
                    "  {:<20} {:5.1} %              {:5.1} %",
                    "the best there can be",
                    100.0 * first,
                    100.0 * three
                )?;
            }
        }
        Ok(())
    }
}
