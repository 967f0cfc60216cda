//! Words that may have been dropped from a row.

use std::rc::Rc;

use loops::Op;
use reading::{Gap, Item, Seq, Work};
use span::Span;

use super::Frame;
use crate::words::{Words, in_the_manner_of};

/// Instructions that may have been dropped, with their words.
#[derive(Clone, Debug)]
pub struct Phrase {
    /// The instructions.
    pub items: Vec<Item>,
    /// Their words.
    pub words: String,
    /// Nats against them.
    pub cost: f64,
}

/// Instructions of the row and of those near it that may have been dropped, pairs of neighbours among them, and those
/// with a number also with another.
pub fn phrases(frames: &[Frame], beside: &[Seq], words: &Words<'_>) -> Vec<Phrase> {
    let mut out = Phrases { words, all: Vec::new() };
    for frame in frames {
        frame.items.iter().for_each(|item| out.add(std::slice::from_ref(item), 0.0));
    }
    for frame in frames {
        frame.items.windows(2).for_each(|pair| out.add(pair, 0.9));
    }
    let runs: Vec<Vec<Item>> = beside.iter().flat_map(runs).collect();
    for run in &runs {
        run.iter().for_each(|item| out.add(std::slice::from_ref(item), 0.8));
    }
    for run in &runs {
        run.windows(2).for_each(|pair| out.add(pair, 1.4));
    }
    out.add_numbers();
    out.all
}

/// The items of a row and of each of its groups, however deep.
fn runs(seq: &Seq) -> Vec<Vec<Item>> {
    let items = seq.items();
    let bodies = items.iter().filter_map(|item| match item {
        Item::Group { body, .. } => Some(runs(body)),
        _ => None,
    });
    let bodies: Vec<Vec<Item>> = bodies.flatten().collect();
    std::iter::once(items).chain(bodies).collect()
}

struct Phrases<'a> {
    words: &'a Words<'a>,
    all: Vec<Phrase>,
}

impl Phrases<'_> {
    /// The most phrases taken as they stand.
    const LIMIT: usize = 36;
    /// The highest number that a phrase is given instead of its own, where it has none as high nearby.
    const NUMBER: u32 = 9;
    /// The highest of all.
    const HIGHEST: u32 = 40;
    /// Nats against an instruction with a number that it has nowhere near.
    const OTHER_NUMBER: f64 = 0.9;
    /// Nats against two instructions beside those against one.
    const PAIR: f64 = 0.9;

    fn add(&mut self, items: &[Item], cost: f64) {
        let whole = items.iter().fold(Span::DETACHED, |all, item| all.to(item.span()));
        let printed = whole.of(self.words.text);
        // Instructions of a row told by another may stand in two sentences.
        let apart = self.words.within(whole).iter().skip(1).any(|token| token.gap >= Gap::Period);
        let marked = printed.is_empty() || apart || printed.contains(['*', '(', ')', '[', ']']);
        if marked || self.all.len() >= Self::LIMIT || !items.iter().all(|item| matches!(item, Item::Work(_)))
        {
            return;
        }
        self.push(items.to_vec(), printed, cost);
    }

    /// Adds instructions unless there are some of the same words.
    fn push(&mut self, items: Vec<Item>, printed: &str, cost: f64) {
        let words = lower_first(&printed.split_whitespace().collect::<Vec<_>>().join(" "));
        if !self.all.iter().any(|phrase| phrase.words == words) {
            self.all.push(Phrase { items, words, cost });
        }
    }

    /// The highest number that an instruction may have: a little more than it has nearby.
    fn highest(&self, ops: &Rc<[Op]>) -> u32 {
        let number = |phrase: &Phrase| match phrase.items.as_slice() {
            [Item::Work(work)] if work.ops == *ops => Some(work.times + 2),
            _ => None,
        };
        self.all.iter().filter_map(number).max().unwrap_or(0).clamp(Self::NUMBER, Self::HIGHEST)
    }

    /// The same phrases with another number, where one instruction of them has one.
    fn add_numbers(&mut self) {
        let mut done: Vec<Vec<Rc<[Op]>>> = Vec::new();
        for index in 0..self.all.len() {
            let works: Vec<Work> = self.all[index].items.iter().filter_map(work).cloned().collect();
            let kind: Vec<Rc<[Op]>> = works.iter().map(|work| Rc::clone(&work.ops)).collect();
            let Some(at) = the_only(works.iter().map(is_counted)).filter(|_| !done.contains(&kind)) else {
                continue;
            };
            let Some(number) = works[at].number else { continue };
            done.push(kind);
            let whole = works.iter().fold(Span::DETACHED, |all, work| all.to(work.span));
            let printed = works[at].times;
            let (cost, numbers) = match works.len() {
                1 => (Self::OTHER_NUMBER, 1..=self.highest(&works[at].ops)),
                // Two together go on in the steps of a row near by.
                _ => (Self::OTHER_NUMBER + Self::PAIR, printed.saturating_sub(2).max(1)..=printed + 2),
            };
            for times in numbers {
                let Some(figure) = in_the_manner_of(number.of(self.words.text), times) else { continue };
                let words = self.words.replaced(whole, number, &figure);
                let mut works = works.clone();
                works[at].times = times;
                self.push(works.into_iter().map(Item::Work).collect(), &words, cost);
            }
        }
    }
}

fn work(item: &Item) -> Option<&Work> {
    match item {
        Item::Work(work) => Some(work),
        _ => None,
    }
}

/// Whether it is a number of plain or of purled stitches.
fn is_counted(work: &Work) -> bool {
    work.number.is_some() && matches!(*work.ops, [Op::K] | [Op::P])
}

/// The place of the only one that is so.
fn the_only(mut all: impl Iterator<Item = bool>) -> Option<usize> {
    let first = all.position(|is| is)?;
    (!all.any(|is| is)).then_some(first)
}

/// Small letters at the beginning, as words in the middle of a row have.
pub fn lower_first(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}
