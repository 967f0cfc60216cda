//! Casting on, and rounds that are told needle by needle.
//!
//! How many stitches each needle holds is known as far as the casting on tells it. Knows no words.

use span::Span;

use super::super::PlannedRow;
use super::super::told::by_needle;
use super::Draft;
use crate::ast::{CastOn, Content};
use crate::needles::{MOST, Shares};
use crate::rowset::{RowSet, Which};

/// How many needles hold a round beside the one that knits. Common practice, no published source.
const HOLDING: u32 = 3;

impl Draft {
    pub(super) fn cast_on(&mut self, cast_on: &CastOn, span: Span) {
        if self.plan.cast_on.says_how_many() && !cast_on.says_how_many() {
            return;
        }
        self.plan.round |= cast_on.round;
        let told_before = self.plan.cast_on.count.filter(|_| cast_on.only_numbers);
        self.plan.cast_on = CastOn { count: cast_on.count.or(told_before), ..cast_on.clone() };
        // "Cast on twelve stitches, four on each needle"; where no total is told, three needles hold the work.
        if let [each] = cast_on.needles.as_slice() {
            let all = self.given.or(self.plan.cast_on.count);
            let needles = match all {
                Some(all) => all.checked_div(*each).filter(|_| all.is_multiple_of(*each)),
                None => Some(HOLDING).filter(|_| cast_on.each_alike),
            };
            if let Some(needles) = needles.filter(|needles| (2..=MOST as u32).contains(needles)) {
                self.plan.cast_on.needles = vec![*each; needles as usize];
            }
        }
        self.plan.cast_on_span = Some(span);
    }

    /// How many stitches each needle holds, as far as the casting on tells it.
    pub(super) fn told_shares(&self) -> Shares {
        let cast_on = &self.plan.cast_on;
        let among = |needles: u32, count: u32| {
            (needles as usize <= MOST && count > 0).then(|| vec![count; needles as usize])
        };
        let each = cast_on.per_needle.zip(cast_on.count).and_then(|(needles, count)| among(needles, count));
        let divided = cast_on.divided.filter(|needles| *needles > 0).zip(cast_on.count);
        let divided = divided
            .filter(|(needles, count)| count.is_multiple_of(*needles))
            .and_then(|(needles, count)| among(needles, count / needles));
        // "Seventeen on each of the side needles and twenty-four on the front needle."
        let about = match (cast_on.needles.as_slice(), self.given.or(cast_on.count)) {
            ([side, front], Some(all)) if 2 * side + front == all => Some(vec![*side, *front, *side]),
            _ => None,
        };
        let divided = about.or(divided);
        Shares::of(&each.or(divided).unwrap_or_else(|| cast_on.needles.clone())).unwrap_or_default()
    }

    /// The stitches on all needles, where rounds are told for one.
    pub(super) fn in_all(&self, count: u32) -> u32 {
        let needles = self.told_shares().counts().count() as u32;
        if self.one_needle && needles > 0 { count.saturating_mul(needles) } else { count }
    }

    /// Whether the work hangs on several needles, so that a needle is a part of a round.
    pub(super) fn has_several_needles(&self) -> bool {
        let cast_on = &self.plan.cast_on;
        self.plan.round || cast_on.per_needle.is_some() || cast_on.needles.len() > 1
    }

    /// A part of a round told under the name of its needle; false if it is none.
    pub(super) fn needle_part(&mut self, rows: &RowSet, content: &Content, span: Span) -> bool {
        let number = match &rows.which {
            Which::Numbers(numbers) if rows.needle && self.has_several_needles() => {
                match numbers.as_slice() {
                    [number] => number,
                    _ => return false,
                }
            }
            Which::NextNeedle => &(self.parts.len() as u32 + 1),
            _ => return false,
        };
        if *number as usize != self.parts.len() + 1 {
            self.flush_parts();
        }
        let Some(readings) = self.readings(content).filter(|_| *number as usize == self.parts.len() + 1)
        else {
            return false;
        };
        self.parts.push((readings, span));
        true
    }

    pub(super) fn flush_parts(&mut self) {
        let parts = std::mem::take(&mut self.parts);
        let span = parts.iter().fold(Span::DETACHED, |all, (_, span)| all.to(*span));
        if let Some(readings) = by_needle(&parts) {
            self.append(readings, span, false);
        }
    }
}

/// Whether it is a round told needle by needle.
pub(super) fn is_told_by_needle(row: &PlannedRow) -> bool {
    row.readings.first().is_some_and(|(_, seq)| seq.by_needle().is_some())
}
