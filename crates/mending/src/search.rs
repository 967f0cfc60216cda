//! The exact search for the cheapest corrections of one piece.
//!
//! Rows couple only through the number of stitches. So the cheapest way to each count before a row, and the cheapest
//! way on from each count after it, are found once for the text as printed; every correction of every row is then one
//! step between the two, and its whole cost is known exactly. A correction belongs to printed words: where several
//! rows share them, it is applied to all of these rows, and paid for once.
//!
//! Where one correction does not mend everything, the ways with one correction are carried on like those with none, and
//! a second is tried from each of them, and a third: as many passes over the rows as there are misprints, each as long
//! as the first. Of the ways that come to the same count the `ALIKE` cheapest are kept, and none whose cost is beyond
//! hope. Only two corrections of which one stands between rows that share the words of the other need a search of their
//! own; the [`NESTED`] likeliest are made.

mod board;
mod model;
mod pass;
mod ways;

use std::borrow::Cow;
use std::cell::{Cell, RefCell};
use std::rc::Rc;

use reading::{PieceReading, effort};
use rustc_hash::FxHashMap;

use crate::catalog::{Catalog, Edit, Hit};
use crate::class::MISPRINT;
use crate::cut::Home;

pub use self::model::{Correction, Model, Step};

use self::board::{Board, Layer, NONE, State};
use self::pass::{Front, Pass};
use self::ways::{Needles, Readings, Shared};

/// The most independent corrections of one piece.
const DEPTH: usize = 3;
/// How many corrections of shared words are followed up by a search between their rows.
const NESTED: usize = 16;
/// Nats above the best beyond which a way with faults behind or before it is given up.
const HOPE: f64 = 5.0;
/// Nats above the best that are still given back, so that evidence may decide.
const MARGIN: f64 = 9.0;
/// The share of what is left to be spent that one pass over the rows may take for its corrections.
const SHARE_OF_A_PASS: f64 = 0.6;
/// The most results.
const HITS: usize = 400;

/// Results so far, and the corrections made on each way: each with the one before it.
struct Found {
    hits: Vec<Hit>,
    best: f64,
    made: Vec<(Edit, u32)>,
}

/// What is searched in one piece.
pub struct Problem<'a> {
    pub(crate) piece: Cow<'a, PieceReading>,
    pub(crate) catalog: Catalog,
    /// Nats against a repeat in height that does not end with the count it began with.
    pub(crate) unclosed: f64,
    pub(crate) text: &'a str,
    /// The count of steps of work at which the search ends.
    pub(crate) until: u64,
}

impl Problem<'_> {
    /// How many rows there are.
    pub fn rows(&self) -> usize {
        self.piece.chain.len()
    }

    /// Whether so much work was done that a search would end, or has ended before its time.
    pub(crate) fn is_spent(&self) -> bool {
        effort::steps() >= self.until
    }

    /// Searches, and gives the cost of the cheapest way to have the rows, corrected or not, in nats.
    pub fn optimum(&self) -> f64 {
        self.found().best
    }

    /// What may be corrected, cheapest first, the piece as printed not among them.
    pub(crate) fn search(&self) -> Vec<Hit> {
        self.found().hits
    }

    fn found(&self) -> Found {
        let board = self.board();
        let mut found = Found { hits: Vec::new(), best: board.whole_cost(), made: Vec::new() };
        board.look(0, DEPTH, &mut found);
        found.trim();
        found
    }

    /// The rows as printed.
    fn board(&self) -> Board<'_> {
        let piece = &*self.piece;
        let home = Home::of(piece);
        let printed = piece.chain.iter().flat_map(|row| &row.candidates).map(|candidate| &candidate.seq);
        let bases = self.catalog.groups.iter().flat_map(|group| &group.bases).map(|base| &base.seq);
        let shared = Rc::new(Shared {
            text: self.text,
            home,
            needles: RefCell::new(Needles::before(printed.chain(bases))),
            ways: RefCell::default(),
            ids: Cell::new(0),
            until: self.until,
        });
        let mut known: FxHashMap<*const (), Rc<Readings>> = FxHashMap::default();
        let mut rows = Vec::with_capacity(piece.chain.len());
        for (row, planned) in piece.chain.iter().zip(&piece.plan.rows) {
            let key = Rc::as_ptr(&planned.readings).cast::<()>();
            let readings = known.entry(key).or_insert_with(|| {
                let all =
                    row.candidates.iter().map(|candidate| (candidate.cost, candidate.seq.clone())).collect();
                Rc::new(shared.readings(all))
            });
            rows.push(Rc::clone(readings));
        }
        Board {
            catalog: &self.catalog,
            shared,
            touched: vec![false; rows.len()],
            rows,
            stated: piece.chain.iter().map(|row| row.stated).collect(),
            starts: few_starts(piece),
            back_to: piece.ends.back_to,
            unclosed: self.unclosed,
            edits: Vec::new(),
            onward: RefCell::default(),
        }
    }
}

/// The numbers cast on that are worth trying: a few where the text says which are allowed, more where it does not.
fn few_starts(piece: &PieceReading) -> Vec<(u32, f64)> {
    let few = if piece.plan.cast_on.says_how_many() { 6 } else { 48 };
    let mut starts = piece.ends.starts.clone();
    starts
        .sort_by(|a, b| (a.0 != piece.path.start).cmp(&(b.0 != piece.path.start)).then(a.1.total_cmp(&b.1)));
    starts.truncate(few);
    starts
}

impl Found {
    /// Notes a correction made after others.
    fn make(&mut self, edit: Edit, after: u32) -> u32 {
        self.made.push((edit, after));
        u32::try_from(self.made.len() - 1).unwrap_or(NONE)
    }

    /// Adds a result: the corrections noted on a way after those of the board.
    fn add(&mut self, board: &Board<'_>, made: u32, cost: f64) {
        if cost > self.best + MARGIN || !cost.is_finite() {
            return;
        }
        self.best = self.best.min(cost);
        let mut edits = Vec::new();
        let mut at = made;
        while let Some((edit, before)) = self.made.get(at as usize) {
            edits.push(*edit);
            at = *before;
        }
        edits.extend(board.edits.iter().rev());
        edits.reverse();
        self.hits.push(Hit { edits, cost });
        if self.hits.len() > 8 * HITS {
            self.trim();
        }
    }

    fn trim(&mut self) {
        self.hits.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        self.hits.retain(|hit| hit.cost <= self.best + MARGIN);
        self.hits.truncate(HITS);
    }
}

impl Board<'_> {
    /// Tries corrections from a row on, so many on one way.
    fn look(&self, from: usize, depth: usize, found: &mut Found) {
        let floors = self.floors();
        let mut layers = self.forward();
        let mut nested: Vec<(f64, Edit, usize)> = Vec::new();
        for made in 1..=depth {
            layers = self.pass(from, &layers, (made, made == depth, &floors), &mut nested, found);
            if self.shared.is_spent()
                || found.best <= floors[0] + MISPRINT * (made + 1 + self.edits.len()) as f64
            {
                return;
            }
        }
        nested.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (_, edit, row) in nested.into_iter().take(NESTED) {
            if self.shared.is_spent() {
                return;
            }
            self.with(edit).look(row + 1, 1, found);
        }
    }

    /// One more correction on each way: gives the ways that have it, before each row.
    fn pass(
        &self,
        from: usize,
        before: &[Vec<State>],
        (made, last, floors): (usize, bool, &[f64]),
        nested: &mut Vec<(f64, Edit, usize)>,
        found: &mut Found,
    ) -> Vec<Vec<State>> {
        let next = (0..=self.rows.len()).map(|_| Layer::default()).collect();
        let steps = (self.shared.left_to_spend() as f64 * SHARE_OF_A_PASS) as u64;
        let fronts: Vec<Front<'_>> = before.iter().map(|states| Front::of(self, states)).collect();
        let ceiling = self.ceiling((from, &fronts), floors, found.best + MARGIN, steps);
        let mut pass = Pass { board: self, floors, next, last, ceiling };
        if made == 1 && from == 0 {
            pass.starts(found);
        }
        for (row, (states, front)) in before.iter().zip(&fronts).enumerate().take(self.rows.len()) {
            if self.shared.is_spent() {
                break;
            }
            let here = std::mem::take(&mut pass.next[row]);
            for state in self.plain_step(row, &here.states) {
                pass.keep(row + 1, state, found);
            }
            pass.next[row] = here;
            if row < from {
                continue;
            }
            for index in self.catalog.groups_at(row) {
                let group = &self.catalog.groups[index];
                if !self.touched[row] {
                    pass.group(index, group, front, found);
                }
                if made == 1 && self.edits.is_empty() && group.rows.len() > 1 {
                    nested.extend(pass.nesting(index, group, front));
                }
            }
            pass.wholes(row, states, found);
            pass.total(row, states, found);
        }
        pass.next.into_iter().map(|layer| layer.states).collect()
    }
}

#[cfg(test)]
mod tests {
    use reading::{Options, Reader, solve};

    use super::*;
    use crate::catalog::{Group, What};
    use crate::change::{Base, Change, Source};
    use crate::habits::Habits;
    use crate::words::Words;

    const TEXT: &str = "Cast on 11 stitches.\n\
        1st and 5th rows: knit 2, over, narrow, knit 4, narrow, over, knit 2.\n\
        2nd, 4th and 6th rows: purl.\n\
        3rd row: knit 3, over, narrow, knit 1, narrow, over, knit 3. There are 11 stitches.\n\
        7th row: knit 11.\n";

    /// The groups of the text, each with the changes of its chosen reading.
    fn groups(piece: &PieceReading, words: &Words<'_>, reader: &Reader) -> Vec<Group> {
        let habits = Habits::default();
        let source = Source { words, lexicon: reader.lexicon(), habits: &habits, own: 0 };
        let mut known: Vec<(*const (), Group)> = Vec::new();
        for (row, planned) in piece.plan.rows.iter().enumerate() {
            let key = Rc::as_ptr(&planned.readings).cast::<()>();
            if let Some((_, group)) = known.iter_mut().find(|(other, _)| *other == key) {
                group.rows.push(row);
                continue;
            }
            let candidate = &piece.chain[row].candidates[piece.path.rows[row].candidate];
            let base = Base::new(candidate.cost, &candidate.seq, &[], words).with_changes(&source);
            known.push((key, Group { rows: vec![row], bases: vec![base] }));
        }
        known.into_iter().map(|(_, group)| group).collect()
    }

    fn every_change(catalog: &Catalog) -> Vec<(&Group, &Base, &Change)> {
        let mut out = Vec::new();
        for group in &catalog.groups {
            for base in &group.bases {
                out.extend(base.changes.iter().map(|change| (group, base, change)));
            }
        }
        out
    }

    fn of_single_changes<'a>(piece: &'a PieceReading, words: &Words<'_>, reader: &Reader) -> Problem<'a> {
        let catalog = Catalog { groups: groups(piece, words, reader), ..Catalog::default() };
        Problem { piece: Cow::Borrowed(piece), catalog, unclosed: 0.0, text: TEXT, until: u64::MAX }
    }

    #[test]
    fn the_search_agrees_with_trying_each_correction_by_itself() {
        let reader = Reader::new().unwrap();
        let words = Words::new(TEXT);
        let reading = reader.read(TEXT, &Options::default());
        let piece = &reading.pieces[0];
        let problem = of_single_changes(piece, &words, &reader);
        let (hits, catalog) = (problem.search(), &problem.catalog);
        let single: Vec<&Hit> = hits.iter().filter(|hit| hit.edits.len() == 1).collect();
        assert!(single.len() >= 3, "{}", single.len());
        for hit in single {
            let What::Change { group, base, change } = hit.edits[0].what else {
                panic!("only changes were given")
            };
            let group = &catalog.groups[group];
            let base = &group.bases[base];
            let mut chain = piece.chain.clone();
            for row in &group.rows {
                chain[*row].candidates.truncate(1);
                chain[*row].candidates[0].cost = base.cost;
                chain[*row].candidates[0].seq = base.build(&base.changes[change]).unwrap();
            }
            let tried = solve(&chain, &piece.ends)
                .into_iter()
                .find(|path| path.rows.iter().all(|row| row.fit.cut.is_none()))
                .unwrap();
            assert!(
                (tried.cost + hit.edits[0].cost - hit.cost).abs() < 1e-9,
                "{} and {}",
                tried.cost + hit.edits[0].cost,
                hit.cost
            );
        }
        let least = hits[0].cost;
        for (group, base, change) in every_change(catalog) {
            let Some(seq) = base.build(change) else { continue };
            let mut chain = piece.chain.clone();
            for row in &group.rows {
                chain[*row].candidates.truncate(1);
                chain[*row].candidates[0].cost = base.cost;
                chain[*row].candidates[0].seq = seq.clone();
            }
            let tried = solve(&chain, &piece.ends)
                .into_iter()
                .find(|path| path.rows.iter().all(|row| row.fit.cut.is_none()));
            assert!(
                tried.is_none_or(|path| path.cost + change.cost + MISPRINT >= least - 1e-9),
                "one is cheaper than the best found"
            );
        }
    }

    #[test]
    fn the_fewer_steps_are_left_the_likelier_must_a_correction_be_to_be_tried() {
        let reader = Reader::new().unwrap();
        let words = Words::new(TEXT);
        let reading = reader.read(TEXT, &Options::default());
        let piece = &reading.pieces[0];
        let problem = of_single_changes(piece, &words, &reader);
        let (board, most) = (problem.board(), 100.0);
        let layers = board.forward();
        let fronts: Vec<Front<'_>> = layers.iter().map(|states| Front::of(&board, states)).collect();
        let ceiling = |steps: u64| board.ceiling((0, &fronts), &board.floors(), most, steps);
        let ceilings: Vec<f64> = [0, 100, 1_000, u64::MAX].map(ceiling).to_vec();
        assert!(ceilings.is_sorted() && ceilings[0] < ceilings[2], "{ceilings:?}");
        assert!(ceilings[0] >= MISPRINT && ceilings[2] < most, "{ceilings:?}");
        assert_eq!(ceilings[3], f64::INFINITY);
    }
}
