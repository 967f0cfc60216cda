//! The numbers of a row that may have changed places: those of instructions, of instructions in a group, and how often a
//! group is worked.

use std::rc::Rc;

use loops::Op;
use notation::Lexicon;
use reading::{Item, Seq, Until, Work};

use super::ITEMS;
use super::make::is_family;
use crate::patch::Patch;
use crate::words::{Words, in_the_manner_of};

/// Where a number stands in a stretch of items.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Slot {
    /// An instruction.
    Item(usize),
    /// An instruction in a group.
    Inside(usize, usize),
    /// How often a group is worked, and by how many times that is more than the number printed: "twice more".
    Often(usize, u32),
}

impl Slot {
    /// The item of the stretch that it is in.
    pub(super) fn item(self) -> usize {
        match self {
            Slot::Item(at) | Slot::Inside(at, _) | Slot::Often(at, _) => at,
        }
    }

    /// The same where the stretch begins so many items further on.
    pub(super) fn after(self, from: usize) -> Slot {
        match self {
            Slot::Item(at) => Slot::Item(at - from),
            Slot::Inside(at, inner) => Slot::Inside(at - from, inner),
            Slot::Often(at, more) => Slot::Often(at - from, more),
        }
    }

    /// The number that stands there.
    pub(super) fn number(self, items: &[Item]) -> Option<u32> {
        match (self, items.get(self.item())?) {
            (Slot::Item(_), Item::Work(work)) => Some(work.times),
            (Slot::Inside(_, inner), Item::Group { body, .. }) => match body.items().get(inner)? {
                Item::Work(work) => Some(work.times),
                _ => None,
            },
            (Slot::Often(_, more), Item::Group { until: Until::Times(times), .. }) => times.checked_sub(more),
            _ => None,
        }
    }

    /// The items with another number there.
    pub(super) fn put(self, items: &mut [Item], number: u32) -> Option<()> {
        let item = items.get_mut(self.item())?;
        match (self, item) {
            (Slot::Item(_), Item::Work(work)) => work.times = number,
            (Slot::Inside(_, inner), Item::Group { body, .. }) => {
                let mut within = body.items();
                match within.get_mut(inner)? {
                    Item::Work(work) => work.times = number,
                    _ => return None,
                }
                *body = Seq::of(within)?;
            }
            (Slot::Often(_, more), Item::Group { until, .. }) => {
                *until = Until::Times(number.checked_add(more)?);
            }
            _ => return None,
        }
        Some(())
    }

    /// The words with another number there.
    pub(super) fn patch(self, items: &[Item], number: u32, words: &Words<'_>) -> Option<Patch> {
        let of_work = |work: &Work| {
            let corrected = in_the_manner_of(work.number?.of(words.text), number)?;
            Some(Patch::new(work.span, words.replaced(work.span, work.number?, &corrected)))
        };
        match (self, items.get(self.item())?) {
            (Slot::Item(_), Item::Work(work)) => of_work(work),
            (Slot::Inside(_, inner), Item::Group { body, .. }) => match body.items().get(inner)? {
                Item::Work(work) => of_work(work),
                _ => None,
            },
            (Slot::Often(..), Item::Group { span, .. }) => {
                let printed = self.number(items)?;
                let figure = words.figures(*span).into_iter().find(|figure| figure.value == printed)?;
                let corrected = in_the_manner_of(figure.span.of(words.text), number)?;
                Some(Patch::new(*span, words.replaced(*span, figure.span, &corrected)))
            }
            _ => None,
        }
    }
}

/// Pairs of different numbers that may have changed places; two of the same instruction side by side give no other row.
pub(super) fn pairs(items: &[Item], lexicon: &Lexicon, words: &Words<'_>) -> Vec<(Slot, Slot)> {
    let slots = slots(items, lexicon, words);
    let mut out = Vec::new();
    for (index, (one, ops, number)) in slots.iter().enumerate() {
        for (other, others, to) in &slots[index + 1..] {
            let within = matches!((one, other), (Slot::Inside(at, _), Slot::Inside(to, _)) if at == to);
            let alike =
                ops.is_some() && ops == others && matches!((one, other), (Slot::Item(_), Slot::Item(_)));
            if number != to && !within && !alike {
                out.push((*one, *other));
            }
        }
    }
    out
}

/// A place with the operations and the number that stand there.
type Numbered = (Slot, Option<Rc<[Op]>>, u32);

fn slots(items: &[Item], lexicon: &Lexicon, words: &Words<'_>) -> Vec<Numbered> {
    let of_work = |slot: Slot, item: &Item| match item {
        Item::Work(work) if work.number.is_some() && !is_family(work, lexicon) => {
            Some((slot, Some(Rc::clone(&work.ops)), work.times))
        }
        _ => None,
    };
    let mut out: Vec<Numbered> = Vec::new();
    for (at, item) in items.iter().enumerate().take(ITEMS) {
        out.extend(of_work(Slot::Item(at), item));
        if let Item::Group { body, until, span } = item {
            let inner = body.items();
            out.extend(
                inner.iter().enumerate().filter_map(|(inside, item)| of_work(Slot::Inside(at, inside), item)),
            );
            if let Until::Times(times) = until {
                let printed = words.figures(*span).into_iter().map(|figure| figure.value);
                let more = printed.filter_map(|printed| times.checked_sub(printed)).find(|more| *more <= 1);
                let more = more.unwrap_or(0);
                out.push((Slot::Often(at, more), None, times - more));
            }
        }
    }
    out
}
