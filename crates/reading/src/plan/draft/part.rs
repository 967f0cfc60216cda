//! So many of the stitches on the needle worked by themselves, and those that were left as they were.
//!
//! "On these sixteen stitches knit four rows, and bind off. Join the yarn at the neck, and work the other shoulder in
//! the same way." Knows no words.

use std::rc::Rc;

use loops::Op;
use span::Span;

use super::super::Readings;
use super::super::told::whole_row;
use super::Draft;
use crate::ast::{Item, Seq, Until, Work};

/// The last part that was worked by itself.
pub(super) struct Part {
    pub(super) op: Op,
    pub(super) stitches: u32,
    pub(super) rows: u32,
    /// Whether the first stitch of each row is slipped.
    pub(super) slips: bool,
    pub(super) bound_off: bool,
}

impl Part {
    /// A row over its stitches alone; the work is turned after them.
    fn row(&self, op: Op, span: Span) -> Option<Readings> {
        let work =
            |op, times| Item::Work(Work { ops: Rc::from([op]), times, span, number: None, sense: None });
        let slipped = u32::from(self.slips && op != Op::Bo);
        let first = (slipped > 0).then(|| work(Op::Slp, slipped));
        let rest = [work(op, self.stitches.checked_sub(slipped)?), work(Op::Turn, 1)];
        let seq = Seq::of(first.into_iter().chain(rest))?;
        Some(Rc::new(vec![(0.0, seq)]))
    }

    /// A row like its own over all that is left.
    fn row_of_all(&self, span: Span) -> Option<Readings> {
        if !self.slips {
            return Some(whole_row(self.op, span));
        }
        let slipped = Work { ops: Rc::from([Op::Slp]), times: 1, span, number: None, sense: None };
        let rest = Item::Rest { op: self.op, until: Until::End, span };
        Some(Rc::new(vec![(0.0, Seq::of([Item::Work(slipped), rest])?)]))
    }
}

impl Draft {
    /// So many rows over so many stitches.
    pub(super) fn part(&mut self, part: Part, span: Span) {
        self.flush_loose();
        self.fill_gaps();
        for _ in 0..part.rows {
            if let Some(readings) = part.row(part.op, span) {
                self.append(readings, span, true);
            }
        }
        self.part = Some(part);
    }

    /// Binds off the stitches of the part that was worked last; false if none was.
    pub(super) fn binds_part_off(&mut self, span: Span) -> bool {
        let Some(part) = self.part.as_mut().filter(|part| !part.bound_off) else { return false };
        part.bound_off = true;
        let readings = part.row(Op::Bo, span);
        readings.into_iter().for_each(|readings| self.append(readings, span, true));
        true
    }

    /// The stitches that were left by the last part are worked like it.
    pub(super) fn other_part(&mut self, span: Span) {
        let Some(part) = self.part.take() else { return };
        for _ in 0..part.rows {
            if let Some(readings) = part.row_of_all(span) {
                self.append(readings, span, true);
            }
        }
        if part.bound_off {
            self.append(whole_row(Op::Bo, span), span, true);
        }
    }
}
