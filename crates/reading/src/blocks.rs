//! Stretches of a text that are parsed by themselves.

use std::ops::Range;

use crate::lexer::{Gap, Token};
use crate::rowset::rows_at;

/// The longest stretch parsed at once, in tokens; longer ones are cut at the end of a sentence.
const BLOCK: usize = 240;
/// Stretches of tokens that are parsed by themselves: paragraphs, and within them each labelled row.
pub fn blocks(tokens: &[Token]) -> Vec<Range<usize>> {
    let mut cuts = vec![0];
    let mut rows = Vec::new();
    for at in 1..tokens.len() {
        let token = &tokens[at];
        let hanging = matches!(
            tokens[at - 1].text.as_str(),
            "the" | "from" | "and" | "to" | "of" | "a" | "in" | "with" | "or" | "for"
        );
        // "Second,⏎third and fourth rows": the list of names began before the line.
        let listed = tokens[at - 1].ordinal.is_some() && token.gap == Gap::Comma;
        let paragraph = token.gap == Gap::Paragraph && !hanging;
        rows.clear();
        if token.gap >= Gap::Period || token.line_start && token.gap >= Gap::Point && !listed {
            rows_at(tokens, at, &mut rows);
        }
        let last = cuts.last().copied().unwrap_or(0);
        let label = !rows.is_empty() && !hanging;
        let long = at - last >= BLOCK / 2 && token.gap >= Gap::Period || at - last >= BLOCK;
        if paragraph || label || long {
            cuts.push(at);
        }
    }
    cuts.push(tokens.len());
    cuts.dedup();
    cuts.windows(2).map(|pair| pair[0]..pair[1]).collect()
}
