//! The exact search for the cheapest corrections of one piece.
//!
//! Rows couple only through the number of stitches. So the cheapest way to each count before a row, and the cheapest
//! way on from each count after it, are found once for the text as printed; every correction of every row is then one
//! step between the two, and its whole cost is known exactly. A correction belongs to printed words: where several
//! rows share them, it is applied to all of these rows, and paid for once.
//!
//! Where one correction does not mend everything, each correction whose rows up to its own come out cheaply enough is
//! applied and the search is made again for the rows below it: up to [`DEPTH`] corrections, cut only by a bound on the
//! cost and by [`WIDTHS`].

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use reading::{FAULT, PieceReading, STATED, Seq, faulty, fits};
use rustc_hash::FxHashMap;

use crate::change::Base;
use crate::class::{Class, MISPRINT};

/// The most independent corrections of one piece.
const DEPTH: usize = 3;
/// How many corrections are followed up when one does not mend all, and when two do not.
const WIDTHS: [usize; DEPTH - 1] = [160, 40];
/// Nats above the best that are still given back, so that evidence may decide.
const MARGIN: f64 = 9.0;
/// The most results.
const HITS: usize = 400;
/// The most counts kept before a row.
const STATES: usize = 96;
/// The most places looked up on the way on; a text that has more is no pattern.
const LOOKUPS: usize = 400_000;
/// No row has been passed where a repeat in height begins.
const OPEN: u32 = u32::MAX;

/// Readings that a row may have, cheapest first.
#[derive(Debug)]
pub struct Readings {
    id: u32,
    all: Vec<(f64, Seq)>,
}

/// Rows that share their printed words, and what may be changed in them.
pub struct Group {
    /// The rows.
    pub rows: Vec<usize>,
    /// Their readings, each with its changes.
    pub bases: Vec<Base>,
}

/// A correction that gives whole rows other readings.
pub struct Whole {
    /// The class of misprint.
    pub class: Class,
    /// Nats against it, [`MISPRINT`] not counted.
    pub cost: f64,
    /// The rows with the row whose readings they take.
    pub rows: Vec<(usize, usize)>,
    /// The corrected words.
    pub patches: Vec<crate::patch::Patch>,
}

/// Another number cast on.
#[derive(Clone, Copy, Debug)]
pub struct Start {
    /// The number.
    pub count: u32,
    /// Nats against it, [`MISPRINT`] not counted.
    pub cost: f64,
}

/// Everything that may be corrected in a piece.
#[derive(Default)]
pub struct Catalog {
    /// Changes within rows.
    pub groups: Vec<Group>,
    /// Changes of whole rows.
    pub wholes: Vec<Whole>,
    /// Other numbers cast on.
    pub starts: Vec<Start>,
    /// Rows whose stated count may be wrong.
    pub totals: Vec<usize>,
}

/// Which correction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// A change of the rows of a group.
    Change {
        /// Index of the group.
        group: usize,
        /// Index of its reading.
        base: usize,
        /// Index of the change.
        change: usize,
    },
    /// A correction of whole rows, by index.
    Whole(usize),
    /// Another number cast on.
    Start(u32),
    /// The count stated after a row should be this.
    Total(usize, u32),
}

/// One correction with its cost, [`MISPRINT`] counted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edit {
    /// What it is.
    pub what: What,
    /// Nats against it.
    pub cost: f64,
}

/// Corrections that go together, with the cost of the whole.
#[derive(Clone, Debug)]
pub struct Hit {
    /// The corrections.
    pub edits: Vec<Edit>,
    /// Nats against the corrections and the piece as it then is.
    pub cost: f64,
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct State {
    count: u32,
    anchor: u32,
    cost: f64,
}

type Ways = Rc<[(u32, f64)]>;

#[derive(Default)]
struct Shared {
    ways: RefCell<FxHashMap<(u32, u32), Ways>>,
    ids: Cell<u32>,
}

/// The rows of a piece with some corrections applied.
struct Board<'a> {
    catalog: &'a Catalog,
    shared: Rc<Shared>,
    rows: Vec<Rc<Readings>>,
    stated: Vec<Option<u32>>,
    starts: Vec<(u32, f64)>,
    back_to: Option<usize>,
    unclosed: f64,
    edits: Vec<Edit>,
    /// Changed rows, which are not changed again.
    touched: Vec<bool>,
    onward: RefCell<FxHashMap<(u32, u32, u32), f64>>,
}

/// Results so far.
struct Found {
    hits: Vec<Hit>,
    best: f64,
}

/// What may be corrected, cheapest first, the piece as printed not among them.
pub fn search(piece: &PieceReading, catalog: &Catalog, unclosed: f64) -> Vec<Hit> {
    let shared = Rc::new(Shared::default());
    let mut known: FxHashMap<*const (), Rc<Readings>> = FxHashMap::default();
    let mut rows = Vec::with_capacity(piece.chain.len());
    for (row, planned) in piece.chain.iter().zip(&piece.plan.rows) {
        let key = Rc::as_ptr(&planned.readings).cast::<()>();
        let readings = known.entry(key).or_insert_with(|| {
            let all = row.candidates.iter().map(|candidate| (candidate.cost, candidate.seq.clone())).collect();
            Rc::new(shared.readings(all))
        });
        rows.push(Rc::clone(readings));
    }
    let board = Board {
        catalog,
        shared,
        touched: vec![false; rows.len()],
        rows,
        stated: piece.chain.iter().map(|row| row.stated).collect(),
        starts: few_starts(piece),
        back_to: piece.ends.back_to,
        unclosed,
        edits: Vec::new(),
        onward: RefCell::default(),
    };
    let mut found = Found { hits: Vec::new(), best: board.whole_cost() };
    board.look(0, 1, &mut found);
    found.finish()
}

/// The few numbers cast on that are worth trying.
fn few_starts(piece: &PieceReading) -> Vec<(u32, f64)> {
    const FEW: usize = 6;
    let mut starts = piece.ends.starts.clone();
    starts.sort_by(|a, b| (a.0 != piece.path.start).cmp(&(b.0 != piece.path.start)).then(a.1.total_cmp(&b.1)));
    starts.truncate(FEW);
    starts
}

impl Found {
    fn add(&mut self, edits: Vec<Edit>, cost: f64) {
        if cost > self.best + MARGIN {
            return;
        }
        self.best = self.best.min(cost);
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

    fn finish(mut self) -> Vec<Hit> {
        self.trim();
        self.hits
    }
}

impl Shared {
    fn readings(&self, all: Vec<(f64, Seq)>) -> Readings {
        let id = self.ids.get();
        self.ids.set(id + 1);
        Readings { id, all }
    }

    /// The counts that a row may leave, with the cost of each; a row that fits in no reading is passed as a fault.
    fn ways(&self, readings: &Readings, count: u32) -> Ways {
        if let Some(known) = self.ways.borrow().get(&(readings.id, count)) {
            return Rc::clone(known);
        }
        let mut out = fitting(readings, count);
        if out.is_empty() {
            for (cost, seq) in &readings.all {
                faulty(seq, count).into_iter().for_each(|fit| cheaper(&mut out, fit.after, cost + fit.cost));
            }
        }
        let ways: Ways = out.into();
        self.ways.borrow_mut().insert((readings.id, count), Rc::clone(&ways));
        ways
    }
}

/// The counts that readings leave where they fit.
fn fitting(readings: &Readings, count: u32) -> Vec<(u32, f64)> {
    let mut out = Vec::new();
    let mut fit = Vec::new();
    for (cost, seq) in &readings.all {
        let shape = seq.shape();
        if shape.fixed.takes > count {
            continue;
        }
        fits(seq, count, 0, &mut fit);
        fit.iter().for_each(|fit| cheaper(&mut out, fit.after, cost + fit.cost));
    }
    out
}

fn cheaper(out: &mut Vec<(u32, f64)>, after: u32, cost: f64) {
    match out.iter_mut().find(|(other, _)| *other == after) {
        Some((_, known)) => *known = known.min(cost),
        None => out.push((after, cost)),
    }
}

impl<'a> Board<'a> {
    fn stated_cost(&self, row: usize, after: u32) -> f64 {
        if self.stated[row].is_some_and(|stated| stated != after) { STATED } else { 0.0 }
    }

    fn anchor(&self, row: usize, state: &State) -> u32 {
        if self.back_to == Some(row) { state.count } else { state.anchor }
    }

    fn end_cost(&self, count: u32, anchor: u32) -> f64 {
        if self.back_to.is_some() && anchor != count { self.unclosed } else { 0.0 }
    }

    /// The states after a row.
    fn advance(&self, row: usize, ways: impl Fn(u32) -> Ways, before: &[State]) -> Vec<State> {
        let mut out: Vec<State> = Vec::new();
        for state in before {
            let anchor = self.anchor(row, state);
            for (after, cost) in ways(state.count).iter() {
                let cost = state.cost + cost + self.stated_cost(row, *after);
                match out.iter_mut().find(|other| other.count == *after && other.anchor == anchor) {
                    Some(other) => other.cost = other.cost.min(cost),
                    None => out.push(State { count: *after, anchor, cost }),
                }
            }
        }
        if out.len() > STATES {
            out.sort_by(|a, b| a.cost.total_cmp(&b.cost));
            out.truncate(STATES);
        }
        out
    }

    fn plain_step(&self, row: usize, before: &[State]) -> Vec<State> {
        self.advance(row, |count| self.shared.ways(&self.rows[row], count), before)
    }

    fn first(&self) -> Vec<State> {
        self.starts.iter().map(|(count, cost)| State { count: *count, anchor: OPEN, cost: *cost }).collect()
    }

    /// The states before each row, and those after the last.
    fn forward(&self) -> Vec<Vec<State>> {
        let mut layers = vec![self.first()];
        for row in 0..self.rows.len() {
            let next = self.plain_step(row, layers.last().map_or(&[][..], Vec::as_slice));
            layers.push(next);
        }
        layers
    }

    fn whole_cost(&self) -> f64 {
        let last = self.forward().pop().unwrap_or_default();
        let corrections: f64 = self.edits.iter().map(|edit| edit.cost).sum();
        corrections + last.iter().map(|state| state.cost + self.end_cost(state.count, state.anchor)).fold(f64::INFINITY, f64::min)
    }

    /// The cheapest way on from a count before a row to the end.
    fn onward(&self, row: usize, count: u32, anchor: u32) -> f64 {
        let end = self.rows.len();
        let key = |row: usize, count: u32, anchor: u32| (row as u32, count, anchor);
        let known = |at: &(u32, u32, u32)| if at.0 as usize == end { Some(self.end_cost(at.1, at.2)) } else { self.onward.borrow().get(at).copied() };
        let goal = key(row, count, anchor);
        if let Some(cost) = known(&goal) {
            return cost;
        }
        let mut stack = vec![goal];
        while let Some(at) = stack.last().copied() {
            let row = at.0 as usize;
            let anchor = if self.back_to == Some(row) { at.1 } else { at.2 };
            let ways = self.shared.ways(&self.rows[row], at.1);
            let mut best = f64::INFINITY;
            let mut waits = false;
            for (after, cost) in ways.iter() {
                let next = key(row + 1, *after, anchor);
                match known(&next) {
                    Some(rest) => best = best.min(cost + self.stated_cost(row, *after) + rest),
                    None => {
                        waits = true;
                        stack.push(next);
                    }
                }
            }
            if self.onward.borrow().len() > LOOKUPS {
                return f64::INFINITY;
            }
            if !waits {
                self.onward.borrow_mut().insert(at, best);
                stack.pop();
            }
        }
        known(&goal).unwrap_or(f64::INFINITY)
    }

    fn rest(&self, row: usize, states: &[State]) -> f64 {
        states.iter().map(|state| state.cost + self.onward(row, state.count, state.anchor)).fold(f64::INFINITY, f64::min)
    }

    /// Tries every correction from a row on, and follows up those that leave faults behind.
    fn look(&self, from: usize, depth: usize, found: &mut Found) {
        let layers = self.forward();
        let floors = self.floors();
        let spent: f64 = self.edits.iter().map(|edit| edit.cost).sum();
        let mut open: Vec<(f64, usize, Edit)> = Vec::new();
        let mut tried = |edit: Edit, row: usize, total: f64, so_far: f64, found: &mut Found| {
            if total.is_finite() {
                found.add(self.edits.iter().copied().chain([edit]).collect(), spent + edit.cost + total);
            }
            open.push((spent + edit.cost + so_far + MISPRINT + floors[row], row, edit));
        };
        if from == 0 {
            self.try_starts(&mut tried, found);
        }
        for (index, group) in self.catalog.groups.iter().enumerate() {
            if group.rows.first().is_some_and(|first| *first >= from && !self.touched[*first]) {
                self.try_group(index, group, &layers, spent, &mut tried, found);
            }
        }
        self.try_wholes(from, &layers, &mut tried, found);
        self.try_totals(from, &layers, &mut tried, found);
        if depth < DEPTH && found.best > floors[0] + MISPRINT * (depth + 1) as f64 {
            open.sort_by(|a, b| a.0.total_cmp(&b.0));
            for (least, row, edit) in open.into_iter().take(WIDTHS[depth - 1]) {
                if least > found.best + 2.0 {
                    break;
                }
                self.with(edit).look(row, depth + 1, found);
            }
        }
    }

    /// What the rows from each on cost at least.
    fn floors(&self) -> Vec<f64> {
        let mut floors = vec![0.0; self.rows.len() + 1];
        for row in (0..self.rows.len()).rev() {
            let least = self.rows[row].all.iter().map(|(cost, _)| *cost).fold(f64::INFINITY, f64::min);
            floors[row] = floors[row + 1] + if least.is_finite() { least } else { FAULT };
        }
        floors
    }

    fn try_starts(&self, tried: &mut impl FnMut(Edit, usize, f64, f64, &mut Found), found: &mut Found) {
        for start in &self.catalog.starts {
            let total = self.onward(0, start.count, OPEN);
            tried(Edit { what: What::Start(start.count), cost: start.cost + MISPRINT }, 0, total, 0.0, found);
        }
    }

    fn try_group(
        &self,
        index: usize,
        group: &Group,
        layers: &[Vec<State>],
        spent: f64,
        tried: &mut impl FnMut(Edit, usize, f64, f64, &mut Found),
        found: &mut Found,
    ) {
        let Some(first) = group.rows.first().copied() else { return };
        let before = &layers[first];
        let least = before.iter().map(|state| state.cost).fold(f64::INFINITY, f64::min);
        for (at, base) in group.bases.iter().enumerate() {
            for (which, change) in base.changes.iter().enumerate() {
                let edit = Edit { what: What::Change { group: index, base: at, change: which }, cost: change.cost + MISPRINT };
                if spent + least + edit.cost + base.cost > found.best + MARGIN || !can_fit(base, change, before) {
                    continue;
                }
                let Some(seq) = base.build(change) else { continue };
                let readings = Readings { id: u32::MAX, all: vec![(base.cost, seq)] };
                let after = self.advance(first, |count| fitting(&readings, count).into(), before);
                if after.is_empty() {
                    continue;
                }
                let so_far = after.iter().map(|state| state.cost).fold(f64::INFINITY, f64::min);
                let total = self.through(group, first, readings, after);
                tried(edit, first, total, so_far, found);
            }
        }
    }

    /// The cost of a whole piece whose changed rows begin with one that is already passed.
    fn through(&self, group: &Group, first: usize, readings: Readings, mut states: Vec<State>) -> f64 {
        let last = group.rows.last().copied().unwrap_or(first);
        if last > first {
            let readings = self.shared.readings(readings.all);
            for row in first + 1..=last {
                states = if group.rows.contains(&row) && !self.touched[row] {
                    self.advance(row, |count| self.shared.ways(&readings, count), &states)
                } else {
                    self.plain_step(row, &states)
                };
            }
        }
        self.rest(last + 1, &states)
    }

    fn try_wholes(&self, from: usize, layers: &[Vec<State>], tried: &mut impl FnMut(Edit, usize, f64, f64, &mut Found), found: &mut Found) {
        for (index, whole) in self.catalog.wholes.iter().enumerate() {
            let (Some((first, _)), Some((last, _))) = (whole.rows.first().copied(), whole.rows.last().copied()) else { continue };
            if first < from || whole.rows.iter().any(|(row, _)| self.touched[*row]) {
                continue;
            }
            let mut states = layers[first].clone();
            for row in first..=last {
                let like = whole.rows.iter().find(|(changed, _)| *changed == row).map_or(row, |(_, like)| *like);
                states = self.advance(row, |count| self.shared.ways(&self.rows[like], count), &states);
            }
            let so_far = states.iter().map(|state| state.cost).fold(f64::INFINITY, f64::min);
            let total = self.rest(last + 1, &states);
            tried(Edit { what: What::Whole(index), cost: whole.cost + MISPRINT }, first, total, so_far, found);
        }
    }

    fn try_totals(&self, from: usize, layers: &[Vec<State>], tried: &mut impl FnMut(Edit, usize, f64, f64, &mut Found), found: &mut Found) {
        for row in self.catalog.totals.iter().copied().filter(|row| *row >= from) {
            let Some(stated) = self.stated[row] else { continue };
            for state in self.plain_step(row, &layers[row]) {
                if state.count == stated {
                    continue;
                }
                let cost = state.cost - STATED;
                let figures = (stated.to_string(), state.count.to_string());
                let class = Class::Total.cost() + crate::class::number_cost(stated, state.count, &figures.0, &figures.1).min(2.0);
                let total = cost + self.onward(row + 1, state.count, state.anchor);
                tried(Edit { what: What::Total(row, state.count), cost: class + MISPRINT }, row, total, cost, found);
            }
        }
    }

    /// The board with one more correction.
    fn with(&self, edit: Edit) -> Board<'a> {
        let mut board = Board {
            catalog: self.catalog,
            shared: Rc::clone(&self.shared),
            rows: self.rows.clone(),
            stated: self.stated.clone(),
            starts: self.starts.clone(),
            back_to: self.back_to,
            unclosed: self.unclosed,
            edits: self.edits.iter().copied().chain([edit]).collect(),
            touched: self.touched.clone(),
            onward: RefCell::default(),
        };
        match edit.what {
            What::Change { group, base, change } => {
                let group = &self.catalog.groups[group];
                let base = &group.bases[base];
                if let Some(seq) = base.build(&base.changes[change]) {
                    let readings = Rc::new(self.shared.readings(vec![(base.cost, seq)]));
                    for row in group.rows.iter().copied().filter(|row| !self.touched[*row]) {
                        board.rows[row] = Rc::clone(&readings);
                        board.touched[row] = true;
                    }
                }
            }
            What::Whole(index) => {
                for (row, like) in &self.catalog.wholes[index].rows {
                    board.rows[*row] = Rc::clone(&self.rows[*like]);
                    board.touched[*row] = true;
                }
            }
            What::Start(count) => board.starts = vec![(count, 0.0)],
            What::Total(row, count) => board.stated[row] = Some(count),
        }
        board
    }
}

/// Whether a change can make the row take what is there, as far as arithmetic tells without building it.
fn can_fit(base: &Base, change: &crate::change::Change, before: &[State]) -> bool {
    let shape = base.seq.shape();
    let Some(delta) = base.delta(change) else { return true };
    let takes = i64::from(shape.fixed.takes) + delta;
    if takes < 0 {
        return false;
    }
    match shape.open.as_slice() {
        [] if base.turns() => before.iter().any(|state| i64::from(state.count) >= takes),
        [] => before.iter().any(|state| i64::from(state.count) == takes),
        _ => before.iter().any(|state| i64::from(state.count) >= takes),
    }
}
