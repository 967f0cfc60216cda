//! Rows as a text names them: `3rd and 5th rows`, `Rows 2 to 12`, `every alternate row`, `the last three rows`.
//!
//! Finds every such name in a run of tokens. Whether a name labels a row or refers to one is for the grammar.

mod counted;
mod kinds;
mod numbered;

use std::rc::Rc;

use loops::Op;
use span::Span;

use crate::lexer::{Gap, Token, TokenKind};

/// The most rows that one name may cover, and the highest number of a row; beyond it is no row's name.
const RUN_LIMIT: u32 = 2_000;

/// Which rows are named.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Which {
    /// By number, in the order named.
    Numbers(Vec<u32>),
    /// The first so many.
    First(u32),
    /// The so many just told.
    Last(u32),
    /// The so many that follow.
    Next(u32),
    /// Rows with even numbers.
    Even,
    /// Rows with odd numbers.
    Odd,
    /// Every other row, counted from those that are told.
    Alternate,
    /// The rows back, which may have no numbers.
    Back,
    /// The rows of the pattern, against the plain ones between them.
    Pattern,
    /// Every row.
    Every,
    /// Every fourth row, or the like.
    EveryNth(u32),
    /// So many rows, no matter which.
    Count(u32),
    /// The part of a round on the next needle.
    NextNeedle,
    /// As many rows as were last told by how many they are.
    AsMany,
    /// The row that the text gives this name: "Ribbon Row".
    Called(Rc<str>),
    /// The rows from here on, up to the one of this number.
    Till(u32),
    /// As many rows as a length asks for, which the knitter measures.
    Measure,
}

/// A name of rows found in the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RowSet {
    /// The rows.
    pub which: Which,
    /// Whether the text says round.
    pub round: bool,
    /// Whether a word for row stands with it.
    pub explicit: bool,
    /// Whether that word is needle, which is a row in some books and a part of a round in others.
    pub needle: bool,
    /// The operation that the name itself tells: "two plain rows".
    pub told: Option<Op>,
    /// The name that the text gives the row besides: "11th row (cable row)".
    pub also: Option<Rc<str>>,
    /// The words.
    pub span: Span,
}

impl RowSet {
    /// Rows named by no words of the text.
    pub fn named(which: Which) -> RowSet {
        RowSet {
            which,
            round: false,
            explicit: true,
            needle: false,
            told: None,
            also: None,
            span: Span::DETACHED,
        }
    }

    /// Whether it names rows by their kind, or the first so many: more than can be told one by one.
    pub fn names_many(&self) -> bool {
        match self.which {
            Which::Even | Which::Odd | Which::Every | Which::Pattern | Which::Alternate | Which::Back => true,
            Which::First(many) => many > 2,
            _ => false,
        }
    }

    /// How many rows one after the other it names by their numbers, if several.
    pub fn several(&self) -> Option<u32> {
        let Which::Numbers(numbers) = &self.which else { return None };
        let together = numbers.windows(2).all(|pair| pair[1] == pair[0] + 1);
        u32::try_from(numbers.len()).ok().filter(|many| *many > 1 && together)
    }
}

/// Whether a word means row or round, and which.
pub fn row_word(token: &Token) -> Option<bool> {
    match token.text.as_str() {
        "row" | "rows" | "needle" | "needles" | "r" | "rs" | "course" | "line" | "bout" | "bouts" => {
            Some(false)
        }
        "round" | "rounds" | "rnd" | "rnds" | "rd" | "rds" => Some(true),
        _ => None,
    }
}

/// Finds the names of rows that start at `tokens[at]`; each with the index one past its last token.
pub fn rows_at(tokens: &[Token], at: usize, out: &mut Vec<(usize, RowSet)>) {
    let scan = Scan { tokens, start: at };
    scan.ordinals(out);
    scan.row_then_numbers(out);
    scan.bare_numbers(out);
    if !scan.numbers_then_row(out) {
        scan.counted(out);
    }
    scan.by_kind(out);
    scan.between(out);
    scan.called(out);
    let named: Vec<(usize, RowSet)> = out
        .iter()
        .filter(|(_, rows)| matches!(rows.which, Which::Numbers(_)))
        .filter_map(|(end, rows)| {
            let (end, name) = scan.beside(*end)?;
            Some((end, RowSet { also: Some(name), ..rows.clone() }))
        })
        .collect();
    out.extend(named);
}

/// The same of the words that mean it after a kind of row only: "every even pin".
fn row_or_pin(token: &Token) -> Option<bool> {
    row_word(token).or_else(|| matches!(token.text.as_str(), "pin" | "pins").then_some(false))
}

struct Scan<'a> {
    tokens: &'a [Token],
    start: usize,
}

impl Scan<'_> {
    fn text(&self, at: usize) -> &str {
        self.tokens.get(at).filter(|token| token.kind == TokenKind::Word).map_or("", |token| &token.text)
    }

    /// Whether the token at `at` follows the one before without a strong gap.
    fn close(&self, at: usize) -> bool {
        self.tokens.get(at).is_some_and(|token| token.gap < Gap::Semicolon)
    }

    fn is(&self, at: usize, words: &[&str]) -> bool {
        words.contains(&self.text(at))
    }

    fn found(&self, end: usize, which: Which, round: bool, explicit: bool) -> (usize, RowSet) {
        let span = self.tokens[self.start].span.to(self.tokens[end - 1].span);
        let names = |token: &Token| matches!(token.text.as_str(), "needle" | "needles");
        let needle = self.tokens[self.start..end].iter().any(names);
        (end, RowSet { which, round, explicit, needle, told: None, also: None, span })
    }

    fn skip_the(&self) -> usize {
        self.start + usize::from(self.is(self.start, &["the", "each", "its"]))
    }

    /// A list of numbers joined by commas, `and`, `to`; `value` tells a member. Row words between are skipped.
    fn list(
        &self,
        mut at: usize,
        value: impl Fn(&Token) -> Option<u32>,
    ) -> Option<(usize, Vec<u32>, Option<bool>)> {
        let value = |token: &Token| value(token).filter(|number| *number <= RUN_LIMIT);
        let mut numbers = vec![value(self.tokens.get(at)?)?];
        let mut round = None;
        at += 1;
        loop {
            if let Some(kind) = self.tokens.get(at).filter(|_| self.close(at)).and_then(row_word) {
                round = Some(kind);
                at += 1;
            }
            let mut next = at;
            let to = self.is(next, &["to", "till", "through", "until"]) && self.close(next);
            let and = self.is(next, &["and", "also"]) && self.close(next);
            next += usize::from(to || and);
            next += usize::from(and && self.is(next, &["also"]));
            next += usize::from(self.is(next, &["the"]));
            let Some(token) = self.tokens.get(next) else { break };
            // "In the second, the fourth, and the sixth row": the comma stands before the article, as it does in "the
            // sixth as the fourth, the seventh as the third".
            let of_another = self.is(next + 1, &["as", "like", "is", "are", "the"]);
            let gap = if of_another { token.gap } else { self.tokens[at].gap.max(token.gap) };
            let listed = to || and || gap == Gap::Comma || (gap == Gap::Point && round.is_none());
            let counts = self.is(next + 1, &["times", "time"]);
            // "Repeat row 7 until 10 rows are worked."
            let until = self.is(next - 1, &["till", "until"])
                && token.number.is_some()
                && self.is(next + 1, &["rows", "rounds"]);
            let Some(number) = value(token).filter(|_| listed && !counts && !until && gap < Gap::Semicolon)
            else {
                break;
            };
            if to {
                let first = numbers.last().copied().unwrap_or(0) + 1;
                if number < first {
                    break;
                }
                numbers.extend(first..=number);
            } else {
                numbers.push(number);
            }
            at = next + 1;
        }
        Some((at, numbers, round))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lexer::lex;

    fn longest(text: &str) -> Option<Which> {
        let mut out = Vec::new();
        rows_at(&lex(text), 0, &mut out);
        out.into_iter().max_by_key(|(end, _)| *end).map(|(_, set)| set.which)
    }

    #[test]
    fn rows_are_named_in_many_ways() {
        use Which::*;
        for (text, which) in [
            ("3rd row: knit", Numbers(vec![3])),
            ("_First and second rows_--plain", Numbers(vec![1, 2])),
            ("3rd, 5th and 7th rows", Numbers(vec![3, 5, 7])),
            ("3rd to 6th round: With white", Numbers(vec![3, 4, 5, 6])),
            ("13th round to 15th round: Alternately", Numbers(vec![13, 14, 15])),
            ("Rows 2 to 6, even: purl", Numbers(vec![2, 4, 6])),
            ("7, 9. With white, purl.", Numbers(vec![7, 9])),
            ("9. 10, 11. Knit plain.", Numbers(vec![9, 10, 11])),
            ("1 to 4. Purl", Numbers(vec![1, 2, 3, 4])),
            ("The 8 first rows", First(8)),
            ("the first 8 rows", First(8)),
            ("these four rows", Last(4)),
            ("the entire next row", Next(1)),
            ("the row that follows is purled", Next(1)),
            ("all the rows with even numbers", Even),
            ("the rounds designated by even numbers", Even),
            ("every row marked by an uneven number", Odd),
            ("every alternate row", Alternate),
            ("Row 2 and every 2nd row to row 8", Numbers(vec![2, 4, 6, 8])),
            ("The rows between are purled", Alternate),
            ("every row", Every),
            ("every pattern round", Pattern),
            ("The 2nd, 4th, and 6th needle, purled", Numbers(vec![2, 4, 6])),
            ("6 rows plain", Count(6)),
            ("4th, and each alternate round as far as the 10th", Numbers(vec![4, 6, 8, 10])),
            ("3rd row and every other row up to the 7th row", Numbers(vec![3, 5, 7])),
            ("the other even rows", Even),
            ("all the even needles which follow", Even),
            ("the rest of the uneven rounds", Odd),
        ] {
            assert_eq!(longest(text), Some(which), "{text}");
        }
        assert_eq!(longest("the 1st stitch"), None);
        assert_eq!(longest("knit the row"), None);
        assert_eq!(longest("3. "), None);
    }
}
