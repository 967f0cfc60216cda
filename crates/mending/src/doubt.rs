//! Misprints that leave every count right and show only in what is around them.
//!
//! A stitch for another, two words or numbers changed about, two rows changed about, and every other change of a row
//! that leaves as many stitches as the print: tried wherever the rows would be much more regular with it, or their
//! repeats come out that are cut short as printed. What is found is a doubt to be looked at.

use std::rc::Rc;

use reading::{Fit, Needle, Overs, PieceReading, Reading, Seq, ways};
use span::Span;

use crate::catalog::{Catalog, Group, Whole};
use crate::change::{Base, Change};
use crate::class::MISPRINT;
use crate::cut::Home;
use crate::draft::Draft;
use crate::face::{self, AGAINST};
use crate::mend::Guess;
use crate::referred::{self, OUT_OF_ORDER};
use crate::regular::{Card, Loose, Profile, card};
use crate::rows::standing;
use crate::whole;
use crate::words::Words;

/// Nats by which a piece must be more regular for a doubt. Less finds more and doubts rows that are as they should be. A
/// row whose many pairs mirror each other gains just three.
pub const GAIN: f64 = 2.99;
/// The most changes that are weighed in one piece.
const WEIGHED: usize = 1_500;
/// Pieces with more rows than this are not looked over: weighing takes time with each row.
pub const ROWS: usize = 160;

/// Corrections that would make a piece much more regular, the most telling first.
pub fn guesses(
    reading: &Reading,
    index: usize,
    groups: Vec<Group>,
    rows: &[Rc<Profile>],
    before: &Card,
    words: &Words<'_>,
) -> Vec<Guess> {
    if rows.len() > ROWS {
        return Vec::new();
    }
    let piece = &reading.pieces[index];
    let flat = !piece.plan.round;
    let label = |row: usize| piece.plan.rows[row].label.clone();
    let mut out = Vec::new();
    let mut weighed = 0;
    let loose = Loose::new(rows);
    let worked = Worked { piece, home: Home::of(piece), text: words.text };
    let odd = face::odd(&standing(piece));
    for group in &groups {
        let (Some(base), Some(first)) = (group.bases.first(), group.rows.first().copied()) else { continue };
        let neutral = base.neutral();
        let fixed = base.seq.shape().open.is_empty();
        let kept = base
            .changes
            .iter()
            .filter(|change| !base.is_swap(change) && (!fixed || base.delta(change) == Some(0)));
        for change in neutral.iter().chain(kept) {
            let Some(seq) = base.build(change) else { continue };
            let profile = Rc::new(Profile::new(&seq, rows[first].words()));
            let Some(eased) = worked.eased(&group.rows, &seq) else { continue };
            let eased =
                eased + if base.is_of_stitch(change) { faced(&odd, base, change, words) } else { 0.0 };
            if eased < GAIN / 2.0 && !loose.admits(&rows[first], &profile) {
                continue;
            }
            weighed += 1;
            if weighed > WEIGHED {
                break;
            }
            let mut after = rows.to_vec();
            group.rows.iter().for_each(|row| after[*row] = Rc::clone(&profile));
            let Some(gain) = gain_of(before, &after, &group.rows, flat, eased) else { continue };
            let Some(patches) = base.patches(change, words) else { continue };
            let cost = change.cost + MISPRINT;
            let draft = Draft { cost, row: label(first), patches, why: None, doubtful: true };
            out.push(Guess { rank: draft.cost - gain, drafts: vec![draft], place: Some((index, first)) });
        }
    }
    let mut catalog = Catalog { groups, ..Catalog::default() };
    whole::swapped_rows(piece, &mut catalog, words);
    let counts = |row: usize| piece.path.rows.get(row).map(|row| (row.before, row.fit.after));
    let asked = referred::out_of_order(reading);
    let named = referred::references(piece, reading, words)
        .into_iter()
        .filter(|whole| whole.rows.iter().all(|(row, like)| counts(*row) == counts(*like)));
    let ordered = |whole: &Whole| {
        let meant = |(span, number): &(Span, u32)| {
            let rows = whole.rows.iter().all(|(_, like)| piece.plan.rows[*like].number == Some(*number));
            rows && whole.patches.iter().any(|patch| patch.span == *span)
        };
        if asked.iter().any(meant) { OUT_OF_ORDER } else { 0.0 }
    };
    let swapped = catalog.wholes.drain(..).map(|swap| (swap, 0.0, false));
    let named = named.map(|whole| (ordered(&whole), whole)).map(|(eased, whole)| (whole, eased, true));
    for (whole, eased, doubtful) in swapped.chain(named) {
        let mut after = rows.to_vec();
        whole.rows.iter().for_each(|(row, like)| after[*row] = Rc::clone(&rows[*like]));
        let places: Vec<usize> = whole.rows.iter().map(|(row, _)| *row).collect();
        let Some(gain) = gain_of(before, &after, &places, flat, eased) else { continue };
        let first = places.first().copied().unwrap_or(0);
        let (cost, patches) = (whole.cost + MISPRINT, whole.patches);
        let draft = Draft { cost, row: label(first), patches, why: None, doubtful };
        out.push(Guess { rank: draft.cost - gain, drafts: vec![draft], place: Some((index, first)) });
    }
    out
}

/// Nats for a stitch changed where an instruction stands against the cloth about it.
fn faced(odd: &[Span], base: &Base, change: &Change, words: &Words<'_>) -> f64 {
    let patches = if odd.is_empty() { None } else { base.patches(change, words) }.unwrap_or_default();
    let changed =
        |odd: &&Span| patches.iter().any(|patch| patch.span.covers(**odd) || odd.covers(patch.span));
    AGAINST * odd.iter().filter(changed).count() as f64
}

/// A piece as it was worked.
struct Worked<'a> {
    piece: &'a PieceReading,
    home: Home,
    text: &'a str,
}

impl Worked<'_> {
    /// Nats by which rows are read more easily in another way that leaves as many stitches; `None` if it does not.
    fn eased(&self, rows: &[usize], seq: &Seq) -> Option<f64> {
        let mut fits = Vec::new();
        let mut eased = 0.0;
        let mut known: Option<(u32, u32)> = None;
        for row in rows {
            let own = &self.piece.path.rows[*row];
            // Rows that share their words mostly stand on as many stitches.
            if known.replace((own.before, own.fit.after)) == Some((own.before, own.fit.after)) {
                continue;
            }
            let cost = |seq: &Seq, fit: &Fit| fit.cost + self.home.cut_cost(seq, fit, own.before, self.text);
            let printed = &self.piece.chain[*row].candidates[own.candidate].seq;
            let needle = Needle { overs: self.overs_before(*row), ..Needle::cast_on(own.before) };
            ways(seq, needle, &mut fits);
            let alike = fits.iter().filter(|fit| fit.after == own.fit.after);
            let least = alike.map(|fit| cost(seq, fit)).min_by(f64::total_cmp)?;
            eased += cost(printed, &own.fit) - least;
        }
        Some(eased)
    }

    fn overs_before(&self, row: usize) -> Overs {
        row.checked_sub(1).map_or_else(Overs::default, |before| self.piece.path.rows[before].fit.overs)
    }
}

/// How much more regular a piece is with some rows changed; `None` if that is not enough for a doubt, or if the changed
/// rows still break with their neighbours.
pub fn gain_of(
    before: &Card,
    after: &[Rc<Profile>],
    changed: &[usize],
    flat: bool,
    eased: f64,
) -> Option<f64> {
    let gain = before.gain(&card(after, flat)) + eased;
    if gain < GAIN {
        return None;
    }
    let loose = Loose::new(after);
    let settled = changed.iter().all(|row| !loose.breaks(&after[*row]));
    settled.then_some(gain)
}
