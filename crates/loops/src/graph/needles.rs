//! The loops on the needles, in order.
//!
//! One ring holds them all. The worker takes loops from one end of the list and puts new ones to the other;
//! turning swaps the ends. In flat work the ring has a seam, the edge of the cloth; loops beyond it are behind
//! the worker and out of reach until she turns again.
//!
//! ```text
//! a row takes 0 1 and turns:       ring  2 3 | A B      next: B A, then 2 3 are out of reach
//! the row after works A B back:    ring  D C 2 3        next: D C 2 3
//! ```

use std::collections::VecDeque;

use super::StitchId;
use crate::program::{Side, Worked};

/// The loops on the needles.
pub(super) struct Needles {
    ring: VecDeque<StitchId>,
    worked: Worked,
    side: Side,
    /// Whether loops are taken from the front of the ring.
    forward: bool,
    /// Loops of earlier rows that this row has not taken.
    untaken: usize,
    /// How many of those lie before the edge.
    near: usize,
}

impl Needles {
    /// Empty needles with `side` facing.
    pub(super) fn new(worked: Worked, side: Side) -> Needles {
        Needles { ring: VecDeque::new(), worked, side, forward: true, untaken: 0, near: 0 }
    }

    /// Gets ready for a row with `side` facing: turns when it is not the side that faced before. The same side
    /// again means in flat work that the worker goes on where she stopped, or slides the stitches back to begin
    /// at the edge where the row before began.
    pub(super) fn begin_row(&mut self, side: Side) {
        let turned = side != self.side;
        let unworked = self.near;
        self.side = side;
        self.forward ^= turned;
        self.untaken = self.ring.len();
        self.near = match self.worked {
            Worked::Round => self.ring.len(),
            Worked::Flat if turned => self.ring.len() - unworked,
            Worked::Flat if unworked == 0 => self.ring.len(),
            Worked::Flat => unworked,
        };
    }

    /// Takes the next loop of an earlier row, and whether it was within reach.
    pub(super) fn take(&mut self) -> Option<(StitchId, bool)> {
        self.untaken = self.untaken.checked_sub(1)?;
        let within_reach = self.near > 0;
        self.near = self.near.saturating_sub(1);
        let id = if self.forward { self.ring.pop_front() } else { self.ring.pop_back() };
        id.map(|id| (id, within_reach))
    }

    /// Puts a new loop on the right needle.
    pub(super) fn put(&mut self, id: StitchId) {
        if self.forward {
            self.ring.push_back(id);
        } else {
            self.ring.push_front(id);
        }
    }

    /// Moves what is left of a row to the right needle as it is.
    pub(super) fn pass_over(&mut self) {
        for _ in 0..self.near {
            let Some((id, _)) = self.take() else { break };
            self.put(id);
        }
    }

    /// The number of loops on all needles.
    pub(super) fn count(&self) -> usize {
        self.ring.len()
    }

    /// All loops in the order in which a next row would meet them: turned in flat work, going on in the round.
    pub(super) fn into_next_order(self) -> Vec<StitchId> {
        let mut ring = Vec::from(self.ring);
        let next_forward = self.forward != (self.worked == Worked::Flat);
        if !next_forward {
            ring.reverse();
        }
        ring
    }
}
