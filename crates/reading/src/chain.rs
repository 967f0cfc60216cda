//! Choosing one reading for every row so that each takes exactly what the row before left.
//!
//! Rows couple only through the number of stitches, so the choice is a shortest path: states are the counts
//! possible after each row, edges the readings that fit. A row that fits in no reading is passed by a fault edge,
//! dear but never barred, so that one slip leaves the rest readable. The same search serves the mender, which adds
//! corrected readings to the rows.

use std::ops::Range;

use rustc_hash::{FxHashMap, FxHashSet};
use smallvec::SmallVec;

use crate::ast::{Overs, Seq};
use crate::effort;
use crate::needles::Shares;
use crate::rowwork::{Fit, fits};

/// Nats against a row that cannot be worked as printed.
pub const FAULT: f64 = 14.0;
/// Nats against each stitch by which a faulty row is out, up to a bound.
const FAULT_STITCH: f64 = 0.25;
/// Nats against a count that disagrees with the one that the text states.
pub const STATED: f64 = 7.0;
/// Nats against a repeat in height that does not end with the count it began with.
pub const NOT_CLOSED: f64 = 6.0;
/// The same where nothing is said of repeating, but a number "for each pattern" was cast on.
pub const NOT_CLOSED_UNSAID: f64 = 2.5;
/// Nats against a row that changes the number of stitches: most rows of most books keep it. Guess: enough to decide
/// between readings that are otherwise alike.
const UNBALANCED: f64 = 0.25;
/// Nats against a repeat across the row that would not fit every number which may be cast on, where the text leaves
/// the number open.
const NOT_OF_ALL: f64 = 2.5;
/// The most counts that a row may leave where a multiple is sought.
const WAYS: usize = 2_000;
/// How many states are kept after each row.
const STATES: usize = 96;
/// How many are kept in all: a text of very many rows must do with fewer after each.
const STATES_IN_ALL: usize = 32_000;
/// The fewest after each row, however many rows there are.
const FEWEST_STATES: usize = 16;

/// One reading of a row, or one correction of it.
#[derive(Clone, Debug)]
pub struct Candidate {
    /// Nats against it.
    pub cost: f64,
    /// The reading.
    pub seq: Seq,
    /// The correction that it needs, by the mender's own index.
    pub edit: Option<u32>,
}

/// A row as the search sees it.
#[derive(Clone, Debug)]
pub struct ChainRow {
    /// Its readings.
    pub candidates: Vec<Candidate>,
    /// The count that the text states after it.
    pub stated: Option<u32>,
}

/// Where the search begins and how it must end.
#[derive(Clone, Debug, Default)]
pub struct Ends {
    /// Stitches cast on that may be tried, each with its cost.
    pub starts: Vec<(u32, f64)>,
    /// The row at which a repeat in height begins again, if the piece is one.
    pub back_to: Option<usize>,
    /// Whether the text says that the piece is repeated, not only its nature.
    pub said: bool,
    /// "Divisible by", where the text leaves the number cast on open.
    pub of: Option<u32>,
    /// How many paths are kept for each count and each set of corrections.
    pub paths: usize,
}

/// One row of a path.
#[derive(Clone, Debug, PartialEq)]
pub struct Chosen {
    /// Index of the reading.
    pub candidate: usize,
    /// How it fits.
    pub fit: Fit,
    /// Stitches before the row.
    pub before: u32,
    /// Whether it does not fit and is passed over.
    pub fault: bool,
}

/// A reading of all rows.
#[derive(Clone, Debug, PartialEq)]
pub struct Path {
    /// Stitches cast on.
    pub start: u32,
    /// Nats against the whole.
    pub cost: f64,
    /// The rows.
    pub rows: Vec<Chosen>,
    /// Whether a repeat in height ends with the count it began with.
    pub closed: bool,
}

/// The stitches on the needle between two rows, as far as arithmetic sees them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Needle {
    /// How many there are.
    pub count: u32,
    /// Stitches that the row before left unworked when it turned.
    pub unreached: u32,
    /// Loops among them that are yarn overs.
    pub overs: Overs,
    /// Loops among them that come of decreases.
    pub decreases: u32,
    /// How they are shared among several needles, where a round told needle by needle has said it.
    pub shares: Shares,
}

impl Needle {
    /// The needle after casting on.
    pub fn cast_on(count: u32) -> Needle {
        Needle { count, unreached: 0, overs: Overs::default(), decreases: 0, shares: Shares::default() }
    }

    /// The needle after a row.
    pub fn after(self, seq: &Seq, fit: &Fit) -> Needle {
        let shape = seq.shape();
        let taken = match shape.open.as_slice() {
            [(unit, ..)] => shape.fixed.and(unit.times(fit.rounds)).takes,
            _ => shape.fixed.takes,
        };
        let reach = self.count.saturating_sub(self.unreached);
        // Where all that was worked is bound off, the wool is joined anew to the rest.
        let short = seq.turns() && fit.after.saturating_add(taken) > self.count;
        let unreached = if short { reach.saturating_sub(taken) } else { 0 };
        let even = shape.fixed.takes == shape.fixed.makes
            && shape.open.iter().all(|(unit, ..)| unit.takes == unit.makes);
        let shares = match seq.by_needle() {
            Some((parts, _)) => parts.worked(fit.shares).map(|(_, after)| after).unwrap_or_default(),
            None if even => self.shares,
            None => Shares::default(),
        };
        let decreases = match (seq.spread(), shape.open.as_slice()) {
            (Some((row, _)), _) => row.decreases(self.count, self.decreases),
            (None, [(unit, ..)]) => shape.fixed.and(unit.times(fit.rounds)).decreases,
            _ => shape.fixed.decreases,
        };
        Needle { count: fit.after, unreached, overs: fit.overs, decreases, shares }
    }
}

#[derive(Clone, Debug)]
struct State {
    needle: Needle,
    start: u32,
    /// The count before the row where the repeat in height begins again.
    anchor: u32,
    cost: f64,
    edits: u32,
    from: usize,
    chosen: Option<Chosen>,
}

/// The cheapest paths, cheapest first.
pub fn solve(rows: &[ChainRow], ends: &Ends) -> Vec<Path> {
    solve_below(rows, ends, f64::INFINITY)
}

/// The cheapest paths of those that cost less than so many nats, cheapest first. No row makes a path cheaper, so one that
/// has grown as dear is given up.
pub fn solve_below(rows: &[ChainRow], ends: &Ends, limit: f64) -> Vec<Path> {
    let mut layers: Vec<Vec<State>> = Vec::with_capacity(rows.len() + 1);
    let first = |(count, cost): &(u32, f64)| State {
        needle: Needle::cast_on(*count),
        start: *count,
        anchor: *count,
        cost: *cost,
        edits: 0,
        from: 0,
        chosen: None,
    };
    layers.push(ends.starts.iter().map(first).collect());
    let kept = (STATES_IN_ALL / rows.len().max(1)).clamp(FEWEST_STATES, STATES);
    for (index, row) in rows.iter().enumerate() {
        let before = layers.last().map_or(&[][..], Vec::as_slice);
        let next = step(row, before, ends.back_to == Some(index), (ends, limit, kept));
        if next.is_empty() {
            return Vec::new();
        }
        layers.push(next);
    }
    let mut last: Vec<(usize, f64, bool)> = layers
        .last()
        .into_iter()
        .flatten()
        .enumerate()
        .map(|(at, state)| {
            let closed = ends.back_to.is_none() || state.anchor == state.needle.count;
            (
                at,
                state.cost
                    + if closed {
                        0.0
                    } else if ends.said {
                        NOT_CLOSED
                    } else {
                        NOT_CLOSED_UNSAID
                    },
                closed,
            )
        })
        .filter(|(_, cost, _)| *cost < limit)
        .collect();
    last.sort_by(|a, b| a.1.total_cmp(&b.1));
    last.into_iter().map(|(at, cost, closed)| trace(&layers, at, cost, closed)).collect()
}

/// Whether the rows can be worked from some number cast on without a fault, and without a cut repeat unless that is
/// allowed, ending a repeat in height with the count that it began with.
pub fn workable(rows: &[ChainRow], back_to: Option<usize>, start: u32, cuts: bool) -> bool {
    let mut states = FxHashSet::from_iter([(Needle::cast_on(start), start)]);
    let mut fitting = Vec::new();
    for (index, row) in rows.iter().enumerate() {
        let mut next = FxHashSet::default();
        for (needle, anchor) in states {
            let anchor = if back_to == Some(index) { needle.count } else { anchor };
            for seq in row.candidates.iter().filter(|one| one.edit.is_none()).map(|one| &one.seq) {
                ways(seq, needle, &mut fitting);
                let whole = fitting.drain(..).filter(|fit| cuts || fit.cut.is_none());
                next.extend(whole.map(|fit| (needle.after(seq, &fit), anchor)));
            }
        }
        // Rows that can come out in more ways than are kept say nothing of a multiple.
        if next.is_empty() || next.len() > WAYS {
            return false;
        }
        states = next;
    }
    back_to.is_none() || states.iter().any(|(needle, anchor)| needle.count == *anchor)
}

/// One way past a row from one needle.
struct Way {
    candidate: usize,
    fit: Fit,
    fault: bool,
    after: Needle,
    /// Nats against the number that it leaves.
    left: f64,
    /// Nats more against the fit where the needle holds as many stitches as were cast on.
    here: f64,
}

/// The cheapest states after a row of each count, start and set of corrections, below a limit, and so many at most. What
/// the row leaves is worked once for each needle, and only what is kept is put together.
fn step(
    row: &ChainRow,
    before: &[State],
    anchors: bool,
    (ends, limit, most): (&Ends, f64, usize),
) -> Vec<State> {
    let paths = ends.paths.max(1);
    let mut known: FxHashMap<Needle, Range<usize>> = FxHashMap::default();
    let mut all: Vec<Way> = Vec::new();
    let mut steps: Vec<(f64, u32, u32)> = Vec::new();
    let fit_cost = |state: &State, way: &Way| {
        way.fit.cost + if state.needle.count == state.start { way.here } else { 0.0 }
    };
    for (from, state) in (0..).zip(before) {
        let ways = known.entry(state.needle).or_insert_with(|| {
            let first = all.len();
            past(row, state.needle, ends.of, &mut all);
            first..all.len()
        });
        steps.extend((ways.start as u32..).zip(&all[ways.clone()]).map(|(at, way)| {
            let reading = row.candidates[way.candidate].cost;
            (state.cost + reading + fit_cost(state, way) + way.left, from, at)
        }));
    }
    effort::spend(steps.len() / 2);
    steps.retain(|(cost, ..)| *cost < limit);
    steps.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut alike: FxHashMap<_, SmallVec<[u32; 2]>> = FxHashMap::default();
    let mut kept: Vec<State> = Vec::new();
    for (cost, from, at) in steps {
        let (state, way) = (&before[from as usize], &all[at as usize]);
        let anchor = if anchors { state.needle.count } else { state.anchor };
        let edit = row.candidates[way.candidate].edit;
        let edits = edit.map_or(state.edits, |edit| state.edits.wrapping_mul(31).wrapping_add(edit + 1));
        let known = alike
            .entry((way.after.count, way.after.unreached, way.after.overs, state.start, anchor))
            .or_default();
        if known.len() >= paths || known.contains(&edits) {
            continue;
        }
        known.push(edits);
        let fit = Fit { cost: fit_cost(state, way), ..way.fit.clone() };
        let before = state.needle.count;
        let chosen = Chosen { candidate: way.candidate, before, fault: way.fault, fit };
        let (needle, start, from) = (way.after, state.start, from as usize);
        kept.push(State { needle, start, anchor, cost, edits, from, chosen: Some(chosen) });
        if kept.len() == most {
            break;
        }
    }
    kept
}

/// The ways past a row from a needle; a row that fits in no reading is passed as a fault.
fn past(row: &ChainRow, needle: Needle, of: Option<u32>, out: &mut Vec<Way>) {
    let mut fitting = Vec::new();
    let mut fitted = false;
    let mut add = |candidate: usize, fit: Fit, fault: bool, here: f64| {
        let left = match row.stated {
            Some(stated) if stated != fit.after => STATED,
            None if fit.after != needle.count => UNBALANCED,
            _ => 0.0,
        };
        let after = needle.after(&row.candidates[candidate].seq, &fit);
        out.push(Way { candidate, fit, fault, after, left, here });
    };
    for (index, candidate) in row.candidates.iter().enumerate() {
        ways(&candidate.seq, needle, &mut fitting);
        let only_here = of.is_some_and(|of| !repeats_in(&candidate.seq, of));
        for fit in fitting.drain(..) {
            fitted |= candidate.edit.is_none();
            add(index, fit, false, if only_here { NOT_OF_ALL } else { 0.0 });
        }
    }
    if !fitted {
        for (index, candidate) in row.candidates.iter().enumerate().filter(|(_, one)| one.edit.is_none()) {
            for fit in faulty(&candidate.seq, needle.count) {
                add(index, fit, true, 0.0);
            }
        }
    }
}

/// Whether what a row repeats to its end comes out in so many stitches.
fn repeats_in(seq: &Seq, stitches: u32) -> bool {
    let whole = |takes: u32| takes == 0 || stitches.is_multiple_of(takes);
    seq.shape().open.iter().all(|(unit, ..)| whole(unit.takes))
}

/// The ways in which a reading takes exactly what is on the needle; after a short row the next may also reach just the
/// stitches that were worked, without a word on turning.
pub fn ways(seq: &Seq, needle: Needle, out: &mut Vec<Fit>) {
    effort::spend(effort::WORKED);
    fits(seq, needle.count, needle.overs, out);
    if let Some((parts, told)) = seq.by_needle() {
        return parts.fits(needle.count, needle.shares, told, out);
    }
    if let Some((row, _)) = seq.spread() {
        return out.extend(row.fit(needle.count, needle.decreases));
    }
    let fixed = seq.shape().fixed;
    let Some(reach) = needle.count.checked_sub(needle.unreached).filter(|_| needle.unreached > 0) else {
        return;
    };
    if !seq.shape().open.is_empty() {
        return back_to_the_edge(seq, needle, reach, out);
    }
    if !seq.turns() && fixed.takes == reach {
        let after = fixed.makes + needle.unreached;
        out.push(Fit { after, overs: fixed.overs, cost: 0.2, ..Fit::whole() });
    }
}

/// "Knit to the end", after the work was turned: to the edge where the short row began; past it hardly ever.
fn back_to_the_edge(seq: &Seq, needle: Needle, reach: u32, out: &mut Vec<Fit>) {
    const PAST_THE_EDGE: f64 = 1.5;
    out.iter_mut().for_each(|fit| fit.cost += PAST_THE_EDGE);
    let mut back = Vec::new();
    fits(seq, reach, needle.overs, &mut back);
    out.extend(back.into_iter().map(|fit| Fit { after: fit.after + needle.unreached, ..fit }));
}

/// What a row that does not fit may leave: what it makes as printed, or what is on the needle and as many more or
/// fewer as the row would make of its own stitches.
pub fn faulty(seq: &Seq, on_needle: u32) -> Vec<Fit> {
    let shape = seq.shape();
    let (mut takes, mut makes, mut rounds) = (shape.fixed.takes, shape.fixed.makes, 0);
    if let [(unit, ..)] = shape.open.as_slice()
        && unit.takes > 0
    {
        rounds = (on_needle.saturating_sub(takes) / unit.takes).max(1);
        takes = takes.saturating_add(unit.takes.saturating_mul(rounds));
        makes = makes.saturating_add(unit.makes.saturating_mul(rounds));
    }
    let out = takes.abs_diff(on_needle);
    let cost = FAULT + FAULT_STITCH * f64::from(out.min(8));
    let fit = |after| Fit { rounds, after, cost, ..Fit::whole() };
    let kept = (on_needle + makes).saturating_sub(takes);
    if kept == makes { vec![fit(makes)] } else { vec![fit(makes), fit(kept)] }
}

fn trace(layers: &[Vec<State>], at: usize, cost: f64, closed: bool) -> Path {
    let mut rows = Vec::with_capacity(layers.len().saturating_sub(1));
    let mut at = at;
    let mut start = 0;
    for layer in layers.iter().rev() {
        let state = &layer[at];
        start = state.start;
        at = state.from;
        rows.extend(state.chosen.clone());
    }
    rows.reverse();
    Path { start, cost, rows, closed }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read::{Options, Reader};

    #[test]
    fn paths_that_grow_too_dear_are_given_up_and_no_others() {
        // A fault in the second row, and a repeat that the third row cuts short.
        let text = "Cast on 11 stitches. 1st row: knit 2, over, narrow, knit 7. 2nd row: purl 12. \
            3rd row: * knit 2, over, narrow; repeat from *. 4th row: purl.";
        let reading = Reader::new().unwrap().read(text, &Options::default());
        let piece = &reading.pieces[0];
        let all = solve(&piece.chain, &piece.ends);
        let least = all[0].cost;
        assert!(least > FAULT && all.len() > 1, "{least}, {}", all.len());
        assert_eq!(solve_below(&piece.chain, &piece.ends, least + 1e-9), all[..1]);
        assert_eq!(solve_below(&piece.chain, &piece.ends, least), []);
        let dearer = all.iter().filter(|path| path.cost < least + 6.0).count();
        assert_eq!(solve_below(&piece.chain, &piece.ends, least + 6.0), all[..dearer]);
    }
}
