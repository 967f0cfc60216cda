//! What the words before a place say of what begins there.
//!
//! Knows words that lead on, refer back or only speak of a deed; not what the place itself reads as.

use crate::lexer::{Gap, Token};

/// Whether the words before a place lead on to another statement: "and", "then", "after which".
pub(super) fn leads_on(before: &[Token]) -> bool {
    let mut words = before.iter().rev().map(|token| token.text.as_str());
    match words.next() {
        Some("and" | "then" | "now" | "next" | "afterwards" | "lastly" | "finally" | "after") => true,
        Some("which" | "that" | "this") => words.next() == Some("after"),
        _ => false,
    }
}

/// The words before a place, the nearest first, from the first that is no article.
fn back_from(before: &[Token]) -> impl Iterator<Item = &str> {
    before.iter().rev().map(|token| token.text.as_str()).skip_while(|word| *word == "the")
}

/// Whether a preposition stands before a place.
pub(super) fn hangs(before: &[Token]) -> bool {
    let mut words = back_from(before);
    matches!(words.next(), Some("after" | "before" | "with" | "over" | "into" | "than"))
}

/// Whether the words before a bare ordinal are such as name a row by it: "in the fourth, …".
pub(super) fn is_named_in(before: &[Token]) -> bool {
    let mut words = back_from(before);
    matches!(words.next(), Some("in" | "for" | "on" | "and" | "then" | "to" | "or"))
}

/// Whether the words before rows of a kind tell of stitches of each: "the first stitch of every row".
pub(super) fn is_of_each(before: &[Token]) -> bool {
    let mut words = before.iter().rev().map(|token| token.text.as_str());
    words.next() == Some("of") && matches!(words.next(), Some("stitch" | "stitches" | "loop" | "loops"))
}

/// Whether the words before a place refer to what follows: "as in the third row".
pub(super) fn refers(before: &[Token]) -> bool {
    let mut words = back_from(before);
    match words.next() {
        Some("as" | "like") => true,
        Some("of") => matches!(words.next(), Some("those" | "that")),
        Some("in" | "at" | "for") => matches!(words.next(), Some("as" | "like")),
        _ => false,
    }
}

/// Whether what is cast on at a place only makes up for other stitches: "cast on one in their place".
pub(super) fn makes_up(tokens: &[Token], at: usize) -> bool {
    const LONGEST: usize = 9;
    const FOR: [&str; 6] = ["place", "stead", "instead", "room", "gap", "opening"];
    let clause = tokens[at..].iter().skip(1).take(LONGEST).take_while(|token| token.gap < Gap::Comma);
    clause.into_iter().any(|token| FOR.contains(&token.text.as_str()))
}

/// Whether casting on or off is only spoken of: "the four that were cast on", "the loop left by the casting off".
pub(super) fn is_talk(tokens: &[Token], at: usize) -> bool {
    let before = at.checked_sub(1).map_or("", |before| tokens[before].text.as_str());
    // "Begin at the neck by casting on forty stitches" is no talk.
    let sentence = tokens[..at].iter().rposition(|token| token.gap >= Gap::Period).unwrap_or(0);
    let begins = |token: &Token| {
        matches!(token.text.as_str(), "begin" | "begins" | "commence" | "commences" | "start")
    };
    let begun = tokens[sentence..at].iter().any(begins);
    let about = before == "by" && !begun
        || matches!(before, "the" | "from" | "before" | "of" | "were" | "was" | "been" | "being");
    about && tokens[at].gap < Gap::Comma
}
