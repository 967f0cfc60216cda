//! Where a sequence repeats itself.
//!
//! For every place, the shortest units that stand there at least twice in a row. A unit that is itself a shorter
//! unit several times over is left out, and so are units of one operation alone (those are runs). There are
//! then only few at each place: a sequence of n has O(n log n) such squares (Crochemore 1981, from memory).
//!
//! Time is n × [`LONGEST_UNIT`] at most, which bounds a row of 20,000 operations to some hundredths of a second.

use std::ops::Range;

use loops::Op;

/// The longest unit looked for, in operations. Longer ones cost time in very long rows and would be of no help
/// to a reader; a guess, far above any repeat of a printed pattern that was seen.
pub(crate) const LONGEST_UNIT: usize = 1000;

/// A unit that stands at least twice in a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Repeat {
    /// Operations in the unit.
    pub period: usize,
    /// Operations over which the unit goes on, the last one perhaps broken off.
    pub length: usize,
}

/// The repeats that begin at each place of a row, shortest unit first.
pub(crate) struct Repeats {
    at: Vec<Vec<Repeat>>,
    /// For each place, the next one from there on where a repeat begins.
    next: Vec<usize>,
}

impl Repeats {
    /// Finds all repeats; `run[i]` is how many like operations stand from `i` on.
    pub fn of(ops: &[Op], run: &[usize]) -> Repeats {
        let ids = numbered(ops);
        let mut at: Vec<Vec<Repeat>> = vec![Vec::new(); ids.len()];
        for period in 2..=LONGEST_UNIT.min(ids.len() / 2) {
            let mut same = 0;
            for place in (0..ids.len() - period).rev() {
                same = if ids[place] == ids[place + period] { same + 1 } else { 0 };
                let is_square = same >= period;
                if is_square && run[place] < period && is_primitive(&at[place], period) {
                    at[place].push(Repeat { period, length: same + period });
                }
            }
        }
        let mut next = vec![at.len(); at.len() + 1];
        for place in (0..at.len()).rev() {
            next[place] = if at[place].is_empty() { next[place + 1] } else { place };
        }
        Repeats { at, next }
    }

    /// The repeats that begin at a place.
    pub fn at(&self, place: usize) -> &[Repeat] {
        self.at.get(place).map_or(&[], Vec::as_slice)
    }

    /// The places within a range where repeats begin.
    pub fn places(&self, within: Range<usize>) -> impl Iterator<Item = usize> {
        let next = move |place: usize| self.next.get(place).copied().filter(|&next| next < within.end);
        std::iter::successors(next(within.start), move |&place| next(place + 1))
    }

    /// Every repeat at the first place where it can begin.
    pub fn first_places(&self) -> impl Iterator<Item = (usize, Repeat)> {
        (0..self.at.len()).flat_map(move |place| {
            let earlier = place.checked_sub(1).map_or(&[][..], |earlier| self.at(earlier));
            let goes_on = move |repeat: &Repeat| earlier.iter().any(|other| other.period == repeat.period);
            self.at(place)
                .iter()
                .copied()
                .filter(move |repeat| !goes_on(repeat))
                .map(move |repeat| (place, repeat))
        })
    }
}

/// Whether a unit is no shorter unit several times over, given the shorter ones at its place.
fn is_primitive(shorter: &[Repeat], period: usize) -> bool {
    !shorter.iter().any(|other| period.is_multiple_of(other.period) && other.length >= period)
}

/// Like operations get like numbers, which are quicker to compare.
fn numbered(ops: &[Op]) -> Vec<u32> {
    let mut seen: std::collections::HashMap<Op, u32> = std::collections::HashMap::new();
    ops.iter()
        .map(|&op| {
            let next = u32::try_from(seen.len()).unwrap_or(u32::MAX);
            *seen.entry(op).or_insert(next)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_units_that_are_not_repeats_themselves_are_found() {
        let ops = [Op::K, Op::P, Op::K, Op::P, Op::K, Op::P, Op::K, Op::P, Op::K];
        let found = Repeats::of(&ops, &[1; 9]);
        assert_eq!(found.at(0), [Repeat { period: 2, length: 9 }]);
        assert_eq!(found.at(6), []);
        assert_eq!(found.first_places().collect::<Vec<_>>(), [(0, Repeat { period: 2, length: 9 })]);
    }

    #[test]
    fn a_unit_may_hold_a_repeat() {
        let once = [Op::Yo, Op::K2tog, Op::Yo, Op::K2tog, Op::P];
        let found = Repeats::of(&once.repeat(2), &[1; 10]);
        assert_eq!(found.at(0), [Repeat { period: 2, length: 4 }, Repeat { period: 5, length: 10 }]);
    }
}
