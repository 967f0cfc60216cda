//! Words that stand oddly among their neighbours, and the words that stand there elsewhere.
//!
//! A pattern uses few words, again and again in the same order. Where a small word was set for another ("knit two
//! plain" for "knit two together"), the words about it stand elsewhere with the right one between them. Knows the order
//! of words only; what comes of another word is found out by reading.

use reading::{Gap, Token, TokenKind};
use rustc_hash::{FxHashMap, FxHashSet};
use span::Span;

use crate::words::Words;

/// A word that may be meant instead of one printed.
#[derive(Clone, Debug, PartialEq)]
pub struct Meant {
    /// The word printed.
    pub span: Span,
    /// The word meant, as it is printed elsewhere.
    pub word: String,
    /// How well it fits: for each of three pairs of neighbours, one if it stands beside them elsewhere, and one less if
    /// the printed word does.
    pub fit: i32,
}

/// Where the neighbours of a word stand: two before, one on each side, two after.
const NEIGHBOURS: [(isize, isize); 3] = [(-2, -1), (-1, 1), (1, 2)];

/// Words of the craft that stand in the same places and differ in what they do: the eye or the hand takes one for the
/// other. Common practice, no published source beside the table of misprints.
const CONFUSED: [(&str, &str); 14] = [
    ("knit", "make"),
    ("knit", "slip"),
    ("make", "slip"),
    ("over", "on"),
    ("together", "plain"),
    ("last", "first"),
    ("slipped", "knitted"),
    ("forward", "back"),
    ("odd", "even"),
    ("before", "after"),
    ("narrow", "knit"),
    ("twice", "once"),
    ("purl", "pass"),
    ("take", "make"),
];

/// The words that a word may have been set for.
pub fn set_for(word: &str) -> impl Iterator<Item = &'static str> + '_ {
    CONFUSED.iter().filter_map(move |(one, other)| match word {
        word if word == *one => Some(*other),
        word if word == *other => Some(*one),
        _ => None,
    })
}

/// The words that may be meant at places of a text, best first; `wanted` says which places are asked for.
pub fn meant_words(words: &Words<'_>, wanted: impl Fn(Span) -> bool) -> Vec<Meant> {
    let tokens = words.tokens();
    let mut seen: FxHashMap<(usize, &str, &str), FxHashMap<&str, Vec<usize>>> = FxHashMap::default();
    for (at, token) in tokens.iter().enumerate() {
        for key in keys(tokens, at) {
            seen.entry(key).or_default().entry(&token.text).or_default().push(at);
        }
    }
    let elsewhere = |key: &(usize, &str, &str), word: &str, at: usize| {
        seen.get(key).and_then(|all| all.get(word)).is_some_and(|places| places.iter().any(|one| *one != at))
    };
    let mut out = Vec::new();
    for (at, token) in tokens.iter().enumerate().filter(|(_, token)| wanted(token.span)) {
        // What begins a sentence has its neighbours before it by chance.
        if token.gap >= Gap::Period || !is_word(token) && !is_bound(tokens, at) {
            continue;
        }
        let mut others: FxHashSet<&str> = FxHashSet::default();
        let mut own = 0;
        for key in keys(tokens, at) {
            others.extend(seen.get(&key).into_iter().flatten().map(|(word, _)| *word));
            own += i32::from(elsewhere(&key, &token.text, at));
        }
        others.remove(token.text.as_str());
        for other in others {
            let places = |key: &(usize, &str, &str)| seen.get(key)?.get(other)?.first().copied();
            let first = keys(tokens, at).iter().find_map(places);
            let Some(like) = first.map(|first| &tokens[first]).filter(|like| is_like(token, like)) else {
                continue;
            };
            let fit = keys(tokens, at).iter().filter(|key| elsewhere(key, other, at)).count();
            let fit = i32::try_from(fit).unwrap_or(0) - own;
            let word = like.span.of(words.text).to_lowercase();
            out.push(Meant { span: token.span, word, fit });
        }
    }
    out.sort_by(|a, b| b.fit.cmp(&a.fit).then(a.span.cmp(&b.span)).then(a.word.cmp(&b.word)));
    out
}

fn is_word(token: &Token) -> bool {
    token.kind == TokenKind::Word && token.number.is_none() && token.ordinal.is_none()
}

/// Whether a number is part of a phrase, as in "knit 2 together"; other numbers are tried by counting.
fn is_bound(tokens: &[Token], at: usize) -> bool {
    tokens[at].number.is_some() && tokens.get(at + 1).is_some_and(|next| next.text.starts_with("tog"))
}

/// Words for words and numbers for numbers.
fn is_like(one: &Token, other: &Token) -> bool {
    let ordinal = one.ordinal.is_some() || other.ordinal.is_some();
    one.kind == other.kind && one.number.is_some() == other.number.is_some() && !ordinal
}

fn keys(tokens: &[Token], at: usize) -> Vec<(usize, &str, &str)> {
    let text = |away: isize| {
        at.checked_add_signed(away).and_then(|at| tokens.get(at)).map(|token| token.text.as_str())
    };
    NEIGHBOURS
        .iter()
        .enumerate()
        .filter_map(|(kind, (one, other))| Some((kind, text(*one)?, text(*other)?)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_word_of_like_places_is_meant() {
        let text = "knit 2 together, over, knit 1, knit 2 together, knit 3, knit 2 plain, over, knit 1, over";
        let all = meant_words(&Words::new(text), |_| true);
        let plain = text.find("plain").unwrap_or(0);
        assert_eq!(all[0], Meant { span: Span::new(plain, plain + 5), word: "together".to_owned(), fit: 3 });
        assert!(meant_words(&Words::new("knit 2, purl 3"), |_| true).is_empty());
    }
}
