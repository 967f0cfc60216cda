//! Numbers with their fractions before a measure: "2½ inches", "two and a half inches", "2 1-2 in.".
//!
//! Such a number is one token with the value of its whole part, so that it stands wherever a whole number of inches
//! may. Knows nothing of stitches: elsewhere than before a measure nothing is joined.

use crate::lexer::{Gap, Token};

/// What lengths are told in.
const MEASURES: [&str; 13] = [
    "inch",
    "inches",
    "in",
    "ins",
    "yard",
    "yards",
    "yd",
    "yds",
    "nail",
    "nails",
    "cm",
    "centimetres",
    "centimeters",
];

/// A fraction after a whole number, word by word, as the lexer leaves it.
const FRACTIONS: [&[&str]; 18] = [
    &["½"],
    &["¼"],
    &["¾"],
    &["1", "2"],
    &["1", "4"],
    &["3", "4"],
    &["1", "to", "2"],
    &["1", "to", "4"],
    &["3", "to", "4"],
    &["and", "a", "half"],
    &["and", "1", "half"],
    &["and", "half"],
    &["and", "a", "quarter"],
    &["and", "1", "quarter"],
    &["and", "1", "4th"],
    &["and", "3", "quarters"],
    &["and", "3", "4ths"],
    &["and", "1", "2"],
];

/// Joins them.
pub(crate) fn join(tokens: &[Token]) -> Vec<Token> {
    let mut out: Vec<Token> = Vec::with_capacity(tokens.len());
    let mut at = 0;
    while let Some(token) = tokens.get(at) {
        let len = if token.number.is_some() { fraction(&tokens[at + 1..]) } else { 0 };
        out.push(Token { span: token.span.to(tokens[at + len].span), ..token.clone() });
        at += len + 1;
    }
    out
}

/// How many tokens a fraction takes that a measure follows.
fn fraction(rest: &[Token]) -> usize {
    let stands = |words: &&&[&str]| {
        let close =
            rest.iter().zip(**words).all(|(token, word)| token.text == *word && token.gap <= Gap::Point);
        let measure = rest.get(words.len());
        close && measure.is_some_and(|next| next.gap <= Gap::Point && MEASURES.contains(&next.text.as_str()))
    };
    FRACTIONS.iter().find(stands).map_or(0, |words| words.len())
}

#[cfg(test)]
mod tests {
    use crate::lexer::lex;

    #[test]
    fn a_fraction_before_a_measure_goes_with_its_number() {
        for text in [
            "2½ inches",
            "2 1/2 inches",
            "2 1-2 inches",
            "two and a half inches",
            "two and one-half inches",
            "2 3/4 in.",
            "two and three-quarters inches",
        ] {
            let words: Vec<String> = lex(text).into_iter().map(|token| token.text).collect();
            assert_eq!((words.len(), words[0].as_str()), (2, "2"), "{text}: {words:?}");
        }
    }

    #[test]
    fn other_numbers_stay_apart() {
        for text in ["rows 1-2", "knit 2, 1 to 2 inches", "two and a half dozen", "needles 1 2"] {
            let words: Vec<String> = lex(text).into_iter().map(|token| token.text).collect();
            assert!(words.len() > 2, "{text}: {words:?}");
        }
    }
}
