//! From statements to rows in the order they are knitted.
//!
//! Knows which rows a text tells, which it only refers to, and which it tells once for many. Nothing is worked
//! here: a [`Plan`] is what the chain search then tries. Rows that the text does not tell at all, but that must be
//! there because the numbers leave room for them, are filled in and marked.

use std::collections::BTreeMap;
use std::rc::Rc;

use loops::{Op, Side};
use span::Span;

use crate::ast::{
    Again, AgainTimes, CastOn, Content, Item, Seen, Seq, Statement, StatementKind, Until, Work,
};
use crate::rowset::{RowSet, Which};

/// The most rows that a text may unroll to.
const ROWS_LIMIT: usize = 2_000;

/// The longest stretch, in bytes, that may be the heading of a piece.
const HEADING: usize = 60;

/// The readings of a row, shared by the rows that are alike.
pub type Readings = Rc<Vec<(f64, Seq)>>;

/// One row that will be knitted.
#[derive(Clone, Debug)]
pub struct PlannedRow {
    /// The printed number, or a name.
    pub label: String,
    /// Its number, if it has one.
    pub number: Option<u32>,
    /// Its readings.
    pub readings: Readings,
    /// The side that the text names.
    pub side: Option<Side>,
    /// The count that the text states after it.
    pub stated: Option<(u32, Span)>,
    /// The words.
    pub span: Span,
    /// Whether the text tells it nowhere.
    pub filled: bool,
    /// Whether the text tells it only by "and so on".
    pub goes_on: bool,
}

/// One piece of knitting as planned.
#[derive(Clone, Debug, Default)]
pub struct Plan {
    /// Short stretches above the piece that may be its heading, the nearest last.
    pub headings: Vec<Span>,
    /// What is said of casting on.
    pub cast_on: CastOn,
    /// Where that is said.
    pub cast_on_span: Option<Span>,
    /// The rows.
    pub rows: Vec<PlannedRow>,
    /// The row where a repeat in height begins again.
    pub back_to: Option<usize>,
    /// Whether the text says that the work is round.
    pub round: bool,
    /// Whether the first stitch of every row is slipped.
    pub slip_edge: bool,
    /// Stitches at each edge that the text tells once for all rows.
    pub told_edges: Option<u32>,
    /// Stitches at each edge that the rows do not mention.
    pub edges: u32,
    /// Whether the text speaks of such edges.
    pub edges_said: bool,
    /// Whether rows that the text does not tell were filled in, and with what.
    pub filled: Option<Op>,
}

/// Makes the plans of a text, one for each piece.
pub fn plan(statements: &[Statement]) -> Vec<Plan> {
    let mut drafts = vec![Draft::default()];
    let mut headings = Vec::new();
    for statement in statements {
        if let StatementKind::CastOn(cast_on) = &statement.kind {
            let begun = drafts.last().is_some_and(|draft| !draft.is_bare());
            if begun && cast_on.says_how_many() {
                // What stands before the first casting on without a number is the book's talk, not rows.
                if drafts.last().is_some_and(Draft::is_talk) {
                    drafts.pop();
                }
                drafts.push(Draft::default());
            }
            if let Some(draft) = drafts.last_mut() {
                draft.plan.headings.append(&mut headings);
            }
        }
        if statement.kind == StatementKind::Unread && statement.span.range().len() <= HEADING {
            headings.push(statement.span);
        }
        if let Some(draft) = drafts.last_mut() {
            draft.take(statement);
        }
    }
    let mut plans: Vec<Plan> = drafts.into_iter().map(Draft::finish).collect();
    plans.retain(|plan| !plan.rows.is_empty());
    plans
}

impl CastOn {
    /// Whether it tells a number in any way.
    pub fn says_how_many(&self) -> bool {
        self.count.is_some() || self.of.is_some() || !self.needles.is_empty()
    }
}

/// Rows of one run of numbers.
#[derive(Default)]
struct Draft {
    plan: Plan,
    /// Numbered rows of the current run, not yet in the plan.
    run: BTreeMap<u32, PlannedRow>,
    /// What is told once for many rows.
    returns: Option<(Which, Readings, Span)>,
    /// Whether those are said to come after each row that is told.
    follows: bool,
    rounds: u32,
    said_rows: u32,
    labelled: bool,
    again: Vec<Again>,
    loose: Vec<PlannedRow>,
    /// Where rows stand that are told by turns: the first, how many, and the operations.
    turns: Vec<(usize, usize, Vec<Op>)>,
    /// Rows that are said to be like one that is told later, with the number of that one.
    later: Vec<(u32, PlannedRow)>,
}

impl Draft {
    fn is_bare(&self) -> bool {
        self.plan.rows.is_empty() && self.run.is_empty() && self.loose.is_empty()
    }

    /// Whether nothing was cast on and no row has a number.
    fn is_talk(&self) -> bool {
        !self.labelled && !self.plan.cast_on.says_how_many()
    }

    fn take(&mut self, statement: &Statement) {
        let tells_rows = matches!(
            statement.kind,
            StatementKind::Rows { .. } | StatementKind::Line(..) | StatementKind::Loose(_)
        );
        if tells_rows && let Some(once) = self.again.pop_if(|again| again.rows.is_some() && !again.from) {
            let times = Some(AgainTimes { printed: 1, more: true });
            self.again(&Again { times, ..once });
        }
        match &statement.kind {
            StatementKind::CastOn(cast_on) => self.cast_on(cast_on, statement.span),
            StatementKind::Rows { rows, content, side, count } => {
                self.rows(rows, content, *side, *count, statement.span);
            }
            StatementKind::Loose(Content::Work(readings)) => {
                for part in split_at_turns(readings) {
                    let row = self.planned(None, part, statement.span);
                    self.loose.push(row);
                }
            }
            // After numbered rows a verb alone is talk.
            StatementKind::Line(content, times) if !self.labelled => {
                self.counted(*times, content, statement.span);
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
            StatementKind::Again(again) => self.again(again),
            StatementKind::Count(count) if self.is_bare() && !self.plan.cast_on.says_how_many() => {
                let cast_on =
                    CastOn { count: Some(*count), count_span: Some(statement.span), ..CastOn::default() };
                self.cast_on(&cast_on, statement.span);
            }
            StatementKind::Count(count) => {
                if let Some(row) = self.last_row() {
                    row.stated = Some((*count, statement.span));
                }
            }
            StatementKind::GoOn(until) => self.go_on(*until, statement.span),
            StatementKind::Edges(edges) => self.plan.told_edges = Some(*edges),
            StatementKind::SlipEdge => self.plan.slip_edge = true,
            StatementKind::Round => self.plan.round = true,
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
        self.plan.cast_on = cast_on.clone();
        self.plan.cast_on_span = Some(span);
    }

    fn planned(&self, number: Option<u32>, readings: Readings, span: Span) -> PlannedRow {
        let label = number.map_or_else(String::new, |number| number.to_string());
        PlannedRow { label, number, readings, side: None, stated: None, span, filled: false, goes_on: false }
    }

    fn last_row(&mut self) -> Option<&mut PlannedRow> {
        let run = self.run.values_mut().next_back();
        run.or(self.loose.last_mut()).or(self.plan.rows.last_mut())
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
            Which::Last(_) => return,
            which => {
                if let Some(readings) = self.readings(content).filter(fills_a_row) {
                    self.returns = Some((which.clone(), readings, span));
                }
                return;
            }
        };
        self.labelled = true;
        if self.restarts(&numbers) {
            self.close_run();
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
            if self.run.is_empty() {
                let row = self.planned(None, readings, span);
                self.flush_loose();
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
            Content::Work(readings) if nth % 2 == 1 => Some(as_it_shows(readings)),
            Content::Work(readings) => Some(Rc::clone(readings)),
            Content::Turns(ops) => {
                let op = *ops.get(nth % ops.len().max(1))?;
                Some(whole_row(op, Span::DETACHED))
            }
            Content::LikeBut(rows, seqs) => {
                let told = self.nth_readings(&Content::Like(Some(rows.clone())), nth)?;
                Some(but_for(&told, seqs)).filter(|readings| !readings.is_empty())
            }
            Content::Like(None) => {
                self.run.values().next_back().or(self.plan.rows.last()).map(|row| Rc::clone(&row.readings))
            }
            Content::Like(Some(rows)) => {
                let named = match &rows.which {
                    Which::Numbers(numbers) => numbers.get(nth % numbers.len().max(1)).copied(),
                    Which::First(n) => Some(1 + nth as u32 % n.max(&1)),
                    Which::Last(n) => {
                        let known: Vec<&PlannedRow> =
                            self.plan.rows.iter().chain(self.run.values()).collect();
                        let from = known.len().checked_sub(*n as usize)?;
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

    fn again(&mut self, again: &Again) {
        let Some(times) = again.times else {
            self.again.push(again.clone());
            return;
        };
        self.fill_gaps();
        let all: Vec<PlannedRow> = self.plan.rows.iter().chain(self.run.values()).cloned().collect();
        let block: Vec<PlannedRow> = match again.rows.as_ref().map(|rows| &rows.which) {
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
            _ => all.clone(),
        };
        let mut number = self.next_number();
        for _ in 0..times.printed {
            for row in &block {
                if self.run.len() + self.plan.rows.len() >= ROWS_LIMIT {
                    return;
                }
                let copy = PlannedRow {
                    label: number.to_string(),
                    number: Some(number),
                    stated: None,
                    ..row.clone()
                };
                self.run.insert(number, copy);
                number += 1;
            }
        }
    }

    /// "Continue in this manner until nine are left": the last two rows of like build give the step, the rows
    /// between them come again as they are.
    fn go_on(&mut self, until: Option<u32>, span: Span) {
        self.flush_loose();
        self.fill_gaps();
        let told: Vec<PlannedRow> = self.plan.rows.iter().chain(self.run.values()).cloned().collect();
        let Some(series) = Series::find(&told) else { return };
        let mut count = series.last_count;
        let mut number = self.next_number();
        for step in 1..=SERIES_LIMIT {
            let Some(seq) = series.nth(step) else { return };
            let makes = seq.shape().fixed.makes;
            let falls = makes < count;
            if until.is_some_and(|until| if falls { makes < until } else { makes > until }) || makes == count
            {
                return;
            }
            count = makes;
            let grown: Readings = Rc::new(vec![(0.0, seq)]);
            let between = if series.told_after && step == 1 { &[][..] } else { &series.between };
            for readings in between.iter().map(|row| Rc::clone(&row.readings)).chain([grown]) {
                let mut row = self.planned(Some(number), readings, span);
                row.goes_on = true;
                self.run.insert(number, row);
                number += 1;
            }
            if until == Some(count) {
                return;
            }
        }
    }

    fn flush_loose(&mut self) {
        let loose = std::mem::take(&mut self.loose);
        if !self.labelled {
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
            let until = last + u32::from(!ended && closes_with_return(&which, last, first));
            for number in (first..=until).filter(|number| applies(&which, *number)) {
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

    fn finish(mut self) -> Plan {
        self.flush_loose();
        self.close_run();
        if !self.labelled && self.plan.rows.is_empty() {
            self.plan.rows = std::mem::take(&mut self.loose);
        }
        self.set_turns();
        self.plan.round |= self.rounds > self.said_rows;
        for (index, row) in self.plan.rows.iter_mut().enumerate() {
            if row.label.is_empty() {
                row.label = (index + 1).to_string();
            }
        }
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

    fn back_to(&self) -> Option<usize> {
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

/// The most steps that a series told by its beginning is carried on for.
const SERIES_LIMIT: u32 = 400;

/// Rows that go up or down in even steps.
struct Series {
    /// The last row but one of the series, and the last.
    rows: [Seq; 2],
    /// The rows that lie between two of them.
    between: Vec<PlannedRow>,
    /// Whether they are told after the last one too.
    told_after: bool,
    /// Stitches after the last.
    last_count: u32,
}

impl Series {
    /// The last two rows of like build among those told, with what lies between.
    fn find(told: &[PlannedRow]) -> Option<Series> {
        let seq_of = |row: &PlannedRow| {
            row.readings.first().map(|(_, seq)| seq.clone()).filter(|seq| seq.shape().open.is_empty())
        };
        let last = told.iter().rposition(|row| seq_of(row).is_some())?;
        let after = told.len() - 1 - last;
        let rows = (0..last).rev().find_map(|first| {
            let (first_seq, last_seq) = (seq_of(&told[first])?, seq_of(&told[last])?);
            stepped(&first_seq, &last_seq, 1).map(|_| (first, first_seq, last_seq))
        });
        let (first, first_seq, last_seq) = rows?;
        let between = told[first + 1..last].to_vec();
        if between.len() != after && after != 0 {
            return None;
        }
        let last_count = last_seq.shape().fixed.makes;
        let between = if after == 0 { between } else { told[last + 1..].to_vec() };
        Some(Series { rows: [first_seq, last_seq], between, told_after: after > 0, last_count })
    }

    /// The row so many steps on.
    fn nth(&self, step: u32) -> Option<Seq> {
        stepped(&self.rows[0], &self.rows[1], step)
    }
}

/// The second of two rows of like build, so many further steps on; `None` if they are not built alike or are the
/// same. A number that comes down to nothing leaves its item out.
fn stepped(first: &Seq, second: &Seq, steps: u32) -> Option<Seq> {
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
        (
            Item::Group { body: one, until: Until::Times(n), .. },
            Item::Group { body: two, until: Until::Times(m), span },
        ) if n == m => {
            let body = if one == two { two.clone() } else { stepped(one, two, steps)? };
            moved |= one != two;
            Some(Item::Group { body, until: Until::Times(*m), span: *span })
        }
        (one, two) if one == two => Some(two.clone()),
        _ => None,
    });
    let items: Vec<Item> = items.collect::<Option<_>>()?;
    let kept = items.into_iter().filter(|item| !matches!(item, Item::Work(work) if work.times == 0));
    Seq::of(kept).filter(|_| moved)
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
        Which::Numbers(numbers) => numbers.contains(&number),
        _ => true,
    }
}

/// Whether the row after the last one told is one of those told once.
fn closes_with_return(which: &Which, last: u32, first: u32) -> bool {
    match which {
        Which::Numbers(_) | Which::Odd => false,
        Which::Even => last % 2 == 1,
        _ => (last - first).is_multiple_of(2),
    }
}

/// Rows told in pairs by the look of the row below ("knit 2 over the 2 purled"): the second of a pair is worked as
/// the first shows.
fn as_it_shows(readings: &Readings) -> Readings {
    let against = |item: &Item| matches!(item, Item::Seen(Seen::Against, _));
    if !readings.iter().any(|(_, seq)| seq.item_count() == 1 && seq.items().iter().any(against)) {
        return Rc::clone(readings);
    }
    let shown = readings.iter().map(|(cost, seq)| match seq.items().as_slice() {
        [Item::Seen(Seen::Against, span)] => (*cost, Seq::one(Item::Seen(Seen::AsItShows, *span))),
        _ => (*cost, seq.clone()),
    });
    Rc::new(shown.collect())
}

/// A row told by what differs from another: each place where the other has the same operation in another number
/// gives a reading, the last place first.
fn but_for(told: &Readings, seqs: &Readings) -> Readings {
    let mut out = Vec::new();
    for (cost, base) in told.iter() {
        for (more, seq) in seqs.iter() {
            let items = base.items();
            let changed = seq.items();
            let [Item::Work(new)] = changed.as_slice() else { continue };
            let places = items
                .iter()
                .enumerate()
                .rev()
                .filter(|(_, item)| matches!(item, Item::Work(old) if old.ops == new.ops));
            for (rank, (at, _)) in places.enumerate() {
                let mut items = items.clone();
                items[at] = Item::Work(new.clone());
                out.extend(Seq::of(items).map(|seq| (cost + more + 0.3 * rank as f64, seq)));
            }
        }
    }
    Rc::new(out)
}

/// A stretch with turns in it is several rows, each ending in a turn; the cheapest reading says where.
fn split_at_turns(readings: &Readings) -> Vec<Readings> {
    let turns = |item: &Item| matches!(item, Item::Work(work) if work.ops.last() == Some(&Op::Turn));
    let items = readings.first().map(|(_, seq)| seq.items()).unwrap_or_default();
    let inner = items.iter().rev().skip(1).any(turns);
    if !inner {
        return vec![Rc::clone(readings)];
    }
    let parts = items.split_inclusive(turns).filter_map(|part| Seq::of(part.iter().cloned()));
    parts.map(|seq| Rc::new(vec![(0.0, seq)])).collect()
}

/// Whether a row is told to its end, as those are that are told once for many.
fn fills_a_row(readings: &Readings) -> bool {
    let to_the_end = |item: &Item| match item {
        Item::Rest { .. } | Item::Seen(..) => true,
        Item::Group { until: Until::End | Until::Left(_), span, .. } => !span.is_detached(),
        _ => false,
    };
    readings.first().is_some_and(|(_, seq)| seq.items().iter().any(to_the_end))
}

/// A row of one operation throughout.
fn whole_row(op: Op, span: Span) -> Readings {
    Rc::new(vec![(0.0, Seq::one(Item::Rest { op, until: Until::End, span }))])
}
