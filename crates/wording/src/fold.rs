//! The search for the shortest wording of a row.
//!
//! Length is counted in written steps, not letters, so that it does not depend on the terms. A row is
//!
//! ```text
//! prefix  *unit; repeat from * …  suffix
//! ```
//!
//! or has no star at all. Prefix, unit and suffix are each a shortest way through a graph whose places are the
//! gaps between operations and whose ways are "a run", "a run cut short where a repeat begins", and "a unit in
//! brackets". The star is tried at every run of the first unit of every repeat that takes at least half of
//! the row's stitches; among equals one that begins the row wins, then one that ends it.
//!
//! Limits: no brackets in brackets; units of at most `LONGEST_UNIT` operations;
//! of the possible numbers of times only the greatest and one less are tried (one less can free operations that
//! join the run behind). A row may therefore be worded a step longer than it could be, never wrongly.

use std::ops::Range;

use loops::{Op, ROW_LIMIT};

use crate::phrase::{Part, Phrase, Run, Step, Verb};
use crate::repeats::Repeats;

/// The price of one run, in tenths of a step.
const RUN: u32 = 10;

/// The price of a star: as much as two runs, so that `k1, p1, k1, p1` stays as it is.
const STAR: u32 = 20;

/// The price of a star in a piece of any width, where it says more than the runs that it stands for.
const STAR_OPEN: u32 = 5;

/// The price of brackets and their number: more than a star, which is preferred where both are possible.
const TIMES: u32 = 21;

/// From how many stitches on a run is worded "to end": below, a number is as short and helps to count.
const LONG_RUN: u32 = 8;

/// The shortest run that is worded "to end" when it follows a single edge stitch.
const EDGED_RUN: u32 = 3;

/// Whether a piece may be of another width than the one it is worked out for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Width {
    /// It is as wide as it is.
    Fixed,
    /// It may be as wide as its multiple allows; a star is then worth more than a number.
    Open,
}

/// Words a row worked over `before` stitches; [`Phrase::expand`] over as many gives the same operations.
///
/// A row that does not take what is there, or is longer than [`ROW_LIMIT`], is counted out without "to end".
pub fn fold(ops: &[Op], before: u32, width: Width) -> Phrase {
    let takes = ops.iter().map(|op| op.takes()).fold(0, u32::saturating_add);
    let turns = ops.contains(&Op::Turn);
    let unworked = if turns { before.saturating_sub(takes) } else { 0 };
    // "To end" means something only where the row fits its needle and is turned nowhere but at its end.
    let turned_within = ops.iter().position(|&op| op == Op::Turn).is_some_and(|first| first + 1 < ops.len());
    let fits = takes.checked_add(unworked) == Some(before) && !turned_within && ops.len() <= ROW_LIMIT;
    let row = Row::new(ops);
    let steps = match if fits { row.star(width) } else { None } {
        Some(star) => row.starred(&star, before),
        None => {
            let steps = row.shortest(0..ops.len()).into_iter().map(Step::Part).collect();
            if fits && !turns { swept(steps, before, width) } else { steps }
        }
    };
    Phrase { steps, unworked }
}

struct Row<'a> {
    ops: &'a [Op],
    /// Like operations from each place on.
    run: Vec<usize>,
    /// Runs begun before each place, and in the whole row.
    runs_before: Vec<u32>,
    /// Stitches taken before each place, and by the whole row.
    takes_before: Vec<u32>,
    repeats: Repeats,
}

/// One way onward in the graph.
#[derive(Clone, Copy)]
enum Way {
    Run { length: usize },
    Times { period: usize, times: usize },
}

/// A star with its place in the row.
struct Star {
    unit: Range<usize>,
    end: usize,
}

impl Row<'_> {
    fn new(ops: &[Op]) -> Row<'_> {
        let mut run = vec![1; ops.len()];
        for place in (1..ops.len()).rev() {
            if ops[place - 1] == ops[place] {
                run[place - 1] = run[place] + 1;
            }
        }
        let mut runs_before = vec![0; ops.len() + 1];
        let mut takes_before = vec![0u32; ops.len() + 1];
        for place in 0..ops.len() {
            let begins = place == 0 || ops[place - 1] != ops[place];
            runs_before[place + 1] = runs_before[place] + u32::from(begins);
            takes_before[place + 1] = takes_before[place].saturating_add(ops[place].takes());
        }
        let repeats = Repeats::of(ops, &run);
        Row { ops, run, runs_before, takes_before, repeats }
    }

    /// Runs in a part of the row, which is not empty.
    fn runs(&self, part: Range<usize>) -> u32 {
        // The first run of the part may have begun before it: count those that begin after its first operation.
        self.runs_before[part.end] - self.runs_before[part.start + 1] + 1
    }

    fn takes(&self, part: Range<usize>) -> u32 {
        self.takes_before[part.end] - self.takes_before[part.start]
    }

    /// Shows every way onward from a place, with where it leads and its price.
    fn ways(&self, from: usize, end: usize, mut show: impl FnMut(usize, u32, Way)) {
        let run = self.run[from].min(end - from);
        show(from + run, RUN, Way::Run { length: run });
        for to in self.repeats.places(from + 1..from + run) {
            show(to, RUN, Way::Run { length: to - from });
        }
        for repeat in self.repeats.at(from) {
            let period = repeat.period;
            let most = repeat.length.min(end - from) / period;
            for times in [most, most.saturating_sub(1)].into_iter().filter(|&times| times >= 2) {
                let price = TIMES + RUN * self.runs(from..from + period);
                show(from + times * period, price, Way::Times { period, times });
            }
        }
    }

    /// The price from each place of a part to its end, and the first way to take.
    fn prices_to_end(&self, part: Range<usize>) -> Vec<(u32, Option<Way>)> {
        let mut prices = vec![(0, None); part.len() + 1];
        for from in part.clone().rev() {
            let mut best = (u32::MAX, None);
            self.ways(from, part.end, |to, price, way| {
                let price = price + prices[to - part.start].0;
                if price < best.0 {
                    best = (price, Some(way));
                }
            });
            prices[from - part.start] = best;
        }
        prices
    }

    /// The price from the row's start to each place that can be reached.
    fn prices_from_start(&self) -> Vec<Option<u32>> {
        let end = self.ops.len();
        let mut prices = vec![None; end + 1];
        prices[0] = Some(0);
        for from in 0..end {
            let Some(so_far) = prices[from] else { continue };
            self.ways(from, end, |to, price, _| {
                let price = so_far + price;
                if prices[to].is_none_or(|known| price < known) {
                    prices[to] = Some(price);
                }
            });
        }
        prices
    }

    /// The shortest wording of a part without a star.
    fn shortest(&self, part: Range<usize>) -> Vec<Part> {
        let prices = self.prices_to_end(part.clone());
        let mut parts = Vec::new();
        let mut place = part.start;
        while let Some(way) = prices[place - part.start].1 {
            match way {
                Way::Run { length } => {
                    parts.push(Part::Run(self.run_of(place, length)));
                    place += length;
                }
                Way::Times { period, times } => {
                    let runs = self.runs_of(place..place + period);
                    parts.push(Part::Times { runs, times: count(times) });
                    place += period * times;
                }
            }
        }
        parts
    }

    fn run_of(&self, place: usize, length: usize) -> Run {
        Run { op: self.ops[place], count: count(length) }
    }

    fn runs_of(&self, part: Range<usize>) -> Vec<Run> {
        let runs = self.ops[part].chunk_by(|a, b| a == b);
        runs.map(|run| Run { op: run[0], count: count(run.len()) }).collect()
    }

    /// The best star, if the row is shorter with one.
    fn star(&self, width: Width) -> Option<Star> {
        let star_price = match width {
            Width::Fixed => STAR,
            Width::Open => STAR_OPEN,
        };
        let to_end = self.prices_to_end(0..self.ops.len());
        let from_start = self.prices_from_start();
        let without = to_end[0].0;
        let mut best: Option<((u32, bool, bool), Star)> = None;
        for (unit, stop) in self.units() {
            let Some(prefix) = from_start[unit.start] else { continue };
            let unit_price = self.prices_to_end(unit.clone())[0].0;
            let most = (stop - unit.start) / unit.len();
            for times in [most, most - 1].into_iter().filter(|&times| times >= 2) {
                let end = unit.start + times * unit.len();
                let price = prefix + unit_price + star_price + to_end[end].0;
                // Among equals: from the row's start, else to its end, else the shortest prefix.
                let rank = (price, unit.start > 0, end < self.ops.len());
                let is_better = price < without && best.as_ref().is_none_or(|(known, _)| rank < *known);
                if is_better && self.is_wide(unit.start..end) {
                    best = Some((rank, Star { unit: unit.clone(), end }));
                }
            }
        }
        best.map(|(_, star)| star)
    }

    /// What may stand behind a star, each with the place where its repeat breaks off.
    ///
    /// A unit that begins within a run is left out unless the repeat itself does: moved back to where the run
    /// begins, it has a run less before it and within it, and at most one more behind.
    fn units(&self) -> impl Iterator<Item = (Range<usize>, usize)> {
        let repeats =
            self.repeats.first_places().map(|(first, repeat)| (first, repeat.period, first + repeat.length));
        let wide = repeats.filter(|&(first, period, stop)| {
            self.is_wide(first..stop) && self.takes(first..first + period) > 0
        });
        wide.flat_map(move |(first, period, stop)| {
            let last = (stop - 2 * period).min(first + period - 1);
            let begins_run = move |&start: &usize| start == first || self.ops[start - 1] != self.ops[start];
            (first..=last).filter(begins_run).map(move |start| (start..start + period, stop))
        })
    }

    /// Whether a part takes at least half of the row's stitches.
    fn is_wide(&self, part: Range<usize>) -> bool {
        2 * u64::from(self.takes(part)) >= u64::from(self.takes(0..self.ops.len()))
    }

    fn starred(&self, star: &Star, before: u32) -> Vec<Step> {
        let left = before - self.takes_before[star.end];
        let prefix = self.shortest(0..star.unit.start);
        let suffix = self.shortest(star.end..self.ops.len());
        let across = Step::Across { unit: self.shortest(star.unit.clone()), left };
        let suffix = suffix.into_iter().map(Step::Part);
        prefix.into_iter().map(Step::Part).chain([across]).chain(suffix).collect()
    }
}

/// Lengths of slices of one row; a row of more than four thousand million operations would be cut.
fn count(length: usize) -> u32 {
    u32::try_from(length).unwrap_or(u32::MAX)
}

/// Words the run that takes most of a row as "knit to end" or the like, if there is one.
fn swept(mut steps: Vec<Step>, before: u32, width: Width) -> Vec<Step> {
    let runs = steps.iter().enumerate().filter_map(|(place, step)| match step {
        Step::Part(Part::Run(run)) => Some((place, *run)),
        _ => None,
    });
    let Some((place, run)) = runs.max_by_key(|(place, run)| (run.op.takes() * run.count, usize::MAX - place))
    else {
        return steps;
    };
    let taken_by_prefix = steps[..place].iter().map(takes).sum::<u32>();
    let left = before - taken_by_prefix - run.op.takes() * run.count;
    let is_whole = steps.len() == 1;
    let is_most = 2 * run.op.takes() * run.count >= before;
    let is_wide = run.count >= LONG_RUN && is_most;
    let is_open = width == Width::Open && run.count > 1 && is_most;
    let is_sweep = is_whole || is_wide || is_edged(&steps, run);
    let worded = match run.op {
        Op::K if is_sweep => Step::Sweep { verb: Verb::Knit, left },
        Op::P if is_sweep => Step::Sweep { verb: Verb::Purl, left },
        Op::Bo if is_whole => Step::BindOffAll,
        Op::K | Op::P | Op::Bo | Op::Hold | Op::Drop => return steps,
        op if (is_wide || is_open) && op.takes() > 0 => {
            Step::Across { unit: vec![Part::Run(Run { op, count: 1 })], left }
        }
        _ => return steps,
    };
    steps[place] = worded;
    steps
}

/// Whether a row is one edge stitch and the given run.
fn is_edged(steps: &[Step], run: Run) -> bool {
    let single = |step: &Step| matches!(step, Step::Part(Part::Run(edge)) if edge.count == 1);
    steps.len() == 2 && run.count >= EDGED_RUN && steps.iter().any(single)
}

fn takes(step: &Step) -> u32 {
    let of_runs = |runs: &[Run]| runs.iter().map(|run| run.op.takes() * run.count).sum::<u32>();
    match step {
        Step::Part(Part::Run(run)) => of_runs(&[*run]),
        Step::Part(Part::Times { runs, times }) => of_runs(runs) * times,
        // Steps that are not there before the sweep is chosen.
        Step::Across { .. } | Step::Sweep { .. } | Step::BindOffAll => 0,
    }
}
