//! What a row may leave on the needle in each of its readings.
//!
//! Most rows are asked for again and again, so what they leave is kept for each needle. A search meets few needles that
//! differ, and each of them many times; so they go by their index among those met.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use reading::{Fit, Needle, Seq, faulty, ways};
use rustc_hash::FxHashMap;

use crate::cut::{Home, Repeat};

use super::board::State;

/// Readings that a row may have, cheapest first.
#[derive(Debug)]
pub(super) struct Readings {
    pub(super) id: u32,
    pub(super) all: Vec<(f64, Seq)>,
}

/// A needle that the search has met.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct Held {
    /// Its index among those met.
    pub(super) index: u32,
    /// The stitches on it.
    pub(super) count: u32,
}

/// The needles that a search has met.
#[derive(Default)]
pub(super) struct Needles {
    met: Vec<Needle>,
    known: FxHashMap<Needle, u32>,
}

/// Needles that a row may leave, each with its cost.
pub(super) type Ways = Rc<[(Held, f64)]>;

/// What rows leave, for all boards of one search.
pub(super) struct Shared<'a> {
    pub(super) text: &'a str,
    pub(super) home: Home,
    pub(super) needles: RefCell<Needles>,
    pub(super) ways: RefCell<FxHashMap<(u32, u32), Ways>>,
    pub(super) ids: Cell<u32>,
}

impl Needles {
    fn held(&mut self, needle: Needle) -> Held {
        let fresh = u32::try_from(self.met.len()).unwrap_or(u32::MAX);
        let index = *self.known.entry(needle).or_insert(fresh);
        if index == fresh {
            self.met.push(needle);
        }
        Held { index, count: needle.count }
    }
}

impl Shared<'_> {
    /// A needle, from now on among those met.
    pub(super) fn held(&self, needle: Needle) -> Held {
        self.needles.borrow_mut().held(needle)
    }

    pub(super) fn needle(&self, held: Held) -> Needle {
        self.needles.borrow().met[held.index as usize]
    }

    pub(super) fn readings(&self, all: Vec<(f64, Seq)>) -> Readings {
        let id = self.ids.get();
        self.ids.set(id + 1);
        Readings { id, all }
    }

    /// The needles of some ways, each once.
    pub(super) fn needles_of(&self, states: &[State]) -> Vec<Needle> {
        let mut indices: Vec<u32> = states.iter().map(|state| state.needle.index).collect();
        indices.sort_unstable();
        indices.dedup();
        let needles = self.needles.borrow();
        indices.into_iter().map(|index| needles.met[index as usize]).collect()
    }

    /// What a row may leave, with the cost of each; a row that fits in no reading is passed as a fault.
    pub(super) fn ways(&self, readings: &Readings, held: Held) -> Ways {
        if let Some(known) = self.ways.borrow().get(&(readings.id, held.index)) {
            return Rc::clone(known);
        }
        let needle = self.needle(held);
        let mut out = self.left(readings, needle);
        if out.is_empty() {
            for (cost, seq) in &readings.all {
                for fit in faulty(seq, needle.count) {
                    cheaper(&mut out, needle.after(seq, &fit), cost + fit.cost);
                }
            }
        }
        let ways = self.met(&out);
        self.ways.borrow_mut().insert((readings.id, held.index), Rc::clone(&ways));
        ways
    }

    /// What readings leave where they fit.
    pub(super) fn fitting(&self, readings: &Readings, held: Held) -> Ways {
        self.met(&self.left(readings, self.needle(held)))
    }

    fn met(&self, left: &[(Needle, f64)]) -> Ways {
        let mut needles = self.needles.borrow_mut();
        left.iter().map(|(needle, cost)| (needles.held(*needle), *cost)).collect()
    }

    fn left(&self, readings: &Readings, needle: Needle) -> Vec<(Needle, f64)> {
        let mut out = Vec::new();
        let mut fits: Vec<Fit> = Vec::new();
        for (cost, seq) in &readings.all {
            if seq.shape().fixed.takes > needle.count {
                continue;
            }
            ways(seq, needle, &mut fits);
            let mut repeat = None;
            for fit in &fits {
                let strain = if fit.cut.is_some() {
                    let repeat = repeat.get_or_insert_with(|| Repeat::of(seq, self.text));
                    self.home.strain(repeat, fit.rounds, needle.count)
                } else {
                    0.0
                };
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
