//! The word that turns the work, dropped or set a place too early.
//!
//! Where a row is turned before its end, what stands behind the word is the next row. So a word that is missing or
//! misplaced makes other rows, and no change of a row that was read brings it back. Heels and gores have it again and
//! again between the same words, which tell where it is wanting. What comes of that is found out by reading.

use reading::{Gap, Reading, Token};
use rustc_hash::FxHashSet;

use crate::class::{Class, MISPRINT};
use crate::draft::Draft;
use crate::moved::exchanged;
use crate::patch::Patch;
use crate::trouble::Trouble;
use crate::whole::row_of;
use crate::words::Words;
use span::Span;

/// A text that turns the work less often does not show where the word stands.
const SHOWN: usize = 2;
/// Nats in favour of the word where it stands between the same words elsewhere.
const KNOWN: f64 = 0.6;
/// The most drafts of either kind.
const TRIES: usize = 8;

/// The word put in where it stands elsewhere, and changed about with the instruction behind it.
pub fn turns(reading: &Reading, troubles: &[Trouble], words: &Words<'_>) -> Vec<Draft> {
    let tokens = words.tokens();
    let at: Vec<usize> = (0..tokens.len()).filter(|at| tokens[*at].text == "turn").collect();
    if at.len() < SHOWN || !troubles.iter().any(Trouble::is_hard) {
        return Vec::new();
    }
    // What stands behind others as well is where it should be.
    let behind = |at: usize| tokens.get(at + 1).map(|token| token.text.as_str());
    let alone = |one: &&usize| at.iter().filter(|other| behind(**other) == behind(**one)).count() == 1;
    let early = at.iter().filter(alone).filter_map(|at| set_early(reading, *at, words));
    let mut out: Vec<Draft> = early.take(TRIES).collect();
    out.extend(left_out(reading, &at, words).take(TRIES));
    out
}

/// "Turn, knit 1" for "knit 1, turn".
fn set_early(reading: &Reading, at: usize, words: &Words<'_>) -> Option<Draft> {
    let tokens = words.tokens();
    let next = at + 1;
    let length = 1 + tokens.get(next + 1..)?.iter().take_while(|token| token.gap < Gap::Comma).count();
    let joined = tokens.get(next).is_some_and(|token| token.gap < Gap::Period);
    let instruction = tokens.get(next..next + length).filter(|_| joined)?;
    let extent = instruction.iter().fold(Span::DETACHED, |all, token| all.to(token.span));
    exchanged(reading, (tokens[at].span, extent), Class::Swapped.cost() - KNOWN, words)
}

/// The word between two instructions that have it between them elsewhere.
fn left_out<'a>(
    reading: &'a Reading,
    turns: &[usize],
    words: &'a Words<'_>,
) -> impl Iterator<Item = Draft> + 'a {
    let tokens = words.tokens();
    let mut about: FxHashSet<(&str, &str)> = FxHashSet::default();
    for at in turns.iter().filter(|at| **at > 0) {
        about.extend(tokens.get(at + 1).map(|next| (tokens[at - 1].text.as_str(), next.text.as_str())));
    }
    let stops = |token: &Token| (Gap::Comma..Gap::Paragraph).contains(&token.gap);
    let wanting = tokens.windows(2).filter(move |pair| {
        stops(&pair[1]) && about.contains(&(pair[0].text.as_str(), pair[1].text.as_str()))
    });
    wanting.filter_map(move |pair| {
        let end = pair[0].span.range().end;
        Some(Draft {
            cost: MISPRINT + Class::Dropped.cost() + KNOWN,
            row: row_of(reading, pair[0].span)?,
            patches: vec![Patch::new(Span::new(end, end), ", turn")],
            why: Some("between the same words the work is turned elsewhere".to_owned()),
            doubtful: false,
        })
    })
}
