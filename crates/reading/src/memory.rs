//! What a stretch of text was read as, kept for the next time it is met.
//!
//! A text is read under several answers to book-wide questions, and again for each correction that is tried; most of
//! its stretches are the same each time, only further along. Stretches are therefore parsed as if they stood at the
//! beginning of the text, kept by their tokens, and moved to their place. Knows nothing of parsing.

use std::hash::{Hash, Hasher};
use std::rc::Rc;

use rustc_hash::{FxHashMap, FxHasher};

use crate::ast::Statement;
use crate::lattice::Answers;
use crate::lexer::Token;

/// The most stretches kept, so that a very long text does not fill the memory.
const KEPT: usize = 2_000;

/// Stretches already parsed.
#[derive(Debug, Default)]
pub struct Memory {
    stretches: FxHashMap<u64, Vec<Stretch>>,
    kept: usize,
}

/// What a stretch was read as, at the beginning of the text.
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
        let known = self.stretches.get(&key).into_iter().flatten();
        let mut same = known.filter(|stretch| stretch.tokens == tokens);
        if let Some(stretch) = same.find(|stretch| stretch.given == given(&stretch.parsed.asked, answers)) {
            return Rc::clone(&stretch.parsed);
        }
        let parsed = Rc::new(parse(&tokens));
        if self.kept < KEPT {
            self.kept += 1;
            let given = given(&parsed.asked, answers);
            self.stretches.entry(key).or_default().push(Stretch {
                tokens,
                given,
                parsed: Rc::clone(&parsed),
            });
        }
        parsed
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
