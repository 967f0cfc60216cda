//! Terms for which the link of the entry before still holds: "M means make one, T two together, and N, narrow".
//!
//! Knows how such a list goes on; the links themselves are found in `entries`.

use super::entries::{Entry, Finder, Link};
use super::marks::Mark;
use super::term::{Term, senses};

impl Finder<'_> {
    /// `(M means make one), T two together, and N, narrow`: the link of the entry before holds for more terms.
    pub(super) fn elliptic(&self, at: usize, floor: usize, entries: &[Entry]) -> Option<Entry> {
        entries.last().filter(|last| last.link == Link::Strong && last.explained.start == floor)?;
        if at >= self.tokens.len() {
            return None;
        }
        let (start, term) = self
            .terms
            .suffix(at, floor + 1)
            .or_else(|| self.after_semicolon(at, floor))
            .or_else(|| self.by_again(at, floor))?;
        let same_sentence = (floor + 1..=at).all(|at| self.before[at].mark < Mark::Period);
        let joins = |at: usize| matches!(self.tokens[at].text.as_str(), "and" | "while" | "whilst" | "by");
        let parted = self.before[start].mark >= Mark::Comma || joins(start - 1);
        // Between semicolons remarks may follow.
        let remarks = self.before[start].mark == Mark::Semicolon && self.before[at].mark == Mark::Comma;
        let ends = if remarks { Mark::Semicolon } else { Mark::Comma };
        let next = |end: &usize| {
            self.before[*end].mark >= ends || !remarks && joins(*end) && self.terms.abbreviation(end + 1)
        };
        let end = (at + 1..self.tokens.len()).find(next).unwrap_or(self.tokens.len());
        let told = self.explainer.understand(at..end)?;
        let in_term = |figure: usize| {
            let number = self.tokens[figure].number;
            number == Some(1) || (start..at).any(|at| self.tokens[at].number == number)
        };
        let letter = |at: usize| self.terms.abbreviation(at) && self.tokens[at].text != "a";
        let words_only = !(at..told.end).any(|at| letter(at) || self.is_figure(at) && !in_term(at));
        let whole = remarks || told.whole && told.end == end;
        (same_sentence && parted && whole && words_only).then(|| Entry {
            terms: vec![term],
            start,
            explained: at..end,
            next: at,
            sure: false,
            link: Link::Strong,
            worded: false,
            elliptic: true,
            naming: None,
        })
    }

    /// `(by T we mean ..., and) by N, ...`.
    fn by_again(&self, at: usize, floor: usize) -> Option<(usize, Term)> {
        let by = (floor + 1..at).rev().take(5).find(|&by| self.tokens[by].text == "by")?;
        let first = self.tokens[..floor].iter().rev().take(8).any(|token| token.text == "by");
        let [term] = <[Term; 1]>::try_from(self.terms.parse(by + 1..at, true)?).ok()?;
        (first && self.before[at].mark == Mark::Comma).then_some((by, Term { marked: true, ..term }))
    }

    /// "A single surjet is made by slipping 1, …; a double surjet by slipping 1, knitting 2 together, …".
    pub(super) fn made_by(&self, at: usize, floor: usize, entries: &[Entry]) -> Option<Entry> {
        let by = |at: usize| self.tokens.get(at).is_some_and(|token| token.text == "by");
        let last = entries.last().filter(|last| last.worded && last.explained.start == floor)?;
        let end = at.checked_sub(1).filter(|end| *end > floor && by(*end) && by(floor - 1))?;
        let start = (floor + 1..end).rev().find(|&start| self.before[start].mark >= Mark::Semicolon)?;
        let terms = self.terms.parse(start..end, true)?;
        let explained = self.body(at);
        let whole = self.before[start].mark < Mark::Period
            && self.explainer.told(explained.clone(), last.link)?.whole;
        whole.then(|| Entry {
            terms,
            start,
            next: at,
            explained,
            elliptic: true,
            naming: None,
            ..last.clone()
        })
    }

    /// A term that the lexicon knows, between a semicolon and a comma.
    fn after_semicolon(&self, at: usize, floor: usize) -> Option<(usize, Term)> {
        let start = (floor + 1..at).rev().find(|&start| self.before[start].mark == Mark::Semicolon)?;
        let [term] = <[Term; 1]>::try_from(self.terms.parse(start..at, true)?).ok()?;
        let known = !senses(self.terms.lexicon, &term).is_empty();
        ((known || term.marked) && self.before[at].mark == Mark::Comma).then_some((start, term))
    }
}
