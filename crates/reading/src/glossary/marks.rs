//! What parts two tokens, seen as an explanation of terms sees it: `=`, leaders of dots, columns, dashes.
//!
//! Knows the printed characters between tokens; nothing of words.

use crate::lexer::{Gap, Token};

/// What stands before a token.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Mark {
    /// White space or a hyphen.
    None,
    /// The full stop of an abbreviation.
    Point,
    /// A comma.
    Comma,
    /// `=`, a leader of dots or dashes, a column of white space.
    Equals,
    /// A colon.
    Colon,
    /// A long dash.
    Dash,
    /// A semicolon.
    Semicolon,
    /// The end of a sentence.
    Period,
    /// An empty line, or the beginning of the text.
    Paragraph,
}

/// What stands before a token, and whether a full stop is among it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Before {
    /// The mark that parts most, in an explanation of terms.
    pub(super) mark: Mark,
    /// Whether a full stop follows the token before.
    pub(super) stop: bool,
    /// Whether the token is the first of its line.
    pub(super) line: bool,
}

/// What stands before each token.
pub(super) fn marks(text: &str, tokens: &[Token]) -> Vec<Before> {
    let mut from = 0;
    tokens
        .iter()
        .map(|token| {
            let range = token.span.range();
            let between = without_asides(text.get(from..range.start).unwrap_or(""));
            from = range.end.max(from);
            Before {
                mark: mark(&between, token.gap),
                stop: between.starts_with(['.', '_']) && between.contains('.'),
                line: token.line_start,
            }
        })
        .collect()
}

/// Captions and references that the lexer passes over.
fn without_asides(between: &str) -> String {
    let mut depth = 0_u32;
    let mut out = String::new();
    for letter in between.chars() {
        match letter {
            '(' | '[' => depth += 1,
            ')' | ']' => depth = depth.saturating_sub(1),
            _ if depth == 0 => out.push(letter),
            _ => {}
        }
    }
    out
}

fn mark(between: &str, gap: Gap) -> Mark {
    let dots = between.matches(['.', '…', '·']).count();
    let dashes = between.matches(['-', '—', '–', '―', '_']).count();
    if gap == Gap::Paragraph && !between.contains('=') {
        return Mark::Paragraph;
    }
    if between.contains(['=', '≡', '…', '\t']) || dots >= 3 || dashes >= 5 {
        Mark::Equals
    } else if between.contains("--") || between.contains(['—', '–', '―']) || gap == Gap::Dash {
        Mark::Dash
    } else if between.contains(':') {
        Mark::Colon
    } else if between.contains(';') {
        Mark::Semicolon
    } else if gap == Gap::Period {
        Mark::Period
    } else if between.contains(',') {
        Mark::Comma
    } else if between.contains('.') {
        Mark::Point
    } else if between.contains("   ") && !between.contains('\n') {
        Mark::Equals
    } else {
        Mark::None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lexer::lex;

    #[test]
    fn marks_between_term_and_explanation() {
        use Mark::*;
        for (text, expected) in [
            ("k = knit", Equals),
            ("k ..... knit", Equals),
            ("k . . . knit", Equals),
            ("k     knit", Equals),
            ("k\tknit", Equals),
            ("_To narrow_.--To lessen", Dash),
            ("narrow - two together", Dash),
            ("K., knit", Comma),
            ("K. knit", Point),
            ("k (see fig. 3).--knit", Dash),
            ("k: knit", Colon),
            ("purl. Knit", Period),
            ("k\nknit", None),
        ] {
            let tokens = lex(text);
            let before = marks(text, &tokens);
            let last =
                before.iter().rev().find(|before| before.mark != None).map_or(None, |before| before.mark);
            let found = if before.len() > 1 && before[1..].iter().all(|before| before.mark == None) {
                None
            } else {
                last
            };
            assert_eq!(found, expected, "{text}");
        }
    }
}
