//! Corrections of a text in which everything comes out, but which is not regular.

use crate::doubt;
use crate::rows::{groups, profiles};

use super::bench::{Bench, Guess, Trial};
use super::tries::{ROWS, one_for_each_outcome};
use super::weight::outweighs;

/// The most corrected texts that are read.
const TRIED: usize = 8;
/// Nats by which a text must be more regular with another row of those that rows are made from. Many such are read of which
/// nothing is known before; and what is amiss in the one shows in all.
const GAIN_OF_SOURCE: f64 = 6.0;
/// Nats within which two doubts about different rows cannot be told apart.
const TIED: f64 = 0.7;

impl Bench<'_> {
    /// Corrections found, with those of what comes out but is not regular.
    pub(super) fn with_doubts(&self, mut tried: Vec<Trial>) -> Vec<Trial> {
        tried.extend(self.doubts());
        tried.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        one_for_each_outcome(tried)
    }

    fn doubts(&self) -> Vec<Trial> {
        let mut sound = self.sound(self.doubted().into_iter().take(TRIED), doubt::GAIN);
        for (index, piece) in self.printed.pieces.iter().enumerate() {
            let made = self.of_sources_as_many(index, piece).into_iter().take(self.most_unknown());
            sound.extend(self.sound(made, GAIN_OF_SOURCE));
        }
        sound.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        // Where two rows may each be brought to the other, both are as they should be.
        let row = |trial: &Trial| trial.guess.place;
        let least = sound.first().map_or(0.0, |trial| trial.cost);
        if sound.iter().any(|trial| trial.cost < least + TIED && row(trial) != row(&sound[0])) {
            return Vec::new();
        }
        one_for_each_outcome(sound)
    }

    /// Those of some guesses with which the text is more regular by some nats and read as well.
    fn sound(&self, guesses: impl Iterator<Item = Guess>, least: f64) -> Vec<Trial> {
        let tried = guesses.filter_map(|guess| self.attempt_openly(guess));
        let better = |trial: &Trial| {
            let spent: f64 = trial.guess.drafts.iter().map(|draft| draft.cost).sum();
            let gain = self.cost - (trial.cost - spent);
            trial.hard == 0 && gain >= least && outweighs(gain, trial.reading.cost - self.printed.cost)
        };
        tried.filter(better).collect()
    }

    /// What would make a piece much more regular, with as many stitches and with others, the most telling first.
    fn doubted(&self) -> Vec<Guess> {
        let mut out: Vec<Guess> = Vec::new();
        for (index, piece) in self.printed.pieces.iter().enumerate() {
            if piece.plan.rows.len() > ROWS {
                continue;
            }
            let groups = groups(self.reader, self.words, piece, 1);
            let (rows, before) = (profiles(piece), &self.cards[index]);
            out.extend(doubt::guesses(self.printed, index, groups, &rows, before, self.words));
            if rows.len() <= doubt::ROWS {
                let new = |guess: &Guess| !out.iter().any(|other| other.patches() == guess.patches());
                let telling: Vec<Guess> = self.telling(index, piece).into_iter().filter(new).collect();
                out.extend(telling);
            }
        }
        out.sort_by(|a, b| a.rank.total_cmp(&b.rank));
        out
    }
}
