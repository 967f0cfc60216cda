//! How a correction is told: its words, and what speaks for it.

use reading::Reading;

use crate::Mended;
use crate::draft::Draft;
use crate::face;
use crate::place::to_print;
use crate::referred;
use crate::regular::{card, reason};
use crate::rows::{Standing, is_flat, profiles, standing};
use crate::wound;

use super::bench::{Bench, Trial};

impl Bench<'_> {
    pub(super) fn mended(&self, trial: Trial) -> Mended {
        let told = |draft: &Draft| draft.emendations(self.words.text, &self.why(&trial, draft));
        let emendations = trial.guess.drafts.iter().flat_map(told);
        let mut emendations: Vec<_> = emendations.collect();
        emendations.sort_by_key(|emendation| emendation.span);
        let mut reading = trial.reading;
        if let Some(patched) = self.patched(&trial.guess) {
            to_print(&mut reading, &patched);
        }
        // The corrected text was read under the answers that the printed one gave.
        reading.decisions.clone_from(&self.printed.decisions);
        Mended { cost: trial.cost, emendations, reading }
    }

    /// What speaks for one correction of a trial, in one sentence.
    fn why(&self, trial: &Trial, draft: &Draft) -> String {
        let place = self.place(draft).or(trial.guess.place);
        let piece = place.map(|(piece, _)| piece);
        let near = self.troubles.iter().find(|trouble| piece.is_none() || trouble.piece() == piece);
        let wrong =
            near.or(self.troubles.first()).map(|trouble| trouble.in_words(self.printed, self.words.text));
        let own = draft.why.clone().or_else(|| self.reason(trial, place)).or_else(|| self.of_cloth(trial));
        match (wrong, own) {
            (Some(wrong), Some(own)) => format!("{wrong}; {own}"),
            (Some(wrong), None) => format!("{wrong}; with this all rows come out"),
            (None, Some(own)) => own,
            (None, None) => "with this the rows are more alike".to_owned(),
        }
    }

    /// What the cloth says for a trial, or the order of rows that come back.
    fn of_cloth(&self, trial: &Trial) -> Option<String> {
        let less = |cost: fn(&[Standing<'_>]) -> f64| {
            let sum =
                |reading: &Reading| reading.pieces.iter().map(|piece| cost(&standing(piece))).sum::<f64>();
            sum(self.printed) > sum(&trial.reading)
        };
        let told = if less(face::cost) {
            "only so does it stand on the row below as the stitches about it do"
        } else if less(wound::cost) {
            "only so is one loop of each double over knitted and the other purled"
        } else if referred::cost(self.printed) > referred::cost(&trial.reading) {
            "so the rows come back in order"
        } else {
            return None;
        };
        Some(told.to_owned())
    }

    /// The piece and row whose words a correction changes.
    pub(super) fn place(&self, draft: &Draft) -> Option<(usize, usize)> {
        let at = draft.patches.first()?.span;
        self.printed.pieces.iter().enumerate().find_map(|(piece, read)| {
            let row =
                read.plan.rows.iter().position(|row| row.span.start <= at.start && at.end <= row.span.end)?;
            Some((piece, row))
        })
    }

    fn reason(&self, trial: &Trial, place: Option<(usize, usize)>) -> Option<String> {
        let (index, row) = place?;
        let piece = trial.reading.pieces.get(index)?;
        let rows = profiles(piece);
        let kind = self.cards.get(index)?.strongest(&card(&rows, is_flat(piece)))?;
        let labels: Vec<&str> = piece.plan.rows.iter().map(|row| row.label.as_str()).collect();
        reason(kind, &rows, row, &labels)
    }
}
