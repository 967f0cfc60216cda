//! Every change of a reading, with its cost.

use std::rc::Rc;

use loops::Op;
use notation::{Lexicon, Meaning};
use reading::{Item, Token, Until, Work};
use span::Span;

use super::exchange::{Slot, pairs};
use super::phrase::Phrase;
use super::printed::passing_words;
use super::{Base, CHANGES, Change, ITEMS, Kind, Source, is_fixed, same_number};
use crate::class::{Class, number_cost};
use crate::cut::{MARKS, lacks_mark};
use crate::habits::{EDGE, Key, first_key, last_key};
use crate::odd::set_for;
use crate::regular::mirrored;
use crate::words::{Words, in_the_manner_of};

/// Nats against the same slip in both halves of a row, and in two places that are none.
const TWICE: f64 = 1.0;
const TWICE_APART: f64 = 2.5;
/// Nats against a star set anew or moved in a text that has none.
const UNUSED_MARK: f64 = 1.5;
/// Nats for the first stitch of a row, where it is slipped, being one: common practice, no published source.
const EDGE_SLIP: f64 = 2.0;
/// Nats for its standing before the repeat.
const EDGE_APART: f64 = 1.0;

/// Whether instructions read the same from both ends, leans exchanged.
fn answers_itself(items: &[Item]) -> bool {
    let same = |one: &Item, other: &Item| match (one, other) {
        (Item::Work(one), Item::Work(other)) => {
            one.times == other.times
                && one.ops.len() == other.ops.len()
                && one.ops.iter().zip(other.ops.iter().rev()).all(|(a, b)| mirrored(*a, *b))
        }
        (one, other) => one == other,
    };
    items.iter().zip(items.iter().rev()).take(items.len() / 2).all(|(one, other)| same(one, other))
}

impl Base {
    /// Changes that leave every count as it is.
    pub fn neutral(&self) -> Vec<Change> {
        let mut out = Vec::new();
        for (frame, held) in self.frames.iter().enumerate() {
            let limit = held.items.len().min(ITEMS);
            let change = |from, to, class: Class, cost: f64, kind| Change {
                cost: class.cost() + cost,
                frame,
                from,
                to,
                kind,
            };
            for at in 0..limit {
                if let Item::Work(work) = &held.items[at] {
                    let other = match *work.ops {
                        [Op::K] => Some([Op::P]),
                        [Op::P] => Some([Op::K]),
                        _ => None,
                    };
                    let phrase = other.filter(|_| work.number.is_some()).and_then(|ops| self.phrase_of(&ops));
                    out.extend(
                        phrase.map(|phrase| change(at, at + 1, Class::Stitch, 0.0, Kind::Stitch(phrase))),
                    );
                }
                if at + 1 < limit && held.items[at] != held.items[at + 1] {
                    out.push(change(at, at + 2, Class::Swapped, 0.3, Kind::Swap));
                }
                let Some((ops, times)) = numbered(&held.items[at]) else { continue };
                for to in at + 1..limit {
                    let swaps = numbered(&held.items[to])
                        .is_some_and(|(other, number)| other == ops && number != times);
                    if swaps {
                        out.push(change(
                            at,
                            to + 1,
                            Class::Swapped,
                            0.0,
                            Kind::Exchange(Slot::Item(0), Slot::Item(to - at)),
                        ));
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
            self.changes.push(Change { cost: class.cost() + cost, frame, from, to, kind });
        }
    }

    pub(super) fn number_changes(&mut self, frame: usize, source: &Source<'_>) {
        for at in 0..self.frames[frame].items.len().min(ITEMS) {
            match self.frames[frame].items[at].clone() {
                Item::Work(work) => {
                    self.work_numbers(frame, at, &work, source);
                    self.together(frame, at, &work, source);
                    self.passing(frame, at, &work, source.words);
                }
                Item::Group { until, span, .. } | Item::Rest { until, span, .. } => {
                    self.until_numbers(frame, at, until, span, source.words);
                }
                Item::Move(..)
                | Item::Seen(..)
                | Item::SeenSome(..)
                | Item::LetFall(..)
                | Item::Spread(..)
                | Item::ByNeedle(..) => {}
            }
        }
    }

    fn work_numbers(&mut self, frame: usize, at: usize, work: &Work, source: &Source<'_>) {
        let Some(number) = work.number.filter(|_| !is_family(work, source.lexicon)) else { return };
        let figures = number.of(source.words.text);
        let items = &self.frames[frame].items;
        let alike: Vec<usize> = (0..items.len()).filter(|other| same_number(&items[*other], work)).collect();
        // The same slip in two places is likeliest where they are halves of one another.
        let both = match alike.as_slice() {
            [first, second] if *first == at && items.len() > 2 => {
                let halves = answers_itself(&items[first + 1..*second]);
                Some(if halves { TWICE } else { TWICE_APART })
            }
            _ => None,
        };
        for meant in meant_numbers(work.times, figures) {
            let Some(corrected) = in_the_manner_of(figures, meant) else { continue };
            let edge = match (self.is_edge_slip(frame, at, work), work.times, meant) {
                (true, 1, _) => -EDGE_SLIP,
                (true, _, 1) => EDGE_SLIP,
                _ => 0.0,
            };
            let cost = number_cost(work.times, meant, figures, &corrected)
                + source.habits.number(source.own, &work.ops, meant);
            self.push(frame, (at, at + 1), Class::Number, cost - edge, Kind::Times(meant));
            if let Some(twice) = both {
                let whole = (0, self.frames[frame].items.len());
                self.push(frame, whole, Class::Number, cost + twice, Kind::Both(at, meant));
            }
        }
        if figures.len() > 1 && figures.bytes().all(|byte| byte.is_ascii_digit()) {
            self.splits(frame, at, work, figures);
        }
    }

    /// Whether a row begins with this, and it is slipped.
    fn is_edge_slip(&self, frame: usize, at: usize, work: &Work) -> bool {
        at == 0 && self.frames[frame].parent.is_none() && matches!(*work.ops, [op] if op.is_slip())
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

    fn together(&mut self, frame: usize, at: usize, work: &Work, source: &Source<'_>) {
        let all: &[(Op, u32)] = match *work.ops {
            [Op::K2tog] => &[(Op::K3tog, 3)],
            [Op::K3tog] => &[(Op::K2tog, 2), (Op::K4tog, 4)],
            // "Slip 1, knit 3 together, pass over."
            [Op::K4tog] if !is_family(work, source.lexicon) => &[(Op::Sk2p, 2)],
            [Op::K4tog] => &[(Op::K3tog, 3), (Op::K2tog, 2)],
            [Op::P2tog] => &[(Op::P3tog, 3)],
            [Op::P3tog] => &[(Op::P2tog, 2), (Op::P4tog, 4)],
            [Op::K2togTbl] => &[(Op::K3togTbl, 3)],
            [Op::K3togTbl] => &[(Op::K2togTbl, 2)],
            [Op::Sk2p] => &[(Op::Skp, 1), (Op::K4tog, 3)],
            _ => &[],
        };
        for (op, number) in all {
            self.push(frame, (at, at + 1), Class::Together, 0.2, Kind::Together(*op, *number));
        }
    }

    /// One instruction for another in the same number.
    pub(super) fn stitches(&mut self, frame: usize, source: &Source<'_>) {
        for at in 0..self.frames[frame].items.len().min(ITEMS) {
            let Item::Work(work) = self.frames[frame].items[at].clone() else { continue };
            if work.span.is_detached() {
                continue;
            }
            let printed = source.words.within(work.span);
            for index in 0..self.phrases.len() {
                let phrase = &self.phrases[index];
                let [Item::Work(other)] = phrase.items.as_slice() else { continue };
                if other.ops == work.ops || !stands_for(&work, other, source.lexicon) {
                    continue;
                }
                let beside = self.beside(frame, at, at + 1);
                let old = std::slice::from_ref(&self.frames[frame].items[at]);
                let habit = source.habits.change(source.own, beside, old, &phrase.items);
                let (slip, least) =
                    if confused(printed, &source.words.cut(&phrase.words)) { (0.8, 0.4) } else { (1.2, 0.6) };
                let cost = (slip + phrase.cost + habit).max(least);
                self.push(frame, (at, at + 1), Class::Stitch, cost, Kind::Stitch(index));
            }
        }
    }

    /// Two numbers of the row changed about.
    pub(super) fn swapped_numbers(&mut self, frame: usize, source: &Source<'_>) {
        for (one, other) in pairs(&self.frames[frame].items, source.lexicon, source.words) {
            let from = one.item();
            let stretch = (from, other.item() + 1);
            self.push(
                frame,
                stretch,
                Class::Swapped,
                0.3,
                Kind::Exchange(one.after(from), other.after(from)),
            );
        }
    }

    /// Neighbours changed about where their order counts: in a group that may be cut short, and beside what goes on for as
    /// long as there are stitches.
    pub(super) fn swapped(&mut self, frame: usize) {
        for at in 0..self.frames[frame].items.len().min(ITEMS).saturating_sub(1) {
            let held = &self.frames[frame];
            let pair = &held.items[at..=at + 1];
            let counts = held.times.is_none() || !pair.iter().all(is_fixed);
            if counts && pair[0] != pair[1] && pair.iter().all(|item| !item.span().is_detached()) {
                self.push(frame, (at, at + 2), Class::Swapped, 0.3, Kind::Swap);
            }
        }
    }

    /// A slipped stitch before one knitted, with the passing over left out.
    fn passing(&mut self, frame: usize, at: usize, work: &Work, words: &Words<'_>) {
        let slipped = work.times == 1 && matches!(*work.ops, [op] if op.is_slip());
        let Some(Item::Work(next)) = self.frames[frame].items.get(at + 1).filter(|_| slipped) else { return };
        let op = match (*next.ops).first() {
            Some(Op::K) if next.ops.len() == 1 && next.times == 1 => Op::Skp,
            Some(Op::K2tog) if next.ops.len() == 1 && next.times == 1 => Op::Sk2p,
            Some(Op::P) if next.ops.len() == 1 && next.times == 1 => Op::Spp,
            _ => return,
        };
        let known = if passing_words(words).is_some() { 0.3 } else { 1.5 };
        let cost = known + if op == Op::Sk2p { 0.0 } else { 1.2 };
        self.push(frame, (at, at + 2), Class::Dropped, cost, Kind::Pass(op));
    }

    fn until_numbers(&mut self, frame: usize, at: usize, until: Until, span: Span, words: &Words<'_>) {
        if until == Until::End {
            return;
        }
        let Some(figure) = words.figures(span).into_iter().next() else { return };
        let printed = figure.span.of(words.text);
        for meant in meant_numbers(figure.value, printed) {
            let Some(corrected) = in_the_manner_of(printed, meant) else { continue };
            let cost = number_cost(figure.value, meant, printed, &corrected);
            let moved = |value: u32| (value + meant).checked_sub(figure.value).filter(|value| *value > 0);
            let (class, next) = match until {
                Until::Times(times) => (Class::Times, moved(times).map(Until::Times)),
                Until::Left(left) => (Class::Place, moved(left).map(Until::Left)),
                Until::Middle(left) => (Class::Place, moved(left).map(Until::Middle)),
                Until::End => continue,
            };
            if let Some(next) = next {
                self.push(frame, (at, at + 1), class, cost, Kind::Until(next, meant, figure));
            }
        }
    }

    pub(super) fn dropped(&mut self, frame: usize, source: &Source<'_>) {
        let count = self.frames[frame].items.len();
        if count > ITEMS {
            return;
        }
        let costs: Vec<(usize, usize, f64)> =
            (0..=count).flat_map(|at| self.dropped_at(frame, at, source)).collect();
        for (at, phrase, cost) in costs {
            self.push(frame, (at, at), Class::Dropped, cost, Kind::Insert(phrase));
        }
    }

    /// The phrases that may have been dropped at one place, each with its cost.
    fn dropped_at(&self, frame: usize, at: usize, source: &Source<'_>) -> Vec<(usize, usize, f64)> {
        let items = &self.frames[frame].items;
        let outer = self.frames[frame].parent.is_none();
        let place = if at == items.len() { 0.9 } else { 1.5 };
        let (before, after) = (at.checked_sub(1).map(|at| &items[at]), items.get(at));
        let implied = matches!(before, Some(Item::Group { span, .. }) if span.is_detached());
        if implied || (at == 0 && outer && matches!(after, Some(Item::Group { .. }))) {
            return Vec::new();
        }
        let beside = self.beside(frame, at, at);
        let parts_alike = before.zip(after).is_some_and(|(before, after)| same_ops(before, after));
        let cost = |phrase: &Phrase| {
            let (first, last) = (phrase.items.first()?, phrase.items.last()?);
            // The eye jumps from like to like where a pair stands several times; once doubled may be chance.
            match run_before(items, at, phrase) + run_after(items, at, phrase) {
                0 => {}
                1 => return Some(phrase.cost + 0.6),
                _ => return Some((phrase.cost - 0.6).max(0.0)),
            }
            let alike = |item: Option<&Item>, other: &Item| item.is_some_and(|item| same_ops(item, other));
            let odd = if alike(before, first) || alike(after, last) { 1.8 } else { 0.0 };
            // A loop made at the edge has nothing to hold it.
            let edge = if outer && is_over(first) && (at == 0 || at == items.len()) { 1.5 } else { 0.0 };
            let parted = if parts_alike { 0.9 } else { 0.0 };
            let habit = source.habits.change(source.own, beside, &[], &phrase.items);
            Some((phrase.cost + place + odd + edge - parted + habit).max(0.0))
        };
        self.phrases
            .iter()
            .enumerate()
            .filter_map(|(index, phrase)| Some((at, index, cost(phrase)?)))
            .collect()
    }

    /// What stands just before and after a stretch of a frame.
    fn beside(&self, frame: usize, from: usize, to: usize) -> (Key, Key) {
        let held = &self.frames[frame];
        let outer = held.parent.is_none();
        let before = match from.checked_sub(1) {
            Some(at) => last_key(&held.items[at]),
            None if outer => EDGE,
            None => held.items.last().map_or(EDGE, last_key),
        };
        let after = match held.items.get(to) {
            Some(item) => first_key(item),
            None if outer => EDGE,
            None => held.items.first().map_or(EDGE, first_key),
        };
        (before, after)
    }

    pub(super) fn doubled(&mut self, frame: usize, source: &Source<'_>) {
        let count = self.frames[frame].items.len();
        for from in 0..count.min(ITEMS) {
            for len in 1..=3.min(count - from) {
                let items = &self.frames[frame].items;
                let (to, stretch) = (from + len, &items[from..from + len]);
                if len == count || stretch.iter().any(|item| item.span().is_detached()) {
                    continue;
                }
                let text = source.words.text;
                let again = from >= len && same_words(&items[from - len..from], stretch, text);
                let again =
                    again || items.get(to..to + len).is_some_and(|next| same_words(next, stretch, text));
                let beside = from > 0 && len == 1 && same_ops(&items[from - 1], &items[from]);
                let habit = source.habits.change(source.own, self.beside(frame, from, to), stretch, &[]);
                let cost = match (again, beside) {
                    (true, _) => 0.4,
                    (_, true) => 1.2 + habit,
                    _ => 2.8 + 0.7 * (len - 1) as f64 + habit,
                };
                self.push(frame, (from, to), Class::Doubled, cost.max(0.4), Kind::Delete);
            }
        }
    }

    /// A group that should begin earlier or later.
    pub(super) fn marks(&mut self, frame: usize, words: &Words<'_>) {
        let unused = if words.text.contains(MARKS) { 0.0 } else { UNUSED_MARK };
        for at in 0..self.frames[frame].items.len() {
            let Item::Group { body, until, span: said } = &self.frames[frame].items[at] else { continue };
            let inner = body.item_count();
            let marked = self.mark_before(frame, at, words).is_some();
            let missing = lacks_mark(body.span().range().start, said.of(words.text), words.text);
            // So many times may be told of words in brackets as well.
            if !(marked || missing || matches!(until, Until::End | Until::Left(_))) {
                continue;
            }
            let first = body.items().into_iter().next();
            let slips = matches!(&first, Some(Item::Work(work)) if self.is_edge_slip(frame, at, work));
            for out in 1..inner.min(8) {
                let cost = match out {
                    _ if missing => -1.5,
                    1 if slips => -EDGE_APART,
                    2.. if marked => 0.5,
                    _ => 0.0,
                };
                self.push(frame, (at, at + 1), Class::Mark, cost + unused, Kind::Star(-(out as i32)));
            }
            for drawn in 1..=at.min(8) {
                let cost = if drawn > 1 { 0.5 } else { 0.0 };
                self.push(frame, (at - drawn, at + 1), Class::Mark, cost + unused, Kind::Star(drawn as i32));
            }
        }
    }
}

/// Whether the words of one instruction may stand for another: both say the same number, or each says its own.
fn stands_for(work: &Work, other: &Work, lexicon: &Lexicon) -> bool {
    let counted = |work: &Work| work.number.is_some() && !is_family(work, lexicon);
    work.times == other.times || counted(work) && counted(other)
}

/// Whether two instructions say the same but for their first words, which printers set for one another.
fn confused(printed: &[Token], meant: &[Token]) -> bool {
    let (Some((first, rest)), Some((other, others))) = (printed.split_first(), meant.split_first()) else {
        return false;
    };
    let alike = |(one, other): (&Token, &Token)| {
        one.text == other.text || one.number.is_some() && other.number.is_some()
    };
    set_for(&first.text).any(|word| word == other.text)
        && rest.len() == others.len()
        && rest.iter().zip(others).all(alike)
}

pub(super) fn is_family(work: &Work, lexicon: &Lexicon) -> bool {
    work.sense.is_some_and(|sense| matches!(lexicon.sense(sense).meaning, Meaning::Family(_)))
}

fn numbered(item: &Item) -> Option<(&Rc<[Op]>, u32)> {
    match item {
        Item::Work(work) if work.number.is_some() => Some((&work.ops, work.times)),
        _ => None,
    }
}

fn same_ops(one: &Item, other: &Item) -> bool {
    match (one, other) {
        (Item::Work(one), Item::Work(other)) => one.ops == other.ops,
        (Item::Work(work), Item::Rest { op, .. }) | (Item::Rest { op, .. }, Item::Work(work)) => {
            *work.ops == [*op]
        }
        _ => false,
    }
}

fn same_words(one: &[Item], other: &[Item], text: &str) -> bool {
    let same = |one: &Item, other: &Item| {
        let repeated = matches!((one, other), (Item::Group { .. }, Item::Group { .. }));
        (repeated || same_ops(one, other)) && one.span().of(text) == other.span().of(text)
    };
    one.len() == other.len() && one.iter().zip(other).all(|(one, other)| same(one, other))
}

fn is_over(item: &Item) -> bool {
    matches!(item, Item::Work(work) if work.ops.iter().all(|op| op.takes() == 0))
}

/// How often a phrase of several instructions stands just before a place; 0 for a phrase of one.
fn run_before(items: &[Item], at: usize, phrase: &Phrase) -> usize {
    let len = phrase.items.len();
    let is = |part: &[Item]| part.iter().zip(&phrase.items).all(|(one, other)| same_ops(one, other));
    if len < 2 { 0 } else { items[..at].rchunks_exact(len).take_while(|part| is(part)).count() }
}

/// How often it stands just after the place.
fn run_after(items: &[Item], at: usize, phrase: &Phrase) -> usize {
    let len = phrase.items.len();
    let is = |part: &[Item]| part.iter().zip(&phrase.items).all(|(one, other)| same_ops(one, other));
    if len < 2 { 0 } else { items[at..].chunks_exact(len).take_while(|part| is(part)).count() }
}

/// The numbers that may have been meant: those near, and those that look alike.
fn meant_numbers(printed: u32, figures: &str) -> Vec<u32> {
    const NEAR: u32 = 12;
    let mut out: Vec<u32> = (printed.saturating_sub(NEAR).max(1)..=printed.saturating_add(NEAR))
        .filter(|meant| *meant != printed)
        .collect();
    let digits = figures.as_bytes();
    if digits.len() < 5 && digits.iter().all(u8::is_ascii_digit) {
        for at in 0..digits.len() {
            let lost: String = [&figures[..at], &figures[at + 1..]].concat();
            out.extend(lost.parse::<u32>().ok());
            for figure in b'0'..=b'9' {
                let other: String =
                    [&figures[..at], &char::from(figure).to_string(), &figures[at + 1..]].concat();
                out.extend(other.parse::<u32>().ok());
            }
        }
    }
    out.retain(|meant| *meant > 0 && *meant != printed);
    out.sort_unstable();
    out.dedup();
    out
}
