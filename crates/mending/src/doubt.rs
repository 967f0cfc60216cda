//! Misprints that leave every count right and show only in what is around them.
//!
//! A stitch for another, two words or numbers changed about, two rows changed about: tried wherever the rows would be
//! much more regular with it. What is found is a doubt to be looked at.

use std::rc::Rc;

use reading::PieceReading;

use crate::class::MISPRINT;
use crate::draft::Draft;
use crate::mend::Guess;
use crate::regular::{Card, Loose, Profile, card};
use crate::search::{Catalog, Group};
use crate::whole;
use crate::words::Words;

/// Nats by which a piece must be more regular for a doubt. Less finds more and doubts rows that are as they should be.
pub const GAIN: f64 = 3.0;
/// The most changes that are weighed in one piece.
const WEIGHED: usize = 1_500;
/// Pieces with more rows than this are not looked over: weighing takes time with each row.
const ROWS: usize = 160;

/// Corrections that would make a piece much more regular, the most telling first.
pub fn guesses(
    index: usize,
    piece: &PieceReading,
    groups: Vec<Group>,
    rows: &[Rc<Profile>],
    before: &Card,
    words: &Words<'_>,
) -> Vec<Guess> {
    if rows.len() > ROWS {
        return Vec::new();
    }
    let flat = !piece.plan.round;
    let label = |row: usize| piece.plan.rows[row].label.clone();
    let mut out = Vec::new();
    let mut weighed = 0;
    let loose = Loose::new(rows);
    for group in &groups {
        let (Some(base), Some(first)) = (group.bases.first(), group.rows.first().copied()) else { continue };
        for change in base.neutral() {
            let Some(profile) =
                base.build(&change).map(|seq| Rc::new(Profile::new(&seq, rows[first].words())))
            else {
                continue;
            };
            if !loose.admits(&profile) {
                continue;
            }
            weighed += 1;
            if weighed > WEIGHED {
                break;
            }
            let mut after = rows.to_vec();
            group.rows.iter().for_each(|row| after[*row] = Rc::clone(&profile));
            let Some(gain) = gain_of(before, &after, &group.rows, flat) else { continue };
            let Some(patches) = base.patches(&change, words) else { continue };
            let draft = Draft { cost: change.cost + MISPRINT, row: label(first), patches, why: None };
            out.push(Guess { rank: draft.cost - gain, drafts: vec![draft], place: Some((index, first)) });
        }
    }
    let mut catalog = Catalog { groups, ..Catalog::default() };
    whole::swapped_rows(piece, &mut catalog, words);
    for swap in &catalog.wholes {
        let mut after = rows.to_vec();
        swap.rows.iter().for_each(|(row, like)| after[*row] = Rc::clone(&rows[*like]));
        let places: Vec<usize> = swap.rows.iter().map(|(row, _)| *row).collect();
        let fits =
            swap.rows.iter().all(|(row, like)| piece.path.rows[*row].before == piece.path.rows[*like].before);
        let Some(gain) = gain_of(before, &after, &places, flat).filter(|_| fits) else { continue };
        let first = places.first().copied().unwrap_or(0);
        let draft =
            Draft { cost: swap.cost + MISPRINT, row: label(first), patches: swap.patches.clone(), why: None };
        out.push(Guess { rank: draft.cost - gain, drafts: vec![draft], place: Some((index, first)) });
    }
    out
}

/// How much more regular a piece is with some rows changed; `None` if that is not enough for a doubt, or if the changed
/// rows still break with their neighbours.
fn gain_of(before: &Card, after: &[Rc<Profile>], changed: &[usize], flat: bool) -> Option<f64> {
    let gain = before.gain(&card(after, flat));
    if gain < GAIN {
        return None;
    }
    let loose = Loose::new(after);
    let settled = changed.iter().all(|row| !loose.breaks(&after[*row]));
    settled.then_some(gain)
}
