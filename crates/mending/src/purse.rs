//! How much work a search may take.
//!
//! Counted in the steps of [`reading::effort`] and not by a clock, so that a search ends at the same place on every
//! machine. What is likeliest is tried first, and what the purse does not pay for is left. A share of it is kept back for
//! each stage of the search, and what a stage leaves goes to those after it.

use std::cell::Cell;

use reading::effort;

/// Steps that one search may take: well under a second on a machine of 2025. Of patterns of old books one in fifty takes
/// more.
const STEPS: u64 = 9_000_000;

/// What is left to be spent on one search.
#[derive(Debug)]
pub struct Purse {
    begun: u64,
    refused: Cell<bool>,
}

/// The shares of the purse that are spent at most when some stages of a search end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shares {
    /// The share spent before them.
    pub begun: f64,
    /// When counts have been searched.
    pub counted: f64,
    /// When corrected texts have been read.
    pub tried: f64,
}

impl Shares {
    /// The share at which the search of one piece of several ends.
    pub fn of_piece(&self, piece: usize, pieces: usize) -> f64 {
        let each = (self.counted - self.begun) / pieces.max(1) as f64;
        self.begun + each * (piece + 1) as f64
    }
}

impl Purse {
    /// A full one.
    pub fn full() -> Purse {
        Purse { begun: effort::steps(), refused: Cell::new(false) }
    }

    /// The count of steps at which a share of it is spent.
    pub fn end_of(&self, share: f64) -> u64 {
        self.begun.saturating_add((STEPS as f64 * share) as u64)
    }

    /// Whether a share of it is not yet spent.
    pub fn lasts(&self, share: f64) -> bool {
        let lasts = effort::steps() < self.end_of(share);
        if !lasts {
            self.refused.set(true);
        }
        lasts
    }

    /// Notes that something was left undone.
    pub fn refuse(&self) {
        self.refused.set(true);
    }

    /// Whether something was left undone.
    pub fn has_refused(&self) -> bool {
        self.refused.get()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_that_is_spent_pays_for_nothing_and_a_greater_one_still_does() {
        let purse = Purse::full();
        assert!(purse.lasts(0.25) && !purse.has_refused());
        effort::spend(STEPS as usize / 2);
        assert!(!purse.lasts(0.25) && purse.has_refused());
        assert!(purse.lasts(0.75));
        effort::spend(STEPS as usize / 2);
        assert!(!purse.lasts(1.0));
        assert!(Purse::full().lasts(0.25), "another search has its own");
    }

    #[test]
    fn pieces_share_alike_what_is_kept_for_the_search_by_counts() {
        let shares = Shares { begun: 0.2, counted: 0.6, tried: 1.0 };
        assert!((shares.of_piece(0, 2) - 0.4).abs() < 1e-9);
        assert!((shares.of_piece(1, 2) - 0.6).abs() < 1e-9);
    }
}
