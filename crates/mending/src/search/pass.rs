//! One pass over the rows that makes one more correction on each way.

use reading::{Needle, STATED, effort};
use rustc_hash::FxHashMap;

use crate::catalog::{Edit, Group, What};
use crate::change::{Base, Change};
use crate::class::{Class, MISPRINT, number_cost};

use super::board::{Board, Layer, NONE, OPEN, State};
use super::ways::{Held, Readings, Ways};
use super::{Found, HOPE, MARGIN};

/// The ways before a row, and the needles that they come to.
pub(super) struct Front<'s> {
    states: &'s [State],
    /// Each needle once, with the cost of the cheapest way to it.
    needles: Vec<(Held, f64)>,
    /// The same needles, spelled out.
    spelled: Vec<Needle>,
    /// The needle of each way, among these.
    places: Vec<u32>,
}

impl<'s> Front<'s> {
    pub(super) fn of(board: &Board<'_>, states: &'s [State]) -> Front<'s> {
        let mut known: FxHashMap<u32, u32> = FxHashMap::default();
        let mut needles: Vec<(Held, f64)> = Vec::new();
        let mut places = Vec::with_capacity(states.len());
        for state in states {
            let fresh = u32::try_from(needles.len()).unwrap_or(u32::MAX);
            let place = *known.entry(state.needle.index).or_insert(fresh);
            if place == fresh {
                needles.push((state.needle, f64::INFINITY));
            }
            let cheapest = &mut needles[place as usize].1;
            *cheapest = cheapest.min(state.cost);
            places.push(place);
        }
        let spelled = needles.iter().map(|(held, _)| board.shared.needle(*held)).collect();
        Front { states, needles, spelled, places }
    }

    /// What the cheapest of them costs.
    fn least(&self) -> f64 {
        self.needles.iter().map(|(_, cost)| *cost).fold(f64::INFINITY, f64::min)
    }

    /// The ways past a row in readings that fit, of those before it and after it that cost no more than a limit.
    fn past(
        &self,
        board: &Board<'_>,
        row: usize,
        readings: &Readings,
        (before, after): (f64, f64),
    ) -> Vec<State> {
        let left = |((held, cheapest), needle): (&(Held, f64), &Needle)| {
            let hopeful = *cheapest <= before && cheapest + board.shared.least(readings, *needle) <= after;
            hopeful.then(|| board.shared.fitting(readings, *held))
        };
        let left: Vec<Option<Ways>> = self.needles.iter().zip(&self.spelled).map(left).collect();
        let mut out = Layer::default();
        for (state, place) in self.states.iter().zip(&self.places).filter(|(state, _)| state.cost <= before) {
            let anchor = board.anchor(row, state);
            for (needle, cost) in left[*place as usize].iter().flat_map(|left| left.iter()) {
                let cost = state.cost + cost + board.stated_cost(row, needle.count);
                if cost <= after {
                    out.add(State { needle: *needle, anchor, cost, made: state.made });
                }
            }
        }
        out.states
    }
}

impl Board<'_> {
    /// What corrections may cost in all at best for a pass over the rows to take no more than so many steps; infinite
    /// where all may be tried.
    pub(super) fn ceiling(
        &self,
        (from, fronts): (usize, &[Front<'_>]),
        floors: &[f64],
        most: f64,
        steps: u64,
    ) -> f64 {
        let open = |row: &usize| !self.touched[*row];
        let groups = || {
            (from..self.rows.len()).filter(open).flat_map(|row| {
                self.catalog.groups_at(row).map(move |group| (row, &self.catalog.groups[group]))
            })
        };
        let of_one = |row: usize, group: &Group| {
            let rows = group.rows.last().map_or(1, |last| last + 1 - row);
            (fronts[row].needles.len() * rows * effort::WORKED) as u64
        };
        let changes = |group: &Group| group.bases.iter().map(|base| base.changes.len() as u64).sum::<u64>();
        if groups().map(|(row, group)| of_one(row, group) * changes(group)).sum::<u64>() <= steps {
            return f64::INFINITY;
        }
        let mut all: Vec<(f64, u64)> = Vec::new();
        for (row, group) in groups() {
            let (before, own) = (&fronts[row], of_one(row, group));
            for base in &group.bases {
                let rest = before.least() + base.cost + floors[row + 1] + MISPRINT;
                let hopes = base.changes.iter().map(|change| (rest + change.cost, change));
                let hopes =
                    hopes.filter(|(hope, change)| *hope <= most && can_fit(base, change, &before.spelled));
                all.extend(hopes.map(|(hope, _)| (hope, own)));
            }
        }
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut spent = 0;
        let beyond = all.iter().find(|(_, own)| {
            spent += own;
            spent > steps
        });
        beyond.map_or(f64::INFINITY, |(hope, _)| *hope)
    }
}

/// A pass over the rows under way.
pub(super) struct Pass<'b, 'a> {
    pub(super) board: &'b Board<'a>,
    pub(super) floors: &'b [f64],
    /// The ways with one more correction, before each row.
    pub(super) next: Vec<Layer>,
    /// Whether no pass follows, so that only whole ways count.
    pub(super) last: bool,
    /// Corrections that may at best cost more in all are left aside, so that the likeliest of all rows are tried.
    pub(super) ceiling: f64,
}

impl Pass<'_, '_> {
    /// Keeps a way for the rows that follow, unless it is beyond hope.
    pub(super) fn keep(&mut self, row: usize, state: State, found: &Found) {
        let printed = self.board.onward(row, state.needle, state.anchor);
        let least = printed.min(MISPRINT + self.floors[row]);
        if state.cost + least <= found.best + HOPE {
            self.next[row].add(state);
        }
    }

    /// Takes the states that a correction leaves before a row.
    pub(super) fn take(&mut self, edit: Edit, row: usize, states: Vec<State>, found: &mut Found) {
        for mut state in states {
            state.cost += edit.cost;
            let total = state.cost + self.board.onward(row, state.needle, state.anchor);
            let hopeful = !self.last && state.cost + MISPRINT + self.floors[row] <= found.best + HOPE;
            if total <= found.best + MARGIN || hopeful {
                state.made = found.make(edit, state.made);
                found.add(self.board, state.made, total);
                if !self.last {
                    self.keep(row, state, found);
                }
            }
        }
    }

    pub(super) fn starts(&mut self, found: &mut Found) {
        for start in &self.board.catalog.starts {
            let needle = self.board.shared.held(Needle::cast_on(start.count));
            let state = State { needle, anchor: OPEN, cost: 0.0, made: NONE };
            self.take(
                Edit { what: What::Start(start.count), cost: start.cost + MISPRINT },
                0,
                vec![state],
                found,
            );
        }
    }

    pub(super) fn group(&mut self, index: usize, group: &Group, before: &Front<'_>, found: &mut Found) {
        let Some(first) = group.rows.first().copied() else { return };
        let least = before.least();
        for (at, base) in group.bases.iter().enumerate() {
            for (which, change) in base.changes.iter().enumerate() {
                let edit = Edit {
                    what: What::Change { group: index, base: at, change: which },
                    cost: change.cost + MISPRINT,
                };
                let hope = least + edit.cost + base.cost + self.floors[first + 1];
                if hope > self.ceiling.min(found.best + MARGIN) || !can_fit(base, change, &before.spelled) {
                    continue;
                }
                if self.board.shared.is_spent() {
                    return;
                }
                let Some(seq) = base.build(change) else { continue };
                let readings = Readings::passing(vec![(base.cost, seq)]);
                let most = found.best + MARGIN - edit.cost;
                let limit = most - self.floors[first + 1];
                let after = before.past(self.board, first, &readings, (limit - base.cost, limit));
                if !after.is_empty() {
                    let limit = |row: usize| most - self.floors[row];
                    let (row, states) = self.board.through(group, first, readings, after, limit);
                    self.take(edit, row, states, found);
                }
            }
        }
    }

    /// Changes of shared words that make their first row fit, each with what it costs so far.
    pub(super) fn nesting(&self, index: usize, group: &Group, before: &Front<'_>) -> Vec<(f64, Edit, usize)> {
        let Some(first) = group.rows.first().copied() else { return Vec::new() };
        let mut out = Vec::new();
        for (at, base) in group.bases.iter().enumerate() {
            for (which, change) in
                base.changes.iter().enumerate().filter(|(_, change)| can_fit(base, change, &before.spelled))
            {
                let Some(seq) = base.build(change) else { continue };
                let readings = Readings::passing(vec![(base.cost, seq)]);
                let after = before.past(self.board, first, &readings, (f64::INFINITY, f64::INFINITY));
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

    pub(super) fn wholes(&mut self, row: usize, before: &[State], found: &mut Found) {
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
            if board.shared.is_spent() {
                return;
            }
            let cost = whole.cost + MISPRINT;
            let more = MARGIN.max(HOPE - MISPRINT);
            let mut states = before.to_vec();
            for row in first..=last {
                let like =
                    whole.rows.iter().find(|(changed, _)| *changed == row).map_or(row, |(_, like)| *like);
                states = board.advance(
                    row,
                    |needle| board.shared.ways(&board.rows[like], needle),
                    &states,
                    found.best + more - cost - self.floors[last + 1],
                );
            }
            self.take(Edit { what: What::Whole(index), cost }, last + 1, states, found);
        }
    }

    pub(super) fn total(&mut self, row: usize, before: &[State], found: &mut Found) {
        let Some(stated) = self.board.stated[row].filter(|_| self.board.catalog.totals.contains(&row)) else {
            return;
        };
        for mut state in self.board.plain_step(row, before) {
            let count = state.needle.count;
            if count == stated {
                continue;
            }
            state.cost -= STATED;
            let cost = total_cost(stated, count) + MISPRINT;
            let edit = Edit { what: What::Total(row, count), cost };
            self.take(edit, row + 1, vec![state], found);
        }
    }
}

/// Nats against stating `stated` for `count`, [`MISPRINT`] not counted.
pub(super) fn total_cost(stated: u32, count: u32) -> f64 {
    let by_size = number_cost(stated, count, &stated.to_string(), &count.to_string());
    Class::Total.cost() + by_size.min(4.5)
}

/// Whether a change can make the row take what is there, as far as arithmetic tells without building it. A repeat that is
/// cut short besides is not looked for.
pub(super) fn can_fit(base: &Base, change: &Change, before: &[Needle]) -> bool {
    let shape = base.seq.shape();
    let Some(delta) = base.delta(change) else { return true };
    let takes = i64::from(shape.fixed.takes) + delta;
    if takes < 0 {
        return false;
    }
    match shape.open.as_slice() {
        [] if base.seq.turns() => before.iter().any(|needle| i64::from(needle.count) >= takes),
        [] => before.iter().any(|needle| {
            let count = i64::from(needle.count);
            count == takes || count - i64::from(needle.unreached) == takes
        }),
        // A row may stop short of the end, and one after a turn goes back to the edge.
        [_] if base.seq.turns() => true,
        [(unit, ..)] => before
            .iter()
            .flat_map(|needle| [0, needle.unreached].map(|left| (needle.count, left)))
            .any(|(count, left)| {
                let spare = i64::from(count) - i64::from(left) - takes;
                spare >= 0 && unit.takes > 0 && spare % i64::from(unit.takes) == 0
            }),
        _ => false,
    }
}
