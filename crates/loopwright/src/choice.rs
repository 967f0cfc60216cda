//! The terms of a text with the senses they were read by, and the questions that hold for the whole of it.

use std::fmt::Write as _;

use loops::Op;
use notation::{From, SenseId};
use reading::{Decision, Item, PieceReading, Reading, Work};
use span::Span;

use crate::checked::Checked;

/// Where a sense comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// The book's own explanation.
    Glossary,
    /// The built-in senses.
    Notation,
    /// The arithmetic and the look of the fabric.
    Inferred,
    /// The user.
    Chosen,
}

/// A term with the sense it was read by.
#[derive(Clone, Debug, PartialEq)]
pub struct Term {
    /// The words, without a number before or after them.
    pub term: String,
    /// Where they stand first.
    pub span: Span,
    /// What they mean.
    pub sense: String,
    /// Who says so.
    pub origin: Origin,
    /// The question that they raise, if any.
    pub question: Option<String>,
}

/// A question of the whole text with what each answer would mean.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// The question as `--choose` takes it.
    pub question: String,
    /// The words it is about.
    pub term: String,
    /// Where they stand first; detached where the reading has none of them.
    pub span: Span,
    /// What the words mean under each answer, the one in force first.
    pub senses: Vec<String>,
    /// What speaks for it.
    pub why: String,
    /// How to take the next answer on the command line.
    pub way_out: Option<String>,
}

/// Every term that the reading uses, in the order of the work, each sense once.
pub fn terms(checked: &Checked, reading: &Reading) -> Vec<Term> {
    let mut uses = Vec::new();
    for work in reading.pieces.iter().flat_map(chosen_works) {
        let Some(id) = work.sense else { continue };
        if !uses.iter().any(|(other, ops, _): &(SenseId, _, Term)| *other == id && *ops == work.ops) {
            let term = term(checked, reading, &work, id);
            uses.push((id, work.ops, term));
        }
    }
    uses.into_iter().map(|(_, _, term)| term).collect()
}

/// The questions of the whole text that have more than one answer.
pub fn choices(checked: &Checked, reading: &Reading, terms: &[Term]) -> Vec<Choice> {
    let open = reading.decisions.iter().filter(|decision| decision.answers.len() > 1);
    open.map(|decision| choice(checked, decision, terms)).collect()
}

/// The sense of a question's answer in words; the answer itself where no sense stands for it.
pub fn sense_of(checked: &Checked, question: &str, answer: &str) -> String {
    let is_it = |choice: &(String, String)| choice.0 == question && choice.1 == answer;
    let sense = checked.lexicon().senses().find(|(_, sense)| sense.choice.as_ref().is_some_and(is_it));
    let ops = sense.and_then(|(_, sense)| sense.meaning.ops([None, None]));
    ops.map_or_else(|| answer.to_owned(), |(ops, _)| op_words(&ops))
}

/// The words that a sense was found for which is one answer to a question of the whole text, with the question.
pub fn uses(checked: &Checked, reading: &Reading) -> Vec<(Span, String)> {
    let works = reading.pieces.iter().flat_map(chosen_works);
    let asked = |work: Work| {
        let (question, _) = checked.lexicon().sense(work.sense?).choice.as_ref()?;
        Some((work.span, question.clone()))
    };
    works.filter_map(asked).collect()
}

fn term(checked: &Checked, reading: &Reading, work: &Work, id: SenseId) -> Term {
    let sense = checked.lexicon().sense(id);
    let question = sense.choice.as_ref().map(|(question, _)| question.clone());
    let asked = |question: &String| {
        reading.decisions.iter().any(|decision| decision.question == *question && decision.answers.len() > 1)
    };
    let origin = match &question {
        Some(question) if checked.is_told(question) => Origin::Glossary,
        Some(question) if checked.options.answers.contains_key(question) => Origin::Chosen,
        Some(question) if asked(question) => Origin::Inferred,
        _ => match sense.from {
            From::Notation => Origin::Notation,
            From::Glossary => Origin::Glossary,
            From::Chosen => Origin::Chosen,
        },
    };
    let span = without_number(work, &checked.source.text);
    Term { term: one_line(span.of(&checked.source.text)), span, sense: op_words(&work.ops), origin, question }
}

fn choice(checked: &Checked, decision: &Decision, terms: &[Term]) -> Choice {
    let used = terms.iter().find(|term| term.question.as_ref() == Some(&decision.question));
    let term = used.map_or_else(|| decision.question.clone(), |term| term.term.clone());
    let senses = decision.answers.iter().map(|(answer, _)| sense_of(checked, &decision.question, answer));
    Choice {
        question: decision.question.clone(),
        senses: senses.collect(),
        why: why(decision),
        way_out: decision
            .answers
            .get(1)
            .map(|(other, _)| format!("--choose {}={other} takes the other", decision.question)),
        span: used.map_or(Span::DETACHED, |term| term.span),
        term,
    }
}

impl Choice {
    /// The readings in words, the one in force first.
    pub fn readings(&self) -> Vec<String> {
        self.senses.iter().map(|sense| format!("{} is {sense}", self.term)).collect()
    }
}

/// What the costs say, as odds: they are natural logarithms of them.
fn why(decision: &Decision) -> String {
    /// Odds above this are not worth a figure.
    const PLAIN: f64 = 1000.0;
    let [(_, best), (_, next), ..] = decision.answers.as_slice() else { return String::new() };
    let odds = (next - best).exp();
    let mut why = match odds {
        odds if odds < 2.0 => "the text hardly tells the two apart".to_owned(),
        odds if odds < PLAIN => format!(
            "the odds are about {odds:.0} to 1, by the custom of such books and by how the rows come out"
        ),
        _ => "the odds are more than 1000 to 1, by the custom of such books and by how the rows come out"
            .to_owned(),
    };
    for reason in &decision.why {
        let _ = write!(why, "; {reason}");
    }
    why
}

/// Everything that the chosen readings of the rows ask for, in order; rows that share a reading share its words.
fn chosen_works(piece: &PieceReading) -> Vec<Work> {
    let mut works = Vec::new();
    for (row, chosen) in piece.chain.iter().zip(&piece.path.rows) {
        if let Some(candidate) = row.candidates.get(chosen.candidate) {
            collect(candidate.seq.items(), &mut works);
        }
    }
    works
}

fn collect(items: Vec<Item>, works: &mut Vec<Work>) {
    for item in items {
        match item {
            Item::Work(work) => works.push(work),
            Item::Group { body, .. } => collect(body.items(), works),
            // Whatever else a row holds was read by no sense.
            _ => {}
        }
    }
}

/// The span of a phrase less the number at either end of it.
fn without_number(work: &Work, text: &str) -> Span {
    let (span, Some(number)) = (work.span, work.number) else { return work.span };
    if number.is_detached() || !span.covers(number) || number == span {
        return span;
    }
    let range = if number.end == span.end {
        span.start as usize..number.start as usize
    } else if number.start == span.start {
        number.end as usize..span.end as usize
    } else {
        return span;
    };
    let Some(words) = text.get(range.clone()) else { return span };
    let is_kept = |c: char| c.is_alphanumeric();
    match (words.find(is_kept), words.rfind(is_kept)) {
        (Some(first), Some(last)) => {
            let end = last + words[last..].chars().next().map_or(0, char::len_utf8);
            Span::new(range.start + first, range.start + end)
        }
        _ => span,
    }
}

fn op_words(ops: &[Op]) -> String {
    ops.iter().map(|op| chart::words(*op)).collect::<Vec<_>>().join(", ")
}

/// Words on one line, whatever stands between them.
pub fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
