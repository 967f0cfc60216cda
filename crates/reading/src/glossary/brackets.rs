//! Abbreviations that a text writes out in brackets where it first uses them: "t. t. o. (thread thrown over)".
//!
//! Knows only letters: whether what stands in the brackets is what the letters before them shorten. Knows no senses.

use super::Respelling;
use crate::lexer::{Token, TokenKind};

/// The most words of one abbreviation.
const MOST_WORDS: usize = 5;
/// The most letters of an abbreviation that is the beginning of its word.
const MOST_LETTERS: usize = 4;

/// Every abbreviation that is written out in brackets after it.
pub(super) fn written_out(tokens: &[Token]) -> Vec<Respelling> {
    let opens = (1..tokens.len()).filter(|&at| tokens[at].kind == TokenKind::Open);
    opens.filter_map(|open| written_out_at(tokens, open)).collect()
}

fn written_out_at(tokens: &[Token], open: usize) -> Option<Respelling> {
    let inside =
        tokens[open + 1..].iter().take(MOST_WORDS + 1).position(|token| token.kind == TokenKind::Close)?;
    let words = &tokens[open + 1..open + 1 + inside];
    let plain = |token: &Token| token.kind == TokenKind::Word && token.number.is_none();
    let from = open.checked_sub(words.len())?;
    let short = &tokens[from..open];
    let shortens =
        words.iter().zip(short).all(|(word, short)| plain(word) && plain(short) && begins(word, short));
    let one = words.len() == 1 && short[0].text.len() <= MOST_LETTERS;
    let initials = words.len() > 1 && short.iter().all(|short| short.text.chars().count() == 1);
    (shortens && (one || initials)).then(|| Respelling {
        term: short.iter().map(|token| token.text.clone()).collect(),
        words: words.iter().map(|token| token.text.clone()).collect(),
        span: tokens[open].span.to(tokens[open + 1 + inside].span),
    })
}

/// Whether a word begins with the letters of an abbreviation, and has more.
fn begins(word: &Token, short: &Token) -> bool {
    word.text.len() > short.text.len() && word.text.starts_with(&short.text)
}
