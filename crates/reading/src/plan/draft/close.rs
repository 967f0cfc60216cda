//! The end of a run of numbers, and of a piece.
//!
//! Rows that the numbers leave room for are filled: those told once for many, or plain ones where nothing is told. Knows
//! no words.

use std::collections::BTreeMap;
use std::rc::Rc;

use loops::Op;
use span::Span;

use super::super::told::whole_row;
use super::super::{Plan, PlannedRow};
use super::Draft;
use super::needles::is_told_by_needle;
use crate::ast::Item;
use crate::rowset::Which;

impl Draft {
    pub(super) fn flush_loose(&mut self) {
        let loose = std::mem::take(&mut self.loose);
        // Where numbers follow on rows told in prose, those sentences tell rows as well.
        let prose = self.run.is_empty() && self.plan.rows.iter().all(|row| row.number.is_none());
        if !self.labelled || prose && !self.plan.rows.is_empty() {
            self.plan.rows.extend(loose);
        }
    }

    pub(super) fn close_run(&mut self) {
        let full = leaves_no_room(&self.run);
        self.fill_gaps();
        let run = std::mem::take(&mut self.run);
        // Where the numbers leave no room for the rows between, those have none.
        let between = self.returns.clone().filter(|_| self.follows && full);
        for row in run.into_values() {
            let label = format!("{} back", row.label);
            self.plan.rows.push(row);
            if let Some((_, readings, span)) = &between {
                let back = self.planned(None, Rc::clone(readings), *span);
                self.plan.rows.push(PlannedRow { label, ..back });
            }
        }
    }

    /// Fills rows that the numbers leave room for: told once, or not at all.
    pub(super) fn fill_gaps(&mut self) {
        self.find_later();
        let (Some(first), Some(last)) =
            (self.run.keys().next().copied(), self.run.keys().next_back().copied())
        else {
            return;
        };
        let missing: Vec<u32> = (first..=last).filter(|number| !self.run.contains_key(number)).collect();
        let told = self.run.len();
        if self.follows && leaves_no_room(&self.run) {
            return;
        }
        if let Some((which, readings, span)) = self.returns.clone() {
            // Nothing comes back after a row that leaves one stitch or none.
            let ended = self.run[&last]
                .readings
                .first()
                .is_some_and(|(_, seq)| seq.shape().open.is_empty() && seq.shape().fixed.makes <= 1);
            // Where the row before the last is told as well, the last is none that a row comes back after.
            let pairs = last > first && self.run.contains_key(&(last - 1)) && self.run.len() > 2;
            let closes = !ended && !pairs && !self.finished && closes_with_return(&which, last, first);
            let until = last + u32::from(closes);
            // "Knit all odd rounds plain", where the first that is told is the second.
            let from = if which == Which::Odd && first == 2 { 1 } else { first };
            for number in (from..=until).filter(|number| applies(&which, *number)) {
                if !self.run.contains_key(&number) {
                    let row = self.planned(Some(number), Rc::clone(&readings), span);
                    self.run.insert(number, row);
                }
            }
        } else if missing.len() * 2 >= told && missing.len() <= told + 1 {
            let op = if self.rounds > self.said_rows || self.plan.round { Op::K } else { Op::P };
            for number in missing {
                let mut row = self.planned(Some(number), whole_row(op, Span::DETACHED), Span::DETACHED);
                row.filled = true;
                self.run.insert(number, row);
                self.plan.filled = Some(op);
            }
        }
    }

    pub fn finish(mut self) -> Plan {
        self.flush_parts();
        self.flush_loose();
        self.close_run();
        if !self.labelled && self.plan.rows.is_empty() {
            self.plan.rows = std::mem::take(&mut self.loose);
        }
        // What is repeated in height is told to the end of one repeat.
        let ends = self.again.is_empty() && !self.plan.rows.is_empty();
        if let Some((readings, span)) = self.bound_off.take().filter(|_| ends) {
            let row = self.planned(None, readings, span);
            self.plan.rows.push(row);
        }
        self.set_turns();
        if let Some(edges) = self.plan.told_edges.filter(|edges| edges.besides) {
            let (both, cast_on) = (2 * edges.stitches, &mut self.plan.cast_on);
            match cast_on.of {
                Some(_) => cast_on.plus = cast_on.plus.saturating_add(both),
                None => cast_on.count = cast_on.count.map(|count| count.saturating_add(both)),
            }
        }
        self.plan.round |= self.rounds > self.said_rows || self.plan.rows.iter().any(is_told_by_needle);
        name_rows(&mut self.plan.rows);
        self.plan.back_to = self.back_to();
        self.plan
    }

    /// "One row plain and one purl alternately for 25 rows": where the row that follows is like the last of them,
    /// the other of the two comes first.
    pub(super) fn set_turns(&mut self) {
        let worked = |row: &PlannedRow| {
            let items = row.readings.first().map(|(_, seq)| seq.items()).unwrap_or_default();
            items.iter().find_map(|item| match item {
                Item::Work(work) if matches!(*work.ops, [Op::K] | [Op::P]) => Some(work.ops[0]),
                Item::Rest { op, .. } => Some(*op),
                _ => None,
            })
        };
        for (start, count, ops) in std::mem::take(&mut self.turns) {
            let next = self.plan.rows.get(start + count).and_then(worked);
            let last = self.plan.rows.get((start + count).saturating_sub(1)).and_then(worked);
            if ops.len() != 2 || next.is_none() || next != last {
                continue;
            }
            for (index, row) in self.plan.rows[start..start + count].iter_mut().enumerate() {
                row.readings = whole_row(ops[(index + 1) % 2], row.span);
            }
        }
    }
}

/// Names the rows that have no number: by their place, or by the number before them where others have one, so that no two
/// rows are called alike.
pub(super) fn name_rows(rows: &mut [PlannedRow]) {
    let numbered = rows.iter().any(|row| row.number.is_some());
    let (mut last, mut since) = (String::new(), 0);
    for (index, row) in rows.iter_mut().enumerate() {
        if !row.label.is_empty() {
            (last, since) = (row.label.clone(), 0);
            continue;
        }
        since += 1;
        row.label = match (numbered, last.as_str()) {
            (true, "") => format!("set-up {since}"),
            (true, last) => format!("{last} + {since}"),
            (false, _) => (index + 1).to_string(),
        };
    }
}

/// Whether every number of a run has a row that is told, so that none is left for rows between.
pub(super) fn leaves_no_room(run: &BTreeMap<u32, PlannedRow>) -> bool {
    run.len() > 1 && run.keys().zip(run.keys().skip(1)).all(|(one, next)| one + 1 == *next)
}

/// Whether rows told once stand at this number.
pub(super) fn applies(which: &Which, number: u32) -> bool {
    match which {
        Which::Odd => number % 2 == 1,
        Which::Even => number.is_multiple_of(2),
        Which::EveryNth(nth) => number.is_multiple_of(*nth),
        Which::Numbers(numbers) => numbers.contains(&number),
        _ => true,
    }
}

/// Whether the row after the last one told is one of those told once.
pub(super) fn closes_with_return(which: &Which, last: u32, first: u32) -> bool {
    match which {
        Which::Numbers(_) | Which::Odd | Which::EveryNth(_) => false,
        Which::Even => last % 2 == 1,
        _ => (last - first).is_multiple_of(2),
    }
}
