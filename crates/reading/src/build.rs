//! Builds statements from the forest: one function for each action of the grammar.
//!
//! An action gives no value where its parts do not go together (`knit 9 together`), so that such a parse falls
//! away without a word.

mod again;
mod casting;
mod like;
mod plain;
mod repeats;
mod sequence;
mod shaping;
mod slips;
mod spread;
mod statement;

use std::hash::{DefaultHasher, Hash, Hasher};
use std::rc::Rc;

use loops::{Cross, Face, Op, Side};
use notation::{Context, Lexicon, Meaning, SenseId};
use span::Span;

use self::slips::slipped_alike;
use crate::ast::{
    Again, AgainTimes, At, CastOn, Change, Content, Deed, Differs, EdgeRule, EdgesNamed, EdgesTold, Fall,
    Goal, Item, Model, Onward, Place, Seen, Seq, Shaping, SpreadTold, Statement, StatementKind, Stop, Until,
    Work,
};
use crate::forest::{Build, Edge, WIDTH};
use crate::grammar::Terminal;
use crate::lattice::{Leaf, Payload};
use crate::lexer::{Gap, Token};
use crate::needles::{MOST, Parts, Shares};
use crate::rowset::{RowSet, Which};
use crate::words::WORDS;

/// The most that a group may be worked, so that a misread number cannot fill the memory.
const TIMES_LIMIT: u32 = 5_000;

/// Nats against repeating one instruction across the row where no mark says so. Guess: one knits "to the end".
const ONE_REPEATED: f64 = 0.6;
/// Nats against a repeat that takes in the slipped stitch of the edge where no mark says so. A guess.
const EDGE_REPEATED: f64 = 1.5;

/// Nats against a sentence that ends with so many rows and names those that the next one tells. A guess.
const COUNT_ENDED: f64 = 4.0;

/// What a part of the forest stands for.
#[derive(Clone, Debug)]
pub enum Value {
    /// A terminal.
    Leaf(u32),
    /// A sequence of things to do.
    Seq(Seq),
    /// How often.
    Until(Until, Span),
    /// How rows go on.
    Onward(Onward, Span),
    /// Increases or decreases spread over a row.
    Spread(Rc<[SpreadTold]>, Span),
    /// What is done on one needle after the other.
    Parts(Rc<Vec<Seq>>),
    /// The readings of a row.
    Choices(Rc<Vec<(f64, Seq)>>),
    /// One statement.
    Statement(Rc<Statement>),
    /// Statements one after the other: the earlier ones, and the last.
    Chain(Option<Rc<Value>>, Rc<Statement>),
    /// Where a row differs from another.
    Differs(Differs, Span),
    /// In what it differs.
    Changes(Rc<[Change]>, Span),
    /// Words not understood.
    Junk(Span),
}

/// Builds values from a lattice's leaves.
pub struct Builder<'a> {
    /// The senses.
    pub lexicon: &'a Lexicon,
    /// The words.
    pub tokens: &'a [Token],
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
    /// "divide the stitches on needles".
    pub divided: Terminal,
    /// "and over".
    pub plus: Terminal,
    /// "for each edge".
    pub plus_each: Terminal,
    pub specimen: Terminal,
    pub begin_purl: Terminal,
    /// "Slipping the first."
    pub slipping_first: Terminal,
    pub with_number: Terminal,
    /// "The slip stitch."
    pub slipped_one: Terminal,
    /// "The made stitch."
    pub made_one: Terminal,
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
    /// "Until four remain on each needle".
    pub left_on_needle: Terminal,
    /// Stitches cast off at the beginning or end of rows.
    pub off_near: Terminal,
    /// Stitches cast on there.
    pub on_near: Terminal,
    /// So many of the stitches on the needle.
    pub on_part: Terminal,
    /// How far the last repeat goes.
    pub when_last: Terminal,
    /// How many are worked before what shapes the row at which a series ends.
    pub reaches: Terminal,
    /// A number by itself.
    pub number: Terminal,
    /// All stitches are worked.
    pub all_worked: Terminal,
    /// "until there are as many as were cast on".
    pub as_cast_on: Terminal,
    /// "Decrease".
    pub shrink: [Terminal; 2],
    /// "Knit two together".
    pub shrink_knit: Terminal,
    /// "Make".
    pub grow_over: Terminal,
    /// "At the beginning".
    pub begin: Terminal,
    /// "At the end".
    pub finish: Terminal,
    /// "At the end of each needle".
    pub needle_place: Terminal,
    /// "At each end".
    pub ends: Terminal,
    /// "In the middle", "on either side of the seam".
    pub placed: Terminal,
    /// "On either side of the eight middle stitches".
    pub beside: Terminal,
}

type Built = Vec<(f64, Value)>;

impl Build for Builder<'_> {
    type Value = Value;

    fn edge(&mut self, edge: &Edge) -> Value {
        Value::Leaf(edge.payload)
    }

    fn rule(&mut self, action: &str, parts: &[Value]) -> Built {
        self.sequence_action(action, parts)
            .or_else(|| self.repeat_action(action, parts))
            .or_else(|| self.spread_action(action, parts))
            .or_else(|| self.until_action(action, parts))
            .or_else(|| self.statement_action(action, parts))
            .or_else(|| self.plain_action(action, parts))
            .or_else(|| self.shaping_action(action, parts))
            .or_else(|| self.again_action(action, parts))
            .or_else(|| self.like_action(action, parts))
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
            Value::Leaf(_)
            | Value::Until(..)
            | Value::Onward(..)
            | Value::Spread(..)
            | Value::Choices(_)
            | Value::Differs(..)
            | Value::Changes(..)
            | Value::Parts(_) => 4,
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

/// One statement.
fn said(kind: StatementKind, span: Span) -> Option<Built> {
    one(Value::Statement(Rc::new(Statement { kind, span })))
}

/// What is said of rows that show this side, if one is named.
fn rows_of(side: Option<Side>) -> impl Fn(RowSet, Content, Option<(u32, Span)>) -> StatementKind {
    move |rows, content, count| StatementKind::Rows { rows, content, side, count }
}

/// The readings of the row told last among some parts.
fn told_last(parts: &[Value]) -> Option<Rc<Vec<(f64, Seq)>>> {
    all_told(parts).next_back()
}

/// The readings of all rows told among some parts, in their order.
fn all_told(parts: &[Value]) -> impl DoubleEndedIterator<Item = Rc<Vec<(f64, Seq)>>> {
    parts.iter().filter_map(|part| match part {
        Value::Choices(choices) => Some(with_slips_alike(choices)),
        _ => None,
    })
}

/// The same readings, each with its stitches slipped alike.
fn with_slips_alike(choices: &Rc<Vec<(f64, Seq)>>) -> Rc<Vec<(f64, Seq)>> {
    if !choices.iter().any(|(_, seq)| slipped_alike(seq).is_some()) {
        return Rc::clone(choices);
    }
    let alike = |seq: &Seq| slipped_alike(seq).unwrap_or_else(|| seq.clone());
    Rc::new(choices.iter().map(|(cost, seq)| (*cost, alike(seq))).collect())
}

/// The same of rows without a name; these do not begin with casting on: that begins the piece.
fn told_loose(parts: &[Value]) -> Option<Content> {
    let begins = |seq: &Seq| matches!(seq.first(), Some(Item::Work(work)) if *work.ops == [Op::Co]);
    let kept: Vec<_> = told_last(parts)?.iter().filter(|(_, seq)| !begins(seq)).cloned().collect();
    (!kept.is_empty()).then(|| Content::Work(Rc::new(kept)))
}

/// A whole row of one operation.
fn whole(op: Op, span: Span) -> Content {
    let rest = Seq::one(Item::Rest { op, until: Until::End, span });
    Content::Work(Rc::new(vec![(0.0, rest)]))
}

impl Builder<'_> {
    /// The sense of an instruction that holds in the rows of one side: what stands beside it tells which.
    fn one_sided(&self, item: &Item) -> Option<SenseId> {
        let Item::Work(work) = item else { return None };
        let sided =
            |id: &SenseId| matches!(self.lexicon.sense(*id).context, Some(Context::Plain | Context::Purled));
        work.sense.filter(sided)
    }

    fn hash(&self, value: &Value, hasher: &mut DefaultHasher) {
        match value {
            Value::Leaf(index) => index.hash(hasher),
            Value::Seq(seq) => {
                seq.shape().hash(hasher);
                [seq.first_item(), seq.last_item()].map(|item| self.one_sided(item)).hash(hasher);
            }
            Value::Until(until, _) => until.hash(hasher),
            Value::Onward(onward, _) => onward.hash(hasher),
            Value::Spread(told, _) => told.hash(hasher),
            Value::Choices(choices) => choices.first().map(|(_, seq)| seq.shape()).hash(hasher),
            Value::Differs(differs, _) => differs.hash(hasher),
            Value::Changes(changes, _) => {
                for change in changes.iter() {
                    change.at.hash(hasher);
                    change.told.first().map(|(_, seq)| seq.shape()).hash(hasher);
                }
            }
            Value::Junk(_) => 0.hash(hasher),
            Value::Parts(parts) => parts.iter().for_each(|part| part.shape().hash(hasher)),
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
            Value::Until(_, span)
            | Value::Onward(_, span)
            | Value::Spread(_, span)
            | Value::Differs(_, span)
            | Value::Changes(_, span)
            | Value::Junk(span) => *span,
            Value::Parts(parts) => parts.iter().fold(Span::DETACHED, |all, part| all.to(part.span())),
            Value::Choices(choices) => choices.first().map_or(Span::DETACHED, |(_, seq)| seq.span()),
            Value::Statement(statement) => statement.span,
            Value::Chain(head, last) => {
                head.as_ref().map_or(Span::DETACHED, |head| self.span(head)).to(last.span)
            }
        }
    }

    /// Whether some words speak of each of several.
    fn says_each(&self, words: Span) -> bool {
        let mut within = self.tokens.iter().filter(|token| words.covers(token.span));
        within.any(|token| matches!(token.text.as_str(), "each" | "every"))
    }

    /// Whether the words before these turn the work.
    fn turned_before(&self, words: Span) -> bool {
        let at = self.tokens.partition_point(|token| token.span.start < words.start);
        self.tokens[..at].last().is_some_and(|token| token.text == "turn")
    }

    /// What parts words from those before them.
    fn gap_before(&self, words: Span) -> Gap {
        let at = self.tokens.partition_point(|token| token.span.start < words.start);
        self.tokens.get(at).map_or(Gap::None, |token| token.gap)
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

    /// The first number of a phrase, if it is no more than anyone counts to.
    fn held(&self, value: &Value) -> Option<u32> {
        self.numbers(value).0[0].filter(|number| *number <= TIMES_LIMIT)
    }

    fn rows(&self, value: &Value) -> Option<RowSet> {
        match self.leaf(value).map(|leaf| &leaf.payload) {
            Some(Payload::Rows(rows)) => Some(rows.clone()),
            _ => None,
        }
    }

    /// "Knit two rows. Purl one, …": whether a verb tells rows that a sentence ends after.
    fn told_before(&self, parts: &[Value]) -> bool {
        let [verb, rows, ..] = parts else { return false };
        let told = self.row_op(verb).is_some() || self.numbers(verb).0[0] == Some(1);
        let counted =
            self.rows(rows).is_some_and(|rows| matches!(rows.which, Which::Count(_) | Which::Next(_)));
        told && counted && self.leaf(rows).is_some_and(|rows| rows.after >= Gap::Period)
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

    /// The so many-eth of the names of rows among some parts.
    fn rows_nth(&self, parts: &[Value], nth: usize) -> Option<RowSet> {
        parts.iter().filter_map(|part| self.rows(part)).nth(nth)
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
