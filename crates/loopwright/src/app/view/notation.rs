//! The senses in force: what each term means, who says so, and how to change it.

use super::Subject;
use crate::app::wire::{Origin, Sense};
use crate::choice::{self, Term, sense_of};
use crate::request::offered;

impl Subject<'_> {
    /// Every term that the reading uses, and the questions whose answer shows in none of them.
    pub fn notation(&self, terms: &[Term]) -> Vec<Sense> {
        let offered = offered(self.checked.lexicon());
        let options = |question: &str, in_force: Option<&String>| {
            let answers = offered.get(question).map_or(&[][..], Vec::as_slice);
            let given = self.given.answers.get(question);
            let mut options = self.answers(question, answers, given);
            for (option, answer) in options.iter_mut().zip(answers) {
                option.chosen = given.or(in_force).is_some_and(|chosen| chosen == answer);
            }
            options
        };
        let decisions = &self.checked.reading().decisions;
        let in_force = |question: &str| {
            let decision = decisions.iter().find(|decision| decision.question == question);
            let read = decision.and_then(|decision| decision.answers.first()).map(|(answer, _)| answer);
            read.or_else(|| self.checked.options.answers.get(question))
        };
        let used = terms.iter().map(|term| Sense {
            term: term.term.clone(),
            sense: term.sense.clone(),
            from: origin(term.origin),
            at: self.places.at(term.span),
            question: term.question.clone(),
            options: term
                .question
                .as_ref()
                .map_or_else(Vec::new, |question| options(question, in_force(question))),
        });
        let is_silent = |question: &str| !terms.iter().any(|term| term.question.as_deref() == Some(question));
        let silent = decisions
            .iter()
            .filter(|decision| decision.answers.len() > 1 && is_silent(&decision.question))
            .filter_map(|decision| {
                let (answer, _) = decision.answers.first()?;
                Some(Sense {
                    term: decision.question.clone(),
                    sense: sense_of(self.checked, &decision.question, answer),
                    from: Origin::Inferred,
                    at: None,
                    question: Some(decision.question.clone()),
                    options: options(&decision.question, Some(answer)),
                })
            });
        used.chain(silent).collect()
    }
}

fn origin(origin: choice::Origin) -> Origin {
    match origin {
        choice::Origin::Glossary => Origin::Glossary,
        choice::Origin::Notation => Origin::Notation,
        choice::Origin::Inferred => Origin::Inferred,
        choice::Origin::Chosen => Origin::Chosen,
    }
}
