//! Rows that read the same from both ends, leans exchanged: as a whole, or between borders that all rows of a piece have.
//!
//! Knows rows as instructions in order; not where they come from.

use loops::Op;
use rustc_hash::FxHashSet;

use super::cell::{Cell, What};

/// Nats for a row whose halves mirror each other.
pub(super) const MIRROR: f64 = 2.0;
/// The widest border, in stitches.
const WIDEST: usize = 12;
/// The least stitches between borders that mirror each other by more than chance.
const LEAST: usize = 7;
/// The least rows that show where the borders are.
const ROWS: usize = 3;
/// Rows longer than this are not looked at between borders.
const LONGEST: usize = 400;

/// Nats for a row that reads the same from both ends.
pub(super) fn mirrors(cells: &[Cell]) -> f64 {
    if cells.len() < 3 || cells.iter().all(|cell| cell.what == cells[0].what) {
        return 0.0;
    }
    if cells.len() == 3 {
        return if answers(&cells[0], &cells[2], true) { MIRROR / 2.0 } else { 0.0 };
    }
    let edge = |at: usize| at == 0;
    let pairs = cells.len() / 2;
    let unlike =
        (0..pairs).filter(|at| !answers(&cells[*at], &cells[cells.len() - 1 - at], edge(*at))).count();
    match unlike {
        0 => MIRROR + 0.2 * pairs.min(5) as f64,
        1 if pairs > 2 => 0.5,
        _ => 0.0,
    }
}

fn answers(one: &Cell, other: &Cell, edge: bool) -> bool {
    let (What::Ops(ops), What::Ops(others)) = (&one.what, &other.what) else { return one == other };
    let alike = |a: Op, b: Op| mirrored(a, b) || edge && (plain(a) && plain(b));
    one.times == other.times
        && ops.len() == others.len()
        && ops.iter().zip(others.iter().rev()).all(|(a, b)| alike(*a, *b))
}

/// Whether one operation is the other from behind a mirror: decreases of as many stitches lean apart.
pub fn mirrored(one: Op, other: Op) -> bool {
    one == other || rank(one).is_some() && rank(one) == rank(other)
}

fn plain(op: Op) -> bool {
    op.is_slip() || op == Op::K
}

/// How many stitches a decrease takes, so that those that lean apart answer each other.
fn rank(op: Op) -> Option<(u32, u32)> {
    op.is_decrease().then(|| (op.takes(), op.makes()))
}

/// The stitches of a row one by one, where it does not mirror itself as a whole and has decreases that lean apart.
pub(super) fn leaning(cells: &[Cell]) -> Option<Box<[Op]>> {
    let told = stitches(cells).filter(|ops| leans_both_ways(ops));
    told.filter(|_| mirrors(cells) < MIRROR / 2.0).map(Vec::into_boxed_slice)
}

/// Those of some rows, each with its words, that mirror themselves between borders alike in all of them, where at least
/// three do: their words.
pub(super) fn between_borders(told: &[(usize, &[Op])]) -> FxHashSet<usize> {
    let mut best = FxHashSet::default();
    for (head, tail) in borders().filter(|_| told.len() >= ROWS) {
        let within = told.iter().filter(|(_, ops)| {
            let core = ops.len().checked_sub(tail).and_then(|end| ops.get(head..end));
            core.is_some_and(is_mirrored)
        });
        let within: FxHashSet<usize> = within.map(|(words, _)| *words).collect();
        if within.len() >= ROWS && within.len() > best.len() {
            best = within;
        }
    }
    best
}

/// The widths that two borders may have, the narrowest first.
fn borders() -> impl Iterator<Item = (usize, usize)> {
    let of_both = |both: usize| (0..=both.min(WIDEST)).map(move |head| (head, both - head));
    (1..=2 * WIDEST).flat_map(of_both).filter(|(_, tail)| *tail <= WIDEST)
}

/// Each operation of a row by itself; `None` for a row with a part that is as long as the needle.
fn stitches(cells: &[Cell]) -> Option<Vec<Op>> {
    let mut out = Vec::new();
    for cell in cells {
        let What::Ops(ops) = &cell.what else { return None };
        for _ in 0..cell.times.min(LONGEST as u32) {
            out.extend(ops.iter().copied());
        }
        if out.len() > LONGEST {
            return None;
        }
    }
    Some(out)
}

/// Whether instructions written out read the same from both ends, with more than one kind among them.
pub(super) fn reads_alike(cells: &[Cell]) -> bool {
    let Some(ops) = stitches(cells).filter(|ops| ops.len() >= LEAST) else { return false };
    let several = ops.iter().any(|op| *op != ops[0]);
    several && ops.iter().zip(ops.iter().rev()).all(|(one, other)| mirrored(*one, *other))
}

/// Whether they read the same from both ends, with decreases that lean apart: that is no chance.
fn is_mirrored(ops: &[Op]) -> bool {
    let half = ops.len() / 2;
    let pairs = || ops[..half].iter().zip(ops.iter().rev());
    ops.len() >= LEAST
        && pairs().all(|(one, other)| mirrored(*one, *other))
        && pairs().any(|(one, other)| lean_apart(*one, *other))
}

/// Whether two decreases of as many stitches, of the same face, lean apart.
fn lean_apart(one: Op, other: Op) -> bool {
    one != other && mirrored(one, other) && one.face() == other.face()
}

/// Whether a row has such decreases at all: most have none, and need not be looked at from both ends.
fn leans_both_ways(ops: &[Op]) -> bool {
    let mut decreases: Vec<Op> = ops.iter().copied().filter(|op| op.is_decrease()).collect();
    decreases.dedup();
    decreases.iter().any(|one| decreases.iter().any(|other| lean_apart(*one, *other)))
}
