//! Corrections under the answers to book-wide questions that a misprint may have swayed.

use reading::{Options, Reading};

use crate::patch::Patch;
use crate::purse::Shares;

use super::bench::{Bench, Guess, Trial, with_words_apart};
use super::tries::{one_for_each_outcome, without_needless};

/// A misprint may sway a book-wide question by so many nats.
const SWAYED: f64 = 12.0;
/// A text that raises more questions than these is corrected under the answers of the print alone: each would have to be
/// tried with each.
const QUESTIONS: usize = 2;
/// So many other answers are searched under.
const OTHER_ANSWERS: usize = 2;
/// So many of the best corrections are read once more with the book-wide questions open.
const READ_OPENLY: usize = 8;

/// The share of the purse that is spent when the best are read once more.
const OPENLY: f64 = 0.85;
/// All of it.
const ALL: f64 = 1.0;
/// The part of what is spent under one answer for which counts are searched.
const COUNTED: f64 = 0.6;

/// What may be spent on the search under the answers of the print, where so many questions are open.
pub(super) fn shares(questions: usize) -> Shares {
    let tried = if (1..=QUESTIONS).contains(&questions) { 0.6 } else { ALL };
    Shares { begun: 0.0, counted: tried * COUNTED, tried }
}

impl Bench<'_> {
    /// Corrections found under the answers that the print gave to book-wide questions, and under others that it might
    /// have given without its misprint. The best are read once more with all questions open, as the corrected text will
    /// be.
    pub(super) fn corrections_under_each_answer(&self) -> Vec<Trial> {
        let mut tried = self.corrections();
        if self.printed.decisions.len() > QUESTIONS {
            return tried;
        }
        let others = other_answers(self.asked.options, self.printed);
        let each = (OPENLY - self.shares.tried) / others.len().max(1) as f64;
        for (begun, options) in (0..).map(|at| self.shares.tried + each * f64::from(at)).zip(others) {
            let shares = Shares { begun, counted: begun + each * COUNTED, tried: begun + each };
            if !self.asked.purse.lasts(shares.tried) {
                continue;
            }
            let printed = self.study.read(self.words.text, &options);
            let printed = with_words_apart(self.reader, printed, self.words);
            let other = Bench::new(self.study, self.asked, self.words, &printed, (options, shares));
            tried.extend(other.corrections().into_iter().take(READ_OPENLY));
        }
        if self.printed.decisions.is_empty() {
            return tried;
        }
        tried.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        let mut seen: Vec<Vec<Patch>> = Vec::new();
        tried.retain(|trial| {
            let patches = trial.guess.patches();
            let new = !seen.contains(&patches);
            seen.push(patches);
            new
        });
        let rest = tried.split_off(READ_OPENLY.min(tried.len()));
        let openly = tried.into_iter().filter_map(|trial| match self.asked.purse.lasts(ALL) {
            true => self.attempt_openly(trial.guess),
            false => Some(trial),
        });
        let mut openly: Vec<Trial> = openly.filter(|trial| self.mends(trial)).chain(rest).collect();
        openly.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        without_needless(&mut openly);
        one_for_each_outcome(openly)
    }

    /// A guess tried under the answers that its own text gives when no question is settled. What its words say for an answer
    /// beforehand does not count: a correction is not right because it brings in such a word.
    pub(super) fn attempt_openly(&self, guess: Guess) -> Option<Trial> {
        if self.printed.decisions.is_empty() {
            return self.attempt(guess, &self.options, ALL);
        }
        let patched = self.patched(&guess).filter(|_| self.asked.purse.lasts(ALL))?;
        let open = self.study.read(&patched.text, self.asked.options);
        self.attempt(guess, &answered(self.asked.options, &open), f64::INFINITY)
    }
}

/// The answers of a reading to book-wide questions, given.
pub(super) fn answered(options: &Options, printed: &Reading) -> Options {
    let mut options = options.clone();
    for decision in &printed.decisions {
        if let Some((answer, _)) = decision.answers.first() {
            options.answers.entry(decision.question.clone()).or_insert_with(|| answer.clone());
        }
    }
    options
}

/// Those of a reading with one answer changed for another that costs little more.
fn other_answers(options: &Options, printed: &Reading) -> Vec<Options> {
    let mut others = Vec::new();
    for decision in &printed.decisions {
        let Some((_, least)) = decision.answers.first() else { continue };
        for (answer, cost) in decision.answers.iter().skip(1).filter(|(_, cost)| cost - least < SWAYED) {
            let mut other = options.clone();
            other.answers.insert(decision.question.clone(), answer.clone());
            others.push((cost - least, answered(&other, printed)));
        }
    }
    others.sort_by(|a, b| a.0.total_cmp(&b.0));
    others.into_iter().take(OTHER_ANSWERS).map(|(_, options)| options).collect()
}
