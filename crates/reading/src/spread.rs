//! Increases and decreases told by where they stand in the whole row, not stitch by stitch.
//!
//! "Knit, decreasing six times at equal distances" needs the number on the needle; "knit three together where three
//! were knitted together in the last round" needs the row before; "on each side of the seam stitch" needs to see it.
//! Knows no words.

use std::rc::Rc;

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
    /// One on either side of the seam stitch: the purled one at the beginning, at the end or in the middle.
    Seam,
    /// The seam stitch itself.
    OnSeam,
    /// So many in the middle.
    Middle(u32),
    /// So many after the first stitches, of which there are so many.
    FromBegin(u32, u32),
    /// So many before the last stitches, of which there are so many.
    FromEnd(u32, u32),
}

/// Increases or decreases of one sort.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Act {
    /// The increase or decrease.
    pub op: Op,
    /// Where it is worked.
    pub spread: Spread,
}

/// A row of one operation with increases or decreases spread over it.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct SpreadRow {
    /// The increases and decreases.
    pub acts: Rc<[Act]>,
    /// The other stitches.
    pub ground: Op,
}

impl Act {
    /// How often the operation is worked, on so many stitches of which some come of decreases.
    fn count(self, on_needle: u32, below: u32) -> u32 {
        match self.spread {
            Spread::Evenly(times) | Spread::After(_, Some(times)) => times,
            Spread::Beside(_) | Spread::Seam => 2,
            Spread::After(plain, None) => on_needle / (plain + self.op.takes()).max(1),
            Spread::Stacked => below,
            Spread::OnSeam => 1,
            Spread::Middle(times) | Spread::FromBegin(times, _) | Spread::FromEnd(times, _) => times,
        }
    }

    /// The stitches that it needs, itself and those that are told beside it; `None` where they are not even.
    fn room(self, on_needle: u32, below: u32) -> Option<u32> {
        let own = self.count(on_needle, below).checked_mul(self.op.takes())?;
        match self.spread {
            Spread::After(plain, _) => {
                self.count(on_needle, below).checked_mul(self.op.takes().checked_add(plain)?)
            }
            // As many on one side as on the other.
            Spread::Beside(middle) if on_needle.checked_sub(middle)? % 2 == 1 => None,
            Spread::Beside(plain) | Spread::FromBegin(_, plain) | Spread::FromEnd(_, plain) => {
                own.checked_add(plain)
            }
            Spread::Seam => own.checked_add(1),
            _ => Some(own),
        }
    }

    /// Where in the row each begins.
    fn starts(self, needle: &[Below]) -> Vec<usize> {
        let (len, width) = (needle.len(), self.op.takes() as usize);
        let in_line = |from: usize, times: u32| (0..times as usize).map(|nth| from + nth * width).collect();
        let around = |first: usize, after: usize| vec![first.saturating_sub(width), after];
        match self.spread {
            Spread::Evenly(times) => evenly(len, width, times as usize),
            Spread::After(plain, _) => {
                let count = self.count(len as u32, 0) as usize;
                (0..count).map(|nth| nth * (plain as usize + width) + plain as usize).collect()
            }
            Spread::Stacked => stacked(needle, width),
            Spread::Beside(middle) => {
                let side = len.saturating_sub(middle as usize) / 2;
                around(side, len - side)
            }
            Spread::Seam => match seam(needle) {
                0 => vec![1, len.saturating_sub(width)],
                last if last + 1 == len => vec![0, last.saturating_sub(width)],
                at => around(at, at + 1),
            },
            Spread::OnSeam => vec![seam(needle)],
            Spread::Middle(times) => in_line(len.saturating_sub(width * times as usize) / 2, times),
            Spread::FromBegin(times, plain) => in_line(plain as usize, times),
            Spread::FromEnd(times, plain) => {
                in_line(len.saturating_sub(plain as usize + width * times as usize), times)
            }
        }
    }
}

impl SpreadRow {
    /// The second of two rows that differ in how many plain stitches lie between, so many further steps on.
    pub fn stepped(first: &SpreadRow, second: &SpreadRow, steps: u32) -> Option<SpreadRow> {
        let onward = |(one, two): (&Act, &Act)| match (one.spread, two.spread) {
            (Spread::After(before, _), Spread::After(after, times)) if one.op == two.op => {
                let step = (i64::from(after) - i64::from(before)) * i64::from(steps);
                let plain = u32::try_from(i64::from(after) + step).ok()?;
                Some(Act { spread: Spread::After(plain, times), ..*two })
            }
            _ => (one == two).then_some(*two),
        };
        let alike = first.ground == second.ground && first.acts.len() == second.acts.len();
        let acts = first.acts.iter().zip(&*second.acts).map(onward).collect::<Option<Rc<[Act]>>>()?;
        alike.then_some(SpreadRow { acts, ground: second.ground })
    }

    /// How many stitches after it come of decreases, on so many of which some do.
    pub fn decreases(&self, on_needle: u32, below: u32) -> u32 {
        self.acts.iter().map(|act| act.count(on_needle, below)).fold(0, u32::saturating_add)
    }

    /// The same over plain or over purl.
    pub fn on(&self, ground: Op) -> SpreadRow {
        if self.ground == ground { self.clone() } else { self.swapped() }
    }

    /// The same with knit for purl and purl for knit.
    pub fn swapped(&self) -> SpreadRow {
        let acts = self.acts.iter().map(|act| Act { op: act.op.from_behind(), ..*act });
        SpreadRow { acts: acts.collect(), ground: self.ground.from_behind() }
    }

    /// The same with so many plain stitches more before each; `None` where the words do not tell how many there are.
    pub fn lengthened(&self, by: i32) -> Option<SpreadRow> {
        let longer = |act: &Act| match act.spread {
            Spread::After(plain, times) => {
                Some(Act { spread: Spread::After(plain.checked_add_signed(by)?, times), ..*act })
            }
            _ => None,
        };
        Some(SpreadRow { acts: self.acts.iter().map(longer).collect::<Option<_>>()?, ..*self })
    }

    /// The one way in which the row takes what is on the needle, if it can.
    pub fn fit(&self, on_needle: u32, below: u32) -> Option<Fit> {
        let (mut room, mut takes, mut makes) = (0u32, 0, 0);
        for act in self.acts.iter() {
            let count = Some(act.count(on_needle, below)).filter(|count| *count > 0)?;
            room = room.checked_add(act.room(on_needle, below)?)?;
            takes = count.checked_mul(act.op.takes())?.checked_add(takes)?;
            makes = count.checked_mul(act.op.makes())?.checked_add(makes)?;
        }
        let plain = on_needle.checked_sub(takes).filter(|_| room <= on_needle)?;
        Some(Fit { rounds: plain, after: plain + makes, ..Fit::whole() })
    }

    /// The stitches of the row.
    pub fn stitches(&self, needle: &[Below], span: Span) -> Vec<Stitch> {
        let mut starts: Vec<(usize, Op)> = Vec::new();
        for act in self.acts.iter() {
            starts.extend(act.starts(needle).into_iter().map(|start| (start, act.op)));
        }
        starts.sort_by_key(|(start, _)| *start);
        let seam = self.acts.iter().any(|act| act.spread == Spread::Seam).then(|| seam(needle));
        let plain = |at: usize| {
            let op = if seam == Some(at) {
                needle.get(at).map_or(self.ground, |below| below.shown())
            } else {
                self.ground
            };
            Stitch { op, span }
        };
        let mut out = Vec::with_capacity(needle.len());
        let mut at = 0;
        for (start, op) in starts {
            out.extend((at..start.min(needle.len())).map(plain));
            out.push(Stitch { op, span });
            at = at.max(start) + op.takes() as usize;
        }
        out.extend((at..needle.len()).map(plain));
        out
    }
}

/// Where the seam stitch is: alone of its face at the beginning or at the end, or else in the middle.
fn seam(needle: &[Below]) -> usize {
    let alone = |one: usize, other: usize| matches!((needle.get(one), needle.get(other)), (Some(one), Some(other)) if one.face != other.face);
    let last = needle.len().saturating_sub(1);
    match last {
        _ if alone(0, 1) => 0,
        _ if alone(last, last.saturating_sub(1)) => last,
        _ => last / 2,
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
