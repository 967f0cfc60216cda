//! Which corrections are tried, and which of those tried are kept.

use reading::{PieceReading, Token, TokenKind};
use span::Span;

use crate::class::{Class, MISPRINT};
use crate::doubt;
use crate::draft::Draft;
use crate::rows::{groups, profiles};
use crate::strayed::strayed_rows;
use crate::trouble::Trouble;
use crate::whole;

use super::bench::{Bench, Guess, Trial, is_of_rows, strains};
use super::weight::{is_far_behind, is_rival};

/// How many corrected texts of one piece are read.
const TRIED: usize = 16;
/// How many corrected texts are read at least, however long the text.
const LEAST_TRIED: usize = 3;
/// How many words of corrected texts are read before that.
const WORDS_READ: usize = 3_000;
/// The same for corrections of rows that others are made from, and for rows that changed places, of which nothing is known
/// before they are read.
const TRIED_UNKNOWN: usize = 48;
const WORDS_READ_UNKNOWN: usize = 12_000;
/// Nats by which corrections are tried before others where only a misprint can be why words are not understood.
const AT_FIRST: f64 = 2.5;
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
        let in_turn = |draft: Draft| Guess { rank: draft.cost - self.precedence(&draft), ..alone(draft) };
        let mut whole: Vec<Guess> = whole.into_iter().map(in_turn).collect();
        whole.sort_by(|a, b| a.rank.total_cmp(&b.rank));
        by_piece.push(whole);
        let mut best: Vec<Draft> = Vec::new();
        let mut tried: Vec<Trial> = Vec::new();
        for guesses in &by_piece {
            let mut next = self.try_all(guesses, &[], self.most_tried(guesses));
            let left = tried.first().map_or(0, |trial| trial.troubles);
            if left > 0 {
                let further = self.try_all(guesses, &best, self.most_tried(guesses));
                next.extend(further.into_iter().filter(|trial| trial.troubles < left));
            }
            tried.append(&mut next);
            tried.sort_by(|a, b| a.cost.total_cmp(&b.cost));
            best = tried.first().map(|trial| trial.guess.drafts.clone()).unwrap_or_default();
        }
        for ((index, piece), found) in self.searched().zip(&by_piece) {
            tried.extend(self.try_all(&self.of_several(piece, found), &[], self.most_unknown()));
            tried.extend(self.try_all(&self.of_sources(index, piece), &[], self.most_unknown()));
        }
        tried.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        if self.is_sure(&tried) {
            let rivals = by_piece.iter().flat_map(|guesses| self.rivals(guesses, &tried[0]));
            let rivals: Vec<Guess> = rivals.cloned().collect();
            tried.extend(self.try_all(&rivals, &[], self.most_unknown()));
            tried.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        }
        if self.rows_may_have_strayed(tried.first()) {
            tried.extend(self.try_all(&self.strayed_rows(), &[], self.most_unknown()));
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

    /// Nats by which a correction is tried before others: where only a misprint can be why its words are not understood.
    fn precedence(&self, draft: &Draft) -> f64 {
        let at = draft.patches.first().map_or(Span::DETACHED, |patch| patch.span);
        let about = self.printed.unread.iter().find(|span| span.covers(at));
        if about.is_some_and(|about| self.is_of_the_craft(*about, at)) { AT_FIRST } else { 0.0 }
    }

    /// Whether words, but for some of them, are all of the craft, as those about a misprint are, and those of a remark
    /// mostly are not.
    fn is_of_the_craft(&self, span: Span, but: Span) -> bool {
        let tokens = self.words.within(span);
        let known = |token: &Token| {
            let bare = token.kind != TokenKind::Word || token.number.is_some() || token.ordinal.is_some();
            bare || but.covers(token.span) || self.reader.knows(&token.text)
        };
        tokens.iter().all(known) && tokens.iter().any(|token| is_of_rows(self.reader, token))
    }

    /// Rows that changed places.
    fn strayed_rows(&self) -> Vec<Guess> {
        strayed_rows(self.printed, &self.troubles, self.words).into_iter().map(alone).collect()
    }

    /// Whether rows that changed places are worth reading: something is surely amiss, and the best correction leaves
    /// something so or is no likelier than they are.
    fn rows_may_have_strayed(&self, best: Option<&Trial>) -> bool {
        let dear = |draft: &Draft| draft.cost >= MISPRINT + Class::Rows.cost();
        let left = |best: &Trial| best.troubles > 0 || best.guess.drafts.iter().any(dear);
        let unread = |span: &Span| self.is_of_the_craft(*span, Span::DETACHED);
        let amiss = self.troubles.iter().any(Trouble::is_hard) || self.printed.unread.iter().any(unread);
        amiss && best.is_none_or(left)
    }

    /// The guesses not yet read that may be as likely as the best correction, if it is one of the same list.
    fn rivals<'g>(&self, guesses: &'g [Guess], best: &Trial) -> &'g [Guess] {
        let patches = best.guess.patches();
        let known = best.guess.place.is_some();
        let Some(at) = guesses.iter().position(|guess| known && guess.patches() == patches) else {
            return &[];
        };
        let from = self.most_tried(guesses).min(guesses.len());
        let to = guesses.partition_point(|guess| is_rival(guess.rank, guesses[at].rank));
        &guesses[from..to.max(from)]
    }

    /// How many guesses are read of which nothing is known before.
    fn most_unknown(&self) -> usize {
        (WORDS_READ_UNKNOWN / self.words.tokens().len().max(1)).clamp(LEAST_TRIED, TRIED_UNKNOWN)
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
            if is_far_behind(guess.rank, least, out.len()) {
                break;
            }
            let drafts = beside.iter().chain(&guess.drafts).cloned().collect();
            let all = Guess { drafts, ..guess.clone() };
            out.extend(self.attempt(all, &self.options).filter(|trial| self.mends(trial)));
        }
        out
    }
}

/// A draft by itself, at no known place.
fn alone(draft: Draft) -> Guess {
    Guess { rank: draft.cost, drafts: vec![draft], place: None }
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
