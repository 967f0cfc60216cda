//! Terms that a comma, a point or nothing at all parts from their explanation: "o, over", "P. A plain stitch".
//!
//! Such a link is no proof: knows what must stand about the term for it to be one. Firm links are found in `entries`.

use std::ops::Range;

use notation::Meaning;

use super::data::DATA;
use super::entries::{Cue, Entry, Finder, Link};
use super::marks::Mark;
use super::term::{Term, senses};
use crate::lexer::TokenKind;
use crate::rowset::row_word;

impl Finder<'_> {
    /// The term before a comma, a point or nothing at all.
    pub(super) fn weak(&self, cue: Cue, floor: usize, entries: &[Entry]) -> Option<(Vec<Term>, usize)> {
        let end = cue.at;
        let mark = self.before[end].mark;
        if self.names_in_full(end) {
            return None;
        }
        if let Some(term) = self.terms.bracketed_letter(end - 1).filter(|_| mark < Mark::Comma) {
            return Some((vec![term], end - 1));
        }
        if let Some(known) = self.known_over_lines(end, floor).filter(|_| mark == Mark::Comma) {
            return Some(known);
        }
        let begins = |at: usize| self.before[at].mark >= Mark::Colon || self.before[at].line;
        let start = (floor..end)
            .rev()
            .find(|&at| begins(at) || self.before[at].mark == Mark::Comma || at == floor)?;
        let begins = begins(start);
        let start = self.in_capitals_from(start, end, floor);
        // "1 Row: M, knit 1" is work.
        let named = |row: usize| row_word(&self.tokens[row + 1]).is_some() && self.is_figure(row);
        if start.checked_sub(2).is_some_and(named) {
            return None;
        }
        if let Some(told) = self.said_what_for(start, end).filter(|_| mark == Mark::Comma) {
            return Some(told);
        }
        if let Some(names) = self.two_names(start, end).filter(|_| mark == Mark::Comma) {
            return Some(names);
        }
        if start == floor && floor > 0 && !begins {
            return None;
        }
        // "(Make 1, wool forward.)"
        let start = start + usize::from(mark == Mark::Comma && self.tokens[start].kind == TokenKind::Open);
        let one_word = end - start == 1;
        // "O., over; o. twice, over two times."
        let counted = matches!(self.tokens[end].text.as_str(), "twice" | "thrice");
        let head = &self.tokens[start].text;
        let known_by = |entry: &Entry| entry.terms.iter().any(|term| term.head() == *head);
        if counted && one_word && mark < Mark::Comma && entries.iter().any(known_by) {
            return None;
        }
        // "Right is the knitted stitch, left the purled one."
        let after_is = entries.last().is_some_and(|entry| {
            entry.link == Link::Middle && self.tokens[entry.explained.start - 1].text == "is"
        });
        let gapped = after_is && one_word && mark == Mark::None && self.tokens[end].text == "the";
        let listed = mark == Mark::Comma && self.in_a_list(start, end, entries);
        let capitals = mark == Mark::Comma && begins && self.terms.in_capitals(&(start..end));
        let point = mark == Mark::Point || mark == Mark::Period && self.before[end].stop;
        let shortened = point && self.is_shortened(start..end);
        let [term] =
            self.terms.parse(start..end, gapped || listed || capitals || shortened)?.try_into().ok()?;
        if term.short && mark == Mark::Comma && self.is_letter_alone(end) {
            return None;
        }
        let and_next = matches!(self.tokens[end].text.as_str(), "and" | "then" | "or");
        // "P. A plain stitch."
        let article = self.tokens[end].text == "a" && self.mark(end + 1) == Mark::None;
        let next_short = and_next || self.terms.abbreviation(end) && !article || self.is_figure(end);
        let known = !senses(self.terms.lexicon, &term).is_empty();
        let fits = if term.short {
            let listed = begins
                || one_word && entries.iter().any(|entry| entry.start < start && entry.link == Link::Weak);
            match mark {
                Mark::Comma => listed && !and_next,
                // "K (knit), P (purl)"
                Mark::None if self.tokens[end].kind == TokenKind::Open => one_word,
                // "CR. BACK, …" is one term.
                _ if point => listed && one_word && !next_short && !self.terms.in_capitals(&(start..end + 1)),
                Mark::None => {
                    term.head() != "a"
                        && self.before[start].line
                        && one_word
                        && !next_short
                        && self.one_line(end)
                }
                _ => false,
            }
        } else if mark == Mark::Comma {
            let opened = start > 0 && self.tokens[start - 1].kind == TokenKind::Open;
            let sentence = opened
                || self.before[start].mark >= Mark::Period
                || (term.verb && known || term.marked) && self.before[start].mark >= Mark::Semicolon;
            let no_count = term.number.is_none_or(|number| number == 1);
            let named = term.verb || known || term.marked || capitals;
            let said = sentence && no_count && named;
            (said || listed) && !and_next
        } else if shortened {
            self.is_whole(&self.body(end))
        } else {
            gapped
        };
        fits.then(|| (vec![term], start))
    }

    /// "D 1 over. Slip one, …", "Double dec. Slip one, …": whether words that begin a line have a letter or an abbreviation
    /// among them.
    fn is_shortened(&self, range: Range<usize>) -> bool {
        self.before[range.start].line && range.clone().any(|at| self.terms.abbreviation(at))
    }

    /// Where a term in capitals begins whose first word is shortened: "CR. BACK, …".
    fn in_capitals_from(&self, start: usize, end: usize, floor: usize) -> usize {
        let first = start.checked_sub(1).filter(|&at| at >= floor && self.before[start].stop);
        let whole = |at: &usize| self.terms.abbreviation(*at) && self.terms.in_capitals(&(*at..end));
        first.filter(whole).unwrap_or(start)
    }

    /// "K 2, o, k 3": whether nothing but a letter stands here, or one that is counted, which explains none.
    fn is_letter_alone(&self, at: usize) -> bool {
        let counted = at + 1 < self.tokens.len() && self.is_figure(at + 1);
        let next = at + 1 + usize::from(counted);
        let parted = next == self.tokens.len() || self.before[next].mark >= Mark::Comma;
        self.terms.abbreviation(at) && parted
    }

    /// "K., knit; intake, knit two together; take in 3, slip one, …": whether words in full stand between the semicolon after
    /// an entry and a comma, and all up to the next semicolon explains them: as many stitches as they name, if they do.
    fn in_a_list(&self, start: usize, end: usize, entries: &[Entry]) -> bool {
        const LONGEST: usize = 3;
        let after = entries.last().is_some_and(|last| last.link == Link::Weak && !last.elliptic);
        let other_name = DATA.other_names.contains(&self.tokens[start].text);
        if !after || other_name || self.before[start].mark != Mark::Semicolon || end - start > LONGEST {
            return false;
        }
        let parts = |at: &usize| self.before[*at].mark >= Mark::Semicolon;
        let next = (end + 1..self.tokens.len()).find(parts).unwrap_or(self.tokens.len());
        let told = self.explainer.understand(end..next).filter(|told| told.whole && told.end == next);
        let named = self.tokens[end - 1].number;
        told.is_some_and(|told| match &told.meaning {
            Meaning::Stitches(ops) => {
                named.is_none_or(|named| ops.iter().map(|op| op.takes()).sum::<u32>() == named)
            }
            _ => named.is_none(),
        })
    }

    /// `sl and b`, torn by the end of a line: a term of several words that the lexicon has, after a semicolon.
    fn known_over_lines(&self, end: usize, floor: usize) -> Option<(Vec<Term>, usize)> {
        const LONGEST: usize = 4;
        let start = (floor..end).rev().take(LONGEST).find(|&at| self.before[at].mark == Mark::Semicolon)?;
        let torn = (start + 1..end).any(|at| self.before[at].line);
        let term = self.terms.term(start..end, false)?;
        (torn && !senses(self.terms.lexicon, &term).is_empty()).then(|| (vec![term], start))
    }

    /// Whether all words up to the end of the line are one explanation.
    fn one_line(&self, from: usize) -> bool {
        self.explainer.understand(from..self.line_end(from)).is_some_and(|told| told.whole)
    }

    /// Whether a token is a number in figures, as in the row `k 2`.
    pub(super) fn is_figure(&self, at: usize) -> bool {
        self.tokens[at].number.is_some()
            && self.terms.text[self.tokens[at].span.range()].starts_with(|first: char| first.is_ascii_digit())
    }

    pub(super) fn line_end(&self, from: usize) -> usize {
        (from + 1..self.tokens.len()).find(|&at| self.before[at].line).unwrap_or(self.tokens.len())
    }
}
