//! The exact search for the cheapest corrections of one piece.
//!
//! Rows couple only through the number of stitches. So the cheapest way to each count before a row, and the cheapest
//! way on from each count after it, are found once for the text as printed; every correction of every row is then one
//! step between the two, and its whole cost is known exactly. A correction belongs to printed words: where several
//! rows share them, it is applied to all of these rows, and paid for once.
//!
//! Where one correction does not mend everything, the ways with one correction are carried on like those with none, and
//! a second is tried from each of them, and a third: as many passes over the rows as there are misprints, each as long
//! as the first. Of the ways that come to the same count the [`ALIKE`] cheapest are kept, and none whose cost is beyond
//! hope. Only two corrections of which one stands between rows that share the words of the other need a search of their
//! own; the [`NESTED`] likeliest are made.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use reading::{FAULT, Fit, Needle, PieceReading, STATED, Seq, faulty, ways};
use rustc_hash::FxHashMap;

use crate::change::Base;
use crate::class::{Class, MISPRINT, number_cost};
use crate::cut::Home;

/// The most independent corrections of one piece.
const DEPTH: usize = 3;
/// How many ways that come to the same count are kept with their corrections.
const ALIKE: usize = 6;
/// How many corrections of shared words are followed up by a search between their rows.
const NESTED: usize = 16;
/// Nats above the best beyond which a way with faults behind or before it is given up.
const HOPE: f64 = 5.0;
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

impl Catalog {
    /// The groups whose first row this is.
    fn groups_at(&self, row: usize) -> impl Iterator<Item = usize> {
        self.groups
            .iter()
            .enumerate()
            .filter(move |(_, group)| group.rows.first() == Some(&row))
            .map(|(index, _)| index)
    }
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
    needle: Needle,
    anchor: u32,
    /// Nats so far, corrections and all.
    cost: f64,
    /// The corrections made, in the list of all: its last, or [`NONE`].
    made: u32,
}

/// No correction has been made.
const NONE: u32 = u32::MAX;

type Ways = Rc<[(Needle, f64)]>;

struct Shared<'a> {
    text: &'a str,
    home: Home,
    ways: RefCell<FxHashMap<(u32, Needle), Ways>>,
    ids: Cell<u32>,
}

/// The rows of a piece with some corrections applied.
struct Board<'a> {
    catalog: &'a Catalog,
    shared: Rc<Shared<'a>>,
    rows: Vec<Rc<Readings>>,
    stated: Vec<Option<u32>>,
    starts: Vec<(u32, f64)>,
    back_to: Option<usize>,
    unclosed: f64,
    edits: Vec<Edit>,
    /// Changed rows, which are not changed again.
    touched: Vec<bool>,
    onward: RefCell<FxHashMap<(u32, Needle, u32), f64>>,
}

/// Results so far, and the corrections made on each way: each with the one before it.
struct Found {
    hits: Vec<Hit>,
    best: f64,
    made: Vec<(Edit, u32)>,
}

/// What may be corrected, cheapest first, the piece as printed not among them.
pub fn search(piece: &PieceReading, catalog: &Catalog, unclosed: f64, text: &str) -> Vec<Hit> {
    let shared = Rc::new(Shared { text, home: Home::of(piece), ways: RefCell::default(), ids: Cell::new(0) });
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
    let mut found = Found { hits: Vec::new(), best: board.whole_cost(), made: Vec::new() };
    board.look(0, DEPTH, &mut found);
    found.finish()
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

    fn finish(mut self) -> Vec<Hit> {
        self.trim();
        self.hits
    }
}

impl Shared<'_> {
    fn readings(&self, all: Vec<(f64, Seq)>) -> Readings {
        let id = self.ids.get();
        self.ids.set(id + 1);
        Readings { id, all }
    }

    /// What a row may leave, with the cost of each; a row that fits in no reading is passed as a fault.
    fn ways(&self, readings: &Readings, needle: Needle) -> Ways {
        if let Some(known) = self.ways.borrow().get(&(readings.id, needle)) {
            return Rc::clone(known);
        }
        let mut out = self.fitting(readings, needle);
        if out.is_empty() {
            for (cost, seq) in &readings.all {
                for fit in faulty(seq, needle.count) {
                    cheaper(&mut out, needle.after(seq, &fit), cost + fit.cost);
                }
            }
        }
        let ways: Ways = out.into();
        self.ways.borrow_mut().insert((readings.id, needle), Rc::clone(&ways));
        ways
    }

    /// What readings leave where they fit.
    fn fitting(&self, readings: &Readings, needle: Needle) -> Vec<(Needle, f64)> {
        let mut out = Vec::new();
        let mut fits: Vec<Fit> = Vec::new();
        for (cost, seq) in &readings.all {
            if seq.shape().fixed.takes > needle.count {
                continue;
            }
            ways(seq, needle, &mut fits);
            for fit in &fits {
                let strain = self.home.cut_cost(seq, fit, needle.count, self.text);
                cheaper(&mut out, needle.after(seq, fit), cost + fit.cost + strain);
            }
        }
        out
    }
}

fn cheaper(out: &mut Vec<(Needle, f64)>, after: Needle, cost: f64) {
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
        if self.back_to == Some(row) { state.needle.count } else { state.anchor }
    }

    fn end_cost(&self, count: u32, anchor: u32) -> f64 {
        if self.back_to.is_some() && anchor != count { self.unclosed } else { 0.0 }
    }

    /// The states after a row, the cheapest few of each count.
    fn advance(&self, row: usize, ways: impl Fn(Needle) -> Ways, before: &[State]) -> Vec<State> {
        let mut out: Vec<State> = Vec::new();
        for state in before {
            let anchor = self.anchor(row, state);
            for (after, cost) in ways(state.needle).iter() {
                let cost = state.cost + cost + self.stated_cost(row, after.count);
                add_state(&mut out, State { needle: *after, anchor, cost, made: state.made });
            }
        }
        out
    }

    fn plain_step(&self, row: usize, before: &[State]) -> Vec<State> {
        self.advance(row, |needle| self.shared.ways(&self.rows[row], needle), before)
    }

    fn first(&self) -> Vec<State> {
        self.starts
            .iter()
            .map(|(count, cost)| State {
                needle: Needle::cast_on(*count),
                anchor: OPEN,
                cost: *cost,
                made: NONE,
            })
            .collect()
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
        last.iter()
            .map(|state| state.cost + self.end_cost(state.needle.count, state.anchor))
            .fold(f64::INFINITY, f64::min)
    }

    /// The cheapest way on from a needle before a row to the end.
    fn onward(&self, row: usize, needle: Needle, anchor: u32) -> f64 {
        let end = self.rows.len();
        let key = |row: usize, needle: Needle, anchor: u32| (row as u32, needle, anchor);
        let known = |at: &(u32, Needle, u32)| match at.0 as usize {
            row if row == end => Some(self.end_cost(at.1.count, at.2)),
            _ => self.onward.borrow().get(at).copied(),
        };
        let goal = key(row, needle, anchor);
        let mut stack = vec![goal];
        while let Some(at) = stack.last().copied() {
            if known(&at).is_some() {
                stack.pop();
                continue;
            }
            if self.onward.borrow().len() > LOOKUPS {
                return f64::INFINITY;
            }
            let row = at.0 as usize;
            let anchor = if self.back_to == Some(row) { at.1.count } else { at.2 };
            let mut best = f64::INFINITY;
            let waiting = stack.len();
            for (after, cost) in self.shared.ways(&self.rows[row], at.1).iter() {
                let next = key(row + 1, *after, anchor);
                match known(&next) {
                    Some(rest) => best = best.min(cost + self.stated_cost(row, after.count) + rest),
                    None => stack.push(next),
                }
            }
            if stack.len() == waiting {
                self.onward.borrow_mut().insert(at, best);
                stack.pop();
            }
        }
        known(&goal).unwrap_or(f64::INFINITY)
    }

    /// The ways past the last row of a group, where its first row is changed and passed; also the row they stand before.
    fn through(
        &self,
        group: &Group,
        first: usize,
        readings: Readings,
        mut states: Vec<State>,
    ) -> (usize, Vec<State>) {
        let last = group.rows.last().copied().unwrap_or(first);
        if last > first {
            let readings = self.shared.readings(readings.all);
            for row in first + 1..=last {
                states = if group.rows.contains(&row) && !self.touched[row] {
                    self.advance(row, |needle| self.shared.ways(&readings, needle), &states)
                } else {
                    self.plain_step(row, &states)
                };
            }
        }
        (last + 1, states)
    }

    /// Tries corrections from a row on, so many on one way.
    fn look(&self, from: usize, depth: usize, found: &mut Found) {
        let floors = self.floors();
        let mut layers = self.forward();
        let mut nested: Vec<(f64, Edit, usize)> = Vec::new();
        for made in 1..=depth {
            layers = self.pass(from, &layers, (made, &floors), &mut nested, found);
            if found.best <= floors[0] + MISPRINT * (made + 1 + self.edits.len()) as f64 {
                return;
            }
        }
        nested.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (_, edit, row) in nested.into_iter().take(NESTED) {
            self.with(edit).look(row + 1, 1, found);
        }
    }

    /// One more correction on each way: gives the ways that have it, before each row.
    fn pass(
        &self,
        from: usize,
        before: &[Vec<State>],
        (made, floors): (usize, &[f64]),
        nested: &mut Vec<(f64, Edit, usize)>,
        found: &mut Found,
    ) -> Vec<Vec<State>> {
        let mut pass = Pass { board: self, floors, next: vec![Vec::new(); self.rows.len() + 1] };
        if made == 1 && from == 0 {
            pass.starts(found);
        }
        for (row, states) in before.iter().enumerate().take(self.rows.len()) {
            let here = std::mem::take(&mut pass.next[row]);
            for state in self.plain_step(row, &here) {
                pass.keep(row + 1, state, found);
            }
            pass.next[row] = here;
            if row < from {
                continue;
            }
            for index in self.catalog.groups_at(row) {
                let group = &self.catalog.groups[index];
                if !self.touched[row] {
                    pass.group(index, group, states, found);
                }
                if made == 1 && self.edits.is_empty() && group.rows.len() > 1 {
                    nested.extend(pass.nesting(index, group, states));
                }
            }
            pass.wholes(row, states, found);
            pass.total(row, states, found);
        }
        pass.next
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

    /// The board with one more correction of shared words.
    fn with(&self, edit: Edit) -> Board<'a> {
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

/// A pass over the rows under way.
struct Pass<'b, 'a> {
    board: &'b Board<'a>,
    floors: &'b [f64],
    /// The ways with one more correction, before each row.
    next: Vec<Vec<State>>,
}

impl Pass<'_, '_> {
    /// Keeps a way for the rows that follow, unless it is beyond hope.
    fn keep(&mut self, row: usize, state: State, found: &Found) {
        let printed = self.board.onward(row, state.needle, state.anchor);
        let least = printed.min(MISPRINT + self.floors[row]);
        if state.cost + least <= found.best + HOPE {
            add_state(&mut self.next[row], state);
        }
    }

    /// Takes the states that a correction leaves before a row.
    fn take(&mut self, edit: Edit, row: usize, states: Vec<State>, found: &mut Found) {
        for mut state in states {
            state.cost += edit.cost;
            let total = state.cost + self.board.onward(row, state.needle, state.anchor);
            let hopeful = state.cost + MISPRINT + self.floors[row] <= found.best + HOPE;
            if total <= found.best + MARGIN || hopeful {
                state.made = found.make(edit, state.made);
                found.add(self.board, state.made, total);
                self.keep(row, state, found);
            }
        }
    }

    fn starts(&mut self, found: &mut Found) {
        for start in &self.board.catalog.starts {
            let state = State { needle: Needle::cast_on(start.count), anchor: OPEN, cost: 0.0, made: NONE };
            self.take(
                Edit { what: What::Start(start.count), cost: start.cost + MISPRINT },
                0,
                vec![state],
                found,
            );
        }
    }

    fn group(&mut self, index: usize, group: &Group, before: &[State], found: &mut Found) {
        let Some(first) = group.rows.first().copied() else { return };
        let least = before.iter().map(|state| state.cost).fold(f64::INFINITY, f64::min);
        for (at, base) in group.bases.iter().enumerate() {
            for (which, change) in base.changes.iter().enumerate() {
                let edit = Edit {
                    what: What::Change { group: index, base: at, change: which },
                    cost: change.cost + MISPRINT,
                };
                let hope = least + edit.cost + base.cost + self.floors[first + 1];
                if hope > found.best + MARGIN || !can_fit(base, change, before) {
                    continue;
                }
                let Some(seq) = base.build(change) else { continue };
                let readings = Readings { id: u32::MAX, all: vec![(base.cost, seq)] };
                let after = self.board.advance(
                    first,
                    |needle| self.board.shared.fitting(&readings, needle).into(),
                    before,
                );
                if !after.is_empty() {
                    let (row, states) = self.board.through(group, first, readings, after);
                    self.take(edit, row, states, found);
                }
            }
        }
    }

    /// Changes of shared words that make their first row fit, each with what it costs so far.
    fn nesting(&self, index: usize, group: &Group, before: &[State]) -> Vec<(f64, Edit, usize)> {
        let Some(first) = group.rows.first().copied() else { return Vec::new() };
        let mut out = Vec::new();
        for (at, base) in group.bases.iter().enumerate() {
            for (which, change) in
                base.changes.iter().enumerate().filter(|(_, change)| can_fit(base, change, before))
            {
                let Some(seq) = base.build(change) else { continue };
                let readings = Readings { id: u32::MAX, all: vec![(base.cost, seq)] };
                let after = self.board.advance(
                    first,
                    |needle| self.board.shared.fitting(&readings, needle).into(),
                    before,
                );
                let so_far = after.iter().map(|state| state.cost).fold(f64::INFINITY, f64::min);
                let edit = Edit {
                    what: What::Change { group: index, base: at, change: which },
                    cost: change.cost + MISPRINT,
                };
                if so_far.is_finite() {
                    out.push((so_far + edit.cost, edit, first));
                }
            }
        }
        out
    }

    fn wholes(&mut self, row: usize, before: &[State], found: &mut Found) {
        let board = self.board;
        for (index, whole) in board.catalog.wholes.iter().enumerate() {
            let (Some((first, _)), Some((last, _))) =
                (whole.rows.first().copied(), whole.rows.last().copied())
            else {
                continue;
            };
            if first != row || whole.rows.iter().any(|(row, _)| board.touched[*row]) {
                continue;
            }
            let mut states = before.to_vec();
            for row in first..=last {
                let like =
                    whole.rows.iter().find(|(changed, _)| *changed == row).map_or(row, |(_, like)| *like);
                states = board.advance(row, |needle| board.shared.ways(&board.rows[like], needle), &states);
            }
            self.take(
                Edit { what: What::Whole(index), cost: whole.cost + MISPRINT },
                last + 1,
                states,
                found,
            );
        }
    }

    fn total(&mut self, row: usize, before: &[State], found: &mut Found) {
        let Some(stated) = self.board.stated[row].filter(|_| self.board.catalog.totals.contains(&row)) else {
            return;
        };
        for mut state in self.board.plain_step(row, before) {
            let count = state.needle.count;
            if count == stated {
                continue;
            }
            state.cost -= STATED;
            let by_size = number_cost(stated, count, &stated.to_string(), &count.to_string());
            let edit = Edit {
                what: What::Total(row, count),
                cost: Class::Total.cost() + by_size.min(4.5) + MISPRINT,
            };
            self.take(edit, row + 1, vec![state], found);
        }
    }
}

/// Adds a way; of those that come to the same needle the cheapest few stay.
fn add_state(all: &mut Vec<State>, state: State) {
    let alike = |other: &State| other.needle == state.needle && other.anchor == state.anchor;
    let mut number = 0;
    let mut dearest: Option<(usize, f64)> = None;
    for (at, other) in all.iter_mut().enumerate().filter(|(_, other)| alike(other)) {
        if other.made == state.made {
            other.cost = other.cost.min(state.cost);
            return;
        }
        number += 1;
        if dearest.is_none_or(|(_, cost)| other.cost > cost) {
            dearest = Some((at, other.cost));
        }
    }
    match dearest {
        Some((at, cost)) if number >= ALIKE && cost > state.cost => all[at] = state,
        Some(_) if number >= ALIKE => {}
        _ if all.len() < STATES * ALIKE => all.push(state),
        _ => {}
    }
}

/// Whether a change can make the row take what is there, as far as arithmetic tells without building it. A repeat that is
/// cut short besides is not looked for.
fn can_fit(base: &Base, change: &crate::change::Change, before: &[State]) -> bool {
    let shape = base.seq.shape();
    let Some(delta) = base.delta(change) else { return true };
    let takes = i64::from(shape.fixed.takes) + delta;
    if takes < 0 {
        return false;
    }
    match shape.open.as_slice() {
        [] if base.seq.turns() => before.iter().any(|state| i64::from(state.needle.count) >= takes),
        [] => before.iter().any(|state| {
            let count = i64::from(state.needle.count);
            count == takes || count - i64::from(state.needle.unreached) == takes
        }),
        [(unit, ..)] => before.iter().any(|state| {
            let spare = i64::from(state.needle.count) - takes;
            spare >= 0 && unit.takes > 0 && spare % i64::from(unit.takes) == 0
        }),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use reading::{Options, Reader, solve};

    use super::*;
    use crate::change::Source;
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

    fn every_change(catalog: &Catalog) -> Vec<(&Group, &Base, &crate::change::Change)> {
        let mut out = Vec::new();
        for group in &catalog.groups {
            for base in &group.bases {
                out.extend(base.changes.iter().map(|change| (group, base, change)));
            }
        }
        out
    }

    #[test]
    fn the_search_agrees_with_trying_each_correction_by_itself() {
        let reader = Reader::new().unwrap();
        let words = Words::new(TEXT);
        let reading = reader.read(TEXT, &Options::default());
        let piece = &reading.pieces[0];
        let catalog = Catalog { groups: groups(piece, &words, &reader), ..Catalog::default() };
        let hits = search(piece, &catalog, 0.0, TEXT);
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
        for (group, base, change) in every_change(&catalog) {
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
}
