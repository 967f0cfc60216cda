//! How much a row is told as rows near it are.
//!
//! A row of a pattern mostly takes over stretches of the rows about it: the border, the middle that is done again, the
//! edge. Knows the instructions of rows and how far two rows are from one another in them; not where their stitches lie.

use std::cell::RefCell;
use std::rc::Rc;

use rustc_hash::{FxHashMap, FxHashSet};

use super::cell::Cell;
use super::profile::Profile;

/// Nats against each instruction that the likest row near it has not.
const UNLIKE: f64 = 0.15;
/// What a number counts that is another, where an instruction counts one.
const NUMBER: f64 = 0.5;
/// The most that one row counts.
const MOST: f64 = 8.0;
/// Rows to either side that are looked at.
const NEAR: usize = 4;
/// Rows with more instructions are not looked at.
const LONGEST: usize = 80;

/// Nats against the rows of a piece that are told unlike all rows near them.
pub(super) fn likeness(rows: &[Rc<Profile>]) -> f64 {
    let mut seen = FxHashSet::default();
    let told: Vec<&Profile> = rows
        .iter()
        .filter(|row| row.telling() && row.flat.len() <= LONGEST && seen.insert(row.words))
        .map(|row| &**row)
        .collect();
    let own = |at: usize| -> f64 {
        let near = at.saturating_sub(NEAR)..(at + NEAR + 1).min(told.len());
        near.filter(|other| *other != at)
            .map(|other| told[at].apart.of(told[at], told[other]))
            .fold(MOST, f64::min)
    };
    if told.len() < 3 {
        return 0.0;
    }
    -UNLIKE * (0..told.len()).map(own).sum::<f64>()
}

/// How far other rows are from one, as far as it was asked: rows are held against one another again with each change of
/// a third.
#[derive(Clone, Debug, Default)]
pub(super) struct Distances {
    known: RefCell<FxHashMap<u64, f64>>,
}

impl Distances {
    fn of(&self, own: &Profile, other: &Profile) -> f64 {
        if own.whole == other.whole {
            return 0.0;
        }
        *self.known.borrow_mut().entry(other.whole).or_insert_with(|| apart(&own.flat, &other.flat))
    }
}

/// How many instructions one row must gain, lose or change to be the other.
fn apart(one: &[Cell], other: &[Cell]) -> f64 {
    let mut before: Vec<f64> = (0..=other.len()).map(|at| at as f64).collect();
    for (row, own) in one.iter().enumerate() {
        let mut now = vec![(row + 1) as f64];
        for (column, there) in other.iter().enumerate() {
            let turned = match own.what == there.what {
                true if own.times == there.times => before[column],
                true => before[column] + NUMBER,
                false => f64::INFINITY,
            };
            now.push(turned.min(before[column + 1] + 1.0).min(now[column] + 1.0));
        }
        before = now;
    }
    before[other.len()]
}

#[cfg(test)]
mod tests {
    use reading::{Options, Reader};

    use super::*;

    fn cells(rows: [&str; 3]) -> f64 {
        let reader = Reader::new().unwrap();
        let profile = |(index, text): (usize, &str)| {
            let reading = reader.read(&format!("Cast on 20 stitches. 1st row: {text}"), &Options::default());
            Rc::new(Profile::new(&reading.pieces[0].chain[0].candidates[0].seq, index))
        };
        let rows: Vec<Rc<Profile>> = rows.into_iter().enumerate().map(profile).collect();
        likeness(&rows) / -UNLIKE
    }

    #[test]
    fn a_row_is_held_against_the_likest_near_it() {
        let (first, second) = ("knit 3, over, narrow, knit 15", "knit 3, over, narrow, purl 15");
        assert_eq!(cells([first, second, first]), 0.0 + 2.0 + 0.0);
        assert_eq!(
            cells([first, "knit 3, over, narrow, knit 14, purl 1", first]),
            1.5,
            "a number and an instruction"
        );
        assert_eq!(cells([first, "knit 3, over, narrow, over, narrow, knit 13", first]), 2.5);
    }

    #[test]
    fn two_rows_show_no_custom() {
        assert_eq!(likeness(&[]), 0.0);
        assert!(cells(["purl 20", "knit 3, over, narrow, knit 15", "knit 2, purl 18"]) == 0.0);
    }
}
