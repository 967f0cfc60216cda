//! Rows numbered by bare figures that run on within a line: `1. Knit 2, over, narrow. 2. Plain. 3. Knit 3, over.`
//!
//! A full stop and a figure may as well belong to a letter before (`k. 3. P. 4`). What speaks for rows: they come one
//! after the other from the first, a capital follows each, and the word before most of them is a number or no abbreviation.
//! Knows no words.

use crate::lexer::{Gap, Token};

/// The fewest rows that show a text to be numbered so.
const FEWEST: usize = 2;

/// The most words that name more rows after a figure.
const LONGEST: usize = 10;

/// The most letters of an abbreviation that a number may belong to.
const LETTERS: usize = 2;

/// Ends a sentence before each figure that names a row.
pub fn part(tokens: &mut [Token]) {
    let figures: Vec<(usize, u32, u32)> =
        (0..tokens.len()).filter_map(|at| named(tokens, at).map(|(first, last)| (at, first, last))).collect();
    if figures.len() < FEWEST {
        return;
    }
    let asks = |word: &Token| word.number.is_none() && word.text.len() <= LETTERS;
    let dashed = |at: usize| tokens.get(at + 1).is_some_and(|next| next.gap == Gap::Dash);
    let free = |at: &usize| *at == 0 || tokens[*at].line_start || dashed(*at) || !asks(&tokens[*at - 1]);
    let mut names = Vec::new();
    let mut run = Vec::new();
    let mut last_row = 0;
    let end = std::iter::once((tokens.len(), 1, 1));
    for (at, first, last) in figures.into_iter().chain(end) {
        if first == 1 && (at == tokens.len() || free(&at)) {
            let certain = run.iter().filter(|at| free(at)).count();
            if run.len() >= FEWEST && 2 * certain > run.len() {
                names.append(&mut run);
            }
            run.clear();
        } else if run.is_empty() || first != last_row + 1 && !(dashed(at) && first == last_row + 2) {
            continue;
        }
        run.push(at);
        last_row = last;
    }
    for at in names {
        tokens[at].gap = tokens[at].gap.max(Gap::Period);
    }
}

/// The first and the last number of a figure or a list of them that a full stop stands before and after, and a capital
/// after that.
fn named(tokens: &[Token], at: usize) -> Option<(u32, u32)> {
    let token = &tokens[at];
    let stopped = matches!(token.gap, Gap::Point | Gap::Period | Gap::Paragraph);
    let figure = |at: usize| {
        let token = tokens.get(at)?;
        token.number.filter(|_| token.text.len() == token.span.range().len())
    };
    let first = figure(at).filter(|_| stopped)?;
    let (mut last, mut end) = (first, at + 1);
    loop {
        let joined = tokens.get(end)?;
        let word = matches!(joined.text.as_str(), "and" | "to") && joined.gap == Gap::None;
        let next = if word { end + 1 } else { end };
        let Some(number) = figure(next).filter(|_| word || joined.gap == Gap::Comma) else { break };
        (last, end) = (number, next + 1);
    }
    // "2 and alternate rows to 8—P."
    let word = |at: usize| tokens.get(at).map_or("", |token| token.text.as_str());
    if word(end) == "and" && matches!(word(end + 1), "alternate" | "every" | "all") {
        end = (end..tokens.len()).take(LONGEST).find(|&at| tokens[at].gap >= Gap::Point)?;
    }
    let follows = tokens.get(end)?;
    (matches!(follows.gap, Gap::Point | Gap::Period | Gap::Dash) && follows.capital).then_some((first, last))
}

#[cfg(test)]
mod tests {
    use crate::lexer::{Gap, lex};

    /// The figures before which a sentence ends.
    fn names(text: &str) -> Vec<u32> {
        let tokens = lex(text);
        tokens.iter().filter(|token| token.gap >= Gap::Period).filter_map(|token| token.number).collect()
    }

    #[test]
    fn rows_numbered_by_figures_within_a_line_have_their_names() {
        assert_eq!(
            names("Cast on 9. 1. Knit 2, o, knit 7. 2. Plain. 3 and 4. Purl. 5. Knit 6."),
            [1, 2, 3, 5]
        );
        assert_eq!(names("Cast on 9 sts. 1. K. 2, o., k. 7. 2. K. 3. K. 3, o., k. 7."), [1, 2, 3]);
    }

    #[test]
    fn numbers_of_letters_name_no_rows() {
        assert!(names("1st row. K. 1. P. 2. K. 3. P. 4. K. 5.").is_empty());
        assert!(names("Knit 1. Purl 2. Knit.").is_empty());
    }
}
