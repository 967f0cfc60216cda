//! Rows gathered statement by statement, before they stand in their order.
//!
//! A run of numbers is kept apart until it is closed, so that rows told later find their places in it.

mod again;
mod change;
mod close;
mod like;
mod needles;
mod numbers;
mod part;
mod section;

use std::collections::BTreeMap;
use std::rc::Rc;

use loops::Op;
use span::Span;

use super::told::{
    Ending, binds_all_off, fills_a_row, finished_as, narrows_all, on_each_needle, only_makes, only_turns,
    repeats_to_the_end, sharing, split_at_turns, works,
};
use super::turns::without_turn;
use super::{Plan, PlannedRow, ROWS_LIMIT, Readings};
use crate::ast::{
    Again, AgainTimes, CastOn, Content, Item, Onward, Rule, Seq, Shaping, SpreadTold, Statement,
    StatementKind, Until, Work,
};
use crate::rowset::Which;

/// Rows of one run of numbers.
#[derive(Default)]
pub struct Draft {
    pub plan: Plan,
    /// Where the last rows begin that were told by how many they are.
    block_from: usize,
    /// What those are.
    counted: Option<Content>,
    /// The last rows told as a rib.
    rib: Option<Content>,
    /// How many they are.
    so_many: u32,
    /// The number cast on, where it is given from outside the text.
    given: Option<u32>,
    /// Numbered rows of the current run, not yet in the plan.
    run: BTreeMap<u32, PlannedRow>,
    /// The number of the row told last, which need not be the highest.
    latest: Option<u32>,
    /// What is told once for many rows.
    returns: Option<(Which, Readings, Span)>,
    /// Rows said to be alike right before it is told how.
    alike: Option<Which>,
    /// Whether those are said to come after each row that is told.
    follows: bool,
    /// The last rows of which only the colour was told.
    recoloured: Vec<u32>,
    rounds: u32,
    said_rows: u32,
    labelled: bool,
    /// The rows that the text gives a name, by it.
    called: BTreeMap<Rc<str>, Readings>,
    /// The number of the row that comes next, if the text tells it right after the statement under way.
    next_told: Option<u32>,
    /// The number of the row that is just told.
    telling: u32,
    /// What the edges are that rows name, at the beginning and at the end.
    edges_are: Option<(Seq, Seq)>,
    /// How rows of a kind begin and end, which need not be told with each.
    ends_are: Vec<(Which, Readings, Option<Readings>)>,
    /// How many rows had been told when edges were told once for all of them.
    edges_at: usize,
    /// How many stitches the edges are of that rows name.
    edge_width: Option<u32>,
    /// Whether rounds are told for one needle.
    one_needle: bool,
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
    /// Whether increases were told to be worked twice into one stitch.
    twice_into_one: bool,
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

    /// Takes note of the number of the row that the text tells after the next statement.
    pub fn look_ahead(&mut self, number: Option<u32>) {
        self.next_told = number;
    }

    pub fn take(&mut self, statement: &Statement) {
        let alike = self.alike.take();
        if let StatementKind::ThatIs(content) = &statement.kind {
            return self.that_is(alike, content, statement.span);
        }
        if let StatementKind::LastIs(content) = &statement.kind {
            return self.last_is(content);
        }
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
        // "Cast off. For the thumb take up the stitches, rib 6 rounds": of another part, as long as nothing tells how it begins.
        let rib = matches!(&statement.kind, StatementKind::Rows { content: Content::LikeRib, .. });
        if rib && self.bound_off.is_some() {
            return;
        }
        self.part.take_if(|_| tells_rows);
        self.in_prose &= !matches!(statement.kind, StatementKind::Rows { .. });
        if let Some((bound_off, span)) = self.bound_off.take_if(|_| tells_rows)
            && begins_anew(&statement.kind)
        {
            self.counted(1, &Content::Work(bound_off), span);
        }
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
            self.again.pop_if(|again| again.from || again.endless || *again == Again::default());
        }
        match &statement.kind {
            StatementKind::CastOn(cast_on) => self.cast_on(cast_on, statement.span),
            StatementKind::Rows { rows, content, .. } if self.needle_part(rows, content, statement.span) => {}
            StatementKind::Rows { rows, content, side, count } => {
                let count = count.map(|(count, span)| (self.in_all(count), span));
                self.rows(rows, content, *side, count, statement.span);
            }
            StatementKind::Loose(Content::Work(readings)) if binds_all_off(readings) => {
                self.bound_off = Some((Rc::clone(readings), statement.span));
            }
            // "Make one by picking up the thread and knitting it": an increase alone is explained, not worked.
            StatementKind::Loose(Content::Work(readings)) if only_makes(readings) => {}
            // "Plain; turn": of a row that is whole.
            StatementKind::Loose(Content::Work(readings)) if only_turns(readings) => {}
            StatementKind::Loose(Content::Work(readings)) => {
                let parts = split_at_turns(readings);
                // Short rows told in a sentence are rows wherever they stand.
                let mut told = parts.iter().flat_map(|part| part.iter());
                let surely = parts.len() > 1
                    || told.any(|(_, seq)| {
                        seq.turns() || works(seq, Op::Pu) || works(seq, Op::Hold) || narrows_all(seq)
                    });
                let surely = surely || self.closes_the_work(readings) || self.fits_the_needle(readings);
                let surely = surely || repeats_to_the_end(readings);
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
            StatementKind::Part { op, stitches, rows, slips } => {
                let part =
                    part::Part { op: *op, stitches: *stitches, rows: *rows, slips: *slips, bound_off: false };
                self.part(part, statement.span);
            }
            StatementKind::Section(numbers) => self.section(numbers, true),
            StatementKind::Heading(numbers) => self.section(numbers, false),
            StatementKind::LikeSection(number) => self.like_section(*number),
            StatementKind::OtherPart => self.other_part(statement.span),
            StatementKind::Again(again) => {
                self.again(&Again {
                    until: again.until.map(|until| self.counted_out(until)),
                    ..again.clone()
                });
            }
            StatementKind::Reversed(again) => self.reversed(again),
            StatementKind::AsSeen => self.plan.as_seen = true,
            StatementKind::Finished => self.finished = self.again.is_empty(),
            StatementKind::Count(count) if self.is_bare() && !self.plan.cast_on.says_how_many() => {
                let cast_on =
                    CastOn { count: Some(*count), count_span: Some(statement.span), ..CastOn::default() };
                self.cast_on(&cast_on, statement.span);
            }
            StatementKind::Count(count) => self.counted_to(self.in_all(*count), statement.span),
            // Of how many needles it is said only where stitches were cast on them.
            StatementKind::CountEach(count) => {
                let needles = u32::try_from(self.plan.cast_on.needles.len()).unwrap_or(0);
                if let Some(count) = count.checked_mul(needles).filter(|count| *count > 0) {
                    self.counted_to(count, statement.span);
                }
            }
            StatementKind::Shaping(shaping) => {
                let shaping = Shaping { op: self.increased_alike(shaping.op), ..*shaping };
                let until = shaping.until.map(|until| self.counted_out(until));
                if shaping.goes_on && until.is_some() && self.in_a_series() {
                    let ends_plain = shaping.ends_plain;
                    self.go_on(Onward { until, ends_plain, ..Onward::default() }, statement.span);
                } else {
                    self.shaped(Shaping { until, ..shaping }, statement.span);
                }
            }
            StatementKind::GoOn(onward) => {
                let until = onward.until.map(|until| self.counted_out(until));
                self.go_on(Onward { until, ..*onward }, statement.span);
            }
            StatementKind::Spread(rows, told) => {
                let mut alike = |told: &SpreadTold| SpreadTold { op: self.increased_alike(told.op), ..*told };
                let told: Vec<SpreadTold> = told.iter().map(&mut alike).collect();
                self.spread(rows.as_ref(), &told, statement.span);
            }
            StatementKind::EndsAsBefore { row, end } => self.ends_as_before(*row, end.as_ref()),
            StatementKind::AtTheEnd(more) => self.at_the_end(more),
            StatementKind::Edges(edges) => {
                self.plan.told_edges = Some(*edges);
                self.plan.edges_from = self.plan.rows.len();
                self.edges_at = self.told_so_far();
            }
            StatementKind::Edge(rule) => {
                self.plan.edge_rule = Some(*rule);
                self.plan.edge_rows = self.told_so_far()..usize::MAX;
            }
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
            StatementKind::OneNeedle => self.one_needle = true,
            StatementKind::TurnsAt(numbers) => self.turns_at(numbers, statement.span),
            StatementKind::Closes => self.closes(statement.span),
            StatementKind::EdgeWidth(stitches) => self.edge_width = Some(*stitches),
            StatementKind::EndsAre(rows, first, last) => {
                self.ends_are.push((rows.which.clone(), first.clone(), last.clone()));
            }
            StatementKind::EdgesAre(first, last) => {
                let cheapest = |told: &Readings| told.first().map(|(_, seq)| seq.clone());
                self.edges_are = cheapest(first).zip(cheapest(last));
            }
            StatementKind::Line(..)
            | StatementKind::Loose(_)
            | StatementKind::ThatIs(_)
            | StatementKind::LastIs(_)
            | StatementKind::Note
            | StatementKind::Unread => {}
        }
    }

    /// "Increase as before": the operation of an increase that is told by no more than its name, where one before was told
    /// by how it is made.
    fn increased_alike(&mut self, op: Op) -> Op {
        self.twice_into_one |= op == Op::Kfb;
        if op == Op::M1 && self.twice_into_one { Op::Kfb } else { op }
    }

    /// A row told by where it is shaped is told again by its stitches; else they are a row of their own.
    fn that_is(&mut self, alike: Option<Which>, content: &Content, span: Span) {
        if let (Some(which), Content::Work(readings)) = (alike, content) {
            self.returns = Some((which, Rc::clone(readings), span));
            return;
        }
        let told = self.last_row().filter(|row| row.readings.iter().any(|(_, seq)| seq.spread().is_some()));
        match (told, content) {
            (Some(row), Content::Work(readings)) => row.readings = Rc::clone(readings),
            _ => self.take(&Statement { kind: StatementKind::Loose(content.clone()), span }),
        }
    }

    /// The last row told is told anew; nothing is, where it would not be a whole row.
    fn last_is(&mut self, content: &Content) {
        let told = self.readings(content).filter(fills_a_row);
        if let Some((readings, row)) = told.zip(self.last_row()) {
            row.readings = readings;
        }
    }

    /// How many rows are told so far.
    fn told_so_far(&self) -> usize {
        self.plan.rows.len() + self.run.len()
    }

    fn planned(&self, number: Option<u32>, readings: Readings, span: Span) -> PlannedRow {
        let readings = if self.one_needle { on_each_needle(&readings) } else { readings };
        let readings = sharing(readings, self.told_shares());
        let label = number.map_or_else(String::new, |number| number.to_string());
        PlannedRow { label, number, readings, side: None, stated: None, span, filled: false, goes_on: false }
    }

    /// Puts a numbered row into the run, as the one told last.
    fn tell(&mut self, number: u32, row: PlannedRow) {
        self.latest = Some(number);
        self.run.insert(number, row);
    }

    /// The number of the row of the run told last.
    fn last_number(&self) -> Option<u32> {
        let latest = self.latest.filter(|latest| self.run.contains_key(latest));
        latest.or(self.run.keys().next_back().copied())
    }

    fn last_row(&mut self) -> Option<&mut PlannedRow> {
        let run = self.last_number().and_then(|number| self.run.get_mut(&number));
        run.or(self.loose.last_mut()).or(self.plan.rows.last_mut())
    }

    /// So many stitches are said to be left by the last row.
    fn counted_to(&mut self, count: u32, span: Span) {
        self.ends_series(count);
        self.repeated_to(count);
        if let Some(row) = self.last_row() {
            row.stated = Some((count, span));
        }
    }

    /// The last row has more worked at its end, after which the work is turned.
    fn at_the_end(&mut self, more: &Seq) {
        if let Some(row) = self.last_row() {
            let longer = |seq: &Seq| without_turn(seq).and(more);
            row.readings = Rc::new(row.readings.iter().map(|(cost, seq)| (*cost, longer(seq))).collect());
        }
    }

    /// The last row ends as the one that is named, or as the last before it on its side that has a repeat: with
    /// what follows that repeat, or what is told instead.
    fn ends_as_before(&mut self, named: Option<u32>, end: Option<&Seq>) {
        let last = self.latest.unwrap_or(u32::MAX);
        let told = self.plan.rows.iter().map(|row| (None, row));
        let told = told.chain(self.run.range(..last).map(|(number, row)| (Some(*number), row)));
        let (numbers, rows): (Vec<_>, Vec<_>) = told.map(|(number, row)| (number, row.clone())).unzip();
        let rows = self.as_worked(rows);
        let ending_of = |fits: &dyn Fn(Option<u32>) -> bool| {
            let mut told = numbers.iter().zip(&rows).rev().filter(|(number, _)| fits(**number));
            told.find_map(|(_, row)| Ending::of(&row.readings))
        };
        // Where the rows back are told once for all of them, theirs are no rows before this one.
        let back =
            |number: u32| self.returns.as_ref().is_some_and(|(which, ..)| close::applies(which, number));
        let same_side = |number: Option<u32>| number.is_none_or(|number| !back(number) || back(last));
        let ending = match named {
            Some(_) => ending_of(&|number| number == named),
            None => ending_of(&same_side),
        };
        let ending = match end {
            Some(end) => Some(Ending::with(ending, end)),
            None => ending,
        };
        // "And finish as the second row", of a row without a repeat.
        let plain = named.filter(|_| ending.is_none()).and_then(|named| {
            let at = numbers.iter().rposition(|number| *number == Some(named))?;
            Some(Rc::clone(&rows[at].readings))
        });
        if let Some((other, row)) = plain.zip(self.last_row()) {
            row.readings = Rc::new(finished_as(&row.readings, &other));
        } else if let Some((ending, row)) = ending.zip(self.last_row()) {
            let with_end = |(cost, seq): &(f64, Seq)| {
                let cost = *cost;
                ending.put_to(seq).into_iter().map(move |(more, seq)| (cost + more, seq))
            };
            row.readings = Rc::new(row.readings.iter().flat_map(with_end).collect());
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
            Some(number) => self.tell(number, row),
            None => self.plan.rows.push(row),
        }
    }

    /// "Knit these together": as many as are left on the needle, where they are few.
    fn closes(&mut self, span: Span) {
        const MOST: u32 = 9;
        let left = self.needle().map(|needle| needle.count).filter(|left| (2..=MOST).contains(left));
        let Some(op) = left.and_then(|left| format!("k{left}tog").parse().ok()) else { return };
        let together = Work { ops: Rc::from([op]), times: 1, span, number: None, sense: None };
        self.append(Rc::new(vec![(0.0, Seq::one(Item::Work(together)))]), span, false);
    }

    /// Whether a row told in a sentence takes just what is on the needle: stitch by stitch, or with a word for the rest.
    fn fits_the_needle(&self, readings: &Readings) -> bool {
        /// Instructions that may be told of a row in talk.
        const FEW: usize = 2;
        let Some(on_needle) = self.needle().map(|needle| needle.count) else { return false };
        readings.first().is_some_and(|(_, seq)| {
            let shape = seq.shape();
            let rest = matches!(seq.items().last(), Some(Item::Rest { until: Until::End, .. }));
            // "Knit 12, cast off 24, knit 11 more": the loop left from casting off is not counted.
            let inner = &seq.items()[..seq.item_count().saturating_sub(1)];
            let off = inner.iter().any(|item| matches!(item, Item::Work(work) if *work.ops == [Op::Bo]));
            let takes = shape.fixed.takes;
            let but_one = off && takes.checked_add(1) == Some(on_needle);
            let fits = match shape.open.is_empty() {
                true => takes == on_needle || but_one,
                false => rest && takes < on_needle,
            };
            seq.item_count() >= FEW && fits
        })
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
}

/// Whether rows begin with stitches that waited or are picked up, so that none need be left on the needles before.
fn begins_anew(kind: &StatementKind) -> bool {
    let (StatementKind::Rows { content: Content::Work(readings), .. }
    | StatementKind::Loose(Content::Work(readings))) = kind
    else {
        return false;
    };
    let first = readings.first().and_then(|(_, seq)| seq.first());
    matches!(first, Some(Item::Work(work)) if matches!(&*work.ops, [Op::Take | Op::Pu]))
}
