//! What may be corrected in one piece, found by counts and ranked by the regularity of what it gives.

use std::borrow::Cow;
use std::rc::Rc;

use reading::{Item, PieceReading, Seq, solve};

use crate::catalog::{Catalog, Edit, Hit, What};
use crate::doubt;
use crate::draft::Draft;
use crate::regular::{Profile, card};
use crate::rows::{groups, is_flat, profiles};
use crate::search::Problem;
use crate::trouble::Trouble;
use crate::whole;

use super::bench::{Bench, Guess, bounded};

/// How many corrections are weighed by the regularity of what they give.
const WEIGHED: usize = 160;
/// Readings of one row that are changed.
const BASES: usize = 8;

impl<'a> Bench<'a> {
    /// What is searched in one piece.
    pub(super) fn problem(&self, index: usize, piece: &'a PieceReading) -> Problem<'a> {
        let place = self.searched().take_while(|(other, _)| *other < index).count();
        let share = self.shares.of_piece(place, self.searched().count());
        let bare = bare(piece).filter(|_| {
            self.troubles
                .iter()
                .any(|trouble| matches!(trouble, Trouble::Edges { piece, .. } if *piece == index))
        });
        let piece = bare.map_or(Cow::Borrowed(piece), Cow::Owned);
        let catalog = self.catalog(&piece);
        let unclosed = match (piece.ends.back_to, piece.ends.said) {
            (None, _) => 0.0,
            (_, true) => reading::NOT_CLOSED + Trouble::Unclosed { piece: 0, began: 0, ended: 0 }.cost(),
            (_, false) => reading::NOT_CLOSED_UNSAID,
        };
        let until = self.asked.purse.end_of(share);
        Problem { piece, catalog, unclosed, text: self.words.text, until }
    }

    /// What may be corrected in one piece, the likeliest first.
    pub(super) fn guesses(&self, index: usize, piece: &'a PieceReading) -> Vec<Guess> {
        let problem = self.problem(index, piece);
        let (piece, catalog) = (&*problem.piece, &problem.catalog);
        let hits = problem.search();
        if problem.is_spent() {
            self.asked.purse.refuse();
        }
        let before = &self.cards[index];
        let rows = profiles(piece);
        let mut out: Vec<Guess> = Vec::new();
        for hit in hits.iter().take(WEIGHED) {
            let Some(drafts) = self.drafts(piece, catalog, hit) else { continue };
            let after = changed(&rows, catalog, hit);
            let gain = bounded(before.gain(&card(&after, is_flat(piece))), hit.edits.len());
            let place = hit.edits.first().map(|edit| (index, row_of(catalog, edit)));
            add(&mut out, Guess { drafts, rank: hit.cost - gain, place });
        }
        out.sort_by(|a, b| a.rank.total_cmp(&b.rank));
        out
    }

    /// Corrections that would make a piece in which everything comes out much more regular, other counts among them, the
    /// most telling first.
    pub(super) fn telling(&self, index: usize, piece: &'a PieceReading) -> Vec<Guess> {
        let problem = self.problem(index, piece);
        let (rows, before) = (profiles(piece), &self.cards[index]);
        let mut out = Vec::new();
        for hit in problem.search() {
            let [edit] = hit.edits.as_slice() else { continue };
            let Some(mut drafts) = self.drafts(piece, &problem.catalog, &hit) else { continue };
            // Rows that changed places are looked at apart.
            if drafts.iter().any(|draft| draft.patches.len() > 1) && matches!(edit.what, What::Whole(_)) {
                continue;
            }
            let places = rows_of(&problem.catalog, edit);
            let after = changed(&rows, &problem.catalog, &hit);
            let eased = piece.path.cost - (hit.cost - edit.cost);
            let Some(gain) = doubt::gain_of(before, &after, &places, is_flat(piece), eased) else { continue };
            drafts.iter_mut().for_each(|draft| draft.doubtful = true);
            let place = Some((index, row_of(&problem.catalog, edit)));
            add(&mut out, Guess { drafts, rank: edit.cost - gain, place });
        }
        out
    }

    /// Everything that may be corrected in a piece.
    fn catalog(&self, piece: &PieceReading) -> Catalog {
        let mut catalog =
            Catalog { groups: groups(self.reader, self.words, piece, BASES), ..Catalog::default() };
        whole::collect(piece, self.printed, self.words, &mut catalog);
        if self.options.cast_on.is_some() {
            catalog.starts.clear();
        }
        catalog
    }

    /// The corrections of a hit as drafts.
    fn drafts(&self, piece: &PieceReading, catalog: &Catalog, hit: &Hit) -> Option<Vec<Draft>> {
        hit.edits.iter().map(|edit| self.draft(piece, catalog, edit)).collect()
    }

    fn draft(&self, piece: &PieceReading, catalog: &Catalog, edit: &Edit) -> Option<Draft> {
        let words = self.words;
        let label = |row: usize| piece.plan.rows.get(row).map(|row| row.label.clone());
        let mut doubtful = false;
        let (row, patches) = match edit.what {
            What::Change { group, base, change } => {
                let group = &catalog.groups[group];
                let base = &group.bases[base];
                doubtful = base.is_of_any_row(&base.changes[change]);
                (label(*group.rows.first()?)?, base.patches(&base.changes[change], words)?)
            }
            What::Whole(index) => {
                (label(catalog.wholes[index].rows.first()?.0)?, catalog.wholes[index].patches.clone())
            }
            What::Start(count) => ("cast on".to_owned(), vec![whole::start_patch(piece, count, words)?]),
            What::Total(row, count) => (label(row)?, vec![whole::total_patch(piece, row, count, words)?]),
        };
        let changes = patches.iter().any(|patch| patch.span.of(words.text) != patch.corrected);
        changes.then_some(Draft { cost: edit.cost, row, patches, why: None, doubtful })
    }
}

/// Adds a guess, unless the same is there and as likely.
fn add(out: &mut Vec<Guess>, guess: Guess) {
    match out.iter_mut().find(|other| other.patches() == guess.patches()) {
        Some(other) if other.rank > guess.rank => *other = guess,
        Some(_) => {}
        None => out.push(guess),
    }
}

/// The piece without edges that its rows do not mention.
fn bare(piece: &PieceReading) -> Option<PieceReading> {
    let framed = |seq: &Seq| matches!(seq.items().first(), Some(Item::Work(work)) if work.span.is_detached());
    let mut piece = piece.clone();
    for row in &mut piece.chain {
        row.candidates.retain(|candidate| !framed(&candidate.seq));
    }
    piece.path = solve(&piece.chain, &piece.ends).into_iter().next()?;
    Some(piece)
}

/// The rows with the corrections of a hit.
fn changed(rows: &[Rc<Profile>], catalog: &Catalog, hit: &Hit) -> Vec<Rc<Profile>> {
    let mut out = rows.to_vec();
    for edit in &hit.edits {
        match edit.what {
            What::Change { group, base, change } => {
                let group = &catalog.groups[group];
                let base = &group.bases[base];
                let Some(seq) = base.build(&base.changes[change]) else { continue };
                let words = group.rows.first().map_or(0, |row| rows[*row].words());
                let profile = Rc::new(Profile::new(&seq, words));
                group.rows.iter().for_each(|row| out[*row] = Rc::clone(&profile));
            }
            What::Whole(index) => {
                for (row, like) in &catalog.wholes[index].rows {
                    out[*row] = Rc::clone(&rows[*like]);
                }
            }
            What::Start(_) | What::Total(..) => {}
        }
    }
    out
}

/// The rows that a correction changes.
fn rows_of(catalog: &Catalog, edit: &Edit) -> Vec<usize> {
    match edit.what {
        What::Change { group, .. } => catalog.groups[group].rows.clone(),
        What::Whole(index) => catalog.wholes[index].rows.iter().map(|(row, _)| *row).collect(),
        What::Start(_) | What::Total(..) => Vec::new(),
    }
}

fn row_of(catalog: &Catalog, edit: &Edit) -> usize {
    match edit.what {
        What::Change { group, .. } => catalog.groups[group].rows.first().copied().unwrap_or(0),
        What::Whole(index) => catalog.wholes[index].rows.first().map_or(0, |(row, _)| *row),
        What::Start(_) => 0,
        What::Total(row, _) => row,
    }
}
