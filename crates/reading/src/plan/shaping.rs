//! Rows told by how they grow or shrink: "decrease one stitch at each end of every other row until ten remain".
//!
//! Knows how many stitches there are only as far as the rows before tell it.

use std::rc::Rc;

use loops::Op;
use span::Span;

use super::{PlannedRow, Readings};
use crate::ast::{Item, Place, Seq, Shaping, Until, Work};
use crate::needles::Shares;

/// The most rows that one such sentence makes.
pub const SHAPING_LIMIT: u32 = 600;

impl Shaping {
    /// Stitches more after a row that is shaped.
    fn step(self) -> i64 {
        let places = if self.place == Some(Place::Ends) { 2 } else { 1 };
        places * i64::from(self.many) * (i64::from(self.op.makes()) - i64::from(self.op.takes()))
    }

    /// A row that is shaped, over a ground of one operation.
    pub fn row(self, ground: Op, span: Span) -> Option<Seq> {
        let work = |op, times| {
            let ops = Rc::from([op]);
            (times > 0).then_some(Item::Work(Work { ops, times, span, number: None, sense: None }))
        };
        let op = if ground == Op::P { self.op.from_behind() } else { self.op };
        let rest = Item::Rest { op: ground, until: Until::End, span };
        let begin = [work(ground, self.within), work(op, self.many)];
        let end = [work(op, self.many), work(ground, self.within)];
        let begin = begin.into_iter().flatten().filter(|_| self.place != Some(Place::End));
        let end = end.into_iter().flatten().filter(|_| self.place != Some(Place::Begin));
        Seq::of(begin.chain([rest]).chain(end))
    }

    /// Which of the rows that follow are shaped, from a number of stitches on; `None` where the end cannot be told.
    pub fn rows(self, now: Option<u32>, shaped_before: bool) -> Option<Vec<bool>> {
        let step = self.step();
        let steps = match (self.times, self.until, now) {
            (Some(times), ..) => times,
            (None, Some(until), Some(now)) if step != 0 => {
                let steps = (i64::from(until) - i64::from(now)) / step;
                u32::try_from(steps).ok().filter(|steps| *steps > 0)?
            }
            _ => return None,
        };
        let every = self.every.unwrap_or(1).max(1);
        if steps.saturating_mul(every) > SHAPING_LIMIT {
            return None;
        }
        let plain = |index: u32| if index == 0 && !shaped_before { 0 } else { every - 1 };
        let one = |index: u32| (0..plain(index)).map(|_| false).chain([true]);
        Some((0..steps).flat_map(one).collect())
    }
}

/// The stitches after some rows, from those before them; `None` where a row leaves it open.
pub fn tally<'r>(start: u32, rows: impl IntoIterator<Item = &'r PlannedRow>) -> Option<u32> {
    rows.into_iter().try_fold(start, |count, row| {
        let stated = row.stated.map(|(count, _)| count);
        stated.or_else(|| row.readings.iter().find_map(|(_, seq)| after(count, seq)))
    })
}

/// What a reading leaves of so many stitches, if it takes them exactly.
fn after(count: u32, seq: &Seq) -> Option<u32> {
    if let Some((parts, told)) = seq.by_needle() {
        let mut ways = Vec::new();
        parts.fits(count, Shares::default(), told, &mut ways);
        return ways.first().map(|way| way.after);
    }
    let shape = seq.shape();
    let spare = count.checked_sub(shape.fixed.takes)?;
    match shape.open.as_slice() {
        [] => (spare == 0 || seq.turns()).then_some(shape.fixed.makes + spare),
        [(unit, ..)] if unit.takes > 0 && spare.is_multiple_of(unit.takes) => {
            Some(shape.fixed.makes + unit.makes * (spare / unit.takes))
        }
        _ => None,
    }
}

/// Whether a row takes in or puts on.
pub fn is_shaped(readings: &Readings) -> bool {
    readings.first().is_some_and(|(_, seq)| {
        let shape = seq.shape();
        shape.fixed.takes != shape.fixed.makes
    })
}

/// The operation that most of a row is worked in, if it is one.
pub fn ground_of(readings: &Readings) -> Option<Op> {
    let (_, seq) = readings.first()?;
    let items = seq.items();
    let rest = items.iter().find_map(|item| match item {
        Item::Rest { op, .. } => Some(*op),
        _ => None,
    });
    let longest = || {
        let works = items.iter().filter_map(|item| match item {
            Item::Work(work) if matches!(*work.ops, [Op::K] | [Op::P]) => Some((work.times, work.ops[0])),
            _ => None,
        });
        works.max_by_key(|(times, _)| *times).map(|(_, op)| op)
    };
    rest.or_else(longest).filter(|op| matches!(op, Op::K | Op::P))
}
