//! From the chosen path to the program: the number cast on, the sides, every stitch spelled out.
//!
//! Knows the plan and the path; asks no questions and reads no text.

use std::rc::Rc;

use loops::{Multiple, Op, Piece, ROW_LIMIT, Row, Side, Step, Stitch, Worked, side_of};
use rustc_hash::FxHashSet;
use span::Span;

use crate::ast::{EdgeRule, Item};
use crate::chain::{ChainRow, Chosen, Ends, Path, workable};
use crate::effort;
use crate::plan::{Plan, PlannedRow};
use crate::read::Options;
use crate::rowwork::{Below, REMEMBERED, expand, needle_after};

/// The most needles that one piece hangs on; a larger number is a misreading.
const NEEDLES: u32 = 20;

/// The numbers that may have been cast on, with their cost.
pub fn starts(plan: &Plan, options: &Options) -> Vec<(u32, f64)> {
    let cast_on = &plan.cast_on;
    let own = cast_on.count.filter(|_| !plan.rows.is_empty());
    if let Some(count) = options.cast_on {
        return vec![(count, 0.0)];
    }
    let needles: u32 = cast_on.needles.iter().sum();
    if let (Some(count), Some(each)) = (own, cast_on.per_needle) {
        return vec![(count.saturating_mul(each), 0.0), (count, 3.0)];
    }
    if let Some(count) = own {
        return vec![(count, 0.0)];
    }
    if needles > 0 && cast_on.of.is_none() {
        return vec![(needles, 0.0)];
    }
    let (of, plus) = (cast_on.of.unwrap_or(1).max(1) * cast_on.per_needle.unwrap_or(1).max(1), cast_on.plus);
    let said = cast_on.of.is_some();
    (1..=120)
        .map(|repeats: u32| of.saturating_mul(repeats).saturating_add(plus))
        .filter(|count| *count <= 400)
        .map(|count| (count, small_cost(count) + if said { 0.0 } else { 0.5 }))
        .collect()
}

/// Where the text leaves the number open, one is taken that shows the pattern and is quickly knitted.
fn small_cost(count: u32) -> f64 {
    const WISHED: u32 = 12;
    if count < WISHED { 0.3 + 0.02 * f64::from(WISHED - count) } else { 0.003 * f64::from(count - WISHED) }
}

/// The program of a path.
pub fn program(plan: &Plan, chain: &[ChainRow], ends: &Ends, path: &Path) -> Piece {
    let worked = if plan.round { Worked::Round } else { Worked::Flat };
    let first_side = first_side(plan, worked);
    let many = Some(path.start as usize).filter(|many| *many <= REMEMBERED);
    let mut needle = vec![Below::CAST_ON; many.unwrap_or(0)];
    let mut rows = Vec::with_capacity(plan.rows.len());
    let mut short_before = false;
    let mut told = FxHashSet::default();
    let begins = |index: usize, row: &Chosen| match chain[index].candidates[row.candidate].seq.first() {
        Some(Item::Work(work)) => work.ops.first().copied(),
        _ => None,
    };
    let tells_slips = tells_slips(path.rows.iter().enumerate().filter_map(|(index, row)| begins(index, row)));
    for (index, (row, chosen)) in plan.rows.iter().zip(&path.rows).enumerate() {
        let mut ops = expand(&chain[index].candidates[chosen.candidate].seq, &chosen.fit, &needle);
        effort::spend(effort::STITCH * ops.len());
        let (label, side) = (row.label.clone(), side_of(worked, first_side, index));
        if ops.len() >= ROW_LIMIT {
            rows.push(Row { label, side, steps: endless(&ops), span: row.span });
            continue;
        }
        chain_off(&mut ops);
        if plan.as_seen && side == Side::Wrong {
            ops.reverse();
            ops.iter_mut().for_each(|stitch| stitch.op = stitch.op.from_behind());
        }
        let told_before = !told.insert(Rc::as_ptr(&row.readings));
        turn_short(&mut ops, chosen, row.span);
        // A short row worked again, until no stitch is left beyond it, stops short no more; and where none was short before,
        // a turn at the end is none of a short row.
        let takes: u32 = ops.iter().map(|stitch| stitch.op.takes()).sum();
        let whole = !chosen.fault && takes == chosen.before;
        ops.pop_if(|last| whole && (told_before || !short_before) && last.op == Op::Turn);
        short_before |= ops.last().is_some_and(|last| last.op == Op::Turn);
        if let Some(rule) =
            plan.edge_rule.filter(|rule| !plan.edge_besides && (!rule.front || side == Side::Right))
        {
            // A round has no edge.
            let none = worked == Worked::Round && !plan.edge_rows.contains(&index);
            let told = none || tells_slips && begins(index, chosen).is_some();
            follow(EdgeRule { first: rule.first.filter(|_| !told), ..rule }, &mut ops);
        }
        needle = needle_after(&ops, &needle, worked == Worked::Flat);
        let steps = ops.iter().map(|stitch| Step::Work(stitch.op, stitch.span)).collect();
        rows.push(Row { label, side, steps, span: row.span });
    }
    let needles = match (plan.cast_on.per_needle, plan.cast_on.needles.as_slice()) {
        (Some(count), _) if (1..=NEEDLES).contains(&count) && path.start.is_multiple_of(count) => {
            vec![path.start / count; count as usize]
        }
        (_, needles) => needles.to_vec(),
    };
    let multiple = multiple(plan, chain, ends, path);
    let once = plan.back_to.filter(|&row| path.closed && row < rows.len()).unwrap_or(0);
    Piece { name: None, worked, first_side, cast_on: path.start, multiple, needles, once, rows }
}

/// A row of more stitches than are spelled out, which no piece keeps.
fn endless(ops: &[Stitch]) -> Vec<Step> {
    ops.first()
        .map(|first| Step::Times(u32::MAX, vec![Step::Work(first.op, first.span)]))
        .into_iter()
        .collect()
}

/// Binding off told from its first stitch as "slip 1, knit 1, pass over; knit 1, pass over": the slipped stitch is bound
/// off like the others, and a knitted one is left.
fn chain_off(ops: &mut Vec<Stitch>) {
    let mut at = 0;
    while at + 1 < ops.len() {
        let length = ops[at + 1..].iter().take_while(|stitch| stitch.op == Op::Bo).count();
        if ops[at].op == Op::Skp && length > 0 {
            ops[at].op = Op::Bo;
            let span = ops[at + length].span;
            ops.insert(at + length + 1, Stitch { op: Op::K, span });
        }
        at += 1;
    }
}

/// Whether rows that are told stitch by stitch tell of a slipped first stitch too, so that one without it has none.
fn tells_slips(begun: impl Iterator<Item = Op>) -> bool {
    const TELL: usize = 3;
    let (slips, others): (Vec<Op>, Vec<Op>) = begun.partition(|op| op.is_slip());
    slips.len() >= TELL && slips.len() > 2 * others.len()
}

/// The first stitch of a row, and the last, as a rule told once has them.
fn follow(rule: EdgeRule, ops: &mut [Stitch]) {
    let plain = |stitch: &&mut Stitch| matches!(stitch.op, Op::K | Op::P);
    if let Some(first) = ops.first_mut().filter(plain) {
        first.op = rule.first.unwrap_or(first.op);
    }
    if let (Some(op), Some(last)) = (rule.last, ops.last_mut().filter(plain)) {
        last.op = op;
    }
}

/// A row back over the stitches that a short row reached ends where those end: the work is turned again.
fn turn_short(ops: &mut Vec<Stitch>, chosen: &Chosen, span: Span) {
    let takes: u32 = ops.iter().map(|stitch| stitch.op.takes()).sum();
    if !chosen.fault && takes < chosen.before && ops.last().is_some_and(|last| last.op != Op::Turn) {
        ops.push(Stitch { op: Op::Turn, span });
    }
}

/// The side of the first row: the one that is said, or the wrong one where the first row alone is purled, or the
/// purled rows are those that go with it.
fn first_side(plan: &Plan, worked: Worked) -> Side {
    if worked == Worked::Round {
        return Side::Right;
    }
    let said = plan.rows.iter().enumerate().find_map(|(index, row)| Some((index, row.side?)));
    if let Some((index, side)) = said {
        return if index.is_multiple_of(2) { side } else { side.turned() };
    }
    // A knit row says nothing: it may be a row of the right side, or the way back in garter stitch.
    let purled = |row: &PlannedRow| {
        let items = row.readings.first().map(|(_, seq)| seq.items()).unwrap_or_default();
        i32::from(items.iter().any(|item| matches!(item, Item::Rest { op: Op::P, .. })))
    };
    let lean: i32 = plan
        .rows
        .iter()
        .enumerate()
        .map(|(index, row)| if index.is_multiple_of(2) { purled(row) } else { -purled(row) })
        .sum();
    if lean > 0 { Side::Wrong } else { Side::Right }
}

/// The numbers that the cast-on may also be: as said, or found by trying.
fn multiple(plan: &Plan, chain: &[ChainRow], ends: &Ends, path: &Path) -> Option<Multiple> {
    let cast_on = &plan.cast_on;
    if let Some(of) = cast_on.of {
        return Some(Multiple { of, plus: cast_on.plus });
    }
    if ends.starts.len() < 3 {
        return None;
    }
    let works = |start: u32| workable(chain, ends.back_to, start, false);
    let of = (1..=60).find(|of| works(path.start + of) && works(path.start + 2 * of))?;
    Some(Multiple { of, plus: path.start % of })
}
