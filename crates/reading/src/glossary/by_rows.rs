//! Explanations read by the grammar of the rows: what can be said in a row can also be said in an explanation.
//!
//! The short forms of explanations ("to narrow, two together") are read by the explainer; what they do not cover is read
//! here, with the book's own terms as far as they are known. Knows nothing of terms.

use std::cell::RefCell;
use std::collections::{BTreeMap, HashMap};
use std::ops::Range;
use std::sync::Arc;

use loops::Op;
use notation::Lexicon;

use super::data::{DATA, Told};
use crate::lattice::Answers;
use crate::lexer::{Gap, Token, TokenKind};
use crate::parser::Parser;

/// Nats at which words are no longer taken for a list of stitches. A guess.
const DEAREST: f64 = 0.95;
/// The most stitches of one term.
const MOST_OPS: usize = 120;
/// The most words of a name in full before a colon.
const NAME: usize = 4;
/// The most words of one explanation.
const LONGEST: usize = 60;

/// What some words tell to work.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Worked {
    /// The stitches.
    pub(super) ops: Vec<Op>,
    /// One past the last word that was needed.
    pub(super) end: usize,
}

/// Reads the words of one text as rows are read.
pub(super) struct ByRows<'a> {
    tokens: &'a [Token],
    lexicon: &'a Lexicon,
    parser: Arc<Parser>,
    answers: Answers,
    known: RefCell<HashMap<Range<usize>, Option<Vec<Op>>>>,
}

impl<'a> ByRows<'a> {
    /// With the senses of the book; none only if the data files compiled in are broken.
    pub(super) fn new(
        tokens: &'a [Token],
        lexicon: &'a Lexicon,
        answers: &BTreeMap<String, String>,
    ) -> Option<ByRows<'a>> {
        let parser = Parser::builtin().ok()?;
        let answers = answers.iter().map(|(question, answer)| (question.clone(), answer.clone())).collect();
        Some(ByRows { tokens, lexicon, parser, answers, known: RefCell::default() })
    }

    /// The stitches that the words tell, or as many of the words from the first as end where remarks may begin.
    pub(super) fn work(&self, range: Range<usize>) -> Option<Worked> {
        let first = range.clone().find(|&at| !self.leads(at))?;
        let first = self.when(first, range.end).unwrap_or(first);
        let kinds = |kind| self.tokens[first..range.end].iter().filter(|token| token.kind == kind).count();
        if range.end - first > LONGEST || kinds(TokenKind::Open) != kinds(TokenKind::Close) {
            return None;
        }
        // "Cross: knit the second stitch, then the first": the name in full, and how it is done.
        let colon = (first + 1..range.end.min(first + NAME)).find(|&at| self.tokens[at].gap == Gap::Colon);
        let named = |colon: &usize| {
            !self.tokens[first..*colon].iter().any(|token| DATA.no_term.contains(&token.text))
        };
        if let Some(told) = colon.filter(named).and_then(|colon| self.work(colon..range.end)) {
            return Some(told);
        }
        let ends =
            std::iter::once(range.end).chain((first + 1..range.end).rev().filter(|&at| self.pauses(at)));
        ends.into_iter().find_map(|end| Some(Worked { ops: self.stitches(first..end)?, end }))
    }

    /// "In the row coming back, purl these five together": where the work begins after a clause that only says when.
    fn when(&self, first: usize, end: usize) -> Option<usize> {
        const LONGEST: usize = 8;
        let opens = matches!(self.tokens[first].text.as_str(), "in" | "on" | "when");
        let parted = |at: &usize| self.tokens[*at].gap >= Gap::Comma;
        (first + 1..end.min(first + LONGEST)).find(parted).filter(|_| opens)
    }

    /// Words before the first stitch that tell nothing.
    fn leads(&self, at: usize) -> bool {
        matches!(self.tokens[at].text.as_str(), "to" | "you" | "by" | "thus" | "is" | "worked" | "made")
    }

    /// Whether a remark may begin here.
    fn pauses(&self, at: usize) -> bool {
        self.tokens[at].gap >= Gap::Semicolon || self.tokens[at].gap >= Gap::Comma && self.cuts(at)
    }

    /// Whether words begin here with which remarks begin.
    pub(super) fn cuts(&self, at: usize) -> bool {
        let printed: Vec<_> = self.tokens[at..]
            .iter()
            .take(6)
            .map(|token| token.printed(DATA.told.word(&token.text)))
            .collect();
        let mut cut = false;
        DATA.told.matches(&printed, 0, &mut |found| cut |= *DATA.telling(found.entry) == Told::Cut);
        cut
    }

    fn stitches(&self, range: Range<usize>) -> Option<Vec<Op>> {
        if let Some(known) = self.known.borrow().get(&range) {
            return known.clone();
        }
        let words = &self.tokens[range.clone()];
        let read = self.read(words).or_else(|| self.read(&imperative(words)?));
        self.known.borrow_mut().insert(range, read.clone());
        read
    }

    fn read(&self, words: &[Token]) -> Option<Vec<Op>> {
        let (cost, ops) = self.parser.steps(self.lexicon, words, &self.answers)?;
        (cost <= DEAREST && (1..=MOST_OPS).contains(&ops.len()) && is_piece(&ops)).then_some(ops)
    }
}

/// Whether it may be a piece of a row: nothing is cast on, turned or put by in it, and several stitches are not only
/// slipped, which begins something that is not understood.
fn is_piece(ops: &[Op]) -> bool {
    let outside = |op: &Op| matches!(op, Op::Co | Op::Turn | Op::Hold | Op::Take | Op::Pu);
    !ops.iter().any(outside) && (ops.len() == 1 || !ops.iter().all(|op| op.is_slip()))
}

/// "Knitting the second stitch, and then the first" as it is said in a row: "knit the second …".
fn imperative(words: &[Token]) -> Option<Vec<Token>> {
    const VERBS: [(&str, &str); 24] = [
        ("knitting", "knit"),
        ("purling", "purl"),
        ("pearling", "pearl"),
        ("seaming", "seam"),
        ("slipping", "slip"),
        ("taking", "take"),
        ("making", "make"),
        ("bringing", "bring"),
        ("throwing", "throw"),
        ("passing", "pass"),
        ("drawing", "draw"),
        ("putting", "put"),
        ("working", "work"),
        ("placing", "place"),
        ("leaving", "leave"),
        ("letting", "let"),
        ("keeping", "keep"),
        ("pulling", "pull"),
        ("lifting", "lift"),
        ("laying", "lay"),
        ("narrowing", "narrow"),
        ("casting", "cast"),
        ("binding", "bind"),
        ("crossing", "cross"),
    ];
    let mut changed = false;
    let said = |token: &Token| {
        let verb = VERBS.iter().find(|(going, _)| token.kind == TokenKind::Word && *going == token.text);
        changed |= verb.is_some();
        verb.map_or_else(|| token.clone(), |(_, verb)| Token { text: (*verb).to_owned(), ..token.clone() })
    };
    let words = words.iter().map(said).collect();
    changed.then_some(words)
}
