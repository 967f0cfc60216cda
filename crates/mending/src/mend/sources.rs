//! Corrections of rows that others are made from.
//!
//! "Continue in this way", "as the first, but with knit 4 at the end": what is misprinted in such a row stands in all
//! that are made from it. The search changes only rows that share their words, so these corrections are tried by
//! reading.

use std::collections::BTreeSet;
use std::rc::Rc;

use reading::{PieceReading, StatementKind};
use span::Span;

use crate::catalog::Catalog;
use crate::change::{Base, Change};
use crate::class::MISPRINT;
use crate::draft::Draft;
use crate::patch::Patch;
use crate::rows::groups;
use crate::whole;

use super::bench::{Bench, Guess};

/// How many rows before one told by "and so on" may give it its steps.
const REACH: usize = 4;
/// Of so many corrections that mend a piece together each is tried by itself.
const SEVERAL: usize = 12;

impl Bench<'_> {
    /// Each by itself of the corrections that mend a piece together, where rows are made from others: what stands in all of
    /// them may be owed to the first alone.
    pub(super) fn of_several(&self, piece: &PieceReading, guesses: &[Guess]) -> Vec<Guess> {
        if self.sources(piece).is_empty() {
            return Vec::new();
        }
        let mut out: Vec<Guess> = Vec::new();
        for guess in guesses.iter().filter(|guess| guess.drafts.len() > 1).take(SEVERAL) {
            for draft in &guess.drafts {
                if !out.iter().any(|other| other.drafts[0].patches == draft.patches) {
                    out.push(Guess { drafts: vec![draft.clone()], ..*guess });
                }
            }
        }
        out
    }

    /// Corrections of the rows of a piece that others are made from, cheapest first.
    pub(super) fn of_sources(&self, index: usize, piece: &PieceReading) -> Vec<Guess> {
        self.of_sources_where(index, piece, |_, _| true)
    }

    /// Those of them that leave as many stitches, as doubts.
    pub(super) fn of_sources_as_many(&self, index: usize, piece: &PieceReading) -> Vec<Guess> {
        let mut out = self.of_sources_where(index, piece, |base, change| base.delta(change) == Some(0));
        out.iter_mut().flat_map(|guess| &mut guess.drafts).for_each(|draft| draft.doubtful = true);
        out
    }

    /// Those of them that are wanted, and all that change no count by their kind.
    fn of_sources_where(
        &self,
        index: usize,
        piece: &PieceReading,
        wanted: impl Fn(&Base, &Change) -> bool,
    ) -> Vec<Guess> {
        let sources = self.sources(piece);
        if sources.is_empty() {
            return Vec::new();
        }
        let guess = |row: usize, cost: f64, patches: Vec<Patch>| {
            let (label, cost) = (piece.plan.rows[row].label.clone(), cost + MISPRINT);
            let draft = Draft { cost, row: label, patches, why: None, doubtful: false };
            Guess { rank: cost, drafts: vec![draft], place: Some((index, row)) }
        };
        let groups = groups(self.reader, self.words, piece, 1);
        let mut out = Vec::new();
        for group in &groups {
            let Some(row) = group.rows.first().filter(|row| sources.contains(row)) else { continue };
            for base in &group.bases {
                let made =
                    |change: &Change| Some(guess(*row, change.cost, base.patches(change, self.words)?));
                let neutral = base.neutral();
                let changes = base.changes.iter().filter(|change| wanted(base, change));
                out.extend(changes.chain(&neutral).filter_map(made));
            }
        }
        let mut catalog = Catalog { groups, ..Catalog::default() };
        whole::swapped_rows(piece, &mut catalog, self.words);
        let swaps =
            catalog.wholes.into_iter().filter(|swap| swap.rows.iter().any(|(row, _)| sources.contains(row)));
        out.extend(swaps.map(|swap| guess(swap.rows[0].0, swap.cost, swap.patches)));
        out.sort_by(|a, b| a.rank.total_cmp(&b.rank));
        out
    }

    fn sources(&self, piece: &PieceReading) -> BTreeSet<usize> {
        let onward =
            self.printed.statements.iter().filter(|told| matches!(told.kind, StatementKind::GoOn(_)));
        sources(piece, &onward.map(|told| told.span).collect::<Vec<_>>())
    }
}

/// The rows whose words are read in rows that are told in others, and those that may give the steps of rows told by "and
/// so on", as far as that is understood.
fn sources(piece: &PieceReading, onward: &[Span]) -> BTreeSet<usize> {
    let rows = &piece.plan.rows;
    let mut out = BTreeSet::new();
    for told in onward {
        let before = rows.partition_point(|row| row.span.start < told.start);
        out.extend(before.saturating_sub(REACH)..before);
    }
    for (at, row) in rows.iter().enumerate() {
        if row.goes_on && at > 0 && !rows[at - 1].goes_on {
            out.extend(at.saturating_sub(REACH)..at);
        }
        let spans = row.readings.first().map(|(_, seq)| seq.spans()).unwrap_or_default();
        for span in spans.into_iter().filter(|span| !span.is_detached() && !row.span.covers(*span)) {
            out.extend(
                rows.iter()
                    .position(|other| other.span.covers(span) && !Rc::ptr_eq(&other.readings, &row.readings)),
            );
        }
    }
    out
}
