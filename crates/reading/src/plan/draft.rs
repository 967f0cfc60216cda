//! Rows gathered statement by statement, before they stand in their order.
//!
//! A run of numbers is kept apart until it is closed, so that rows told later find their places in it.

mod again;
mod change;
mod part;
mod section;

use std::collections::BTreeMap;
use std::rc::Rc;

use loops::{Op, Side};
use span::Span;

use super::shaping::{ground_of, plain_row_of};
use super::told::{
    as_it_shows, binds_all_off, but_for, by_needle, crossed, fills_a_row, narrows_all, sharing, so_often,
    split_at_turns, swapped, whole_row, with_plain, works, works_inside,
};
use super::{Plan, PlannedRow, ROWS_LIMIT, Readings};
use crate::ast::{
    Again, AgainTimes, CastOn, Content, Deed, Item, Rule, Seen, Seq, Statement, StatementKind, Sum,
};
use crate::needles::{MOST, Shares};
use crate::rowset::{RowSet, Which};

/// Rows of one run of numbers.
#[derive(Default)]
pub struct Draft {
    pub plan: Plan,
    /// Where the last rows begin that were told by how many they are.
    block_from: usize,
    /// What those are.
    counted: Option<Content>,
    /// How many they are.
    so_many: u32,
    /// The number cast on, where it is given from outside the text.
    given: Option<u32>,
    /// Numbered rows of the current run, not yet in the plan.
    run: BTreeMap<u32, PlannedRow>,
    /// What is told once for many rows.
    returns: Option<(Which, Readings, Span)>,
    /// Whether those are said to come after each row that is told.
    follows: bool,
    /// The last rows of which only the colour was told.
    recoloured: Vec<u32>,
    rounds: u32,
    said_rows: u32,
    labelled: bool,
    /// Whether the text says that the ground is stocking stitch.
    smooth: bool,
    again: Vec<Again>,
    /// How many rows there were when some were last worked again.
    worked_again: usize,
    loose: Vec<PlannedRow>,
    /// Rows that are said to be like one that is told later, with the number of that one.
    later: Vec<(u32, PlannedRow)>,
    /// How many rows there were when a series began to which no end is told.
    endless_from: Option<usize>,
    /// Parts of a round, told needle by needle.
    parts: Vec<(Readings, Span)>,
    /// Parts of the work that are told one after the other.
    sections: Vec<section::Section>,
    /// Stitches that were worked by themselves, where those were the last rows told.
    part: Option<part::Part>,
    /// Whether the last row was told in a sentence without a name.
    in_prose: bool,
    /// Whether the wool was broken off after the last thing told.
    finished: bool,
    /// Binding off all stitches, where that was the last thing told.
    bound_off: Option<(Readings, Span)>,
    /// Where rows stand that are told by turns: the first, how many, and the operations.
    turns: Vec<(usize, usize, Vec<Op>)>,
}

impl Draft {
    /// An empty one under rules that hold for every piece.
    pub fn under(rules: &[Rule], given: Option<u32>) -> Draft {
        let mut draft = Draft { given, ..Draft::default() };
        rules.iter().for_each(|rule| draft.take(&rule.statement()));
        draft.said_rows = 0;
        draft
    }

    pub fn is_bare(&self) -> bool {
        self.plan.rows.is_empty() && self.run.is_empty() && self.loose.is_empty()
    }

    /// Whether nothing was cast on and no row has a number.
    pub fn is_talk(&self) -> bool {
        !self.labelled && !self.plan.cast_on.says_how_many()
    }

    pub fn take(&mut self, statement: &Statement) {
        let tells_rows = matches!(
            statement.kind,
            StatementKind::Rows { .. } | StatementKind::Line(..) | StatementKind::Loose(_)
        );
        let binds_off = match &statement.kind {
            StatementKind::Loose(Content::Work(readings))
            | StatementKind::Line(Content::Work(readings), _) => binds_all_off(readings),
            _ => false,
        };
        if binds_off && self.binds_part_off(statement.span) {
            return;
        }
        let tells_rows = tells_rows && !binds_off;
        self.part.take_if(|_| tells_rows);
        self.in_prose &= !matches!(statement.kind, StatementKind::Rows { .. });
        self.bound_off.take_if(|_| tells_rows);
        self.finished &= !tells_rows;
        let part = matches!(&statement.kind, StatementKind::Rows { rows, .. } if rows.needle);
        if tells_rows && !part {
            self.flush_parts();
        }
        if tells_rows
            && let Some(once) =
                self.again.pop_if(|again| again.rows.is_some() && !again.from && !again.endless)
        {
            let times = Some(AgainTimes { printed: 1, more: true });
            self.again(&Again { times, ..once });
        }
        // Rows told after a repeat in height close the piece.
        let numbered = matches!(&statement.kind, StatementKind::Rows { rows, .. } if matches!(rows.which, Which::Numbers(_)));
        if tells_rows && !numbered {
            self.again.pop_if(|again| again.from || again.endless);
        }
        match &statement.kind {
            StatementKind::CastOn(cast_on) => self.cast_on(cast_on, statement.span),
            StatementKind::Rows { rows, content, .. } if self.needle_part(rows, content, statement.span) => {}
            StatementKind::Rows { rows, content, side, count } => {
                self.rows(rows, content, *side, *count, statement.span);
            }
            StatementKind::Loose(Content::Work(readings)) if binds_all_off(readings) => {
                self.bound_off = Some((Rc::clone(readings), statement.span));
            }
            StatementKind::Loose(Content::Work(readings)) => {
                let parts = split_at_turns(readings);
                // Short rows told in a sentence are rows wherever they stand.
                let mut told = parts.iter().flat_map(|part| part.iter());
                let surely = parts.len() > 1
                    || told.any(|(_, seq)| {
                        seq.turns() || works(seq, Op::Pu) || works(seq, Op::Hold) || narrows_all(seq)
                    });
                let surely = surely || self.closes_the_work(readings);
                self.in_prose = surely;
                if surely && (self.labelled || !self.plan.rows.is_empty()) {
                    parts.into_iter().for_each(|part| self.append(part, statement.span, false));
                } else {
                    let rows = parts.into_iter().map(|part| self.planned(None, part, statement.span));
                    let rows: Vec<PlannedRow> = rows.collect();
                    self.loose.extend(rows);
                }
            }
            StatementKind::Line(Content::Work(readings), _) if binds_all_off(readings) => {
                self.bound_off = Some((Rc::clone(readings), statement.span));
            }
            // After numbered rows a verb alone is talk, but for one that follows a row told in a sentence.
            StatementKind::Line(content, times) if !self.labelled || self.in_prose => {
                self.counted(*times, content, statement.span);
            }
            // "After the twelfth row cast off."
            StatementKind::Returns { content: Content::Work(readings), .. } if binds_all_off(readings) => {
                self.bound_off = Some((Rc::clone(readings), statement.span));
            }
            StatementKind::Returns { after, content } => {
                let which = if matches!(after.which, Which::Numbers(_)) {
                    after.which.clone()
                } else {
                    Which::Alternate
                };
                if let Some(readings) = self.readings(content) {
                    self.follows = matches!(after.which, Which::Pattern | Which::Every);
                    self.returns = Some((which, readings, statement.span));
                }
            }
            StatementKind::Part(op, stitches, rows) => self.part(*op, *stitches, *rows, statement.span),
            StatementKind::Section(numbers) => self.section(numbers, true),
            StatementKind::Heading(numbers) => self.section(numbers, false),
            StatementKind::LikeSection(number) => self.like_section(*number),
            StatementKind::OtherPart => self.other_part(statement.span),
            StatementKind::Again(again) => self.again(again),
            StatementKind::Reversed(again) => self.reversed(again),
            StatementKind::AsSeen => self.plan.as_seen = true,
            StatementKind::Finished => self.finished = self.again.is_empty(),
            StatementKind::Count(count) if self.is_bare() && !self.plan.cast_on.says_how_many() => {
                let cast_on =
                    CastOn { count: Some(*count), count_span: Some(statement.span), ..CastOn::default() };
                self.cast_on(&cast_on, statement.span);
            }
            StatementKind::Count(count) => self.counted_to(*count, statement.span),
            // Of how many needles it is said only where stitches were cast on them.
            StatementKind::CountEach(count) => {
                let needles = u32::try_from(self.plan.cast_on.needles.len()).unwrap_or(0);
                if let Some(count) = count.checked_mul(needles).filter(|count| *count > 0) {
                    self.counted_to(count, statement.span);
                }
            }
            StatementKind::Shaping(shaping) => self.shaped(*shaping, statement.span),
            StatementKind::GoOn(onward) => self.go_on(*onward, statement.span),
            StatementKind::Spread(rows, told) => self.spread(rows.as_ref(), *told, statement.span),
            StatementKind::Edges(edges) => self.plan.told_edges = Some(*edges),
            StatementKind::Edge(rule) => self.plan.edge_rule = Some(*rule),
            StatementKind::OnHand(count) => {
                if self.is_bare() && !self.plan.cast_on.says_how_many() {
                    let cast_on =
                        CastOn { count: Some(*count), count_span: Some(statement.span), ..CastOn::default() };
                    self.cast_on(&cast_on, statement.span);
                }
                self.ends_series(*count);
            }
            StatementKind::Round(needles) => {
                self.plan.round = true;
                self.plan.cast_on.divided = needles.or(self.plan.cast_on.divided);
            }
            StatementKind::Smooth => self.smooth = true,
            StatementKind::Line(..)
            | StatementKind::Loose(_)
            | StatementKind::Note
            | StatementKind::Unread => {}
        }
    }

    fn cast_on(&mut self, cast_on: &CastOn, span: Span) {
        if self.plan.cast_on.says_how_many() && !cast_on.says_how_many() {
            return;
        }
        self.plan.round |= cast_on.round;
        let told_before = self.plan.cast_on.count.filter(|_| cast_on.only_numbers);
        self.plan.cast_on = CastOn { count: cast_on.count.or(told_before), ..cast_on.clone() };
        // "Cast on twelve stitches, four on each needle."
        if let ([each], Some(count)) = (cast_on.needles.as_slice(), cast_on.count)
            && let Some(needles) = count.checked_div(*each).filter(|_| count.is_multiple_of(*each))
            && (2..=MOST as u32).contains(&needles)
        {
            self.plan.cast_on.needles = vec![*each; needles as usize];
        }
        self.plan.cast_on_span = Some(span);
    }

    /// How many stitches each needle holds, as far as the casting on tells it.
    fn told_shares(&self) -> Shares {
        let cast_on = &self.plan.cast_on;
        let among = |needles: u32, count: u32| {
            (needles as usize <= MOST && count > 0).then(|| vec![count; needles as usize])
        };
        let each = cast_on.per_needle.zip(cast_on.count).and_then(|(needles, count)| among(needles, count));
        let divided = cast_on.divided.filter(|needles| *needles > 0).zip(cast_on.count);
        let divided = divided
            .filter(|(needles, count)| count.is_multiple_of(*needles))
            .and_then(|(needles, count)| among(needles, count / needles));
        // "Seventeen on each of the side needles and twenty-four on the front needle."
        let about = match (cast_on.needles.as_slice(), self.given.or(cast_on.count)) {
            ([side, front], Some(all)) if 2 * side + front == all => Some(vec![*side, *front, *side]),
            _ => None,
        };
        let divided = about.or(divided);
        Shares::of(&each.or(divided).unwrap_or_else(|| cast_on.needles.clone())).unwrap_or_default()
    }

    /// Whether the work hangs on several needles, so that a needle is a part of a round.
    fn has_several_needles(&self) -> bool {
        let cast_on = &self.plan.cast_on;
        self.plan.round || cast_on.per_needle.is_some() || cast_on.needles.len() > 1
    }

    /// A part of a round told under the name of its needle; false if it is none.
    fn needle_part(&mut self, rows: &RowSet, content: &Content, span: Span) -> bool {
        let number = match &rows.which {
            Which::Numbers(numbers) if rows.needle && self.has_several_needles() => {
                match numbers.as_slice() {
                    [number] => number,
                    _ => return false,
                }
            }
            Which::NextNeedle => &(self.parts.len() as u32 + 1),
            _ => return false,
        };
        if *number as usize != self.parts.len() + 1 {
            self.flush_parts();
        }
        let Some(readings) = self.readings(content).filter(|_| *number as usize == self.parts.len() + 1)
        else {
            return false;
        };
        self.parts.push((readings, span));
        true
    }

    fn flush_parts(&mut self) {
        let parts = std::mem::take(&mut self.parts);
        let span = parts.iter().fold(Span::DETACHED, |all, (_, span)| all.to(*span));
        if let Some(readings) = by_needle(&parts) {
            self.append(readings, span, false);
        }
    }

    fn planned(&self, number: Option<u32>, readings: Readings, span: Span) -> PlannedRow {
        let readings = sharing(readings, self.told_shares());
        let label = number.map_or_else(String::new, |number| number.to_string());
        PlannedRow { label, number, readings, side: None, stated: None, span, filled: false, goes_on: false }
    }

    fn last_row(&mut self) -> Option<&mut PlannedRow> {
        let run = self.run.values_mut().next_back();
        run.or(self.loose.last_mut()).or(self.plan.rows.last_mut())
    }

    /// The last row told that is more than one operation throughout.
    fn last_shaped(&self) -> Option<Readings> {
        let told = self.plan.rows.iter().chain(self.run.values()).chain(&self.loose).rev();
        told.map(|row| &row.readings).find(|readings| plain_row_of(readings).is_none()).cloned()
    }

    fn next_number(&self) -> u32 {
        let last = self.run.keys().next_back().copied();
        last.or_else(|| self.plan.rows.iter().rev().find_map(|row| row.number)).unwrap_or(0) + 1
    }

    fn rows(
        &mut self,
        rows: &RowSet,
        content: &Content,
        side: Option<Side>,
        count: Option<(u32, Span)>,
        span: Span,
    ) {
        *(if rows.round { &mut self.rounds } else { &mut self.said_rows }) += 1;
        let numbers = match &rows.which {
            Which::Numbers(numbers) => numbers.clone(),
            Which::First(n) => (1..=(*n).min(ROWS_LIMIT as u32)).collect(),
            Which::Next(n) | Which::Count(n) => return self.counted(*n, content, span),
            Which::AsMany => return self.counted(self.so_many, content, span),
            Which::Measure => {
                self.plan.measures.push(rows.span);
                return self.counted(1, content, span);
            }
            Which::Last(_) => return,
            Which::Every if matches!(content, Content::Like(Some(_))) => {
                let Content::Like(like) = content else { return };
                return self.again(&Again { rows: like.clone(), ..Again::default() });
            }
            which => {
                let between_edges = self.plan.told_edges.is_some();
                let fills = |readings: &_| between_edges || fills_a_row(readings);
                if let Some(readings) = self.readings(content).filter(fills) {
                    self.follows |= *which == Which::Back;
                    self.returns = Some((which.clone(), readings, span));
                }
                return;
            }
        };
        if let Content::Stepped(by) = content {
            return self.stepped(&numbers, *by, span);
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
        if numbers.iter().any(|number| self.recoloured.contains(number)) {
            // "3rd to 8th round, with white wool. 3rd round: purl": the first only named the wool.
            for number in std::mem::take(&mut self.recoloured) {
                self.run.remove(&number);
            }
        }
        if self.restarts(&numbers) {
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
            let Some(readings) = self.nth_readings(content, index) else {
                self.like_a_later(*number, content, side, span);
                continue;
            };
            let mut readings = split_at_turns(&readings);
            let rest = readings.split_off(1);
            let Some(first) = readings.pop() else { continue };
            let mut row = self.planned(Some(*number), first, span);
            row.side = side;
            row.stated = count.filter(|_| index + 1 == numbers.len());
            self.run.insert(*number, row);
            for (step, part) in rest.into_iter().enumerate() {
                let number = number + 1 + step as u32;
                let row = self.planned(Some(number), part, span);
                self.run.insert(number, row);
            }
        }
    }

    /// So many stitches are said to be left by the last row.
    fn counted_to(&mut self, count: u32, span: Span) {
        self.ends_series(count);
        self.repeated_to(count);
        if let Some(row) = self.last_row() {
            row.stated = Some((count, span));
        }
    }

    /// "Third row, like the second", where the second is one of those told once for all, further down.
    fn like_a_later(&mut self, number: u32, content: &Content, side: Option<Side>, span: Span) {
        let Content::Like(Some(RowSet { which: Which::Numbers(named), .. })) = content else { return };
        if let [named] = named[..] {
            let row = self.planned(Some(number), Rc::default(), span);
            self.later.push((named, PlannedRow { side, ..row }));
        }
    }

    /// Puts rows in their places that are like one told after them.
    fn find_later(&mut self) {
        for (named, row) in std::mem::take(&mut self.later) {
            let told = self.run.get(&named).map(|told| Rc::clone(&told.readings));
            let between = self.returns.as_ref().filter(|(which, ..)| applies(which, named));
            let readings = told.or_else(|| between.map(|(_, readings, _)| Rc::clone(readings)));
            if let (Some(number), Some(readings)) = (row.number, readings) {
                self.run.entry(number).or_insert(PlannedRow { readings, ..row });
            }
        }
    }

    /// Whether a number that is already told begins a new run.
    fn restarts(&self, numbers: &[u32]) -> bool {
        numbers.iter().any(|number| self.run.contains_key(number))
    }

    /// Rows told by how many they are: "knit 6 rounds", "1 row plain and 1 purl alternately for 24 rows".
    fn counted(&mut self, count: u32, content: &Content, span: Span) {
        if let (Content::Turns(ops), true) = (content, self.run.is_empty()) {
            self.flush_loose();
            self.turns.push((self.plan.rows.len(), count as usize, ops.clone()));
        }
        for index in 0..count.min(ROWS_LIMIT as u32) as usize {
            if self.run.len() + self.plan.rows.len() + self.loose.len() >= ROWS_LIMIT {
                return;
            }
            let Some(readings) = self.nth_readings(content, index) else { return };
            if count > 1 && index == 0 {
                self.so_many = count;
                self.counted = Some(match content {
                    Content::Work(_) | Content::Rib(_) | Content::Turns(_) => content.clone(),
                    _ => Content::Work(Rc::clone(&readings)),
                });
            }
            if self.run.is_empty() {
                let row = self.planned(None, readings, span);
                self.flush_loose();
                if index == 0 {
                    self.block_from = self.plan.rows.len();
                }
                self.plan.rows.push(row);
            } else {
                let number = self.next_number();
                let row = self.planned(Some(number), readings, span);
                self.run.insert(number, row);
            }
        }
    }

    fn readings(&self, content: &Content) -> Option<Readings> {
        self.nth_readings(content, 0)
    }

    fn nth_readings(&self, content: &Content, nth: usize) -> Option<Readings> {
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
                told.find(|row| does(&row.readings, *deed)).map(|row| Rc::clone(&row.readings))
            }
            Content::Straight => {
                let known = self.plan.rows.len() + self.run.len();
                let told = self.plan.rows.iter().chain(self.run.values()).rev().nth(1);
                let ground = told.and_then(|told| ground_of(&told.readings));
                // Of stocking stitch the first row is knitted.
                let smooth = self.smooth.then(|| if known.is_multiple_of(2) { Op::K } else { Op::P });
                Some(whole_row(ground.or(smooth)?, Span::DETACHED))
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
            Content::LikeWith(rows, plain) => {
                let told = match rows {
                    Some(rows) => self.nth_readings(&Content::Like(Some(rows.clone())), 0)?,
                    None => self.last_shaped()?,
                };
                Some(with_plain(&told, *plain)).filter(|readings| !readings.is_empty())
            }
            Content::LikeBut(rows, seqs, place) => {
                let told = self.nth_readings(&Content::Like(Some(rows.clone())), nth)?;
                Some(but_for(&told, seqs, *place)).filter(|readings| !readings.is_empty())
            }
            Content::Like(None) | Content::LikeCounted | Content::Recoloured => {
                if let (Content::LikeCounted, Some(counted)) = (content, &self.counted) {
                    return self.nth_readings(counted, nth);
                }
                self.run.values().next_back().or(self.plan.rows.last()).map(|row| Rc::clone(&row.readings))
            }
            Content::Like(Some(rows)) => {
                let named = match &rows.which {
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

    /// Adds a row after those that are told, with the next number where they have numbers.
    fn append(&mut self, readings: Readings, span: Span, goes_on: bool) {
        if self.run.len() + self.plan.rows.len() >= ROWS_LIMIT {
            return;
        }
        let number = (!self.run.is_empty()).then(|| self.next_number());
        let row = PlannedRow { goes_on, ..self.planned(number, readings, span) };
        match number {
            Some(number) => _ = self.run.insert(number, row),
            None => self.plan.rows.push(row),
        }
    }

    /// "Take these two together": all that is left on the needle becomes one stitch.
    fn closes_the_work(&self, readings: &Readings) -> bool {
        const MOST: u32 = 5;
        let Some(left) = self.needle().map(|needle| needle.count).filter(|left| (2..=MOST).contains(left))
        else {
            return false;
        };
        readings.iter().any(|(_, seq)| match seq.items().as_slice() {
            [Item::Work(work)] => work.times == 1 && work.sum().takes == left && work.sum().makes == 1,
            _ => false,
        })
    }

    fn flush_loose(&mut self) {
        let loose = std::mem::take(&mut self.loose);
        // Where numbers follow on rows told in prose, those sentences tell rows as well.
        let prose = self.run.is_empty() && self.plan.rows.iter().all(|row| row.number.is_none());
        if !self.labelled || prose && !self.plan.rows.is_empty() {
            self.plan.rows.extend(loose);
        }
    }

    fn close_run(&mut self) {
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
    fn fill_gaps(&mut self) {
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
        self.plan.round |= self.rounds > self.said_rows || self.plan.rows.iter().any(is_told_by_needle);
        name_rows(&mut self.plan.rows);
        self.plan.back_to = self.back_to();
        self.plan
    }

    /// "One row plain and one purl alternately for 25 rows": where the row that follows is like the last of them,
    /// the other of the two comes first.
    fn set_turns(&mut self) {
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
fn name_rows(rows: &mut [PlannedRow]) {
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

/// Whether a row does what it is named by.
fn does(readings: &Readings, deed: Deed) -> bool {
    readings.first().is_some_and(|(_, seq)| {
        let shape = seq.shape();
        let grows = |sum: Sum| sum.makes.cmp(&sum.takes);
        let sums = || std::iter::once(shape.fixed).chain(shape.open.iter().map(|(round, ..)| *round));
        match deed {
            Deed::Opens => works_inside(seq, Op::Yo),
            Deed::Narrows => sums().any(|sum| grows(sum).is_lt()),
            Deed::Widens => sums().any(|sum| grows(sum).is_gt()),
        }
    })
}

/// Whether it is a round told needle by needle.
fn is_told_by_needle(row: &PlannedRow) -> bool {
    row.readings.first().is_some_and(|(_, seq)| seq.by_needle().is_some())
}

/// Whether every number of a run has a row that is told, so that none is left for rows between.
fn leaves_no_room(run: &BTreeMap<u32, PlannedRow>) -> bool {
    run.len() > 1 && run.keys().zip(run.keys().skip(1)).all(|(one, next)| one + 1 == *next)
}

/// Whether rows told once stand at this number.
fn applies(which: &Which, number: u32) -> bool {
    match which {
        Which::Odd => number % 2 == 1,
        Which::Even => number.is_multiple_of(2),
        Which::EveryNth(nth) => number.is_multiple_of(*nth),
        Which::Numbers(numbers) => numbers.contains(&number),
        _ => true,
    }
}

/// Whether the row after the last one told is one of those told once.
fn closes_with_return(which: &Which, last: u32, first: u32) -> bool {
    match which {
        Which::Numbers(_) | Which::Odd | Which::EveryNth(_) => false,
        Which::Even => last % 2 == 1,
        _ => (last - first).is_multiple_of(2),
    }
}
