//! What a row may leave on the needle in each of its readings.
//!
//! Most rows are asked for again and again, so what they leave is kept for each needle.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use reading::{Fit, Needle, Seq, faulty, ways};
use rustc_hash::FxHashMap;

use crate::cut::Home;

/// Readings that a row may have, cheapest first.
#[derive(Debug)]
pub(super) struct Readings {
    pub(super) id: u32,
    pub(super) all: Vec<(f64, Seq)>,
}

/// Needles that a row may leave, each with its cost.
pub(super) type Ways = Rc<[(Needle, f64)]>;

/// What rows leave, for all boards of one search.
pub(super) struct Shared<'a> {
    pub(super) text: &'a str,
    pub(super) home: Home,
    pub(super) ways: RefCell<FxHashMap<(u32, Needle), Ways>>,
    pub(super) ids: Cell<u32>,
}

impl Shared<'_> {
    pub(super) fn readings(&self, all: Vec<(f64, Seq)>) -> Readings {
        let id = self.ids.get();
        self.ids.set(id + 1);
        Readings { id, all }
    }

    /// What a row may leave, with the cost of each; a row that fits in no reading is passed as a fault.
    pub(super) fn ways(&self, readings: &Readings, needle: Needle) -> Ways {
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
    pub(super) fn fitting(&self, readings: &Readings, needle: Needle) -> Vec<(Needle, f64)> {
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
