//! The words that are explained: letters, abbreviations, verbs with or without their stitch.
//!
//! Knows how a term is cut out of the words before its explanation; not what it means.

use std::ops::Range;

use loops::Op;
use notation::{Lexicon, Meaning, Printed, Sense};
use span::Span;

use super::data::DATA;
use super::marks::{Before, Mark};
use crate::lexer::{Token, TokenKind};

/// The most words of a term.
const LONGEST: usize = 6;

/// A term as printed.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Term {
    /// Its words, without the number at its end.
    pub(super) words: Vec<String>,
    /// The number at its end; 1 where it is a verb with "a stitch".
    pub(super) number: Option<u32>,
    /// Where it stands.
    pub(super) span: Span,
    /// Whether "to" stands before it.
    pub(super) verb: bool,
    /// Whether it is a letter or an abbreviation.
    pub(super) short: bool,
    /// Whether inverted commas or "by this we mean" show that it is a term.
    pub(super) marked: bool,
}

impl Term {
    /// The words without the number.
    pub(super) fn head(&self) -> String {
        self.words.join(" ")
    }

    /// The words with the number.
    pub(super) fn phrase(&self) -> String {
        self.number.map_or_else(|| self.head(), |number| format!("{} {number}", self.head()))
    }

    /// The ways in which the term may stand in the text, the likeliest first.
    pub(super) fn instances(&self) -> Vec<String> {
        let head = self.head();
        match self.number {
            Some(1) => vec![format!("{head} 1"), format!("{head} a stitch"), head],
            Some(number) => vec![format!("{head} {number}")],
            None => vec![head.clone(), format!("{head} 1"), format!("1 {head}")],
        }
    }

    /// The same verb without its ending, if the lexicon has it: "making" is "make".
    pub(super) fn stem(&self, lexicon: &Lexicon) -> Option<Term> {
        let stem = self.words.first()?.strip_suffix("ing")?;
        let shorter = stem.get(..stem.len().checked_sub(1)?).unwrap_or("").to_owned();
        [stem.to_owned(), format!("{stem}e"), shorter].into_iter().find_map(|word| {
            let words = std::iter::once(word).chain(self.words[1..].iter().cloned()).collect();
            let term = Term { words, ..self.clone() };
            (!senses(lexicon, &term).is_empty()).then_some(term)
        })
    }
}

/// The senses that the lexicon has for a term in any way it may stand in a text.
pub(super) fn senses<'a>(lexicon: &'a Lexicon, term: &Term) -> Vec<(String, &'a Sense, Vec<Op>)> {
    term.instances().into_iter().flat_map(|instance| senses_of_words(lexicon, &instance)).collect()
}

/// The senses of exactly these words.
pub(super) fn senses_of_words<'a>(lexicon: &'a Lexicon, words: &str) -> Vec<(String, &'a Sense, Vec<Op>)> {
    let printed = |word: &str| Printed::within(word, lexicon.word(word));
    let all: Vec<Printed> = words.split(' ').map(printed).collect();
    let mut found = Vec::new();
    lexicon.matches(&all, 0, &mut found);
    let whole = found.into_iter().filter(|(found, _)| found.len == all.len());
    whole
        .filter_map(|(found, id)| {
            let sense = lexicon.sense(id);
            let value = |slot: Option<u16>| slot.and_then(|at| all[usize::from(at)].value());
            let ops = match &sense.meaning {
                Meaning::Row(op) => vec![*op],
                Meaning::Rest(_) | Meaning::Move(_) => return None,
                meaning => meaning.ops(found.numbers.map(value)).map(|(ops, _)| ops)?,
            };
            Some((words.to_owned(), sense, ops))
        })
        .collect()
}

/// Whether it is made of letters alone and names no row: "_1st row_" in italics is no term.
fn is_a_word(text: &str) -> bool {
    text.chars().all(char::is_alphabetic) && !DATA.no_term.contains(text)
}

/// A name as it stands for several: leaves, daisies, stitches, shells.
pub(super) fn several(name: &str) -> String {
    let vowel = |letter: char| matches!(letter, 'a' | 'e' | 'i' | 'o' | 'u');
    if let Some(stem) = name.strip_suffix("fe").or_else(|| name.strip_suffix('f')) {
        return format!("{stem}ves");
    }
    match name.strip_suffix('y').filter(|stem| !stem.ends_with(vowel)) {
        Some(stem) => format!("{stem}ies"),
        None if name.ends_with(['s', 'x']) || name.ends_with("ch") || name.ends_with("sh") => {
            format!("{name}es")
        }
        None => format!("{name}s"),
    }
}

/// "Close a bead": the verb of a term that says what it is done to.
pub(super) fn opens_with_verb(words: &[String]) -> Option<&str> {
    match words {
        [verb, article, _, ..] if matches!(article.as_str(), "a" | "an" | "the") => Some(verb),
        _ => None,
    }
}

/// Verbs of which what is made is the term.
const MAKING: [&str; 5] = ["make", "form", "work", "knit", "do"];

/// Cuts terms out of tokens.
pub(super) struct Terms<'a> {
    pub(super) text: &'a str,
    pub(super) tokens: &'a [Token],
    pub(super) before: &'a [Before],
    pub(super) lexicon: &'a Lexicon,
}

impl Terms<'_> {
    /// Whether some tokens stand between inverted commas, or in italics.
    fn is_quoted(&self, range: &Range<usize>) -> bool {
        let quote = |letter: char| {
            matches!(letter, '"' | '“' | '”' | '‘' | '’' | '\'')
                || letter == '_' && self.tokens[range.clone()].iter().all(|token| is_a_word(&token.text))
        };
        let (Some(first), Some(last)) = (self.tokens.get(range.start), self.tokens.get(range.end - 1)) else {
            return false;
        };
        let before = self.text[..first.span.range().start].ends_with(quote);
        let after = &self.text[last.span.range().end..];
        before && after.trim_start_matches([',', '.', ';', ':']).starts_with(quote)
    }

    /// Whether some words are set in capitals: "CR. BACK".
    pub(super) fn in_capitals(&self, range: &Range<usize>) -> bool {
        let words = self.tokens.get(range.clone()).unwrap_or_default();
        let printed = |token: &Token| token.span.of(self.text).chars().any(char::is_lowercase);
        words.iter().any(|token| token.text.len() > 2) && !words.iter().any(printed)
    }

    /// The words by which a term may be called: as explained, of several, and the new verb of "to close a bead" alone.
    pub(super) fn forms(&self, term: &Term) -> Vec<Vec<String>> {
        let several = several(&term.head()).split(' ').map(str::to_owned).collect();
        let verb = opens_with_verb(&term.words).filter(|verb| self.is_new(verb));
        let mut forms = vec![term.words.clone(), several];
        forms.extend(verb.map(|verb| vec![verb.to_owned()]));
        forms
    }

    /// Whether the lexicon has nothing to say of a word alone.
    pub(super) fn is_new(&self, word: &str) -> bool {
        [word.to_owned(), format!("{word} 1")]
            .iter()
            .all(|words| senses_of_words(self.lexicon, words).is_empty())
    }

    /// Whether a token is a letter or an abbreviation.
    pub(super) fn abbreviation(&self, at: usize) -> bool {
        let Some(token) = self.tokens.get(at) else { return false };
        let word = token.text.as_str();
        let letters = token.kind == TokenKind::Word
            && word.chars().all(char::is_alphabetic)
            && word.chars().count() <= 5;
        // "K 2 to.": no sentence ends so.
        let together = word == "to" && self.before.get(at + 1).is_some_and(|next| next.stop);
        if together {
            return true;
        }
        let et_cetera = word == "c" && at > 0 && self.tokens[at - 1].span.of(self.text) == "&";
        if !letters
            || et_cetera
            || DATA.full_words.contains(word)
            || DATA.no_term.contains(word)
            || DATA.filler.contains(word) && word != "a" && word != "i" && word != "st"
        {
            return false;
        }
        let stop = self
            .before
            .get(at + 1)
            .map_or_else(|| self.text[token.span.range().end..].starts_with('.'), |next| next.stop);
        let vowel = word.contains(['a', 'e', 'i', 'o', 'u', 'y']);
        word.chars().count() <= 2 || !vowel || stop || DATA.short_words.contains(word)
    }

    /// The letter in `(p)`, which the lexer takes for the mark of a repeat.
    pub(super) fn bracketed_letter(&self, at: usize) -> Option<Term> {
        let token = self.tokens.get(at).filter(|token| token.kind == TokenKind::Star)?;
        let letter = token.text.strip_prefix('(')?.strip_suffix(')')?;
        Some(Term {
            words: vec![letter.to_owned()],
            number: None,
            span: token.span,
            verb: false,
            short: true,
            marked: false,
        })
    }

    /// Whether an abbreviation in brackets begins here.
    pub(super) fn in_brackets(&self, at: usize) -> bool {
        let kind = |at: usize| self.tokens.get(at).map(|token| token.kind.clone());
        self.bracketed_letter(at).is_some()
            || kind(at) == Some(TokenKind::Open)
                && self.abbreviation(at + 1)
                && kind(at + 2) == Some(TokenKind::Close)
    }

    /// All the tokens as one term, or as several with "or" and commas between them.
    pub(super) fn parse(&self, range: Range<usize>, heading: bool) -> Option<Vec<Term>> {
        if range.is_empty() || range.len() > 3 * LONGEST {
            return None;
        }
        let mut terms = Vec::new();
        let mut verb = false;
        let mut start = range.start;
        for at in range.clone() {
            let or = self.tokens[at].text == "or" && at > range.start;
            if or || at > start && self.before[at].mark == Mark::Comma {
                if at > start {
                    terms.push(self.one(start..at, &mut verb, heading)?);
                }
                start = if or { at + 1 } else { at };
            }
        }
        if start < range.end {
            terms.push(self.one(start..range.end, &mut verb, heading)?);
        }
        let object = terms.last().and_then(|last| last.number);
        for term in &mut terms {
            if term.verb && term.number.is_none() {
                term.number = object;
            }
        }
        Some(terms)
    }

    fn one(&self, mut range: Range<usize>, verb: &mut bool, heading: bool) -> Option<Term> {
        // "4th round" names no stitch.
        if self.tokens[range.clone()].iter().any(|token| token.ordinal.is_some()) {
            return None;
        }
        while range.len() > 1 && DATA.lead_in.contains(&self.tokens[range.start].text) {
            *verb |= self.tokens[range.start].text == "to";
            range.start += 1;
        }
        // "For a bead: knit, purl and knit in one stitch."
        let article = |at: usize| matches!(self.tokens[at].text.as_str(), "a" | "an");
        if range.len() > 2 && heading && self.tokens[range.start].text == "for" && article(range.start + 1) {
            range.start += 1;
        }
        // "(1 over: pass the thread over the needle)"
        if range.len() > 1 && heading && self.tokens[range.start].number == Some(1) {
            range.start += 1;
        }
        if range.len() > 1 && article(range.start) && self.before[range.start + 1].mark < Mark::Comma {
            range.start += 1;
        }
        let words_only = range.clone().all(|at| {
            self.tokens[at].kind == TokenKind::Word
                && (at == range.start
                    || self.before[at].mark < Mark::Comma
                    || self.before[at].stop && self.in_capitals(&range))
        });
        // "A single surjet" counts nothing.
        let number = |at: usize| {
            let word = matches!(self.tokens[at].text.as_str(), "single" | "double");
            self.tokens[at].number.is_some() && !(word && range.len() > 1)
        };
        if range.is_empty() || range.len() > LONGEST || !words_only || number(range.start) {
            return None;
        }
        let term = self.term(range.clone(), *verb)?;
        let piece = heading && DATA.pieces.contains(&term.head());
        let no_term = term.words.len() == 1 && DATA.no_term.contains(&term.words[0]) && !piece;
        let known = !senses(self.lexicon, &term).is_empty() || term.stem(self.lexicon).is_some();
        let plain_words = term.words.iter().all(|word| {
            // "To take in by slipping: slip one, …" is a term of its own.
            let joins = matches!(word.as_str(), "is" | "are" | "for") || word == "by" && !*verb;
            !DATA.no_term.contains(word) && !joins
        });
        // "To close it, purl these five together."
        let of_the_last =
            *verb && matches!(term.words.as_slice(), [_, it] if matches!(it.as_str(), "it" | "them"));
        let named =
            plain_words && (*verb || heading) && term.words.iter().any(|word| !DATA.filler.contains(word));
        (!no_term && (term.short || known || named || term.marked || piece || of_the_last)).then_some(term)
    }

    /// These words as one term, the number or the stitch at their end cut off.
    pub(super) fn term(&self, range: Range<usize>, verb: bool) -> Option<Term> {
        let tokens = &self.tokens[range.clone()];
        let span = tokens.first()?.span.to(tokens.last()?.span);
        let mut words: Vec<String> = tokens.iter().map(|token| token.text.clone()).collect();
        let inner = |at: usize| at > range.start && at + 1 < range.end && self.tokens[at].text == "and";
        let short =
            range.clone().all(|at| self.abbreviation(at) || self.tokens[at].number.is_some() || inner(at));
        let mut number = None;
        let ends = |words: &[String], list: &[&str]| {
            words.len() > 1 && words.last().is_some_and(|last| list.contains(&last.as_str()))
        };
        let piece = DATA.pieces.contains(&words.join(" "));
        if !short && !piece && ends(&words, &["stitch", "row", "round", "loop", "stitches"]) {
            let stitch = !ends(&words, &["row", "round"]);
            words.pop();
            if ends(&words, &["a", "1", "the"]) {
                words.pop();
                number = stitch.then_some(1);
            }
        } else if words.len() > 1 && tokens.last()?.number.is_some() {
            number = tokens.last()?.number;
            words.pop();
        }
        // "To make a knot": the knot is the term.
        let names = |words: &[String]| {
            matches!(words, [make, one, name, ..]
                if MAKING.contains(&make.as_str()) && matches!(one.as_str(), "a" | "an" | "1") && self.is_new(name))
        };
        if verb && number.is_none() && names(&words) {
            words.drain(..2);
        }
        let marked = self.is_quoted(&range);
        Some(Term { words, number, span, verb, short, marked })
    }

    /// The letter or abbreviations right before a place.
    pub(super) fn suffix(&self, end: usize, floor: usize) -> Option<(usize, Term)> {
        let mut start = Some(end).filter(|end| *end <= self.tokens.len())?;
        while start > floor && end - start < 4 {
            let at = start - 1;
            let joined = start == end || self.before[start].mark < Mark::Comma;
            let part =
                self.abbreviation(at) && self.tokens[at].text != "a" || self.tokens[at].number.is_some();
            if !joined || !part {
                break;
            }
            start = at;
        }
        while start < end && self.tokens[start].number.is_some() {
            start += 1;
        }
        let term = (start < end).then(|| self.term(start..end, false)).flatten()?;
        Some((start, term))
    }
}
