//! Which of the places in a pattern that look like explanations of terms are ones: lists, whole sentences of terms, and
//! what is firmly said.
//!
//! Knows entries and whether they are understood; not what comes of them.

use std::ops::Range;

use loops::Op;
use notation::Meaning;
use span::Span;

use super::entries::{Entry, HEADINGS, Link};
use super::marks::Mark;
use super::term::{Term, senses};
use super::{Page, stands_at};
use crate::lexer::{Gap, Token, TokenKind};
use crate::rowset::rows_at;

/// The least number of terms explained side by side within a pattern that is taken for a list of terms.
const LIST: usize = 3;
/// The least number of stitches told after one another that are a piece of a row.
pub(super) const PIECE: usize = 3;

impl Page<'_> {
    /// The entries within a pattern that can hardly be anything else.
    pub(super) fn sure(&self, entries: Vec<Entry>) -> Vec<Entry> {
        let understood: Vec<bool> = entries.iter().map(|entry| self.is_whole(entry)).collect();
        let mut keep = vec![false; entries.len()];
        let mut start = 0;
        while start < entries.len() {
            let mut end = start;
            while end < entries.len()
                && self.listed(&entries[end], understood[end])
                && (end == start || self.follows(&entries[end - 1], &entries[end]))
            {
                end += 1;
            }
            if end - start >= LIST {
                keep[start..end].fill(true);
            }
            start = end.max(start + 1);
        }
        for run in self.sentences_of_terms(&entries, &understood) {
            keep[run].fill(true);
        }
        let headed = self.headed();
        for index in 0..entries.len() {
            let entry = &entries[index];
            let before = index.checked_sub(1).filter(|before| keep[*before]).map(|before| &entries[before]);
            let goes_on =
                before.is_some_and(|before| before.worded && entry.worded && self.follows(before, entry));
            let firm = understood[index] && (goes_on || self.respells(entry) || self.firm(entry));
            let under = headed.iter().any(|tokens| tokens.contains(&entries[index].start));
            keep[index] |= under || firm || entry.elliptic && index > 0 && keep[index - 1];
        }
        entries.into_iter().zip(keep).filter_map(|(entry, kept)| kept.then_some(entry)).collect()
    }

    /// The entries that make up whole sentences: "Narrow is knit two together; over is thread over the needle." Without a
    /// word between term and explanation there are several, and none changes what the lexicon has for its term.
    fn sentences_of_terms(&self, entries: &[Entry], understood: &[bool]) -> Vec<Range<usize>> {
        let before = self.finder.before;
        let open = |at: usize| usize::from(self.tokens[at].kind == TokenKind::Open);
        let begins = |at: usize| {
            let first = at.saturating_sub(at.checked_sub(1).map_or(0, open));
            before[first].mark >= Mark::Period || first == 0 || first < at
        };
        let ends = |at: usize| {
            self.tokens.get(at).is_none_or(|token| token.kind == TokenKind::Close)
                || before[at].mark >= Mark::Period
        };
        let holds = |index: usize| {
            let entry = &entries[index];
            understood[index]
                && (entry.worded || entry.terms.iter().all(|term| self.says_no_other(entry, term)))
        };
        let mut out = Vec::new();
        let mut start = 0;
        while start < entries.len() {
            let mut end = start + 1;
            while end < entries.len()
                && self.follows(&entries[end - 1], &entries[end])
                && !begins(entries[end].start)
            {
                end += 1;
            }
            let (first, last) = (&entries[start], &entries[end - 1]);
            let several = end - start > 1 || first.worded;
            let whole = begins(first.start) && ends(last.explained.end);
            if several && whole && (start..end).all(holds) {
                out.push(start..end);
            }
            start = end;
        }
        out
    }

    /// Whether an explanation changes nothing of what the lexicon has for its term.
    fn says_no_other(&self, entry: &Entry, term: &Term) -> bool {
        let known = senses(self.lexicon, term);
        let told = self.explainer.explains(entry);
        told.is_some_and(|told| match &told.meaning {
            Meaning::Stitches(ops) => known.is_empty() || known.iter().any(|(.., other)| other == ops),
            _ => false,
        })
    }

    /// "A bout is a round": whether a text says of a word of its own which common one it stands for.
    pub(super) fn is_new_noun(&self, entry: &Entry, term: &Term) -> bool {
        entry.worded && term.words.len() == 1 && !term.short && self.finder.terms.is_new(&term.words[0])
    }

    /// Whether an entry does nothing but say so.
    fn respells(&self, entry: &Entry) -> bool {
        let spelled = self.finder.spelled(entry.explained.clone()).is_some();
        spelled && entry.terms.iter().all(|term| self.is_new_noun(entry, term))
    }

    /// The lists of terms, each with the heading that may stand before it in its paragraph.
    pub(super) fn lists(&self, entries: &[Entry]) -> Vec<Span> {
        let headed = self.headed();
        let understood: Vec<bool> = entries.iter().map(|entry| self.is_whole(entry)).collect();
        let mut out: Vec<Span> = self
            .sentences_of_terms(entries, &understood)
            .into_iter()
            .filter_map(|run| self.span(entries[run.start].start, entries[run.end - 1].explained.end))
            .collect();
        for run in entries.chunk_by(|last, next| self.follows(last, next)) {
            let (first, last) = (run[0].start, run[run.len() - 1].explained.end);
            let heading = headed.iter().find(|tokens| tokens.start == first);
            let listed = run.iter().all(|entry| self.listed(entry, true) || entry.worded);
            if listed
                && (run.len() >= LIST || heading.is_some() || run.iter().all(|entry| self.respells(entry)))
            {
                let begins = |at: &usize| self.tokens[*at].gap == Gap::Paragraph || *at == 0;
                let start = heading.and_then(|_| (0..=first).rev().find(begins)).unwrap_or(first);
                out.extend(self.span(start, last));
            }
        }
        out
    }

    /// The tokens under a heading that says that terms are explained there, or behind it in its own paragraph.
    fn headed(&self) -> Vec<Range<usize>> {
        const LONGEST: usize = 6;
        let mut begins: Vec<usize> =
            (0..self.tokens.len()).filter(|at| self.tokens[*at].gap == Gap::Paragraph).collect();
        begins.push(self.tokens.len());
        let mut out = Vec::new();
        for (nth, pair) in begins.windows(2).enumerate() {
            let (from, to) = (pair[0], pair[1]);
            let ends = |at: &usize| self.tokens[*at].gap >= Gap::Colon;
            let title = (from + 1..to).find(ends).unwrap_or(to);
            let says = |token: &Token| HEADINGS.contains(&token.text.as_str());
            if title - from > LONGEST || !self.tokens[from..title].iter().any(says) {
                continue;
            }
            match begins.get(nth + 2) {
                Some(next) if title == to => out.push(to..*next),
                _ => out.push(title..self.work_begins(title, to)),
            }
        }
        out
    }

    /// The first sentence of a paragraph that casts on or names a row, or the end of the paragraph.
    fn work_begins(&self, from: usize, to: usize) -> usize {
        let mut rows = Vec::new();
        let mut begins = |at: &usize| {
            rows.clear();
            rows_at(self.tokens, *at, &mut rows);
            let casts_on = self.tokens[*at].text == "cast";
            self.tokens[*at].gap >= Gap::Point && (casts_on || rows.iter().any(|(_, rows)| rows.explicit))
        };
        (from..to).find(|at| begins(at)).unwrap_or(to)
    }

    /// Whether an entry may stand in a list of terms: letters explained by whole words.
    fn listed(&self, entry: &Entry, understood: bool) -> bool {
        let plain = |at: usize| self.finder.terms.abbreviation(at);
        let full_words = !entry.explained.clone().any(plain);
        let counts = self.tokens[entry.explained.clone()]
            .iter()
            .any(|token| token.number.is_some_and(|number| number > 3));
        understood
            && full_words
            && !counts
            && entry.terms.iter().all(|term| term.short && term.number.is_none_or(|number| number == 1))
    }

    fn follows(&self, last: &Entry, next: &Entry) -> bool {
        next.start.saturating_sub(last.explained.end) <= 1
    }

    fn is_whole(&self, entry: &Entry) -> bool {
        let told = self.explainer.explains(entry);
        // "To make a stitch, pick up the thread between and knit it, so that there be no hole."
        let named = entry.worded || entry.terms.iter().all(|term| term.verb || term.marked);
        let pause = |end: usize| self.tokens.get(end).is_none_or(|next| next.gap >= Gap::Comma);
        told.is_some_and(|told| told.whole || named && pause(told.end))
            || self
                .finder
                .spelled(entry.explained.clone())
                .is_some_and(|words| words.end == entry.explained.end)
    }

    fn firm(&self, entry: &Entry) -> bool {
        // Several stitches under a heading are a piece of a row only where it is worked by its name.
        let piece = entry.naming.is_none() && self.explainer.works(entry.explained.clone()) >= PIECE;
        if piece && !entry.terms.iter().any(|term| self.stands_alone(entry, term)) {
            return false;
        }
        let known = |term: &Term| !senses(self.lexicon, term).is_empty();
        let verb = |term: &Term| term.verb && known(term);
        match entry.link {
            Link::Strong
                if entry.naming.is_some()
                    && entry.terms.iter().any(|term| self.stands_alone(entry, term)) =>
            {
                true
            }
            Link::Strong => entry.terms.iter().all(|term| term.short || term.marked || known(term)),
            Link::Weak if self.in_brackets_alone(entry) => true,
            Link::Weak | Link::Middle => {
                entry.terms.iter().all(|term| term.marked || verb(term)) || self.is_used(entry)
            }
        }
    }

    /// "… knit 1. (Make 1, wool forward.)": whether a bracket that is a sentence holds nothing but a known increase or
    /// decrease and how it is made.
    fn in_brackets_alone(&self, entry: &Entry) -> bool {
        let kind = |at: usize| self.tokens.get(at).map(|token| &token.kind);
        let opens = entry.start.checked_sub(1).filter(|&open| kind(open) == Some(&TokenKind::Open));
        let sentence = opens.is_some_and(|open| self.tokens[open].gap >= Gap::Period);
        let change = |ops: &[Op]| {
            let step = |op: &Op| i64::from(op.makes()) - i64::from(op.takes());
            ops.iter().map(step).sum::<i64>()
        };
        let told = self.explainer.explains(entry);
        let made = told.map_or(0, |told| match &told.meaning {
            Meaning::Stitches(ops) => change(ops),
            _ => 0,
        });
        let alike = |term: &Term| senses(self.lexicon, term).iter().any(|(_, _, ops)| change(ops) == made);
        let closes = kind(entry.explained.end) == Some(&TokenKind::Close);
        sentence && closes && made != 0 && entry.terms.iter().all(alike)
    }

    /// Whether a sentence explains a term that stands among stitches elsewhere; without words for it, only one
    /// that is none of the lexicon.
    fn is_used(&self, entry: &Entry) -> bool {
        let before = self.finder.before;
        let begins = before[entry.start].mark >= Mark::Period
            || before[entry.start].line
            || entry.worded && before[entry.start].mark == Mark::Semicolon;
        let words = |term: &Term| {
            entry.worded && term.short || term.words.iter().all(|word| word.chars().all(char::is_alphabetic))
        };
        let unknown = |term: &Term| senses(self.lexicon, term).is_empty();
        // "T. B., slip one, knit one, pass over": several letters that mean nothing else.
        let letters = |term: &Term| term.words.len() > 1 && term.number.is_none();
        let listed = self.listed(entry, true);
        let new = |term: &Term| (!term.short || letters(term) && listed) && unknown(term);
        begins
            && entry.terms.iter().all(|term| words(term) && (entry.worded || new(term)))
            && entry.terms.iter().any(|term| self.stands_alone(entry, term))
    }

    /// Whether a term stands somewhere else as one thing to do among others: "* knob, knit 3", "make a knob".
    fn stands_alone(&self, entry: &Entry, term: &Term) -> bool {
        let own = self.span(entry.start, entry.explained.end);
        let parted = |at: usize| self.whole.get(at).is_none_or(|token| token.gap >= Gap::Comma);
        let stands = |at: usize, len: usize| {
            // "Long stitches"
            let stitches = |at: usize| {
                self.whole.get(at).is_some_and(|token| matches!(token.text.as_str(), "stitch" | "stitches"))
            };
            let end = at + len + usize::from(stitches(at + len));
            let before = at.checked_sub(1).map(|at| &self.whole[at]);
            let after = self.whole.get(end);
            // "Knit 3, the insertion, knit 2"
            let article = at.checked_sub(2).is_some_and(|first| {
                let begins = matches!(self.whole[first].kind, TokenKind::Star | TokenKind::Open);
                self.whole[at - 1].text == "the" && (parted(at - 1) || begins)
            });
            let told = before.is_some_and(|before| {
                parted(at)
                    || article
                    || matches!(before.kind, TokenKind::Star | TokenKind::Open)
                    || before.number.is_some()
                    || matches!(before.text.as_str(), "a" | "make" | "work" | "more")
            });
            let ends = parted(end)
                || after.is_some_and(|after| {
                    after.kind != TokenKind::Word
                        || matches!(after.text.as_str(), "in" | "into")
                        || after.number.is_some()
                });
            told && ends
        };
        let own_place = |at: &usize| own.is_some_and(|own| own.covers(self.whole[*at].span));
        let mut places = (0..self.whole.len()).filter(|at| !own_place(at));
        let forms = self.finder.terms.forms(term);
        places.any(|at| forms.iter().any(|form| stands_at(self.whole, at, form) && stands(at, form.len())))
    }
}
