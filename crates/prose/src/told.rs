//! What a text says of its rows, with the place of every word that could be misprinted, and what comes of it.
//!
//! ```text
//! Telling ── parts ── Part::Work(Said)      "knit 3"
//!                     Part::Group           "* …; repeat from *", "(…) twice"
//!                     Part::Sweep           "purl to the end"
//! ```
//!
//! [`outcome`] counts a row without spelling it out, so that a change of one word can be weighed at once.

use std::collections::BTreeSet;

use loops::Op;
use span::Span;

/// One instruction as printed.
#[derive(Clone, Debug, PartialEq)]
pub struct Said {
    /// The operation.
    pub op: Op,
    /// How often; where casting off leaves a loop that the words do not count, one more than they say.
    pub count: u32,
    /// The words.
    pub span: Span,
    /// The word that tells how often.
    pub number: Option<Span>,
    /// The word that tells how many are worked together.
    pub together: Option<Span>,
}

/// How often a group is worked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Times {
    /// So often in all.
    All(u32),
    /// As often as there is room, but for some stitches.
    Across {
        /// Stitches left.
        left: u32,
    },
}

/// A part of a row as printed.
#[derive(Clone, Debug, PartialEq)]
pub enum Part {
    /// One instruction.
    Work(Said),
    /// Parts that are repeated.
    Group {
        /// What is repeated.
        parts: Vec<Part>,
        /// How often.
        times: Times,
        /// All its words.
        span: Span,
        /// The mark where the repeat begins, if one is printed.
        mark: Option<Span>,
        /// The word that tells how often, or how many are left.
        number: Option<Span>,
        /// The number that stands there.
        printed: u32,
    },
    /// One operation as far as it says.
    Sweep {
        /// The operation.
        op: Op,
        /// Stitches left.
        left: u32,
        /// The words.
        span: Span,
        /// The word that tells how many are left.
        number: Option<Span>,
    },
}

/// One place of the text that tells one or more rows.
#[derive(Clone, Debug, PartialEq)]
pub struct Telling {
    /// The rows, by their place in the piece.
    pub rows: Vec<usize>,
    /// The words, with the name of the row.
    pub span: Span,
    /// The words behind the name, without the full stop.
    pub body: Span,
    /// What they say.
    pub parts: Vec<Part>,
    /// The row that these are said to be like, and the word that names it.
    pub like: Option<(usize, Span)>,
    /// The idioms used.
    pub idioms: BTreeSet<String>,
}

/// Loops taken and made by a stretch, with what it needs to know of the row.
#[derive(Clone, Copy, Default)]
struct Sum {
    takes: u32,
    makes: u32,
    turns: bool,
}

/// Stitches after a row that is worked as printed over `before` stitches; `None` where it does not come out.
pub fn outcome(parts: &[Part], before: u32) -> Option<u32> {
    let mut sum = Sum::default();
    add(parts, before, &mut sum)?;
    if sum.turns {
        before.checked_sub(sum.takes)?.checked_add(sum.makes)
    } else {
        (sum.takes == before).then_some(sum.makes)
    }
}

fn add(parts: &[Part], before: u32, sum: &mut Sum) -> Option<()> {
    for part in parts {
        let (takes, makes) = match part {
            Part::Work(said) => {
                sum.turns |= said.op == Op::Turn;
                (said.op.takes() * said.count, said.op.makes() * said.count)
            }
            Part::Group { parts, times, .. } => {
                let mut once = Sum::default();
                add(parts, before, &mut once)?;
                let times = match *times {
                    Times::All(times) => times,
                    Times::Across { left } => {
                        let room = before.checked_sub(sum.takes)?.checked_sub(left)?;
                        let fits = once.takes > 0 && room > 0 && room.is_multiple_of(once.takes);
                        if fits { room / once.takes } else { return None }
                    }
                };
                (once.takes * times, once.makes * times)
            }
            Part::Sweep { op, left, .. } => {
                let room = before.checked_sub(sum.takes)?.checked_sub(*left)?;
                (room * op.takes(), room * op.makes())
            }
        };
        sum.takes += takes;
        sum.makes += makes;
    }
    Some(())
}

/// Every instruction of a row, in order.
pub fn said(parts: &[Part]) -> Vec<&Said> {
    parts
        .iter()
        .flat_map(|part| match part {
            Part::Work(said) => vec![said],
            Part::Group { parts, .. } => said(parts),
            Part::Sweep { .. } => Vec::new(),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn work(op: Op, count: u32) -> Part {
        Part::Work(Said { op, count, span: Span::DETACHED, number: None, together: None })
    }

    fn group(parts: Vec<Part>, times: Times) -> Part {
        Part::Group { parts, times, span: Span::DETACHED, mark: None, number: None, printed: 0 }
    }

    #[test]
    fn rows_are_counted_as_they_are_worked() {
        let lace = group(vec![work(Op::Yo, 1), work(Op::K2tog, 1)], Times::Across { left: 1 });
        assert_eq!(outcome(&[work(Op::K, 2), lace.clone(), work(Op::K, 1)], 9), Some(9));
        assert_eq!(outcome(&[work(Op::K, 1), lace, work(Op::K, 1)], 9), None);
        let narrow = group(vec![work(Op::K, 2), work(Op::K2tog, 1)], Times::All(3));
        assert_eq!(outcome(std::slice::from_ref(&narrow), 12), Some(9));
        assert_eq!(outcome(&[narrow, work(Op::Turn, 1)], 20), Some(17));
        let rest = Part::Sweep { op: Op::Bo, left: 4, span: Span::DETACHED, number: None };
        assert_eq!(outcome(&[rest, work(Op::K, 4)], 10), Some(4));
    }
}
