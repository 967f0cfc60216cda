//! How much work reading has been, counted in steps that take about as long each.
//!
//! Whoever reads a text many times over can so stop at the same place on every machine, which no clock would allow. The
//! weights are measured: a step takes some fifty nanoseconds on a machine of 2025. Knows nothing of what is worked.

use std::cell::Cell;

/// Steps for an item of a chart of parses, with the ways in which it came about.
pub(crate) const ITEM: usize = 2;
/// Steps for a value that a part of a parse may have.
pub(crate) const VALUE: usize = 6;
/// Steps for a reading of a row worked on a needle.
pub const WORKED: usize = 4;
/// Steps for a stitch of a piece as it is worked.
pub(crate) const STITCH: usize = 2;
/// Loops on a needle that are turned about in one step.
pub(crate) const LOOPS: usize = 8;
/// Steps for a word of a text that is read.
pub(crate) const WORD: usize = 40;

thread_local! {
    static STEPS: Cell<u64> = const { Cell::new(0) };
}

/// The steps that this thread has taken since it began.
pub fn steps() -> u64 {
    STEPS.get()
}

/// Counts steps of work that goes on beside reading.
pub fn spend(steps: usize) {
    STEPS.set(STEPS.get().wrapping_add(steps as u64));
}

#[cfg(test)]
mod tests {
    use super::steps;
    use crate::read::{Options, Reader};

    fn taken(text: &str) -> u64 {
        let reader = Reader::new().unwrap();
        let before = steps();
        reader.read(text, &Options::default());
        steps() - before
    }

    #[test]
    fn the_same_text_takes_as_many_steps_and_a_longer_one_more() {
        let text = "Cast on 11 stitches. 1st row: knit 2, over, narrow, knit 7.\n";
        let once = taken(text);
        assert!(once > 0);
        assert_eq!(taken(text), once);
        let longer =
            format!("{text}2nd row: purl 11. 3rd row: * knit 2, over, narrow; repeat from *, knit 3.\n");
        assert!(taken(&longer) > once);
    }
}
