//! Entries whose term stands after what explains it: "knit is written K", "… (this is called a bar)", "knit (K)".
//!
//! Knows these links; the others are found in `entries`.

use std::ops::Range;

use super::entries::{Cue, Entry, Finder, LONGEST, Link, Naming};
use super::marks::Mark;
use super::term::{Term, senses};
use super::within::PIECE;
use crate::lexer::{Token, TokenKind};

impl Finder<'_> {
    /// `knit is written K`.
    pub(super) fn turned(&self, cue: Cue, floor: usize, entries: &[Entry]) -> Option<Entry> {
        let from = cue.at + cue.len;
        let short = self.terms.abbreviation(from)
            || self.tokens.get(from).is_some_and(|token| token.kind == TokenKind::Open);
        let at = from + usize::from(self.tokens.get(from)?.kind == TokenKind::Open);
        let (_, term) = self.terms.suffix(at + 1, at).filter(|_| short)?;
        let explained = self.explanation_before(cue.at, floor, entries)?;
        Some(Entry {
            terms: vec![term],
            start: explained.start,
            next: at + 1,
            explained,
            sure: true,
            link: Link::Strong,
            worded: true,
            elliptic: false,
            naming: None,
        })
    }

    /// Where a name ends that begins here.
    fn name_end(&self, from: usize) -> usize {
        let parted =
            |at: &usize| self.before[*at].mark >= Mark::Comma || self.tokens[*at].kind == TokenKind::Close;
        (from + 1..self.tokens.len()).find(parted).unwrap_or(self.tokens.len())
    }

    /// "It is called 'reduce', and is worked thus: …": what the name means comes after it.
    pub(super) fn is_told_after(&self, is: usize) -> bool {
        let called = |token: &Token| matches!(token.text.as_str(), "called" | "named" | "termed");
        if !self.tokens.get(is + 1).is_some_and(called) {
            return false;
        }
        let name = self.name_end(is + 2);
        const LINK: [&str; 11] =
            ["and", "it", "is", "are", "worked", "done", "made", "knitted", "formed", "always", "as"];
        let linked = self.tokens.get(name..).unwrap_or(&[]);
        let words = linked.iter().take_while(|token| LINK.contains(&token.text.as_str())).count();
        words > 1
            && linked.get(words).is_some_and(|token| matches!(token.text.as_str(), "thus" | "so" | "follows"))
    }

    /// `..., the slipped stitch drawn over (we shall call this a decrease)`: the least that is told right before, or more.
    pub(super) fn called(&self, cue: Cue) -> Option<Entry> {
        const FURTHER: usize = 3;
        const SAID: [&str; 10] = [
            "call",
            "called",
            "name",
            "named",
            "term",
            "termed",
            "shortly",
            "short",
            "briefly",
            "abbreviated",
        ];
        let from = cue.at + cue.len;
        let to = self.name_end(from);
        let [term] = <[Term; 1]>::try_from(self.terms.parse(from..to, true)?).ok()?;
        // "(This is the first pin)" counts and names nothing.
        if self.tokens[from..to].iter().any(|token| token.ordinal.is_some()) {
            return None;
        }
        let open = cue.at.checked_sub(1).filter(|&open| self.tokens[open].kind == TokenKind::Open);
        // "(This is a long stitch)" names it only in brackets, and nothing that has a meaning.
        let said = |token: &Token| SAID.contains(&token.text.as_str());
        let is = matches!(self.tokens[cue.at].text.as_str(), "this" | "these" | "that" | "which");
        let known = !senses(self.terms.lexicon, &term).is_empty();
        if is && (open.is_none() || known) && !self.tokens[cue.at..from].iter().any(said) {
            return None;
        }
        let end = open.unwrap_or(cue.at);
        let sentence = |at: &usize| self.before[*at].mark < Mark::Period;
        let starts = (end.saturating_sub(LONGEST)..end).rev();
        let parts = |at: &usize| self.before[*at].mark >= Mark::Comma;
        let told = |start: &usize| {
            let told = self.explainer.told(*start..end, Link::Strong);
            told.is_some_and(|told| told.whole && told.end == end)
        };
        // "Slip 1, knit 2, over, narrow, is the heading": a piece of a row, or it is told what a term is.
        let bare = !is && !self.tokens[cue.at..from].iter().any(said);
        let piece = |start: &usize| !bare || self.explainer.works(*start..end) >= PIECE;
        let near = starts.clone().take_while(sentence).count() + 1;
        let mut told = starts.take(near).filter(parts).filter(piece).filter(told);
        let start = told.next()?;
        let further = told.take(FURTHER).collect();
        let closes =
            open.is_some() && self.tokens.get(to).is_some_and(|close| close.kind == TokenKind::Close);
        Some(Entry {
            terms: vec![term],
            start,
            next: to,
            explained: start..end,
            sure: true,
            link: Link::Strong,
            worded: true,
            elliptic: false,
            naming: Some(Naming { words: end..to + usize::from(closes), further }),
        })
    }

    /// `knit (K)`, `(P) pearl`.
    pub(super) fn bracketed(&self, at: usize, floor: usize, entries: &[Entry]) -> Option<Entry> {
        let close = at.checked_sub(1)?;
        let letter = self.terms.bracketed_letter(close);
        let closed = self.tokens[close].kind == TokenKind::Close;
        let open = if closed {
            (close.saturating_sub(4)..close).rev().find(|&open| self.tokens[open].kind == TokenKind::Open)?
        } else {
            close
        };
        let term = match letter {
            Some(term) => term,
            None if closed => self.terms.suffix(close, open + 1).filter(|(start, _)| *start == open + 1)?.1,
            None => return None,
        };
        let entry = |start: usize, explained: Range<usize>| Entry {
            terms: vec![term.clone()],
            start,
            next: at,
            explained,
            sure: false,
            link: Link::Weak,
            worded: false,
            elliptic: false,
            naming: None,
        };
        if let Some(explained) = self.explanation_before(open, floor, entries) {
            return Some(entry(explained.start, explained));
        }
        let begins = self.before[open].mark >= Mark::Comma || self.before[open].line;
        let explained = if at < self.tokens.len() { self.body(at) } else { return None };
        (begins && self.explains(explained.clone())).then(|| entry(open, explained))
    }
}
