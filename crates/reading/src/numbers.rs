//! Words and figures that make one number: `twenty` `four`, `half-a-dozen`, `one-and-twenty`, `k1O`.
//!
//! Knows number words and how scans spoil figures. Does not know what is counted.

use std::borrow::Cow;

use notation::numeral;

use crate::lexer::{Gap, Token, TokenKind};

/// `l` for 1 and `O` for 0 beside a figure: `l2`, `k1O`, `2l`.
pub(crate) fn mend_figures(word: &str) -> Cow<'_, str> {
    let figures = word.bytes().any(|byte| byte.is_ascii_digit()) || matches!(word, "lst" | "Ist");
    if !figures || !word.contains(['l', 'I', 'O']) {
        return Cow::Borrowed(word);
    }
    let letters: Vec<char> = word.chars().collect();
    let mut out: Vec<char> = Vec::with_capacity(letters.len());
    for (at, &letter) in letters.iter().enumerate() {
        let after = letters.get(at + 1);
        let lettered = out.last().is_some_and(|before| before.is_alphabetic());
        let beside = out.last().is_some_and(char::is_ascii_digit)
            || !lettered && after.is_some_and(char::is_ascii_digit);
        let ends = after.is_none_or(|after| !after.is_lowercase());
        out.push(match letter {
            'l' | 'I' if beside && ends || at == 0 && matches!(word, "lst" | "Ist") => '1',
            'O' if out.last().is_some_and(char::is_ascii_digit) && ends => '0',
            other => other,
        });
    }
    out.into_iter().collect::<String>().into()
}

/// Joins `twenty` `four`, `one` `hundred` `and` `two`, `twenty` `first` into one number.
pub(crate) fn join_numbers(tokens: Vec<Token>) -> Vec<Token> {
    let mut out: Vec<Token> = Vec::with_capacity(tokens.len());
    let mut tokens = tokens.into_iter().peekable();
    let joins = |token: &Token| token.gap == Gap::None && token.kind == TokenKind::Word;
    while let Some(mut token) = tokens.next() {
        join_dozens(&mut token, &mut tokens);
        let spelled = token.number.is_some() && token.span.end - token.span.start > 2;
        if spelled && token.number.is_some_and(|tens| (20..100).contains(&tens) && tens.is_multiple_of(10)) {
            let unit = tokens.next_if(|next| joins(next) && unit_word(next).is_some());
            if let Some(unit) = unit {
                merge(&mut token, &unit, unit_word(&unit).unwrap_or(0));
            }
        }
        if let Some(hundred) =
            tokens.next_if(|next| joins(next) && next.text == "100" && next.span.end - next.span.start > 3)
        {
            let times = token.number.filter(|_| spelled).or((token.text == "a").then_some(1));
            let Some(times) = times else {
                out.push(token);
                out.push(hundred);
                continue;
            };
            let start = token.number.unwrap_or(0);
            token.number = Some(start);
            merge(&mut token, &hundred, (times * 100).saturating_sub(start));
            let and = tokens.next_if(|next| joins(next) && next.text == "and");
            match tokens.next_if(|next| joins(next) && next.number.is_some_and(|more| more < 100)) {
                Some(more) => merge(&mut token, &more, more.number.unwrap_or(0)),
                None => {
                    out.push(token);
                    out.extend(and);
                    continue;
                }
            }
        }
        out.push(token);
    }
    out
}

/// Joins `half-a-dozen`, `two dozen`, `a score`, `a couple`.
fn join_dozens(token: &mut Token, tokens: &mut std::iter::Peekable<std::vec::IntoIter<Token>>) {
    let spelled = |token: &Token| token.span.end - token.span.start > 2;
    let unit =
        |next: &Token| next.gap == Gap::None && spelled(next) && matches!(next.number, Some(2 | 12 | 20));
    if token.text == "half" {
        tokens.next_if(|next| next.gap == Gap::None && next.text == "a");
        if let Some(dozen) = tokens.next_if(|next| next.gap == Gap::None && next.text == "12") {
            merge(token, &dozen, 6);
        }
    } else if token.text == "a" || token.number.is_some_and(|n| n < 20) && spelled(token) {
        let counts = |next: &Token| unit(next) && (token.text == "a" || next.number != Some(2));
        let times = token.number.unwrap_or(1);
        if let Some(next) = tokens.next_if(counts) {
            let value = times * next.number.unwrap_or(1);
            let add = value - token.number.unwrap_or(0);
            merge(token, &next, add);
        }
    }
}

/// The value of `one` before `-and-twenty`, and how far that reaches.
pub(crate) fn with_tens(unit: &str, rest: &str) -> Option<(u32, usize)> {
    const AND: &str = "-and-";
    let after = rest.strip_prefix(AND)?;
    let units = numeral::cardinal(&unit.to_lowercase()).filter(|units| (1..10).contains(units))?;
    let len = after.find(|letter: char| !letter.is_ascii_alphabetic()).unwrap_or(after.len());
    let tens = numeral::tens(&after[..len].to_lowercase())?;
    Some((units + tens, AND.len() + len))
}

/// The value of a unit word after `twenty`, cardinal or ordinal.
fn unit_word(token: &Token) -> Option<u32> {
    let spelled = token.span.end - token.span.start > 2;
    token.number.or(token.ordinal).filter(|value| spelled && (1..10).contains(value))
}

fn merge(token: &mut Token, next: &Token, add: u32) {
    let value = token.number.unwrap_or(0) + add;
    token.span = token.span.to(next.span);
    if next.ordinal.is_some() {
        token.number = None;
        token.ordinal = Some(value);
        token.text = numeral::ordinal_spelling(value);
    } else {
        token.number = Some(value);
        token.text = value.to_string();
    }
}
