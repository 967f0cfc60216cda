//! What is worked in a row, by what is told of it: work of its own, or rows like others.
//!
//! Looks back over the rows told so far, and changes none. Knows no words.

use std::rc::Rc;

use loops::Op;
use span::Span;

use super::super::alike::{
    Stretch, between, but_for, edges_of, from_star, grown, narrowed_so, rest_as, so_often, up_to, with_ends,
    with_plain,
};
use super::super::series::Series;
use super::super::shaping::{ground_of, is_shaped, plain_row_of};
use super::super::told::{as_it_shows, crossed, is_rib, swapped, whole_row, works_inside};
use super::super::{PlannedRow, Readings};
use super::Draft;
use crate::ast::{Content, Deed, Item, Model, Seen, Seq, Sum};
use crate::rowset::Which;

/// Nats against a row "the same again, with …" being that of the same side and not the last one told. Guess.
const SAME_SIDE: f64 = 0.5;
/// Nats against a row told by a number alone, "with nine between", being shaped. Guess.
const UNSTEADY: f64 = 2.0;

/// Nats against a row told by a number alone not going on from the two before it, where these lead to that number. Guess.
const OUT_OF_SERIES: f64 = 1.0;

impl Draft {
    /// The row that goes on from the last two, where the number that changes in them then comes to this one.
    fn series_to(&self, number: u32) -> Option<Seq> {
        let told = self.all_told();
        let last = told.iter().rposition(|row| is_shaped(&row.readings))?;
        let series = Series::find(&told[..=last])?;
        series.nth(1).filter(|_| series.number(1) == Some(number))
    }

    pub(super) fn readings(&self, content: &Content) -> Option<Readings> {
        self.nth_readings(content, 0)
    }

    pub(super) fn nth_readings(&self, content: &Content, nth: usize) -> Option<Readings> {
        match content {
            Content::Rib(_) if nth > 0 => {
                Some(Rc::new(vec![(0.0, Seq::one(Item::Seen(Seen::AsItShows, Span::DETACHED)))]))
            }
            Content::Rib(readings) => Some(Rc::clone(readings)),
            Content::Work(readings) if nth % 2 == 1 => Some(as_it_shows(readings)),
            Content::Work(readings) => Some(Rc::clone(readings)),
            Content::Turns(ops) => {
                let op = *ops.get(nth % ops.len().max(1))?;
                Some(whole_row(op, Span::DETACHED))
            }
            Content::Stepped(_) => None,
            Content::LikeNamed(deed) => {
                let mut told = self.plan.rows.iter().chain(self.run.values()).chain(&self.loose).rev();
                told.find(|row| does(&row.readings, *deed)).map(|row| grown(&row.readings))
            }
            Content::Straight => {
                let known = self.told_so_far();
                let mut before = self.plan.rows.iter().chain(self.run.values()).rev();
                let last = before.next();
                let told = before.next();
                let ground = |row: Option<&PlannedRow>| row.and_then(|told| ground_of(&told.readings));
                // Of stocking stitch the first row is knitted.
                let smooth = self.smooth.then(|| if known.is_multiple_of(2) { Op::K } else { Op::P });
                // Of several operations each goes on over its own.
                let shown = || Rc::new(vec![(0.0, Seq::one(Item::Seen(Seen::AsItShows, Span::DETACHED)))]);
                let op = ground(told).or(smooth).or_else(|| ground(last));
                let whole = op.map(|op| whole_row(op, Span::DETACHED));
                // Where nothing was worked before, "knit four rows even" are plain.
                let plain = || last.is_none().then(|| whole_row(Op::K, Span::DETACHED));
                whole.or_else(|| told.map(|_| shown())).or_else(plain)
            }
            Content::Swapped(rows) => {
                let told = self.nth_readings(&Content::Like(Some(rows.clone())), nth)?;
                Some(Rc::new(told.iter().map(|(cost, seq)| (*cost, swapped(seq))).collect()))
            }
            Content::LikeTimes(rows, times) => {
                let told = self.nth_readings(&Content::Like(Some(rows.clone())), nth)?;
                Some(so_often(&told, *times)).filter(|readings| !readings.is_empty())
            }
            Content::LikeCrossed(rows) => {
                let told = self.nth_readings(&Content::Like(Some(rows.clone())), nth)?;
                Some(Rc::new(told.iter().map(|(cost, seq)| (*cost, crossed(seq))).collect()))
            }
            Content::LikeWith(model, plain, old) => {
                let shaped = || self.last_shaped().map(|told| (UNSTEADY, told));
                let told: Vec<_> = match model {
                    Model::Rows(rows) => {
                        vec![(0.0, self.nth_readings(&Content::Like(Some(rows.clone())), 0)?)]
                    }
                    Model::Shaped => vec![(0.0, self.last_shaped()?)],
                    Model::Steady => {
                        self.last_steady().map(|told| (0.0, told)).into_iter().chain(shaped()).collect()
                    }
                };
                let likely = if *model == Model::Steady { Stretch::Nearest } else { Stretch::Longest };
                let changed = |(more, told): &(f64, Readings)| -> Vec<(f64, Seq)> {
                    with_plain(told, *plain, *old, likely)
                        .iter()
                        .map(|(cost, seq)| (cost + more, seq.clone()))
                        .collect()
                };
                // What has grown so far is what grows.
                let onward = self.series_to(*plain).filter(|_| !matches!(model, Model::Rows(_)));
                let other = if onward.is_some() { OUT_OF_SERIES } else { 0.0 };
                let others = told.iter().flat_map(changed).map(|(cost, seq)| (cost + other, seq));
                let all: Vec<_> = onward.map(|seq| (0.0, seq)).into_iter().chain(others).collect();
                Some(Rc::new(all)).filter(|all: &Readings| !all.is_empty())
            }
            Content::LikeEnds(rows, plain) => {
                let told = self.nth_readings(&Content::Like(Some(rows.clone())), nth)?;
                Some(with_ends(&told, *plain)).filter(|readings| !readings.is_empty())
            }
            Content::FromStar(begun, rows, plain) => {
                let told = self.nth_readings(&Content::Like(Some(rows.clone())), nth)?;
                Some(from_star(begun, &told, *plain)).filter(|readings| !readings.is_empty())
            }
            Content::RestAs(begun, rows) => {
                let told = match rows {
                    Some(rows) => self.nth_readings(&Content::Like(Some(rows.clone())), nth)?,
                    None => self.last_of_the_same_side()?,
                };
                let on_needle = self.needle().map(|needle| needle.count);
                Some(rest_as(begun, &told, on_needle)).filter(|readings| !readings.is_empty())
            }
            Content::NarrowedSo(begun, plain, ended) => {
                let told = self.plan.rows.iter().chain(self.run.values()).rev();
                let all = told.map(|row| narrowed_so(&row.readings, begun, *plain, ended));
                all.into_iter().find(|readings| !readings.is_empty())
            }
            Content::UpTo(rows, stop, own) => {
                let told = self.nth_readings(&Content::Like(Some(rows.clone())), nth)?;
                Some(up_to(&told, *stop, own)).filter(|readings| !readings.is_empty())
            }
            Content::Edged(edges, own) => {
                let (first, last) = match &self.edges_are {
                    Some((first, last)) => (Some(first.clone()), Some(last.clone())),
                    None => edges_of(&self.of_the_same_side()?, self.edge_width?),
                };
                let first = if edges.first { Some(first?) } else { None };
                let last = if edges.last { Some(last?) } else { None };
                Some(between(first.as_ref(), last.as_ref(), own))
            }
            Content::InSeries => None,
            Content::LikeBut(rows, changes) => {
                let changed = |told: &Readings, more: f64| -> Vec<(f64, Seq)> {
                    but_for(told, changes).iter().map(|(cost, seq)| (cost + more, seq.clone())).collect()
                };
                let told = match rows {
                    Some(rows) => changed(&self.nth_readings(&Content::Like(Some(rows.clone())), nth)?, 0.0),
                    None => {
                        let side = self.last_of_the_same_side().map(|told| changed(&told, SAME_SIDE));
                        side.into_iter().flatten().chain(changed(&self.last_shaped()?, 0.0)).collect()
                    }
                };
                Some(Rc::new(told)).filter(|readings| !readings.is_empty())
            }
            Content::LikeRib => match &self.rib {
                Some(rib) => self.nth_readings(rib, nth),
                None => match self.first_rib() {
                    Some(rib) => self.nth_readings(&Content::Rib(rib), nth),
                    None => self.nth_readings(&Content::LikeCounted, nth),
                },
            },
            Content::Like(None) | Content::LikeCounted | Content::Recoloured => {
                if let (Content::LikeCounted, Some(counted)) = (content, &self.counted) {
                    return self.nth_readings(counted, nth);
                }
                let last = self.last_number().and_then(|number| self.run.get(&number));
                let last = last.or(self.plan.rows.last());
                last.map(|row| Rc::clone(&row.readings))
            }
            Content::Like(Some(rows)) => {
                let named = match &rows.which {
                    Which::Called(name) => return self.called.get(name).cloned(),
                    Which::Even => return self.of_parity(0),
                    Which::Odd => return self.of_parity(1),
                    Which::Numbers(numbers) => numbers.get(nth % numbers.len().max(1)).copied(),
                    Which::First(n) => Some(1 + nth as u32 % n.max(&1)),
                    Which::Last(n) => {
                        let known: Vec<&PlannedRow> =
                            self.plan.rows.iter().chain(self.run.values()).collect();
                        // Rows of the same sentence already stand among those told.
                        let from = known.len().checked_sub(*n as usize + nth)?;
                        return known
                            .get(from + nth % (*n as usize).max(1))
                            .map(|row| Rc::clone(&row.readings));
                    }
                    _ => None,
                }?;
                let told = self
                    .run
                    .get(&named)
                    .or_else(|| self.plan.rows.iter().rev().find(|row| row.number == Some(named)));
                told.map(|row| Rc::clone(&row.readings)).or_else(|| {
                    let (_, readings, _) = self.returns.as_ref()?;
                    Some(Rc::clone(readings))
                })
            }
        }
    }

    /// What is told once for the rows of even or odd numbers, or else the last of them.
    fn of_parity(&self, parity: u32) -> Option<Readings> {
        let once = self.returns.as_ref().filter(|(which, ..)| match which {
            Which::Even => parity == 0,
            Which::Odd => parity == 1,
            _ => false,
        });
        let last = || self.run.iter().rev().find(|(number, _)| *number % 2 == parity);
        once.map(|(_, readings, _)| Rc::clone(readings))
            .or_else(|| last().map(|(_, row)| Rc::clone(&row.readings)))
    }

    /// The first row told in several instructions that shows the same side as the one that is just told.
    fn of_the_same_side(&self) -> Option<Readings> {
        let parity = self.telling % 2;
        let told =
            self.run.iter().filter(|(_, row)| row.readings.iter().any(|(_, seq)| seq.item_count() > 2));
        let same = told.clone().find(|(number, _)| *number % 2 == parity);
        same.or_else(|| told.clone().next()).map(|(_, row)| Rc::clone(&row.readings))
    }

    /// The first row told that is a rib.
    fn first_rib(&self) -> Option<Readings> {
        let told = self.plan.rows.iter().chain(self.run.values());
        let mut readings = told.map(|row| &row.readings);
        readings.find(|readings| readings.first().is_some_and(|(_, seq)| is_rib(seq))).cloned()
    }

    /// The last row but one, where it is more than one operation throughout: of two sides it shows the same.
    fn last_of_the_same_side(&self) -> Option<Readings> {
        let number = self.telling.checked_sub(2)?;
        let told = self.run.get(&number).map(|row| &row.readings);
        told.filter(|readings| plain_row_of(readings).is_none()).cloned()
    }

    /// The last row told of several operations that leaves as many stitches as it takes.
    fn last_steady(&self) -> Option<Readings> {
        let mut told = self.plan.rows.iter().chain(self.run.values()).chain(&self.loose).rev();
        let several = |row: &&PlannedRow| plain_row_of(&row.readings).is_none();
        let steady = |deed: Deed, row: &PlannedRow| !does(&row.readings, deed);
        let row = told.find(|row| several(row) && steady(Deed::Narrows, row) && steady(Deed::Widens, row))?;
        Some(Rc::clone(&row.readings))
    }

    /// The last row told that takes in or puts on, or else the last that is more than one operation throughout.
    pub(super) fn last_shaped(&self) -> Option<Readings> {
        let told = self.plan.rows.iter().chain(self.run.values()).chain(&self.loose).rev();
        let worked = |readings: &&Readings| plain_row_of(readings).is_none();
        let told = told.map(|row| &row.readings);
        told.clone().find(|readings| is_shaped(readings)).or_else(|| told.clone().find(worked)).cloned()
    }
}

/// Whether a row does what it is named by.
pub(super) fn does(readings: &Readings, deed: Deed) -> bool {
    readings.first().is_some_and(|(_, seq)| {
        let shape = seq.shape();
        let grows = |sum: Sum| sum.makes.cmp(&sum.takes);
        let spread = seq.spread().into_iter().flat_map(|(row, _)| row.acts.iter().map(|act| Sum::of(act.op)));
        let open = shape.open.iter().map(|(round, ..)| *round);
        let sums = || std::iter::once(shape.fixed).chain(open.clone()).chain(spread);
        match deed {
            Deed::Opens => works_inside(seq, Op::Yo),
            Deed::Narrows => sums().any(|sum| grows(sum).is_lt()),
            Deed::Widens => sums().any(|sum| grows(sum).is_gt()),
        }
    })
}
