//! An eye for the cloth, lent from outside.
//!
//! Where corrections tie on arithmetic, their cloths may differ: one lies easily and mirrors itself, the other is
//! strained. This crate knows no cloth; whoever does hands in what speaks against each reading, in nats.

use reading::Reading;

use crate::Mending;

/// Candidates within so many nats of the first tie with it. More lets the eye overrule arithmetic.
const TIE: f64 = 1.5;

/// What is said where the eye put a correction first.
const EVENEST: &str = "of the corrections that come out as well, its cloth lies the most evenly";

impl Mending {
    /// Weighs the corrections that tie with the first by what speaks against their cloth, and puts the best of them
    /// first. A correction that is sure stays, and none becomes sure by it.
    pub fn weigh(&mut self, against: impl Fn(&Reading) -> f64) {
        let Some(least) = self.candidates.first().map(|first| first.cost).filter(|_| !self.sure) else {
            return;
        };
        let tied = self.candidates.iter().take_while(|candidate| candidate.cost - least <= TIE).count();
        if tied < 2 {
            return;
        }
        let (first, ties) = (self.candidates[0].emendations.clone(), &mut self.candidates[..tied]);
        // What all have in common says nothing between them.
        let nats: Vec<f64> = ties.iter().map(|candidate| against(&candidate.reading)).collect();
        let common = nats.iter().copied().fold(f64::INFINITY, f64::min);
        if !common.is_finite() {
            return;
        }
        for (candidate, nats) in ties.iter_mut().zip(nats) {
            candidate.cost += nats - common;
        }
        self.candidates.sort_by(|one, other| one.cost.total_cmp(&other.cost));
        if self.candidates[0].emendations != first
            && let Some(emendation) = self.candidates[0].emendations.first_mut()
        {
            emendation.why = format!("{}; {EVENEST}", emendation.why);
        }
    }
}
