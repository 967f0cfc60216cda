//! Where a stretch stands in its text, and which row it tells.
//!
//! ```text
//! 14th row: Purled. ─ lifted ─▶ 99th row: Purled. ─ parsed ─▶ what row 99 is ─ placed ─▶ what row 14 is
//! ```
//!
//! A stretch is parsed as if it stood at the beginning of the text and told row 99, so that rows told in the same words
//! are parsed once. Its number is set aside only where nothing else hangs on it: a colon or more parts the name of the
//! row from what follows, no phrase has this number for a word there, and no other row is named by its number.

use notation::Found;
use span::Span;

use crate::lexer::{Gap, Token};
use crate::rowset::row_word;

/// The number of the row that any stretch tells when it is parsed; a higher one would be dearer where no word says that
/// it is a row's.
const LIFTED: u32 = 99;
/// How many tokens make the name of a row.
const NAME: usize = 2;

/// The place of a stretch.
#[derive(Debug)]
pub struct Place {
    /// Where it begins.
    start: i64,
    /// The number of its row, if that is set aside.
    own: Option<OwnNumber>,
}

#[derive(Debug)]
struct OwnNumber {
    value: u32,
    /// The index of its token.
    index: usize,
    /// Where it begins in the stretch.
    at: u32,
    /// The word for [`LIFTED`] that is parsed instead.
    text: String,
    /// How many bytes longer it is than that word.
    longer: i64,
}

impl Place {
    /// The place of these tokens; `phrases` finds the phrases in some tokens, whatever the numbers in them.
    pub fn of(tokens: &[Token], phrases: impl Fn(&[Token]) -> Vec<(usize, Found)>) -> Place {
        let start = tokens.first().map_or(0, |token| token.span.start);
        let own = own_number(tokens).map(|(index, value)| {
            let Token { span, ordinal, .. } = &tokens[index];
            let text = format!("{LIFTED}{}", if ordinal.is_some() { "th" } else { "" });
            let longer = i64::from(span.end - span.start) - text.len() as i64;
            OwnNumber { value, index, at: span.start - start, text, longer }
        });
        let place = Place { start: i64::from(start), own };
        let name = &tokens[..tokens.len().min(NAME)];
        let sets_aside = place.own.is_some() && phrases(name) == phrases(&place.lifted(name));
        if sets_aside { place } else { Place { own: None, ..place } }
    }

    /// The tokens of the stretch as they are parsed.
    pub fn lifted(&self, tokens: &[Token]) -> Vec<Token> {
        let lifted = |(index, token): (usize, &Token)| match &self.own {
            Some(own) if index == own.index => {
                let at = own.at as usize;
                Token {
                    text: own.text.clone(),
                    span: Span::new(at, at + own.text.len()),
                    number: token.number.map(|_| LIFTED),
                    ordinal: token.ordinal.map(|_| LIFTED),
                    ..token.clone()
                }
            }
            Some(own) if index > own.index => token.moved(-self.start - own.longer),
            _ => token.moved(-self.start),
        };
        tokens.iter().enumerate().map(lifted).collect()
    }

    /// Where a span of the lifted stretch stands in the text.
    pub fn span(&self, span: Span) -> Span {
        let behind = |at: u32| self.own.as_ref().filter(|own| at > own.at).map_or(0, |own| own.longer);
        let at = |at: u32| u32::try_from(i64::from(at) + self.start + behind(at)).unwrap_or(0);
        if span.is_detached() { span } else { Span { start: at(span.start), end: at(span.end) } }
    }

    /// What numbers of rows in the lifted stretch are in the text.
    pub fn numbers(&self, numbers: &[u32]) -> Vec<u32> {
        let own = self.own.as_ref().map_or(LIFTED, |own| own.value);
        numbers.iter().map(|number| if *number == LIFTED { own } else { *number }).collect()
    }
}

/// The number of the row that a stretch tells, with the index of its token, where nothing but the number hangs on it.
fn own_number(tokens: &[Token]) -> Option<(usize, u32)> {
    let [first, second, rest @ ..] = tokens else { return None };
    let (index, value) = match (first.ordinal, second.number) {
        (Some(value), _) if row_word(second).is_some() => (0, value),
        (_, Some(value)) if row_word(first).is_some() => (1, value),
        _ => return None,
    };
    let parted = second.gap < Gap::Comma && rest.first().is_none_or(|next| next.gap >= Gap::Colon);
    let counts = |token: &Token| token.ordinal.is_some() || token.number == Some(LIFTED);
    let numbered = |pair: &[Token]| row_word(&pair[0]).is_some() && pair[1].number.is_some();
    let names_others = rest.iter().any(counts) || rest.windows(2).any(numbered);
    ((1..=LIFTED).contains(&value) && parted && !names_others).then_some((index, value))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lexer::lex;

    fn place(tokens: &[Token]) -> Place {
        Place::of(tokens, |_| Vec::new())
    }

    #[test]
    fn rows_alike_but_for_their_number_are_lifted_to_the_same() {
        let lifted = |text: &str| {
            let tokens = lex(text);
            place(&tokens).lifted(&tokens)
        };
        assert_eq!(lifted("4th row: Purled."), lifted("fourteenth row: Purled."));
        assert_eq!(lifted("Row 4: Purled."), lifted("Row 14: Purled."));
        assert_ne!(lifted("4th row, purled."), lifted("6th row, purled."));
        assert_ne!(lifted("4th row: like the 2nd."), lifted("6th row: like the 2nd."));
        assert_ne!(lifted("Row 4: as row 2."), lifted("Row 6: as row 2."));
    }

    #[test]
    fn what_was_lifted_comes_back() {
        for text in
            ["Knit 2.\n\n1st row: Purled.", "Knit 2.\n\nTwentieth row: Purled.", "Knit 2.\n\nRow 7: Purled."]
        {
            let tokens = &lex(text)[2..];
            let place = place(tokens);
            let lifted = place.lifted(tokens);
            assert!(
                lifted.iter().zip(tokens).all(|(lifted, token)| place.span(lifted.span) == token.span),
                "{text}"
            );
            let number = tokens.iter().find_map(|token| token.number.or(token.ordinal));
            assert_eq!(place.numbers(&[LIFTED]).first().copied(), number, "{text}");
        }
    }
}
