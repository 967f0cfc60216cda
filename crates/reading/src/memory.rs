//! What a stretch of text was read as, kept for the next time it is met.
//!
//! A text is read under several answers to book-wide questions, and again for each correction that is tried; most of
//! its stretches are the same each time, only further along, and rows told in the same words are but for their number.
//! Stretches are therefore kept by their tokens as a [`Place`](crate::place::Place) leaves them, which also brings back
//! what they say. Knows nothing of parsing.

use std::hash::{Hash, Hasher};
use std::rc::Rc;

use rustc_hash::{FxHashMap, FxHasher};

use crate::ast::Statement;
use crate::lattice::Answers;
use crate::lexer::Token;

/// The most stretches of one age, so that neither a very long text nor long use fills the memory.
const KEPT: usize = 2_000;

/// Stretches already parsed, in two ages: when the young are many, the old are forgotten and the young grow old. What is
/// met again becomes young.
#[derive(Debug, Default)]
pub struct Memory {
    young: Age,
    old: Age,
}

#[derive(Debug, Default)]
struct Age {
    stretches: FxHashMap<u64, Vec<Stretch>>,
    kept: usize,
}

/// What a stretch was read as, without its place.
#[derive(Debug)]
pub struct Parsed {
    /// Nats against it.
    pub cost: f64,
    /// What it says.
    pub statements: Vec<Statement>,
    /// The book-wide questions that its words raise.
    pub asked: Vec<String>,
}

#[derive(Debug)]
struct Stretch {
    tokens: Vec<Token>,
    given: Vec<Option<String>>,
    parsed: Rc<Parsed>,
}

impl Memory {
    /// The parse of a stretch under some answers: the one kept, or else what `parse` makes of it.
    pub fn recall(
        &mut self,
        tokens: Vec<Token>,
        answers: &Answers,
        parse: impl FnOnce(&[Token]) -> Parsed,
    ) -> Rc<Parsed> {
        let key = key(&tokens);
        if let Some(parsed) = self.young.find(key, &tokens, answers) {
            return parsed;
        }
        let parsed = self.old.find(key, &tokens, answers).unwrap_or_else(|| Rc::new(parse(&tokens)));
        if self.young.kept == KEPT {
            self.old = std::mem::take(&mut self.young);
        }
        let given = given(&parsed.asked, answers);
        self.young.keep(key, Stretch { tokens, given, parsed: Rc::clone(&parsed) });
        parsed
    }
}

impl Age {
    fn find(&self, key: u64, tokens: &[Token], answers: &Answers) -> Option<Rc<Parsed>> {
        let mut same = self.stretches.get(&key)?.iter().filter(|stretch| stretch.tokens == tokens);
        let stretch = same.find(|stretch| stretch.given == given(&stretch.parsed.asked, answers))?;
        Some(Rc::clone(&stretch.parsed))
    }

    fn keep(&mut self, key: u64, stretch: Stretch) {
        self.kept += 1;
        self.stretches.entry(key).or_default().push(stretch);
    }
}

fn key(tokens: &[Token]) -> u64 {
    let mut hasher = FxHasher::default();
    for token in tokens {
        token.text.hash(&mut hasher);
        token.span.hash(&mut hasher);
    }
    hasher.finish()
}

fn given(asked: &[String], answers: &Answers) -> Vec<Option<String>> {
    asked.iter().map(|question| answers.get(question).cloned()).collect()
}
