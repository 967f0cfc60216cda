//! Yarn overs wound twice, and how the row after works their two loops.
//!
//! One of the two is knitted and the other purled, or both would be one long stitch. Where words were dropped or a
//! number is wrong in the row after, its purled stitches stand elsewhere. Looks at worked rows alone; knows no
//! corrections.

use loops::{Op, Stitch};
use reading::Below;

use crate::rows::Standing;

/// Nats against a double over whose loops are both worked alike, where other rows work them one so and one so. Guess.
const ALIKE: f64 = 1.6;
/// The most that are counted.
const MOST: usize = 3;

/// Nats against the double overs below some rows whose loops are worked alike.
pub fn cost(rows: &[Standing<'_>]) -> f64 {
    let all = rows.iter().map(|(ops, needle)| pairs(ops, needle));
    let (parted, alike) = all.fold((0, 0), |(parted, alike), (both, same)| (parted + both, alike + same));
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
    use crate::rows::standing;

    fn nats(second: &str, fourth: &str) -> f64 {
        let text = format!(
            "Cast on 12 stitches. 1st row: knit 4, narrow, over twice, narrow, knit 4. 2nd row: {second}. \
             3rd row: knit 2, narrow, over twice, narrow, narrow, over twice, narrow, knit 2. 4th row: {fourth}."
        );
        let reading = Reader::new().unwrap().read(&text, &Options::default());
        cost(&standing(&reading.pieces[0]))
    }

    #[test]
    fn loops_worked_alike_are_odd_where_others_are_not() {
        let second = "knit 6, purl 1, knit 5";
        assert_eq!(nats(second, "knit 4, purl 1, knit 3, purl 1, knit 3"), 0.0);
        assert_eq!(nats(second, "knit 4, purl 1, knit 4, purl 1, knit 2"), ALIKE);
        assert_eq!(nats("knit 12", "knit 4, purl 1, knit 7"), 0.0, "as many so as so");
    }
}
