//! Words and rows that changed places, or were set again, so that what is printed is half read.
//!
//! The search changes what was read. Where rows changed about leave words that are no sense ("purl. Repeat from *"), or
//! numbers do ("2 more, finish with knit twice"), nothing of it was read, and the words themselves are changed back.
//! What comes of that is found out by reading.

use reading::{Gap, Reading, Token};
use span::Span;

use crate::class::{Class, MISPRINT};
use crate::draft::Draft;
use crate::named::bodies_by_name;
use crate::patch::Patch;
use crate::trouble::Trouble;
use crate::whole::{bodies, half_read, row_of, told};
use crate::words::{Words, adverb};

/// How many rows further on one may stand that another changed places with.
const AWAY: usize = 2;
/// How many rows before one that is half read or does not come out are looked at.
const BEFORE: usize = 3;
/// The most drafts of rows, and of numbers.
const TRIES: usize = 16;
/// Nats for numbers that changed places where one is told by a word that no instruction has: "knit twice".
const SURELY: f64 = 1.5;

/// Rows and numbers changed back, where rows are half read or do not come out.
pub fn moved(reading: &Reading, troubles: &[Trouble], words: &Words<'_>, out: &mut Vec<Draft>) {
    let half_read = half_read(reading);
    for (index, piece) in reading.pieces.iter().enumerate() {
        let of_row = |body: Span| {
            let tokens = told(piece, body, words);
            let own = |token: &&Token| {
                body.covers(token.span) || reading.unread.iter().any(|unread| unread.covers(token.span))
            };
            // What is understood behind a row is no part of it: "Repeat these 14 rounds".
            &tokens[..tokens.iter().take_while(own).count()]
        };
        let mut rows: Vec<&[Token]> = bodies(piece, words).map(of_row).collect();
        rows.retain(|tokens| !tokens.is_empty());
        rows.sort_by_key(|tokens| extent(tokens));
        rows.dedup_by_key(|tokens| extent(tokens));
        let of_piece = troubles.iter().filter(|trouble| trouble.piece() == Some(index));
        let troubled: Vec<Span> = troubled(reading, of_piece).collect();
        let is_half = |tokens: &&[Token]| half_read.iter().any(|half| half.covers(extent(tokens)));
        let suspect =
            |tokens: &[Token]| is_half(&tokens) || troubled.iter().any(|row| row.covers(tokens[0].span));
        let (from, limit) = (out.len(), out.len() + TRIES);
        for (at, one) in rows.iter().enumerate() {
            if !rows[at..].iter().take(AWAY + BEFORE).any(|row| suspect(row)) {
                continue;
            }
            for two in rows[at + 1..].iter().take(AWAY) {
                // Where no mark parts the work from the row's name, it is less sure where the row begins.
                let doubtful = [one, two].iter().any(|row| row[0].gap == Gap::None);
                let draft = exchanged(reading, (extent(one), extent(two)), Class::Rows.cost(), words);
                out.extend(draft.map(|draft| Draft { doubtful, ..draft }));
            }
        }
        out.truncate(limit.max(from));
    }
    let amiss: Vec<Span> = troubled(reading, troubles.iter()).chain(reading.unread.iter().copied()).collect();
    for body in
        bodies_by_name(reading, words).iter().filter(|body| amiss.iter().any(|span| meet(body.all, *span)))
    {
        numbers(reading, words.within(body.all), words, out);
    }
}

/// Numbers of a row changed about, one of them told by an adverb.
fn numbers(reading: &Reading, tokens: &[Token], words: &Words<'_>, out: &mut Vec<Draft>) {
    let limit = out.len() + TRIES;
    let often = |token: &&Token| adverb(&token.text).is_some();
    for one in tokens.iter().filter(often) {
        for other in tokens.iter().filter(|other| other.number.is_some() && !often(other)) {
            let (first, second) = if one.span < other.span { (one, other) } else { (other, one) };
            out.extend(exchanged(reading, (first.span, second.span), Class::Swapped.cost() - SURELY, words));
        }
    }
    out.truncate(limit);
}

/// Rows that do not come out.
pub fn troubled<'a>(
    reading: &'a Reading,
    troubles: impl Iterator<Item = &'a Trouble> + 'a,
) -> impl Iterator<Item = Span> + 'a {
    let row =
        |trouble: &Trouble| Some(reading.pieces.get(trouble.piece()?)?.plan.rows.get(trouble.row()?)?.span);
    troubles.filter_map(row)
}

/// Whether two stretches have words in common.
pub fn meet(one: Span, other: Span) -> bool {
    one.start < other.end && other.start < one.end
}

/// Two stretches of words changed about.
pub fn exchanged(reading: &Reading, (one, two): (Span, Span), cost: f64, words: &Words<'_>) -> Option<Draft> {
    let (first, second) = (one.of(words.text), two.of(words.text));
    (one.end <= two.start && !first.eq_ignore_ascii_case(second)).then(|| Draft {
        cost: MISPRINT + cost,
        row: row_of(reading, one).unwrap_or_default(),
        patches: vec![Patch::new(one, second), Patch::new(two, first)],
        why: None,
        doubtful: false,
    })
}

/// The stretch of some tokens.
fn extent(tokens: &[Token]) -> Span {
    tokens.iter().fold(Span::DETACHED, |all, token| all.to(token.span))
}
