//! Abbreviations that a text writes out in brackets where it first uses them: "t. t. o. (thread thrown over)".
//!
//! Knows only letters: whether what stands in the brackets is what the letters before them shorten. Knows no senses.

use std::ops::Range;

use super::Respelling;
use crate::lexer::{Gap, Token, TokenKind};

/// The most words of one abbreviation.
const MOST_WORDS: usize = 5;
/// The most words that stand in the brackets with all that is said of it.
const LONGEST: usize = 40;
/// The most letters of an abbreviation that is the beginning of its word.
const MOST_LETTERS: usize = 4;

/// An abbreviation that is written out.
pub(super) struct WrittenOut {
    /// The words that it stands for.
    pub(super) respelling: Respelling,
    /// The tokens of the abbreviation.
    pub(super) short: Range<usize>,
    /// The tokens that tell how it is worked: "(narrow 3, that is, slip one, knit two together, …)".
    pub(super) how: Option<Range<usize>>,
}

/// Every abbreviation that is written out in brackets after it.
pub(super) fn written_out(tokens: &[Token]) -> Vec<WrittenOut> {
    let opens = (1..tokens.len()).filter(|&at| tokens[at].kind == TokenKind::Open);
    opens.filter_map(|open| written_out_at(tokens, open)).collect()
}

fn written_out_at(tokens: &[Token], open: usize) -> Option<WrittenOut> {
    let within = tokens[open + 1..].iter().take(LONGEST + 1);
    let close = open + 1 + within.clone().position(|token| token.kind == TokenKind::Close)?;
    let that_is = that_is(tokens, open + 1..close);
    let said = &tokens[open + 1..that_is.unwrap_or(close)];
    let article = |token: &&Token| !matches!(token.text.as_str(), "the" | "a" | "an");
    let words: Vec<&Token> = said.iter().filter(article).collect();
    let short = open.checked_sub(words.len())?..open;
    let letters = &tokens[short.clone()];
    let shortens = words.iter().zip(letters).all(|(word, short)| shortens(word, short));
    let one = words.len() == 1 && letters[0].text.len() <= MOST_LETTERS;
    // "Sl. and b. (slip and bind)".
    let joined = letters.iter().any(is_and);
    let most = if joined { 2 } else { 1 };
    let initial =
        |short: &Token| short.number.is_some() || is_and(short) || short.text.chars().count() <= most;
    let initials = (2..=MOST_WORDS).contains(&words.len()) && letters.iter().all(initial);
    let begins = words.first().zip(letters.first()).is_some_and(|(word, short)| begins(word, short));
    let numbered = letters.iter().any(|short| short.number.is_some());
    let told = that_is.is_some() || !numbered;
    (shortens && begins && told && (one || initials)).then(|| WrittenOut {
        respelling: Respelling {
            term: letters.iter().map(|token| token.text.clone()).collect(),
            words: said.iter().map(|token| token.text.clone()).collect(),
            span: tokens[open].span.to(tokens[close].span),
        },
        short,
        how: that_is.map(|at| at + 2..close),
    })
}

/// Where "that is" stands after a comma.
fn that_is(tokens: &[Token], inside: Range<usize>) -> Option<usize> {
    let says = |at: &usize| {
        tokens[*at].gap >= Gap::Comma && tokens[*at].text == "that" && tokens[*at + 1].text == "is"
    };
    (inside.start + 1..inside.end.saturating_sub(1)).find(says)
}

/// Whether an abbreviation stands for a word; a number stands for itself.
fn shortens(word: &Token, short: &Token) -> bool {
    let kinds = word.kind == TokenKind::Word && short.kind == TokenKind::Word;
    let same = word.number.is_some() || is_and(word) && is_and(short);
    kinds && word.number == short.number && (same || begins(word, short))
}

fn is_and(token: &Token) -> bool {
    token.text == "and"
}

/// Whether a word begins with the letters of an abbreviation, and has more.
fn begins(word: &Token, short: &Token) -> bool {
    word.text.len() > short.text.len() && word.text.starts_with(&short.text)
}
