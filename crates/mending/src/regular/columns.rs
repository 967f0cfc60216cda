//! Overs and decreases that stand on those of the row before.
//!
//! In lace each hole and each decrease stands over one of its kind, or a stitch aside of it; so where words are
//! missing, all that follows them stands elsewhere. Knows the places of such stitches in their rows, counted from
//! either end and within the repeat; not how many stitches are on the needle.

use std::rc::Rc;

use loops::Op;
use reading::{Item, Seq, Until};

use super::profile::Profile;

/// Nats against each over or decrease that does not stand on one of its kind, or has none of its kind on it.
const STANDS: f64 = 0.25;
/// The most of two rows that count.
const MOST: f64 = 10.0;
/// Half stitches by which one may stand aside of the other.
const ASIDE: i32 = 3;
/// Stitches of one row that are looked at.
const LONGEST: usize = 400;

/// The overs and decreases of a row in order.
#[derive(Clone, Debug, Default)]
pub(super) struct Columns {
    /// Up to the part that is as long as the needle; the whole row if it has none.
    head: Stretch,
    /// One round of that part, if it is a group.
    body: Stretch,
    /// After it.
    tail: Stretch,
    /// Whether it has one.
    open: bool,
    /// Whether more than stitches told one by one is in it.
    unlike: bool,
}

/// Stitches told one after the other.
#[derive(Clone, Debug, Default)]
struct Stretch {
    marks: Vec<Mark>,
    takes: i32,
    makes: i32,
}

/// An over or a decrease, and where its middle lies in half stitches on the needle before the row and after it.
#[derive(Clone, Copy, Debug)]
struct Mark {
    op: Op,
    before: i32,
    after: i32,
}

/// From where a place is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Anchor {
    Start,
    End,
    /// In a repeat of so many half stitches, that are counted from the start.
    Repeat(i32),
}

/// Whether places are counted before the row or after it.
#[derive(Clone, Copy, PartialEq, Eq)]
enum When {
    Before,
    After,
}

impl Columns {
    pub(super) fn new(seq: &Seq) -> Columns {
        let mut out = Columns::default();
        out.walk(seq);
        out
    }

    fn walk(&mut self, seq: &Seq) {
        for item in seq.items() {
            match item {
                Item::Work(work) => {
                    (0..work.times.min(LONGEST as u32)).for_each(|_| self.stretch().work(&work.ops));
                }
                Item::Move(..) => {}
                Item::Group { body, until: Until::Times(times), .. } => {
                    let sum = body.shape().fixed;
                    let rounds = if sum.takes > 0 || sum.makes > 0 { times } else { 0 };
                    for _ in 0..rounds {
                        if self.stretch().is_long() {
                            break;
                        }
                        self.walk(&body);
                    }
                }
                Item::Group { body, .. } if !self.open => {
                    let round = Columns::new(&body);
                    (self.open, self.unlike) = (true, self.unlike || round.unlike || round.open);
                    self.body = round.head;
                }
                Item::Rest { .. } if !self.open => self.open = true,
                _ => self.unlike = true,
            }
            if self.stretch().is_long() {
                self.unlike = true;
                break;
            }
        }
    }

    fn stretch(&mut self) -> &mut Stretch {
        if self.open { &mut self.tail } else { &mut self.head }
    }

    /// Whether all stands over the row as it stood below it.
    fn is_between(&self) -> bool {
        [&self.head, &self.body, &self.tail]
            .iter()
            .all(|part| part.marks.is_empty() && part.takes == part.makes)
    }

    /// The overs and decreases with their places; those of a row without an open part are counted from `side`.
    fn places(&self, when: When, side: Anchor) -> Vec<(Op, Anchor, i32)> {
        let long = |part: &Stretch| if when == When::Before { part.takes } else { part.makes };
        let at = |mark: &Mark| if when == When::Before { mark.before } else { mark.after };
        let marks = |part: &Stretch, from: Anchor| {
            let all = part.marks.iter().map(|mark| match from {
                Anchor::Start => (mark.op, from, at(mark)),
                Anchor::End => (mark.op, from, long(part) - at(mark)),
                Anchor::Repeat(width) => {
                    (mark.op, from, (long(&self.head) + at(mark)).rem_euclid(width.max(1)))
                }
            });
            all.collect::<Vec<_>>()
        };
        let mut out = marks(&self.head, if self.open { Anchor::Start } else { side });
        out.extend(marks(&self.body, Anchor::Repeat(long(&self.body))));
        out.extend(marks(&self.tail, Anchor::End));
        out
    }
}

impl Stretch {
    fn work(&mut self, ops: &[Op]) {
        for op in ops {
            let (takes, makes) = (op.takes() as i32 * 2, op.makes() as i32 * 2);
            if op.is_decrease() || matches!(op, Op::Yo | Op::Yo2 | Op::Yo3) {
                self.marks.push(Mark {
                    op: *op,
                    before: self.takes + takes / 2,
                    after: self.makes + makes / 2,
                });
            }
            self.takes += takes;
            self.makes += makes;
        }
    }

    fn is_long(&self) -> bool {
        self.takes.max(self.makes) > 2 * LONGEST as i32
    }
}

/// Nats against the rows of a piece whose overs and decreases do not stand on those below. Rows told stitch by stitch are
/// counted from the edge from which more do.
pub(super) fn standing(rows: &[Rc<Profile>], flat: bool) -> f64 {
    let over = |index: usize| Some((&*rows[index], below(rows, index, flat)?));
    let mut pairs: Vec<(&Profile, &Profile)> = (0..rows.len()).filter_map(over).collect();
    let words = |pair: &(&Profile, &Profile)| (pair.0.words, pair.1.words);
    pairs.sort_by_key(words);
    pairs.dedup_by_key(|pair| words(pair));
    let counted = |side: Anchor| -> f64 { pairs.iter().map(|(own, below)| stands(own, below, side)).sum() };
    counted(Anchor::Start).max(counted(Anchor::End))
}

/// The row whose stitches those of a row stand on, if they lie in the same order.
fn below(rows: &[Rc<Profile>], index: usize, flat: bool) -> Option<&Profile> {
    let own = &rows[index].columns;
    let before = &rows[index.checked_sub(1)?];
    let between = before.columns.is_between();
    let below = if between { &rows[index.checked_sub(2)?] } else { before };
    let told = |columns: &Columns| !columns.unlike && !columns.is_between();
    ((between || !flat) && told(own) && told(&below.columns)).then_some(below)
}

/// Nats against two rows whose overs and decreases do not stand on one another.
fn stands(own: &Profile, below: &Profile, side: Anchor) -> f64 {
    let (own, below) = (own.columns.places(When::Before, side), below.columns.places(When::After, side));
    -STANDS * ((loose(&own, &below) + loose(&below, &own)) as f64).min(MOST)
}

/// How many of one row have none of their kind near in the other, where it has some of it.
fn loose(own: &[(Op, Anchor, i32)], other: &[(Op, Anchor, i32)]) -> usize {
    let alone = |(op, from, at): &&(Op, Anchor, i32)| {
        let mut there = other.iter().filter(|(other, place, _)| other == op && place == from).peekable();
        there.peek().is_some() && !there.any(|(_, _, place)| is_near(*at, *place, *from))
    };
    own.iter().filter(alone).count()
}

fn is_near(one: i32, other: i32, from: Anchor) -> bool {
    let apart = (one - other).abs();
    match from {
        Anchor::Repeat(width) => apart.min(width - apart) <= ASIDE,
        Anchor::Start | Anchor::End => apart <= ASIDE,
    }
}
