//! Numbers that stand at the beginning of a line only because the line breaks there.
//!
//! `… end with P.⏎4.⏎3rd Row.` has no fourth row: the number belongs to the letter before it. What speaks for a row:
//! something to do follows; the word before does not ask for a number, or the text does number its rows by bare
//! figures and this one comes next. Knows words only by how the text uses them.

use rustc_hash::FxHashMap;

use crate::lexer::{Gap, Token, TokenKind};

/// The most rows that a text which numbers them by bare figures leaves out between two.
const STEP: u32 = 12;

/// Takes the look of a row's name from the figures that belong to the word before.
pub fn settle(tokens: &mut [Token]) {
    let doubtful = |at: &usize| is_figure_at_line(tokens, *at);
    let figures: Vec<usize> = (0..tokens.len()).filter(doubtful).collect();
    if figures.is_empty() {
        return;
    }
    let asking = asking_words(tokens);
    let certain = |at: usize| {
        let asked = at > 0 && asks(&asking, &tokens[at - 1]);
        (tokens[at].gap == Gap::Paragraph || !asked) && work_follows(tokens, at)
    };
    let numbered = figures.iter().any(|at| certain(*at));
    let mut last = 0;
    let mut torn = Vec::new();
    for at in figures {
        let number = tokens[at].number.unwrap_or(0);
        let next = number == 1 || number > last && number <= last + STEP;
        if certain(at) || numbered && next && work_follows(tokens, at) {
            last = number;
        } else {
            torn.push(at);
        }
    }
    for at in torn {
        tokens[at].line_start = false;
        if tokens[at].gap != Gap::Paragraph {
            tokens[at].gap = tokens[at].gap.min(Gap::Point);
        }
    }
}

/// Whether a figure begins a line and is parted from what follows, as the name of a row is.
fn is_figure_at_line(tokens: &[Token], at: usize) -> bool {
    let token = &tokens[at];
    let figures = token.number.is_some() && token.text.len() == token.span.range().len();
    let parted = tokens.get(at + 1).is_none_or(|next| next.gap >= Gap::Point && next.gap != Gap::Comma);
    figures && token.line_start && token.gap >= Gap::Point && parted
}

/// Whether what follows on a number may be a row's work: not the name of another row, nor a new paragraph.
fn work_follows(tokens: &[Token], at: usize) -> bool {
    tokens.get(at + 1).is_some_and(|next| {
        let named = next.ordinal.is_some() || next.line_start && next.number.is_some();
        next.gap != Gap::Paragraph && !named
    })
}

/// Whether a word asks for a number; of a word met only here, whether it is as short as the letters that do.
fn asks(asking: &FxHashMap<String, bool>, word: &Token) -> bool {
    let short = word.kind == TokenKind::Word && word.text.len() <= 2;
    asking.get(&word.text).copied().unwrap_or(short)
}

/// Of each word whether it is followed by a number more often than not, lines broken after it left out.
fn asking_words(tokens: &[Token]) -> FxHashMap<String, bool> {
    let mut seen: FxHashMap<&str, (u32, u32)> = FxHashMap::default();
    for pair in tokens.windows(2).filter(|pair| pair[0].kind == TokenKind::Word && !pair[1].line_start) {
        let (all, numbered) = seen.entry(pair[0].text.as_str()).or_default();
        *all += 1;
        *numbered += u32::from(pair[1].number.is_some() && pair[1].gap <= Gap::Point);
    }
    let asks = |(all, numbered): (u32, u32)| 2 * numbered > all;
    seen.into_iter().map(|(word, counts)| (word.to_owned(), asks(counts))).collect()
}

#[cfg(test)]
mod tests {
    use crate::lexer::lex;

    /// The figures that begin a line and may name a row.
    fn names(text: &str) -> Vec<u32> {
        let tokens = lex(text);
        tokens.iter().filter(|token| token.line_start).filter_map(|token| token.number).collect()
    }

    #[test]
    fn a_number_torn_from_its_word_names_no_row() {
        let torn = "1st Row.--P. 5, M. 1, T. 1, rep. from *, end with P.\n4.\n2nd Row.--Plain.";
        assert!(names(torn).is_empty());
        let last = "1st row: kn. 3, kn. 2, kn.\n6.\n\nRepeat.";
        assert!(names(last).is_empty());
    }

    #[test]
    fn rows_numbered_by_figures_keep_their_names() {
        assert_eq!(names("1. Knit 2, purl 3.\n2. Knit.\n3. Knit 4, purl 1.\n9. 10, 11. Purl."), [1, 2, 3, 9]);
        assert_eq!(names("1. K. 2, k. 4.\n2. Purl, k.\n20. Knit 3."), [1, 2]);
    }
}
