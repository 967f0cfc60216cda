//! Where a text explains terms: each term with the words that explain it.
//!
//! Knows the links between a term and its explanation; whether an explanation is understood it asks the explainer.

use std::ops::Range;

use notation::Printed;

use super::data::{CueKind, DATA};
use super::explanation::Explainer;
use super::marks::{Before, Mark};
use super::term::{Term, Terms, senses};
use crate::lexer::{Token, TokenKind};

/// The longest explanation, in tokens.
pub(super) const LONGEST: usize = 80;

/// Words that head an explanation of terms.
pub(super) const HEADINGS: [&str; 6] =
    ["abbreviations", "contractions", "explanation", "explanations", "terms", "signs"];

/// The longest name in full beside a term, in tokens.
const APPOSITION: usize = 6;

/// How firmly a term is linked to its explanation.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Link {
    /// A comma, a point, brackets, nothing.
    Weak,
    /// `is`, `for`, a dash, a colon.
    Middle,
    /// `=`, `means`.
    Strong,
}

/// Some terms with the place of their explanation.
#[derive(Clone, Debug)]
pub(super) struct Entry {
    /// The terms.
    pub(super) terms: Vec<Term>,
    /// The first token of term or explanation.
    pub(super) start: usize,
    /// The tokens that explain them.
    pub(super) explained: Range<usize>,
    /// From here on another entry may begin.
    pub(super) next: usize,
    /// Whether an explanation that is not understood is still one.
    pub(super) sure: bool,
    /// The link.
    pub(super) link: Link,
    /// Whether words make the link: "is made by".
    pub(super) worded: bool,
    /// Whether the link is that of the entry before.
    pub(super) elliptic: bool,
    /// For a name that is given after what is worked.
    pub(super) naming: Option<Naming>,
}

/// A name given after what is worked: "… (this is called a bar)".
#[derive(Clone, Debug)]
pub(super) struct Naming {
    /// The words that only give the name, with their brackets.
    pub(super) words: Range<usize>,
    /// Where else before it may begin what is named, the nearest first.
    pub(super) further: Vec<usize>,
}

/// Whether a letter and the words that explain it are two names of one thing.
fn both_names(letter: &Entry, words: &Entry) -> bool {
    let short = |entry: &Entry| entry.terms.iter().all(|term| term.short);
    short(letter) && !words.elliptic && words.terms.iter().all(|term| !term.short)
}

/// Finds entries.
pub(super) struct Finder<'a> {
    pub(super) tokens: &'a [Token],
    pub(super) before: &'a [Before],
    pub(super) terms: Terms<'a>,
    pub(super) explainer: &'a Explainer<'a>,
}

/// A link found at a place: the term ends there, the explanation begins `len` tokens on.
#[derive(Clone, Copy)]
pub(super) struct Cue {
    pub(super) at: usize,
    pub(super) len: usize,
    pub(super) link: Link,
    pub(super) words: Option<CueKind>,
}

impl Finder<'_> {
    /// Every entry of an explanation of terms, in order; their explanations do not overlap.
    pub(super) fn all(&self) -> Vec<Entry> {
        let words: Vec<Printed> = self
            .tokens
            .iter()
            .map(|token| Printed { joins: true, ..token.printed(DATA.cues.word(&token.text)) })
            .collect();
        let mut entries: Vec<Entry> = Vec::new();
        let mut floor = 0;
        let mut at = 0;
        while at <= self.tokens.len() {
            // Nothing before the name is a term: it begins behind "is called".
            if self.is_told_after(at) {
                floor = at + 1;
                at += 3;
                continue;
            }
            let told = |called: bool| self.entry(self.cue(&words, at, called)?, floor, &entries);
            // "A throw is the thread laid over the pin" names nothing that was told before.
            let found = self
                .elliptic(at, floor, &entries)
                .or_else(|| self.made_by(at, floor, &entries))
                .or_else(|| told(true))
                .or_else(|| told(false))
                .or_else(|| self.bracketed(at, floor, &entries));
            let Some(mut entry) = found else {
                at += 1;
                continue;
            };
            if let Some(letter) = self.letter_of(&entry, floor) {
                entry.terms.push(letter);
            }
            floor = entry.next;
            at = floor.max(at + 1);
            match entries.last_mut() {
                // "V. Slip one, knit one, pass the slipped one over": all of it explains the letter.
                Some(last)
                    if last.explained.start == entry.start
                        && self.is_whole(&last.explained)
                        && !self.is_whole(&entry.explained) =>
                {
                    continue;
                }
                // "M. Make a stitch, by bringing the thread forward."
                Some(last) if last.explained.start == entry.start && both_names(last, &entry) => {
                    last.terms.extend(entry.terms);
                    last.explained = entry.explained;
                    continue;
                }
                Some(last) if last.explained.end > entry.start => {
                    last.explained.end = entry.start.max(last.explained.start);
                }
                _ => {}
            }
            entries.push(entry);
        }
        entries
    }

    /// "V. The slanting intake: slip one, …": the letter before a name in full.
    fn letter_of(&self, entry: &Entry, floor: usize) -> Option<Term> {
        let at =
            entry.start.checked_sub(1).filter(|at| *at >= floor && entry.start < entry.explained.start)?;
        let begins = self.before[at].line || self.before[at].mark >= Mark::Semicolon;
        let parted = self.before[entry.start].stop || self.before[entry.start].mark >= Mark::Comma;
        let in_full = entry.terms.iter().all(|term| !term.short) && entry.link > Link::Weak && !entry.worded;
        let letter = begins && parted && in_full && self.terms.abbreviation(at);
        letter.then(|| self.terms.term(at..at + 1, false)).flatten()
    }

    /// The link that begins at a place; `called` where it may be one by which something told before is named.
    fn cue(&self, words: &[Printed], at: usize, called: bool) -> Option<Cue> {
        if at == 0 || at >= self.tokens.len() {
            return None;
        }
        let mut best: Option<(usize, CueKind)> = None;
        DATA.cues.matches(words, at, &mut |found| {
            let kind = DATA.cue(found.entry);
            let longer = best.is_none_or(|(len, _)| found.len > len);
            let fits = match kind {
                CueKind::By => self.by_before(at),
                CueKind::Called => called,
                // "K 2 to.--Knit 2 together", "… the same as k 2 to.": it is short for "together".
                CueKind::Weak => self.tokens[at].text != "to" || self.mark(at + found.len) == Mark::None,
                _ => true,
            };
            if longer && fits {
                best = Some((found.len, kind));
            }
        });
        let marked = self.before[at].mark >= Mark::Equals;
        if let Some((len, kind)) = best.filter(|(_, kind)| !marked || *kind != CueKind::Weak) {
            let link = if kind == CueKind::Weak { Link::Middle } else { Link::Strong };
            return Some(Cue { at, len, link, words: Some(kind) });
        }
        let link = match self.before[at].mark {
            Mark::Equals => Link::Strong,
            Mark::Dash | Mark::Colon => Link::Middle,
            Mark::Comma | Mark::Point | Mark::None | Mark::Period => Link::Weak,
            Mark::Semicolon | Mark::Paragraph => return None,
        };
        Some(Cue { at, len: 0, link, words: None })
    }

    /// The mark before a place; none past the end.
    pub(super) fn mark(&self, at: usize) -> Mark {
        self.before.get(at).map_or(Mark::None, |before| before.mark)
    }

    /// Whether "by" stands a few words before, in the same sentence.
    fn by_before(&self, at: usize) -> bool {
        (at.saturating_sub(5)..at).any(|by| self.tokens[by].text == "by")
    }

    fn entry(&self, cue: Cue, floor: usize, entries: &[Entry]) -> Option<Entry> {
        let from = cue.at + cue.len;
        if from >= self.tokens.len() {
            return None;
        }
        let (terms, start) = match cue.words {
            Some(CueKind::Turned) => return self.turned(cue, floor, entries),
            Some(CueKind::Called) => return self.called(cue),
            Some(CueKind::By) => {
                let by = (cue.at.saturating_sub(5)..cue.at).rev().find(|&at| self.tokens[at].text == "by")?;
                let marked = |term| Term { marked: true, ..term };
                (self.terms.parse(by + 1..cue.at, true)?.into_iter().map(marked).collect(), by)
            }
            Some(_) => self.side(cue, floor)?,
            None if cue.link > Link::Weak => self.side(cue, floor)?,
            None => self.weak(cue, floor, entries).filter(|told| !self.goes_on(told, entries))?,
        };
        let mut explained = self.body(from);
        if cue.link == Link::Weak && self.before[cue.at].mark == Mark::None && self.before[start].line {
            explained.end = self.line_end(from);
        }
        if let Some(end) = self.its_own_word(&terms, explained.clone()) {
            explained.end = end;
        }
        let sure = cue.link == Link::Strong || cue.words.is_none() && cue.link == Link::Middle;
        let short_for = !terms.iter().all(|term| term.short)
            && cue.words == Some(CueKind::Weak)
            && !matches!(self.tokens[cue.at].text.as_str(), "is" | "are" | "and");
        if !sure && (short_for || !self.explains(explained.clone())) {
            return None;
        }
        let letters = terms.iter().all(|term| term.short);
        let next = if !letters && self.is_list_of_work(cue, explained.clone()) {
            explained.end - 1
        } else {
            explained.start
        };
        // What stands between inverted commas is surely a term.
        let link = if terms.iter().all(|term| term.marked) { Link::Strong } else { cue.link };
        Some(Entry {
            terms,
            start,
            next,
            explained,
            sure,
            link,
            worded: cue.words.is_some(),
            elliptic: false,
            naming: None,
        })
    }

    /// "N is slip one, knit two together, pass the slipped stitch over": whether what looks like terms tells how the letter
    /// before them is worked.
    fn goes_on(&self, (terms, start): &(Vec<Term>, usize), entries: &[Entry]) -> bool {
        let stitches = |term: &Term| !term.short && !senses(self.terms.lexicon, term).is_empty();
        entries.last().is_some_and(|last| {
            let letter = last.worded && last.terms.iter().all(|term| term.short);
            letter
                && (last.explained.start + 1..last.explained.end).contains(start)
                && self.before[*start].mark == Mark::Comma
                && terms.iter().all(stitches)
        })
    }

    /// "The insertion: k 2, o, t, k 2": whether all of an explanation is a list of stitches, in which nothing is explained.
    fn is_list_of_work(&self, cue: Cue, range: Range<usize>) -> bool {
        const FEWEST: usize = 3;
        let parted = (range.start + 1..range.end).any(|at| self.before[at].mark >= Mark::Equals);
        cue.link > Link::Weak && !parted && self.explainer.works(range) >= FEWEST
    }

    /// "O, cotton over; o twice, cotton twice round": where an explanation comes back to its own term.
    fn its_own_word(&self, terms: &[Term], explained: Range<usize>) -> Option<usize> {
        let [term] = terms else { return None };
        let back =
            |at: &usize| self.before[*at].mark >= Mark::Semicolon && self.tokens[*at].text == term.head();
        (explained.start + 1..explained.end).find(back)
    }

    /// Whether the words, or those up to the first comma, explain a stitch or are another word for the term.
    pub(super) fn explains(&self, range: Range<usize>) -> bool {
        let comma =
            (range.start + 1..range.end).find(|&at| self.before[at].mark >= Mark::Comma).unwrap_or(range.end);
        let first = range.start..comma;
        self.spelled(range.clone()).is_some()
            || [first, range].into_iter().any(|range| self.explainer.told(range, Link::Weak).is_some())
    }

    /// Whether all of the words are one explanation.
    pub(super) fn is_whole(&self, range: &Range<usize>) -> bool {
        self.explainer.understand(range.clone()).is_some_and(|told| told.whole && told.end == range.end)
    }

    /// The one word that the first words of an explanation are.
    pub(super) fn spelled(&self, range: Range<usize>) -> Option<Range<usize>> {
        let first =
            range.clone().find(|&at| !matches!(self.tokens[at].text.as_str(), "a" | "the" | "an" | "to"))?;
        let parts = |at: &usize| self.before[*at].mark >= Mark::Comma;
        let end = (first + 1..range.end).find(parts).unwrap_or(range.end);
        let line = (first + 1..end).find(|&at| self.before[at].line).unwrap_or(end);
        let spelled = |end: &usize| {
            let words: Vec<&str> = self.tokens[first..*end].iter().map(|token| token.text.as_str()).collect();
            DATA.spelled.contains(&words.join(" "))
        };
        [end, line].into_iter().find(spelled).map(|end| first..end)
    }

    /// The words that a term stands for, where its explanation is no stitch.
    pub(super) fn other_words(&self, range: Range<usize>) -> Option<Vec<String>> {
        let text = |at: usize| self.tokens[at].text.clone();
        let ridge = || self.is_ridge(range.clone()).then(|| vec!["ridge".to_owned()]);
        self.spelled(range.clone()).map(|words| words.map(text).collect()).or_else(ridge)
    }

    /// "Two rows plain, the one out and the other home": a ridge.
    fn is_ridge(&self, range: Range<usize>) -> bool {
        let parts = |at: &usize| self.before[*at].mark >= Mark::Comma;
        let Some(first) = range.clone().find(|&at| self.tokens[at].number.is_some()) else { return false };
        let end = (first + 1..range.end).find(parts).unwrap_or(range.end);
        let word = |at: usize| self.tokens[at].text.as_str();
        let plain = |at: usize| matches!(word(at), "plain" | "knitted" | "knit" | "garter");
        let told = |at: usize| plain(at) || matches!(word(at), "row" | "rows" | "of" | "knitting");
        let leads = (range.start..first).all(|at| DATA.filler.contains(&self.tokens[at].text));
        leads
            && self.tokens[first].number == Some(2)
            && (first + 1..end).all(told)
            && (first + 1..end).any(plain)
            && (first + 1..end).any(|at| matches!(word(at), "row" | "rows"))
    }

    /// The term before a firm link.
    fn side(&self, cue: Cue, floor: usize) -> Option<(Vec<Term>, usize)> {
        let end = cue.at;
        let parts = |at: &usize| {
            self.before[*at].mark >= Mark::Colon
                || self.before[*at].mark == Mark::Equals && *at > floor
                || self.after_a_word(*at)
        };
        let sentence = (floor..end).rev().find(parts).unwrap_or(floor);
        // "A fagot (f) is made by": the word, and the letter for it.
        if let Some((letter, open)) = self.letter_before(end).filter(|(_, open)| *open > sentence) {
            let mut terms = self.terms.parse(sentence..open, open - sentence <= 4).unwrap_or_default();
            terms.push(letter);
            return Some((terms, sentence));
        }
        let end = self.before_brackets(sentence, end);
        if let Some(comma) = self.other_names(sentence, end) {
            return self.terms.parse(sentence..comma, true).map(|terms| (terms, sentence));
        }
        // "Dr., a drawn take-in: slip one, …": the term, and its name in full.
        if let Some(comma) = self.apposition(sentence, cue, end) {
            let terms = self.terms.parse(sentence..comma, comma - sentence <= 4);
            return terms.map(|terms| (terms, sentence));
        }
        let own_line = (sentence..end).rev().find(|&at| self.before[at].line);
        let comma = (sentence + 1..end).rev().find(|&at| self.before[at].mark == Mark::Comma);
        let and = (sentence + 1..end)
            .rev()
            .find(|&at| matches!(self.tokens[at - 1].text.as_str(), "and" | "or" | "while" | "by" | "that"));
        // "It is called 'reduce', and is worked thus: …"
        let called = (sentence + 1..end)
            .rev()
            .find(|&at| matches!(self.tokens[at - 1].text.as_str(), "called" | "named" | "termed"));
        // Terms with commas between them stand only at the beginning of a sentence, else the last entry's
        // explanation would be taken for one.
        let fresh = sentence > floor || floor == 0;
        let whole = Some(sentence).filter(|_| fresh);
        // "… Same as n.", and on its own line "th o or o.--Thread over."
        let starts = match own_line {
            Some(line) if self.before[line].stop => [own_line, whole, comma, and, called],
            _ => [whole, own_line, comma, and, called],
        };
        for start in starts.into_iter().flatten().filter(|&start| start >= floor && (start > floor || fresh))
        {
            let open = usize::from(self.tokens[start].kind == TokenKind::Open);
            // "A bout is a round."
            let said = self.before.get(cue.at + cue.len).is_some_and(|before| before.mark == Mark::Colon);
            let first = self.tokens[start].text.as_str();
            // "A surjet is made by …", "the double surjet is made by …"
            let made = cue.len > 0 && self.tokens[cue.at + cue.len - 1].text == "by";
            let new = made
                && end.checked_sub(1).is_some_and(|last| {
                    let word = &self.tokens[last].text;
                    let common = DATA.no_term.contains(word) || DATA.filler.contains(word);
                    !common && self.terms.is_new(word)
                });
            let article = matches!(first, "a" | "an") || first == "the" && (said || new);
            let longest = if article && new { 3 } else { 1 + usize::from(article) };
            let named = cue.words != Some(CueKind::Weak) || (1..=longest).contains(&(end - start));
            let heading = named
                && (cue.link == Link::Strong
                    || self.before[start].mark >= Mark::Semicolon
                    || article && self.joins_another(start)
                    || self.under_heading(start)
                    || called == Some(start)
                    || self.after_a_word(start));
            let short_side = end.saturating_sub(start) <= 5 || cue.words.is_none();
            if let Some(terms) = self.terms.parse(start + open..end, heading && short_side) {
                return Some((terms, start));
            }
        }
        let (start, term) = self.terms.suffix(end, floor)?;
        Some((vec![term], start))
    }

    /// "Terms.--Twist 6: …": the first term after such a heading.
    fn under_heading(&self, start: usize) -> bool {
        let heading = start.checked_sub(1).map(|at| self.tokens[at].text.as_str());
        self.before[start].mark == Mark::Dash && heading.is_some_and(|word| HEADINGS.contains(&word))
    }

    /// "A wire is a needle, and a bout is a round."
    fn joins_another(&self, start: usize) -> bool {
        let and = start.checked_sub(1).is_some_and(|and| self.tokens[and].text == "and");
        self.before[start].mark == Mark::Comma || and
    }

    /// Whether a name in full begins here that a colon ends, or another name.
    pub(super) fn names_in_full(&self, comma: usize) -> bool {
        let ends = |at: &usize| self.before[*at].mark >= Mark::Comma;
        let end = (comma + 1..self.tokens.len()).take(APPOSITION).find(ends);
        self.before[comma].mark == Mark::Comma
            && (matches!(self.tokens[comma].text.as_str(), "a" | "an" | "the")
                || DATA.other_names.contains(&self.tokens[comma].text))
            && end.is_some_and(|end| matches!(self.before[end].mark, Mark::Colon | Mark::Dash))
    }

    /// "… over it. 1 double dr.: …": whether a full stop after a word, not after an abbreviation, and before a figure ends
    /// a sentence here.
    fn after_a_word(&self, at: usize) -> bool {
        let ended = |before: &Token| DATA.full_words.contains(&before.text);
        self.before[at].mark == Mark::Point
            && self.is_figure(at)
            && at.checked_sub(1).is_some_and(|before| ended(&self.tokens[before]))
    }

    /// The end of the words before what stands in brackets: "crossed (verschränkt)".
    fn before_brackets(&self, sentence: usize, end: usize) -> usize {
        const LONGEST: usize = 5;
        let closes = end > sentence && self.tokens[end - 1].kind == TokenKind::Close;
        let open =
            (sentence + 1..end).rev().take(LONGEST).find(|&at| self.tokens[at].kind == TokenKind::Open);
        open.filter(|_| closes).unwrap_or(end)
    }

    /// Where a name in full begins that stands between a term and a colon.
    fn apposition(&self, sentence: usize, cue: Cue, end: usize) -> Option<usize> {
        let comma = (sentence + 1..end).find(|&at| self.before[at].mark >= Mark::Comma)?;
        let alone = (comma + 1..end).all(|at| self.before[at].mark < Mark::Comma);
        let named = matches!(self.tokens[comma].text.as_str(), "a" | "an" | "the");
        let firm = cue.words.is_none() && cue.link == Link::Middle;
        (firm && alone && named && end - comma <= APPOSITION).then_some(comma)
    }

    /// Where other names of a term begin: "to turn a stitch, called by some seaming, is to …".
    fn other_names(&self, sentence: usize, end: usize) -> Option<usize> {
        let comma = (sentence + 1..end).find(|&at| self.before[at].mark >= Mark::Comma)?;
        let word = &self.tokens[comma].text;
        // "Over, or increase: …" explains both.
        let ends = |mark| mark == Mark::Comma || matches!(mark, Mark::Colon | Mark::Dash) && word != "or";
        let closed = self.before.get(end).is_some_and(|before| ends(before.mark));
        let named = self.before[comma].mark == Mark::Comma && DATA.other_names.contains(word);
        (closed && named).then_some(comma)
    }

    /// "To make one, or widen, …": two names of a verb at the head of a sentence, where a comma follows.
    pub(super) fn two_names(&self, or: usize, end: usize) -> Option<(Vec<Term>, usize)> {
        let joins = self.tokens[or].text == "or" && self.before[or].mark == Mark::Comma;
        let start = (0..or).rev().find(|&at| self.before[at].mark >= Mark::Comma || at == 0)?;
        let heads = self.before[start].mark >= Mark::Period && self.tokens[start].text == "to";
        let terms = (joins && heads).then(|| self.terms.parse(start..end, true))?;
        Some((terms?, start))
    }

    /// "For a surjet, slip one, …": the term of a heading that says what for, where a comma follows.
    pub(super) fn said_what_for(&self, start: usize, end: usize) -> Option<(Vec<Term>, usize)> {
        let word = |at: usize| self.tokens.get(at).map_or("", |token| token.text.as_str());
        let heads = self.before[start].mark >= Mark::Period && word(start) == "for";
        let from = start + 2;
        let term = (heads && matches!(word(start + 1), "a" | "an" | "1") && end - from.min(end) == 1)
            .then(|| self.terms.parse(from..end, true))?;
        Some((term?, start))
    }

    /// The letter or abbreviation in brackets right before a place, and where its bracket opens.
    fn letter_before(&self, end: usize) -> Option<(Term, usize)> {
        let last = end.checked_sub(1)?;
        if let Some(letter) = self.terms.bracketed_letter(last) {
            return Some((letter, last));
        }
        let open = end.checked_sub(3).filter(|open| self.terms.in_brackets(*open))?;
        Some((self.terms.suffix(last, open + 1)?.1, open))
    }

    /// The words right before a place that are one whole explanation, and not that of the entry before.
    pub(super) fn explanation_before(
        &self,
        end: usize,
        floor: usize,
        entries: &[Entry],
    ) -> Option<Range<usize>> {
        let taken = entries.last().is_some_and(|last| last.explained.start == floor);
        let opens =
            |at: usize| matches!(self.tokens[at].text.as_str(), "and" | "word" | "term" | "for" | "that");
        let parts = |at: &usize| {
            self.before[*at].mark >= Mark::Comma || self.before[*at].line || *at > 0 && opens(at - 1)
        };
        let lowest = floor.max(end.saturating_sub(LONGEST));
        let starts = (lowest + usize::from(taken)..end).filter(|at| *at == lowest || parts(at));
        starts.into_iter().map(|start| start..end).find(|range| {
            let told = self.explainer.understand(range.clone());
            told.is_some_and(|told| told.whole && told.end == end)
        })
    }

    /// The sentence that begins here; one that only refers to a picture is passed over.
    pub(super) fn body(&self, from: usize) -> Range<usize> {
        let most = self.tokens.len().min(from + LONGEST);
        let ends = |at: &usize| {
            self.before[*at].mark >= Mark::Period || self.closes(from, *at) || self.terms.in_brackets(*at)
        };
        let end_of = |from: usize| (from + 1..most).find(ends).unwrap_or(most);
        let refers =
            matches!(self.tokens[from].text.as_str(), "explained" | "see" | "fig" | "shown" | "illustrated");
        let end = end_of(from);
        let goes_on = refers && end < most && self.before[end].mark < Mark::Paragraph;
        if goes_on { end..end_of(end) } else { from..end }
    }

    /// Whether a bracket closes here that was opened before a place.
    fn closes(&self, from: usize, at: usize) -> bool {
        let open = (from..at).filter(|&at| self.tokens[at].kind == TokenKind::Open).count();
        let closed = (from..at).filter(|&at| self.tokens[at].kind == TokenKind::Close).count();
        self.tokens[at].kind == TokenKind::Close && closed >= open
    }
}
