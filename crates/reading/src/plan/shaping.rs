//! Rows told by how they grow or shrink: "decrease one stitch at each end of every other row until ten remain".
//!
//! Knows how many stitches there are only as far as the rows before tell it.

use std::rc::Rc;

use loops::Op;
use span::Span;

use super::{PlannedRow, Readings};
use crate::ast::{At, Goal, Item, Place, Seq, Shaping, SpreadTold, Until, Work};
use crate::chain::{Needle, ways};
use crate::spread::{Act, Spread, SpreadRow};

/// The most rows that one such sentence makes.
pub const SHAPING_LIMIT: u32 = 600;

impl Shaping {
    /// Stitches more after a row that is shaped.
    fn step(self) -> i64 {
        let both = matches!(self.place, Some(Place::Ends | Place::Beside(_) | Place::Seam));
        let places = if both { 2 } else { 1 };
        places * i64::from(self.many) * (i64::from(self.op.makes()) - i64::from(self.op.takes()))
    }

    /// What one row of it works, where.
    pub fn acts(self) -> Vec<SpreadTold> {
        let act = |at| SpreadTold { op: self.op, times: Some(self.many), at };
        let ends = [At::Begin(self.within), At::End(self.within)];
        match self.place {
            Some(Place::End) => vec![act(ends[1])],
            Some(Place::Ends) => ends.map(act).to_vec(),
            Some(Place::Middle) => vec![act(At::Middle)],
            Some(Place::Beside(middle)) => vec![act(At::Beside(middle))],
            Some(Place::Seam) => vec![act(At::Seam)],
            Some(Place::Begin) | None => vec![act(ends[0])],
        }
    }

    /// A row that is shaped, over a ground of one operation.
    pub fn row(self, ground: Op, span: Span) -> Option<Seq> {
        if matches!(self.place, Some(Place::Middle | Place::Beside(_) | Place::Seam)) {
            return SpreadTold::row_with(&self.acts(), ground, span);
        }
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
            (None, Some(Goal::InAll(until)), Some(now)) if step != 0 => {
                let steps = (i64::from(until) - i64::from(now)) / step;
                u32::try_from(steps).ok().filter(|steps| *steps > 0)?
            }
            _ => return None,
        };
        let every = self.every.unwrap_or(1).max(1);
        if steps.saturating_mul(every) > SHAPING_LIMIT {
            return None;
        }
        let plain = |index: u32| if index == 0 && (!shaped_before || self.at_once) { 0 } else { every - 1 };
        let one = |index: u32| (0..plain(index)).map(|_| false).chain([true]);
        Some((0..steps).flat_map(one).collect())
    }
}

impl Goal {
    /// Whether it is reached.
    pub fn is_met(self, needle: Needle) -> bool {
        match self {
            Goal::InAll(count) => needle.count == count,
            Goal::OnNeedle(count) => needle.shares.counts().max() == Some(count),
            Goal::Told(_) | Goal::AsCastOn | Goal::All | Goal::Rows(_) => false,
        }
    }

    /// How many stitches are wanting or too many; none where stitches do not tell.
    fn distance(self, needle: Needle) -> Option<u32> {
        match self {
            Goal::InAll(count) => Some(needle.count.abs_diff(count)),
            Goal::OnNeedle(count) => Some(needle.shares.counts().max()?.abs_diff(count)),
            Goal::Told(_) | Goal::AsCastOn | Goal::All | Goal::Rows(_) => None,
        }
    }

    /// Whether what is on the needles after some rows is nearer to it than what was before them.
    pub fn is_nearer(self, before: Needle, after: Needle) -> bool {
        self.distance(before).zip(self.distance(after)).is_some_and(|(before, after)| after < before)
    }
}

/// What is on the needles after some rows, from what was before them; `None` where a row leaves it open.
pub fn tally<'r>(start: Needle, rows: impl IntoIterator<Item = &'r PlannedRow>) -> Option<Needle> {
    rows.into_iter().try_fold(start, |needle, row| {
        let mut fitting = Vec::new();
        let after = row.readings.iter().find_map(|(_, seq)| {
            ways(seq, needle, &mut fitting);
            let whole = fitting.iter().filter(|fit| fit.cut.is_none());
            whole.min_by(|a, b| a.cost.total_cmp(&b.cost)).map(|fit| needle.after(seq, fit))
        });
        let stated = row.stated.map(|(count, _)| count);
        // What the row itself leaves is surer than a count said in passing, which may be of a part.
        after.or(stated.map(Needle::cast_on))
    })
}

impl SpreadTold {
    /// Whether it is worked at the beginning or at the end of the row.
    pub fn is_at_an_end(&self) -> bool {
        matches!(self.at, At::Begin(_) | At::End(_))
    }

    /// A row of one operation with these increases or decreases in it; `None` where the words leave it open.
    pub fn row(self, ground: Op, span: Span) -> Option<Seq> {
        SpreadTold::row_with(&[self], ground, span)
    }

    /// A row of one operation with all these in it; `None` where the words leave one of them open.
    pub fn row_with(told: &[SpreadTold], ground: Op, span: Span) -> Option<Seq> {
        let acts = told.iter().map(|told| told.act(ground)).collect::<Option<_>>()?;
        Some(Seq::one(Item::Spread(SpreadRow { acts, ground }, span)))
    }

    fn act(self, ground: Op) -> Option<Act> {
        let op = if ground == Op::P { self.op.from_behind() } else { self.op };
        let many = self.times.unwrap_or(1);
        let spread = match self.at {
            At::Stacked => Spread::Stacked,
            At::After(every) => Spread::After(every, self.times),
            At::Beside(middle) => Spread::Beside(middle),
            At::Seam => Spread::Seam,
            At::Middle => Spread::Middle(many),
            At::Begin(within) => Spread::FromBegin(many, within),
            At::End(within) => Spread::FromEnd(many, within),
            At::Evenly | At::Somewhere => Spread::Evenly(self.times.filter(|times| *times > 0)?),
        };
        Some(Act { op, spread })
    }
}

/// The operation of a row that is worked in one throughout.
pub fn plain_row_of(readings: &Readings) -> Option<Op> {
    match readings.first()?.1.items().as_slice() {
        [Item::Rest { op, until: Until::End, .. }] => Some(*op),
        _ => None,
    }
}

/// Whether a row takes in or puts on.
pub fn is_shaped(readings: &Readings) -> bool {
    let uneven = |seq: &Seq| seq.shape().fixed.takes != seq.shape().fixed.makes;
    let by_needle = |seq: &Seq| seq.by_needle().is_some_and(|(parts, _)| parts.all().iter().any(uneven));
    readings.first().is_some_and(|(_, seq)| {
        uneven(seq) || seq.open_group().is_some_and(uneven) || seq.spread().is_some() || by_needle(seq)
    })
}

/// Whether a row takes in or puts on beside stitches that are worked alike to the end.
pub fn is_shaped_over_a_ground(readings: &Readings) -> bool {
    let rest = |item: &Item| matches!(item, Item::Rest { until: Until::End, .. });
    is_shaped(readings) && readings.first().is_some_and(|(_, seq)| seq.items().iter().any(rest))
}

/// Whether a row leaves more stitches than it takes; `None` where it leaves as many.
pub fn grown_by(readings: &Readings) -> Option<bool> {
    let (_, seq) = readings.first()?;
    if let Some((row, _)) = seq.spread() {
        return row.acts.first().map(|act| act.op.makes() > act.op.takes());
    }
    let shape = |seq: &Seq| seq.shape().fixed;
    let (own, again) = (shape(seq), seq.open_group().map(shape).unwrap_or_default());
    let (takes, makes) = (own.takes.saturating_add(again.takes), own.makes.saturating_add(again.makes));
    (takes != makes).then_some(makes > takes)
}

/// The operation that most of a row is worked in, if it is one.
pub fn ground_of(readings: &Readings) -> Option<Op> {
    readings.iter().find_map(|(_, seq)| ground(seq))
}

fn ground(seq: &Seq) -> Option<Op> {
    let items = seq.items();
    let rest = items.iter().find_map(|item| match item {
        Item::Rest { op, .. } => Some(*op),
        Item::Spread(row, _) => Some(row.ground),
        _ => None,
    });
    let most = || {
        let of = |op: Op| {
            let works = items.iter().filter_map(|item| match item {
                Item::Work(work) if *work.ops == [op] => Some(work.times),
                _ => None,
            });
            works.sum::<u32>()
        };
        let (plain, purled) = (of(Op::K), of(Op::P));
        let op = if plain > purled { Op::K } else { Op::P };
        (plain.max(purled) > 3 * plain.min(purled)).then_some(op)
    };
    rest.or_else(most).filter(|op| matches!(op, Op::K | Op::P))
}
