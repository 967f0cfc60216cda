//! A book's own explanation of its terms, read into senses.
//!
//! ```text
//! text ─ entries ─▶ term + explanation ─ explainer ─▶ definitions ─ install ─▶ senses that outrank the built-in
//! ```
//!
//! An explanation is understood through the phrases of the lexicon itself and some turns of phrase that stand
//! only in explanations (`data/glossary.toml`). What is not understood is told, never guessed. Knows nothing of
//! rows, repeats or counts. Start at [`lexicon_of_book`].

mod after;
mod brackets;
mod by_rows;
mod data;
mod elliptic;
mod entries;
mod explanation;
mod install;
mod marks;
mod naming;
mod sides;
mod term;
mod weak;
mod within;

use std::collections::BTreeMap;

use loops::Op;
use notation::{Context, Lexicon, Meaning, Sense};
use span::Span;

use self::brackets::{WrittenOut, written_out};
use self::data::DATA;
use self::entries::{Entry, Finder, Link};
use self::explanation::{Explainer, Understood};
use self::marks::{Before, Mark, marks};
use self::term::{Term, Terms, senses, senses_of_words};
use crate::lexer::{Gap, Token, TokenKind, lex};
use crate::rowset::rows_at;

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
    /// Nats against it, where it is not certain how far back a name reaches.
    cost: f64,
    /// The question that it is one answer to then: the name, and the words that it would stand for.
    choice: Option<(String, String)>,
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
    /// Words that only give a name to what was told before them: "(this is called a bar)".
    pub namings: Vec<Span>,
}

/// The senses that a book's explanation of terms gives.
pub fn senses_of(text: &str, lexicon: &Lexicon) -> Glossary {
    read(text, lexicon, lexicon, false)
}

/// The senses that are explained in passing in the text of a pattern. Only what can hardly be anything else is
/// taken: `P means plain`, and lists of at least three terms.
pub fn senses_within(text: &str, lexicon: &Lexicon) -> Glossary {
    senses_within_book(text, lexicon, lexicon)
}

/// The same, where the book explains terms elsewhere too: `book` is the lexicon with these.
pub fn senses_within_book(text: &str, lexicon: &Lexicon, book: &Lexicon) -> Glossary {
    let mut glossary = read(text, lexicon, book, true);
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
        self.namings.extend(other.namings);
    }

    /// The sentences of a text that do nothing but explain a term, so that no row is told in them; of those that say what
    /// is known anyhow, only what stands in brackets of its own.
    pub fn sentences(&self, text: &str) -> Vec<Span> {
        let named = |definition: &Definition| self.namings.iter().any(|words| words.covers(definition.span));
        let sentence = |definition: &Definition| {
            if named(definition) {
                return None;
            }
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
            .chain(self.lists.iter().chain(&self.namings).copied())
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

/// The most rounds in which terms are explained by other terms.
const ROUNDS: usize = 4;

fn read(text: &str, lexicon: &Lexicon, book: &Lexicon, within: bool) -> Glossary {
    let tokens = lex(text);
    let read = |answers: &BTreeMap<String, String>, book: Option<&Lexicon>| {
        let terms = Sources { lexicon, answers, book };
        pass(text, &tokens, terms, within)
    };
    let mut glossary = read(&BTreeMap::new(), None);
    // Once it is known what the book says of "make one", other terms may be explained by it.
    if !glossary.answers.is_empty() {
        glossary = read(&glossary.answers, None);
    }
    // What the short forms leave is read as rows are, with the terms known so far, until nothing new is understood.
    for _ in 0..ROUNDS {
        let own = glossary.install(book);
        let next = read(&glossary.answers, Some(&own));
        let settled = next.says_the_same(&glossary);
        glossary = next;
        if settled {
            break;
        }
    }
    glossary
}

/// By what explanations are read.
#[derive(Clone, Copy)]
struct Sources<'a> {
    /// The senses without the book's own.
    lexicon: &'a Lexicon,
    /// What the book has answered so far.
    answers: &'a BTreeMap<String, String>,
    /// The senses with the book's own, once they are known.
    book: Option<&'a Lexicon>,
}

fn pass(text: &str, tokens: &[Token], sources: Sources<'_>, within: bool) -> Glossary {
    let Sources { lexicon, answers, book } = sources;
    let whole = tokens;
    let explaining = if within { explaining(text, whole) } else { whole.to_vec() };
    let tokens = explaining.as_slice();
    let before = sentences(text, tokens, lexicon);
    let explainer = Explainer::new(tokens, lexicon, answers, book);
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
        let news = written_out(whole).into_iter().filter(|one| !known.contains(&one.respelling.term));
        for one in news {
            match definition_of(&one, text, whole, sources) {
                Some(definition) => {
                    glossary.namings.push(one.respelling.span);
                    glossary.definitions.push(definition);
                }
                None => glossary.respellings.push(kept_short(one.respelling, lexicon)),
            }
        }
    }
    glossary
}

/// "n. 3 (narrow 3, that is, slip one, …)": how an abbreviation is worked that is written out.
fn definition_of(one: &WrittenOut, text: &str, tokens: &[Token], sources: Sources<'_>) -> Option<Definition> {
    let how = one.how.clone()?;
    let Sources { lexicon, answers, book } = sources;
    let told = Explainer::new(tokens, lexicon, answers, book).told(how.clone(), Link::Strong)?;
    let before = sentences(text, tokens, lexicon);
    let terms = Terms { text, tokens, before: &before, lexicon };
    let [term] = <[Term; 1]>::try_from(terms.parse(one.short.clone(), true)?).ok()?;
    let known = matches!(&told.meaning, Meaning::Stitches(ops)
        if senses(lexicon, &term).iter().any(|(_, sense, known)| known == ops && sense.choice.is_none()));
    let works = matches!(&told.meaning, Meaning::Stitches(ops) if !ops.is_empty());
    (works && told.whole).then(|| Definition {
        term: term.phrase(),
        meaning: told.meaning,
        context: told.context,
        span: one.respelling.span,
        explained: tokens[how.start].span.to(tokens[how.end - 1].span),
        words: one.respelling.span.of(text).to_owned(),
        confirms: known,
        short: term.short,
        open: told.open,
        cost: 0.0,
        choice: None,
    })
}

/// "Sl. (slip)", "k. (knit)": a term that stands for stitches is not read as words that stand for none, or for the same.
fn kept_short(one: Respelling, lexicon: &Lexicon) -> Respelling {
    let told = |words: &[String]| senses_of_words(lexicon, &words.join(" "));
    let (term, words) = (told(&one.term), told(&one.words));
    let same = term
        .iter()
        .all(|(_, sense, ops)| sense.choice.is_none() && words.iter().any(|(_, _, others)| others == ops));
    if !term.is_empty() && (words.is_empty() || same) {
        return Respelling { words: one.term.clone(), ..one };
    }
    one
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
        // "… over (this is a long stitch)"
        let named = paragraph.windows(2).any(|pair| {
            pair[0].kind == TokenKind::Open && matches!(pair[1].text.as_str(), "this" | "these" | "which")
        });
        rows.is_empty()
            || sentence
            || named
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
    let word = |at: usize| {
        let text = tokens[at].text.as_str();
        let long = text.len() > 2 || DATA.no_term.contains(text);
        tokens[at].number.is_none() && !terms.abbreviation(at) && long && text != "sts"
    };
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
        let entry = &self.of_the_last(entry, glossary);
        let Some(first) = entry.terms.first() else { return };
        let Some(explained) = self.span(entry.explained.start, entry.explained.end) else { return };
        if self.of_both_sides(entry, glossary) {
            return;
        }
        let known = glossary.definitions.len();
        let mut taken = false;
        if let Some(words) = self.finder.other_words(entry.explained.clone()) {
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
        } else if let Some(told) = self.explainer.explains(entry) {
            let explained = self.span(entry.explained.start, told.end).unwrap_or(explained);
            let firm = entry.sure && told.whole && entry.start < entry.explained.start;
            for term in &entry.terms {
                taken |= self.define(term, (&told, firm), explained, glossary);
            }
        }
        taken |= self.same_but(entry, explained, glossary);
        if let Some(naming) = entry.naming.as_ref().filter(|_| taken) {
            glossary.namings.extend(self.span(naming.words.start, naming.words.end));
            self.named_further(entry, (naming, known), glossary);
        }
        let piece = entry.terms.iter().all(|term| DATA.pieces.contains(&term.head()));
        if !taken && entry.sure && !piece {
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
        if DATA.pieces.contains(&term.head()) && ops.len() < 2 {
            return None;
        }
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
            cost: 0.0,
            choice: None,
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
