//! Words set twice, one right after the other: "knit five; knit five;".
//!
//! The search takes out instructions that it can weigh by counts. Where the words stand in a row that others are made
//! from, or that is not understood for them, they are known by being the same letter for letter. What comes of taking
//! them out is found out by reading.

use reading::{Gap, Reading, Token, TokenKind};
use span::Span;

use crate::class::{Class, MISPRINT};
use crate::draft::Draft;
use crate::moved::{meet, troubled};
use crate::patch::Patch;
use crate::trouble::Trouble;
use crate::whole::{half_read, row_of};
use crate::words::Words;

/// Nats against words of a row set again, and against each instruction beyond two.
const AGAIN: f64 = 0.4;
const MORE: f64 = 0.7;
/// The most words that are looked for again.
const LONGEST: usize = 16;
/// How many words before what does not come out they may stand.
const BEFORE: usize = 80;
/// The most drafts.
const TRIES: usize = 8;

/// Words set twice in and before what does not come out or is not understood, the second time taken out.
pub fn set_twice(reading: &Reading, troubles: &[Trouble], words: &Words<'_>) -> Vec<Draft> {
    let tokens = words.tokens();
    let mut amiss: Vec<Span> = troubled(reading, troubles.iter()).chain(half_read(reading)).collect();
    amiss.extend(&reading.unread);
    for span in &mut amiss {
        let at = tokens.partition_point(|token| token.span.start < span.start);
        span.start = tokens.get(at.saturating_sub(BEFORE)).map_or(span.start, |token| token.span.start);
    }
    let near = |stretch: Span| amiss.iter().any(|span| meet(*span, stretch));
    let pairs = twins(tokens);
    let once = |pair: &&(Span, Span)| {
        let alike = |other: &(Span, Span)| other.1.of(words.text).eq_ignore_ascii_case(pair.1.of(words.text));
        pairs.iter().filter(|other| alike(other)).count() == 1
    };
    let more = |stretch: Span| {
        let stops = words.within(stretch).iter().skip(1).filter(|token| token.gap >= Gap::Comma).count();
        MORE * stops.saturating_sub(1) as f64
    };
    let drafts = pairs.iter().filter(once).filter(|pair| near(pair.1)).map(|(first, second)| Draft {
        cost: MISPRINT + Class::Doubled.cost() + AGAIN + more(*second),
        row: row_of(reading, *second).unwrap_or_default(),
        patches: vec![Patch::new(Span { start: first.end, end: second.end }, "")],
        why: Some(format!("\"{}\" is set twice, one right after the other", second.of(words.text))),
        doubtful: false,
    });
    drafts.take(TRIES).collect()
}

/// Stretches of words that stand twice side by side, with a stop before each and behind both.
fn twins(tokens: &[Token]) -> Vec<(Span, Span)> {
    let ends = |at: usize| tokens.get(at).is_none_or(|token| token.gap >= Gap::Comma);
    let mut out = Vec::new();
    for from in 0..tokens.len() {
        for length in 1..=LONGEST.min((tokens.len() - from) / 2) {
            let (middle, to) = (from + length, from + 2 * length);
            let (one, two) = (&tokens[from..middle], &tokens[middle..to]);
            let same = one.iter().zip(two).all(|(one, two)| one.text == two.text);
            let told = one.iter().any(|token| token.kind == TokenKind::Word && token.number.is_none());
            let run_on = two.iter().all(|token| token.gap < Gap::Period && token.kind == TokenKind::Word);
            if same && told && run_on && ends(middle) && ends(to) && !goes_on(tokens, from, length) {
                out.push((extent(one), extent(two)));
            }
        }
    }
    out
}

/// Whether words that stand twice stand a third time as well, from whichever of them it is counted: that is a pattern.
fn goes_on(tokens: &[Token], from: usize, length: usize) -> bool {
    let again = |at: &usize| tokens.get(at + length).is_some_and(|next| next.text == tokens[*at].text);
    let before = (0..from).rev().take_while(again).count();
    let behind = (from + length..tokens.len()).take_while(again).count();
    before + behind >= length
}

/// The stretch of some tokens.
fn extent(tokens: &[Token]) -> Span {
    tokens.iter().fold(Span::DETACHED, |all, token| all.to(token.span))
}

#[cfg(test)]
mod tests {
    use reading::lex;

    use super::*;

    #[test]
    fn words_side_by_side_are_found() {
        let found =
            |text: &str| twins(&lex(text)).iter().map(|pair| pair.1.of(text).to_owned()).collect::<Vec<_>>();
        assert_eq!(found("knit 3, make 1, knit 5; knit 5; make 1."), ["knit 5"]);
        assert_eq!(found("k. 2, p. 3, k. 2, p. 3, k. 4."), ["k. 2, p. 3"]);
        let thrice = "o, n, k 1, over, k 1, over, k 1, over, n.";
        assert_eq!(found(thrice), Vec::<String>::new(), "three times");
        assert_eq!(found("Row 1. Knit 5. Row 2. Knit 5."), Vec::<String>::new(), "in two sentences");
        assert_eq!(found("knit 2 2, purl."), Vec::<String>::new(), "numbers alone");
    }
}
