//! What is torn by the end of a line: words broken there, and numbers that stand at the beginning of a line only because
//! the line breaks before them.
//!
//! `toge-⏎ther` is one word where the whole of it is known; `slip-⏎stitch` stays two.
//!
//! `… end with P.⏎4.⏎3rd Row.` has no fourth row: the number belongs to the letter before it. What speaks for a row:
//! something to do follows; the word before does not ask for a number, or the text does number its rows by bare
//! figures and this one comes next. Knows words only by how the text uses them.

use notation::numeral;
use rustc_hash::FxHashMap;

use crate::lexer::{Gap, Token, TokenKind};

/// The most rows that a text which numbers them by bare figures leaves out between two.
const STEP: u32 = 12;

/// The marks that printers, scans and word processors break a word with.
const HYPHENS: [char; 4] = ['-', '\u{2010}', '\u{ad}', '¬'];

/// Makes one word of two that stand on both sides of a hyphen at the end of a line, where the whole is known.
pub fn whole(text: &str, tokens: Vec<Token>, knows: impl Fn(&str) -> bool) -> Vec<Token> {
    let mut out: Vec<Token> = Vec::with_capacity(tokens.len());
    for token in tokens {
        let whole = out.last().and_then(|first| joined(text, first, &token, &knows));
        match (whole, out.last_mut()) {
            (Some(whole), Some(first)) => *first = whole,
            _ => out.push(token),
        }
    }
    out
}

fn joined(text: &str, first: &Token, rest: &Token, knows: &impl Fn(&str) -> bool) -> Option<Token> {
    let broken = rest.line_start && rest.gap == Gap::None && !rest.capital;
    let words = first.kind == TokenKind::Word && rest.kind == TokenKind::Word;
    if !broken || !words {
        return None;
    }
    let between = text.get(first.span.end as usize..rest.span.start as usize)?;
    let hyphen = between.strip_prefix(HYPHENS)?;
    let word = format!("{}{}", first.span.of(text), rest.span.of(text)).to_lowercase();
    if !hyphen.trim().is_empty() || !word.chars().all(char::is_alphabetic) {
        return None;
    }
    let (number, ordinal) = (numeral::cardinal(&word), numeral::ordinal(&word));
    let known = number.is_some() || ordinal.is_some() || knows(&word);
    known.then(|| Token {
        text: numeral::spelling(&word),
        span: first.span.to(rest.span),
        number,
        ordinal: ordinal.filter(|_| number.is_none()),
        ..first.clone()
    })
}

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
    use super::whole;
    use crate::lexer::lex;

    #[test]
    fn a_word_broken_at_the_end_of_a_line_is_whole_where_it_is_known() {
        let words = |text: &str| -> Vec<String> {
            let knows = |word: &str| matches!(word, "together" | "knit" | "slip" | "stitch");
            whole(text, lex(text), knows).into_iter().map(|token| token.text).collect()
        };
        assert_eq!(words("knit 2 toge-\nther"), ["knit", "2", "together"]);
        assert_eq!(words("knit 2 to- \r\n  gether, kn\u{ad}\nit"), ["knit", "2", "together", "knit"]);
        assert_eq!(
            words("knit four-\nteen, twenty-\nfour, the thir-\nteenth"),
            ["knit", "14", "24", "the", "13th"]
        );
        assert_eq!(words("slip-\nstitch, to-\nGether"), ["slip", "stitch", "to", "gether"]);
        assert_eq!(words("to-gether; to\ngether; 2-\n4"), ["to", "gether", "to", "gether", "2", "4"]);
    }

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
