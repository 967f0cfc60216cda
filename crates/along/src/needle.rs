//! The loops on the needles, row by row.
//!
//! ```text
//!   left needle            right needle
//!   tip ▸ 0 1 2 3 …        … 3 2 1 0 ◂ tip
//! ```
//!
//! Follows short rows, holders and slipped stitches, so that each loop knows which operation made it and on which side.
//! Loops that wait behind a turn are on the right needle, at its far end. Where a row asks for more than the left
//! needle holds, the yarn is joined anew there: those that wait are slid over and worked, the far end first.
//! Knows nothing of words. Counts agree with [`loops::work`] wherever that finds no fault.

use std::collections::VecDeque;

use loops::{Face, Op, Side, Stitch, Worked};

/// A loop on a needle: what made it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Loop {
    /// The operation that made it.
    pub op: Op,
    /// Which loop of that operation it is, from 0.
    pub index: u32,
    /// The side that faced when it was made.
    pub side: Side,
}

impl Loop {
    /// The face that whoever has `side` before them sees.
    pub fn face(self, side: Side) -> Face {
        match self.op.loop_face(self.index) {
            Face::Plain if side != self.side => Face::Purl,
            Face::Purl if side != self.side => Face::Plain,
            face => face,
        }
    }
}

/// Whether loop `index` of an operation opens a hole: a yarn over, or the one in the middle of a cluster.
pub(crate) fn makes_hole(op: Op, index: u32) -> bool {
    match op {
        Op::Yo | Op::Yo2 | Op::Yo3 => true,
        Op::Kyok => index == 1,
        _ => false,
    }
}

/// Both needles and the holder.
#[derive(Clone, Debug)]
pub(crate) struct Needles {
    /// From the tip on.
    pub left: VecDeque<Loop>,
    /// From the far end to the tip.
    pub right: VecDeque<Loop>,
    /// In the order in which they were put there.
    pub holder: VecDeque<Loop>,
    /// Loops of earlier rows at the far end of the right needle.
    waiting: usize,
    worked: Worked,
}

impl Needles {
    /// The needles after casting on.
    pub fn cast_on(count: u32, first: Side, worked: Worked) -> Needles {
        let made = Loop { op: Op::Co, index: 0, side: first };
        let left = (0..count).map(|_| made).collect();
        Needles { left, right: VecDeque::new(), holder: VecDeque::new(), waiting: 0, worked }
    }

    /// Loops on both needles.
    pub fn count(&self) -> usize {
        self.left.len() + self.right.len()
    }

    /// Works a row and makes ready for the next one.
    pub fn work_row(&mut self, ops: &[Stitch], side: Side) {
        self.waiting = self.right.len();
        for stitch in ops {
            self.work(stitch.op, side);
        }
        if ops.last().is_some_and(|stitch| stitch.op == Op::Turn) {
            return;
        }
        // What is left on the left needle is lost, as `loops::work` has it.
        self.left = std::mem::take(&mut self.right);
        if self.worked == Worked::Flat {
            self.left.make_contiguous().reverse();
        }
    }

    /// Works one operation; a loop that is missing is made up.
    pub fn work(&mut self, op: Op, side: Side) {
        let made_up = Loop { op: Op::K, index: 0, side };
        match op {
            Op::Turn => self.turn(),
            Op::Hold => {
                let held = self.take();
                self.holder.extend(held);
            }
            Op::Take => {
                self.holder.pop_front();
                self.right.push_back(Loop { op, index: 0, side });
            }
            _ if op.is_slip() => {
                let slipped = self.take().unwrap_or(made_up);
                self.right.push_back(slipped);
            }
            _ => {
                for _ in 0..op.takes() {
                    self.take();
                }
                self.right.extend((0..op.makes()).map(|index| Loop { op, index, side }));
            }
        }
    }

    /// Takes the next loop of an earlier row.
    fn take(&mut self) -> Option<Loop> {
        if self.left.is_empty() {
            self.waiting = self.waiting.checked_sub(1)?;
            return self.right.pop_front();
        }
        self.left.pop_front()
    }

    /// Turns the work: what was on the right needle is on the left one, the last worked loop first.
    fn turn(&mut self) {
        std::mem::swap(&mut self.left, &mut self.right);
        self.left.make_contiguous().reverse();
        self.right.make_contiguous().reverse();
    }
}

#[cfg(test)]
mod tests {
    use loops::parse_tokens;

    use super::*;

    #[test]
    fn short_rows_come_back_in_order() {
        let mut needles = Needles::cast_on(6, Side::Right, Worked::Flat);
        let row = |tokens: &str| parse_tokens(tokens).expect("known tokens");
        needles.work_row(&row("k*2 yo k turn"), Side::Right);
        assert_eq!((needles.left.len(), needles.right.len()), (4, 3));
        assert_eq!(needles.left[1].op, Op::Yo);
        needles.work_row(&row("p*4 turn"), Side::Wrong);
        assert_eq!((needles.left.len(), needles.right.len()), (7, 0));
        assert_eq!(needles.left[0].face(Side::Right), Face::Plain);
        assert_eq!(needles.left[0].face(Side::Wrong), Face::Purl);
        assert_eq!(needles.left[6].op, Op::Co);
    }
    /// A shoulder is worked and bound off before the other, which waits.
    #[test]
    fn the_yarn_is_joined_anew_to_loops_that_wait() {
        let mut needles = Needles::cast_on(10, Side::Right, Worked::Flat);
        let row = |tokens: &str| parse_tokens(tokens).expect("known tokens");
        needles.work_row(&row("k*4 turn"), Side::Right);
        needles.work_row(&row("p*4 turn"), Side::Wrong);
        needles.work_row(&row("bo*4 turn"), Side::Right);
        assert_eq!((needles.left.len(), needles.right.len()), (0, 6));
        needles.work_row(&row("p2tog p*4"), Side::Wrong);
        assert_eq!((needles.left.len(), needles.right.len()), (5, 0));
        assert_eq!(needles.left[4].op, Op::P2tog);
        needles.work_row(&row("k*5"), Side::Right);
        assert_eq!(needles.count(), 5);
    }
}
