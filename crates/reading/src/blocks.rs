//! Stretches of a text that are parsed by themselves.

use std::ops::Range;

use crate::lexer::{Gap, Token};
use crate::rowset::{RowSet, Which, rows_at};

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
            "the" | "from" | "and" | "to" | "of" | "a" | "in" | "with" | "or" | "for" | "rep"
        );
        // "Second,⏎third and fourth rows": the list of names began before the line.
        let listed = tokens[at - 1].ordinal.is_some() && token.gap == Gap::Comma;
        let paragraph = token.gap == Gap::Paragraph && !hanging;
        rows.clear();
        if token.gap >= Gap::Period || token.line_start && token.gap >= Gap::Point && !listed {
            rows_at(tokens, at, &mut rows);
        }
        let last = cuts.last().copied().unwrap_or(0);
        let label = !rows.is_empty() && !hanging && !goes_on(tokens, last, at, &rows);
        let long = at - last >= BLOCK / 2 && token.gap >= Gap::Period || at - last >= BLOCK;
        if paragraph || label || long {
            cuts.push(at);
        }
    }
    cuts.push(tokens.len());
    cuts.dedup();
    cuts.windows(2).map(|pair| pair[0]..pair[1]).collect()
}

/// Whether a name of rows goes on with the row that a block begins with: it follows the row's own name ("9th row. The
/// first row again", "3rd to 8th row. Six plain rows"), or it is a needle of a round that is named as such.
fn goes_on(tokens: &[Token], block: usize, at: usize, rows: &[(usize, RowSet)]) -> bool {
    let mut names = Vec::new();
    rows_at(tokens, block, &mut names);
    let numbered = |rows: &RowSet| rows.explicit && !rows.needle && matches!(rows.which, Which::Numbers(_));
    let named = |so_many: u32| {
        let as_many =
            |rows: &RowSet| matches!(&rows.which, Which::Numbers(told) if told.len() == so_many as usize);
        names.iter().any(|(_, rows)| as_many(rows))
    };
    let follows = |rows: &RowSet| match rows.which {
        Which::Last(_) | Which::First(_) => true,
        Which::Count(so_many) => named(so_many),
        _ => rows.needle,
    };
    let alone = names.iter().any(|(end, _)| *end == at) && rows.iter().any(|(_, rows)| follows(rows));
    let needle = names.iter().any(|(_, rows)| numbered(rows)) && rows.iter().all(|(_, rows)| rows.needle);
    alone || needle
}
