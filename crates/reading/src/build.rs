//! Builds statements from the forest: one function for each action of the grammar.
//!
//! An action gives no value where its parts do not go together (`knit 9 together`), so that such a parse falls
//! away without a word.

use std::hash::{DefaultHasher, Hash, Hasher};
use std::rc::Rc;

use loops::{Cross, Op, Side};
use notation::{Context, Lexicon, Meaning};
use span::Span;

use crate::ast::{
    Again, AgainTimes, CastOn, Content, Item, Seen, Seq, Statement, StatementKind, Until, Work,
};
use crate::forest::{Build, Edge, WIDTH};
use crate::grammar::Terminal;
use crate::lattice::{Leaf, Payload};
use crate::rowset::{RowSet, Which};
use crate::rowwork::context_cost;

/// The most that a group may be worked, so that a misread number cannot fill the memory.
const TIMES_LIMIT: u32 = 5_000;

/// Nats against repeating one instruction across the row where no mark says so. Guess: one knits "to the end".
const ONE_REPEATED: f64 = 0.6;

/// Nats against several yarn overs side by side where a number of times is said. Guess.
const OVER_AND_OVER: f64 = 2.0;

/// The most needles that are told one by one.
const NEEDLES: u32 = 20;

/// What a part of the forest stands for.
#[derive(Clone, Debug)]
pub enum Value {
    /// A terminal.
    Leaf(u32),
    /// A sequence of things to do.
    Seq(Seq),
    /// How often.
    Until(Until, Span),
    /// The readings of a row.
    Choices(Rc<Vec<(f64, Seq)>>),
    /// One statement.
    Statement(Rc<Statement>),
    /// Statements one after the other: the earlier ones, and the last.
    Chain(Option<Rc<Value>>, Rc<Statement>),
    /// Words not understood.
    Junk(Span),
}

/// Builds values from a lattice's leaves.
pub struct Builder<'a> {
    /// The senses.
    pub lexicon: &'a Lexicon,
    /// The lattice's payloads.
    pub leaves: &'a [Leaf],
    /// Terminal names the builder tells apart.
    pub marks: Marks,
}

/// Terminals that an action has to tell apart.
#[derive(Clone, Copy, Debug)]
pub struct Marks {
    /// "divisible by".
    pub div: Terminal,
    /// "and over".
    pub plus: Terminal,
    /// "for each edge".
    pub plus_each: Terminal,
    /// "any even number".
    pub even: Terminal,
    /// "any uneven number".
    pub uneven: Terminal,
    /// "for each pattern".
    pub per_pattern: Terminal,
    /// "on each of three needles".
    pub per_needle: Terminal,
    /// "20 on the third".
    pub each_needle: Terminal,
    /// "join".
    pub round: Terminal,
    /// "times more".
    pub more: Terminal,
}

type Built = Vec<(f64, Value)>;

impl Build for Builder<'_> {
    type Value = Value;

    fn edge(&mut self, edge: &Edge) -> Value {
        Value::Leaf(edge.payload)
    }

    fn rule(&mut self, action: &str, parts: &[Value]) -> Built {
        self.sequence_action(action, parts)
            .or_else(|| self.until_action(action, parts))
            .or_else(|| self.statement_action(action, parts))
            .or_else(|| self.cast_on_action(action, parts))
            .unwrap_or_default()
    }

    fn gather(&mut self, _: &str, readings: Vec<(f64, Value)>) -> Vec<(f64, Value)> {
        let Some(least) = readings.first().map(|(cost, _)| *cost) else { return Vec::new() };
        let seqs = readings.into_iter().filter_map(|(cost, value)| match value {
            Value::Seq(seq) => Some((cost - least, seq)),
            _ => None,
        });
        vec![(least, Value::Choices(Rc::new(seqs.collect())))]
    }

    fn width(&self, value: &Value) -> usize {
        match value {
            Value::Seq(_) => WIDTH,
            Value::Leaf(_) | Value::Until(..) | Value::Choices(_) => 4,
            Value::Statement(_) => 2,
            Value::Chain(..) | Value::Junk(_) => 1,
        }
    }

    fn likeness(&self, value: &Value) -> u64 {
        let mut hasher = DefaultHasher::new();
        self.hash(value, &mut hasher);
        hasher.finish()
    }
}

fn one(value: Value) -> Option<Built> {
    Some(vec![(0.0, value)])
}

impl Builder<'_> {
    fn hash(&self, value: &Value, hasher: &mut DefaultHasher) {
        match value {
            Value::Leaf(index) => index.hash(hasher),
            Value::Seq(seq) => seq.shape().hash(hasher),
            Value::Until(until, _) => until.hash(hasher),
            Value::Choices(choices) => choices.first().map(|(_, seq)| seq.shape()).hash(hasher),
            Value::Junk(_) => 0.hash(hasher),
            Value::Statement(statement) => hash_statement(statement, hasher),
            Value::Chain(head, last) => {
                if let Some(head) = head {
                    self.hash(head, hasher);
                }
                if statement_matters(last) {
                    hash_statement(last, hasher);
                }
            }
        }
    }

    fn leaf(&self, value: &Value) -> Option<&Leaf> {
        match value {
            Value::Leaf(index) => self.leaves.get(*index as usize),
            _ => None,
        }
    }

    fn span(&self, value: &Value) -> Span {
        match value {
            Value::Leaf(_) => self.leaf(value).map_or(Span::DETACHED, |leaf| leaf.span),
            Value::Seq(seq) => seq.span(),
            Value::Until(_, span) | Value::Junk(span) => *span,
            Value::Choices(choices) => choices.first().map_or(Span::DETACHED, |(_, seq)| seq.span()),
            Value::Statement(statement) => statement.span,
            Value::Chain(head, last) => {
                head.as_ref().map_or(Span::DETACHED, |head| self.span(head)).to(last.span)
            }
        }
    }

    fn spans(&self, values: &[Value]) -> Span {
        values.iter().fold(Span::DETACHED, |all, value| all.to(self.span(value)))
    }

    fn numbers(&self, value: &Value) -> ([Option<u32>; 2], Option<Span>) {
        match self.leaf(value).map(|leaf| &leaf.payload) {
            Some(Payload::Idiom { numbers, number } | Payload::Sense { numbers, number, .. }) => {
                (*numbers, *number)
            }
            _ => ([None; 2], None),
        }
    }

    fn rows(&self, value: &Value) -> Option<RowSet> {
        match self.leaf(value).map(|leaf| &leaf.payload) {
            Some(Payload::Rows(rows)) => Some(rows.clone()),
            _ => None,
        }
    }

    /// The operation of a whole-row or to-the-end phrase.
    fn row_op(&self, value: &Value) -> Option<Op> {
        match self.leaf(value).map(|leaf| &leaf.payload) {
            Some(Payload::Sense { sense, .. }) => match self.lexicon.sense(*sense).meaning {
                Meaning::Row(op) | Meaning::Rest(op) => Some(op),
                _ => None,
            },
            _ => None,
        }
    }

    fn side(&self, values: &[Value]) -> Option<Side> {
        values.iter().find_map(|value| match value {
            Value::Leaf(_) => match self.leaf(value).map(|leaf| &leaf.payload) {
                Some(Payload::Idiom { numbers: [Some(1), _], .. }) => Some(Side::Right),
                Some(Payload::Idiom { numbers: [Some(2), _], .. }) => Some(Side::Wrong),
                _ => None,
            },
            _ => None,
        })
    }

    fn sequence_action(&mut self, action: &str, parts: &[Value]) -> Option<Built> {
        let seq = |value: &Value| match value {
            Value::Seq(seq) => Some(seq.clone()),
            _ => None,
        };
        let until = |value: &Value| match value {
            Value::Until(until, span) => Some((*until, *span)),
            _ => None,
        };
        let group = |body: Seq, until: Until, span: Span| {
            one(Value::Seq(Seq::one(Item::Group { body, until, span })))
        };
        let first_seq = || parts.iter().find_map(seq);
        let last_until = || parts.iter().rev().find_map(until);
        match action {
            "first" => one(parts.first()?.clone()),
            "second" => one(parts.get(1)?.clone()),
            "last" => one(parts.last()?.clone()),
            "cat" => {
                let (cost, all) = self.joined(parts.iter().filter_map(seq))?;
                Some(vec![(cost, Value::Seq(all))])
            }
            "passing_over" => {
                let (cost, all) = self.joined(parts.iter().filter_map(seq))?;
                Some(vec![(cost, Value::Seq(all.passing_over()))])
            }
            "stitch" => self.stitch(&parts[0]),
            "move" => match &self.leaf(&parts[0])?.payload {
                Payload::Sense { sense, .. } => match self.lexicon.sense(*sense).meaning {
                    Meaning::Move(to) => one(Value::Seq(Seq::one(Item::Move(to, self.span(&parts[0]))))),
                    _ => None,
                },
                _ => None,
            },
            "rest" => {
                let all = parts.last()?;
                one(Value::Seq(Seq::one(Item::Rest {
                    op: self.row_op(all)?,
                    until: Until::End,
                    span: self.span(all),
                })))
            }
            "let_fall" => {
                let op = self.row_op(&parts[0])?;
                one(Value::Seq(Seq::one(Item::LetFall(op, self.spans(parts)))))
            }
            "rest_to" => {
                let op = self.row_op(&parts[0])?;
                let left = self.numbers(&parts[1]).0[0]?;
                one(Value::Seq(Seq::one(Item::Rest {
                    op,
                    until: Until::Left(left),
                    span: self.spans(parts),
                })))
            }
            "all_but" => {
                let left = self.numbers(&parts[0]).0[0]?;
                let rest = Item::Rest { op: Op::Bo, until: Until::Left(left), span: self.span(&parts[0]) };
                one(Value::Seq(Seq::one(rest)))
            }
            "all_but_these" => {
                let left = self.numbers(&parts[0]).0[0].filter(|left| *left <= TIMES_LIMIT)?;
                let off = Item::Rest { op: Op::Bo, until: Until::Left(left), span: self.span(&parts[0]) };
                let rest = parts.last()?;
                let (op, span) = (self.row_op(rest)?, self.span(rest));
                let kept = Work { ops: Rc::from([op]), times: left, span, number: None, sense: None };
                one(Value::Seq(Seq::of([off, Item::Work(kept)])?))
            }
            "cast_more" => {
                let (numbers, number) = self.numbers(&parts[0]);
                let times = numbers[0].filter(|n| (1..=TIMES_LIMIT).contains(n))?;
                let span = self.span(&parts[0]);
                let work = Work { ops: Rc::from([Op::Co]), times, span, number, sense: None };
                one(Value::Seq(Seq::one(Item::Work(work))))
            }
            "cable" => self.cable(parts),
            "seen" => {
                let seen =
                    if self.numbers(&parts[0]).0[0] == Some(0) { Seen::AsItShows } else { Seen::Against };
                one(Value::Seq(Seq::one(Item::Seen(seen, self.span(&parts[0])))))
            }
            "last_plain" => {
                let (numbers, number) = self.numbers(&parts[0]);
                let work = Work {
                    ops: Rc::from([Op::K]),
                    times: numbers[0]?,
                    span: self.span(&parts[0]),
                    number,
                    sense: None,
                };
                one(Value::Seq(Seq::one(Item::Work(work))))
            }
            "bracket_times" | "bracket_until" | "seq_times" | "star_times" | "star_until" => {
                let (until, span) = last_until().unwrap_or((Until::End, Span::DETACHED));
                let body = first_seq()?;
                if action == "seq_times" && (body.shape().open.is_empty() == matches!(until, Until::End)) {
                    return None;
                }
                // A number after a list is likelier to mean its last member than all of it.
                let long = match action {
                    // A thread thrown over twice is one long loop, not two.
                    "seq_times" if is_over(&body) => OVER_AND_OVER,
                    "seq_times" => 0.06 * (body.item_count() - 1) as f64,
                    _ => 0.0,
                };
                let built = group(body, until, span)?;
                Some(built.into_iter().map(|(cost, value)| (cost + long, value)).collect())
            }
            "times_seq" => {
                let (until, span) = until(&parts[0])?;
                group(first_seq()?, until, span)
            }
            // Only what has members is worked by turns.
            "times_by_turns" => {
                let (until, span) = last_until()?;
                group(first_seq().filter(|body| body.item_count() > 1)?, until, span)
            }
            "by_turns_to_the_end" => {
                group(first_seq().filter(|body| body.item_count() > 1)?, Until::End, Span::DETACHED)
            }
            "unmarked_until" => {
                let (until, span) = last_until()?;
                let body = first_seq()?;
                if !body.shape().open.is_empty() || body.once_only() {
                    return None;
                }
                let short = if body.item_count() == 1 { ONE_REPEATED } else { 0.0 };
                let built = group(body, until, span)?;
                Some(built.into_iter().map(|(cost, value)| (cost + short, value)).collect())
            }
            "explained" => {
                let said = self.stitch(&parts[0])?;
                let Value::Seq(told) = &said.first()?.1 else { return None };
                (told.shape() == first_seq()?.shape()).then_some(said)
            }
            "implied_then" => {
                let head = seq(&parts[0])?;
                let tail = seq(&parts[1])?;
                let open =
                    Seq::one(Item::Group { body: head.clone(), until: Until::End, span: Span::DETACHED });
                head.shape().open.is_empty().then(|| one(Value::Seq(open.and(&tail)))).flatten()
            }
            "implied" => {
                let body = first_seq()?;
                let group = |body: Seq, until, span| {
                    let over = body.passes_over();
                    let seq = Seq::one(Item::Group { body, until, span });
                    one(Value::Seq(if over { seq.passing_over() } else { seq }))
                };
                (body.shape().open.is_empty() && !body.once_only())
                    .then(|| group(body, Until::End, Span::DETACHED))
                    .flatten()
            }
            "modified" => self.modified(&parts[0], &parts[1]),
            _ => None,
        }
    }

    /// Stretches one after the other, with what speaks against their standing so.
    fn joined(&self, parts: impl Iterator<Item = Seq>) -> Option<(f64, Seq)> {
        let join = |(cost, all): (f64, Seq), (more, next): (f64, Seq)| {
            (cost + more + context_cost(&all, &next, self.lexicon), all.and(&next))
        };
        parts.map(|seq| (0.0, seq)).reduce(join)
    }

    fn stitch(&self, value: &Value) -> Option<Built> {
        let leaf = self.leaf(value)?;
        let Payload::Sense { sense, numbers, number } = &leaf.payload else { return None };
        let (ops, times) = self.lexicon.sense(*sense).meaning.ops(*numbers)?;
        // "1 chain" is the edge stitch; only more than one are cast off.
        let chain = self.lexicon.sense(*sense).context == Some(Context::Chain);
        if times == 0 || times > TIMES_LIMIT || chain && times < 2 {
            return None;
        }
        let work = Work { ops: ops.into(), times, span: leaf.span, number: *number, sense: Some(*sense) };
        one(Value::Seq(Seq::one(Item::Work(work))))
    }

    /// "Slip 3 on a spare needle, keep it in front, knit 3, then knit the 3 from the spare needle". Without a word
    /// on where the needle hangs it is before the work: the needle is at hand there, common practice.
    fn cable(&self, parts: &[Value]) -> Option<Built> {
        let held = u8::try_from(self.numbers(&parts[0]).0[0]?).ok().filter(|held| *held > 0)?;
        let worked = parts.iter().find_map(|part| match part {
            Value::Seq(seq) => Some(seq.clone()),
            _ => None,
        })?;
        let items = worked.items();
        let [Item::Work(work)] = items.as_slice() else { return None };
        let (purl, plain) = (*work.ops == [Op::P], *work.ops == [Op::K]);
        let front = self.numbers(&parts[1]).0[0] != Some(2);
        let held_purl = self.numbers(parts.last()?).0[0] == Some(2);
        let width = u8::try_from(work.times).ok().filter(|width| *width > 0 && (purl || plain))?;
        let cross = Op::Cross(Cross { held, worked: width, front, held_purl, worked_purl: purl });
        let span = self.spans(parts);
        one(Value::Seq(Seq::one(Item::Work(Work {
            ops: Rc::from([cross]),
            times: 1,
            span,
            number: None,
            sense: None,
        }))))
    }

    /// "Knit one row, decreasing one stitch at each end".
    fn modified(&self, all: &Value, ends: &Value) -> Option<Built> {
        let op = self.row_op(all)?;
        let Value::Until(Until::Times(times), span) = ends else { return None };
        let narrow = if op == Op::P { Op::P2tog } else { Op::K2tog };
        let end = Item::Work(Work {
            ops: Rc::from([narrow]),
            times: *times,
            span: *span,
            number: None,
            sense: None,
        });
        let middle = Item::Rest { op, until: Until::End, span: self.span(all) };
        one(Value::Seq(Seq::of([end.clone(), middle, end])?))
    }

    fn until_action(&mut self, action: &str, parts: &[Value]) -> Option<Built> {
        let span = self.spans(parts);
        let printed =
            || parts.iter().rev().find_map(|part| self.numbers(part).0[0]).filter(|n| *n <= TIMES_LIMIT);
        let until = |times: u32| Value::Until(Until::Times(times), span);
        match action {
            "exactly" => one(until(printed().filter(|n| *n > 0)?)),
            "more" => one(until(printed()? + 1)),
            "more_or_all" => {
                let n = printed().filter(|n| *n > 0)?;
                Some(vec![(0.2, until(n + 1)), (1.2, until(n))])
            }
            "to_end" => one(Value::Until(Until::End, span)),
            "to_last" => one(Value::Until(Until::Left(printed()?), span)),
            "pair" => one(Value::Until(Until::Left(printed()?), span)),
            "ends" => one(until(printed().unwrap_or(1))),
            _ => None,
        }
    }

    fn statement_action(&mut self, action: &str, parts: &[Value]) -> Option<Built> {
        let span = self.spans(parts);
        let say = |kind: StatementKind| one(Value::Statement(Rc::new(Statement { kind, span })));
        let choices = || {
            parts.iter().rev().find_map(|part| match part {
                Value::Choices(choices) => Some(Content::Work(Rc::clone(choices))),
                _ => None,
            })
        };
        let rows_at = |nth: usize| parts.iter().filter_map(|part| self.rows(part)).nth(nth);
        let whole = |op: Op, span: Span| {
            let rest = Seq::one(Item::Rest { op, until: Until::End, span });
            Content::Work(Rc::new(vec![(0.0, rest)]))
        };
        let side = self.side(parts);
        // The count that stands last, if the text states one.
        let stated = || {
            let (numbers, number) = self.numbers(parts.last()?);
            Some((numbers[0]?, number?))
        };
        let rows = |rows: RowSet, content: Content, count: Option<(u32, Span)>| StatementKind::Rows {
            rows,
            content,
            side,
            count,
        };
        match action {
            "junk" => say(StatementKind::Unread),
            "both" => one(Value::Junk(span)),
            "count" => say(StatementKind::Count(self.numbers(&parts[0]).0[0]?)),
            "count_beside" => say(StatementKind::Count(self.numbers(&parts[1]).0[0]?)),
            "go_on" => {
                let until = match &parts[0] {
                    Value::Until(Until::Left(n), _) => Some(*n),
                    _ => None,
                };
                say(StatementKind::GoOn(until))
            }
            "edges" => {
                say(StatementKind::Edges(self.numbers(&parts[0]).0[0].filter(|n| (1..=12).contains(n))?))
            }
            "edge" => say(StatementKind::SlipEdge),
            "in_the_round" => say(StatementKind::Round),
            "note" => say(StatementKind::Note),
            "back_and_forth" => {
                let n = self.numbers(&parts[0]).0[0]?;
                let counted = RowSet { which: Which::Count(n), round: false, explicit: true, span };
                say(rows(counted, whole(Op::K, span), None))
            }
            "row" => say(rows(rows_at(0)?, choices()?, None)),
            "row_count" => say(rows(rows_at(0)?, choices()?, stated())),
            "rows_by_verb" => say(rows(rows_at(0)?, choices()?, None)),
            "like_but" => match choices()? {
                Content::Work(seqs) => say(rows(rows_at(0)?, Content::LikeBut(rows_at(1)?, seqs), None)),
                _ => None,
            },
            "like" | "like_after" => say(rows(rows_at(0)?, Content::Like(Some(rows_at(1)?)), stated())),
            "like_before" => say(rows(rows_at(0)?, Content::Like(None), None)),
            "row_named_after" => {
                let op = parts
                    .iter()
                    .rev()
                    .find_map(|part| self.row_op(part))
                    .or_else(|| self.row_op(&parts[0]))?;
                let ends = parts.iter().find(|part| matches!(part, Value::Until(..)));
                let content = match ends {
                    Some(ends) => match self.modified(&parts[0], ends)?.pop()?.1 {
                        Value::Seq(seq) => Content::Work(Rc::new(vec![(0.0, seq)])),
                        _ => return None,
                    },
                    None => whole(op, span),
                };
                say(rows(rows_at(0)?, content, None))
            }
            "row_told" => {
                let told = parts.iter().rev().find(|part| self.row_op(part).is_some())?;
                say(rows(rows_at(0)?, whole(self.row_op(told)?, self.span(told)), None))
            }
            "told_like" => say(rows(rows_at(0)?, Content::Like(Some(rows_at(1)?)), None)),
            "by_turns" => {
                let ops: Vec<Op> = parts.iter().filter_map(|part| self.row_op(part)).collect();
                let last = parts.iter().rev().find_map(|part| self.rows(part))?;
                say(rows(last, Content::Turns(ops), None))
            }
            "loose_line" => say(StatementKind::Line(whole(self.row_op(&parts[0])?, span), 1)),
            "loose_line_twice" => say(StatementKind::Line(whole(self.row_op(&parts[0])?, span), 2)),
            "loose_row" => say(StatementKind::Loose(choices()?)),
            "return_rows" => say(StatementKind::Returns { after: rows_at(0)?, content: choices()? }),
            "return_rows_of" => {
                let op = parts.iter().find_map(|part| self.row_op(part))?;
                let after = parts
                    .iter()
                    .filter_map(|part| self.rows(part))
                    .find(|rows| !matches!(rows.which, Which::Count(_)))?;
                say(StatementKind::Returns { after, content: whole(op, span) })
            }
            "return_like" => {
                say(StatementKind::Returns { after: rows_at(1)?, content: Content::Like(rows_at(0)) })
            }
            "every_row_same" => say(StatementKind::Again(Again { rows: None, from: false, times: None })),
            "again" | "again_times_first" | "again_range" => {
                let times = parts.iter().find_map(|part| match part {
                    Value::Until(Until::Times(n), _) => Some(*n),
                    _ => None,
                });
                let more = self.says_more(span);
                let times =
                    times.map(|n| AgainTimes { printed: if more { n.saturating_sub(1) } else { n }, more });
                let mut named = rows_at(0)?;
                if let (true, Some(to)) = (action == "again_range", rows_at(1)) {
                    let (Which::Numbers(from), Which::Numbers(to)) = (&named.which, &to.which) else {
                        return None;
                    };
                    let (first, last) = (*from.first()?, *to.last()?);
                    named.which =
                        Which::Numbers((first..=last.min(first.saturating_add(TIMES_LIMIT))).collect());
                }
                say(StatementKind::Again(Again { rows: Some(named), from: false, times }))
            }
            "again_in_all" | "again_more" | "again_total" => {
                let said = parts.iter().rev().find_map(|part| self.numbers(part).0[0])?;
                let named = rows_at(0)?;
                let printed = match (action, &named.which) {
                    ("again_more", _) => said,
                    ("again_total", Which::Last(rows) | Which::First(rows)) => {
                        (said / (*rows).max(1)).saturating_sub(1)
                    }
                    ("again_total", Which::Numbers(rows)) => (said / rows.len() as u32).saturating_sub(1),
                    ("again_total", _) => return None,
                    _ => parts.iter().find_map(|part| self.numbers(part).0[0])?.saturating_sub(1),
                };
                let times = Some(AgainTimes { printed: printed.min(TIMES_LIMIT), more: true });
                say(StatementKind::Again(Again { rows: Some(named), from: false, times }))
            }
            "again_from_times" => {
                let Value::Until(Until::Times(n), _) = parts.last()? else { return None };
                let printed = if self.says_more(span) { n.saturating_sub(1) } else { *n };
                let times = Some(AgainTimes { printed, more: true });
                say(StatementKind::Again(Again { rows: rows_at(0), from: true, times }))
            }
            "again_from" => say(StatementKind::Again(Again { rows: rows_at(0), from: true, times: None })),
            "again_from_start" => say(StatementKind::Again(Again { rows: None, from: true, times: None })),
            "and_then" => {
                let Value::Statement(last) = self.as_statement(parts.get(1)?)? else { return None };
                let head = match &parts[0] {
                    Value::Chain(..) => parts[0].clone(),
                    other => match self.as_statement(other)? {
                        Value::Statement(first) => Value::Chain(None, first),
                        _ => return None,
                    },
                };
                one(Value::Chain(Some(Rc::new(head)), last))
            }
            _ => None,
        }
    }

    /// Whether the words under a span say "more"; the times of such an idiom already count the first.
    fn says_more(&self, span: Span) -> bool {
        self.leaves.iter().any(|leaf| span.covers(leaf.span) && leaf.terminal == self.marks.more)
    }

    fn as_statement(&self, value: &Value) -> Option<Value> {
        match value {
            Value::Statement(_) => Some(value.clone()),
            Value::Junk(_) | Value::Leaf(_) => {
                let statement = Statement { kind: StatementKind::Unread, span: self.span(value) };
                Some(Value::Statement(Rc::new(statement)))
            }
            _ => None,
        }
    }

    fn cast_on_action(&mut self, action: &str, parts: &[Value]) -> Option<Built> {
        let span = self.spans(parts);
        let say = |cast_on: CastOn| {
            one(Value::Statement(Rc::new(Statement { kind: StatementKind::CastOn(cast_on), span })))
        };
        let before = |value: &Value| match value {
            Value::Statement(statement) => match &statement.kind {
                StatementKind::CastOn(cast_on) => Some(cast_on.clone()),
                _ => None,
            },
            _ => None,
        };
        match action {
            "cast_on" => {
                let (numbers, number) = self.numbers(&parts[0]);
                say(CastOn { count: numbers[0], count_span: number, ..CastOn::default() })
            }
            "cast_alone" => {
                let mut cast_on = CastOn::default();
                self.cast_bit(&mut cast_on, &parts[0]);
                say(cast_on)
            }
            "cast_word" => say(before(&parts[0])?),
            "cast_bit" => {
                let mut cast_on = before(&parts[0])?;
                self.cast_bit(&mut cast_on, &parts[1]);
                say(cast_on)
            }
            _ => None,
        }
    }

    fn cast_bit(&self, cast_on: &mut CastOn, bit: &Value) {
        let Some(leaf) = self.leaf(bit) else { return };
        let ([n, m], number) = self.numbers(bit);
        let marks = self.marks;
        if leaf.terminal == marks.div || leaf.terminal == marks.per_pattern {
            cast_on.of = n;
            cast_on.of_span = number;
        } else if leaf.terminal == marks.plus {
            cast_on.plus += n.unwrap_or(0);
        } else if leaf.terminal == marks.plus_each {
            cast_on.plus += 2 * n.unwrap_or(0);
        } else if leaf.terminal == marks.even {
            cast_on.of = cast_on.of.or(Some(2));
            cast_on.of_span = cast_on.of_span.or(Some(leaf.span));
        } else if leaf.terminal == marks.uneven {
            (cast_on.of, cast_on.plus) = (Some(2), 1);
            cast_on.of_span = Some(leaf.span);
        } else if leaf.terminal == marks.per_needle {
            cast_on.per_needle = n;
            cast_on.round = true;
        } else if leaf.terminal == marks.each_needle {
            let alike = m.filter(|m| (1..=NEEDLES).contains(m));
            match (n, alike, cast_on.count) {
                (Some(_), Some(alike), None) => {
                    (cast_on.count, cast_on.count_span, cast_on.per_needle) = (n, number, Some(alike));
                }
                (Some(n), Some(alike), Some(_)) => {
                    cast_on.needles.extend(std::iter::repeat_n(n, alike as usize));
                }
                _ => cast_on.needles.extend(n),
            }
            cast_on.round |= m.is_some() || n.is_none();
        } else if leaf.terminal == marks.round {
            cast_on.round = true;
        }
    }
}

/// Whether a sequence is one yarn over.
fn is_over(seq: &Seq) -> bool {
    matches!(seq.items().as_slice(), [Item::Work(work)] if *work.ops == [Op::Yo] && work.times == 1)
}

/// Whether two chains of statements differ in it.
fn statement_matters(statement: &Statement) -> bool {
    !matches!(statement.kind, StatementKind::Unread | StatementKind::Note)
}

fn hash_statement(statement: &Statement, hasher: &mut DefaultHasher) {
    std::mem::discriminant(&statement.kind).hash(hasher);
    if statement_matters(statement) {
        statement.span.hash(hasher);
    }
}
