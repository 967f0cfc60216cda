//! A row as it is worded: steps, some of them repeated, independent of the terms it will be written in.
//!
//! ```text
//! Phrase ── steps ── Step::Part(Part::Run)      k5
//!                    Step::Part(Part::Times)    (yo, k2tog) 3 times
//!                    Step::Across               *k1, (yo, k2tog) 3 times; repeat from * to last 2 sts
//!                    Step::Sweep                purl to end
//!                    Step::BindOffAll           bind off all sts
//! ```
//!
//! The types allow brackets inside a star and nothing deeper. A star or a sweep does not hold how often it is
//! worked, only what it leaves, so one phrase may stand for rows of different width, as its text does.

use loops::{Op, ROW_LIMIT};

/// One row in words-to-be.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct Phrase {
    /// What is worked, in order.
    pub steps: Vec<Step>,
    /// Stitches that a short row leaves unworked.
    pub unworked: u32,
}

/// A step at the top level of a row.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Step {
    /// A part that says itself how often it is worked.
    Part(Part),
    /// Parts repeated across the row, as often as there are stitches.
    Across {
        /// What is repeated; takes at least one stitch.
        unit: Vec<Part>,
        /// Stitches left on the left needle afterwards.
        left: u32,
    },
    /// Every stitch knitted, or every stitch purled, as far as it says.
    Sweep {
        /// Which of the two.
        verb: Verb,
        /// Stitches left on the left needle afterwards.
        left: u32,
    },
    /// Every stitch bound off.
    BindOffAll,
}

/// What a sweep does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Verb {
    /// Knit.
    Knit,
    /// Purl.
    Purl,
}

/// A part of a row or of a repeat.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Part {
    /// One operation, once or several times over.
    Run(Run),
    /// Runs in brackets.
    Times {
        /// What stands in the brackets.
        runs: Vec<Run>,
        /// How often it is worked.
        times: u32,
    },
}

/// One operation a number of times.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Run {
    /// The operation.
    pub op: Op,
    /// How often.
    pub count: u32,
}

impl Phrase {
    /// Spells the row out over `before` stitches.
    ///
    /// `None` when a star or a sweep does not come out even over that many, or when there would be more
    /// operations than [`ROW_LIMIT`].
    pub fn expand(&self, before: u32) -> Option<Vec<Op>> {
        let mut row = Spelled::default();
        for step in &self.steps {
            match step {
                Step::Part(part) => row.part(part)?,
                Step::Across { unit, left } => {
                    let mut once = Spelled::default();
                    unit.iter().try_for_each(|part| once.part(part))?;
                    let room = row.room(before, *left)?;
                    let fits = once.takes > 0 && room > 0 && room.is_multiple_of(once.takes);
                    let times = if fits { room / once.takes } else { return None };
                    (0..times).try_for_each(|_| row.extend(&once.ops))?;
                }
                Step::Sweep { verb, left } => {
                    let count = row.room(before, *left)?;
                    row.run(Run { op: verb.op(), count })?;
                }
                Step::BindOffAll => row.run(Run { op: Op::Bo, count: row.room(before, 0)? })?,
            }
        }
        Some(row.ops)
    }

    /// Every run that is written, in order.
    pub fn runs(&self) -> impl Iterator<Item = Run> {
        self.steps.iter().flat_map(|step| match step {
            Step::Part(part) => part.runs().to_vec(),
            Step::Across { unit, .. } => unit.iter().flat_map(Part::runs).copied().collect(),
            Step::Sweep { .. } | Step::BindOffAll => Vec::new(),
        })
    }
}

impl Verb {
    /// The operation that a sweep works on every stitch.
    pub fn op(self) -> Op {
        match self {
            Verb::Knit => Op::K,
            Verb::Purl => Op::P,
        }
    }
}

impl Part {
    /// The runs of this part.
    pub fn runs(&self) -> &[Run] {
        match self {
            Part::Run(run) => std::slice::from_ref(run),
            Part::Times { runs, .. } => runs,
        }
    }
}

#[derive(Default)]
struct Spelled {
    ops: Vec<Op>,
    takes: u32,
}

impl Spelled {
    fn room(&self, before: u32, left: u32) -> Option<u32> {
        before.checked_sub(self.takes)?.checked_sub(left)
    }

    fn run(&mut self, run: Run) -> Option<()> {
        let count = run.count as usize;
        if count > ROW_LIMIT - self.ops.len() {
            return None;
        }
        self.ops.extend(std::iter::repeat_n(run.op, count));
        self.takes += run.op.takes() * run.count;
        Some(())
    }

    fn part(&mut self, part: &Part) -> Option<()> {
        match part {
            Part::Run(run) => self.run(*run),
            Part::Times { runs, times } => {
                let work = runs.iter().any(|run| run.count > 0);
                let times = if work { *times } else { 0 };
                (0..times).try_for_each(|_| runs.iter().try_for_each(|run| self.run(*run)))
            }
        }
    }

    fn extend(&mut self, ops: &[Op]) -> Option<()> {
        ops.iter().try_for_each(|&op| self.run(Run { op, count: 1 }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn across(op: Op, left: u32) -> Phrase {
        let unit = vec![Part::Run(Run { op, count: 1 })];
        Phrase { steps: vec![Step::Across { unit, left }], unworked: 0 }
    }

    #[test]
    fn a_star_that_does_not_come_out_even_gives_nothing() {
        assert_eq!(across(Op::K2tog, 0).expand(4), Some(vec![Op::K2tog; 2]));
        assert_eq!(across(Op::K2tog, 0).expand(5), None);
        assert_eq!(across(Op::K2tog, 1).expand(5), Some(vec![Op::K2tog; 2]));
        assert_eq!(across(Op::K2tog, 9).expand(5), None);
        assert_eq!(across(Op::Yo, 0).expand(5), None);
    }

    #[test]
    fn numbers_beyond_all_bounds_give_nothing() {
        assert_eq!(across(Op::K, 0).expand(u32::MAX), None);
        let runs = vec![Run { op: Op::K, count: 2 }];
        let steps = vec![Step::Part(Part::Times { runs, times: u32::MAX })];
        assert_eq!(Phrase { steps, unworked: 0 }.expand(7), None);
        let idle = Part::Times { runs: vec![Run { op: Op::K, count: 0 }], times: u32::MAX };
        assert_eq!(Phrase { steps: vec![Step::Part(idle)], unworked: 0 }.expand(7), Some(vec![]));
    }
}
