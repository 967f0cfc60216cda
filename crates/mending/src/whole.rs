//! Corrections of whole rows and of what is said around them.
//!
//! Two rows that have changed places, the number cast on, the number that the stitches divide by,
//! the end of a range, a word misread. Those that the search can weigh by counts go into its [`Catalog`]; the others
//! are tried by reading the corrected text.

use std::collections::BTreeSet;

use notation::numeral;
use reading::{
    Content, Gap, PieceReading, PlannedRow, Reader, Reading, StatementKind, Token, TokenKind, Which,
};
use span::Span;

use crate::catalog::{Catalog, Group, Start, Whole};
use crate::class::{Class, MISPRINT, look_alike, number_cost};
use crate::draft::Draft;
use crate::moved::moved;
use crate::numbering::Misnumbered;
use crate::odd;
use crate::patch::Patch;
use crate::referred::references;
use crate::trouble::{Trouble, works_like};
use crate::turning::turns;
use crate::twice::set_twice;
use crate::words::{Figure, Words, in_the_manner_of};

/// Nats for a number cast on that was printed without the stitches beside the repeats.
const ENDS_FORGOTTEN: f64 = 1.0;
/// Nats against two rows that have changed places of which one is told for many. Guess.
const FOR_MANY: f64 = 5.0;
/// Nats against a word set for another for which nothing in the text speaks, and against its standing a row before.
const UNSUPPORTED: f64 = 1.5;
const BEFORE: f64 = 0.4;
/// Nats for one where the word printed makes so many loops at once as none does.
const TOO_MANY: f64 = 1.0;
/// Nats for one with words behind it that are not understood, and against one in words that stand in no row.
const BEHIND: f64 = 0.8;
const APART: f64 = 0.8;
/// Words that end the name of a row.
pub const ROW_WORDS: [&str; 6] = ["row", "rows", "round", "rounds", "needle", "needles"];

/// Adds the corrections that counts can weigh.
pub fn collect(piece: &PieceReading, reading: &Reading, words: &Words<'_>, catalog: &mut Catalog) {
    starts(piece, words, &mut catalog.starts);
    let rows = &piece.plan.rows;
    catalog.totals = (0..rows.len()).filter(|row| rows[*row].stated.is_some()).collect();
    catalog.wholes.extend(references(piece, reading, words));
    swapped_rows(piece, catalog, words);
}

fn starts(piece: &PieceReading, words: &Words<'_>, out: &mut Vec<Start>) {
    const AWAY: u32 = 40;
    let cast_on = &piece.plan.cast_on;
    let (Some(printed), Some(span)) = (cast_on.count, cast_on.count_span) else { return };
    let figures = number_in(span, printed, words).of(words.text);
    let each = cast_on.per_needle.unwrap_or(1).max(1);
    if printed == 0 || printed > 5_000 {
        return;
    }
    let near = printed.saturating_sub(AWAY).max(1)..=printed + AWAY;
    let misread = misread(printed).filter(|other| !near.contains(other)).collect::<Vec<_>>();
    for meant in near.chain(misread) {
        let Some(corrected) = in_the_manner_of(figures, meant).filter(|_| meant != printed) else { continue };
        let forgotten = if ends_forgotten(piece, meant) { ENDS_FORGOTTEN } else { 0.0 };
        let cost = Class::CastOn.cost() + number_cost(printed, meant, figures, &corrected) - forgotten;
        out.push(Start { count: meant.saturating_mul(each), cost });
    }
}

/// The numbers that a figure misread makes into this one, however far off.
fn misread(printed: u32) -> impl Iterator<Item = u32> {
    let figures = printed.to_string();
    let places = (0..figures.len()).flat_map(|at| (b'0'..=b'9').map(move |figure| (at, figure)));
    places.filter_map(move |(at, figure)| {
        let mut other = figures.clone().into_bytes();
        other[at] = figure;
        let other = String::from_utf8(other).ok()?;
        look_alike(&figures, &other).then(|| other.parse().ok()).flatten().filter(|meant| *meant > 0)
    })
}

/// Whether the number cast on is one of whole repeats, and another has the stitches beside them as well.
fn ends_forgotten(piece: &PieceReading, meant: u32) -> bool {
    let start = piece.path.start;
    let mut rows = piece.chain.iter().zip(&piece.path.rows).filter(|(_, chosen)| chosen.before == start);
    rows.any(|(row, chosen)| {
        let shape = row.candidates[chosen.candidate].seq.shape();
        let unit = shape.open.first().map_or(0, |(unit, ..)| unit.takes);
        unit > 1 && start.is_multiple_of(unit) && shape.fixed.takes > 0 && meant == start + shape.fixed.takes
    })
}

/// The number alone, of words that may say of what.
fn number_in(span: Span, value: u32, words: &Words<'_>) -> Span {
    let figures = words.figures(span);
    figures.into_iter().find(|figure| figure.value == value).map_or(span, |figure| figure.span)
}

/// The words that say how many are cast on, with another number.
pub fn start_patch(piece: &PieceReading, count: u32, words: &Words<'_>) -> Option<Patch> {
    const NEAR: usize = 60;
    let cast_on = &piece.plan.cast_on;
    let number = number_in(cast_on.count_span?, cast_on.count?, words);
    let corrected = in_the_manner_of(number.of(words.text), count / cast_on.per_needle.unwrap_or(1).max(1))?;
    let said = piece.plan.cast_on_span.filter(|said| said.covers(number));
    let from = said.map_or(number.start, |said| said.start);
    let whole = Span { start: from, end: number.end };
    let whole = if whole.range().len() <= NEAR { whole } else { number };
    Some(Patch::new(whole, words.replaced(whole, number, &corrected)))
}

/// The words that state a count, with another number.
pub fn total_patch(piece: &PieceReading, row: usize, count: u32, words: &Words<'_>) -> Option<Patch> {
    const NEAR: usize = 40;
    let (stated, span) = piece.plan.rows.get(row)?.stated?;
    let figure = words.figures(span).into_iter().find(|figure| figure.value == stated)?;
    let corrected = in_the_manner_of(figure.span.of(words.text), count)?;
    let whole = if span.range().len() <= NEAR { span } else { figure.span };
    Some(Patch::new(whole, words.replaced(whole, figure.span, &corrected)))
}

/// Rows near one another in print that have changed places, and with them all that are told to be like them.
pub fn swapped_rows(piece: &PieceReading, catalog: &mut Catalog, words: &Words<'_>) {
    let rows = &piece.plan.rows;
    let body = |group: &Group| {
        let first = &rows[*group.rows.first()?];
        let body = first.readings.first()?.1.span();
        first.span.covers(body).then_some(body)
    };
    let groups = catalog.groups.iter();
    let mut told: Vec<(Span, &[usize])> =
        groups.filter_map(|group| Some((body(group)?, group.rows.as_slice()))).collect();
    told.sort();
    let within =
        |body: &Span, row: &PlannedRow| row.readings.first().is_some_and(|(_, seq)| body.covers(seq.span()));
    let told_by = |body: &Span| rows.iter().filter(|row| within(body, row)).count();
    let mut wholes = Vec::new();
    for (at, (one, first)) in told.iter().enumerate() {
        for (two, second) in told[at + 1..].iter().take(2) {
            let (text_one, text_two) = (one.of(words.text), two.of(words.text));
            if one.end <= two.start && text_one != text_two {
                let patches = vec![Patch::new(*one, text_two), Patch::new(*two, text_one)];
                let like = |rows: &[usize], like: usize| -> Vec<(usize, usize)> {
                    rows.iter().map(|row| (*row, like)).collect()
                };
                let mut rows = [like(first, second[0]), like(second, first[0])].concat();
                rows.sort_unstable();
                // What is told for many rows stands apart, and is not set in the place of one.
                let many = if told_by(one).abs_diff(told_by(two)) > 1 { FOR_MANY } else { 0.0 };
                wholes.push(Whole { cost: Class::Rows.cost() + many, rows, patches });
            }
        }
    }
    catalog.wholes.extend(wholes);
}

/// Corrections that only reading the corrected text can weigh.
pub fn drafts(reader: &Reader, reading: &Reading, troubles: &[Trouble], words: &Words<'_>) -> Vec<Draft> {
    let mut out = Vec::new();
    for trouble in troubles {
        match trouble {
            Trouble::Multiple { piece, .. } => multiples(&reading.pieces[*piece], words, &mut out),
            Trouble::Range { .. } => ranges(reading, words, &mut out),
            Trouble::Numbering(row) => out.extend(renumbered(*row, words)),
            _ => {}
        }
    }
    odd_words(reading, troubles, words, &mut out);
    confused_words(reading, troubles, words, &mut out);
    for piece in &reading.pieces {
        missing_marks(reading, piece, words, &mut out);
        lost_stars(reading, piece, words, &mut out);
    }
    moved(reading, troubles, words, &mut out);
    out.extend(set_twice(reading, troubles, words));
    out.extend(turns(reading, troubles, words));
    let mut pieces: BTreeSet<usize> = troubles.iter().filter_map(Trouble::piece).collect();
    let half_read = half_read(reading);
    pieces.extend((0..reading.pieces.len()).filter(|piece| {
        reading.pieces[*piece]
            .plan
            .rows
            .iter()
            .any(|row| half_read.iter().any(|half| half.start == row.span.start))
    }));
    for piece in pieces {
        broken_phrases(reader, reading, &reading.pieces[piece], words, &mut out);
    }
    out
}

/// The number of a row that its place asks for.
fn renumbered(row: Misnumbered, words: &Words<'_>) -> Option<Draft> {
    /// Nats in its favour: only one number is wanting, and only one is told again.
    const SURELY: f64 = 3.5;
    let figure = words.figures(row.name).into_iter().find(|figure| figure.value == row.printed)?;
    let figures = figure.span.of(words.text);
    let corrected = in_the_manner_of(figures, row.meant)?;
    let cost = Class::RowNumber.cost() + number_cost(row.printed, row.meant, figures, &corrected) - SURELY;
    let patches = vec![Patch::new(figure.span, corrected)];
    Some(Draft { cost, row: row.meant.to_string(), patches, why: None, doubtful: false })
}

/// Numbers of phrases that are none with the number printed: "knit 1 together", "slip 2, knit 1, pass the slipped over".
fn broken_phrases(
    reader: &Reader,
    reading: &Reading,
    piece: &PieceReading,
    words: &Words<'_>,
    out: &mut Vec<Draft>,
) {
    const BEFORE: usize = 6;
    const TRIES: usize = 20;
    let mut seen = BTreeSet::new();
    let first = out.len();
    for ((row, chain), chosen) in piece.plan.rows.iter().zip(&piece.chain).zip(&piece.path.rows) {
        let seq = &chain.candidates[chosen.candidate].seq;
        if row.goes_on || !row.span.covers(seq.span()) {
            continue;
        }
        let items = seq.spans();
        let read = |token: &Token| items.iter().any(|item| item.covers(token.span));
        let tokens = told(piece, row.span, words);
        for (at, token) in tokens.iter().enumerate() {
            let passed_over = || reading.unread.iter().any(|unread| unread.covers(token.span));
            let odd = (token.span.start > seq.span().start || passed_over())
                && !read(token)
                && reader.lexicon().word(&token.text).is_some();
            for number in tokens[at.saturating_sub(BEFORE)..at + 1].iter().rev().filter(|_| odd) {
                let Some(printed) = number.number.filter(|_| seen.insert(number.span)) else { continue };
                let figures = number.span.of(words.text);
                for meant in [printed + 1, printed.saturating_sub(1), printed + 2, printed.saturating_sub(2)]
                {
                    let Some(corrected) =
                        in_the_manner_of(figures, meant).filter(|_| meant > 0 && out.len() < first + TRIES)
                    else {
                        continue;
                    };
                    let cost =
                        MISPRINT + Class::Together.cost() + number_cost(printed, meant, figures, &corrected);
                    let patches = vec![Patch::new(number.span, corrected)];
                    let why = Some(format!("with {meant} the words around it are a phrase"));
                    out.push(Draft { cost, row: row.label.clone(), patches, why, doubtful: false });
                }
            }
        }
    }
}

/// The words of a row, with those after it that were read as no part of any row.
pub fn told<'w>(piece: &PieceReading, row: Span, words: &'w Words<'_>) -> &'w [Token] {
    const AFTER: usize = 24;
    let tokens = words.tokens();
    let from = tokens.partition_point(|token| token.span.start < row.start);
    let to = tokens.partition_point(|token| token.span.end <= row.end);
    let next = piece
        .plan
        .rows
        .iter()
        .map(|other| other.span.start)
        .filter(|start| *start >= row.end)
        .min()
        .unwrap_or(u32::MAX);
    let after = tokens[to..]
        .iter()
        .take(AFTER)
        .take_while(|token| token.span.start < next && token.gap < Gap::Paragraph)
        .count();
    &tokens[from.min(to)..to + after]
}

/// Another number that the stitches divide by.
fn multiples(piece: &PieceReading, words: &Words<'_>, out: &mut Vec<Draft>) {
    const MOST: u32 = 60;
    const TRIES: usize = 4;
    let cast_on = &piece.plan.cast_on;
    let (Some(printed), Some(span)) = (cast_on.of, cast_on.of_span) else { return };
    let fits = |of: u32| match cast_on.count {
        Some(count) => {
            count.checked_sub(cast_on.plus).is_some_and(|rest| rest.is_multiple_of(of))
                && works_like(piece, count)
        }
        None => true,
    };
    // Where no stitches are told beside the repeats, the number that was taken may have them.
    let over = |of: u32| if cast_on.plus > 0 { cast_on.plus } else { piece.path.start % of };
    let works = |of: u32| fits(of) && (2..=4).all(|times| works_like(piece, of * times + over(of)));
    let mut of: Vec<u32> = (1..=MOST).filter(|of| *of != printed && works(*of)).collect();
    // What is a multiple of a number that works is no better than that number, unless repeats are as wide.
    let widths: Vec<u32> = piece
        .chain
        .iter()
        .flat_map(|row| &row.candidates)
        .filter_map(|candidate| Some(candidate.seq.open_group()?.shape().fixed.takes))
        .collect();
    let least = of.first().copied();
    of.retain(|of| Some(*of) == least || widths.contains(of));
    for of in of.into_iter().take(TRIES) {
        let Some(patch) = multiple_patch(span, printed, of, words) else { continue };
        let (old, new) = (printed.to_string(), of.to_string());
        let cost = MISPRINT + Class::Multiple.cost() + number_cost(printed, of, &old, &new).min(2.5);
        let whole = format!("with {of} every number that the text then allows can be worked");
        out.push(Draft {
            cost,
            row: "cast on".to_owned(),
            patches: vec![patch],
            why: Some(whole),
            doubtful: over(of) != cast_on.plus,
        });
    }
}

fn multiple_patch(span: Span, printed: u32, of: u32, words: &Words<'_>) -> Option<Patch> {
    match words.figures(span).into_iter().find(|figure| figure.value == printed) {
        Some(figure) => {
            let corrected = in_the_manner_of(figure.span.of(words.text), of)?;
            let verb = words
                .tokens()
                .iter()
                .rev()
                .find(|token| token.span.end <= figure.span.start && token.text.starts_with("di"));
            let from = verb
                .filter(|verb| figure.span.start - verb.span.start <= 24)
                .map_or(span.start, |verb| verb.span.start);
            let whole = Span { start: from.min(figure.span.start), end: span.end.max(figure.span.end) };
            Some(Patch::new(whole, words.replaced(whole, figure.span, &corrected)))
        }
        // "An even number": there is no figure to put right.
        None => Some(Patch::new(span, format!("number that divides by {}", numeral::cardinal_word(of)?))),
    }
}

/// "5th to 9th round like the first four" for "5th to 8th".
fn ranges(reading: &Reading, words: &Words<'_>, out: &mut Vec<Draft>) {
    for statement in &reading.statements {
        let StatementKind::Rows { rows, content: Content::Like(Some(like)), .. } = &statement.kind else {
            continue;
        };
        let Which::Numbers(numbers) = &rows.which else { continue };
        let count = match &like.which {
            Which::Numbers(numbers) => numbers.len(),
            Which::First(n) | Which::Last(n) => *n as usize,
            _ => continue,
        };
        let (Some(first), Some(last)) = (numbers.first(), numbers.last()) else { continue };
        if count < 2 || numbers.len() <= count || numbers.len().is_multiple_of(count) {
            continue;
        }
        let short = numbers.len() % count;
        let nearer = if short * 2 <= count { last - short as u32 } else { last + (count - short) as u32 };
        let Some(figure) = words.figures(rows.span).into_iter().rev().find(|figure| figure.value == *last)
        else {
            continue;
        };
        out.extend(range_draft(rows.span, figure, (*first, *last, nearer), words));
    }
}

fn range_draft(
    span: Span,
    figure: Figure,
    (first, last, meant): (u32, u32, u32),
    words: &Words<'_>,
) -> Option<Draft> {
    let printed = figure.span.of(words.text);
    let corrected = in_the_manner_of(printed, meant)?;
    let cost = MISPRINT + Class::RowNumber.cost() + number_cost(last, meant, printed, &corrected);
    let patch = Patch::new(span, words.replaced(span, figure.span, &corrected));
    let why = format!("from {first} to {meant} they are as many as the rows that they are like");
    Some(Draft { cost, row: first.to_string(), patches: vec![patch], why: Some(why), doubtful: false })
}

/// Words of rows that do not come out, or are not understood, for which others stand in like places.
fn odd_words(reading: &Reading, troubles: &[Trouble], words: &Words<'_>, out: &mut Vec<Draft>) {
    const TRIES: usize = 24;
    let troubled = troubles.iter().any(|trouble| trouble.piece().is_some());
    let half_read = half_read(reading);
    let unread = |span: Span| half_read.iter().any(|row| row.covers(span));
    let mut bodies: Vec<Span> = reading.pieces.iter().flat_map(|piece| bodies(piece, words)).collect();
    for body in &mut bodies {
        let reach = half_read.iter().find(|half| half.covers(*body));
        body.end = reach.map_or(body.end, |reach| reach.end);
    }
    let wanted = |span: Span| (troubled || unread(span)) && bodies.iter().any(|body| body.covers(span));
    let mut suspects: Vec<Span> = troubles
        .iter()
        .filter_map(|trouble| Some(reading.pieces[trouble.piece()?].plan.rows[trouble.row()?].span))
        .collect();
    suspects.extend(&half_read);
    let mut all = odd::meant_words(words, wanted);
    all.retain(|meant| meant.fit > 0);
    // Rows that do not come out or are not understood are looked at first.
    all.sort_by_key(|meant| !suspects.iter().any(|row| row.covers(meant.span)));
    for meant in all.into_iter().take(TRIES) {
        let cost = MISPRINT + Class::Word.cost() + 0.5 * f64::from(3 - meant.fit);
        let why = format!(
            "elsewhere \"{}\" stands between the words that \"{}\" has about it",
            meant.word,
            meant.span.of(words.text)
        );
        let row = row_of(reading, meant.span).unwrap_or_default();
        let doubtful = !reading.unread.iter().any(|unread| unread.covers(meant.span));
        let patches = vec![Patch::new(meant.span, meant.word)];
        out.push(Draft { cost, row, patches, why: Some(why), doubtful });
    }
}

/// Words that printers set for one another, in rows that do not come out and the few rows before them.
fn confused_words(reading: &Reading, troubles: &[Trouble], words: &Words<'_>, out: &mut Vec<Draft>) {
    const TRIES: usize = 40;
    /// How many rows before one that does not come out are looked at.
    const REACH: usize = 3;
    /// How many bytes on words that are not understood may stand behind it.
    const NEAR: u32 = 60;
    let first = out.len();
    let mut seen: BTreeSet<Patch> = out.iter().flat_map(|draft| draft.patches.iter().cloned()).collect();
    let troubled = troubles.iter().filter_map(|trouble| Some((trouble.piece()?, trouble.row())));
    let mut rows: Vec<(usize, usize, f64)> = Vec::new();
    for (piece, row) in troubled {
        match row {
            Some(row) => {
                rows.extend((0..=REACH.min(row)).map(|before| (piece, row - before, BEFORE * before as f64)));
            }
            None => rows.extend((0..reading.pieces[piece].plan.rows.len()).map(|row| (piece, row, BEFORE))),
        }
    }
    rows.extend(half_read(reading).into_iter().filter_map(|half| {
        reading.pieces.iter().enumerate().find_map(|(piece, read)| {
            let row = read.plan.rows.iter().position(|row| row.span.start == half.start)?;
            Some((piece, row, 0.0))
        })
    }));
    for (index, piece) in reading.pieces.iter().enumerate() {
        rows.extend(dearly_read(piece).map(|row| (index, row, 0.0)));
    }
    let untold = troubles.iter().filter_map(|trouble| match trouble {
        Trouble::Untold { span } => {
            let tokens = words.within(*span);
            let number = tokens.iter().find_map(|token| token.ordinal.or(token.number));
            Some((number.map_or_else(String::new, |number| number.to_string()), tokens, 0.0))
        }
        _ => None,
    });
    let rows = rows.into_iter().map(|(piece, row, more)| {
        let row = &reading.pieces[piece].plan.rows[row];
        (row.label.clone(), told(&reading.pieces[piece], row.span, words), more)
    });
    // What is not understood comes first: there the word alone may be why.
    let half_read = half_read(reading);
    let unread = reading.unread.iter().map(|unread| {
        let apart = if half_read.iter().any(|half| half.covers(*unread)) { 0.0 } else { APART };
        (row_of(reading, *unread).unwrap_or_default(), words.within(*unread), apart)
    });
    let stumbles = |token: &Token| {
        let behind = |unread: &Span| unread.start.checked_sub(token.span.end).is_some_and(|gap| gap <= NEAR);
        half_read.iter().any(|half| half.covers(token.span)) && reading.unread.iter().any(behind)
    };
    for (label, tokens, more) in untold.chain(unread).chain(rows) {
        for (at, token) in tokens.iter().enumerate() {
            let printed = token.span.of(words.text);
            let cost = confused_cost(more, makes_many(&tokens[at..]), stumbles(token));
            for meant in odd::set_for(&printed.to_lowercase()) {
                if out.len() == first + TRIES {
                    return;
                }
                let capital = printed.starts_with(char::is_uppercase);
                let corrected = if capital { crate::words::capital(meant) } else { meant.to_owned() };
                let patch = Patch::new(token.span, corrected);
                if !seen.insert(patch.clone()) {
                    continue;
                }
                let patches = vec![patch];
                out.push(Draft { cost, row: label.clone(), patches, why: None, doubtful: true });
            }
        }
    }
}

/// Nats against a word set for another, some nats being against its place.
fn confused_cost(place: f64, makes_many: bool, before_unread: bool) -> f64 {
    let absurd = if makes_many { TOO_MANY } else { 0.0 } + if before_unread { BEHIND } else { 0.0 };
    MISPRINT + Class::Word.cost() + UNSUPPORTED + place - absurd
}

/// Whether words begin with the making of more loops than are made at once.
fn makes_many(tokens: &[Token]) -> bool {
    const MOST: u32 = 3;
    matches!(tokens, [make, many, ..] if make.text == "make" && many.number.is_some_and(|many| many > MOST))
}

/// The beginning of a repeat, where its end says "from *" and no star stands before it.
fn missing_marks(reading: &Reading, piece: &PieceReading, words: &Words<'_>, out: &mut Vec<Draft>) {
    /// Nats in its favour: that a mark is missing is beyond doubt, only where it stood is not.
    const SURELY: f64 = 3.5;
    const TRIES: usize = 24;
    let first = out.len();
    for body in bodies(piece, words) {
        let tokens = told(piece, body, words);
        let Some(mark) = tokens.iter().position(|token| token.kind == TokenKind::Star) else { continue };
        if mark == 0 || !matches!(tokens[mark - 1].text.as_str(), "from" | "at") {
            continue;
        }
        let row = row_of(reading, body).unwrap_or_default();
        let starts = (0..mark).filter(|at| *at == 0 || tokens[*at].gap > Gap::None);
        for at in starts.filter(|at| tokens[*at].text != "repeat").map(|at| tokens[at].span.start as usize) {
            if out.len() == first + TRIES {
                return;
            }
            let sign = tokens[mark].span.of(words.text);
            out.push(Draft {
                cost: MISPRINT + Class::Mark.cost() - SURELY,
                row: row.clone(),
                patches: vec![Patch::new(Span::new(at, at), format!("{sign} "))],
                why: Some(format!("the repeat goes back to a {sign}, and none stands before it")),
                doubtful: false,
            });
        }
    }
}

/// The star behind "repeat from", where a row has one before it and none there.
fn lost_stars(reading: &Reading, piece: &PieceReading, words: &Words<'_>, out: &mut Vec<Draft>) {
    /// Nats in its favour: the words before it ask for it.
    const SURELY: f64 = 3.5;
    for body in bodies(piece, words) {
        let tokens = told(piece, body, words);
        let Some(star) = tokens.iter().find(|token| token.kind == TokenKind::Star) else { continue };
        let sign = star.span.of(words.text);
        for (at, token) in tokens.iter().enumerate().filter(|(_, token)| token.text == "from") {
            let repeats = at > 0 && matches!(tokens[at - 1].text.as_str(), "repeat" | "rep");
            let marked = tokens.get(at + 1).is_some_and(|next| next.kind == TokenKind::Star);
            if !repeats || marked || token.span.start < star.span.end {
                continue;
            }
            let end = token.span.range().end;
            out.push(Draft {
                cost: MISPRINT + Class::Mark.cost() - SURELY,
                row: row_of(reading, body).unwrap_or_default(),
                patches: vec![Patch::new(Span::new(end, end), format!(" {sign},"))],
                why: Some(format!("the repeat goes back to a {sign}, which stands before it")),
                doubtful: false,
            });
        }
    }
}

/// Rows with words that are not understood in them or behind them, each up to the next row.
pub fn half_read(reading: &Reading) -> Vec<Span> {
    /// How many bytes behind the last row words may stand that belong to it.
    const BEHIND: u32 = 4;
    let mut out = Vec::new();
    let mut rows: Vec<Span> =
        reading.pieces.iter().flat_map(|piece| &piece.plan.rows).map(|row| row.span).collect();
    rows.sort();
    for (at, row) in rows.iter().enumerate() {
        let next = rows[at + 1..].iter().map(|next| next.start).find(|start| *start >= row.end);
        let behind =
            |unread: &&Span| unread.start.checked_sub(row.end).is_some_and(|between| between <= BEHIND);
        let last = || reading.unread.iter().find(behind).map_or(row.end, |unread| unread.end);
        let reach = Span { start: row.start, end: next.unwrap_or_else(last) };
        if reading.unread.iter().any(|unread| reach.covers(*unread)) {
            out.push(reach);
        }
    }
    out
}

/// Rows with words that their reading passes over.
pub fn dearly_read(piece: &PieceReading) -> impl Iterator<Item = usize> + '_ {
    /// Nats for such a reading; other habits of print that the reader makes allowance for cost less.
    const DEAR: f64 = 5.0;
    let rows = piece.chain.iter().zip(&piece.path.rows).enumerate();
    let told = rows.filter(|(row, _)| !piece.plan.rows[*row].filled && !piece.plan.rows[*row].goes_on);
    told.filter(|(_, (row, chosen))| row.candidates[chosen.candidate].cost >= DEAR).map(|(row, _)| row)
}

/// The words of each row behind its name.
pub fn bodies<'a>(piece: &'a PieceReading, words: &'a Words<'_>) -> impl Iterator<Item = Span> + 'a {
    let rows = piece.plan.rows.iter().filter(|row| !row.goes_on && !row.filled);
    rows.filter_map(|row| {
        let first = row.readings.iter().map(|(_, seq)| seq.span()).min()?;
        let tokens = words.within(row.span);
        let at = tokens.iter().position(|token| token.span.start >= first.start)?;
        // What stands before the first instruction in the same sentence is part of the row as well.
        let name = |token: &Token| token.ordinal.is_some() || ROW_WORDS.contains(&token.text.as_str());
        let joined = |at: &usize| tokens[*at].gap < Gap::Colon && !name(&tokens[*at - 1]);
        let before = (1..=at).rev().take_while(joined).count();
        let begins = tokens[at.saturating_sub(before)].span.start;
        row.span.covers(first).then_some(Span { start: begins, end: row.span.end })
    })
}

/// The printed number of the row at a place.
pub fn row_of(reading: &Reading, span: Span) -> Option<String> {
    let mut rows = reading.pieces.iter().flat_map(|piece| &piece.plan.rows);
    rows.find(|row| row.span.covers(span)).map(|row| row.label.clone())
}

#[cfg(test)]
mod tests;
