//! Rounds told needle by needle.
//!
//! A round on several needles may be told part by part, one for each needle, or once for all of them. How many
//! stitches each needle holds is told when they are cast on, or found from the parts: the usual ways of sharing them
//! are tried. Knows no words.

use crate::ast::{Overs, Seq};
use crate::effort;
use crate::rowwork::{Fit, fits};

/// The most needles that hold the stitches of a round.
pub const MOST: usize = 5;

/// Nats against stitches shared equally, where the text does not say how.
const EQUAL: f64 = 0.4;
/// Nats against needles that come in another order than the one in which their stitches are told.
const OTHER_ORDER: f64 = 0.3;
/// Nats against a needle that would lose another part of its stitches than its neighbour.
const UNEVEN: f64 = 0.6;
/// Nats against one needle that holds half of them.
const HALF: f64 = 0.5;

/// The stitches on each needle; none where it is not known.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Shares {
    len: u8,
    of: [u16; MOST],
}

impl Shares {
    /// These stitches on so many needles; `None` if there are too many needles or stitches.
    pub fn of(counts: &[u32]) -> Option<Shares> {
        let mut shares = Shares { len: u8::try_from(counts.len()).ok()?, of: [0; MOST] };
        for (at, count) in counts.iter().enumerate() {
            *shares.of.get_mut(at)? = u16::try_from(*count).ok()?;
        }
        Some(shares)
    }

    /// Whether it is known how the stitches are shared.
    pub fn are_known(self) -> bool {
        self.len > 0
    }

    /// The stitches on each needle.
    pub fn counts(&self) -> impl Iterator<Item = u32> {
        self.of[..usize::from(self.len)].iter().map(|count| u32::from(*count))
    }

    /// The same needles, two neighbours changed about.
    fn other_orders(self) -> impl Iterator<Item = Shares> {
        let last = usize::from(self.len).saturating_sub(1);
        let swapped = move |at: usize| {
            let mut other = self;
            other.of.swap(at, at + 1);
            other
        };
        (0..last).map(swapped).filter(move |other| *other != self)
    }

    fn total(self) -> u32 {
        self.counts().sum()
    }
}

/// The parts of a round: one for each needle, or one for all.
#[derive(Clone, Debug, PartialEq)]
pub enum Parts {
    /// In the order of the needles.
    Each(Vec<Seq>),
    /// The same on every needle.
    Same(Seq),
}

impl Parts {
    /// Whether one part is told for all needles.
    pub fn is_same(&self) -> bool {
        matches!(self, Parts::Same(_))
    }

    /// The part of a needle.
    pub fn nth(&self, needle: usize) -> Option<&Seq> {
        match self {
            Parts::Each(parts) => parts.get(needle),
            Parts::Same(part) => Some(part),
        }
    }

    /// The parts that are told.
    pub fn all(&self) -> &[Seq] {
        match self {
            Parts::Each(parts) => parts,
            Parts::Same(part) => std::slice::from_ref(part),
        }
    }

    /// The ways in which the stitches may be shared, with the cost of each.
    fn shares(&self, on_needles: u32, known: Shares, told: Shares) -> Vec<(f64, Shares)> {
        let fitting = |shares: Shares| {
            let as_many = match self {
                Parts::Each(parts) => parts.len() == usize::from(shares.len),
                Parts::Same(_) => true,
            };
            shares.are_known() && as_many && shares.total() == on_needles
        };
        if let Some(shares) = [known, told].into_iter().find(|shares| fitting(*shares)) {
            let mut orders = vec![(0.0, shares)];
            if shares == told {
                orders.extend(told.other_orders().map(|other| (OTHER_ORDER, other)));
            }
            return orders;
        }
        let equal = |needles: u32| {
            let each = on_needles / needles;
            let exact = on_needles.is_multiple_of(needles);
            let shares = || Shares::of(&vec![each; needles as usize]);
            exact.then(shares).flatten().map(|shares| (EQUAL, shares))
        };
        match self {
            Parts::Each(parts) => {
                let mut out: Vec<_> = equal(parts.len() as u32).into_iter().collect();
                let (half, quarter) = (on_needles / 2, on_needles / 4);
                if parts.len() == 3 && on_needles.is_multiple_of(4) {
                    for at in [1, 0, 2] {
                        let mut counts = [quarter; 3];
                        counts[at] = half;
                        out.extend(Shares::of(&counts).map(|shares| (HALF, shares)));
                    }
                }
                out
            }
            Parts::Same(_) => [4, 3, 2].into_iter().filter_map(equal).collect(),
        }
    }

    /// The ways in which the parts take exactly the stitches of their needles.
    pub fn fits(&self, on_needles: u32, known: Shares, told: Shares, out: &mut Vec<Fit>) {
        for (dear, shares) in self.shares(on_needles, known, told) {
            let parts = self.worked(shares);
            let dear = dear + if self.wanes_evenly(shares) { 0.0 } else { UNEVEN };
            if let Some((cost, after)) = parts {
                let after = after.total();
                let fit = Fit { after, cost: cost + dear, shares, ..Fit::whole() };
                out.push(fit);
            }
        }
    }

    /// Whether every needle loses or gains the same part of its stitches, as it does where a round is closed in evenly.
    fn wanes_evenly(&self, shares: Shares) -> bool {
        let Parts::Each(parts) = self else { return true };
        let change = |part: &Seq| i64::from(part.shape().fixed.makes) - i64::from(part.shape().fixed.takes);
        let pairs: Vec<(i64, i64)> = parts.iter().map(change).zip(shares.counts().map(i64::from)).collect();
        pairs.windows(2).all(|two| two[0].0 * two[1].1 == two[1].0 * two[0].1)
    }

    /// What a round costs and leaves on each needle; `None` where a part does not fit its needle.
    pub fn worked(&self, shares: Shares) -> Option<(f64, Shares)> {
        let mut cost = 0.0;
        let mut after = Vec::new();
        for (needle, count) in shares.counts().enumerate() {
            let fit = part_fit(self.nth(needle)?, count)?;
            cost += fit.cost;
            after.push(fit.after);
        }
        Some((cost, Shares::of(&after)?))
    }
}

/// The cheapest way in which a part takes the stitches of its needle.
pub fn part_fit(part: &Seq, count: u32) -> Option<Fit> {
    effort::spend(effort::WORKED / 2);
    if let Some((row, _)) = part.spread() {
        return row.fit(count, 0);
    }
    let mut ways = Vec::new();
    fits(part, count, Overs::default(), &mut ways);
    ways.into_iter().min_by(|a, b| a.cost.total_cmp(&b.cost))
}
