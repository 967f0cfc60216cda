//! A book's own explanation of its terms, read into senses.
//!
//! ```text
//! text ─ entries ─▶ term + explanation ─ explainer ─▶ definitions ─ install ─▶ senses that outrank the built-in
//! ```
//!
//! An explanation is understood through the phrases of the lexicon itself and some turns of phrase that stand
//! only in explanations (`data/glossary.toml`). What is not understood is told, never guessed. Knows nothing of
//! rows, repeats or counts. Start at [`lexicon_of_book`].

mod brackets;
mod data;
mod entries;
mod explanation;
mod install;
mod marks;
mod term;

use std::collections::BTreeMap;
use std::ops::Range;

use loops::Op;
use notation::{Context, Lexicon, Meaning, Sense};
use span::Span;

use self::brackets::written_out;
use self::data::DATA;
use self::entries::{Entry, Finder, Link};
use self::explanation::{Explainer, Understood};
use self::marks::{Before, Mark, marks};
use self::term::{Term, Terms, senses, senses_of_words};
use crate::lexer::{Gap, Token, TokenKind, lex};
use crate::rowset::rows_at;

/// The least number of terms explained side by side within a pattern that is taken for a list of terms.
const LIST: usize = 3;

/// A term with what the book says that it means.
#[derive(Clone, Debug, PartialEq)]
pub struct Definition {
    /// The term in lower case, without "to"; with the number that stands in it (`m 1`).
    pub term: String,
    /// What it means.
    pub meaning: Meaning,
    /// Where it holds, if not everywhere (`wool forward` makes a stitch only before some stitches).
    pub context: Option<Context>,
    /// Where the term stands.
    pub span: Span,
    /// Where its explanation stands.
    pub explained: Span,
    /// Term and explanation as printed.
    pub words: String,
    /// Whether the lexicon says the same without being asked; such a definition adds nothing.
    pub confirms: bool,
    /// Whether the term is a letter or an abbreviation.
    short: bool,
    /// Whether it hangs on a term that the lexicon leaves open; then it answers no question itself.
    open: bool,
}

/// A term that is only another spelling of a word: `tog.` for `together`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Respelling {
    /// The term's words, in lower case.
    pub term: Vec<String>,
    /// The words it stands for.
    pub words: Vec<String>,
    /// Where it is explained.
    pub span: Span,
}

/// What a book says of its own terms.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Glossary {
    /// Terms that stand for stitches, in the order of the text.
    pub definitions: Vec<Definition>,
    /// Answers to book-wide questions that follow from them (`P` is `plain`).
    pub answers: BTreeMap<String, String>,
    /// Terms that stand for other words.
    pub respellings: Vec<Respelling>,
    /// Terms with explanations that were not understood.
    pub not_understood: Vec<Span>,
    /// Lists of terms within a pattern, each with its heading.
    pub lists: Vec<Span>,
}

/// The senses that a book's explanation of terms gives.
pub fn senses_of(text: &str, lexicon: &Lexicon) -> Glossary {
    read(text, lexicon, false)
}

/// The senses that are explained in passing in the text of a pattern. Only what can hardly be anything else is
/// taken: `P means plain`, and lists of at least three terms.
pub fn senses_within(text: &str, lexicon: &Lexicon) -> Glossary {
    let mut glossary = read(text, lexicon, true);
    glossary.not_understood.clear();
    glossary
}

/// The lexicon of a book: the given one with the senses of the book's own explanation, which outrank it.
pub fn lexicon_of_book(lexicon: &Lexicon, glossary: &str) -> (Lexicon, Glossary) {
    let glossary = senses_of(glossary, lexicon);
    (glossary.install(lexicon), glossary)
}

impl Glossary {
    /// The lexicon with these senses added.
    pub fn install(&self, lexicon: &Lexicon) -> Lexicon {
        install::install(&self.definitions, lexicon)
    }

    /// Whether another explanation says the same, wherever in its text it says so.
    pub fn says_the_same(&self, other: &Glossary) -> bool {
        let placeless = |one: &Definition| Definition {
            span: Span::DETACHED,
            explained: Span::DETACHED,
            words: String::new(),
            ..one.clone()
        };
        let defined = |glossary: &Glossary| glossary.definitions.iter().map(placeless).collect::<Vec<_>>();
        let respelt = |glossary: &Glossary| -> Vec<_> {
            glossary.respellings.iter().map(|one| (one.term.clone(), one.words.clone())).collect()
        };
        self.answers == other.answers && defined(self) == defined(other) && respelt(self) == respelt(other)
    }

    /// Adds what another explanation says; this one's answers stand where they differ.
    pub fn join(&mut self, other: Glossary) {
        self.definitions.extend(other.definitions);
        for (question, answer) in other.answers {
            self.answers.entry(question).or_insert(answer);
        }
        self.respellings.extend(other.respellings);
        self.not_understood.extend(other.not_understood);
        self.lists.extend(other.lists);
    }

    /// The sentences of a text that do nothing but explain a term, so that no row is told in them; of those that say what
    /// is known anyhow, only what stands in brackets of its own.
    pub fn sentences(&self, text: &str) -> Vec<Span> {
        let sentence = |definition: &Definition| {
            let sentence = sentence_of(text, &definition.words)?;
            let bracketed = in_brackets(text, sentence);
            bracketed.or(Some(sentence).filter(|_| !definition.confirms))
        };
        let written_out = self.respellings.iter().map(|one| one.span);
        let brackets = written_out.filter(|span| span.of(text).starts_with('('));
        self.definitions
            .iter()
            .filter_map(sentence)
            .chain(brackets)
            .chain(self.lists.iter().copied())
            .collect()
    }

    /// Writes the terms that only stand for other words as these words; spans stay.
    pub fn respell(&self, tokens: Vec<Token>) -> Vec<Token> {
        if self.respellings.is_empty() {
            return tokens;
        }
        let mut out = Vec::with_capacity(tokens.len());
        let mut at = 0;
        while at < tokens.len() {
            let fits = |entry: &&Respelling| stands_at(&tokens, at, &entry.term);
            let Some(entry) = self.respellings.iter().filter(fits).max_by_key(|entry| entry.term.len())
            else {
                out.push(tokens[at].clone());
                at += 1;
                continue;
            };
            let end = at + entry.term.len();
            let span = tokens[at].span.to(tokens[end - 1].span);
            for (index, word) in entry.words.iter().enumerate() {
                let gap = if index == 0 { tokens[at].gap } else { Gap::None };
                let line_start = index == 0 && tokens[at].line_start;
                out.push(Token { text: word.clone(), span, gap, line_start, ..tokens[at].clone() });
            }
            at = end;
        }
        out
    }
}

/// Where some words stand in a text, if they are a sentence of their own, or one in brackets or between semicolons; a
/// few words may lead to them.
fn sentence_of(text: &str, words: &str) -> Option<Span> {
    const LEADS: [&str; 6] = ["", "to", "a", "an", "the", "by"];
    let at = text.find(words)?;
    let ends = |letter: char| matches!(letter, '.' | ';' | ')' | ']');
    let mut end = at + words.len();
    let rest = &text[end..];
    end += rest.len() - rest.trim_start_matches(['_', '"', '\'']).len();
    let closed = text[end..].is_empty() || text[end..].starts_with(ends);
    let begins = |letter: char| ends(letter) || matches!(letter, '(' | '[' | '\n');
    let before = &text[..at];
    let from = before.rfind(begins).map_or(0, |mark| mark + 1);
    let paragraph = before[from..].starts_with('\n')
        || from == 0
        || !before[..from].ends_with('\n')
        || before[..from].ends_with("\n\n");
    let lead = before[from..].trim_matches(|letter: char| !letter.is_alphanumeric()).to_lowercase();
    (closed && paragraph && LEADS.contains(&lead.as_str())).then(|| Span::new(from, end))
}

/// A sentence with the brackets that hold nothing else.
fn in_brackets(text: &str, sentence: Span) -> Option<Span> {
    let before = text[..sentence.start as usize].trim_end();
    let rest = &text[sentence.end as usize..];
    let after = rest.trim_start_matches(|letter: char| letter == '.' || letter.is_whitespace());
    let closes = sentence.end as usize + (rest.len() - after.len()) + 1;
    (before.ends_with('(') && after.starts_with(')')).then(|| Span::new(before.len() - 1, closes))
}

/// Whether these words stand together at a place.
fn stands_at(tokens: &[Token], at: usize, words: &[String]) -> bool {
    let here = tokens.get(at..at + words.len());
    here.is_some_and(|here| {
        here.iter()
            .zip(words)
            .enumerate()
            .all(|(index, (token, word))| token.text == *word && (index == 0 || token.gap <= Gap::Point))
    })
}

fn read(text: &str, lexicon: &Lexicon, within: bool) -> Glossary {
    let tokens = lex(text);
    let first = pass(text, &tokens, lexicon, &BTreeMap::new(), within);
    // Once it is known what the book says of "make one", other terms may be explained by it.
    if first.answers.is_empty() { first } else { pass(text, &tokens, lexicon, &first.answers, within) }
}

fn pass(
    text: &str,
    tokens: &[Token],
    lexicon: &Lexicon,
    answers: &BTreeMap<String, String>,
    within: bool,
) -> Glossary {
    let whole = tokens;
    let explaining = if within { explaining(text, whole) } else { whole.to_vec() };
    let tokens = explaining.as_slice();
    let before = sentences(text, tokens, lexicon);
    let explainer = Explainer::new(tokens, lexicon, answers);
    let terms = Terms { text, tokens, before: &before, lexicon };
    let finder = Finder { tokens, before: &before, terms, explainer: &explainer };
    let mut entries = finder.all();
    let page = Page { text, tokens, whole, lexicon, explainer: &explainer, finder: &finder };
    if within {
        entries = page.sure(entries);
    }
    let mut glossary = page.glossary(&entries);
    if within {
        glossary.lists = page.lists(&entries);
        let known: Vec<Vec<String>> = glossary.respellings.iter().map(|one| one.term.clone()).collect();
        glossary.respellings.extend(written_out(whole).into_iter().filter(|one| !known.contains(&one.term)));
    }
    glossary
}

/// The paragraphs that may explain a term: those that do not begin with the name of a row, or have a word for it, or a
/// colon in brackets.
fn explaining(text: &str, tokens: &[Token]) -> Vec<Token> {
    const WORDS: [&str; 27] = [
        "we",
        "i",
        "term",
        "termed",
        "named",
        "mean",
        "means",
        "meaning",
        "meant",
        "signifies",
        "signify",
        "denotes",
        "denote",
        "called",
        "call",
        "stands",
        "stand",
        "represents",
        "implies",
        "abbreviated",
        "abbreviation",
        "made",
        "formed",
        "done",
        "worked",
        "written",
        "short",
    ];
    let mut rows = Vec::new();
    let paragraphs = tokens.chunk_by(|_, next| next.gap != Gap::Paragraph);
    let explains = |paragraph: &&[Token]| {
        rows.clear();
        rows_at(paragraph, 0, &mut rows);
        let said = |token: &Token| {
            WORDS.contains(&token.text.as_str())
                || token.gap >= Gap::Colon && matches!(token.text.as_str(), "to" | "by")
        };
        let printed = paragraph[0].span.to(paragraph[paragraph.len() - 1].span).of(text);
        let bracketed = |part: &str| part.split(')').next().is_some_and(|inner| inner.contains(':'));
        // "… knit 1. (Make 1, wool forward.)"
        let sentence = printed.split(". (").skip(1).any(|inner| inner.contains(','));
        rows.is_empty()
            || sentence
            || paragraph.iter().any(said)
            || printed.contains('=')
            || printed.split('(').skip(1).any(bracketed)
    };
    paragraphs.filter(explains).flatten().cloned().collect()
}

/// What stands before each token, a full stop after a whole word taken for the end of a sentence.
fn sentences(text: &str, tokens: &[Token], lexicon: &Lexicon) -> Vec<Before> {
    let mut before = marks(text, tokens);
    let terms = Terms { text, tokens, before: &before, lexicon };
    let refers = |at: usize| matches!(tokens[at].text.as_str(), "fig" | "figs" | "nos" | "page" | "plate");
    let word =
        |at: usize| tokens[at].number.is_none() && !terms.abbreviation(at) && tokens[at].text.len() > 2;
    let whole = |at: usize| word(at - 1) && !(refers(at - 1) && tokens[at].number.is_some());
    let ends: Vec<usize> =
        (1..tokens.len()).filter(|&at| before[at].mark == Mark::Point && whole(at)).collect();
    for at in ends {
        before[at].mark = Mark::Period;
    }
    before
}

/// A text with all that is needed to read its entries.
struct Page<'a> {
    text: &'a str,
    tokens: &'a [Token],
    /// Those of the whole text, where only some paragraphs may explain a term.
    whole: &'a [Token],
    lexicon: &'a Lexicon,
    explainer: &'a Explainer<'a>,
    finder: &'a Finder<'a>,
}

impl Page<'_> {
    fn glossary(&self, entries: &[Entry]) -> Glossary {
        let mut glossary = Glossary::default();
        for entry in entries {
            self.add(entry, &mut glossary);
        }
        self.add_answers(&mut glossary);
        glossary
    }

    fn add(&self, entry: &Entry, glossary: &mut Glossary) {
        let Some(first) = entry.terms.first() else { return };
        let Some(explained) = self.span(entry.explained.start, entry.explained.end) else { return };
        let mut taken = false;
        if let Some(words) = self.finder.spelled(entry.explained.clone()) {
            let words: Vec<String> = self.tokens[words].iter().map(|token| token.text.clone()).collect();
            let respelt =
                |term: &&Term| term.number.is_none() && (term.short || self.is_new_noun(entry, term));
            for term in entry.terms.iter().filter(respelt) {
                let spelling = |term: Vec<String>, words: Vec<String>| Respelling {
                    term,
                    words,
                    span: entry.terms[0].span,
                };
                glossary.respellings.push(spelling(term.words.clone(), words.clone()));
                if let (false, [word], [meant]) = (term.short, term.words.as_slice(), words.as_slice()) {
                    // "Wires are needles": each is one too.
                    let other = match (word.strip_suffix('s'), meant.strip_suffix('s')) {
                        (Some(word), Some(meant)) => spelling(vec![word.to_owned()], vec![meant.to_owned()]),
                        _ => spelling(vec![format!("{word}s")], vec![format!("{meant}s")]),
                    };
                    glossary.respellings.push(other);
                }
                taken = true;
            }
        } else if let Some(told) = self.explainer.understand(entry.explained.clone()) {
            let explained = self.span(entry.explained.start, told.end).unwrap_or(explained);
            let firm = entry.sure && told.whole && entry.start < entry.explained.start;
            for term in &entry.terms {
                taken |= self.define(term, (&told, firm), explained, glossary);
            }
        }
        if !taken && entry.sure {
            glossary.not_understood.push(first.span.to(explained));
        }
    }

    fn span(&self, start: usize, end: usize) -> Option<Span> {
        let words = self.tokens.get(start..end)?;
        Some(words.first()?.span.to(words.last()?.span))
    }

    /// Adds a definition, and one for the verb without its ending; false if it cannot be meant. `told` is what it says, and
    /// whether it is firmly said and nothing else.
    fn define(
        &self,
        term: &Term,
        told: (&Understood, bool),
        explained: Span,
        glossary: &mut Glossary,
    ) -> bool {
        let Some(definition) = self.definition(term, told, explained) else { return false };
        // A known form of the verb says nothing new of its other forms.
        let stem = term
            .stem(self.lexicon)
            .filter(|_| !definition.confirms)
            .and_then(|stem| self.definition(&stem, told, explained));
        glossary.definitions.push(definition);
        glossary.definitions.extend(stem);
        true
    }

    fn definition(
        &self,
        term: &Term,
        (told, firm): (&Understood, bool),
        explained: Span,
    ) -> Option<Definition> {
        let ops = match &told.meaning {
            Meaning::Stitches(ops) => ops.as_slice(),
            _ => &[],
        };
        let known = senses(self.lexicon, term);
        let natural = natural(term, ops);
        let agrees = |(_, sense, known): &(String, &Sense, Vec<Op>)| known == ops && sense.choice.is_none();
        let confirms = !ops.is_empty() && senses_of_words(self.lexicon, &natural).iter().any(agrees);
        let moves = ops.is_empty() && (known.is_empty() || term.short);
        let possible = confirms
            || moves
            || !ops.is_empty() && plausible(term, firm, ops, &known) && !self.uses(explained, term);
        possible.then(|| Definition {
            term: term.phrase(),
            meaning: told.meaning.clone(),
            context: told.context,
            span: term.span,
            explained,
            words: term.span.to(explained).of(self.text).to_owned(),
            confirms,
            short: term.short,
            open: told.open,
        })
    }

    /// Whether an explanation works with the letter that it would explain: "k. 1, p. 1, k. 1, all in one stitch" explains
    /// no "k".
    fn uses(&self, explained: Span, term: &Term) -> bool {
        let [letter] = term.words.as_slice() else { return false };
        let worked = |pair: &[Token]| pair[0].text == *letter && pair[1].number.is_some();
        let mut within = self.tokens.windows(2).filter(|pair| explained.covers(pair[0].span));
        term.short && within.any(worked)
    }

    /// The answers that definitions give to questions of the lexicon. A question that two definitions answer
    /// differently stays open.
    fn add_answers(&self, glossary: &mut Glossary) {
        let mut given: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for definition in glossary.definitions.iter().filter(|definition| !definition.open) {
            let Meaning::Stitches(ops) = &definition.meaning else { continue };
            for words in [definition.term.clone(), format!("{} 1", definition.term)] {
                for (_, sense, known) in senses_of_words(self.lexicon, &words) {
                    let Some((question, answer)) = &sense.choice else { continue };
                    if known == *ops && question != "brioche" {
                        given.entry(question.clone()).or_default().push(answer.clone());
                    }
                }
            }
        }
        for (question, mut answers) in given {
            answers.dedup();
            if let [answer] = answers.as_slice() {
                glossary.answers.insert(question, answer.clone());
            }
        }
    }

    /// The entries within a pattern that can hardly be anything else.
    fn sure(&self, entries: Vec<Entry>) -> Vec<Entry> {
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
        let told = self.explainer.understand(entry.explained.clone());
        told.is_some_and(|told| match &told.meaning {
            Meaning::Stitches(ops) => known.is_empty() || known.iter().any(|(.., other)| other == ops),
            _ => false,
        })
    }

    /// "A bout is a round": whether a text says of a word of its own which common one it stands for.
    fn is_new_noun(&self, entry: &Entry, term: &Term) -> bool {
        entry.worded && term.words.len() == 1 && !term.short && self.finder.terms.is_new(&term.words[0])
    }

    /// Whether an entry does nothing but say so.
    fn respells(&self, entry: &Entry) -> bool {
        let spelled = self.finder.spelled(entry.explained.clone()).is_some();
        spelled && entry.terms.iter().all(|term| self.is_new_noun(entry, term))
    }

    /// The lists of terms, each with the heading that may stand before it in its paragraph.
    fn lists(&self, entries: &[Entry]) -> Vec<Span> {
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
        const WORDS: [&str; 6] =
            ["abbreviations", "contractions", "explanation", "explanations", "terms", "signs"];
        let mut begins: Vec<usize> =
            (0..self.tokens.len()).filter(|at| self.tokens[*at].gap == Gap::Paragraph).collect();
        begins.push(self.tokens.len());
        let mut out = Vec::new();
        for (nth, pair) in begins.windows(2).enumerate() {
            let (from, to) = (pair[0], pair[1]);
            let ends = |at: &usize| self.tokens[*at].gap >= Gap::Colon;
            let title = (from + 1..to).find(ends).unwrap_or(to);
            let says = |token: &Token| WORDS.contains(&token.text.as_str());
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
        let told = self.explainer.understand(entry.explained.clone());
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
        let known = |term: &Term| !senses(self.lexicon, term).is_empty();
        let verb = |term: &Term| term.verb && known(term);
        match entry.link {
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
        let told = self.explainer.understand(entry.explained.clone());
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
        let short = entry.worded && entry.terms.iter().all(|term| term.short);
        let begins = before[entry.start].mark >= Mark::Period
            || before[entry.start].line
            || short && before[entry.start].mark == Mark::Semicolon;
        let words =
            |term: &Term| short || term.words.iter().all(|word| word.chars().all(char::is_alphabetic));
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
        let stands = |at: usize| {
            let end = at + term.words.len();
            let before = at.checked_sub(1).map(|at| &self.whole[at]);
            let after = self.whole.get(end);
            let told = before.is_some_and(|before| {
                parted(at)
                    || matches!(before.kind, TokenKind::Star | TokenKind::Open)
                    || before.number.is_some()
                    || matches!(before.text.as_str(), "a" | "make")
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
        places.any(|at| stands_at(self.whole, at, &term.words) && stands(at))
    }
}

/// The words in which a text would use the term for these operations.
fn natural(term: &Term, ops: &[Op]) -> String {
    let each = matches!(ops, [op] if op.takes() == 1 && op.makes() == 1);
    match term.number {
        Some(number) => format!("{} {number}", term.head()),
        None if each => format!("{} 1", term.head()),
        None => term.head(),
    }
}

/// Whether a book may mean this: words that every book uses alike are not given another meaning, and a known
/// word stays what it is, an increase or a decrease or neither, unless it is firmly explained. A letter may mean anything.
fn plausible(term: &Term, firm: bool, ops: &[Op], known: &[(String, &Sense, Vec<Op>)]) -> bool {
    let change = |ops: &[Op]| {
        let (takes, makes) =
            ops.iter().fold((0, 0), |(takes, makes), op| (takes + op.takes(), makes + op.makes()));
        makes.cmp(&takes)
    };
    let fixed = DATA.fixed.contains(&term.head());
    term.short
        || !fixed
            && (firm || known.is_empty() || known.iter().any(|(_, _, other)| change(other) == change(ops)))
}
