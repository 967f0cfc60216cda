//! Changes of one reading of a row: which there are, what each costs, the row it gives and the words it takes.
//!
//! A reading is cut into [`Frame`]s, its own items and those of each group, so that the row with a change is put
//! together from what stands before and after it and costs no more than the change. What a change adds to the stitches
//! taken is known before the row is built, so that most changes are never built at all.

use std::rc::Rc;

use loops::Op;
use notation::{Lexicon, Meaning};
use reading::{Item, Seq, Sum, Until, Work};
use span::Span;

use crate::class::{Class, number_cost};
use crate::patch::Patch;
use crate::words::{Figure, Words, in_the_manner_of};

/// The most changes of one reading.
const CHANGES: usize = 1_200;
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
    /// Its changes.
    pub changes: Vec<Change>,
}

/// Instructions that may have been dropped, with their words.
#[derive(Clone, Debug)]
pub struct Phrase {
    /// The instructions.
    pub items: Vec<Item>,
    /// Their words.
    pub words: String,
    /// Nats against them.
    cost: f64,
}

/// One change of one frame.
#[derive(Clone, Debug)]
pub struct Change {
    /// The class of misprint.
    pub class: Class,
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
    /// The same number wherever it stands with the same stitch.
    Everywhere(u32),
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
    /// The operation alone.
    Stitch(Op, usize),
    /// Two neighbours change places.
    Swap,
    /// The numbers of the first and last item of a stretch change places.
    SwapNumbers,
}

impl Frame {
    fn new(items: Vec<Item>, parent: Option<(usize, usize)>, times: Option<u32>) -> Frame {
        let seqs: Vec<Seq> = items.iter().cloned().map(Seq::one).collect();
        let join = |left: Option<&Seq>, right: &Seq| Some(left.map_or_else(|| right.clone(), |left| left.and(right)));
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
}

impl Base {
    /// Cuts a reading up; `beside` are readings of rows near it.
    pub fn new(cost: f64, seq: &Seq, beside: &[Seq], source: &Source<'_>) -> Base {
        let mut frames = Vec::new();
        cut(seq.items(), None, Some(1), 0, &mut frames);
        let phrases = phrases(&frames, beside, source.words);
        let mut base = Base { cost, seq: seq.clone(), frames, phrases, changes: Vec::new() };
        for frame in 0..base.frames.len() {
            base.number_changes(frame, source);
            base.dropped(frame, source.words);
            base.doubled(frame, source.words);
            base.marks(frame, source.words);
        }
        base.changes.truncate(CHANGES);
        base
    }

    /// Whether the row ends in a turn, which may leave stitches unworked.
    pub fn turns(&self) -> bool {
        let last = self.frames.first().and_then(|frame| frame.items.last());
        matches!(last, Some(Item::Work(work)) if work.ops.last() == Some(&Op::Turn))
    }

    /// Changes that leave every count as it is.
    pub fn neutral(&self) -> Vec<Change> {
        let mut out = Vec::new();
        for (frame, held) in self.frames.iter().enumerate() {
            let limit = held.items.len().min(ITEMS);
            let change = |from, to, class: Class, cost: f64, kind| Change { class, cost: class.cost() + cost, frame, from, to, kind };
            for at in 0..limit {
                if let Item::Work(work) = &held.items[at] {
                    let other = match *work.ops {
                        [Op::K] => Some((Op::P, [Op::P])),
                        [Op::P] => Some((Op::K, [Op::K])),
                        _ => None,
                    };
                    let words = other.and_then(|(op, ops)| Some((op, self.phrase_of(&ops)?)));
                    out.extend(words.map(|(op, phrase)| change(at, at + 1, Class::Stitch, 0.0, Kind::Stitch(op, phrase))));
                }
                if at + 1 < limit && held.items[at] != held.items[at + 1] {
                    out.push(change(at, at + 2, Class::Swapped, 0.3, Kind::Swap));
                }
                let Some((ops, times)) = numbered(&held.items[at]) else { continue };
                for to in at + 1..limit {
                    let swaps = numbered(&held.items[to]).is_some_and(|(other, number)| other == ops && number != times);
                    if swaps {
                        out.push(change(at, to + 1, Class::Swapped, 0.0, Kind::SwapNumbers));
                    }
                }
            }
        }
        out.truncate(CHANGES);
        out
    }

    fn phrase_of(&self, ops: &[Op]) -> Option<usize> {
        let fits = |phrase: &Phrase| matches!(phrase.items.as_slice(), [Item::Work(work)] if *work.ops == *ops && work.number.is_some());
        self.phrases.iter().position(fits)
    }

    fn push(&mut self, frame: usize, (from, to): (usize, usize), class: Class, cost: f64, kind: Kind) {
        if self.changes.len() < CHANGES {
            self.changes.push(Change { class, cost: class.cost() + cost, frame, from, to, kind });
        }
    }

    fn number_changes(&mut self, frame: usize, source: &Source<'_>) {
        for at in 0..self.frames[frame].items.len().min(ITEMS) {
            match self.frames[frame].items[at].clone() {
                Item::Work(work) => {
                    self.work_numbers(frame, at, &work, source);
                    self.together(frame, at, &work);
                    self.passing(frame, at, &work);
                }
                Item::Group { until, span, .. } | Item::Rest { until, span, .. } => self.until_numbers(frame, at, until, span, source.words),
                Item::Move(..) | Item::Seen(..) => {}
            }
        }
    }

    fn work_numbers(&mut self, frame: usize, at: usize, work: &Work, source: &Source<'_>) {
        let Some(number) = work.number.filter(|_| !is_family(work, source.lexicon)) else { return };
        let figures = number.of(source.words.text);
        let first_alike = !self.frames[frame].items[..at].iter().any(|item| same_number(item, work));
        let alike = self.frames[frame].items.iter().filter(|item| same_number(item, work)).count();
        for meant in meant_numbers(work.times, figures) {
            let Some(corrected) = in_the_manner_of(figures, meant) else { continue };
            let cost = number_cost(work.times, meant, figures, &corrected);
            self.push(frame, (at, at + 1), Class::Number, cost, Kind::Times(meant));
            if alike == 2 && first_alike && self.frames[frame].items.len() > 2 {
                self.push(frame, (0, self.frames[frame].items.len()), Class::Number, cost + 1.0, Kind::Everywhere(meant));
            }
        }
        if figures.len() > 1 && figures.bytes().all(|byte| byte.is_ascii_digit()) {
            self.splits(frame, at, work, figures);
        }
    }

    /// "k 110" for "k 1, p 10": a comma and letters lost.
    fn splits(&mut self, frame: usize, at: usize, work: &Work, figures: &str) {
        for cut in 1..figures.len() {
            let (Ok(first), Ok(second)) = (figures[..cut].parse(), figures[cut..].parse()) else { continue };
            for phrase in 0..self.phrases.len() {
                let fits = matches!(self.phrases[phrase].items.as_slice(), [Item::Work(other)] if other.number.is_some() && other.ops != work.ops);
                if fits && first > 0 && second > 0 {
                    self.push(frame, (at, at + 1), Class::Letter, 2.0, Kind::Split(first, phrase, second));
                }
            }
        }
    }

    fn together(&mut self, frame: usize, at: usize, work: &Work) {
        let all: &[(Op, u32)] = match *work.ops {
            [Op::K2tog] => &[(Op::K3tog, 3)],
            [Op::K3tog] => &[(Op::K2tog, 2), (Op::K4tog, 4)],
            [Op::K4tog] => &[(Op::K3tog, 3), (Op::K2tog, 2)],
            [Op::P2tog] => &[(Op::P3tog, 3)],
            [Op::P3tog] => &[(Op::P2tog, 2), (Op::P4tog, 4)],
            [Op::K2togTbl] => &[(Op::K3togTbl, 3)],
            [Op::K3togTbl] => &[(Op::K2togTbl, 2)],
            [Op::Sk2p] => &[(Op::Skp, 1)],
            _ => &[],
        };
        for (op, number) in all {
            self.push(frame, (at, at + 1), Class::Together, 0.6, Kind::Together(*op, *number));
        }
    }

    /// A slipped stitch before one knitted, with the passing over left out.
    fn passing(&mut self, frame: usize, at: usize, work: &Work) {
        let slipped = work.times == 1 && matches!(*work.ops, [op] if op.is_slip());
        let Some(Item::Work(next)) = self.frames[frame].items.get(at + 1).filter(|_| slipped) else { return };
        let op = match (*next.ops).first() {
            Some(Op::K) if next.ops.len() == 1 && next.times == 1 => Op::Skp,
            Some(Op::K2tog) if next.ops.len() == 1 && next.times == 1 => Op::Sk2p,
            Some(Op::P) if next.ops.len() == 1 && next.times == 1 => Op::Spp,
            _ => return,
        };
        self.push(frame, (at, at + 2), Class::Dropped, 1.0, Kind::Pass(op));
    }

    fn until_numbers(&mut self, frame: usize, at: usize, until: Until, span: Span, words: &Words<'_>) {
        let (Until::Times(_) | Until::Left(_)) = until else { return };
        let Some(figure) = words.figures(span).into_iter().next() else { return };
        let printed = figure.span.of(words.text);
        for meant in meant_numbers(figure.value, printed) {
            let Some(corrected) = in_the_manner_of(printed, meant) else { continue };
            let cost = number_cost(figure.value, meant, printed, &corrected);
            let moved = |value: u32| (value + meant).checked_sub(figure.value).filter(|value| *value > 0);
            let (class, next) = match until {
                Until::Times(times) => (Class::Times, moved(times).map(Until::Times)),
                Until::Left(left) => (Class::Place, moved(left).map(Until::Left)),
                Until::End => continue,
            };
            if let Some(next) = next {
                self.push(frame, (at, at + 1), class, cost, Kind::Until(next, meant, figure));
            }
        }
    }

    fn dropped(&mut self, frame: usize, words: &Words<'_>) {
        let count = self.frames[frame].items.len();
        if count > ITEMS {
            return;
        }
        let outer = self.frames[frame].parent.is_none();
        for at in 0..=count {
            let place = match at {
                _ if at == count => 0.5,
                0 => 1.4,
                _ => 1.8,
            };
            let items = &self.frames[frame].items;
            let (before, after) = (at.checked_sub(1).map(|at| &items[at]), items.get(at));
            let implied = matches!(before, Some(Item::Group { span, .. }) if span.is_detached());
            if implied || (at == 0 && outer && matches!(after, Some(Item::Group { .. }))) {
                continue;
            }
            let parts_alike = before.zip(after).is_some_and(|(before, after)| same_ops(before, after));
            for phrase in 0..self.phrases.len() {
                let put_in = &self.phrases[phrase];
                let (Some(first), Some(last)) = (put_in.items.first(), put_in.items.last()) else { continue };
                let chain = put_in.items.len() > 1 && at >= put_in.items.len() && run_ends(&self.frames[frame].items, at, put_in);
                let beside_alike = before.is_some_and(|item| same_ops(item, first)) || after.is_some_and(|item| same_ops(item, last));
                let over = is_over(first) && (before.is_some_and(is_narrow) || after.is_some_and(is_narrow));
                let mut cost = put_in.cost + place + if beside_alike { 1.8 } else { 0.0 } - if parts_alike { 0.9 } else { 0.0 };
                if chain {
                    cost = (put_in.cost + 0.3).min(cost);
                } else if over {
                    cost -= 0.4;
                }
                let _ = words;
                self.push(frame, (at, at), Class::Dropped, cost.max(0.0), Kind::Insert(phrase));
            }
        }
    }

    fn doubled(&mut self, frame: usize, words: &Words<'_>) {
        let count = self.frames[frame].items.len();
        for from in 0..count.min(ITEMS) {
            for len in 1..=3.min(count - from) {
                let items = &self.frames[frame].items;
                let (to, stretch) = (from + len, &items[from..from + len]);
                if len == count || stretch.iter().any(|item| item.span().is_detached()) {
                    continue;
                }
                let again = from >= len && same_words(&items[from - len..from], stretch, words.text);
                let again = again || items.get(to..to + len).is_some_and(|next| same_words(next, stretch, words.text));
                let beside = from > 0 && len == 1 && same_ops(&items[from - 1], &items[from]);
                let cost = match (again, beside) {
                    (true, _) => 0.4,
                    (_, true) => 1.2,
                    _ => 1.6 + 0.7 * (len - 1) as f64,
                };
                self.push(frame, (from, to), Class::Doubled, cost, Kind::Delete);
            }
        }
    }

    /// A group that should begin earlier or later.
    fn marks(&mut self, frame: usize, words: &Words<'_>) {
        for at in 0..self.frames[frame].items.len() {
            let Item::Group { body, until: Until::End | Until::Left(_), .. } = &self.frames[frame].items[at] else { continue };
            let inner = body.len();
            let marked = self.mark_before(frame, at, words).is_some();
            for out in 1..inner.min(8) {
                let cost = if marked && out > 1 { 0.5 } else { 0.0 };
                self.push(frame, (at, at + 1), Class::Mark, cost, Kind::Star(-(out as i32)));
            }
            for drawn in 1..=at.min(8) {
                let cost = if drawn > 1 { 0.5 } else { 0.0 };
                self.push(frame, (at - drawn, at + 1), Class::Mark, cost, Kind::Star(drawn as i32));
            }
        }
    }

    /// The repeat mark at the beginning of a group.
    fn mark_before(&self, frame: usize, at: usize, words: &Words<'_>) -> Option<Span> {
        let Item::Group { body, .. } = &self.frames[frame].items[at] else { return None };
        let first = body.items().first()?.span();
        let tokens = words.tokens();
        let next = tokens.partition_point(|token| token.span.start < first.start);
        let before = next.checked_sub(1).and_then(|before| tokens.get(before))?;
        (before.kind == reading::TokenKind::Star).then_some(before.span)
    }

    /// What a change adds to the stitches taken; `None` where that hangs on how often an open group is worked.
    pub fn delta(&self, change: &Change) -> Option<i64> {
        let frame = &self.frames[change.frame];
        let takes = |sum: Sum| i64::from(sum.takes);
        let old = || -> i64 { frame.items[change.from..change.to].iter().map(|item| takes(fixed(item))).sum() };
        let own = match (&change.kind, frame.items.get(change.from)) {
            (Kind::Times(meant), Some(Item::Work(work))) => takes(Work { times: 1, ..work.clone() }.sum()) * (i64::from(*meant) - i64::from(work.times)),
            (Kind::Together(op, _), Some(Item::Work(work))) => i64::from(op.takes()) * i64::from(work.times) - old(),
            (Kind::Insert(phrase), _) => self.phrases[*phrase].items.iter().map(|item| takes(fixed(item))).sum(),
            (Kind::Delete, _) if frame.items[change.from..change.to].iter().all(is_fixed) => -old(),
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
            Item::Group { until, span, .. } => self.put(parent, at, at + 1, vec![Item::Group { body: all, until: *until, span: *span }]),
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
            Kind::Stitch(op, _) => vec![Item::Work(Work { ops: Rc::from([*op]), ..work(&old[0])? })],
            Kind::Until(next, ..) => vec![match old[0].clone() {
                Item::Group { body, span, .. } => Item::Group { body, until: *next, span },
                Item::Rest { op, span, .. } => Item::Rest { op, until: *next, span },
                _ => return None,
            }],
            Kind::Everywhere(meant) => {
                let like = twice_told(old)?;
                let change = |item: &Item| match item {
                    Item::Work(work) if same_number(item, &like) => Item::Work(Work { times: *meant, ..work.clone() }),
                    other => other.clone(),
                };
                old.iter().map(change).collect()
            }
            Kind::Insert(phrase) => self.phrases[*phrase].items.clone(),
            Kind::Delete => Vec::new(),
            Kind::Pass(op) => {
                let slip = work(&old[0])?;
                vec![Item::Work(Work { ops: Rc::from([*op]), times: 1, span: slip.span.to(old[1].span()), number: None, sense: None })]
            }
            Kind::Star(moved) => self.moved(old, *moved)?,
            Kind::Split(first, phrase, second) => {
                let one = work(&old[0])?;
                let two = work(self.phrases[*phrase].items.first()?)?;
                let span = one.span;
                vec![Item::Work(Work { times: *first, ..one }), Item::Work(Work { times: *second, span, ..two })]
            }
            Kind::Swap => vec![old[1].clone(), old[0].clone()],
            Kind::SwapNumbers => {
                let (first, last) = (work(&old[0])?, work(old.last()?)?);
                let mut items = old.to_vec();
                let end = items.len() - 1;
                items[0] = Item::Work(Work { times: last.times, ..first.clone() });
                items[end] = Item::Work(Work { times: first.times, ..last });
                items
            }
        })
    }

    fn moved(&self, old: &[Item], moved: i32) -> Option<Vec<Item>> {
        let (group, before) = old.split_last()?;
        let Item::Group { body, until, span } = group else { return None };
        let inner = body.items();
        let group = |items: Vec<Item>| Some(Item::Group { body: Seq::of(items)?, until: *until, span: *span });
        if moved > 0 {
            return Some(vec![group(before.iter().cloned().chain(inner).collect())?]);
        }
        let out = usize::try_from(-moved).ok()?;
        let mut items: Vec<Item> = inner.get(..out)?.to_vec();
        items.push(group(inner[out..].to_vec())?);
        Some(items)
    }

    /// The words that a change takes.
    pub fn patches(&self, change: &Change, words: &Words<'_>) -> Option<Vec<Patch>> {
        let items = &self.frames[change.frame].items;
        let old = &items[change.from..change.to];
        let number_of = |item: &Item, meant: u32| match item {
            Item::Work(Work { number: Some(number), span, .. }) => {
                let corrected = in_the_manner_of(number.of(words.text), meant)?;
                Some(Patch::new(*span, words.replaced(*span, *number, &corrected)))
            }
            _ => None,
        };
        match &change.kind {
            Kind::Times(meant) => Some(vec![number_of(&old[0], *meant)?]),
            Kind::Everywhere(meant) => {
                let like = twice_told(old)?;
                old.iter().filter(|item| same_number(item, &like)).map(|item| number_of(item, *meant)).collect()
            }
            Kind::Together(op, number) => self.together_patch(old[0].span(), *op, *number, words).map(|patch| vec![patch]),
            Kind::Until(_, meant, figure) => {
                let corrected = in_the_manner_of(figure.span.of(words.text), *meant)?;
                let whole = match &old[0] {
                    Item::Group { span, .. } | Item::Rest { span, .. } => *span,
                    _ => return None,
                };
                Some(vec![Patch::new(whole, words.replaced(whole, figure.span, &corrected))])
            }
            Kind::Insert(phrase) => insert_patch(items, change.from, &self.phrases[*phrase].words, words).map(|patch| vec![patch]),
            Kind::Delete => delete_patch(items, change.from, change.to, words).map(|patch| vec![patch]),
            Kind::Pass(_) => {
                let end = old[1].span().end as usize;
                let passed = passing_words(words).unwrap_or_else(|| "pass the slipped stitch over".to_owned());
                Some(vec![Patch::new(Span::new(end, end), format!(", {passed}"))])
            }
            Kind::Star(_) => self.star_patches(change, words),
            Kind::Split(first, phrase, second) => {
                let one = number_of(&old[0], *first)?;
                let Some(Item::Work(other)) = self.phrases[*phrase].items.first() else { return None };
                let number = other.number?;
                let two = words.replaced(other.span, number, &in_the_manner_of(number.of(words.text), *second)?);
                Some(vec![Patch::new(one.span, format!("{}, {two}", one.corrected))])
            }
            Kind::Stitch(_, phrase) => {
                let (Item::Work(work), Some(Item::Work(other))) = (&old[0], self.phrases[*phrase].items.first()) else { return None };
                let (number, like) = (work.number?, other.number?);
                let corrected = words.replaced(other.span, like, number.of(words.text));
                Some(vec![Patch::new(work.span, corrected)])
            }
            Kind::Swap => {
                let (one, two) = (old[0].span(), old[1].span());
                let apart = !one.is_detached() && !two.is_detached() && one.end <= two.start;
                apart.then(|| vec![Patch::new(one, two.of(words.text)), Patch::new(two, one.of(words.text))])
            }
            Kind::SwapNumbers => {
                let (Item::Work(first), Item::Work(last)) = (&old[0], old.last()?) else { return None };
                Some(vec![number_of(&old[0], last.times)?, number_of(old.last()?, first.times)?])
            }
        }
    }

    fn together_patch(&self, span: Span, op: Op, number: u32, words: &Words<'_>) -> Option<Patch> {
        if op == Op::Skp {
            // "Slip 1, knit 2 together, pass over": the two knitted together are one.
            let figure = words.figures(span).into_iter().find(|figure| figure.value == 2)?;
            let together = words.within(span).iter().find(|token| token.text.starts_with("tog"))?;
            let one = in_the_manner_of(figure.span.of(words.text), 1)?;
            let whole = figure.span.to(together.span);
            let range = whole.range().start - span.range().start..whole.range().end - span.range().start;
            let text = span.of(words.text);
            return Some(Patch::new(span, format!("{}{one}{}", text.get(..range.start)?, text.get(range.end..)?)));
        }
        let figure = words.figures(span).into_iter().find(|figure| matches!(figure.value, 2..=4))?;
        let corrected = in_the_manner_of(figure.span.of(words.text), number)?;
        Some(Patch::new(span, words.replaced(span, figure.span, &corrected)))
    }

    fn star_patches(&self, change: &Change, words: &Words<'_>) -> Option<Vec<Patch>> {
        let Kind::Star(moved) = change.kind else { return None };
        let items = &self.frames[change.frame].items;
        let at = change.to - 1;
        let Item::Group { body, .. } = &items[at] else { return None };
        let begins = match usize::try_from(moved) {
            Ok(_) => items.get(change.from)?.span(),
            Err(_) => body.items().get(usize::try_from(-moved).ok()?)?.span(),
        };
        if begins.is_detached() {
            return None;
        }
        let start = begins.start as usize;
        let mark = self.mark_before(change.frame, at, words);
        let sign = mark.map_or("*", |mark| mark.of(words.text));
        let put_in = Patch::new(Span::new(start, start), format!("{sign} "));
        let Some(mark) = mark else { return Some(vec![put_in]) };
        let mut end = mark.end as usize;
        end += words.text.get(end..)?.bytes().take_while(|byte| *byte == b' ').count();
        Some(vec![Patch::new(Span::new(mark.start as usize, end), ""), put_in])
    }
}

fn cut(items: Vec<Item>, parent: Option<(usize, usize)>, times: Option<u32>, depth: usize, out: &mut Vec<Frame>) {
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

/// Instructions of the row and of those near it that may have been dropped, pairs of neighbours among them.
fn phrases(frames: &[Frame], beside: &[Seq], words: &Words<'_>) -> Vec<Phrase> {
    const LIMIT: usize = 24;
    let mut out: Vec<Phrase> = Vec::new();
    let mut add = |items: &[Item], cost: f64| {
        let spans: Vec<Span> = items.iter().map(Item::span).collect();
        let whole = spans.iter().fold(Span::DETACHED, |all, span| all.to(*span));
        let printed = whole.of(words.text);
        let clean = !printed.is_empty() && !printed.contains(['*', '(', ')', '[', ']']) && items.iter().all(|item| matches!(item, Item::Work(_)));
        let printed = printed.split_whitespace().collect::<Vec<_>>().join(" ");
        let printed = lower_first(&printed);
        if clean && out.len() < LIMIT && !out.iter().any(|phrase| phrase.words == printed) {
            out.push(Phrase { items: items.to_vec(), words: printed, cost });
        }
    };
    for frame in frames {
        frame.items.iter().for_each(|item| add(std::slice::from_ref(item), 0.0));
    }
    for frame in frames {
        frame.items.windows(2).for_each(|pair| add(pair, 0.9));
    }
    for seq in beside {
        for item in seq.items() {
            match item {
                Item::Group { body, .. } => body.items().iter().for_each(|item| add(std::slice::from_ref(item), 0.8)),
                item => add(std::slice::from_ref(&item), 0.8),
            }
        }
    }
    out
}

/// Small letters at the beginning, as words in the middle of a row have.
fn lower_first(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

fn is_family(work: &Work, lexicon: &Lexicon) -> bool {
    work.sense.is_some_and(|sense| matches!(lexicon.sense(sense).meaning, Meaning::Family(_)))
}

fn numbered(item: &Item) -> Option<(&Rc<[Op]>, u32)> {
    match item {
        Item::Work(work) if work.number.is_some() => Some((&work.ops, work.times)),
        _ => None,
    }
}

fn same_number(item: &Item, like: &Work) -> bool {
    matches!(item, Item::Work(work) if work.number.is_some() && work.times == like.times && work.ops == like.ops)
}

/// The instruction that stands exactly twice among these, number and all; the first one.
fn twice_told(items: &[Item]) -> Option<Work> {
    items.iter().find_map(|item| match item {
        Item::Work(work) if work.number.is_some() && items.iter().filter(|other| same_number(other, work)).count() == 2 => Some(work.clone()),
        _ => None,
    })
}

fn same_ops(one: &Item, other: &Item) -> bool {
    match (one, other) {
        (Item::Work(one), Item::Work(other)) => one.ops == other.ops,
        (Item::Work(work), Item::Rest { op, .. }) | (Item::Rest { op, .. }, Item::Work(work)) => *work.ops == [*op],
        _ => false,
    }
}

fn same_words(one: &[Item], other: &[Item], text: &str) -> bool {
    one.len() == other.len() && one.iter().zip(other).all(|(one, other)| same_ops(one, other) && one.span().of(text) == other.span().of(text))
}

fn is_over(item: &Item) -> bool {
    matches!(item, Item::Work(work) if work.ops.iter().all(|op| op.takes() == 0))
}

fn is_narrow(item: &Item) -> bool {
    matches!(item, Item::Work(work) if work.ops.iter().any(|op| op.is_decrease()))
}

fn is_fixed(item: &Item) -> bool {
    matches!(item, Item::Work(_) | Item::Move(..)) || matches!(item, Item::Group { until: Until::Times(_), body, .. } if body.shape().open.is_empty())
}

fn fixed(item: &Item) -> Sum {
    match item {
        Item::Work(work) => work.sum(),
        Item::Group { body, until: Until::Times(times), .. } => body.shape().fixed.times(*times),
        _ => Sum::default(),
    }
}

/// Whether the items before a place are the phrase, so that putting it in lengthens a chain of like pairs.
fn run_ends(items: &[Item], at: usize, phrase: &Phrase) -> bool {
    let from = at - phrase.items.len();
    items[from..at].iter().zip(&phrase.items).all(|(one, other)| same_ops(one, other))
}

/// The numbers that may have been meant: those near, and those that look alike.
fn meant_numbers(printed: u32, figures: &str) -> Vec<u32> {
    const NEAR: u32 = 12;
    let mut out: Vec<u32> = (printed.saturating_sub(NEAR).max(1)..=printed.saturating_add(NEAR)).filter(|meant| *meant != printed).collect();
    let digits = figures.as_bytes();
    if digits.len() < 5 && digits.iter().all(u8::is_ascii_digit) {
        for at in 0..digits.len() {
            let lost: String = [&figures[..at], &figures[at + 1..]].concat();
            out.extend(lost.parse::<u32>().ok());
            for figure in b'0'..=b'9' {
                let other: String = [&figures[..at], &char::from(figure).to_string(), &figures[at + 1..]].concat();
                out.extend(other.parse::<u32>().ok());
            }
        }
    }
    out.retain(|meant| *meant > 0 && *meant != printed);
    out.sort_unstable();
    out.dedup();
    out
}

fn insert_patch(items: &[Item], at: usize, phrase: &str, words: &Words<'_>) -> Option<Patch> {
    let printed: Vec<Span> = items.iter().map(Item::span).filter(|span| !span.is_detached()).collect();
    let separator = printed.windows(2).map(|pair| words.separator(pair[0].end, pair[1].start)).next().unwrap_or(", ");
    if at > 0 {
        let before = items[at - 1].span();
        let end = before.end as usize;
        return (!before.is_detached()).then(|| Patch::new(Span::new(end, end), format!("{separator}{phrase}")));
    }
    let after = items.first()?.span();
    let start = after.start as usize;
    (!after.is_detached()).then(|| Patch::new(Span::new(start, start), format!("{phrase}{separator}")))
}

fn delete_patch(items: &[Item], from: usize, to: usize, words: &Words<'_>) -> Option<Patch> {
    let (first, last) = (items[from].span(), items[to - 1].span());
    let span = |start: u32, end: u32| Some(Span::new(start as usize, end as usize)).filter(|_| start < end);
    let whole = |span: &Span| !span.of(words.text).contains(['*', '(', ')', '[', ']']);
    let up_to_next = items.get(to).and_then(|next| span(first.start, next.span().start));
    let after_last = from.checked_sub(1).and_then(|before| span(items[before].span().end, last.end));
    let span = up_to_next.filter(whole).or(after_last.filter(whole))?;
    Some(Patch::new(span, ""))
}

/// The words for passing over, as the text has them elsewhere.
fn passing_words(words: &Words<'_>) -> Option<String> {
    let tokens = words.tokens();
    let from = tokens.iter().position(|token| matches!(token.text.as_str(), "pass" | "psso" | "draw" | "slip") && {
        token.text == "psso" || token.text != "slip" && tokens.iter().skip_while(|other| other.span != token.span).take(7).any(|other| other.text == "over")
    })?;
    if tokens[from].text == "psso" {
        return Some(tokens[from].span.of(words.text).to_owned());
    }
    let to = tokens[from..].iter().position(|token| token.text == "over")? + from;
    let printed = tokens[from].span.to(tokens[to].span).of(words.text);
    Some(lower_first(&printed.split_whitespace().collect::<Vec<_>>().join(" ")))
}
