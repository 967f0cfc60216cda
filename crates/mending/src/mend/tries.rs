//! Which corrections are tried, and which of those tried are kept.

use reading::PieceReading;
use span::Span;

use crate::class::{Class, MISPRINT};
use crate::draft::Draft;
use crate::strayed::strayed_rows;
use crate::trouble::Trouble;
use crate::whole;

use super::bench::{Bench, Guess, Trial, is_of_the_craft, strains};
use super::weight::{is_borne_out, is_far_behind, is_rival};

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

/// Pieces with more rows are not searched.
pub(super) const ROWS: usize = 2_000;

impl<'a> Bench<'a> {
    /// Corrections that were tried and mend something, best first, one for each outcome.
    pub(super) fn corrections(&self) -> Vec<Trial> {
        let mut lists: Vec<Vec<Guess>> =
            self.searched().map(|(index, piece)| self.guesses(index, piece)).collect();
        lists.push(self.of_the_whole());
        let mut tried = self.try_in_turn(&lists);
        let mut made: Vec<Vec<Guess>> = Vec::new();
        for ((index, piece), found) in self.searched().zip(&lists) {
            made.push(self.of_sources(index, piece));
            self.try_further(&self.of_several(piece, found), &mut tried);
            made.last().into_iter().for_each(|guesses| self.try_further(guesses, &mut tried));
        }
        if self.is_sure(&tried) {
            let near = lists.iter().flat_map(|all| self.rivals(all, self.most_tried(all), &tried[0]));
            let made = made.iter().flat_map(|all| self.rivals(all, self.most_unknown(), &tried[0]));
            let rivals: Vec<Guess> = near.chain(made).cloned().collect();
            self.try_further(&rivals, &mut tried);
        }
        if let Some(whole) = lists.last().filter(|_| self.is_open(tried.first())) {
            self.try_further(&whole[self.most_tried(whole).min(whole.len())..], &mut tried);
        }
        if self.rows_may_have_strayed(tried.first()) {
            self.try_further(&self.strayed_rows(), &mut tried);
        }
        without_needless(&mut tried);
        one_for_each_outcome(tried)
    }

    /// Corrections that only reading can weigh, the likeliest first.
    fn of_the_whole(&self) -> Vec<Guess> {
        let whole = whole::drafts(self.reader, self.printed, &self.troubles, self.words);
        let in_turn = |draft: Draft| Guess { rank: draft.cost - self.precedence(&draft), ..alone(draft) };
        let mut whole: Vec<Guess> = whole.into_iter().map(in_turn).collect();
        whole.sort_by(|a, b| a.rank.total_cmp(&b.rank));
        whole
    }

    /// Tries the guesses of one list after the other, beside the best before where that leaves something to mend.
    fn try_in_turn(&self, lists: &[Vec<Guess>]) -> Vec<Trial> {
        let mut best: Vec<Draft> = Vec::new();
        let mut tried: Vec<Trial> = Vec::new();
        for guesses in lists {
            if guesses.first().is_some_and(|guess| self.is_settled(&tried, guess.rank)) {
                continue;
            }
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
        tried
    }

    /// Tries guesses of which nothing is known before, and puts those that mend something among the others.
    fn try_further(&self, guesses: &[Guess], tried: &mut Vec<Trial>) {
        tried.extend(self.try_all(guesses, &[], self.most_unknown()));
        tried.sort_by(|a, b| a.cost.total_cmp(&b.cost));
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
        if about.is_some_and(|about| is_of_the_craft(self.reader, self.words.within(*about), at)) {
            AT_FIRST
        } else {
            0.0
        }
    }

    /// Rows that changed places.
    fn strayed_rows(&self) -> Vec<Guess> {
        strayed_rows(self.printed, &self.troubles, self.words).into_iter().map(alone).collect()
    }

    /// Whether rows that changed places are worth reading: something is surely amiss, and the best correction leaves
    /// something so, is no likelier than they are, or makes nothing more regular.
    fn rows_may_have_strayed(&self, best: Option<&Trial>) -> bool {
        let dear = |draft: &Draft| draft.cost >= MISPRINT + Class::Rows.cost();
        let unread = |span: &Span| is_of_the_craft(self.reader, self.words.within(*span), Span::DETACHED);
        let amiss = self.troubles.iter().any(Trouble::is_hard) || self.printed.unread.iter().any(unread);
        amiss && (self.is_open(best) || best.is_some_and(|best| best.guess.drafts.iter().any(dear)))
    }

    /// Whether another correction may well be likelier than the best: that leaves something so, or makes nothing more
    /// regular.
    fn is_open(&self, best: Option<&Trial>) -> bool {
        best.is_none_or(|best| {
            best.troubles > 0 || !is_borne_out(self.evidence(&best.reading, best.guess.drafts.len()))
        })
    }

    /// Whether what was tried settles the text so well that guesses of this rank are not read: the print is understood
    /// without a strain, two were found at least, the best leaves nothing to mend, regularity speaks for it, and they are far
    /// behind it.
    fn is_settled(&self, tried: &[Trial], rank: f64) -> bool {
        let understood = self.printed.unread.is_empty() && !self.printed.pieces.iter().any(strains);
        let best = tried.first().filter(|_| understood);
        best.is_some_and(|best| is_far_behind(rank, best.guess.rank, tried.len())) && !self.is_open(best)
    }

    /// The guesses behind those read that may be as likely as the best correction, if it is one of the same list.
    fn rivals<'g>(&self, guesses: &'g [Guess], read: usize, best: &Trial) -> &'g [Guess] {
        let patches = best.guess.patches();
        let known = best.guess.place.is_some();
        let Some(at) = guesses.iter().position(|guess| known && guess.patches() == patches) else {
            return &[];
        };
        let from = read.min(guesses.len());
        let to = guesses.partition_point(|guess| is_rival(guess.rank, guesses[at].rank));
        &guesses[from..to.max(from)]
    }

    /// How many guesses are read of which nothing is known before.
    pub(super) fn most_unknown(&self) -> usize {
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
            out.extend(self.attempt(all, &self.options, self.shares.tried).filter(|trial| self.mends(trial)));
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
