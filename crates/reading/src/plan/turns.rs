//! Short rows told by the first of them: "knit 8, turn, knit 10, turn, and so on till all are knitted".
//!
//! Keeps in mind how many stitches lie before the worker and how many beyond the last turn. Knows no words.

use std::rc::Rc;

use loops::Op;

use super::series::{SERIES_LIMIT, numbers, stepped};
use super::told::swapped;
use super::{PlannedRow, Readings};
use crate::ast::{Goal, Item, Seq, Work};

/// Short rows that go on in even steps.
pub struct ShortRows {
    /// The last two rows, and the two before them where there are so many.
    last: Vec<Seq>,
    /// Stitches on the needle before the worker.
    ahead: u32,
    /// Stitches beyond the place where she turned last.
    beyond: u32,
    /// Whether none were left at the last turn.
    to_the_end: bool,
    /// Whether the rows are said to change.
    changes: bool,
}

impl ShortRows {
    /// The short rows at the end of those told; `now` is the number of stitches after them, and
    /// `changes` tells whether the rows are said to change from one to the next.
    pub fn find(told: &[PlannedRow], now: Option<u32>, changes: bool) -> Option<ShortRows> {
        let seq_of = |row: &PlannedRow| Some(row.readings.first()?.1.clone()).filter(is_short);
        let mut rows: Vec<Seq> = told.iter().rev().map_while(seq_of).collect();
        rows.reverse();
        let change = |seq: &Seq| {
            let fixed = seq.shape().fixed;
            i64::from(fixed.makes) - i64::from(fixed.takes)
        };
        let start = i64::from(now?) - rows.iter().map(change).sum::<i64>();
        let mut short = ShortRows {
            last: Vec::new(),
            ahead: u32::try_from(start).ok()?,
            beyond: 0,
            to_the_end: false,
            changes,
        };
        for row in rows {
            short.work(&row)?;
        }
        (short.last.len() > 1 && short.next().is_some()).then_some(short)
    }

    /// The rows that follow, to the end of them; none where they do not come to it.
    pub fn until(mut self, goal: Goal) -> Vec<Seq> {
        let mut more = Vec::new();
        while more.len() < SERIES_LIMIT as usize {
            if matches!(goal, Goal::Rows(rows) if more.len() == rows as usize) {
                return more;
            }
            let (was_at_the_end, was_beyond) = (self.to_the_end, self.beyond);
            let Some(next) = self.next().and_then(|next| self.fitting(next)) else { break };
            if self.work(&next).is_none() {
                break;
            }
            let on_needle = self.ahead + self.beyond;
            let done = self.to_the_end && was_at_the_end;
            more.push(if done { without_turn(&next) } else { next });
            let told = |number: u32| more.last().is_some_and(|row| numbers(row).contains(&number));
            let met = match goal {
                Goal::Told(number) => told(number),
                Goal::InAll(count) => count == on_needle,
                // "Till only eight remain on each side."
                Goal::OnNeedle(count) => self.beyond == count && was_beyond == count,
                _ => false,
            };
            if done || met {
                return more;
            }
        }
        if matches!(goal, Goal::All) { more } else { Vec::new() }
    }

    /// The row after the last: like the one before it or the second before it, or as that looks from the other side.
    fn next(&self) -> Option<Seq> {
        let [.., before, last] = self.last.as_slice() else { return None };
        let across = || {
            let next = stepped(&swapped(before), last, 1)?;
            Some(swapped(&next))
        };
        let by_pairs = || match self.last.as_slice() {
            [first, second, third, fourth] => {
                stepped(second, fourth, 1).and_then(|_| stepped(first, third, 1))
            }
            _ => None,
        };
        let as_before = || match self.last.as_slice() {
            [_, second, third, fourth] => alike(second, fourth).then(|| third.clone()),
            _ => None,
        };
        let from_behind = || alike(&swapped(before), last).then(|| before.clone());
        let narrows = |seq: &Seq| seq.shape().fixed.makes < seq.shape().fixed.takes;
        let slipped = matches!(last.first(), Some(Item::Work(work)) if matches!(*work.ops, [Op::Slp]));
        let goes_on = !self.changes && (alike(before, last) || slipped && narrows(last));
        let steps = stepped(before, last, 1).or_else(across).or_else(by_pairs);
        steps.or_else(as_before).or_else(from_behind).or_else(|| goes_on.then(|| last.clone()))
    }

    /// A row that fits the stitches there are: the plain stitch before the last turn may be one too many.
    fn fitting(&self, row: Seq) -> Option<Seq> {
        match row.shape().fixed.takes.checked_sub(self.ahead) {
            None | Some(0) => Some(row),
            Some(1) => {
                let mut items = row.items();
                let at = items.len().checked_sub(2)?;
                let single = matches!(&items[at], Item::Work(work) if work.times == 1 && matches!(*work.ops, [Op::K] | [Op::P]));
                single.then(|| items.remove(at))?;
                Seq::of(items)
            }
            Some(_) => None,
        }
    }

    /// Works a row.
    fn work(&mut self, row: &Seq) -> Option<()> {
        let fixed = row.shape().fixed;
        let left = self.ahead.checked_sub(fixed.takes)?;
        self.ahead = self.beyond + fixed.makes;
        self.beyond = left;
        self.to_the_end = left == 0;
        self.last.push(row.clone());
        let spare = self.last.len().saturating_sub(4);
        self.last.drain(..spare);
        Some(())
    }
}

/// Whether two rows are the same to work, wherever they are printed and however their decreases lean.
fn alike(one: &Seq, other: &Seq) -> bool {
    let worked = |seq: &Seq| {
        let items = seq.items().into_iter().map(|item| match item {
            Item::Work(work) => Some((work.ops, work.times)),
            _ => None,
        });
        items.collect::<Option<Vec<_>>>()
    };
    let same = |a: &Op, b: &Op| {
        a == b || a.is_decrease() && b.is_decrease() && (a.takes(), a.makes()) == (b.takes(), b.makes())
    };
    worked(one).zip(worked(other)).is_some_and(|(one, other)| {
        one.len() == other.len()
            && one.iter().zip(&other).all(|((ops, times), (others, more))| {
                times == more
                    && ops.len() == others.len()
                    && ops.iter().zip(others.iter()).all(|(a, b)| same(a, b))
            })
    })
}

/// Whether rows told so are short rows.
pub fn is_short_row(readings: &Readings) -> bool {
    readings.first().is_some_and(|(_, seq)| is_short(seq))
}

/// Whether a row turns before its end and takes a fixed number of stitches.
fn is_short(seq: &Seq) -> bool {
    seq.turns() && seq.shape().open.is_empty()
}

/// A short row of one stretch of plain stitches, with another number of them.
pub fn turns_at(row: &Readings, number: u32) -> Option<Readings> {
    let told = |(cost, seq): &(f64, Seq)| {
        let [first @ .., Item::Work(work), last] = &seq.items()[..] else { return None };
        let plain = is_short(seq) && first.is_empty() && matches!(*work.ops, [Op::K | Op::P]);
        let work = Item::Work(Work { times: number, ..work.clone() });
        Some((*cost, Seq::of([work, last.clone()]).filter(|_| plain)?))
    };
    let told: Vec<_> = row.iter().filter_map(told).collect();
    (!told.is_empty()).then(|| Rc::new(told))
}

/// A row that ends where the stitches do.
pub fn without_turn(row: &Seq) -> Seq {
    let turns = |item: &Item| matches!(item, Item::Work(work) if *work.ops == [Op::Turn]);
    Seq::of(row.items().into_iter().filter(|item| !turns(item))).unwrap_or_else(|| row.clone())
}
