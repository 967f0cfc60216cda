//! A row whose number is told already, where the number that its place asks for is told nowhere: "13th, 15th, 17th,
//! 16th, 21st" beside "every even row".
//!
//! Knows the printed numbers of rows in their order; nothing of stitches.

use std::collections::BTreeMap;

use reading::{PieceReading, PlannedRow, Reading, StatementKind, Which};
use span::Span;

/// A row's number that must be another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Misnumbered {
    /// The name of the row, or of the rows among which it is.
    pub name: Span,
    /// The number printed.
    pub printed: u32,
    /// The number that is told nowhere, and that its place asks for.
    pub meant: u32,
}

/// The one row whose number is surely another: it is told twice, and between the rows before and behind it one number is
/// told nowhere. None where numbers begin again, as those of a second piece do.
pub fn misnumbered(reading: &Reading) -> Option<Misnumbered> {
    /// Fewer rows show no order.
    const LEAST: usize = 5;
    let mut told: Vec<(u32, Span)> = Vec::new();
    for statement in &reading.statements {
        let rows = match &statement.kind {
            StatementKind::Rows { rows, .. } => rows,
            StatementKind::Section(_) | StatementKind::Heading(_) => return None,
            _ => continue,
        };
        if let (Which::Numbers(numbers), true) = (&rows.which, rows.explicit) {
            told.extend(numbers.iter().map(|number| (*number, rows.span)));
        }
    }
    // Rows told once for all: "2nd row, and every even row".
    let rows = reading.pieces.iter().flat_map(|piece| &piece.plan.rows);
    let numbers = rows.filter(|row| !row.filled).filter_map(|row| row.number);
    let ruled: Vec<u32> = numbers.filter(|number| told.iter().all(|(other, _)| other != number)).collect();
    // The one that is wanting may have been given the rule's row as well.
    let evens = ruled.iter().filter(|number| number.is_multiple_of(2)).count();
    let (even, odd) = (evens > 1, ruled.len() - evens > 1);
    if told.len() < LEAST || even && odd {
        return None;
    }
    let by_rule = |number: u32| even && number.is_multiple_of(2) || odd && !number.is_multiple_of(2);
    let mut times: BTreeMap<u32, usize> = BTreeMap::new();
    told.iter().for_each(|(number, _)| *times.entry(*number).or_default() += 1);
    let (first, last) = (*times.keys().next()?, *times.keys().next_back()?);
    let untold: Vec<u32> =
        (first..=last).filter(|number| !by_rule(*number) && !times.contains_key(number)).collect();
    let [meant] = untold[..] else { return None };
    let twice = |number: u32| times.get(&number).is_some_and(|times| *times > 1) || by_rule(number);
    let fits = |at: &usize| {
        let before = at.checked_sub(1).map(|before| told[before].0);
        let behind = told.get(at + 1).map(|(number, _)| *number);
        before.is_some_and(|before| before < meant) && behind.is_some_and(|behind| behind > meant)
    };
    let mut found = (0..told.len()).filter(|at| twice(told[*at].0) && fits(at));
    let (Some(at), None) = (found.next(), found.next()) else { return None };
    // All others stand in their order.
    let others: Vec<u32> =
        told.iter().enumerate().filter(|(other, _)| *other != at).map(|(_, (number, _))| *number).collect();
    let (printed, name) = told[at];
    others.windows(2).all(|pair| pair[0] < pair[1]).then_some(Misnumbered { name, printed, meant })
}

/// Whether the numbers of a piece pass over one for which no row is told: "1st, 2nd, 4th", or a piece that begins with its
/// 2nd row. Where several are passed over, that is the manner of the book.
pub fn lacks_a_row(piece: &PieceReading) -> bool {
    // One row stands for a length that may have any number of them.
    if !piece.plan.measures.is_empty() {
        return false;
    }
    let (mut number, mut at, mut lacking) = (0, 0, 0);
    for (next, row) in piece.plan.rows.iter().enumerate() {
        let Some(named) = row.number else { continue };
        // As many rows stand between as their numbers leave room for.
        lacking += (named.saturating_sub(number) as usize).saturating_sub(next + 1 - at);
        (number, at) = (named, next + 1);
    }
    lacking == 1
}

/// The rows of a piece that are told in the same words as one of the two told before them, each by itself, with that row.
/// A book that means that mostly says it once.
pub fn told_again(piece: &PieceReading, text: &str) -> Vec<(usize, usize)> {
    const NEAR: usize = 2;
    // "Purl" and "knit 12" are told again and again.
    let body = |(at, row): (usize, &PlannedRow)| {
        let (_, seq) = row.readings.first().filter(|(_, seq)| seq.item_count() > 1)?;
        (row.span.covers(seq.span()) && !seq.span().is_detached()).then_some((at, seq.span()))
    };
    let mut told: Vec<(usize, Span)> = Vec::new();
    for row in piece.plan.rows.iter().enumerate().filter_map(body) {
        if told.iter().all(|(_, span)| *span != row.1) {
            told.push(row);
        }
    }
    let alike = |one: Span, two: Span| one.of(text).eq_ignore_ascii_case(two.of(text));
    let pairs = told.iter().enumerate().flat_map(|(at, (row, span))| {
        let before = &told[at.saturating_sub(NEAR)..at];
        before.iter().filter(|(_, other)| alike(*other, *span)).map(|(other, _)| (*other, *row))
    });
    pairs.collect()
}

#[cfg(test)]
mod tests {
    use reading::{Options, Reader};

    use super::*;

    fn found(text: &str) -> Option<(u32, u32)> {
        let reading = Reader::new().unwrap().read(text, &Options::default());
        misnumbered(&reading).map(|row| (row.printed, row.meant))
    }

    #[test]
    fn a_number_told_twice_and_one_never() {
        let text = "Cast on 9 stitches.\n\n1st row. Plain. 2nd row. Purl. 3rd row. Knit 9. 5th row. Purl 9. 5th row. Plain. 6th row. Purl.";
        assert_eq!(found(text), Some((5, 4)));
        let text = "Cast on 9 stitches.\n\n1st row. Plain. 2nd row, and all even rows. Purl. 3rd row. Plain. 5th and 6th rows. Plain. 9th row. Plain. 11th row. Plain.";
        assert_eq!(found(text), Some((6, 7)));
    }

    #[test]
    fn rows_in_order_and_rows_that_begin_again() {
        for text in [
            "Cast on 9 stitches.\n\n1st row. Plain. 2nd row. Purl. 3rd row. Knit 9. 4th row. Purl 9. 5th row. Plain. 6th row. Purl.",
            "Cast on 9 stitches.\n\n1st row. Plain. 2nd row. Purl. 3rd row. Plain. 1st row. Purl. 2nd row. Plain. 3rd row. Purl. 5th row. Plain.",
            "Cast on 9 stitches.\n\n1st row. Plain. 3rd row. Plain. 5th row. Purl. 7th row. Plain. 9th row. Purl.",
        ] {
            assert_eq!(found(text), None, "{text}");
        }
    }

    fn piece(text: &str) -> PieceReading {
        Reader::new().unwrap().read(text, &Options::default()).pieces.remove(0)
    }

    #[test]
    fn a_number_without_a_row_is_seen() {
        for (text, lacking) in [
            ("Cast on 9 stitches. 1st row. Plain. 2nd row. Purl. 4th row. Purl. 5th row. Plain.", true),
            ("Cast on 9 stitches. 2nd row. Purl. 3rd row. Plain. 4th row. Purl.", true),
            ("Cast on 9 stitches. 1st row. Plain. 2nd row. Purl. 3rd row. Plain.", false),
            ("Cast on 9 stitches, and knit 1 row. 2nd row. Purl. 3rd row. Plain.", false),
            ("Cast on 9 stitches. 1st row. Plain. 3rd row. Plain. 5th row. Knit 9. 7th row. Plain.", false),
        ] {
            assert_eq!(lacks_a_row(&piece(text)), lacking, "{text}");
        }
    }

    #[test]
    fn a_row_in_the_words_of_the_one_before_is_seen() {
        let again = |text: &str| told_again(&piece(text), text);
        let twice = "Cast on 9 stitches. 1st row. Knit 4, make 1, knit 5. 2nd row. Knit 4, make 1, knit 5. 3rd row. Purl.";
        assert_eq!(again(twice), [(0, 1)]);
        let once =
            "Cast on 9 stitches. 1st and 2nd rows. Knit 4, make 1, knit 5. 3rd row. Purl. 4th row. Purl.";
        assert!(again(once).is_empty());
    }
}
