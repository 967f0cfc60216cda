//! Rows told by the first of a series: "continue in this manner until nine are left".
//!
//! Two rows of like build give the step from one to the next. Knows no counts but those of the rows themselves.

use std::rc::Rc;

use loops::Op;

use super::PlannedRow;
use super::alike::grown;
use super::shaping::{is_shaped, plain_row_of};
use super::told::between_by;
use crate::ast::{Goal, Item, Seq, Work};
use crate::chain::Needle;
use crate::needles::Parts;
use crate::spread::SpreadRow;

/// The most steps that a series told by its beginning is carried on for.
pub const SERIES_LIMIT: u32 = 400;

/// Rows that go up or down in even steps.
pub struct Series {
    /// Two rows of the series, one after the other.
    rows: [Seq; 2],
    /// How many steps the second lies beyond the last row told.
    ahead: u32,
    /// The rows that lie between two of them.
    pub between: Vec<PlannedRow>,
    /// Whether they are told after the last one too.
    pub told_after: bool,
    /// How many rows of each step are alike.
    pub alike: usize,
}

impl Series {
    /// The last two rows of like build among those told, with what lies between.
    pub fn find(told: &[PlannedRow]) -> Option<Series> {
        let seq_of = |row: &PlannedRow| {
            let told = row.readings.first().map(|(_, seq)| seq.clone());
            told.filter(|seq| {
                seq.item_count() > 1 || seq.shape().open.is_empty() || seq.open_group().is_some()
            })
        };
        let last = told.iter().rposition(|row| seq_of(row).is_some())?;
        let after = told.len() - 1 - last;
        if let Some((rows, alike)) = in_groups(told).filter(|_| after == 0) {
            return Some(Series { rows, ahead: 0, between: Vec::new(), told_after: false, alike });
        }
        let rows = (0..last).rev().find_map(|first| {
            let (first_seq, last_seq) = (seq_of(&told[first])?, seq_of(&told[last])?);
            stepped(&first_seq, &last_seq, 1).map(|_| (first, first_seq, last_seq))
        });
        let (first, first_seq, last_seq) = rows?;
        let between = told[first + 1..last].to_vec();
        if between.len() != after && after != 0 {
            return None;
        }
        let between = if after == 0 { between } else { told[last + 1..].to_vec() };
        Some(Series { rows: [first_seq, last_seq], ahead: 0, between, told_after: after > 0, alike: 1 })
    }

    /// The last row told that is shaped, with so many stitches more between each time.
    pub fn by(told: &[PlannedRow], step: i32) -> Option<Series> {
        let (shaped, between) = last_shaped(told)?;
        let model = shaped.readings.first()?.1.clone();
        let other = |by: i32| Some(between_by(&shaped.readings, by).first()?.1.clone());
        let (rows, ahead) = match other(-step).filter(|before| stepped(before, &model, 1).is_some()) {
            Some(before) => ([before, model], 0),
            None => ([model, other(step)?], 1),
        };
        Some(Series { rows, ahead, told_after: !between.is_empty(), between, alike: 1 })
    }

    /// The last row told that is shaped, with one or two stitches more or fewer wherever the row after it can then be worked
    /// on what is on the needle.
    pub fn fitting(told: &[PlannedRow], on_needle: u32) -> Option<Series> {
        let (shaped, between) = last_shaped(told)?;
        let model = shaped.readings.first()?.1.clone();
        let takes = |seq: &Seq| seq.shape().open.is_empty().then_some(seq.shape().fixed.takes);
        let steps = [-1, 1, -2, 2].into_iter().flat_map(|by| {
            let (next, before) = (between_by(&shaped.readings, by), between_by(&shaped.readings, -by));
            let pairs: Vec<(Seq, Seq)> = next
                .iter()
                .zip(before.iter())
                .map(|((_, next), (_, before))| (next.clone(), before.clone()))
                .collect();
            pairs
        });
        let mut fitting = steps.filter(|(next, _)| takes(next) == Some(on_needle));
        let (_, before) = fitting.next().filter(|_| takes(&model).is_some())?;
        Some(Series { rows: [before, model], ahead: 0, told_after: !between.is_empty(), between, alike: 1 })
    }

    /// The last row told that is shaped, worked again on the stitches that it left: between its increases there are as many
    /// more as it made.
    pub fn growing(told: &[PlannedRow]) -> Option<Series> {
        let (shaped, between) = last_shaped(told)?;
        let model = shaped.readings.first()?.1.clone();
        let grown = grown(&shaped.readings);
        let next =
            grown.iter().map(|(_, next)| next).find(|next| stepped(&model, next, 1).is_some())?.clone();
        Some(Series { rows: [model, next], ahead: 1, told_after: !between.is_empty(), between, alike: 1 })
    }

    /// What is on the needle after the last, where it takes a fixed number of stitches.
    pub fn last_needle(&self) -> Option<Needle> {
        let shape = self.rows[1].shape();
        shape.open.is_empty().then(|| Needle::cast_on(shape.fixed.makes))
    }

    /// The number that goes from row to row, so many steps on.
    pub fn number(&self, step: u32) -> Option<u32> {
        let after = self.nth(step)?;
        let before = if step == self.ahead { self.rows[0].clone() } else { self.nth(step.checked_sub(1)?)? };
        let mut pairs = numbers(&before).into_iter().zip(numbers(&after));
        pairs.find(|(one, other)| one != other).map(|(_, number)| number)
    }

    /// Whether the number that goes from row to row comes to this one, alone or with what the row makes beside it.
    pub fn reaches(&self, step: u32, goal: u32) -> bool {
        let made = self.nth(step).map_or(0, |seq| {
            let shape = seq.shape().fixed;
            shape.makes.saturating_sub(shape.takes)
        });
        self.number(step).is_some_and(|number| number == goal || number + made == goal)
    }

    /// Whether that number has gone past one that it should come to.
    pub fn passes(&self, step: u32, goal: u32) -> bool {
        match self.number(step).zip(self.number(step + 1)) {
            Some((now, next)) if next > now => now > goal,
            Some((now, _)) => now < goal,
            None => false,
        }
    }

    /// What a number that the stitches on the needles can't come to means: that of the stitches between the places that
    /// are shaped.
    pub fn goal_of(&self, goal: Goal, on_needle: u32) -> Goal {
        let Goal::InAll(count) = goal else { return goal };
        let shape = self.rows[1].shape();
        let all = shape.open.iter().fold(shape.fixed, |all, (unit, ..)| all.and(*unit));
        let grows = all.makes > all.takes;
        if grows && count < on_needle { Goal::Told(count) } else { goal }
    }

    /// The row so many steps on.
    pub fn nth(&self, step: u32) -> Option<Seq> {
        stepped(&self.rows[0], &self.rows[1], step.checked_sub(self.ahead)?)
    }
}

/// The last two steps of rows that come in groups alike, "1st and 2nd round … 3rd and 4th round …", and how many a group
/// has.
fn in_groups(told: &[PlannedRow]) -> Option<([Seq; 2], usize)> {
    let seq = |row: &PlannedRow| row.readings.first().map(|(_, seq)| seq.clone());
    let last = seq(told.last()?)?;
    let like = |other: &Seq| {
        let other = other.clone();
        move |row: &&PlannedRow| seq(row).is_some_and(|seq| seq.items() == other.items())
    };
    let alike = told.iter().rev().take_while(like(&last)).count();
    let before = &told[..told.len() - alike];
    let first = seq(before.last()?)?;
    let same = before.iter().rev().take_while(like(&first)).count() == alike;
    (alike > 1 && same && stepped(&first, &last, 1).is_some()).then_some(([first, last], alike))
}

/// The last row told that takes in or puts on, or else the last that is not plain, and the rows after it.
fn last_shaped(told: &[PlannedRow]) -> Option<(&PlannedRow, Vec<PlannedRow>)> {
    let shaped = told.iter().rposition(|row| is_shaped(&row.readings));
    let last = shaped.or_else(|| told.iter().rposition(|row| plain_row_of(&row.readings).is_none()))?;
    Some((&told[last], told[last + 1..].to_vec()))
}

/// The numbers of plain and purled stitches, in order.
pub fn numbers(seq: &Seq) -> Vec<u32> {
    let numbers = seq.items().into_iter().flat_map(|item| match item {
        Item::Work(work) if matches!(*work.ops, [Op::K] | [Op::P]) => vec![work.times],
        Item::Group { body, .. } => numbers(&body),
        _ => Vec::new(),
    });
    numbers.collect()
}

/// The second of two rows of like build, so many further steps on; `None` if they are not built alike or are the
/// same. A number that comes down to nothing leaves its item out.
pub fn stepped(first: &Seq, second: &Seq, steps: u32) -> Option<Seq> {
    let (first, second) = (first.items(), second.items());
    if first.len() != second.len() || first == second {
        return None;
    }
    let mut moved = false;
    let items = first.iter().zip(&second).map(|pair| match pair {
        (Item::Work(one), Item::Work(two)) if one.ops == two.ops => {
            moved |= one.times != two.times;
            let step = i64::from(two.times) - i64::from(one.times);
            let times = u32::try_from(i64::from(two.times) + step * i64::from(steps)).ok()?;
            Some(Item::Work(Work { times, ..two.clone() }))
        }
        (Item::Group { body: one, until: before, .. }, Item::Group { body: two, until, span })
            if before == until =>
        {
            let body = if one == two { two.clone() } else { stepped(one, two, steps)? };
            moved |= one != two;
            Some(Item::Group { body, until: *until, span: *span })
        }
        (Item::ByNeedle(one, _), Item::ByNeedle(two, told)) => match (&**one, &**two) {
            (Parts::Same(one), Parts::Same(two)) if one != two => {
                moved = true;
                Some(Item::ByNeedle(Rc::new(Parts::Same(stepped(one, two, steps)?)), *told))
            }
            _ => None,
        },
        (Item::Spread(one, _), Item::Spread(two, span)) if one != two => {
            moved = true;
            Some(Item::Spread(SpreadRow::stepped(one, two, steps)?, *span))
        }
        (Item::Rest { op: one, until: before, .. }, rest @ Item::Rest { op: two, until: after, .. })
            if (one, before) == (two, after) =>
        {
            Some(rest.clone())
        }
        (one, two) if one == two => Some(two.clone()),
        _ => None,
    });
    let items: Vec<Item> = items.collect::<Option<_>>()?;
    let kept = items.into_iter().filter(|item| !matches!(item, Item::Work(work) if work.times == 0));
    Seq::of(kept).filter(|_| moved)
}
