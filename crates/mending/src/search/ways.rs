//! What a row may leave on the needle in each of its readings.
//!
//! Most rows are asked for again and again, so what they leave is kept for each needle. A search meets few needles that
//! differ, and each of them many times; so they go by their index among those met.

use std::cell::{Cell, OnceCell, RefCell};
use std::rc::Rc;

use reading::{Fit, Needle, Overs, Seq, Until, effort, faulty, ways};
use rustc_hash::FxHashMap;

use crate::cut::{Home, Repeat};

/// Readings that a row may have, cheapest first.
#[derive(Debug)]
pub(super) struct Readings {
    pub(super) id: u32,
    pub(super) all: Vec<(f64, Seq)>,
    /// How each tells its repeat, once that is asked.
    repeats: Vec<OnceCell<Repeat>>,
}

impl Readings {
    /// Readings of which what they leave is not kept.
    pub(super) fn passing(all: Vec<(f64, Seq)>) -> Readings {
        Readings::numbered(u32::MAX, all)
    }

    fn numbered(id: u32, all: Vec<(f64, Seq)>) -> Readings {
        Readings { id, repeats: vec![OnceCell::new(); all.len()], all }
    }
}

/// A needle that the search has met.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct Held {
    /// Its index among those met.
    pub(super) index: u32,
    /// The stitches on it.
    pub(super) count: u32,
}

/// The needles that a search has met, without what no row of the piece asks of the row before it.
#[derive(Default)]
pub(super) struct Needles {
    /// Whether some row lets loops of yarn overs fall.
    falls: bool,
    /// Whether some row has decreases spread over it.
    spreads: bool,
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
    /// The count of steps at which no more corrections are tried.
    pub(super) until: u64,
}

/// How a row may find room on a needle.
enum Room {
    /// It does not.
    None,
    /// Perhaps as told.
    Whole,
    /// Only with its repeat cut short after so many rounds, if at all.
    Cut(u32),
}

impl Room {
    fn of(seq: &Seq, needle: Needle) -> Room {
        let shape = seq.shape();
        if seq.needs_the_needle() || seq.lets_fall().is_some() || shape.open.len() > 1 {
            return Room::Whole;
        }
        let takes = shape.fixed.takes;
        let Some(spare) = needle.count.checked_sub(takes) else { return Room::None };
        match shape.open.first() {
            None if spare == 0 || spare == needle.unreached || seq.turns() => Room::Whole,
            None => Room::None,
            // Back to the edge of a short row, or short of the end itself.
            Some(_) if needle.unreached > 0 || seq.turns() => Room::Whole,
            Some((unit, until, _)) => match (spare.checked_div(unit.takes), until) {
                (None, _) => Room::None,
                (Some(_), _) if spare.is_multiple_of(unit.takes) => Room::Whole,
                (Some(rounds), Until::End) if rounds > 0 && seq.open_group().is_some() => Room::Cut(rounds),
                _ => Room::None,
            },
        }
    }
}

impl Needles {
    /// None as yet; these are the readings of the rows.
    pub(super) fn before<'s>(readings: impl Iterator<Item = &'s Seq>) -> Needles {
        readings.fold(Needles::default(), |needles, seq| Needles {
            falls: needles.falls || seq.lets_fall().is_some(),
            spreads: needles.spreads || seq.spread().is_some(),
            ..needles
        })
    }

    fn held(&mut self, needle: Needle) -> Held {
        let needle = Needle {
            overs: if self.falls { needle.overs } else { Overs::default() },
            decreases: if self.spreads { needle.decreases } else { 0 },
            ..needle
        };
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
        Readings::numbered(id, all)
    }

    /// What a reading of a row costs at least where it fits, as far as that is told without working it; infinite where it
    /// does not fit.
    pub(super) fn least(&self, readings: &Readings, needle: Needle) -> f64 {
        let least = |((cost, seq), repeat): (&(f64, Seq), &OnceCell<Repeat>)| {
            cost + match Room::of(seq, needle) {
                Room::None => f64::INFINITY,
                Room::Whole => 0.0,
                Room::Cut(rounds) => {
                    self.home.strain(repeat.get_or_init(|| Repeat::of(seq, self.text)), rounds, needle.count)
                }
            }
        };
        readings.all.iter().zip(&readings.repeats).map(least).fold(f64::INFINITY, f64::min)
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

    /// Whether so much was worked that no more corrections are tried.
    pub(super) fn is_spent(&self) -> bool {
        self.left_to_spend() == 0
    }

    /// How many steps there are still to be spent.
    pub(super) fn left_to_spend(&self) -> u64 {
        self.until.saturating_sub(effort::steps())
    }

    fn left(&self, readings: &Readings, needle: Needle) -> Vec<(Needle, f64)> {
        let mut out = Vec::new();
        let mut fits: Vec<Fit> = Vec::new();
        for ((cost, seq), repeat) in readings.all.iter().zip(&readings.repeats) {
            if seq.shape().fixed.takes > needle.count {
                continue;
            }
            ways(seq, needle, &mut fits);
            for fit in &fits {
                let strain = if fit.cut.is_some() {
                    let repeat = repeat.get_or_init(|| Repeat::of(seq, self.text));
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
