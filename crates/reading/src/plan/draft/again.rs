//! Rows that are worked again: how often, and where a repeat in height begins.
//!
//! Knows the rows told so far, and how many stitches they leave where that can be told.

use std::rc::Rc;

use span::Span;

use super::super::resized::Shrinking;
use super::super::shaping::{SHAPING_LIMIT, plain_row_of, tally};
use super::super::told::moved_half;
use super::super::turns::is_short_row;
use super::{Draft, PlannedRow, ROWS_LIMIT};
use crate::ast::{Again, Goal, Onward};
use crate::chain::Needle;
use crate::rowset::Which;

impl Draft {
    pub(super) fn again(&mut self, again: &Again) {
        if again.shifted {
            return self.again_between(again);
        }
        if again.times.is_none() && again.until.is_none() && again.till.is_none() {
            self.again.push(again.clone());
            return;
        }
        // "The last four rounds form the pattern. Do them three times more."
        let named = |told: &mut Again| told.rows.is_some() && !told.from && !told.endless;
        let of = if again.rows.is_none() && !again.deed { self.again.pop_if(named) } else { None };
        let again = &Again { rows: again.rows.clone().or(of.and_then(|of| of.rows)), ..again.clone() };
        self.flush_loose();
        self.fill_gaps();
        let block = self.block(again);
        // Short rows again until a number is left go on over the stitches that wait.
        let several = block.len() > 1 || again.until == Some(Goal::All);
        if again.until.is_some()
            && several
            && !block.is_empty()
            && block.iter().all(|row| is_short_row(&row.readings))
        {
            let span = block.last().map_or(Span::DETACHED, |row| row.span);
            return self.go_on(Onward { until: again.until, ..Onward::default() }, span);
        }
        self.work_block_again(again, &block);
    }

    /// The block once more, or as often as is told, as it stands.
    pub(super) fn work_block_again(&mut self, again: &Again, block: &[PlannedRow]) {
        self.worked_again = self.told_so_far();
        self.work_again(again, block);
        self.worked_again = self.told_so_far();
    }

    fn work_again(&mut self, again: &Again, block: &[PlannedRow]) {
        if let Some(till) = again.till {
            let more = self.more_rows(till as usize, block.len());
            for row in block.iter().cycle().take(if block.is_empty() { 0 } else { more }) {
                self.append(Rc::clone(&row.readings), row.span, row.goes_on);
            }
            return;
        }
        let rows = match (again.times, again.until) {
            (Some(times), _) => (times.printed as usize).saturating_mul(block.len()),
            (None, Some(until)) => {
                self.rows_in_all(block, until).or_else(|| self.rows_until(block, until)).unwrap_or(0)
            }
            (None, None) => 0,
        };
        let shrinking = Shrinking::find(block);
        let mut needle = self.needle();
        for row in block.iter().cycle().take(rows.min(ROWS_LIMIT)) {
            let row = needle.map_or_else(|| row.clone(), |needle| on_needle(shrinking.as_ref(), row, needle));
            needle = needle.and_then(|needle| tally(needle, [&row]));
            self.append(row.readings, row.span, row.goes_on);
        }
    }

    /// "These two rows are repeated until there are twenty in all": of rows that neither grow nor shrink the rows are counted.
    fn rows_in_all(&self, block: &[PlannedRow], until: Goal) -> Option<usize> {
        let Goal::InAll(rows) = until else { return None };
        let needle = self.needle()?;
        let steady = !block.is_empty() && tally(needle, block)?.count == needle.count;
        steady.then(|| self.more_rows(rows as usize, block.len()))
    }

    /// How many rows more there are to so many: the rows told already count where all of them are worked again. Where that
    /// comes out in no whole blocks, and all rows of the run do, they count: "until nine rows are done"; as they do where
    /// the row after so many is told next.
    fn more_rows(&self, till: usize, block: usize) -> usize {
        let of = |told: usize| till.saturating_sub(told).min(ROWS_LIMIT);
        let whole = |rows: usize| block > 0 && rows.is_multiple_of(block);
        let (run, all) = (of(self.run.len()), of(self.told_so_far()));
        if self.next_told.is_some_and(|next| next as usize == till + 1) && whole(all) {
            all
        } else if !whole(of(block)) && whole(run) {
            run
        } else {
            of(block)
        }
    }

    /// Rows again, with their figures between those of the first time; then all of them from the first.
    fn again_between(&mut self, again: &Again) {
        self.flush_loose();
        self.fill_gaps();
        for row in self.block(again) {
            self.append(moved_half(&row.readings), row.span, row.goes_on);
        }
        self.again.push(Again { from: true, ..Again::default() });
    }

    /// How many of some rows over and over lead to so many stitches: whole blocks if they do, else up to the row that
    /// does, as where a heel is turned until the side stitches are used up.
    fn rows_until(&self, block: &[PlannedRow], until: Goal) -> Option<usize> {
        if let Some(times) = self.times_until(block, until) {
            return Some((times as usize).saturating_mul(block.len()));
        }
        let shrinking = Shrinking::find(block);
        let mut needle = self.needle()?;
        let mut before = needle;
        for (worked, row) in block.iter().cycle().take(SHAPING_LIMIT as usize).enumerate() {
            if until.is_met(needle) {
                return Some(worked);
            }
            if worked > 0 && worked.is_multiple_of(block.len()) {
                if !until.is_nearer(before, needle) {
                    return None;
                }
                before = needle;
            }
            needle = tally(needle, [&on_needle(shrinking.as_ref(), row, needle)])?;
        }
        None
    }

    /// "Repeat these two rows. You have twelve stitches": rows are repeated as often as leads to the count that is said
    /// next, where they lead to it.
    pub(super) fn repeated_to(&mut self, count: u32) {
        let Some(again) = self.again.pop_if(|again| again.rows.is_some() && !again.from) else { return };
        let (until, block) = (Goal::InAll(count), self.block(&again));
        match self.times_until(&block, until).filter(|times| *times > 0) {
            Some(_) => self.again(&Again { until: Some(until), ..again }),
            None => self.again.push(again),
        }
    }

    /// Rows again, from the last to the first.
    pub(super) fn reversed(&mut self, again: &Again) {
        self.flush_loose();
        self.fill_gaps();
        for row in self.block(again).into_iter().rev() {
            self.append(Rc::clone(&row.readings), row.span, row.goes_on);
        }
    }

    /// The rows that are named to be worked again.
    pub(super) fn block(&self, again: &Again) -> Vec<PlannedRow> {
        let all = self.all_told();
        match again.rows.as_ref().map(|rows| &rows.which) {
            Some(Which::Numbers(numbers)) if again.from => {
                let first = numbers.first().copied();
                all.iter().skip_while(|row| row.number != first).cloned().collect()
            }
            Some(Which::Numbers(numbers)) => all
                .iter()
                .filter(|row| row.number.is_some_and(|number| numbers.contains(&number)))
                .cloned()
                .collect(),
            Some(Which::Last(n)) => all.get(all.len().saturating_sub(*n as usize)..).unwrap_or(&[]).to_vec(),
            Some(Which::First(n)) => all.get(..all.len().min(*n as usize)).unwrap_or(&[]).to_vec(),
            // "Repeat the same, until there are seven rows": those of the numbers that run.
            None if again.till.is_some() && !self.run.is_empty() => self.run.values().cloned().collect(),
            // "Repeat twice": the rows since others were worked again.
            None if again.times.is_some() => {
                let since = all.get(self.worked_again..).unwrap_or(&[]);
                let shaped = |row: &PlannedRow| plain_row_of(&row.readings).is_none();
                let from = since.iter().rposition(shaped).filter(|_| again.deed).unwrap_or(0);
                since[from..].to_vec()
            }
            _ => all,
        }
    }

    /// How often some rows are repeated until so many stitches are left.
    pub(super) fn times_until(&self, block: &[PlannedRow], until: Goal) -> Option<u32> {
        let shrinking = Shrinking::find(block);
        let mut needle = self.needle()?;
        let mut times = 0;
        while !until.is_met(needle) && times < SHAPING_LIMIT {
            let before = needle;
            for row in block {
                needle = tally(needle, [&on_needle(shrinking.as_ref(), row, needle)])?;
            }
            if !until.is_nearer(before, needle) {
                return None;
            }
            times += 1;
        }
        until.is_met(needle).then_some(times)
    }

    /// What is on the needles after the rows told so far, where it can be told.
    pub(super) fn needle(&self) -> Option<Needle> {
        let start = self.cast_on_count()?;
        tally(Needle::cast_on(start), self.plan.rows.iter().chain(self.run.values()).chain(&self.loose))
    }

    /// The stitches that the work begins with.
    pub(super) fn cast_on_count(&self) -> Option<u32> {
        let cast_on = &self.plan.cast_on;
        let needles: u32 = cast_on.needles.iter().sum();
        let each = cast_on.per_needle.unwrap_or(1);
        let told = cast_on.count.map(|count| count.saturating_mul(each));
        self.given.or(told).or((needles > 0).then_some(needles))
    }

    /// "Until there are as many as were cast on": how many that is.
    pub(super) fn counted_out(&self, goal: Goal) -> Goal {
        match goal {
            Goal::AsCastOn => self.cast_on_count().map_or(goal, Goal::InAll),
            other => other,
        }
    }

    pub(super) fn back_to(&self) -> Option<usize> {
        let again = self.again.last()?;
        match again.rows.as_ref().map(|rows| &rows.which) {
            Some(Which::Numbers(numbers)) => {
                let first = numbers.first()?;
                self.plan.rows.iter().position(|row| row.number == Some(*first)).or(Some(0))
            }
            Some(Which::Last(n)) if !again.from => self.plan.rows.len().checked_sub(*n as usize),
            _ => Some(0),
        }
    }
}

/// One of the rows that are worked again, as it is on what is on the needles then.
fn on_needle(shrinking: Option<&Shrinking>, row: &PlannedRow, needle: Needle) -> PlannedRow {
    shrinking.map_or_else(|| row.clone(), |rows| rows.row_on(row, needle.count))
}
