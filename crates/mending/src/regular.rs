//! How regular the rows of a piece are, and which reason speaks for a correction.
//!
//! Old patterns go up in even steps, their halves answer each other, the same row comes back, holes stand on holes, and a
//! return row shows the row before it from behind. Each of these is a small sum of nats for each row; a correction is judged by what it
//! adds to them. The card keeps the sums apart, so that the strongest can be told in words. All weights are guesses that held on
//! the fixtures.

mod cell;
mod columns;
mod likeness;
mod mirror;
mod profile;
mod reason;

use std::rc::Rc;

use loops::Op;
use rustc_hash::{FxHashMap, FxHashSet};

use self::cell::{Cell, What};
use self::mirror::{MIRROR, between_borders, mirrors};

pub use self::mirror::mirrored;
pub use self::profile::Profile;
pub use self::reason::reason;

/// Nats for a number that breaks the even steps of its neighbours.
const STEP: f64 = 1.2;
/// Nats for each further number of the same row that does.
const STEP_MORE: f64 = 0.4;
/// The most that the numbers of one row may cost beside one pair of neighbours.
const STEPS: f64 = 2.4;
/// Nats for three rows whose numbers go in even steps.
const EVEN: f64 = 0.5;
/// Nats for two neighbouring pattern rows made of the same instructions in the same order.
const LIKE_NEIGHBOUR: f64 = 0.6;
/// Nats for a row unlike the two rows about it, which are like one another.
const UNLIKE: f64 = 1.0;
/// Nats for a row told alike in other words elsewhere.
const SAME: f64 = 1.2;
/// The same in a series of rows that differ only in their numbers, where two are alike by chance.
const SAME_IN_SERIES: f64 = 0.3;
/// Rows with the same instructions and other numbers that make a series.
const SERIES: usize = 3;
/// Nats for a row with the same numbers as another.
const SAME_NUMBERS: f64 = 0.6;
/// Nats for a return row that shows the row before it from behind.
const BEHIND: f64 = 1.6;
/// Nats for the one repeat of a piece that does not leave what it takes.
const UNBALANCED: f64 = 2.5;
/// Nats for a repeat as wide as another.
const WIDTH: f64 = 1.4;
/// Nats for a row that begins, or ends, with the same instruction as most rows of its side; once more for two.
const BORDER: f64 = 0.35;
/// Nats for a row with a repeat that reads the same from both ends, and the least rows that show that they do.
const TURNED: f64 = 1.6;
const TURNED_ROWS: usize = 3;
/// The least rows of a side that show how its rows begin and end.
const BORDERED: usize = 3;
/// Nats for each place of a row where plain stitches are told by two numbers side by side, which few other rows have.
const PARTED: f64 = 1.5;
/// The most that one row may cost for it.
const PARTED_MOST: f64 = 3.0;
/// Of so many rows one may have such a place before it is the manner of the book.
const MANNER: usize = 4;
/// Pieces with more rows are not judged; their rows are mostly the same ones again.
const ROWS: usize = 600;

/// A kind of regularity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Numbers go up or down in even steps.
    Steps,
    /// Neighbouring rows are made alike.
    Alike,
    /// Halves mirror each other.
    Mirror,
    /// Another row says the same.
    Same,
    /// The row shows the one before from behind.
    Behind,
    /// A repeat leaves as many stitches as it takes, or takes as many as that of another row.
    Repeats,
    /// Rows begin and end alike.
    Border,
    /// Plain or purled stitches side by side are told as one number.
    Joined,
    /// Overs and decreases stand on those below.
    Columns,
    /// The row is told as one near it.
    Likeness,
}

/// All kinds, in the order of a card's sums.
pub const KINDS: [Kind; 10] = [
    Kind::Steps,
    Kind::Alike,
    Kind::Mirror,
    Kind::Same,
    Kind::Behind,
    Kind::Repeats,
    Kind::Border,
    Kind::Joined,
    Kind::Columns,
    Kind::Likeness,
];

/// What each kind of regularity comes to in a piece; higher is more regular.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Card {
    sums: [f64; KINDS.len()],
}

impl Card {
    fn add(&mut self, kind: Kind, nats: f64) {
        self.sums[kind as usize] += nats;
    }

    /// The sums of two cards together.
    pub fn and(mut self, other: Card) -> Card {
        self.sums.iter_mut().zip(other.sums).for_each(|(own, other)| *own += other);
        self
    }

    /// The sum of each kind, in the order of [`KINDS`].
    pub fn sums(&self) -> &[f64] {
        &self.sums
    }

    /// What another card has more than this one.
    pub fn gain(&self, other: &Card) -> f64 {
        self.sums.iter().zip(&other.sums).map(|(own, other)| other - own).sum()
    }

    /// The kind in which another card is furthest ahead, if it is in any.
    pub fn strongest(&self, other: &Card) -> Option<Kind> {
        let gain = |kind: &Kind| other.sums[*kind as usize] - self.sums[*kind as usize];
        KINDS.iter().copied().filter(|kind| gain(kind) > 0.4).max_by(|a, b| gain(a).total_cmp(&gain(b)))
    }
}

/// The regularity of a piece.
pub fn card(rows: &[Rc<Profile>], flat: bool) -> Card {
    let mut card = Card::default();
    if rows.len() > ROWS {
        return card;
    }
    steps(rows, &mut card);
    same(rows, &mut card);
    repeats(rows, &mut card);
    borders(rows, flat, &mut card);
    parted(rows, &mut card);
    card.add(Kind::Columns, columns::standing(rows, flat));
    card.add(Kind::Likeness, likeness::likeness(rows));
    card.add(Kind::Mirror, MIRROR * bordered(rows) as f64);
    card.add(Kind::Mirror, TURNED * turned(rows) as f64);
    let mut judged = FxHashSet::default();
    for (index, row) in rows.iter().enumerate() {
        if judged.insert(row.words) {
            card.add(Kind::Mirror, mirrors(&row.top));
        }
        let Some(before) = index.checked_sub(1).map(|before| &rows[before]).filter(|_| flat) else {
            continue;
        };
        if judged.insert(usize::MAX / 2 + row.words * 4_096 + before.words)
            && row.telling()
            && shows_behind(&before.flat, &row.flat)
        {
            card.add(Kind::Behind, BEHIND);
        }
    }
    card
}

/// How many rows, each told once, mirror themselves between the borders of the piece.
fn bordered(rows: &[Rc<Profile>]) -> usize {
    let mut seen = FxHashSet::default();
    let own = rows.iter().filter(|row| row.telling() && seen.insert(row.words));
    let told: Vec<(usize, &[Op])> =
        own.filter_map(|row| Some((row.words, row.leaning.as_deref()?))).collect();
    between_borders(&told).len()
}

/// How many rows with a repeat, each told once, read the same from both ends, where most do.
fn turned(rows: &[Rc<Profile>]) -> usize {
    let mut seen = FxHashSet::default();
    let own = rows.iter().filter(|row| row.telling() && seen.insert(row.words));
    let all: Vec<bool> = own.filter_map(|row| row.turned).collect();
    let alike = all.iter().filter(|alike| **alike).count();
    if alike >= TURNED_ROWS && 2 * alike > all.len() { alike } else { 0 }
}

fn steps(rows: &[Rc<Profile>], card: &mut Card) {
    let mut judged = FxHashSet::default();
    for stride in 1..=2 {
        for middle in stride..rows.len() {
            let (before, own) = (&rows[middle - stride], &rows[middle]);
            let between = stride == 2 && rows[middle - 1].skeleton == own.skeleton;
            if own.words == before.words || between || !judged.insert((before.words, own.words)) {
                continue;
            }
            if before.skeleton == own.skeleton && own.telling() {
                card.add(Kind::Alike, LIKE_NEIGHBOUR);
            }
            let after = rows.get(middle + stride);
            match (after.and_then(|after| steps_of(before, own, after)), Fellows::of(rows, middle, stride)) {
                (Some(nats), _) => card.add(Kind::Steps, nats),
                (None, Some(_)) => card.add(Kind::Alike, -UNLIKE),
                (None, None) => {}
            }
        }
    }
}

/// Two rows about a row that are steps of one series.
struct Fellows<'a> {
    before: &'a Profile,
    after: &'a Profile,
}

impl<'a> Fellows<'a> {
    /// The rows about a row, if they are steps of one series in which the row should stand.
    fn of(rows: &'a [Rc<Profile>], middle: usize, stride: usize) -> Option<Fellows<'a>> {
        let (before, own, after) =
            (&rows[middle.checked_sub(stride)?], &rows[middle], rows.get(middle + stride)?);
        let apart = before.words != own.words && after.words != own.words && after.words != before.words;
        // A row told in one word is of another kind than those about it.
        if before.skeleton != after.skeleton || !before.telling() || !apart || own.flat.len() < 2 {
            return None;
        }
        let further = |at: Option<usize>| {
            at.and_then(|at| rows.get(at)).is_some_and(|row| row.skeleton == before.skeleton)
        };
        // Beside a row that comes back by turns its neighbours are alike without being a series.
        let series = stride == 2 || further(middle.checked_sub(2)) || further(middle.checked_add(2));
        let steps = own.skeleton == before.skeleton || series && before.whole != after.whole;
        steps.then_some(Fellows { before, after })
    }
}

/// What the numbers of three rows speak for or against their order; `None` where they are not built alike. A number that
/// has come down to nothing leaves its instruction out.
fn steps_of(before: &Profile, own: &Profile, after: &Profile) -> Option<f64> {
    let all = [before, own, after];
    let alike = before.skeleton == own.skeleton && own.skeleton == after.skeleton;
    let twins = before.words == own.words || own.words == after.words || before.words == after.words;
    let longest = all.iter().max_by_key(|row| row.flat.len()).filter(|row| row.telling() && !twins)?;
    let full = all.iter().filter(|row| row.skeleton == longest.skeleton).count();
    if !alike && full < 2 {
        return None;
    }
    let [before, own, after] = [before.aligned(longest)?, own.aligned(longest)?, after.aligned(longest)?];
    let step =
        |at: usize| (i64::from(own[at]) - i64::from(before[at]), i64::from(after[at]) - i64::from(own[at]));
    let uneven = (0..own.len()).filter(|at| step(*at).0 != step(*at).1).count();
    let moves = (0..own.len()).any(|at| step(at).0 != 0);
    Some(match uneven {
        0 if moves => EVEN,
        0 => 0.0,
        n => -(STEP + STEP_MORE * (n - 1) as f64).min(STEPS),
    })
}

fn same(rows: &[Rc<Profile>], card: &mut Card) {
    let mut series: FxHashMap<u64, FxHashSet<u64>> = FxHashMap::default();
    let mut by_words: FxHashMap<u64, FxHashSet<usize>> = FxHashMap::default();
    let mut by_numbers: FxHashMap<u64, FxHashSet<u64>> = FxHashMap::default();
    for row in rows.iter().filter(|row| row.telling()) {
        series.entry(row.skeleton).or_default().insert(row.whole);
        by_words.entry(row.whole).or_default().insert(row.words);
        by_numbers.entry(row.numbers()).or_default().insert(row.whole);
    }
    let in_series: FxHashSet<u64> =
        series.values().filter(|wholes| wholes.len() >= SERIES).flatten().copied().collect();
    let weight =
        |whole: &u64, nats: f64| if in_series.contains(whole) { SAME_IN_SERIES.min(nats) } else { nats };
    for (whole, alike) in by_words.iter().filter(|(_, alike)| alike.len() > 1) {
        card.add(Kind::Same, weight(whole, SAME) * alike.len() as f64);
    }
    for alike in by_numbers.values().filter(|alike| alike.len() > 1) {
        card.add(Kind::Same, alike.iter().map(|whole| weight(whole, SAME_NUMBERS)).sum());
    }
}

/// Repeats of one piece mostly take alike and leave what they take.
fn repeats(rows: &[Rc<Profile>], card: &mut Card) {
    let mut by_words: FxHashMap<usize, (u32, u32)> = FxHashMap::default();
    by_words.extend(rows.iter().filter_map(|row| Some((row.words, row.repeat?))));
    let uneven = by_words.values().filter(|(takes, makes)| takes != makes).count();
    if uneven == 1 && by_words.len() > 2 {
        card.add(Kind::Repeats, -UNBALANCED);
    }
    let mut by_width: FxHashMap<u32, usize> = FxHashMap::default();
    by_words.values().for_each(|(takes, _)| *by_width.entry(*takes).or_default() += 1);
    for alike in by_width.values().filter(|alike| **alike > 1) {
        card.add(Kind::Repeats, WIDTH * (*alike - 1) as f64);
    }
}

/// Rows of one side mostly begin alike and end alike: there lie the edge and the heading.
fn borders(rows: &[Rc<Profile>], flat: bool, card: &mut Card) {
    let sides = if flat { 2 } else { 1 };
    for side in 0..sides {
        let mut seen = FxHashSet::default();
        let own = rows.iter().skip(side).step_by(sides);
        let told: Vec<&Profile> =
            own.filter(|row| row.telling() && seen.insert(row.words)).map(|row| &**row).collect();
        for end in 0..4 {
            let most = most_alike(told.iter().filter_map(|row| row.ends[end]));
            card.add(Kind::Border, BORDER * most as f64);
        }
    }
}

/// "Knit 2, knit 3" is told as "knit 5", but where a book parts its stitches otherwise.
fn parted(rows: &[Rc<Profile>], card: &mut Card) {
    let mut seen = FxHashSet::default();
    let told = rows.iter().filter(|row| seen.insert(row.words));
    let places: Vec<usize> = told.map(|row| row.parted).collect();
    let with = places.iter().filter(|places| **places > 0);
    let few = places.len() / MANNER;
    // What is the manner of the book speaks neither for another such row nor against it.
    let nats = match with.clone().count() {
        rows if rows > few => PARTED_MOST * few as f64,
        _ => with.map(|places| (PARTED * *places as f64).min(PARTED_MOST)).sum(),
    };
    card.add(Kind::Joined, -nats);
}

/// How many are alike, where most are.
fn most_alike(all: impl Iterator<Item = u64>) -> usize {
    let mut counts: FxHashMap<u64, usize> = FxHashMap::default();
    let mut rows = 0;
    for end in all {
        *counts.entry(end).or_default() += 1;
        rows += 1;
    }
    counts.into_values().max().filter(|most| *most >= BORDERED && 3 * most >= 2 * rows).unwrap_or(0)
}

/// Whether a row told in knit and purl alone shows the other side of the row before.
fn shows_behind(before: &[Cell], own: &[Cell]) -> bool {
    let faces = |cell: &Cell| match &cell.what {
        What::Ops(ops) => match **ops {
            [Op::K] => Some(true),
            [Op::P] => Some(false),
            _ => None,
        },
        _ => None,
    };
    before.len() == own.len()
        && before.iter().rev().zip(own).all(|(one, other)| {
            one.times == other.times && faces(one).is_some_and(|face| faces(other) == Some(!face))
        })
}

/// Which rows a change may make more regular: those beside neighbours that they break with, and what they may be.
pub struct Loose {
    broken: FxHashSet<usize>,
    /// Rows between two that go on without them.
    alone: FxHashSet<usize>,
    wholes: FxHashSet<u64>,
    widths: FxHashSet<u32>,
    /// How rows begin and end.
    ends: FxHashSet<u64>,
}

impl Loose {
    /// Looks over the rows of a piece.
    pub fn new(rows: &[Rc<Profile>]) -> Loose {
        let (mut broken, mut alone) = (FxHashSet::default(), FxHashSet::default());
        for stride in 1..=2 {
            for middle in 0..rows.len() {
                let own = &rows[middle];
                let Some(fellows) = Fellows::of(rows, middle, stride) else {
                    // At the end of a series a number comes down to nothing.
                    let about = middle.checked_sub(stride).zip(rows.get(middle + stride));
                    if let Some((before, after)) = about.map(|(before, after)| (&rows[before], after))
                        && steps_of(before, own, after).is_some_and(|nats| nats < 0.0)
                    {
                        broken.extend([before.words, own.words, after.words]);
                    }
                    continue;
                };
                if steps_of(fellows.before, own, fellows.after).is_none_or(|nats| nats < 0.0) {
                    broken.extend([fellows.before.words, own.words, fellows.after.words]);
                    alone.insert(own.words);
                }
            }
        }
        let wholes = rows.iter().filter(|row| row.telling()).map(|row| row.whole).collect();
        let widths = rows.iter().filter_map(|row| Some(row.repeat?.0)).collect();
        let ends = rows.iter().filter(|row| row.telling()).flat_map(|row| row.ends).flatten().collect();
        Loose { broken, alone, wholes, widths, ends }
    }

    /// Whether a row breaks with the two about it.
    pub fn breaks(&self, row: &Profile) -> bool {
        self.alone.contains(&row.words)
    }

    /// Whether a row changed to this may make the piece much more regular.
    pub fn admits(&self, own: &Profile, changed: &Profile) -> bool {
        let width = |profile: &Profile| profile.repeat.map(|(takes, _)| takes);
        self.broken.contains(&changed.words)
            || self.wholes.contains(&changed.whole)
            || mirrors(&changed.top) > mirrors(&own.top)
            || changed.turned == Some(true) && own.turned == Some(false)
            || changed.parted < own.parted
            || own.ends.iter().zip(&changed.ends).any(|(own, changed)| {
                own != changed && changed.is_some_and(|changed| self.ends.contains(&changed))
            })
            || width(own) != width(changed)
                && width(changed).is_some_and(|width| self.widths.contains(&width))
    }
}

#[cfg(test)]
mod tests {
    use reading::{Options, Reader};

    use super::*;

    fn rows(texts: &[&str]) -> Vec<Rc<Profile>> {
        let reader = Reader::new().unwrap();
        let profile = |(index, text): (usize, &&str)| {
            let reading = reader.read(&format!("Cast on 20 stitches. 1st row: {text}"), &Options::default());
            Rc::new(Profile::new(&reading.pieces[0].chain[0].candidates[0].seq, index))
        };
        texts.iter().enumerate().map(profile).collect()
    }

    fn gain(before: &[&str], after: &[&str]) -> (f64, Option<Kind>) {
        let (before, after) = (card(&rows(before), true), card(&rows(after), true));
        (before.gain(&after), before.strongest(&after))
    }

    #[test]
    fn even_steps_count() {
        let steps = |third: &'static str| {
            vec![
                "knit 1, over, knit 9",
                "purl 11",
                "knit 2, over, knit 8",
                "purl 11",
                third,
                "purl 11",
                "knit 4, over, knit 6",
            ]
        };
        let (nats, kind) = gain(&steps("knit 5, over, knit 7"), &steps("knit 3, over, knit 7"));
        assert!(nats > 1.0 && kind == Some(Kind::Steps), "{nats} {kind:?}");
        let texts = steps("knit 3, over, knit 7");
        let told = reason(Kind::Steps, &rows(&texts), 4, &["1", "2", "3", "4", "5", "6", "7"]);
        assert_eq!(
            told.as_deref(),
            Some("in rows 1, 3 and 7 the number is 1, 2 and 4, and 3 in row 5 keeps the steps even")
        );
    }

    #[test]
    fn a_number_that_comes_down_to_nothing_is_a_step() {
        let last = |own: &'static str| vec!["knit 3, purl 3, knit 2", "knit 4, purl 3, knit 1", own];
        let (nats, _) = gain(&last("knit 7, purl 1"), &last("knit 5, purl 3"));
        assert!(nats > 1.0, "{nats}");
    }

    #[test]
    fn halves_rows_alike_and_the_other_side_count() {
        let kind = |before: &[&str], after: &[&str]| gain(before, after).1;
        assert_eq!(
            kind(
                &["knit 1, over, narrow, knit 3, narrow, over, knit 2"],
                &["knit 1, over, narrow, knit 3, narrow, over, knit 1"]
            ),
            Some(Kind::Mirror)
        );
        let first = "knit 2, purl 3, knit 1, purl 4";
        assert_eq!(
            kind(
                &[first, "purl 9, narrow", "knit 2, purl 3, knit 2, purl 4"],
                &[first, "purl 9, narrow", first]
            ),
            Some(Kind::Same)
        );
        assert_eq!(
            kind(&[first, "knit 4, purl 2, knit 3, purl 2"], &[first, "knit 4, purl 1, knit 3, purl 2"]),
            Some(Kind::Behind)
        );
    }

    #[test]
    fn holes_that_stand_on_one_another_count() {
        let above = |plain: &str| format!("knit 4, over, narrow, knit {plain}, over, narrow, knit 1");
        let (wrong, right) = (above("7"), above("4"));
        let below = "knit 3, over, narrow, knit 4, over, narrow, knit 2";
        let (nats, kind) = gain(&[below, "purl 13", &wrong], &[below, "purl 13", &right]);
        assert!(nats > 0.9 && kind == Some(Kind::Columns), "{nats} {kind:?}");
        // Where a new kind of stitch begins nothing is out of place.
        let narrowed = "knit 3, narrow, knit 4, narrow, knit 2";
        let begun = card(&rows(&[below, "purl 13", narrowed]), true);
        assert!(begun.sums[Kind::Columns as usize] > -0.1, "{:?}", begun.sums);
    }

    #[test]
    fn rows_by_turns_are_no_series() {
        let turns = [
            "knit 1, over, narrow",
            "knit 2, purl 2, narrow",
            "knit 1, over, narrow",
            "knit 2, purl 2, narrow",
        ];
        assert!(card(&rows(&turns), false).sums[Kind::Alike as usize] >= 0.0);
    }
}
