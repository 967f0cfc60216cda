//! Words that are none of the craft, and a slip of the press or of the scan away from one that is.
//!
//! They are looked for first, because a sentence around such a word is understood badly or not at all, and whatever is
//! amiss in it then says nothing. Each is tried by reading; only what the text is read better for is kept. Knows letters
//! and words; the search for other corrections goes on in the text so respelled.

use std::sync::LazyLock;

use notation::numeral;
use reading::{Gap, Options, Reader, Reading, Study, Token, TokenKind};
use rustc_hash::FxHashSet;
use span::Span;

use crate::Emendation;
use crate::mend::outcome;
use crate::patch::{Patch, Patched, apply};
use crate::purse::Purse;
use crate::ruling::Orders;
use crate::trouble::{Trouble, troubles};
use crate::words::{Words, is_craft, one_letter_off};

/// Nats against a misspelling where the word printed is none: the misprint itself is beyond doubt.
const MISSPELT: f64 = 1.0;
/// Nats against a word that the text has nowhere else, where it has one that would do as well.
const UNUSED: f64 = 1.5;
/// Nats against a word that is none, where the words about it are not understood. The reader is as mild to them as to what
/// is no part of a pattern.
const PASSED_OVER: f64 = 3.0;
/// Nats by which a text must be read better for the word.
const GAIN: f64 = 2.0;
/// The same, for a word to be put right unasked.
const SURE: f64 = 5.0;
/// The most words that are tried.
const WORDS: usize = 24;
/// How many words of respelt texts are read, and the least of such texts. Each question that is open doubles the readings.
const WORDS_READ: usize = 20_000;
const LEAST_TRIED: usize = 6;
/// The share of what a search may spend that is spent at most on words.
const SHARE: f64 = 0.25;
/// The most words that one may stand for.
const MEANT: usize = 4;
/// Shorter words are near too many others.
const SHORTEST: usize = 3;

/// Letters that a scan takes for others.
const MISREAD: [(&str, &str); 9] = [
    ("n", "rr"),
    ("rn", "m"),
    ("m", "rn"),
    ("cl", "d"),
    ("d", "cl"),
    ("li", "h"),
    ("h", "li"),
    ("ii", "n"),
    ("vv", "w"),
];
/// Figures that a scan takes for letters.
const FIGURES: [(char, &[char]); 5] =
    [('0', &['o']), ('1', &['l', 'i']), ('5', &['s']), ('6', &['b']), ('8', &['b'])];

/// Words of ordinary English that lie near words of the craft: one of them may be what was meant.
static ENGLISH: LazyLock<FxHashSet<&'static str>> = LazyLock::new(|| {
    let lines = include_str!("../data/english.txt").lines().filter(|line| !line.starts_with('#'));
    lines.flat_map(str::split_whitespace).collect()
});

/// A text with its misspelt words put right.
pub struct Respelled {
    /// The text.
    pub patched: Patched,
    /// The words.
    pub emendations: Vec<Emendation>,
    /// Whether each of them is beyond doubt.
    pub sure: bool,
}

/// A word that is none, and what it may stand for, the likeliest first.
struct Odd {
    span: Span,
    meant: Vec<String>,
}

/// A word put right, and what comes of it.
struct Tried {
    weight: f64,
    /// Nats against the reading alone.
    read: f64,
    /// Nats against it beside other words for the same one.
    unused: f64,
    patch: Patch,
    outcome: u64,
    /// Where words are not understood even so.
    unread: Vec<Span>,
}

impl Tried {
    fn beside_others(&self) -> f64 {
        self.weight + self.unused + passed_over(&self.unread, self.patch.span)
    }
}

/// Nats against a word for standing in words that are not understood.
fn passed_over(unread: &[Span], word: Span) -> f64 {
    if unread.iter().any(|span| span.covers(word)) { PASSED_OVER } else { 0.0 }
}

/// What is left to be put right, and nats against the text as read.
fn weight(reading: &Reading, text: &str) -> f64 {
    reading.cost + troubles(reading, text).iter().map(Trouble::cost).sum::<f64>()
}

/// Puts right the misspelt words that the text is read otherwise and better for; `None` where there are none.
pub fn respelled(
    study: &Study<'_>,
    text: &str,
    options: &Options,
    allows: &dyn Fn(&Patch) -> bool,
    (orders, purse): (&Orders<'_>, &Purse),
) -> Option<Respelled> {
    let words = Words::new(text);
    let odd = odd_words(study.reader(), &words);
    if odd.is_empty() {
        return None;
    }
    let printed = study.read(text, options);
    let (mut least, mut read) = (weight(&printed, text), printed.cost);
    let mut patches: Vec<Patch> = Vec::new();
    let mut sure = true;
    let mut done = outcome(&printed);
    let mut unread = printed.unread.clone();
    let amiss = troubles(&printed, text).len();
    let open = printed.decisions.len().min(8);
    let mut to_try = ((WORDS_READ / words.tokens().len().max(1)) >> open).max(LEAST_TRIED);
    for word in odd.iter().take(WORDS) {
        let mut tried: Vec<Tried> = Vec::new();
        for meant in &word.meant {
            let patch = Patch::new(word.span, meant.as_str());
            if orders.stopped() || !allows(&patch) || to_try == 0 || !purse.lasts(SHARE) {
                continue;
            }
            to_try -= 1;
            let Some(patched) = apply(text, &[patches.as_slice(), std::slice::from_ref(&patch)].concat())
            else {
                continue;
            };
            let reading = study.read(&patched.text, options);
            // A word in passing is the book's own affair, but not the name of a row.
            let left = troubles(&reading, &patched.text).len();
            let in_passing = outcome(&reading) == done && left >= amiss;
            if in_passing && numeral::ordinal(&meant.to_lowercase()).is_none() {
                continue;
            }
            let unread = reading.unread.iter().map(|span| patched.spot(*span)).collect();
            let unused = if words.has(&meant.to_lowercase()) { 0.0 } else { UNUSED };
            let weight = weight(&reading, &patched.text) + MISSPELT;
            tried.push(Tried {
                weight,
                read: reading.cost,
                unused,
                patch,
                outcome: outcome(&reading),
                unread,
            });
        }
        tried.sort_by(|a, b| a.beside_others().total_cmp(&b.beside_others()));
        let gain = |first: &Tried| {
            least + passed_over(&unread, word.span) - first.weight - passed_over(&first.unread, word.span)
        };
        let alone = match tried.as_slice() {
            [first, second, ..] => second.beside_others() - first.beside_others() >= GAIN,
            _ => true,
        };
        if let Some(first) = tried.into_iter().next().filter(|first| gain(first) >= GAIN) {
            let understood = passed_over(&first.unread, word.span) == 0.0;
            // What comes out for a word that is read no better, or of which the text knows nothing, is chance.
            let meant = first.patch.corrected.to_lowercase();
            let of_craft =
                is_craft(&meant) || is_number(&meant) || study.reader().lexicon().word(&meant).is_some();
            let own = word.span.of(text).to_lowercase();
            let likely = first.read <= read - GAIN
                && (first.unused == 0.0 || of_craft)
                && !ENGLISH.contains(own.as_str());
            sure &= first.weight <= least - SURE && alone && understood && likely;
            (done, least, read, unread) = (first.outcome, first.weight, first.read, first.unread);
            patches.push(first.patch);
        }
    }
    let patched = apply(text, &patches).filter(|_| !patches.is_empty())?;
    let mut emendations: Vec<Emendation> =
        patches.into_iter().map(|patch| emendation(patch, &printed, text)).collect();
    emendations.sort_by_key(|one| one.span);
    Some(Respelled { patched, emendations, sure })
}

fn emendation(patch: Patch, printed: &Reading, text: &str) -> Emendation {
    let mut rows = printed.pieces.iter().flat_map(|piece| &piece.plan.rows);
    let row = rows.find(|row| row.span.covers(patch.span)).map(|row| row.label.clone());
    let word = patch.span.of(text);
    Emendation {
        row: row.unwrap_or_default(),
        why: format!("\"{word}\" is no word of the craft, and \"{}\" is", patch.corrected),
        printed: word.to_owned(),
        corrected: patch.corrected,
        span: patch.span,
        cost: MISSPELT,
    }
}

fn is_number(word: &str) -> bool {
    numeral::cardinal(word).or(numeral::ordinal(word)).is_some()
}

/// The words of a text that are none, each met once only.
fn odd_words(reader: &Reader, words: &Words<'_>) -> Vec<Odd> {
    let tokens = words.tokens();
    let times = |text: &str| tokens.iter().filter(|token| token.text == text).count();
    let known =
        |word: &str| word.len() >= SHORTEST && (reader.knows(word) || is_craft(word) || times(word) > 1);
    let mut out: Vec<Odd> = Vec::new();
    for (at, token) in tokens.iter().enumerate() {
        if out.last().is_some_and(|last| last.span.end > token.span.start) {
            continue;
        }
        let span = figured(tokens, at);
        let word = span.of(words.text).to_lowercase();
        let mixed = span != token.span;
        if token.kind != TokenKind::Word || !mixed && (token.number.is_some() || token.ordinal.is_some()) {
            continue;
        }
        // The second half of a word parted at the end of a line is none by itself.
        let before = words.text[..span.range().start].trim_end_matches([' ', '\r']);
        if before.strip_suffix('\n').is_some_and(|line| line.trim_end().ends_with('-')) {
            continue;
        }
        let is_odd = word.chars().count() >= SHORTEST && (mixed || !known(&word) && times(&word) == 1);
        if !is_odd || is_number(&word) {
            continue;
        }
        let mut meant = if mixed { with_letters(&word) } else { near(&word) };
        meant.retain(|other| known(other) || other.len() >= SHORTEST && is_number(other));
        // Words of this text before others, the commonest first; a letter is oftener lost than put in.
        meant.sort_by_key(|other| std::cmp::Reverse((times(other), other.len())));
        meant.truncate(MEANT);
        if !meant.is_empty() {
            let capital = span.of(words.text).starts_with(char::is_uppercase);
            let meant =
                meant.into_iter().map(|word| if capital { crate::words::capital(&word) } else { word });
            out.push(Odd { span, meant: meant.collect() });
        }
    }
    out
}

/// The token at a place, with those that follow it without a gap where figures stand among letters: "kn1t".
fn figured(tokens: &[Token], at: usize) -> Span {
    let joined = |next: &&Token| next.kind == TokenKind::Word && next.gap == Gap::None;
    let run = tokens[at + 1..].iter().zip(&tokens[at..]);
    let run = run.take_while(|(next, token)| joined(next) && next.span.start == token.span.end);
    run.fold(tokens[at].span, |span, (next, _)| span.to(next.span))
}

/// A word with its figures taken for letters, in every way.
fn with_letters(word: &str) -> Vec<String> {
    const MOST: usize = 16;
    let mut out = vec![String::new()];
    for letter in word.chars() {
        let like = FIGURES.iter().find(|(figure, _)| *figure == letter);
        let letters = like.map_or_else(|| vec![letter], |(_, letters)| letters.to_vec());
        out = out.iter().flat_map(|begun| letters.iter().map(move |next| format!("{begun}{next}"))).collect();
        out.truncate(MOST);
    }
    out.retain(|other| other != word && other.bytes().all(|byte| byte.is_ascii_lowercase()));
    out
}

/// The words that a slip makes into this one.
fn near(word: &str) -> Vec<String> {
    let mut out = one_letter_off(word);
    for (one, other) in MISREAD {
        out.extend(
            word.match_indices(one)
                .map(|(at, _)| format!("{}{other}{}", &word[..at], &word[at + one.len()..])),
        );
    }
    out.sort_unstable();
    out.dedup();
    out
}
