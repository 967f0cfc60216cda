//! The rows of a piece with the cheapest ways over them: up to each count before a row, and on from each after it.

use std::cell::RefCell;
use std::rc::Rc;

use reading::{FAULT, Needle, STATED, effort};
use rustc_hash::FxHashMap;

use crate::catalog::{Catalog, Edit, Group, What};

use super::ways::{Held, Readings, Shared, Ways};

/// How many ways that come to the same count are kept with their corrections.
const ALIKE: usize = 6;
/// The most counts kept before a row.
const STATES: usize = 96;
/// The most places looked up on the way on; a text that has more is no pattern.
const LOOKUPS: usize = 400_000;
/// Steps of work for each of them.
const LOOKED_UP: usize = 2;
/// No row has been passed where a repeat in height begins.
pub(super) const OPEN: u32 = u32::MAX;
/// No correction has been made.
pub(super) const NONE: u32 = u32::MAX;

/// A way up to a row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct State {
    pub(super) needle: Held,
    pub(super) anchor: u32,
    /// Nats so far, corrections and all.
    pub(super) cost: f64,
    /// The corrections made, in the list of all: its last, or [`NONE`].
    pub(super) made: u32,
}

/// The rows of a piece with some corrections applied.
pub(super) struct Board<'a> {
    pub(super) catalog: &'a Catalog,
    pub(super) shared: Rc<Shared<'a>>,
    pub(super) rows: Vec<Rc<Readings>>,
    pub(super) stated: Vec<Option<u32>>,
    pub(super) starts: Vec<(u32, f64)>,
    pub(super) back_to: Option<usize>,
    pub(super) unclosed: f64,
    pub(super) edits: Vec<Edit>,
    /// Changed rows, which are not changed again.
    pub(super) touched: Vec<bool>,
    pub(super) onward: RefCell<FxHashMap<(u32, u32, u32), f64>>,
}

impl<'a> Board<'a> {
    pub(super) fn stated_cost(&self, row: usize, after: u32) -> f64 {
        if self.stated[row].is_some_and(|stated| stated != after) { STATED } else { 0.0 }
    }

    pub(super) fn anchor(&self, row: usize, state: &State) -> u32 {
        if self.back_to == Some(row) { state.needle.count } else { state.anchor }
    }

    pub(super) fn end_cost(&self, count: u32, anchor: u32) -> f64 {
        if self.back_to.is_some() && anchor != count { self.unclosed } else { 0.0 }
    }

    /// The states after a row, the cheapest few of each count, of those before it that cost no more than a limit.
    pub(super) fn advance(
        &self,
        row: usize,
        ways: impl Fn(Held) -> Ways,
        before: &[State],
        limit: f64,
    ) -> Vec<State> {
        let mut out = Layer::default();
        let mut known: FxHashMap<u32, Ways> = FxHashMap::default();
        for state in before.iter().filter(|state| state.cost <= limit) {
            let anchor = self.anchor(row, state);
            let ways = known.entry(state.needle.index).or_insert_with(|| ways(state.needle));
            effort::spend(ways.len() / 2);
            for (after, cost) in ways.iter() {
                let cost = state.cost + cost + self.stated_cost(row, after.count);
                out.add(State { needle: *after, anchor, cost, made: state.made });
            }
        }
        out.states
    }

    pub(super) fn plain_step(&self, row: usize, before: &[State]) -> Vec<State> {
        self.step(row, before, f64::INFINITY)
    }

    fn step(&self, row: usize, before: &[State], limit: f64) -> Vec<State> {
        self.advance(row, |needle| self.shared.ways(&self.rows[row], needle), before, limit)
    }

    pub(super) fn first(&self) -> Vec<State> {
        self.starts
            .iter()
            .map(|(count, cost)| State {
                needle: self.shared.held(Needle::cast_on(*count)),
                anchor: OPEN,
                cost: *cost,
                made: NONE,
            })
            .collect()
    }

    /// The states before each row, and those after the last.
    pub(super) fn forward(&self) -> Vec<Vec<State>> {
        let mut layers = vec![self.first()];
        for row in 0..self.rows.len() {
            let next = self.plain_step(row, layers.last().map_or(&[][..], Vec::as_slice));
            layers.push(next);
        }
        layers
    }

    pub(super) fn whole_cost(&self) -> f64 {
        let last = self.forward().pop().unwrap_or_default();
        last.iter()
            .map(|state| state.cost + self.end_cost(state.needle.count, state.anchor))
            .fold(f64::INFINITY, f64::min)
    }

    /// The cheapest way on from a needle before a row to the end.
    pub(super) fn onward(&self, row: usize, needle: Held, anchor: u32) -> f64 {
        let end = self.rows.len();
        let mut onward = self.onward.borrow_mut();
        let key = |row: usize, needle: Held, anchor: u32| (row as u32, needle.index, anchor);
        let known = |onward: &FxHashMap<_, f64>, (row, needle, anchor): (usize, Held, u32)| {
            if row == end {
                Some(self.end_cost(needle.count, anchor))
            } else {
                onward.get(&key(row, needle, anchor)).copied()
            }
        };
        let goal = (row, needle, anchor);
        if let Some(known) = known(&onward, goal) {
            return known;
        }
        let mut stack = vec![goal];
        while let Some(at) = stack.last().copied() {
            if known(&onward, at).is_some() {
                stack.pop();
                continue;
            }
            if onward.len() > LOOKUPS || self.shared.is_spent() {
                return f64::INFINITY;
            }
            let (row, needle, anchor) = at;
            let from = if self.back_to == Some(row) { needle.count } else { anchor };
            let mut best = f64::INFINITY;
            let waiting = stack.len();
            let ways = self.shared.ways(&self.rows[row], needle);
            effort::spend(LOOKED_UP + ways.len());
            for (after, cost) in ways.iter() {
                let next = (row + 1, *after, from);
                match known(&onward, next) {
                    Some(rest) => best = best.min(cost + self.stated_cost(row, after.count) + rest),
                    None => stack.push(next),
                }
            }
            if stack.len() == waiting {
                onward.insert(key(row, needle, anchor), best);
                stack.pop();
            }
        }
        known(&onward, goal).unwrap_or(f64::INFINITY)
    }

    /// The ways past the last row of a group, where its first row is changed and passed; also the row they stand before.
    /// `limit` tells what a way may cost before a row and still be wanted.
    pub(super) fn through(
        &self,
        group: &Group,
        first: usize,
        readings: Readings,
        mut states: Vec<State>,
        limit: impl Fn(usize) -> f64,
    ) -> (usize, Vec<State>) {
        let last = group.rows.last().copied().unwrap_or(first);
        if last > first {
            let readings = self.shared.readings(readings.all);
            for row in first + 1..=last {
                states = if group.rows.contains(&row) && !self.touched[row] {
                    self.advance(row, |needle| self.shared.ways(&readings, needle), &states, limit(row))
                } else {
                    self.step(row, &states, limit(row))
                };
            }
        }
        (last + 1, states)
    }

    /// What the rows from each on cost at least.
    pub(super) fn floors(&self) -> Vec<f64> {
        let mut floors = vec![0.0; self.rows.len() + 1];
        for row in (0..self.rows.len()).rev() {
            let least = self.rows[row].all.iter().map(|(cost, _)| *cost).fold(f64::INFINITY, f64::min);
            floors[row] = floors[row + 1] + if least.is_finite() { least } else { FAULT };
        }
        floors
    }

    /// The board with one more correction of shared words.
    pub(super) fn with(&self, edit: Edit) -> Board<'a> {
        let mut board = Board {
            catalog: self.catalog,
            shared: Rc::clone(&self.shared),
            rows: self.rows.clone(),
            stated: self.stated.clone(),
            starts: self.starts.iter().map(|(count, cost)| (*count, cost + edit.cost)).collect(),
            back_to: self.back_to,
            unclosed: self.unclosed,
            edits: self.edits.iter().copied().chain([edit]).collect(),
            touched: self.touched.clone(),
            onward: RefCell::default(),
        };
        let What::Change { group, base, change } = edit.what else { return board };
        let group = &self.catalog.groups[group];
        let base = &group.bases[base];
        if let Some(seq) = base.build(&base.changes[change]) {
            let readings = Rc::new(self.shared.readings(vec![(base.cost, seq)]));
            for row in group.rows.iter().copied().filter(|row| !self.touched[*row]) {
                board.rows[row] = Rc::clone(&readings);
                board.touched[row] = true;
            }
        }
        board
    }
}

/// The ways up to a row; of those that come to the same needle the cheapest few stay.
#[derive(Default)]
pub(super) struct Layer {
    pub(super) states: Vec<State>,
    /// Where those stand that come to the same needle and began a repeat on the same.
    alike: FxHashMap<(u32, u32), Alike>,
}

/// The places of a few ways.
#[derive(Clone, Copy, Default)]
struct Alike {
    len: usize,
    at: [u32; ALIKE],
}

impl Layer {
    /// Adds a way.
    pub(super) fn add(&mut self, state: State) {
        let alike = self.alike.entry((state.needle.index, state.anchor)).or_default();
        let mut dearest: Option<(usize, f64)> = None;
        for at in alike.at[..alike.len].iter().map(|at| *at as usize) {
            let other = &mut self.states[at];
            if other.made == state.made {
                other.cost = other.cost.min(state.cost);
                return;
            }
            if dearest.is_none_or(|(_, cost)| other.cost > cost) {
                dearest = Some((at, other.cost));
            }
        }
        match dearest {
            Some((at, cost)) if alike.len >= ALIKE && cost > state.cost => self.states[at] = state,
            Some(_) if alike.len >= ALIKE => {}
            _ if self.states.len() < STATES * ALIKE => {
                alike.at[alike.len] = u32::try_from(self.states.len()).unwrap_or(u32::MAX);
                alike.len += 1;
                self.states.push(state);
            }
            _ => {}
        }
    }
}
