//! Rows told by other rows, and the wrong row named: "like the 6th" for "like the 4th".
//!
//! Rows that come back do so in order: the 7th as the 5th, the 8th as the 4th, the 9th as the 3rd. Where one between two
//! names a row out of this order, the counts often come out all the same. Knows the names of rows; nothing of stitches.

use reading::{Content, PieceReading, Reading, StatementKind, Which};
use span::Span;

use crate::catalog::Whole;
use crate::class::{Class, number_cost};
use crate::patch::Patch;
use crate::words::{Words, in_the_manner_of};

/// The most rows away that a row referred to is looked for.
const REACH: usize = 24;
/// Nats against a row named out of the order of those before and after it. Guess.
pub const OUT_OF_ORDER: f64 = 3.0;

/// A row told by another.
struct Reference {
    row: u32,
    like: u32,
    /// The words that name the other.
    named: Span,
    /// The whole statement.
    told: Span,
}

/// The rows told by one other row, in the order of the text.
fn told_by_others(reading: &Reading) -> Vec<Reference> {
    let told = reading.statements.iter().filter_map(|statement| {
        let StatementKind::Rows { rows, content: Content::Like(Some(like)), .. } = &statement.kind else {
            return None;
        };
        let (Which::Numbers(own), Which::Numbers(other)) = (&rows.which, &like.which) else { return None };
        let ([row], [other]) = (own.as_slice(), other.as_slice()) else { return None };
        Some(Reference { row: *row, like: *other, named: like.span, told: statement.span })
    });
    told.collect()
}

/// The words that name a row out of order, with the number that the rows before and after ask for.
pub fn out_of_order(reading: &Reading) -> Vec<(Span, u32)> {
    let all = told_by_others(reading);
    let asked = all.windows(3).filter_map(|three| {
        let [before, own, after] = three else { return None };
        let rows = [before, own, after].map(|one| i64::from(one.row));
        let [first, printed, last] = [before, own, after].map(|one| i64::from(one.like));
        let step = rows[1] - rows[0];
        let meant = (first + last) / 2;
        let orderly = step > 0 && rows[2] - rows[1] == step && (last - first).abs() == 2 * step;
        (orderly && printed != meant).then(|| Some((own.named, u32::try_from(meant).ok()?)))?
    });
    asked.collect()
}

/// Nats against rows named out of order.
pub fn cost(reading: &Reading) -> f64 {
    OUT_OF_ORDER * out_of_order(reading).len() as f64
}

/// Other rows that a row of a piece may be like.
pub fn references(piece: &PieceReading, reading: &Reading, words: &Words<'_>) -> Vec<Whole> {
    let rows = &piece.plan.rows;
    let mut out = Vec::new();
    for told in told_by_others(reading) {
        let Some(row) = rows.iter().position(|row| row.span == told.told) else { continue };
        let Some(figure) = words.figures(told.named).into_iter().find(|figure| figure.value == told.like)
        else {
            continue;
        };
        for (other, planned) in rows.iter().enumerate().take(row) {
            let Some(number) = planned.number.filter(|number| *number != told.like) else { continue };
            let figures = figure.span.of(words.text);
            let Some(corrected) = in_the_manner_of(figures, number).filter(|_| row - other <= REACH) else {
                continue;
            };
            let cost = Class::RowNumber.cost() + number_cost(told.like, number, figures, &corrected);
            let patch = Patch::new(told.named, words.replaced(told.named, figure.span, &corrected));
            out.push(Whole { cost, rows: vec![(row, other)], patches: vec![patch] });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use reading::{Options, Reader};

    use super::*;

    fn asked(likes: &str) -> Vec<u32> {
        let rows = "1st row: knit 8. 2nd row: purl 8. 3rd row: knit 4, purl 4. 4th row: purl 2, knit 6. 5th row: knit 1, purl 7.";
        let text = format!("Cast on 8 stitches. {rows} {likes}");
        let reading = Reader::new().unwrap().read(&text, &Options::default());
        out_of_order(&reading).into_iter().map(|(_, meant)| meant).collect()
    }

    #[test]
    fn rows_come_back_in_order() {
        assert_eq!(asked("6th row: as the 4th. 7th row: as the 2nd. 8th row: as the 2nd."), [3]);
        assert_eq!(asked("6th row: as the 4th. 7th row: as the 3rd. 8th row: as the 2nd."), [0_u32; 0]);
        assert_eq!(asked("6th row: as the 1st. 7th row: as the 5th. 8th row: as the 3rd."), [2], "or go on");
        assert_eq!(asked("6th row: as the 1st. 7th row: as the 5th. 8th row: as the 1st."), [0_u32; 0]);
    }
}
