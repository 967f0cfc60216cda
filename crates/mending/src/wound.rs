//! Yarn overs wound twice, and how the row after works their two loops.
//!
//! One of the two is knitted and the other purled, or both would be one long stitch. Where words were dropped or a
//! number is wrong in the row after, its purled stitches stand elsewhere. Looks at worked rows alone; knows no
//! corrections.

use std::collections::HashSet;
use std::rc::Rc;

use loops::{Op, Stitch};
use reading::{Below, PieceReading, needle_after};

use crate::rows::is_flat;

/// Nats against a double over whose loops are both worked alike, where other rows work them one so and one so. Guess.
const ALIKE: f64 = 1.6;
/// The most that are counted.
const MOST: usize = 3;

/// Nats against the double overs of a piece whose loops are worked alike.
pub fn cost(piece: &PieceReading) -> f64 {
    let flat = is_flat(piece);
    let mut needle: Vec<Below> = Vec::new();
    let mut seen = HashSet::new();
    let (mut parted, mut alike) = (0, 0);
    let mut before = std::ptr::null();
    for (worked, planned) in piece.worked.rows.iter().zip(&piece.plan.rows) {
        let words = Rc::as_ptr(&planned.readings).cast::<()>();
        if needle.iter().any(|below| below.wound) && seen.insert((before, words)) {
            let (both, same) = pairs(&worked.ops, &needle);
            parted += both;
            alike += same;
        }
        needle = needle_after(&worked.ops, &needle, flat);
        before = words;
    }
    if parted > alike { ALIKE * alike.min(MOST) as f64 } else { 0.0 }
}

/// How many double overs have one loop knitted and the other purled, and how many both alike.
fn pairs(ops: &[Stitch], needle: &[Below]) -> (usize, usize) {
    let (mut parted, mut alike) = (0, 0);
    let mut taken = 0;
    let mut first: Option<Op> = None;
    for stitch in ops {
        let below = needle.get(taken).copied().unwrap_or(Below::CAST_ON);
        let single = matches!(stitch.op, Op::K | Op::P);
        match first.take().filter(|_| below.wound && single) {
            Some(op) if op == stitch.op => alike += 1,
            Some(_) => parted += 1,
            None => {}
        }
        first = (below.wound_first && single).then_some(stitch.op);
        taken += stitch.op.takes() as usize;
    }
    (parted, alike)
}

#[cfg(test)]
mod tests {
    use reading::{Options, Reader};

    use super::*;

    fn nats(second: &str, fourth: &str) -> f64 {
        let text = format!(
            "Cast on 12 stitches. 1st row: knit 4, narrow, over twice, narrow, knit 4. 2nd row: {second}. \
             3rd row: knit 2, narrow, over twice, narrow, narrow, over twice, narrow, knit 2. 4th row: {fourth}."
        );
        cost(&Reader::new().unwrap().read(&text, &Options::default()).pieces[0])
    }

    #[test]
    fn loops_worked_alike_are_odd_where_others_are_not() {
        let second = "knit 6, purl 1, knit 5";
        assert_eq!(nats(second, "knit 4, purl 1, knit 3, purl 1, knit 3"), 0.0);
        assert_eq!(nats(second, "knit 4, purl 1, knit 4, purl 1, knit 2"), ALIKE);
        assert_eq!(nats("knit 12", "knit 4, purl 1, knit 7"), 0.0, "as many so as so");
    }
}
