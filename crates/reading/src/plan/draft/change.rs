//! Rows told by how they differ from others: shaped as before, with one more between, with decreases spread over them,
//! or going on as they have begun.
//!
//! Knows the rows told so far; the single rows are made by `shaping`, `told` and `series`.

use std::rc::Rc;

use loops::Op;
use span::Span;

use super::super::resized::Shrinking;
use super::super::series::{SERIES_LIMIT, Series};
use super::super::shaping::{
    SHAPING_LIMIT, ground_of, grown_by, is_shaped, is_shaped_over_a_ground, plain_row_of, tally,
};
use super::super::told::{between_by, whole_row, works};
use super::super::turns::{ShortRows, turns_at};
use super::super::{ROWS_LIMIT, Readings};
use super::{Draft, PlannedRow};
use crate::ast::{Again, Content, Goal, Item, Onward, Seen, Seq, Shaping, SpreadTold};
use crate::chain::Needle;
use crate::rowset::{RowSet, Which};

impl Draft {
    /// "Decrease one at each end of every other row until ten remain".
    pub(super) fn shaped(&mut self, shaping: Shaping, span: Span) {
        self.flush_loose();
        self.fill_gaps();
        if shaping.place.is_none() || shaping.goes_on && self.was_shaped_by(shaping.op) {
            return self.as_shaped(shaping, span);
        }
        let told = |back: usize| self.plan.rows.iter().chain(self.run.values()).rev().nth(back).cloned();
        let before = told(0).is_some_and(|row| is_shaped(&row.readings));
        let now = self.needle().map(|needle| needle.count);
        let Some(rows) = shaping.rows(now, before) else { return };
        self.smooth |= shaping.smooth;
        for shaped in rows {
            let rows = self.plan.rows.iter().chain(self.run.values()).rev();
            let mut grounds = rows.map(|row| ground_of(&row.readings));
            let behind = grounds.next().flatten().filter(|_| self.smooth).map(Op::from_behind);
            let ground = shaping.ground.or(grounds.flatten().next()).or(behind).unwrap_or(Op::K);
            let seq = if shaped { shaping.row(ground, span) } else { None };
            let readings = seq.map_or_else(|| whole_row(ground, span), |seq| Rc::new(vec![(0.0, seq)]));
            self.append(readings, span, true);
        }
    }

    /// "7th and 8th rounds, in the same way, with one more between": the last shaped row gives the step, the rows that
    /// lie behind it come again as they are.
    pub(super) fn stepped(&mut self, numbers: &[u32], by: i32, span: Span) {
        let shaped = self.run.iter().rev().find(|(_, row)| plain_row_of(&row.readings).is_none());
        let Some((&last, model)) = shaped else { return };
        let model = Rc::clone(&model.readings);
        let Some(&first) = numbers.first().filter(|first| **first > last) else { return };
        let period = first - last;
        for number in numbers {
            let Some(after) = number.checked_sub(first) else { continue };
            let (step, behind) = (after / period + 1, after % period);
            let readings = match behind {
                0 => between_by(&model, by.saturating_mul(step as i32)),
                behind => match self.run.get(&(last + behind)) {
                    Some(row) => Rc::clone(&row.readings),
                    None => continue,
                },
            };
            if !readings.is_empty() {
                let row = self.planned(Some(*number), readings, span);
                self.tell(*number, row);
            }
        }
    }

    /// "The fifth, seventh and ninth rows in like manner": each goes on from the two before it.
    pub(super) fn in_series(&mut self, numbers: &[u32], span: Span) {
        for number in numbers {
            let told: Vec<PlannedRow> = self.run.range(..number).map(|(_, row)| row.clone()).collect();
            let Some(seq) = Series::find(&told).and_then(|series| series.nth(1)) else { return };
            let row = self.planned(Some(*number), Rc::new(vec![(0.0, seq)]), span);
            self.tell(*number, row);
        }
    }

    /// "5th to 12th rounds: purl 1, slip 1; in the following rounds purl the slipped stitches": of the rows told last,
    /// several at once, all but the first are worked by what the row before them was; false if these are none.
    pub(super) fn further_of_the_group(&mut self, content: &Content) -> bool {
        let Content::Work(readings) = content else { return false };
        let slipped = |item: &Item| matches!(item, Item::Seen(Seen::Slipped(..), _));
        let all = |(_, seq): &(f64, Seq)| matches!(&seq.items()[..], [item] if slipped(item));
        let Some(last) = self.run.values().next_back().filter(|_| readings.iter().all(all)) else {
            return false;
        };
        let group = last.span;
        let mut further = self.run.values_mut().filter(|row| row.span == group).skip(1).peekable();
        let several = further.peek().is_some();
        further.for_each(|row| row.readings = Rc::clone(readings));
        several
    }

    /// "Knit seven rounds, in the first of these knit two together after every five": rows of the last that were told by
    /// how many they are, told again one by one; false if these are none.
    pub(super) fn among_the_block(&mut self, numbers: &[u32], content: &Content) -> bool {
        let block = self.plan.rows.len() - self.block_from.min(self.plan.rows.len());
        let within = numbers.iter().all(|number| (1..=block as u32).contains(number));
        let plain = |row: &PlannedRow| row.number.is_none() && plain_row_of(&row.readings).is_some();
        let block_is_plain = self.plan.rows.iter().skip(self.block_from).any(plain);
        if self.labelled || !self.run.is_empty() || !within || !block_is_plain {
            return false;
        }
        let Some(readings) = self.readings(content) else { return false };
        let spread = readings.first().and_then(|(_, seq)| seq.spread());
        // A run of its own would begin with the first.
        if spread.is_none() && (numbers.contains(&1) || !is_shaped_over_a_ground(&readings)) {
            return false;
        }
        for number in numbers {
            let row = &mut self.plan.rows[self.block_from + *number as usize - 1];
            let Some(ground) = plain_row_of(&row.readings) else { continue };
            row.readings = match spread {
                Some((told, span)) => Rc::new(vec![(0.0, Seq::one(Item::Spread(told.on(ground), span)))]),
                None => Rc::clone(&readings),
            };
        }
        true
    }

    /// "In the second of these rounds knit together two stitches after every six": rows that are told, with increases or
    /// decreases spread over them.
    pub(super) fn spread(&mut self, rows: Option<&RowSet>, told: &[SpreadTold], span: Span) {
        self.flush_loose();
        let numbers = match rows.map(|rows| &rows.which) {
            Some(Which::Numbers(numbers)) => numbers.clone(),
            Some(Which::Last(1)) | None => Vec::new(),
            Some(Which::Next(1)) => {
                let Some(seq) = SpreadTold::row_with(told, Op::K, span) else { return };
                return self.counted(1, &Content::Work(Rc::new(vec![(0.0, seq)])), span);
            }
            Some(_) => return,
        };
        let block = self.block_from;
        let mut targets: Vec<&mut PlannedRow> = if numbers.is_empty() {
            self.last_row().into_iter().collect()
        } else if self.run.is_empty() {
            let block = self.plan.rows.iter_mut().skip(block).enumerate();
            block.filter(|(at, _)| numbers.contains(&(*at as u32 + 1))).map(|(_, row)| row).collect()
        } else {
            self.run.iter_mut().filter(|(number, _)| numbers.contains(number)).map(|(_, row)| row).collect()
        };
        if let (true, Some(rows)) = (targets.is_empty(), rows) {
            let Some(seq) = SpreadTold::row_with(told, Op::K, span) else { return };
            let content = Content::Work(Rc::new(vec![(0.0, seq)]));
            return self.rows(rows, &content, None, None, span);
        }
        for row in &mut targets {
            let Some(op) = plain_row_of(&row.readings) else { continue };
            if let Some(seq) = SpreadTold::row_with(told, op, span) {
                row.readings = Rc::new(vec![(0.0, seq)]);
            }
        }
    }

    /// "Continue in this manner until nine are left": the last two rows of like build give the step, the rows
    /// between them come again as they are.
    pub(super) fn go_on(&mut self, onward: Onward, span: Span) {
        let until = onward.until;
        // "Begin again at the first row, and continue to the length desired": the whole goes on, no series.
        if until.is_none() && self.again.iter().any(|again| again.from) {
            return;
        }
        // "Every row is the same. Continue till there are seventeen."
        if until.is_some()
            && onward.step.is_none()
            && self.again.pop_if(|again| *again == Again::default()).is_some()
        {
            let rows = Some(RowSet::named(Which::Last(1)));
            return self.again(&Again { rows, until, ..Again::default() });
        }
        self.flush_parts();
        self.flush_loose();
        self.fill_gaps();
        // "Continue thus, till thirty have been knitted. 15th row: …": there are rows up to the fourteenth.
        let end = onward.to_row.and_then(|row| row.checked_add(1)).or(self.next_told);
        let most = end.and_then(|end| end.checked_sub(self.next_number())).filter(|rows| *rows > 0);
        if let Some(shaping) = self.spaced(&onward) {
            return self.as_shaped(shaping, span);
        }
        let told = self.as_worked(self.all_told());
        let now = self.needle();
        if let Some(short) = ShortRows::find(&told, now.map(|needle| needle.count), onward.step.is_some()) {
            let more = short.until(most.map(Goal::Rows).or(until).unwrap_or(Goal::All));
            return more.into_iter().for_each(|seq| self.append(Rc::new(vec![(0.0, seq)]), span, true));
        }
        // "Rib in this way for 12 rows": those told are among so many.
        if let (Some(Goal::Rows(rows)), None) = (until, onward.step)
            && (ends_in_a_rib(&told) || !told.iter().any(|row| is_shaped(&row.readings)))
        {
            return self.go_on_by_turns(&told, rows.saturating_sub(by_turns(&told)), span);
        }
        let alike = until.filter(|_| onward.step.is_none() || onward.at_sides);
        if let Some(rows) = alike.and_then(|until| self.as_told_until(&told, until, onward.ends_plain)) {
            return rows.into_iter().for_each(|row| self.append(row.readings, span, true));
        }
        let by_words = || Series::by(&told, onward.step?);
        let by_count = || Series::fitting(&told, now?.count);
        let by_growth = || Series::growing(&told).filter(|_| matches!(until, Some(Goal::Told(_))));
        let series = Series::find(&told).or_else(by_words).or_else(by_growth).or_else(by_count);
        let Some(series) = series else {
            return self.go_on_alike(&told, &onward, most, span);
        };
        let Some(mut needle) = now.or_else(|| series.last_needle()) else { return };
        let until = until.map(|until| series.goal_of(self.on_all_needles(until), needle.count));
        self.endless_from = (until.is_none() && most.is_none()).then_some(told.len());
        let between: Vec<Readings> = match onward.rests {
            Some(rests) if rests as usize != series.between.len() => {
                let ground = series.between.first().and_then(|row| ground_of(&row.readings)).unwrap_or(Op::K);
                vec![whole_row(ground, Span::DETACHED); rests as usize]
            }
            _ => series.between.iter().map(|row| open_if_plain(&row.readings)).collect(),
        };
        let mut left = most.map_or(usize::MAX, |rows| rows as usize);
        for step in 1..=SERIES_LIMIT {
            let Some(seq) = series.nth(step) else { return };
            let grown: Readings = Rc::new(vec![(0.0, seq)]);
            let row = self.planned(None, Rc::clone(&grown), span);
            let Some(after) = tally(needle, [&row]) else { return };
            let (count, makes) = (needle.count, after.count);
            let falls = makes < count;
            let beyond = |goal| match goal {
                Goal::InAll(_) if makes == count => false,
                Goal::InAll(until) if falls => makes < until,
                Goal::InAll(until) => makes > until,
                Goal::Rows(rows) => step > rows,
                Goal::Told(number) => series.passes(step, number),
                Goal::OnNeedle(_) | Goal::AsCastOn | Goal::All => false,
            };
            let endless = until.is_none() && most.is_none() && !falls;
            if until.is_some_and(beyond) || makes == count && most.is_none() || endless {
                return;
            }
            needle = after;
            let fewer = onward.rests_fewer.unwrap_or(0).saturating_mul(step - 1) as usize;
            let none = onward.every_row || series.told_after && step == 1;
            let before = if none { &[][..] } else { &between[fewer.min(between.len())..] };
            let group = std::iter::repeat_n(grown, series.alike);
            for readings in before.iter().cloned().chain(group).take(left) {
                self.append(readings, span, true);
            }
            left = left.saturating_sub(before.len() + series.alike);
            if left == 0 {
                return;
            }
            let told_enough = |goal| matches!(goal, Goal::Told(number) if series.reaches(step, number));
            if until.is_some_and(|until| until.is_met(needle) || told_enough(until)) {
                let after = between.iter().filter(|_| onward.ends_plain);
                return after.for_each(|readings| self.append(Rc::clone(readings), span, true));
            }
        }
    }

    /// All rows told so far, in their order.
    pub(super) fn all_told(&self) -> Vec<PlannedRow> {
        self.plan.rows.iter().chain(self.run.values()).cloned().collect()
    }

    /// "Knit sixteen, turn and knit back; then twelve, then eight."
    pub(super) fn turns_at(&mut self, numbers: &[u32], span: Span) {
        self.flush_loose();
        let told = self.all_told();
        let Some(at) = told.iter().rposition(|row| turns_at(&row.readings, 0).is_some()) else { return };
        if told.len() - at > 2 {
            return;
        }
        for number in numbers {
            for row in &told[at..] {
                let readings = turns_at(&row.readings, *number).unwrap_or_else(|| Rc::clone(&row.readings));
                self.append(readings, span, row.goes_on);
            }
        }
    }

    /// "Repeat this decrease in every fourth row until …": the last shaping with so many plain rows between, where no
    /// series of rows goes on.
    fn spaced(&self, onward: &Onward) -> Option<Shaping> {
        let (rests, until) = (onward.rests?, onward.until?);
        let told = self.all_told();
        let at = told.iter().rposition(|row| is_shaped(&row.readings))?;
        // With as many plain ones behind it the row is told to come again as it is.
        if told.len() - at - 1 == rests as usize {
            return None;
        }
        let shaped = &told[at];
        let op = if grown_by(&shaped.readings)? { Op::M1 } else { Op::K2tog };
        let between = onward.step.is_some() || matches!(until, Goal::Told(_));
        let free = !between && Series::find(&told).is_none();
        free.then(|| Shaping { every: Some(rests + 1), until: Some(until), ..Shaping::of(op, 1) })
    }

    /// "In the first row knit eight, two together, and so to the end. In the third, knit seven, two together": rows with the
    /// reading first that can be worked on what the rows before them leave.
    pub(super) fn as_worked(&self, mut told: Vec<PlannedRow>) -> Vec<PlannedRow> {
        let Some(start) = self.cast_on_count() else { return told };
        let mut needle = Needle::cast_on(start);
        for row in &mut told {
            let alone = |reading: &(f64, Seq)| PlannedRow {
                readings: Rc::new(vec![reading.clone()]),
                stated: None,
                ..row.clone()
            };
            let worked = row.readings.iter().enumerate().find_map(|(at, reading)| {
                let alone = alone(reading);
                Some((at, tally(needle, [&alone])?, alone.readings))
            });
            let Some((at, after, readings)) = worked else { break };
            if at > 0 {
                row.readings = readings;
            }
            needle = after;
        }
        told
    }

    /// "Until eight are left on each needle", where all of them hold as many.
    fn on_all_needles(&self, goal: Goal) -> Goal {
        let cast_on = &self.plan.cast_on;
        let even = cast_on.needles.windows(2).all(|pair| pair[0] == pair[1]);
        let told = u32::try_from(cast_on.needles.len()).ok().filter(|many| *many > 0 && even);
        match (goal, cast_on.per_needle.or(told)) {
            (Goal::OnNeedle(count), Some(needles)) => Goal::InAll(count.saturating_mul(needles)),
            _ => goal,
        }
    }

    /// Where only one row is shaped that is told stitch by stitch: it and the rows after it again up to the one that leaves
    /// so many, or on to the rows after that.
    fn as_told_until(&self, told: &[PlannedRow], until: Goal, ends_plain: bool) -> Option<Vec<PlannedRow>> {
        let shaped = told.iter().rposition(|row| is_shaped(&row.readings))?;
        let block = &told[shaped..];
        let shrinking = Shrinking::find(block).filter(|_| Series::find(told).is_none())?;
        let mut needle = self.needle()?;
        let mut rows = Vec::new();
        while rows.len() < SHAPING_LIMIT as usize {
            let row = shrinking.row_on(&block[rows.len() % block.len()], needle.count);
            needle = tally(needle, [&row])?;
            rows.push(row);
            if until.is_met(needle) {
                let plain = if ends_plain { &block[1..] } else { &[] };
                rows.extend(plain.iter().map(|row| shrinking.row_on(row, needle.count)));
                return Some(rows);
            }
        }
        None
    }

    /// "Knit two together, knit the rest; plain. Continue thus till three are left": the last row that is shaped, told so that
    /// it fits any number, over and over with the rows after it.
    fn go_on_alike(&mut self, told: &[PlannedRow], onward: &Onward, most: Option<u32>, span: Span) {
        let fits_any = |row: &PlannedRow| {
            row.readings.iter().any(|(_, seq)| !seq.shape().open.is_empty() || seq.by_needle().is_some())
        };
        let shaped = told.iter().rposition(|row| is_shaped(&row.readings));
        if let (None, None, None, Some(most)) = (shaped, onward.until, onward.step, most) {
            return self.go_on_by_turns(told, most, span);
        }
        let Some(shaped) = shaped.filter(|at| onward.until.is_some() && fits_any(&told[*at])) else { return };
        // "This is done every other round": rows between that are not told yet are plain.
        let between = u32::try_from(told.len() - shaped - 1).unwrap_or(u32::MAX);
        for _ in between..onward.rests.unwrap_or(0) {
            let ground = ground_of(&told[shaped].readings).unwrap_or(Op::K);
            self.append(whole_row(ground, Span::DETACHED), span, true);
        }
        let rows = Some(RowSet::named(Which::Last(between.max(onward.rests.unwrap_or(0)).saturating_add(1))));
        let again = Again { rows, until: onward.until, ..Again::default() };
        let block = self.block(&again);
        self.work_block_again(&again, &block);
    }

    /// "9th row, knit; 10th, purl. Go on so to the 18th": the last two rows by turns, or the last one.
    fn go_on_by_turns(&mut self, told: &[PlannedRow], most: u32, span: Span) {
        let turns = &told[told.len().saturating_sub(by_turns(told) as usize)..];
        for row in turns.iter().cycle().take((most as usize).min(ROWS_LIMIT)) {
            self.append(Rc::clone(&row.readings), span, true);
        }
    }

    /// Whether the rows told last are the first of a series, or the last of them but one can begin one.
    pub(super) fn in_a_series(&self) -> bool {
        let told: Vec<PlannedRow> =
            self.plan.rows.iter().chain(self.run.values()).chain(&self.loose).cloned().collect();
        let last = &told[told.len().saturating_sub(2)..];
        let begins = self.needle().and_then(|needle| Series::fitting(last, needle.count));
        Series::find(&told).is_some() || begins.is_some()
    }

    /// "And so on. When 16 stitches are left, …": a series told without an end has it there.
    pub(super) fn ends_series(&mut self, count: u32) {
        let Some(from) = self.endless_from.take() else { return };
        let many = |draft: &Self| draft.plan.rows.len() + draft.run.len();
        let below = |draft: &Self| draft.needle().is_some_and(|needle| needle.count < count);
        let goes_past = below(self);
        while many(self) > from && below(self) {
            self.pop_row();
        }
        while goes_past && many(self) > from && self.last_row().is_some_and(|row| !is_shaped(&row.readings)) {
            self.pop_row();
        }
    }

    fn pop_row(&mut self) {
        if self.run.pop_last().is_none() {
            self.plan.rows.pop();
        }
    }

    /// Whether the last row that was shaped is told stitch by stitch, and goes on from one before it.
    fn is_in_steps(&self) -> bool {
        let told = self.all_told();
        let shaped = told.iter().rev().find(|row| is_shaped(&row.readings));
        let fixed =
            shaped.and_then(|row| row.readings.first()).is_some_and(|(_, seq)| seq.shape().open.is_empty());
        fixed && Series::find(&told).is_some()
    }

    /// Whether the last row that was shaped works this, and fits any number of stitches.
    fn was_shaped_by(&self, op: Op) -> bool {
        let mut told = self.plan.rows.iter().chain(self.run.values()).rev();
        let shaped = told.find(|row| is_shaped(&row.readings)).and_then(|row| row.readings.first());
        shaped.is_some_and(|(_, seq)| !seq.shape().open.is_empty() && works(seq, op))
    }

    /// "Decrease with one row plain between three times": the last row that was shaped, so often, plain rows after
    /// each; where they end at a number of stitches the last has none after it.
    fn as_shaped(&mut self, shaping: Shaping, span: Span) {
        if shaping.times.is_none() && shaping.until.is_some() && self.is_in_steps() {
            return self.go_on(Onward { until: shaping.until, ..Onward::default() }, span);
        }
        let told: Vec<&PlannedRow> = self.plan.rows.iter().chain(self.run.values()).collect();
        // "Increase in the next two rows, as was done at the toe."
        let grows = shaping.op.makes() > shaping.op.takes();
        let as_this = |row: &&PlannedRow| is_shaped(&row.readings) && grown_by(&row.readings) == Some(grows);
        let last = || told.iter().rposition(|row| is_shaped(&row.readings));
        let Some(at) = told.iter().rposition(as_this).or_else(last) else { return };
        let (model, since) = (Rc::clone(&told[at].readings), told.len() - 1 - at);
        let between = shaping.every.unwrap_or(1).saturating_sub(1).min(SHAPING_LIMIT) as usize;
        let ground = told.get(at + 1).and_then(|row| ground_of(&row.readings)).unwrap_or(Op::K);
        let plain = whole_row(ground, Span::DETACHED);
        (since..between).for_each(|_| self.append(Rc::clone(&plain), span, true));
        let row = self.planned(None, Rc::clone(&model), span);
        let rest = self.planned(None, Rc::clone(&plain), span);
        let block: Vec<PlannedRow> = std::iter::once(row).chain(vec![rest; between]).collect();
        let times = match (shaping.times, shaping.until) {
            (Some(times), _) => times.min(SHAPING_LIMIT),
            (None, Some(until)) => self.times_until(&block, until).unwrap_or(0),
            (None, None) => 0,
        };
        for time in 1..=times {
            let last = time == times && shaping.until.is_some();
            let after = if last { 0 } else { between };
            self.append(Rc::clone(&model), span, true);
            (0..after).for_each(|_| self.append(Rc::clone(&plain), span, true));
        }
    }
}

/// "Knit nineteen" as a whole row, where it is told as that.
fn open_if_plain(readings: &Readings) -> Readings {
    match readings.first().map(|(_, seq)| seq.items()).as_deref() {
        Some([Item::Work(work)]) if matches!(*work.ops, [Op::K] | [Op::P]) => {
            whole_row(work.ops[0], work.span)
        }
        _ => Rc::clone(readings),
    }
}

/// How many of the last rows come by turns: two that differ, both plain or both ribbed, or else one.
fn by_turns(told: &[PlannedRow]) -> u32 {
    let [.., before, last] = told else { return 1 };
    let kind = |row: &PlannedRow| (is_shaped(&row.readings), plain_row_of(&row.readings).is_some());
    let work = |row: &PlannedRow| row.readings.first().map(|(_, seq)| seq.items());
    let alike = work(before) == work(last);
    if !alike && kind(before) == kind(last) && !is_shaped(&last.readings) { 2 } else { 1 }
}

/// Whether the last row is neither shaped nor plain.
fn ends_in_a_rib(told: &[PlannedRow]) -> bool {
    told.last().is_some_and(|row| !is_shaped(&row.readings) && plain_row_of(&row.readings).is_none())
}
