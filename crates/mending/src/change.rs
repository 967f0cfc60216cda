//! Changes of one reading of a row: which there are, what each costs, the row it gives and the words it takes.
//!
//! A reading is cut into [`Frame`]s, its own items and those of each group, so that the row with a change is put
//! together from what stands before and after it and costs no more than the change. What a change adds to the stitches
//! taken is known before the row is built, so that most changes are never built at all.

mod anew;
mod exchange;
mod make;
mod phrase;
mod printed;

use std::rc::Rc;

use loops::Op;
use notation::Lexicon;
use reading::{Item, Seq, Sum, Until, Work};

pub use self::anew::Told;
use self::anew::{Row, rows_anew};
use self::exchange::Slot;
pub use self::phrase::lower_first;
use self::phrase::{Phrase, phrases};

use crate::class::Class;
use crate::habits::Habits;
use crate::words::{Figure, Words};

/// The most changes of one reading.
const CHANGES: usize = 3_000;
/// How deep groups within groups are changed.
const DEPTH: usize = 3;
/// The most items of one row that are changed one by one.
const ITEMS: usize = 160;

/// Items of a reading, or of a group in it.
#[derive(Debug)]
pub struct Frame {
    /// The items.
    pub items: Vec<Item>,
    /// The items up to each place.
    prefix: Vec<Option<Seq>>,
    /// The items from each place on.
    suffix: Vec<Option<Seq>>,
    /// The frame and item that hold this one.
    parent: Option<(usize, usize)>,
    /// How often it is worked; `None` where that is open.
    times: Option<u32>,
}

/// A reading of a row cut into frames.
#[derive(Debug)]
pub struct Base {
    /// Nats against the reading.
    pub cost: f64,
    /// The reading.
    pub seq: Seq,
    /// Its frames, the whole row first.
    pub frames: Vec<Frame>,
    /// Words that may have been dropped.
    pub phrases: Vec<Phrase>,
    /// Rows that may have been meant in its place.
    rows: Vec<Row>,
    /// Its changes.
    pub changes: Vec<Change>,
}

/// One change of one frame.
#[derive(Clone, Debug)]
pub struct Change {
    /// Nats against it, [`crate::class::MISPRINT`] not counted.
    pub cost: f64,
    frame: usize,
    from: usize,
    to: usize,
    kind: Kind,
}

#[derive(Clone, Debug)]
enum Kind {
    /// The number of an instruction.
    Times(u32),
    /// Another operation, the printed number with it.
    Together(Op, u32),
    /// Where a repeat stops, and the number to be printed at a place.
    Until(Until, u32, Figure),
    /// The number of an instruction that stands twice, in both places.
    Both(usize, u32),
    /// A phrase put in.
    Insert(usize),
    /// Items taken out.
    Delete,
    /// A slipped stitch passed over what follows.
    Pass(Op),
    /// The items before a group drawn into it, so many; or driven out of it where negative.
    Star(i32),
    /// One instruction for two that ran together: the number of the first, the operation and number of the second.
    Split(u32, usize, u32),
    /// Another instruction in the same number: the phrase that should stand there.
    Stitch(usize),
    /// Two neighbours change places.
    Swap,
    /// Two numbers change places.
    Exchange(Slot, Slot),
    /// Another row in the place of one printed again.
    Row(usize),
}

impl Frame {
    fn new(items: Vec<Item>, parent: Option<(usize, usize)>, times: Option<u32>) -> Frame {
        let seqs: Vec<Seq> = items.iter().cloned().map(Seq::one).collect();
        let join = |left: Option<&Seq>, right: &Seq| {
            Some(left.map_or_else(|| right.clone(), |left| left.and(right)))
        };
        let mut prefix = vec![None];
        for seq in &seqs {
            prefix.push(join(prefix.last().and_then(Option::as_ref), seq));
        }
        let mut suffix = vec![None];
        for seq in seqs.iter().rev() {
            suffix.push(match suffix.last().and_then(Option::as_ref) {
                Some(after) => Some(seq.and(after)),
                None => Some(seq.clone()),
            });
        }
        suffix.reverse();
        Frame { items, prefix, suffix, parent, times }
    }
}

/// What a text lends to the changes of its rows.
pub struct Source<'a> {
    /// The words.
    pub words: &'a Words<'a>,
    /// The senses.
    pub lexicon: &'a Lexicon,
    /// What stands beside what.
    pub habits: &'a Habits,
    /// The number of the row's printed words among those habits.
    pub own: usize,
}

impl Base {
    /// Cuts a reading up; `beside` are readings of rows near it. Its changes are not yet made.
    pub fn new(cost: f64, seq: &Seq, beside: &[Seq], words: &Words<'_>) -> Base {
        let mut frames = Vec::new();
        cut(seq.items(), None, Some(1), 0, &mut frames);
        let phrases = phrases(&frames, beside, words);
        Base { cost, seq: seq.clone(), frames, phrases, rows: Vec::new(), changes: Vec::new() }
    }

    /// The same with every change that may give other counts.
    pub fn with_changes(self, source: &Source<'_>) -> Base {
        let mut base = self;
        for frame in 0..base.frames.len() {
            base.number_changes(frame, source);
            base.doubled(frame, source);
            base.marks(frame, source.words);
            base.stitches(frame, source);
            base.swapped_numbers(frame, source);
            base.swapped(frame);
        }
        // Of these there are by far the most.
        (0..base.frames.len()).for_each(|frame| base.dropped(frame, source));
        base.changes.truncate(CHANGES);
        base
    }

    /// The same as one of the rows told in a piece, printed again where another was meant.
    pub fn told_again(mut self, row: usize, told: &[Told<'_>], words: &Words<'_>) -> Base {
        /// Nats in favour of another row: a book seldom tells a row twice.
        const AGAIN: f64 = 2.0;
        let whole = self.frames.first().map_or(0, |frame| frame.items.len());
        self.rows = rows_anew(row, &self.seq, told, words);
        let change = |(index, row): (usize, &Row)| Change {
            cost: Class::Rows.cost() - AGAIN + row.cost,
            frame: 0,
            from: 0,
            to: whole,
            kind: Kind::Row(index),
        };
        let changes: Vec<Change> = self.rows.iter().enumerate().map(change).collect();
        self.changes.extend(changes);
        self
    }

    /// Whether a change puts one instruction for another.
    pub fn is_of_stitch(&self, change: &Change) -> bool {
        matches!(change.kind, Kind::Stitch(_))
    }

    /// Whether two neighbours change places, which every reading has among its neutral changes.
    pub fn is_swap(&self, change: &Change) -> bool {
        matches!(change.kind, Kind::Swap)
    }

    /// Whether a change puts another row for one printed again that is no step of a series: which it was, nothing tells.
    pub fn is_of_any_row(&self, change: &Change) -> bool {
        matches!(change.kind, Kind::Row(row) if self.rows[row].cost > 0.0)
    }

    /// What a change adds to the stitches taken; `None` where that hangs on how often an open group is worked.
    pub fn delta(&self, change: &Change) -> Option<i64> {
        let frame = &self.frames[change.frame];
        let takes = |sum: Sum| i64::from(sum.takes);
        let old =
            || -> i64 { frame.items[change.from..change.to].iter().map(|item| takes(fixed(item))).sum() };
        let own = match (&change.kind, frame.items.get(change.from)) {
            (Kind::Times(meant), Some(Item::Work(work))) => {
                takes(Work { times: 1, ..work.clone() }.sum()) * (i64::from(*meant) - i64::from(work.times))
            }
            (Kind::Together(op, _), Some(Item::Work(work))) => {
                i64::from(op.takes()) * i64::from(work.times) - old()
            }
            (Kind::Insert(phrase), _) => {
                self.phrases[*phrase].items.iter().map(|item| takes(fixed(item))).sum()
            }
            (Kind::Stitch(_), _) => takes(fixed(self.new_items(change)?.first()?)) - old(),
            (Kind::Row(row), _) => {
                let (own, other) = (self.seq.shape(), self.rows[*row].seq.shape());
                let fixed = own.open.is_empty() && other.open.is_empty();
                return fixed.then(|| takes(other.fixed) - takes(own.fixed));
            }
            (Kind::Delete, _) if frame.items[change.from..change.to].iter().all(is_fixed) => -old(),
            (Kind::Exchange(..), _) if frame.items[change.from..change.to].iter().all(is_fixed) => {
                let new = self.new_items(change)?;
                new.iter().map(|item| takes(fixed(item))).sum::<i64>() - old()
            }
            _ => return None,
        };
        let mut all = own;
        let mut at = Some(change.frame);
        while let Some(frame) = at {
            all = all.saturating_mul(i64::from(self.frames[frame].times?));
            at = self.frames[frame].parent.map(|(parent, _)| parent);
        }
        Some(all)
    }

    /// The row with a change.
    pub fn build(&self, change: &Change) -> Option<Seq> {
        let items = self.new_items(change)?;
        self.put(change.frame, change.from, change.to, items)
    }

    fn put(&self, frame: usize, from: usize, to: usize, items: Vec<Item>) -> Option<Seq> {
        let held = &self.frames[frame];
        let parts = [held.prefix[from].clone(), Seq::of(items), held.suffix[to].clone()];
        let all = parts.into_iter().flatten().reduce(|all, next| all.and(&next))?;
        let Some((parent, at)) = held.parent else { return Some(all) };
        match &self.frames[parent].items[at] {
            Item::Group { until, span, .. } => {
                self.put(parent, at, at + 1, vec![Item::Group { body: all, until: *until, span: *span }])
            }
            _ => None,
        }
    }

    /// The items that stand in place of those of a change.
    fn new_items(&self, change: &Change) -> Option<Vec<Item>> {
        let old = &self.frames[change.frame].items[change.from..change.to];
        let work = |item: &Item| match item {
            Item::Work(work) => Some(work.clone()),
            _ => None,
        };
        Some(match &change.kind {
            Kind::Times(meant) => vec![Item::Work(Work { times: *meant, ..work(&old[0])? })],
            Kind::Together(op, _) => vec![Item::Work(Work { ops: Rc::from([*op]), ..work(&old[0])? })],
            Kind::Stitch(phrase) => {
                let (own, other) = (work(&old[0])?, work(self.phrases[*phrase].items.first()?)?);
                vec![Item::Work(Work { times: own.times, span: own.span, number: own.number, ..other })]
            }
            Kind::Until(next, ..) => vec![match old[0].clone() {
                Item::Group { body, span, .. } => Item::Group { body, until: *next, span },
                Item::Rest { op, span, .. } => Item::Rest { op, until: *next, span },
                _ => return None,
            }],
            Kind::Both(at, meant) => {
                let like = work(old.get(*at)?)?;
                let change = |item: &Item| match item {
                    Item::Work(work) if same_number(item, &like) => {
                        Item::Work(Work { times: *meant, ..work.clone() })
                    }
                    other => other.clone(),
                };
                old.iter().map(change).collect()
            }
            Kind::Insert(phrase) => self.phrases[*phrase].items.clone(),
            Kind::Delete => Vec::new(),
            Kind::Pass(op) => {
                let slip = work(&old[0])?;
                vec![Item::Work(Work {
                    ops: Rc::from([*op]),
                    times: 1,
                    span: slip.span.to(old[1].span()),
                    number: None,
                    sense: None,
                })]
            }
            Kind::Star(moved) => self.moved(old, *moved)?,
            Kind::Split(first, phrase, second) => {
                let one = work(&old[0])?;
                let two = work(self.phrases[*phrase].items.first()?)?;
                let span = one.span;
                vec![
                    Item::Work(Work { times: *first, ..one }),
                    Item::Work(Work { times: *second, span, ..two }),
                ]
            }
            Kind::Row(row) => self.rows[*row].seq.items(),
            Kind::Swap => vec![old[1].clone(), old[0].clone()],
            Kind::Exchange(one, other) => {
                let mut items = old.to_vec();
                let (first, second) = (one.number(old)?, other.number(old)?);
                one.put(&mut items, second)?;
                other.put(&mut items, first)?;
                items
            }
        })
    }

    fn moved(&self, old: &[Item], moved: i32) -> Option<Vec<Item>> {
        let (group, before) = old.split_last()?;
        let Item::Group { body, until, span } = group else { return None };
        let inner = body.items();
        let group =
            |items: Vec<Item>| Some(Item::Group { body: Seq::of(items)?, until: *until, span: *span });
        if moved > 0 {
            return Some(vec![group(before.iter().cloned().chain(inner).collect())?]);
        }
        let out = usize::try_from(-moved).ok()?;
        let mut items: Vec<Item> = inner.get(..out)?.to_vec();
        items.push(group(inner[out..].to_vec())?);
        Some(items)
    }
}

fn cut(
    items: Vec<Item>,
    parent: Option<(usize, usize)>,
    times: Option<u32>,
    depth: usize,
    out: &mut Vec<Frame>,
) {
    let index = out.len();
    let groups: Vec<(usize, Seq, Option<u32>)> = items
        .iter()
        .enumerate()
        .filter_map(|(at, item)| match item {
            Item::Group { body, until: Until::Times(times), .. } => Some((at, body.clone(), Some(*times))),
            Item::Group { body, .. } => Some((at, body.clone(), None)),
            _ => None,
        })
        .collect();
    out.push(Frame::new(items, parent, times));
    if depth < DEPTH {
        for (at, body, times) in groups {
            cut(body.items(), Some((index, at)), times, depth + 1, out);
        }
    }
}

fn same_number(item: &Item, like: &Work) -> bool {
    matches!(item, Item::Work(work) if work.number.is_some() && work.times == like.times && work.ops == like.ops)
}

fn is_fixed(item: &Item) -> bool {
    matches!(item, Item::Work(_) | Item::Move(..))
        || matches!(item, Item::Group { until: Until::Times(_), body, .. } if body.shape().open.is_empty())
}

fn fixed(item: &Item) -> Sum {
    match item {
        Item::Work(work) => work.sum(),
        Item::Group { body, until: Until::Times(times), .. } => body.shape().fixed.times(*times),
        _ => Sum::default(),
    }
}

#[cfg(test)]
mod tests {
    use reading::{Options, Reader};

    use super::*;
    use crate::patch::apply;

    /// The texts that the changes of the first row give, with the stitches that they take more.
    fn changed(text: &str) -> Vec<(String, Option<i64>, Sum)> {
        let reader = Reader::new().unwrap();
        let reading = reader.read(text, &Options::default());
        let piece = &reading.pieces[0];
        let words = Words::new(text);
        let habits = Habits::default();
        let source = Source { words: &words, lexicon: reader.lexicon(), habits: &habits, own: 0 };
        let chosen = &piece.chain[0].candidates[piece.path.rows[0].candidate];
        let base = Base::new(0.0, &chosen.seq, &[], &words).with_changes(&source);
        let tell = |change: &Change| {
            let patched = apply(text, &base.patches(change, &words)?)?;
            let seq = base.build(change)?;
            if let (Some(delta), []) = (base.delta(change), seq.shape().open.as_slice()) {
                let takes = i64::from(seq.shape().fixed.takes) - i64::from(base.seq.shape().fixed.takes);
                assert_eq!(takes, delta, "{}", patched.text);
            }
            Some((patched.text, base.delta(change), seq.shape().fixed))
        };
        base.changes.iter().filter_map(tell).collect()
    }

    #[test]
    fn every_class_of_change_is_made() {
        let text = "Cast on 12 stitches. 1st row: knit 1, (over, narrow) twice, knit 2 together, slip 1, knit 1, knit 110, over.";
        let all = changed(text);
        let gives = |part: &str| all.iter().any(|(text, ..)| text.contains(part));
        for part in [
            "knit 2, (over",
            "narrow) three times",
            "narrow) once",
            "knit 3 together",
            "slip 1, knit 1, pass the slipped stitch over, knit 110",
            "knit 11, over",
            "knit 10, over",
            "slip 1, knit 110",
            "over, narrow, over) twice",
            "knit 110, over, narrow.",
            "knit 110.",
        ] {
            assert!(gives(part), "{part}");
        }
    }

    #[test]
    fn repeat_marks_are_put_in_and_moved() {
        let missing =
            changed("Cast on 13 stitches. 1st row: knit 3, over, narrow; repeat from *. 2nd row: purl.");
        assert!(missing.iter().any(|(text, ..)| text.contains("knit 3, * over, narrow; repeat from *")));
        let misplaced = changed(
            "Cast on 17 stitches. 1st row: * knit 1, over, narrow, knit 2; repeat from *. 2nd row: purl.",
        );
        assert!(
            misplaced.iter().any(|(text, ..)| text.contains("row: knit 1, * over, narrow, knit 2; repeat"))
        );
        let outside = changed(
            "Cast on 16 stitches. 1st row: knit 1, * over, narrow, knit 2; repeat from *. 2nd row: purl.",
        );
        assert!(
            outside.iter().any(|(text, ..)| text.contains("row: * knit 1, over, narrow, knit 2; repeat"))
        );
    }

    #[test]
    fn a_slip_in_both_halves_is_one_change() {
        let all = changed(
            "Cast on 17 stitches. 1st row: knit 2, over, knit 6, over, knit 1, over, knit 6, over, knit 2.",
        );
        let both = all.iter().find(|(text, ..)| {
            text.contains("knit 2, over, knit 5, over, knit 1, over, knit 5, over, knit 2")
        });
        assert_eq!(both.map(|(_, _, sum)| sum.takes), Some(15));
    }

    #[test]
    fn a_change_in_a_group_counts_as_often_as_the_group_is_worked() {
        let all = changed("Cast on 9 stitches. 1st row: (knit 2, over, narrow) 3 times.");
        let delta =
            |part: &str| all.iter().find(|(text, ..)| text.contains(part)).and_then(|(_, delta, _)| *delta);
        assert_eq!(delta("(knit 1, over"), Some(-3));
        assert_eq!(delta("(knit 4, over"), Some(6));
    }

    #[test]
    fn numbers_change_places_with_how_often_a_group_is_worked_more() {
        let all = changed(
            "Cast on 15 stitches. 1st row: knit 3, * over, narrow, knit 1; repeat from * twice more, knit 3.",
        );
        let swapped = all.iter().find(|(text, ..)| {
            text.contains("knit 2, * over, narrow, knit 1; repeat from * three times more, knit 3")
        });
        assert_eq!(swapped.map(|(_, _, sum)| sum.takes), Some(17));
    }
}
