//! What is searched in one piece as plain numbers, for holding the search against other solvers.
//!
//! A needle, as it may be between two rows, is a place; a reading of a row, as printed or corrected, is a step from a place
//! to one after the row. A correction is paid for once and, where rows share its words, taken in all of them. Wanted is
//! the cheapest way from some place before the first row to one after the last, with at most so many corrections, and
//! with a cost on top where the repeat in height does not end with the count that it began with.
//!
//! Of the corrections of one row that share it with no other, only the cheapest between two places is told.

use reading::Needle;
use rustc_hash::FxHashMap;
use serde::Serialize;

use crate::catalog::Group;
use crate::class::MISPRINT;

use super::board::Board;
use super::pass::{can_fit, total_cost};
use super::ways::{Held, Readings};
use super::{DEPTH, Problem};

/// One search.
#[derive(Debug, Serialize)]
pub struct Model {
    /// The stitches on the needle at each place, before each row and after the last.
    pub counts: Vec<Vec<u32>>,
    /// How the work may begin: steps from nowhere to the places before the first row.
    pub starts: Vec<Step>,
    /// The steps of each row.
    pub steps: Vec<Vec<Step>>,
    /// The corrections.
    pub corrections: Vec<Correction>,
    /// How many corrections may be made.
    pub most: usize,
    /// The row at which a repeat in height begins again.
    pub back_to: Option<usize>,
    /// Nats against its ending with another count than it began with.
    pub unclosed: f64,
}

/// A step over a row.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Step {
    /// The place before the row.
    pub from: usize,
    /// The place after it.
    pub to: usize,
    /// Nats against it.
    pub cost: f64,
    /// The correction that it belongs to.
    pub correction: Option<usize>,
}

/// A correction, or those of one row.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Correction {
    /// The rows in each of which a step of this correction is taken if it is made; none where it is of the beginning.
    pub rows: Vec<usize>,
    /// Nats against it, beside those of its steps.
    pub cost: f64,
}

impl Problem<'_> {
    /// What is searched, as plain numbers.
    pub fn model(&self) -> Model {
        let board = self.board();
        let mut draft = Draft::new(&board);
        draft.starts();
        for row in 0..self.rows() {
            draft.row(row);
        }
        draft.finish()
    }
}

/// A place, and how many corrections it takes at least to come there.
#[derive(Clone, Copy)]
struct Place {
    needle: Held,
    made: usize,
}

/// A correction of rows that share their words, with the readings that it gives them.
struct Shared {
    correction: usize,
    rows: Vec<usize>,
    readings: Readings,
}

/// A model in the making: everything up to some row.
struct Draft<'b, 'a> {
    board: &'b Board<'a>,
    layers: Vec<Vec<Place>>,
    /// Where each needle stands among the places after the row under way.
    known: FxHashMap<Held, usize>,
    /// Where each correction's step between two places stands among the steps of the row under way.
    taken: FxHashMap<(usize, usize, usize), usize>,
    steps: Vec<Vec<Step>>,
    corrections: Vec<Correction>,
    shared: Vec<Shared>,
    /// The correction of each whole.
    wholes: Vec<usize>,
}

impl<'b, 'a> Draft<'b, 'a> {
    fn new(board: &'b Board<'a>) -> Draft<'b, 'a> {
        let mut draft = Draft {
            board,
            layers: Vec::new(),
            known: FxHashMap::default(),
            taken: FxHashMap::default(),
            steps: Vec::new(),
            corrections: Vec::new(),
            shared: Vec::new(),
            wholes: Vec::new(),
        };
        for whole in &board.catalog.wholes {
            let rows = whole.rows.iter().map(|(row, _)| *row).collect();
            let correction = draft.correction(rows, whole.cost + MISPRINT);
            draft.wholes.push(correction);
        }
        draft
    }

    fn correction(&mut self, rows: Vec<usize>, cost: f64) -> usize {
        self.corrections.push(Correction { rows, cost });
        self.corrections.len() - 1
    }

    /// Begins with the steps to another layer of places.
    fn layer(&mut self) {
        self.layers.push(Vec::new());
        self.steps.push(Vec::new());
        self.known.clear();
        self.taken.clear();
    }

    /// Adds a step, unless it takes too many corrections to come there; of two like it the cheaper is kept.
    fn step(&mut self, from: usize, after: Place, cost: f64, correction: Option<usize>) {
        let (Some(layer), Some(steps)) = (self.layers.last_mut(), self.steps.last_mut()) else { return };
        if after.made > DEPTH {
            return;
        }
        let to = *self.known.entry(after.needle).or_insert_with(|| {
            layer.push(after);
            layer.len() - 1
        });
        layer[to].made = layer[to].made.min(after.made);
        let key = (from, to, correction.map_or(0, |correction| correction + 1));
        let at = *self.taken.entry(key).or_insert(steps.len());
        match steps.get_mut(at) {
            Some(step) => step.cost = step.cost.min(cost),
            None => steps.push(Step { from, to, cost, correction }),
        }
    }

    fn starts(&mut self) {
        self.layer();
        for (count, cost) in &self.board.starts {
            self.step(
                0,
                Place { needle: self.board.shared.held(Needle::cast_on(*count)), made: 0 },
                *cost,
                None,
            );
        }
        let correction = self.correction(Vec::new(), MISPRINT);
        for start in &self.board.catalog.starts {
            self.step(
                0,
                Place { needle: self.board.shared.held(Needle::cast_on(start.count)), made: 1 },
                start.cost,
                Some(correction),
            );
        }
    }

    fn row(&mut self, row: usize) {
        let before = self.layers.last().cloned().unwrap_or_default();
        self.layer();
        self.as_printed(row, &before);
        for group in self.board.catalog.groups_at(row) {
            self.corrected(row, &self.board.catalog.groups[group], &before);
        }
        for at in 0..self.shared.len() {
            self.corrected_alike(row, at, &before);
        }
        for whole in 0..self.wholes.len() {
            self.like_another(row, whole, &before);
        }
    }

    /// The steps of a row as printed, and those with another count stated after it.
    fn as_printed(&mut self, row: usize, before: &[Place]) {
        let board = self.board;
        let stated = board.stated[row].filter(|_| board.catalog.totals.contains(&row));
        let total = stated.map(|_| self.correction(vec![row], MISPRINT));
        for (from, place) in before.iter().enumerate() {
            for (after, cost) in board.shared.ways(&board.rows[row], place.needle).iter() {
                let to = Place { needle: *after, made: place.made };
                self.step(from, to, cost + board.stated_cost(row, after.count), None);
                if let Some(stated) = stated.filter(|stated| *stated != after.count) {
                    let to = Place { made: place.made + 1, ..to };
                    self.step(from, to, cost + total_cost(stated, after.count), total);
                }
            }
        }
    }

    /// The steps of the first row of a group with each of its changes.
    fn corrected(&mut self, row: usize, group: &Group, before: &[Place]) {
        let needles: Vec<Needle> =
            before.iter().map(|place| self.board.shared.needle(place.needle)).collect();
        let alone = group.rows.len() == 1;
        let own = self.corrections.len();
        if alone {
            self.correction(group.rows.clone(), MISPRINT);
        }
        for base in &group.bases {
            for change in base.changes.iter().filter(|change| can_fit(base, change, &needles)) {
                let Some(seq) = base.build(change) else { continue };
                let readings = self.board.shared.readings(vec![(base.cost, seq)]);
                if alone {
                    self.changed(row, &readings, before, change.cost, own);
                    continue;
                }
                let correction = self.correction(group.rows.clone(), change.cost + MISPRINT);
                self.changed(row, &readings, before, 0.0, correction);
                self.shared.push(Shared { correction, rows: group.rows.clone(), readings });
            }
        }
    }

    fn changed(&mut self, row: usize, readings: &Readings, before: &[Place], cost: f64, correction: usize) {
        for (from, place) in before.iter().enumerate() {
            for (needle, more) in self.board.shared.fitting(readings, place.needle).iter() {
                let after = Place { needle: *needle, made: place.made + 1 };
                let cost = cost + more + self.board.stated_cost(row, needle.count);
                self.step(from, after, cost, Some(correction));
            }
        }
    }

    /// The steps of a later row of a group with a change of its first.
    fn corrected_alike(&mut self, row: usize, at: usize, before: &[Place]) {
        let shared = &self.shared[at];
        if !shared.rows[1..].contains(&row) {
            return;
        }
        let correction = shared.correction;
        for (from, place) in before.iter().enumerate() {
            let ways = self.board.shared.ways(&self.shared[at].readings, place.needle);
            self.carried_on(row, (from, *place), &ways, correction);
        }
    }

    /// The steps of a row that is corrected to be like another.
    fn like_another(&mut self, row: usize, whole: usize, before: &[Place]) {
        let rows = &self.board.catalog.wholes[whole].rows;
        let Some((at, (_, like))) = rows.iter().enumerate().find(|(_, (changed, _))| *changed == row) else {
            return;
        };
        for (from, place) in before.iter().enumerate() {
            let ways = self.board.shared.ways(&self.board.rows[*like], place.needle);
            let place = Place { made: place.made + usize::from(at == 0), ..*place };
            self.carried_on(row, (from, place), &ways, self.wholes[whole]);
        }
    }

    /// The steps of a row from a place to which a correction has been made.
    fn carried_on(
        &mut self,
        row: usize,
        (from, place): (usize, Place),
        ways: &[(Held, f64)],
        correction: usize,
    ) {
        for (needle, cost) in ways {
            let after = Place { needle: *needle, made: place.made.max(1) };
            self.step(from, after, cost + self.board.stated_cost(row, needle.count), Some(correction));
        }
    }

    fn finish(self) -> Model {
        let mut steps = self.steps.into_iter();
        let counts = |layer: &Vec<Place>| layer.iter().map(|place| place.needle.count).collect();
        Model {
            counts: self.layers.iter().map(counts).collect(),
            starts: steps.next().unwrap_or_default(),
            steps: steps.collect(),
            corrections: self.corrections,
            most: DEPTH,
            back_to: self.board.back_to,
            unclosed: self.board.unclosed,
        }
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use reading::{Options, Reader};

    use super::*;
    use crate::each_problem;

    /// Two rows do not come out, each by a misprint of its own; nothing is said of repeating.
    const TEXT: &str = "Cast on 21 stitches.\n\
        1st row: knit 3, make 1, knit 2 together, knit 16.\n\
        2nd row: knit 1, purl 19, knit 1.\n\
        3rd row: knit 5, make 1, knit 2 together, knit 15.\n\
        4th row: knit 2, purl 17, knit 2.\n\
        5th row: knit 5, make 1, knit 2 together, knit 14.\n\
        6th row: knit 3, purl 14, knit 3.\n\
        7th row: knit 6, make 1, knit 2 together, knit 13. There are 21 stitches.\n";

    /// The cheapest way by place and number of corrections, without the corrections of several rows.
    fn shortest(model: &Model) -> f64 {
        let mut before = BTreeMap::from([((0, 0), 0.0)]);
        for steps in std::iter::once(&model.starts).chain(&model.steps) {
            let mut after: BTreeMap<(usize, usize), f64> = BTreeMap::new();
            for ((place, made), so_far) in before {
                let alone = |step: &&Step| {
                    step.correction.is_none_or(|which| model.corrections[which].rows.len() <= 1)
                };
                for step in steps.iter().filter(|step| step.from == place).filter(alone) {
                    let correction = step.correction.map_or(0.0, |which| model.corrections[which].cost);
                    let made = made + usize::from(step.correction.is_some());
                    let cost = after.entry((step.to, made)).or_insert(f64::INFINITY);
                    *cost = cost.min(so_far + step.cost + correction);
                }
            }
            after.retain(|(_, made), _| *made <= model.most);
            before = after;
        }
        before.into_values().fold(f64::INFINITY, f64::min)
    }

    #[test]
    fn the_shortest_way_through_the_numbers_costs_what_the_search_finds() {
        let reader = Reader::new().unwrap();
        let mut problems = 0;
        each_problem(&reader.study(), TEXT, &Options::default(), &mut |problem| {
            problems += 1;
            let model = problem.model();
            assert_eq!(model.back_to, None);
            let (optimum, shortest) = (problem.optimum(), shortest(&model));
            assert!(optimum > 2.0 * MISPRINT && optimum < 3.0 * MISPRINT, "two corrections: {optimum}");
            assert!((optimum - shortest).abs() < 1e-9, "{optimum} and {shortest}");
        });
        assert_eq!(problems, 1);
    }
}
