//! Which corrections are tried, and which of those tried are kept.

use reading::PieceReading;
use span::Span;

use crate::doubt;
use crate::draft::Draft;
use crate::rows::{groups, profiles};
use crate::whole;

use super::bench::{Bench, Guess, Trial, strains};

/// How many corrected texts of one piece are read.
const TRIED: usize = 16;
/// How many corrected texts are read at least, however long the text.
const LEAST_TRIED: usize = 3;
/// How many words of corrected texts are read before that.
const WORDS_READ: usize = 3_000;
/// The same for corrections of rows that others are made from, of which nothing is known before they are read.
const TRIED_OF_SOURCES: usize = 48;
const WORDS_READ_OF_SOURCES: usize = 12_000;
/// Nats behind the best at which no more corrected texts are read.
const BEHIND: f64 = 5.0;
/// Nats within which two doubts about different rows cannot be told apart.
const TIED: f64 = 0.7;

/// Pieces with more rows are not searched.
const ROWS: usize = 2_000;

impl<'a> Bench<'a> {
    /// Corrections that were tried and mend something, best first, one for each outcome.
    pub(super) fn corrections(&self) -> Vec<Trial> {
        let mut by_piece: Vec<Vec<Guess>> = Vec::new();
        for (index, piece) in self.searched() {
            by_piece.push(self.guesses(index, piece));
        }
        let whole = whole::drafts(self.reader, self.printed, &self.troubles, self.words);
        let mut whole: Vec<Guess> = whole
            .into_iter()
            .map(|draft| Guess { rank: draft.cost, drafts: vec![draft], place: None })
            .collect();
        whole.sort_by(|a, b| a.rank.total_cmp(&b.rank));
        by_piece.push(whole);
        let mut best: Vec<Draft> = Vec::new();
        let mut tried: Vec<Trial> = Vec::new();
        for guesses in by_piece {
            let mut next = self.try_all(&guesses, &[], self.most_tried(&guesses));
            let left = tried.first().map_or(0, |trial| trial.troubles);
            if left > 0 {
                let further = self.try_all(&guesses, &best, self.most_tried(&guesses));
                next.extend(further.into_iter().filter(|trial| trial.troubles < left));
            }
            tried.append(&mut next);
            tried.sort_by(|a, b| a.cost.total_cmp(&b.cost));
            best = tried.first().map(|trial| trial.guess.drafts.clone()).unwrap_or_default();
        }
        for (index, piece) in self.searched() {
            let most = (WORDS_READ_OF_SOURCES / self.words.tokens().len().max(1))
                .clamp(LEAST_TRIED, TRIED_OF_SOURCES);
            tried.extend(self.try_all(&self.of_sources(index, piece), &[], most));
        }
        tried.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        without_needless(&mut tried);
        one_for_each_outcome(tried)
    }

    /// Corrections of what comes out but is not regular.
    pub(super) fn doubts(&self) -> Vec<Trial> {
        let mut guesses = Vec::new();
        for (index, piece) in self.printed.pieces.iter().enumerate() {
            if piece.plan.rows.len() <= ROWS {
                let groups = groups(self.reader, self.words, piece, 1);
                guesses.extend(doubt::guesses(
                    index,
                    piece,
                    groups,
                    &profiles(piece),
                    &self.cards[index],
                    self.words,
                ));
            }
        }
        guesses.sort_by(|a, b| a.rank.total_cmp(&b.rank));
        let tried = guesses.into_iter().take(TRIED / 2);
        let tried = tried.filter_map(|guess| self.attempt(guess, &self.options));
        // The reader's own cost may not rise for it: what is read less well is no correction.
        let sound = tried.filter(|trial| trial.hard == 0 && trial.reading.cost <= self.printed.cost + 1.0);
        let better = |trial: &Trial| {
            let spent: f64 = trial.guess.drafts.iter().map(|draft| draft.cost).sum();
            self.cost - (trial.cost - spent) >= doubt::GAIN
        };
        let mut sound: Vec<Trial> = sound.filter(better).collect();
        sound.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        // Where two rows may each be brought to the other, both are as they should be.
        let row = |trial: &Trial| trial.guess.place;
        let least = sound.first().map_or(0.0, |trial| trial.cost);
        if sound.iter().any(|trial| trial.cost < least + TIED && row(trial) != row(&sound[0])) {
            return Vec::new();
        }
        one_for_each_outcome(sound)
    }

    /// The pieces in which corrections are searched, with their index.
    pub(super) fn searched(&self) -> impl Iterator<Item = (usize, &'a PieceReading)> {
        let pieces = self.printed.pieces.iter().enumerate();
        pieces.filter(|(index, piece)| {
            let troubled = self.troubles.iter().any(|trouble| trouble.piece() == Some(*index));
            (troubled || strains(piece) || self.passes_over(piece)) && piece.plan.rows.len() <= ROWS
        })
    }

    /// Whether a row of a piece is read with a number in it passed over.
    fn passes_over(&self, piece: &PieceReading) -> bool {
        let number = |span: &Span| self.words.within(*span).iter().any(|token| token.number.is_some());
        let inside = |span: &Span| piece.plan.rows.iter().any(|row| row.span.covers(*span));
        self.printed.unread.iter().any(|span| inside(span) && number(span))
    }

    /// How many of some guesses are read.
    fn most_tried(&self, guesses: &[Guess]) -> usize {
        let most = (WORDS_READ / self.words.tokens().len().max(1)).clamp(LEAST_TRIED, TRIED);
        if guesses.iter().all(|guess| guess.place.is_none()) { 2 * most } else { most }
    }

    /// Reads the texts that guesses give beside corrections already made, and keeps those that are better for it.
    fn try_all(&self, guesses: &[Guess], beside: &[Draft], most: usize) -> Vec<Trial> {
        let mut out: Vec<Trial> = Vec::new();
        let least = guesses.first().map_or(0.0, |guess| guess.rank);
        for guess in guesses.iter().take(most) {
            if guess.rank > least + BEHIND && out.len() > 1 {
                break;
            }
            let drafts = beside.iter().chain(&guess.drafts).cloned().collect();
            let all = Guess { drafts, ..guess.clone() };
            out.extend(self.attempt(all, &self.options).filter(|trial| self.mends(trial)));
        }
        out
    }
}

/// Puts before corrections that go together those among them that mend as much alone: a further one that mends nothing
/// is none.
pub(super) fn without_needless(tried: &mut [Trial]) {
    while let Some(fewer) = tried.first().and_then(|first| {
        let among = |trial: &Trial| {
            trial.guess.drafts.len() < first.guess.drafts.len()
                && trial.guess.drafts.iter().all(|draft| first.guess.drafts.contains(draft))
        };
        let as_good = |trial: &Trial| trial.hard <= first.hard && trial.troubles <= first.troubles;
        tried.iter().position(|trial| among(trial) && as_good(trial))
    }) {
        tried[..=fewer].rotate_right(1);
    }
}

pub(super) fn one_for_each_outcome(tried: Vec<Trial>) -> Vec<Trial> {
    let mut out: Vec<Trial> = Vec::new();
    for trial in tried {
        if !out.iter().any(|other| other.outcome == trial.outcome) {
            out.push(trial);
        }
    }
    out
}
