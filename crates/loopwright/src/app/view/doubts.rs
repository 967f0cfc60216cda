//! Everything to look at, in the order of the text: faults, misprints, questions, what was assumed, what was not read.

use std::collections::HashMap;

use reading::Decision;

use super::Subject;
use super::carry::Earlier;
use super::diff::Difference;
use crate::app::wire::{At, Change, Doubt, DoubtKind, DoubtOption, DoubtState};
use crate::choice::{Choice, Term, choices, sense_of};
use crate::remark::{Remark, RemarkKind, capital, remarks_but_corrections};
use crate::request::offered;

/// Nats by which an answer must be ahead of the next to count as sure: odds of 20 to 1.
const AHEAD: f64 = 3.0;
/// The longest text, in bytes, of which it is shown what every other answer would do.
const LONGEST: usize = 40_000;

impl Subject<'_> {
    /// All doubts in the order of the text.
    pub fn doubts(&self, terms: &[Term], earlier: Option<&Earlier>) -> Vec<Doubt> {
        let mut all: Vec<Doubt> = remarks_but_corrections(self.checked)
            .iter()
            .filter_map(|remark| Some(self.told_doubt(remark, kind(remark.kind)?)))
            .collect();
        all.extend(self.corrections(earlier));
        all.extend(self.open_questions(terms));
        all.extend(self.answered(terms));
        all.sort_by_key(|doubt| doubt.at.map_or((0, 0), |At(start, end)| (start + 1, end)));
        name_apart(&mut all);
        all
    }

    /// A remark as a doubt without options.
    pub fn told_doubt(&self, remark: &Remark, kind: DoubtKind) -> Doubt {
        Doubt {
            key: key(kind, remark),
            kind,
            place: remark.place.clone(),
            at: self.places.at(remark.span),
            title: remark.title(),
            why: capital(&remark.why),
            printed: remark.printed.clone(),
            options: Vec::new(),
            state: if kind == DoubtKind::Assumption { DoubtState::Settled } else { DoubtState::Open },
            piece: remark.row.map(|(piece, _)| piece as u32),
            row: remark.row.map(|(_, row)| row as u32),
            sure: false,
        }
    }

    /// Questions that the text leaves to be answered.
    fn open_questions(&self, terms: &[Term]) -> Vec<Doubt> {
        let reading = self.checked.reading();
        let open = reading.decisions.iter().filter(|decision| decision.answers.len() > 1);
        let choices = choices(self.checked, reading, terms);
        open.zip(choices).map(|(decision, choice)| self.open_question(decision, choice)).collect()
    }

    fn open_question(&self, decision: &Decision, choice: Choice) -> Doubt {
        let question = decision.question.clone();
        let least = decision.answers.first().map_or(0.0, |(_, cost)| *cost);
        let options = decision.answers.iter().zip(&choice.senses).enumerate();
        let options = options.map(|(place, ((answer, cost), sense))| {
            let mut option = self.answer(&question, answer, sense);
            option.chosen = place == 0;
            option.cost = Some(((cost - least) * 1000.0).round() / 1000.0);
            if place > 0 && self.checked.mending.searched && self.checked.source.text.len() <= LONGEST {
                let other = self.checked.read_for(&question, answer);
                let printed = &self.checked.mending.printed;
                option = option.with(Difference::of(printed, &other, None, self.given.terms));
            }
            option
        });
        let options = options.collect();
        let mut doubt = self.told_doubt(&Remark::from(choice), DoubtKind::Choice);
        (doubt.key, doubt.options) = (format!("choice/{question}"), options);
        if !is_open(decision) {
            (doubt.state, doubt.sure) = (DoubtState::Settled, true);
        }
        doubt
    }

    /// Questions that she answered herself.
    fn answered(&self, terms: &[Term]) -> Vec<Doubt> {
        let offered = offered(self.checked.lexicon());
        let answered = self.given.answers.iter().filter_map(|(question, answer)| {
            let answers = offered.get(question.as_str())?;
            let term = terms.iter().find(|term| term.question.as_ref() == Some(question));
            let words = term.map_or(question.as_str(), |term| term.term.as_str());
            let sense = sense_of(self.checked, question, answer);
            Some(Doubt {
                key: format!("choice/{question}"),
                kind: DoubtKind::Choice,
                place: String::new(),
                at: term.and_then(|term| self.places.at(term.span)),
                title: capital(&format!("{words} is {sense}")),
                why: String::new(),
                printed: Some(words.to_owned()),
                options: self.answers(question, answers, Some(answer)),
                state: DoubtState::Taken,
                piece: None,
                row: None,
                sure: false,
            })
        });
        answered.collect()
    }

    /// All answers to a question, and to leave it to the text where she gave one.
    pub fn answers(&self, question: &str, answers: &[&str], chosen: Option<&String>) -> Vec<DoubtOption> {
        let mut options: Vec<DoubtOption> = answers
            .iter()
            .map(|answer| {
                let sense = sense_of(self.checked, question, answer);
                let chosen = chosen.is_some_and(|chosen| chosen == answer);
                DoubtOption { chosen, ..self.answer(question, answer, &sense) }
            })
            .collect();
        if chosen.is_some() {
            options.push(DoubtOption {
                label: "Let the text decide".to_owned(),
                change: vec![Change::Answer { question: question.to_owned(), answer: None }],
                ..DoubtOption::default()
            });
        }
        options
    }

    fn answer(&self, question: &str, answer: &str, sense: &str) -> DoubtOption {
        let change = Change::Answer { question: question.to_owned(), answer: Some(answer.to_owned()) };
        DoubtOption { label: capital(sense), change: vec![change], ..DoubtOption::default() }
    }
}

impl DoubtOption {
    /// The option with what it changes.
    pub(super) fn with(self, difference: Difference) -> DoubtOption {
        DoubtOption { rows: difference.rows, patch: difference.patch, ..self }
    }
}

/// Whether another answer to a question is not far behind.
pub fn is_open(decision: &Decision) -> bool {
    matches!(decision.answers.as_slice(), [(_, best), (_, next), ..] if next - best < AHEAD)
}

/// Corrections and questions are told elsewhere.
fn kind(kind: RemarkKind) -> Option<DoubtKind> {
    match kind {
        RemarkKind::Fault => Some(DoubtKind::Fault),
        RemarkKind::Assumption => Some(DoubtKind::Assumption),
        RemarkKind::Unread => Some(DoubtKind::Unread),
        RemarkKind::Correction | RemarkKind::Choice => None,
    }
}

/// The same for the same doubt, wherever its words stand and whatever was decided.
fn key(kind: DoubtKind, remark: &Remark) -> String {
    match kind {
        DoubtKind::Fault => format!("fault/{}", remark.place),
        DoubtKind::Correction => format!("correction/{}", remark.place),
        DoubtKind::Choice => format!("choice/{}", remark.message),
        DoubtKind::Assumption => format!("assumption/{}/{}", remark.place, remark.message),
        DoubtKind::Unread => format!("unread/{}", remark.message),
    }
}

/// Numbers doubts that would have one key; what she decided keeps it, whatever a new search finds beside it.
fn name_apart(doubts: &mut [Doubt]) {
    let mut met: HashMap<String, usize> = HashMap::new();
    let is_decided = |doubt: &Doubt| matches!(doubt.state, DoubtState::Taken | DoubtState::Refused);
    let (decided, open): (Vec<&mut Doubt>, Vec<&mut Doubt>) =
        doubts.iter_mut().partition(|doubt| is_decided(doubt));
    for doubt in decided.into_iter().chain(open) {
        let count = met.entry(doubt.key.clone()).or_default();
        *count += 1;
        if *count > 1 {
            doubt.key = format!("{}/{count}", doubt.key);
        }
    }
}
