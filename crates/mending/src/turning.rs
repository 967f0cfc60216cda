//! The word that turns the work, dropped, set a place too early, or set for another instruction or another for it.
//!
//! Where a row is turned before its end, what stands behind the word is the next row. So a word that is missing or
//! misplaced makes other rows, and no change of a row that was read brings it back. Heels and gores have it again and
//! again between the same words, which tell where it is wanting. What comes of that is found out by reading.

use reading::{Gap, Reading, Token};
use rustc_hash::{FxHashMap, FxHashSet};
use span::Span;

use crate::change::lower_first;
use crate::class::{Class, MISPRINT};
use crate::draft::Draft;
use crate::moved::{exchanged, meet, troubled};
use crate::patch::Patch;
use crate::trouble::Trouble;
use crate::whole::{bodies, row_of};
use crate::words::Words;

/// The word.
const TURN: &str = "turn";
/// A text that turns the work less often does not show where the word stands.
const SHOWN: usize = 2;
/// Nats in favour of the word where it stands between the same words elsewhere.
const KNOWN: f64 = 0.6;
/// The most drafts of either kind.
const TRIES: usize = 8;

/// The word put in where it stands elsewhere, changed about with the instruction behind it, and changed for another where
/// that stands between the same words.
pub fn turns(reading: &Reading, troubles: &[Trouble], words: &Words<'_>) -> Vec<Draft> {
    let tokens = words.tokens();
    let at: Vec<usize> = (0..tokens.len()).filter(|at| tokens[*at].text == TURN).collect();
    if at.is_empty() || !troubles.iter().any(Trouble::is_hard) {
        return Vec::new();
    }
    let mut out: Vec<Draft> = ends(reading, troubles, words).take(TRIES).collect();
    if at.len() < SHOWN {
        return out;
    }
    // What stands behind others as well is where it should be.
    let behind = |at: usize| tokens.get(at + 1).map(|token| token.text.as_str());
    let alone = |one: &&usize| at.iter().filter(|other| behind(**other) == behind(**one)).count() == 1;
    let known: FxHashSet<&str> = at.iter().filter_map(|at| behind(*at)).collect();
    let early = at.iter().filter(alone).flat_map(|at| set_early(reading, *at, &known, words));
    out.extend(early.take(TRIES));
    out.extend(left_out(reading, &at, words).take(TRIES));
    out.extend(set_for_another(reading, words).take(TRIES));
    out
}

/// "Turn, knit 1" for "knit 1, turn": one instruction, or as many as bring it before words that it stands before elsewhere.
fn set_early(reading: &Reading, at: usize, known: &FxHashSet<&str>, words: &Words<'_>) -> Vec<Draft> {
    /// The most stops in an instruction: "slip 1, knit 1, pass the slipped stitch over".
    const STOPS: usize = 3;
    let tokens = words.tokens();
    let mut out = Vec::new();
    let mut end = at + 1;
    for stops in 1..=STOPS {
        if tokens.get(end).is_none_or(|token| token.gap >= Gap::Period) {
            break;
        }
        end += 1 + tokens[end + 1..].iter().take_while(|token| token.gap < Gap::Comma).count();
        if stops == 1 || tokens.get(end).is_some_and(|next| known.contains(next.text.as_str())) {
            let pair = (tokens[at].span, extent(&tokens[at + 1..end]));
            out.extend(exchanged(reading, pair, Class::Swapped.cost() - KNOWN, words));
        }
    }
    out
}

/// The word at the end of a row that does not come out, or of the one before: put in, or set for the last instruction.
fn ends<'a>(
    reading: &'a Reading,
    troubles: &[Trouble],
    words: &'a Words<'_>,
) -> impl Iterator<Item = Draft> + 'a {
    let amiss: Vec<Span> = troubled(reading, troubles.iter()).collect();
    let mut rows: Vec<Span> = reading.pieces.iter().flat_map(|piece| bodies(piece, words)).collect();
    rows.sort();
    let is_amiss =
        move |row: Option<&Span>| row.is_some_and(|row| amiss.iter().any(|span| meet(*span, *row)));
    let near: Vec<Span> = (0..rows.len())
        .filter(|at| is_amiss(rows.get(*at)) || is_amiss(rows.get(at + 1)))
        .map(|at| rows[at])
        .collect();
    near.into_iter().flat_map(move |row| {
        let tokens = words.within(row).chunk_by(|_, next| next.gap < Gap::Period).next().unwrap_or_default();
        let last = tokens.chunk_by(|_, next| next.gap < Gap::Comma).last().unwrap_or_default();
        let end = Span { start: extent(last).end, end: extent(last).end };
        let patches =
            [(Class::Dropped, Patch::new(end, ", turn")), (Class::Stitch, Patch::new(extent(last), TURN))];
        let turned = tokens.iter().any(|token| token.text == TURN);
        let told = tokens.len() > last.len() && !turned;
        patches.into_iter().filter(move |_| told).map(move |(class, patch)| Draft {
            cost: MISPRINT + class.cost() + KNOWN,
            row: row_of(reading, row).unwrap_or_default(),
            patches: vec![patch],
            why: Some("elsewhere the work is turned at the end of a row".to_owned()),
            doubtful: true,
        })
    })
}

/// The words of one instruction, with what stands before and behind them, every number as one.
struct Told<'a> {
    tokens: &'a [Token],
    about: (&'a str, &'a str),
}

/// The word set for an instruction that stands between the same words elsewhere, or an instruction set for the word.
fn set_for_another<'a>(reading: &'a Reading, words: &'a Words<'_>) -> impl Iterator<Item = Draft> + 'a {
    let told = told(words.tokens());
    let is_turn = |told: &Told<'a>| matches!(told.tokens, [turn] if turn.text == TURN);
    let mut others: FxHashMap<(&str, &str), Vec<Span>> = FxHashMap::default();
    for one in &told {
        let spans = others.entry(one.about).or_default();
        let same = |span: &Span| span.of(words.text).eq_ignore_ascii_case(extent(one.tokens).of(words.text));
        if !spans.iter().any(same) {
            spans.push(extent(one.tokens));
        }
    }
    let draft = move |printed: Span, meant: Span| Draft {
        cost: MISPRINT + Class::Stitch.cost() + KNOWN,
        row: row_of(reading, printed).unwrap_or_default(),
        patches: vec![Patch::new(printed, lower_first(meant.of(words.text)))],
        why: Some(format!("elsewhere \"{}\" stands between the same words", meant.of(words.text))),
        doubtful: false,
    };
    told.into_iter().flat_map(move |one| {
        let printed = extent(one.tokens);
        let turned = is_turn(&one);
        let beside = [one.about.0, one.about.1].contains(&TURN);
        let meant = if beside { Vec::new() } else { others[&one.about].clone() };
        let turns = |span: &Span| span.of(words.text).eq_ignore_ascii_case(TURN);
        meant.into_iter().filter(move |meant| turns(meant) != turned).map(move |meant| draft(printed, meant))
    })
}

/// The instructions of a text between two others.
fn told(tokens: &[Token]) -> Vec<Told<'_>> {
    let mut out: Vec<Told<'_>> = Vec::new();
    let parts: Vec<&[Token]> = tokens.chunk_by(|_, next| next.gap < Gap::Comma).collect();
    for three in parts.windows(3) {
        let apart = three[1..].iter().any(|part| part[0].gap >= Gap::Paragraph);
        if let (Some(before), Some(behind), false) = (three[0].last(), three[2].first(), apart) {
            out.push(Told { tokens: three[1], about: (shape(before), shape(behind)) });
        }
    }
    out
}

/// A word, every number as one.
fn shape(token: &Token) -> &str {
    if token.number.is_some() { "#" } else { &token.text }
}

/// The stretch of some tokens.
fn extent(tokens: &[Token]) -> Span {
    tokens.iter().fold(Span::DETACHED, |all, token| all.to(token.span))
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

#[cfg(test)]
mod tests {
    use reading::{Options, Reader};

    use super::*;
    use crate::trouble::troubles;

    /// What is put for what, where the last row does not come out.
    fn all(rows: &str) -> Vec<(String, String)> {
        let text = format!("Cast on 14 stitches.\n\n{rows}\n\nNext row: knit 90.\n");
        let reading = Reader::new().unwrap().read(&text, &Options::default());
        let drafts = turns(&reading, &troubles(&reading, &text), &Words::new(&text));
        let told = drafts.iter().flat_map(|draft| draft.emendations(&text, ""));
        told.map(|one| (one.printed, one.corrected)).collect()
    }

    fn has(rows: &str, printed: &str, corrected: &str) -> bool {
        all(rows).contains(&(printed.to_owned(), corrected.to_owned()))
    }

    #[test]
    fn it_changes_places_with_an_instruction_that_has_stops_in_it_where_it_then_stands_as_elsewhere() {
        let early =
            "Knit 8, turn, slip 1, knit 1, pass the slipped stitch over; purl 4, turn; purl 5, turn; purl 6.";
        let (printed, corrected) = (
            "turn, slip 1, knit 1, pass the slipped stitch over",
            "slip 1, knit 1, pass the slipped stitch over, turn",
        );
        assert!(has(early, printed, corrected), "{:?}", all(early));
        let otherwise = early.replace("purl", "seam").replacen("seam", "purl", 1);
        assert!(!has(&otherwise, printed, corrected), "{:?}", all(&otherwise));
    }

    #[test]
    fn it_and_an_instruction_between_the_same_words_are_set_for_each_other_whatever_the_numbers() {
        let rows = "Slip 1, knit 3, narrow, knit 1, turn; slip 1, purl 4, turn, purl 1, turn; \
                    slip 1, purl 5, narrow, purl 1, turn; slip 1, knit 7, narrow, knit 1, purl 1; slip 1, purl 9.";
        assert!(has(rows, "turn", "narrow"), "{:?}", all(rows));
        assert!(has(rows, "purl 1", "turn"), "{:?}", all(rows));
        assert!(!has(&rows.replace("narrow", "over"), "turn", "narrow"));
        assert!(!has(rows, "knit 1", "turn"), "not beside another: {:?}", all(rows));
    }
}
