//! Increases and decreases told by where they stand in the whole row, not stitch by stitch.
//!
//! "Knit, decreasing six times at equal distances" needs the number on the needle; "knit three together where three
//! were knitted together in the last round" needs the row before. Knows no words.

use loops::{Op, Stitch};
use span::Span;

use crate::rowwork::{Below, Fit};

/// Where they stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Spread {
    /// So many at even distances.
    Evenly(u32),
    /// One after so many plain stitches, so often or as long as there are stitches for it.
    After(u32, Option<u32>),
    /// Over every decrease of the row before.
    Stacked,
    /// One on either side of so many stitches in the middle.
    Beside(u32),
}

/// A row of one operation with increases or decreases spread over it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct SpreadRow {
    /// The increase or decrease.
    pub op: Op,
    /// The other stitches.
    pub ground: Op,
    /// Where it is worked.
    pub spread: Spread,
}

impl SpreadRow {
    /// How often the operation is worked, on so many stitches of which some come of decreases.
    pub fn count(self, on_needle: u32, below: u32) -> u32 {
        match self.spread {
            Spread::Evenly(times) | Spread::After(_, Some(times)) => times,
            Spread::Beside(_) => 2,
            Spread::After(plain, None) => on_needle / (plain + self.op.takes()).max(1),
            Spread::Stacked => below,
        }
    }

    /// The same over plain or over purl.
    pub fn on(self, ground: Op) -> SpreadRow {
        if self.ground == ground { self } else { self.swapped() }
    }

    /// The same with knit for purl and purl for knit.
    pub fn swapped(self) -> SpreadRow {
        SpreadRow { op: self.op.from_behind(), ground: self.ground.from_behind(), ..self }
    }

    /// The same with so many plain stitches more before each; `None` where the words do not tell how many there are.
    pub fn lengthened(self, by: i32) -> Option<SpreadRow> {
        match self.spread {
            Spread::After(plain, times) => {
                let plain = plain.checked_add_signed(by)?;
                Some(SpreadRow { spread: Spread::After(plain, times), ..self })
            }
            _ => None,
        }
    }

    /// The one way in which the row takes what is on the needle, if it can.
    pub fn fit(self, on_needle: u32, below: u32) -> Option<Fit> {
        let count = self.count(on_needle, below);
        let room = match self.spread {
            Spread::After(plain, _) => count.checked_mul(self.op.takes() + plain)?,
            // As many on one side as on the other.
            Spread::Beside(middle) if on_needle.checked_sub(middle)? % 2 == 1 => return None,
            Spread::Beside(middle) => middle.checked_add(count * self.op.takes())?,
            _ => count.checked_mul(self.op.takes())?,
        };
        let plain =
            on_needle.checked_sub(count * self.op.takes()).filter(|_| count > 0 && room <= on_needle)?;
        Some(Fit { rounds: plain, after: plain + count * self.op.makes(), ..Fit::whole() })
    }

    /// The stitches of the row.
    pub fn stitches(self, needle: &[Below], span: Span) -> Vec<Stitch> {
        let width = self.op.takes() as usize;
        let starts = match self.spread {
            Spread::Evenly(times) => evenly(needle.len(), width, times as usize),
            Spread::After(plain, _) => {
                let count = self.count(needle.len() as u32, 0) as usize;
                (0..count).map(|nth| nth * (plain as usize + width) + plain as usize).collect()
            }
            Spread::Stacked => stacked(needle, width),
            Spread::Beside(middle) => {
                let side = needle.len().saturating_sub(middle as usize) / 2;
                vec![side.saturating_sub(width), needle.len() - side]
            }
        };
        let mut out = Vec::with_capacity(needle.len());
        let mut at = 0;
        for start in starts {
            out.extend(std::iter::repeat_n(Stitch { op: self.ground, span }, start.saturating_sub(at)));
            out.push(Stitch { op: self.op, span });
            at = start + width;
        }
        out.extend(std::iter::repeat_n(Stitch { op: self.ground, span }, needle.len().saturating_sub(at)));
        out
    }
}

/// Where decreases begin that close even parts of a row, or increases stand in the middle of them; the parts differ by
/// a stitch at most.
fn evenly(stitches: usize, width: usize, times: usize) -> Vec<usize> {
    let middle = if width == 0 { stitches / (2 * times.max(1)) } else { width };
    (1..=times).map(|nth| (stitches * nth / times).saturating_sub(middle)).collect()
}

/// Where decreases begin that lie over those of the row before: one of three takes the old one as its middle stitch,
/// one of two as its last. Where the last would reach over the end of a round, the round begins so much later.
fn stacked(needle: &[Below], width: usize) -> Vec<usize> {
    let before = if width == 2 { 1 } else { width / 2 };
    let old = needle.iter().enumerate().filter(|(_, below)| below.decrease).map(|(at, _)| at);
    let starts: Vec<usize> = old.map(|at| at.saturating_sub(before)).collect();
    let over = starts.last().map_or(0, |last| (last + width).saturating_sub(needle.len()));
    let mut free = 0;
    let apart = |start: usize| {
        let start = start.saturating_sub(over).max(free);
        free = start + width;
        start
    };
    starts.into_iter().map(apart).filter(|start| start + width <= needle.len()).collect()
}
