//! Rows told by their numbers, or by how many they are.
//!
//! Numbered rows stand in their run, where rows told later find their places: "third row, like the second". Knows no
//! words.

use std::rc::Rc;

use loops::Side;
use span::Span;

use super::super::alike::between;
use super::super::shaping::plain_row_of;
use super::super::told::{fills_a_row, opened, split_at_turns, takes_up};
use super::super::{PlannedRow, ROWS_LIMIT, Readings};
use super::Draft;
use super::close::applies;
use crate::ast::{Again, Content, Item, Seq};
use crate::rowset::{RowSet, Which};

/// Nats against two rows that are "the same" being both as the one before them, where the two before differ. Guess.
const BOTH_AS_LAST: f64 = 0.3;

/// Nats against a row that leaves out the ends told once for its kind where it begins like them, and against one that
/// tells them where it does not. Guess.
const TOLD_ENDS: f64 = 1.5;
/// The most readings of such an end.
const MOST_ENDS: usize = 3;

impl Draft {
    pub(super) fn rows(
        &mut self,
        rows: &RowSet,
        content: &Content,
        side: Option<Side>,
        count: Option<(u32, Span)>,
        span: Span,
    ) {
        *(if rows.round { &mut self.rounds } else { &mut self.said_rows }) += 1;
        if rows.round && self.plan.edge_rows.end > self.told_so_far() {
            self.plan.edge_rows.end = self.told_so_far();
        }
        let numbers = match &rows.which {
            // "135. Knit twelve, turn": the number of a paragraph rather than of a row.
            Which::Numbers(numbers) if !rows.explicit && self.is_far_off(numbers) => {
                return self.counted(1, content, span);
            }
            Which::Numbers(numbers) => numbers.clone(),
            Which::First(n) => (1..=(*n).min(ROWS_LIMIT as u32)).collect(),
            Which::Next(n) | Which::Count(n) => return self.counted(*n, content, span),
            Which::Called(name) => return self.called(name, content, span),
            Which::Till(last) => {
                self.fill_gaps();
                let many = (last + 1).saturating_sub(self.next_number());
                return self.counted(many, content, span);
            }
            Which::AsMany => return self.counted(self.so_many, content, span),
            Which::Measure => {
                self.plan.measures.push(rows.span);
                return self.counted(1, content, span);
            }
            // "Purl one row. In the last row, knit two together six times."
            Which::Last(1) if matches!(content, Content::Work(told) if self.fits_the_needle(told)) => {
                return self.counted(1, content, span);
            }
            Which::Last(_) => return,
            Which::Every if matches!(content, Content::Like(Some(_))) => {
                let Content::Like(like) = content else { return };
                return self.again(&Again { rows: like.clone(), ..Again::default() });
            }
            // "Working the back rounds with green": which those are is told elsewhere.
            _ if *content == Content::Recoloured => return,
            Which::Every if self.further_of_the_group(content) => return,
            which => {
                let between_edges = self.plan.told_edges.is_some();
                let like = matches!(content, Content::Like(_));
                let fills = |readings: &_| between_edges || like || fills_a_row(readings);
                let readings = self.readings(content);
                // "Every even row is the same, viz.: …"
                self.alike = (like && readings.is_none()).then(|| which.clone());
                if let Some(readings) = readings.filter(fills) {
                    let of_last = *content == Content::Like(None);
                    // "2nd row: purl. All the back rows resemble this one": they have numbers of their own.
                    let numbered = of_last && self.latest.is_some_and(|number| number % 2 == 0);
                    let back = *which == Which::Back;
                    self.follows = back && !numbered;
                    let readings = if of_last { opened(&readings) } else { readings };
                    let which = if back && numbered { Which::Even } else { which.clone() };
                    self.returns = Some((which, readings, span));
                }
                return;
            }
        };
        if let Content::Stepped(by) = content {
            return self.stepped(&numbers, *by, span);
        }
        if *content == Content::InSeries {
            return self.in_series(&numbers, span);
        }
        if self.among_the_block(&numbers, content) {
            return;
        }
        // "The first loop of the two is knitted, the second purled" names no row that is told already.
        let told = numbers.iter().all(|number| self.run.contains_key(number));
        let anew = self.run.keys().next() == numbers.first();
        if told && !rows.explicit && !anew {
            return;
        }
        self.labelled = true;
        if let Content::Edged(edges, _) = content {
            self.edge_width = edges.stitches.or(self.edge_width);
        }
        if numbers.iter().any(|number| self.recoloured.contains(number)) {
            // "3rd to 8th round, with white wool. 3rd round: purl": the first only named the wool.
            for number in std::mem::take(&mut self.recoloured) {
                self.run.remove(&number);
            }
        }
        if self.restarts(&numbers) {
            // What was said of the edges right before is said of the rows that begin here.
            if self.plan.told_edges.is_some() && self.edges_at == self.told_so_far() {
                self.plan.edges_from = self.edges_at;
            }
            self.close_run();
        }
        self.recoloured.clear();
        if *content == Content::Recoloured {
            self.recoloured.clone_from(&numbers);
        }
        for (index, number) in numbers.iter().enumerate() {
            if self.run.len() + self.plan.rows.len() >= ROWS_LIMIT {
                return;
            }
            self.telling = *number;
            let pair = self.pair_again(&numbers, content, index);
            let Some(readings) = pair.or_else(|| self.nth_readings(content, index)) else {
                self.like_a_later(*number, content, side, span);
                continue;
            };
            if let Some(name) = &rows.also {
                self.called.insert(Rc::clone(name), Rc::clone(&readings));
            }
            let readings = match content {
                Content::Work(_) | Content::NarrowedSo(..) => self.between_ends(*number, readings),
                _ => readings,
            };
            let mut readings = split_at_turns(&readings);
            let rest = readings.split_off(1);
            let Some(first) = readings.pop() else { continue };
            let mut row = self.planned(Some(*number), first, span);
            row.side = side;
            row.stated = count.filter(|_| index + 1 == numbers.len());
            self.tell(*number, row);
            for (step, part) in rest.into_iter().enumerate() {
                let number = number + 1 + step as u32;
                let row = self.planned(Some(number), part, span);
                self.run.insert(number, row);
            }
        }
    }

    /// A row between the ends that were told once for all of its kind; as it stands where it tells them itself.
    fn between_ends(&self, number: u32, readings: Readings) -> Readings {
        let mut told = self.ends_are.iter().rev();
        let of_it = |which: &Which| match which {
            Which::First(many) => number <= *many,
            which => applies(which, number),
        };
        let Some((_, first, last)) = told.find(|(which, ..)| of_it(which)) else { return readings };
        let ops = |(_, seq): &(f64, Seq)| match seq.first() {
            Some(Item::Work(work)) => Some(work.ops),
            _ => None,
        };
        let begins = readings.iter().any(|row| first.iter().any(|first| ops(row) == ops(first)));
        let [put, bare] = if begins { [TOLD_ENDS, 0.0] } else { [0.0, TOLD_ENDS] };
        let mut all: Vec<(f64, Seq)> =
            readings.iter().map(|(cost, seq)| (cost + bare, seq.clone())).collect();
        let lasts: Vec<(f64, Option<&Seq>)> = match last {
            Some(last) => last.iter().take(MOST_ENDS).map(|(cost, seq)| (*cost, Some(seq))).collect(),
            None => vec![(0.0, None)],
        };
        for (begun, first) in first.iter().take(MOST_ENDS) {
            for (ended, last) in &lasts {
                let rows = between(Some(first), *last, &readings);
                all.extend(rows.iter().map(|(cost, seq)| (cost + begun + ended + put, seq.clone())));
            }
        }
        all.sort_by(|one, other| one.0.total_cmp(&other.0));
        Rc::new(all)
    }

    /// "Fifth and sixth rows, the same": the fifth as the third, if the sixth as the fourth; or both as the fourth, as
    /// they are where the third is plain and the fourth is not.
    fn pair_again(&self, numbers: &[u32], content: &Content, index: usize) -> Option<Readings> {
        let ([first, _], Content::Like(None)) = (numbers, content) else { return None };
        let told = |back: u32| self.run.get(&first.checked_sub(back)?).map(|row| &row.readings);
        let (before, last) = (told(2)?, told(1)?);
        // There and back: pairs of rows begin with an odd one.
        let worked = plain_row_of(before).is_some() && plain_row_of(last).is_none();
        if index > 0 || before == last || first % 2 == 0 || worked {
            return Some(Rc::clone(last));
        }
        let both = last.iter().map(|(cost, seq)| (cost + BOTH_AS_LAST, seq.clone()));
        Some(Rc::new(before.iter().cloned().chain(both).collect()))
    }

    /// "Third row, like the second", where the second is one of those told once for all, further down.
    pub(super) fn like_a_later(&mut self, number: u32, content: &Content, side: Option<Side>, span: Span) {
        let Content::Like(Some(RowSet { which: Which::Numbers(named), .. })) = content else { return };
        if let [named] = named[..] {
            let row = self.planned(Some(number), Rc::default(), span);
            self.later.push((named, PlannedRow { side, ..row }));
        }
    }

    /// Puts rows in their places that are like one told after them.
    pub(super) fn find_later(&mut self) {
        for (named, row) in std::mem::take(&mut self.later) {
            let told = self.run.get(&named).map(|told| Rc::clone(&told.readings));
            let between = self.returns.as_ref().filter(|(which, ..)| applies(which, named));
            let readings = told.or_else(|| between.map(|(_, readings, _)| Rc::clone(readings)));
            if let (Some(number), Some(readings)) = (row.number, readings) {
                self.run.entry(number).or_insert(PlannedRow { readings, ..row });
            }
        }
    }

    /// Whether a number that is already told begins a new run. "Knit four rows. Fifth row. …": four are told there.
    pub(super) fn restarts(&self, numbers: &[u32]) -> bool {
        let begun = self.run.keys().next().copied().unwrap_or(1);
        let counted = begun > 2 && self.plan.rows.len() + 1 >= begun as usize;
        numbers.iter().any(|number| self.run.contains_key(number)) || counted && numbers.first() == Some(&1)
    }

    /// Rows told by how many they are: "knit 6 rounds", "1 row plain and 1 purl alternately for 24 rows".
    pub(super) fn counted(&mut self, count: u32, content: &Content, span: Span) {
        if let (Content::Turns(ops), true) = (content, self.run.is_empty()) {
            self.flush_loose();
            self.turns.push((self.plan.rows.len(), count as usize, ops.clone()));
        }
        // "Take the fifteen stitches from the tape and knit six rows": the first of them takes them up.
        let taken_up = usize::from(count > 1 && self.last_row().is_some_and(|row| takes_up(&row.readings)));
        for index in taken_up..count.min(ROWS_LIMIT as u32) as usize {
            if self.run.len() + self.plan.rows.len() + self.loose.len() >= ROWS_LIMIT {
                return;
            }
            let Some(readings) = self.nth_readings(content, index) else { return };
            if matches!(content, Content::Rib(_)) {
                self.rib = Some(content.clone());
            }
            if count > 1 && index == taken_up {
                self.so_many = count;
                self.counted = Some(match content {
                    Content::Work(_) | Content::Rib(_) | Content::Turns(_) => content.clone(),
                    _ => Content::Work(Rc::clone(&readings)),
                });
            }
            if self.run.is_empty() {
                self.flush_loose();
            }
            if index == taken_up {
                self.block_from = self.plan.rows.len();
            }
            for part in split_at_turns(&readings) {
                self.append(part, span, false);
            }
        }
    }

    /// A row of a name: the next one, or that of the name once more.
    fn called(&mut self, name: &Rc<str>, content: &Content, span: Span) {
        if let Some(readings) = self.readings(content) {
            self.called.insert(Rc::clone(name), Rc::clone(&readings));
            self.counted(1, &Content::Work(readings), span);
        }
    }

    /// Whether a number lies so far beyond the rows that are told that it can't be that of a row.
    fn is_far_off(&self, numbers: &[u32]) -> bool {
        const FAR: u32 = 60;
        matches!(numbers, [number] if *number > self.next_number() + FAR)
    }

    pub(super) fn next_number(&self) -> u32 {
        let last = self.run.keys().next_back().copied();
        last.or_else(|| self.plan.rows.iter().rev().find_map(|row| row.number)).unwrap_or(0) + 1
    }
}
