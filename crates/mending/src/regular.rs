//! How regular the rows of a piece are, and which reason speaks for a correction.
//!
//! Old patterns go up in even steps, their halves answer each other, the same row comes back, and a return row shows
//! the row before it from behind. Each of these is a small sum of nats for each row; a correction is judged by what it
//! adds to them. The card keeps the sums apart, so that the strongest can be told in words. All weights are guesses that held on
//! the fixtures.

use std::hash::{DefaultHasher, Hash, Hasher};
use std::rc::Rc;

use loops::Op;
use reading::{Item, Seq, Until};
use rustc_hash::{FxHashMap, FxHashSet};

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
/// Nats for a row whose halves mirror each other.
const MIRROR: f64 = 2.0;
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
}

/// All kinds, in the order of a card's sums.
pub const KINDS: [Kind; 6] =
    [Kind::Steps, Kind::Alike, Kind::Mirror, Kind::Same, Kind::Behind, Kind::Repeats];

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

/// One instruction as regularity sees it.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Cell {
    what: What,
    times: u32,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
enum What {
    Ops(Rc<[Op]>),
    Rest(Op),
    Open,
    Close(bool),
    Group(u64),
    Look,
}

/// A row as regularity sees it.
#[derive(Clone, Debug)]
pub struct Profile {
    /// Every instruction, those of groups among them.
    flat: Vec<Cell>,
    /// Instructions with each group as one.
    top: Vec<Cell>,
    skeleton: u64,
    whole: u64,
    /// Stitches that one round of an open group takes and leaves.
    repeat: Option<(u32, u32)>,
    /// Rows with the same number here share their printed words.
    words: usize,
}

impl Profile {
    /// The profile of a row; rows that share their printed words have the same `words`.
    pub fn new(seq: &Seq, words: usize) -> Profile {
        let (mut flat, mut top) = (Vec::new(), Vec::new());
        for item in seq.items() {
            flatten(&item, &mut flat);
            top.extend(top_cell(&item));
        }
        let skeleton = hash(flat.iter().map(|cell| &cell.what));
        let whole = hash(flat.iter());
        let repeat = seq.open_group().map(|body| (body.shape().fixed.takes, body.shape().fixed.makes));
        Profile { flat, top, skeleton, whole, repeat, words }
    }

    /// The number of its printed words.
    pub fn words(&self) -> usize {
        self.words
    }

    fn telling(&self) -> bool {
        let first = self.flat.first().map(|cell| &cell.what);
        self.flat.len() >= 3 && self.flat.iter().any(|cell| Some(&cell.what) != first)
    }

    /// The numbers of its instructions beside those of a row that is built alike or has one instruction more.
    fn aligned(&self, longest: &Profile) -> Option<Vec<u32>> {
        let whats = |cells: &[Cell], others: &[Cell]| {
            cells.iter().zip(others).all(|(one, other)| one.what == other.what)
        };
        let mut times: Vec<u32> = self.flat.iter().map(|cell| cell.times).collect();
        if self.flat.len() == longest.flat.len() {
            return whats(&self.flat, &longest.flat).then_some(times);
        }
        if self.flat.len() + 1 != longest.flat.len() {
            return None;
        }
        let at =
            self.flat.iter().zip(&longest.flat).take_while(|(one, other)| one.what == other.what).count();
        let ops = matches!(longest.flat[at].what, What::Ops(_));
        times.insert(at, 0);
        (ops && whats(&self.flat[at..], &longest.flat[at + 1..])).then_some(times)
    }

    fn numbers(&self) -> u64 {
        hash(self.flat.iter().filter(|cell| !matches!(cell.what, What::Open)).map(|cell| cell.times))
    }
}

fn hash<T: Hash>(all: impl Iterator<Item = T>) -> u64 {
    let mut hasher = DefaultHasher::new();
    all.for_each(|one| one.hash(&mut hasher));
    hasher.finish()
}

fn flatten(item: &Item, out: &mut Vec<Cell>) {
    match item {
        Item::Work(work) => out.push(Cell { what: What::Ops(Rc::clone(&work.ops)), times: work.times }),
        Item::Move(..) => {}
        Item::Rest { op, until, .. } => out.push(Cell { what: What::Rest(*op), times: left(*until) }),
        Item::Group { body, until, .. } => {
            out.push(Cell { what: What::Open, times: 0 });
            body.items().iter().for_each(|item| flatten(item, out));
            let open = !matches!(until, Until::Times(_));
            out.push(Cell { what: What::Close(open), times: left(*until) });
        }
        Item::Seen(..) | Item::LetFall(..) => out.push(Cell { what: What::Look, times: 0 }),
    }
}

fn top_cell(item: &Item) -> Option<Cell> {
    match item {
        Item::Group { body, until, .. } => {
            let mut inner = Vec::new();
            body.items().iter().for_each(|item| flatten(item, &mut inner));
            Some(Cell { what: What::Group(hash(inner.iter())), times: left(*until) })
        }
        item => {
            let mut one = Vec::new();
            flatten(item, &mut one);
            one.pop()
        }
    }
}

fn left(until: Until) -> u32 {
    match until {
        Until::Times(times) => times,
        Until::Left(left) => left,
        Until::End => 0,
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
        if before.skeleton != after.skeleton || !before.telling() || !apart {
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

/// Nats for a row that reads the same from both ends, leans exchanged.
fn mirrors(cells: &[Cell]) -> f64 {
    if cells.len() < 3 || cells.iter().all(|cell| cell.what == cells[0].what) {
        return 0.0;
    }
    if cells.len() == 3 {
        return if answers(&cells[0], &cells[2], true) { MIRROR / 2.0 } else { 0.0 };
    }
    let edge = |at: usize| at == 0;
    let pairs = cells.len() / 2;
    let unlike =
        (0..pairs).filter(|at| !answers(&cells[*at], &cells[cells.len() - 1 - at], edge(*at))).count();
    match unlike {
        0 => MIRROR + 0.2 * pairs.min(5) as f64,
        1 if pairs > 2 => 0.5,
        _ => 0.0,
    }
}

fn answers(one: &Cell, other: &Cell, edge: bool) -> bool {
    let (What::Ops(ops), What::Ops(others)) = (&one.what, &other.what) else { return one == other };
    let alike =
        |a: Op, b: Op| a == b || rank(a).is_some() && rank(a) == rank(b) || edge && (plain(a) && plain(b));
    one.times == other.times
        && ops.len() == others.len()
        && ops.iter().zip(others.iter().rev()).all(|(a, b)| alike(*a, *b))
}

fn plain(op: Op) -> bool {
    op.is_slip() || op == Op::K
}

/// How many stitches a decrease takes, so that those that lean apart answer each other.
fn rank(op: Op) -> Option<(u32, u32)> {
    op.is_decrease().then(|| (op.takes(), op.makes()))
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
    wholes: FxHashSet<u64>,
}

impl Loose {
    /// Looks over the rows of a piece.
    pub fn new(rows: &[Rc<Profile>]) -> Loose {
        let mut broken = FxHashSet::default();
        for stride in 1..=2 {
            for middle in 0..rows.len() {
                let Some(fellows) = Fellows::of(rows, middle, stride) else { continue };
                let own = &rows[middle];
                if steps_of(fellows.before, own, fellows.after).is_none_or(|nats| nats < 0.0) {
                    broken.extend([fellows.before.words, own.words, fellows.after.words]);
                }
            }
        }
        let wholes = rows.iter().filter(|row| row.telling()).map(|row| row.whole).collect();
        Loose { broken, wholes }
    }

    /// Whether a row breaks with its neighbours, or they with it.
    pub fn breaks(&self, row: &Profile) -> bool {
        self.broken.contains(&row.words)
    }

    /// Whether a row changed to this may make the piece much more regular.
    pub fn admits(&self, changed: &Profile) -> bool {
        self.broken.contains(&changed.words) || self.wholes.contains(&changed.whole)
    }
}

/// Why a row is more regular with a correction, in words; `labels` are the printed numbers of the rows.
pub fn reason(kind: Kind, rows: &[Rc<Profile>], row: usize, labels: &[&str]) -> Option<String> {
    let own = rows.get(row)?;
    let label = labels.get(row)?;
    let named = |other: usize| labels.get(other).copied().unwrap_or_default();
    match kind {
        Kind::Steps | Kind::Alike => progress(rows, row, labels).or_else(|| {
            let others: Vec<&str> = near_alike(rows, row).into_iter().map(named).collect();
            (!others.is_empty())
                .then(|| format!("{} made of the same stitches in the same order", rows_are(&others)))
        }),
        Kind::Mirror => Some(format!("only so do the two halves of row {label} answer each other")),
        Kind::Same => {
            let other = rows.iter().position(|other| other.words != own.words && other.whole == own.whole);
            let numbers =
                || rows.iter().position(|other| other.words != own.words && other.numbers() == own.numbers());
            match (other, numbers()) {
                (Some(other), _) => Some(format!("row {} says the same", named(other))),
                (None, Some(other)) => Some(format!("row {} has the same numbers", named(other))),
                _ => None,
            }
        }
        Kind::Repeats => {
            let (takes, makes) = own.repeat?;
            let other = rows.iter().position(|other| {
                other.words != own.words && other.repeat.is_some_and(|(width, _)| width == takes)
            })?;
            let even = if takes == makes { " and leaves as many" } else { "" };
            Some(format!(
                "the repeat of row {label} then takes {takes} stitches{even}, as that of row {}",
                named(other)
            ))
        }
        Kind::Behind => {
            let other = row.checked_sub(1).map(named)?;
            Some(format!("only so does row {label} show row {other} from behind"))
        }
    }
}

/// Rows near this one with the same instructions in the same order.
fn near_alike(rows: &[Rc<Profile>], row: usize) -> Vec<usize> {
    let mut all: Vec<usize> = (row.saturating_sub(6)..(row + 7).min(rows.len()))
        .filter(|other| {
            rows[*other].skeleton == rows[row].skeleton
                && (*other == row || rows[*other].words != rows[row].words)
        })
        .collect();
    all.dedup_by_key(|other| rows[*other].words);
    all.retain(|other| *other != row);
    all
}

/// "the numbers of rows 1, 3 and 7 are 7, 9 and 13, and 11 belongs between".
fn progress(rows: &[Rc<Profile>], row: usize, labels: &[&str]) -> Option<String> {
    let near = near_alike(rows, row);
    if near.len() < 2 {
        return None;
    }
    let column = (0..rows[row].flat.len()).find(|at| {
        let times = |other: usize| rows[other].flat[*at].times;
        near.windows(2).any(|pair| times(pair[0]) != times(pair[1]))
    })?;
    let own = rows[row].flat[column].times;
    let numbers: Vec<String> = near.iter().map(|other| rows[*other].flat[column].times.to_string()).collect();
    let numbers: Vec<&str> = numbers.iter().map(String::as_str).collect();
    let named: Vec<&str> = near.iter().map(|other| labels.get(*other).copied().unwrap_or_default()).collect();
    let label = labels.get(row)?;
    Some(format!(
        "in rows {} the number is {}, and {own} in row {label} keeps the steps even",
        listed(&named),
        listed(&numbers)
    ))
}

fn rows_are(labels: &[&str]) -> String {
    if labels.len() == 1 { format!("row {} is", labels[0]) } else { format!("rows {} are", listed(labels)) }
}

/// `1, 3 and 7`.
pub fn listed(all: &[&str]) -> String {
    match all.split_last() {
        Some((last, [])) => (*last).to_owned(),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
        None => String::new(),
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
