//! The rows of a piece made ready for the mender: as regularity sees them, and with what may be changed in them.

use std::collections::{HashMap, HashSet};
use std::rc::Rc;

use loops::Stitch;
use reading::{Below, Item, PieceReading, Reader, Seq, Until, needle_after};

use crate::catalog::Group;
use crate::change::{Base, Source, Told};
use crate::habits::Habits;
use crate::numbering::told_again;
use crate::regular::Profile;
use crate::words::Words;

/// Whether a piece is worked to and fro.
pub fn is_flat(piece: &PieceReading) -> bool {
    !piece.plan.round
}

/// A row as worked, with the loops that it stands on.
pub type Standing<'a> = (&'a [Stitch], Vec<Below>);

/// The rows of a piece after the first, each on the loops below it, once for each pair of rows whose words differ.
pub fn standing(piece: &PieceReading) -> Vec<Standing<'_>> {
    let flat = is_flat(piece);
    let mut needle: Vec<Below> = Vec::new();
    let mut seen = HashSet::new();
    let mut before = None;
    let mut out = Vec::new();
    for (worked, planned) in piece.worked.rows.iter().zip(&piece.plan.rows) {
        let words = Rc::as_ptr(&planned.readings).cast::<()>();
        let after = needle_after(&worked.ops, &needle, flat);
        if before.replace(words).is_some_and(|before| seen.insert((before, words))) {
            out.push((worked.ops.as_slice(), needle));
        }
        needle = after;
    }
    out
}

/// The rows of a piece as regularity sees them.
pub fn profiles(piece: &PieceReading) -> Vec<Rc<Profile>> {
    let mut known: HashMap<(*const (), usize), Rc<Profile>> = HashMap::new();
    let rows = piece.plan.rows.iter().zip(&piece.chain).zip(&piece.path.rows);
    rows.map(|((row, chain), chosen)| {
        let key = (Rc::as_ptr(&row.readings).cast::<()>(), chosen.candidate);
        let next = known.len();
        Rc::clone(
            known
                .entry(key)
                .or_insert_with(|| Rc::new(Profile::new(&chain.candidates[chosen.candidate].seq, next))),
        )
    })
    .collect()
}

/// Rows that share their printed words, with what may be changed in so many of their readings.
pub fn groups(reader: &Reader, words: &Words<'_>, piece: &PieceReading, bases: usize) -> Vec<Group> {
    let chosen: Vec<&Seq> = piece
        .chain
        .iter()
        .zip(&piece.path.rows)
        .map(|(row, chosen)| &row.candidates[chosen.candidate].seq)
        .collect();
    let mut index: HashMap<*const (), usize> = HashMap::new();
    let mut out: Vec<Group> = Vec::new();
    let habits = Habits::new(first_of_each(piece).map(|row| (row, chosen[row])));
    let own_words = |(row, seq): &Told<'_>| {
        let planned = &piece.plan.rows[*row];
        let span = seq.span();
        !planned.filled && !planned.goes_on && !span.is_detached() && planned.span.covers(span)
    };
    let told: Vec<Told<'_>> = first_of_each(piece).map(|row| (row, chosen[row])).filter(own_words).collect();
    let again: HashSet<usize> =
        told_again(piece, words.text).into_iter().flat_map(|(one, two)| [one, two]).collect();
    let implied = unsaid_repeats(piece) > 0;
    for (row, planned) in piece.plan.rows.iter().enumerate() {
        if planned.filled || planned.goes_on {
            continue;
        }
        let key = Rc::as_ptr(&planned.readings).cast::<()>();
        if let Some(known) = index.get(&key) {
            out[*known].rows.push(row);
            continue;
        }
        index.insert(key, out.len());
        let beside: Vec<Seq> = near(row, chosen.len())
            .filter(|other| chosen[*other] != chosen[row])
            .map(|other| chosen[other].clone())
            .collect();
        let candidates = &piece.chain[row].candidates;
        let own = piece.path.rows[row].candidate;
        // A row told without a repeat is seldom one worked across, unless others are.
        let once = |at: &usize| {
            !is_implied(&candidates[*at].seq) || implied || *at == own && piece.path.rows[row].fit.rounds > 1
        };
        let order = std::iter::once(own).chain((0..candidates.len()).filter(|at| *at != own));
        let source = Source { words, lexicon: reader.lexicon(), habits: &habits, own: row };
        let base = |at: usize| {
            Base::new(candidates[at].cost, &candidates[at].seq, &beside, words).with_changes(&source)
        };
        let mut bases: Vec<Base> = order.filter(once).take(bases).map(base).collect();
        if again.contains(&row) {
            bases = bases.into_iter().map(|base| base.told_again(row, &told, words)).collect();
        }
        out.push(Group { rows: vec![row], bases });
    }
    out
}

/// The first row of each of the printed words that rows share.
fn first_of_each(piece: &PieceReading) -> impl Iterator<Item = usize> {
    let mut seen = HashSet::new();
    let rows = piece.plan.rows.iter().enumerate();
    rows.filter(move |(_, row)| seen.insert(Rc::as_ptr(&row.readings).cast::<()>())).map(|(row, _)| row)
}

/// Whether a row is read as worked across again and again without a word on it.
fn is_implied(seq: &Seq) -> bool {
    matches!(seq.items().as_slice(), [Item::Group { span, until: Until::End, .. }] if span.is_detached())
}

/// How many of a piece's printed rows are worked across again and again without a word that says so.
pub fn unsaid_repeats(piece: &PieceReading) -> usize {
    let unsaid = |row: &usize| {
        let chosen = &piece.path.rows[*row];
        let items = piece.chain[*row].candidates[chosen.candidate].seq.items();
        let is_unsaid =
            |item: &Item| matches!(item, Item::Group { span, until: Until::End, .. } if span.is_detached());
        chosen.fit.rounds > 1 && items.iter().any(is_unsaid)
    };
    first_of_each(piece).filter(unsaid).count()
}

/// Rows near a row, the nearest pattern rows first.
fn near(row: usize, rows: usize) -> impl Iterator<Item = usize> {
    const AWAY: [isize; 8] = [-2, 2, -1, 1, -4, 4, -3, 3];
    AWAY.into_iter().filter_map(move |away| row.checked_add_signed(away)).filter(move |other| *other < rows)
}
