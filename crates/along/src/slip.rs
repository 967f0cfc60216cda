//! Count wrong: the slips that would give the count that was found, the likeliest first.
//!
//! ```text
//! row ── edits ──▶ what each would leave: count, first stitch that looks wrong
//!                  │
//!     found ───────┴──▶ cost of each place ──▶ places of one kind summed ──▶ order
//! ```
//!
//! Every operation of the row, and of the row before, is an opportunity for some slips ([`crate::chances`]). Those that
//! give the found count are kept; where she says from which stitch on the row looks wrong, each place is weighed by how
//! far from there its own first wrong stitch lies, and where she counts the yarn overs of the row, by how many it would
//! leave; so too the places where stitches lie together. A loose loop below the needles speaks for a dropped stitch. Two slips of different kinds in one row are not
//! looked for. What she had best look at next is for [`crate::next_look`] to say.
//!
//! How often hands that slip are told the right slip first, and among the first three, over random programs
//! (`cargo run -p along --example figures 910000`): by the place where the row looks wrong 91 % and 100 %; by the yarn
//! overs, the stitches that lie together and a loose loop 91 % and 98 %; without the second 84 % and 98 %; by the count
//! alone 60 % and 94 %. One who knew how often these hands make each slip would reach 94 %, 88 % and 66 % first in the last
//! three: a count leaves open what to tell by. What is short of that are rows in which two slips are about as likely, above
//! all whether one was made in this row or in the row before.

use std::ops::Range;

use loops::{Face, Lean, Op, WorkedPiece, WorkedRow};
use serde::Serialize;

use crate::chances as chance;
use crate::group::{Group, Nth};
use crate::needle::makes_hole;
use crate::work::{AlongPiece, AlongRow};

/// What she found after a row; what she has not looked at is left out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Found {
    /// Index of the row.
    pub row: usize,
    /// Stitches in hand after it, without those that wait behind a turn.
    pub count: u32,
    /// What she sees of the row, on the needles.
    pub here: Seen,
    /// What she sees of the row before, below the needles.
    pub before: Seen,
    /// Whether a loose loop hangs below the needles, or a ladder runs down.
    pub loose_loop: Option<bool>,
}

/// What she sees of a row.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Seen {
    /// Where it looks wrong.
    pub off: Off,
    /// Its yarn overs, one that is wound twice counted once: loops that lie over the needle, or holes below it.
    pub yarn_overs: Option<u32>,
    /// The places where two stitches or more lie together in one.
    pub together: Option<u32>,
}

/// From which stitch on a row looks wrong, counted in the order in which it was worked.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Off {
    /// She has not looked.
    #[default]
    Unsaid,
    /// All looks right.
    Nowhere,
    /// From this stitch on, counted from 1.
    From(u32),
}

impl From<Option<u32>> for Off {
    /// As it is asked for everywhere: 0 where the row looks right.
    fn from(stitch: Option<u32>) -> Off {
        match stitch {
            None => Off::Unsaid,
            Some(0) => Off::Nowhere,
            Some(stitch) => Off::From(stitch),
        }
    }
}

/// The kinds of slip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SlipKind {
    /// A yarn over was forgotten.
    YarnOverMissed,
    /// A double or triple yarn over was wound once less.
    WoundLess,
    /// Another increase was left out.
    IncreaseMissed,
    /// A decrease was worked as single stitches.
    DecreaseMissed,
    /// A decrease took one stitch too few.
    DecreaseShort,
    /// There is a yarn over too many.
    YarnOverExtra,
    /// Two single stitches were taken together.
    TakenTogether,
    /// A stitch was dropped.
    Dropped,
    /// A yarn over of the row before is lost.
    YarnOverLost,
    /// A repeat was worked plain.
    RepeatPlain,
    /// Another row was worked for this one.
    OtherRow,
    /// Too few were bound off.
    BoundOffFew,
    /// Too many were bound off.
    BoundOffMany,
    /// Not so many were cast on.
    CastOn,
}

/// A slip that would give the count found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Slip {
    /// Which slip.
    pub kind: SlipKind,
    /// Index of the row it was made in; `None` for the cast-on.
    pub row: Option<usize>,
    /// How often it was made.
    pub times: u32,
    /// Whether it was made every time, as one misreads a row.
    pub every_time: bool,
    /// Where it may have been made, the likeliest place first.
    pub places: Vec<SlipPlace>,
    /// Nats against it, all its places together.
    pub cost: f64,
    /// The row that was worked instead, where that is the slip.
    pub other: Option<usize>,
}

/// Where a slip may have been made.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SlipPlace {
    /// The operations of the row among which it was made, all alike to the eye; none where something came in between.
    #[serde(serialize_with = "crate::json::pair")]
    pub ops: Range<usize>,
    /// The first stitch of these, in the row as it should be, counted from 1 in working order.
    pub stitch: u32,
    /// The last stitch of these.
    pub last: u32,
    /// The repeat it stands in.
    pub repeat: Option<Nth>,
    /// From which stitch on the row would look wrong; `None` where it would not.
    pub off: Option<u32>,
    /// What could be counted in the row.
    #[serde(flatten)]
    pub shown: Shown,
    /// Nats against this place.
    pub cost: f64,
}

/// What can be counted in a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Shown {
    /// Yarn overs, one that is wound twice counted once.
    pub yarn_overs: u32,
    /// Places where two stitches or more lie together in one.
    pub together: u32,
}

/// One way to slip in a row.
#[derive(Clone)]
struct Edit {
    kind: SlipKind,
    /// Operations that were not worked as told.
    ops: Range<usize>,
    /// What was worked instead.
    instead: Vec<Op>,
    chance: f64,
}

/// A row for which slips are looked for.
struct Row<'a> {
    index: usize,
    ops: Vec<Op>,
    groups: &'a [Group],
    /// Stitches made before each operation.
    made: Vec<u32>,
    looks: Vec<Look>,
    shown: Shown,
}

/// By how many stitches a binding off goes wrong, at most.
const BOUND_OFF_BY: usize = 3;

/// What the eye tells apart on the needle, as whoever worked the row saw it.
#[derive(Clone, Copy, PartialEq, Eq)]
struct Look {
    face: Face,
    /// Stitches that run together here.
    together: u32,
    lean: Lean,
    hole: bool,
}

/// The slips that would give what was found, the likeliest first.
///
/// Empty where no single slip, and no slip of one kind made several times, gives that count.
pub fn slips(worked: &WorkedPiece, along: &AlongPiece, found: &Found) -> Vec<Slip> {
    let Some(row) = worked.rows.get(found.row) else { return Vec::new() };
    let in_hand = along.rows.get(found.row).map_or(row.after, AlongRow::in_hand);
    let wrong_by = i64::from(found.count) - i64::from(in_hand);
    let rows = |index: usize| Some(Row::of(index, worked.rows.get(index)?, &along.rows.get(index)?.groups));
    let mut slips = Vec::new();
    let Some(here) = rows(found.row) else { return slips };
    let before = found.row.checked_sub(1).and_then(rows);
    let below = before.as_ref().map_or(0.0, |before| before.against_no_slip(found.before));
    slips.extend(here.slips(wrong_by, found.here, below));
    slips.extend(other_rows(worked, found, &here, wrong_by).into_iter().map(|slip| slip.costlier(below)));
    if let Some(before) = before {
        let above = against_a_slip_below(&worked.rows[found.row], &here, found.here);
        slips.extend(before.slips(wrong_by, found.before, above));
        let above = here.against_no_slip(found.here);
        slips.extend(before.lost_yarn_overs(wrong_by, above + below));
    }
    slips.extend(cast_on(worked, along, &here, found, wrong_by).map(|slip| slip.costlier(below)));
    for slip in &mut slips {
        slip.cost += against_loop(slip.kind, found.loose_loop);
    }
    slips.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    slips
}

/// Nats against a slip, by whether she sees a loose loop.
fn against_loop(kind: SlipKind, seen: Option<bool>) -> f64 {
    match (kind, seen) {
        (SlipKind::Dropped, Some(false)) => chance::LOOP_OVERLOOKED,
        (SlipKind::Dropped, Some(true)) | (_, Some(false) | None) => 0.0,
        (_, Some(true)) => chance::NOT_SEEN,
    }
}

/// Nats against a slip in the row before: it was not noticed, and this row looks as it looks.
fn against_a_slip_below(worked: &WorkedRow, row: &Row<'_>, here: Seen) -> f64 {
    let plain = is_unshaped(worked);
    let unnoticed = if plain { chance::UNNOTICED } else { chance::UNNOTICED_IN_PATTERN };
    let seen = if here.off == Off::Nowhere && !plain { chance::NOT_SEEN } else { 0.0 };
    row.against_no_slip(here) + seen - unnoticed.ln()
}

/// Whether a row neither adds nor takes stitches nor crosses them: worked over a slip, it comes out all the same.
pub(crate) fn is_unshaped(row: &WorkedRow) -> bool {
    row.ops.iter().all(|stitch| stitch.op.makes() == stitch.op.takes() && !matches!(stitch.op, Op::Cross(_)))
}

/// Nats against a place whose row would look wrong from `off` on, by what she sees.
fn against(off: Option<u32>, seen: Off) -> f64 {
    match (seen, off) {
        (Off::Unsaid, _) | (Off::Nowhere, None) => 0.0,
        (Off::Nowhere, Some(_)) | (Off::From(_), None) => chance::NOT_SEEN,
        (Off::From(seen), Some(off)) => {
            chance::EYE_OFF.get(seen.abs_diff(off) as usize).copied().unwrap_or(chance::NOT_SEEN)
        }
    }
}

impl Shown {
    /// What some operations show.
    pub(crate) fn of(ops: &[Op]) -> Shown {
        let opens = |op: &&Op| (0..op.makes()).any(|index| makes_hole(**op, index));
        let yarn_overs = ops.iter().filter(opens).count() as u32;
        Shown { yarn_overs, together: ops.iter().filter(|op| op.is_decrease()).count() as u32 }
    }

    /// The same where some operations were worked instead of others, so many times.
    fn changed(self, told: Shown, instead: Shown, times: u32) -> Shown {
        let change = |all: u32, told: u32, instead: u32| (all + times * instead).saturating_sub(times * told);
        Shown {
            yarn_overs: change(self.yarn_overs, told.yarn_overs, instead.yarn_overs),
            together: change(self.together, told.together, instead.together),
        }
    }

    /// Nats against a row that shows this, by what she counts in it.
    fn against(self, seen: Seen) -> f64 {
        let off = |shown: u32, seen: Option<u32>, nats: &[f64]| {
            seen.map_or(0.0, |seen| {
                nats.get(shown.abs_diff(seen) as usize).copied().unwrap_or(chance::NOT_SEEN)
            })
        };
        off(self.yarn_overs, seen.yarn_overs, &chance::YARN_OVERS_OFF)
            + off(self.together, seen.together, &chance::TOGETHER_OFF)
    }
}

impl<'a> Row<'a> {
    fn of(index: usize, row: &WorkedRow, groups: &'a [Group]) -> Row<'a> {
        let ops: Vec<Op> = row.ops.iter().map(|stitch| stitch.op).collect();
        let mut made = vec![0];
        for op in &ops {
            made.push(made[made.len() - 1] + op.makes());
        }
        let (looks, shown) = (looks(&ops), Shown::of(&ops));
        Row { index, ops, groups, made, looks, shown }
    }

    /// The slips of this row that change its count by so much; `besides` are nats against any of them.
    fn slips(&self, wrong_by: i64, seen: Seen, besides: f64) -> Vec<Slip> {
        let edits = self.edits();
        let mut slips = Vec::new();
        let mut kinds: Vec<(SlipKind, i64)> =
            edits.iter().map(|edit| (edit.kind, self.change(edit))).collect();
        kinds.sort_unstable();
        kinds.dedup();
        for (kind, change) in kinds {
            let Some(times) = times_over(wrong_by, change) else { continue };
            let alike: Vec<&Edit> =
                edits.iter().filter(|edit| edit.kind == kind && self.change(edit) == change).collect();
            if alike.len() < times as usize {
                continue;
            }
            slips.extend(self.each_at_a_place(&alike, times, seen, besides));
            slips.extend(self.every_time(&alike, times, seen, besides));
        }
        slips
    }

    /// The same slip, so many times, at places that have nothing to do with each other.
    fn each_at_a_place(&self, alike: &[&Edit], times: u32, seen: Seen, besides: f64) -> Option<Slip> {
        let place = |edit: &&Edit| {
            let at_edge = edit.ops.start <= 1 || edit.ops.end + 1 >= self.ops.len();
            let edge = if at_edge { chance::AT_AN_EDGE.ln() } else { 0.0 };
            self.place(edit, times, self.against(edit, times, seen) + besides - edit.chance.ln() - edge)
        };
        let places: Vec<SlipPlace> = alike.iter().map(place).collect();
        let places = if alike.first()?.kind == SlipKind::Dropped { self.runs(places) } else { places };
        // Each further time is another slip of its own, anywhere: where it was made does not matter.
        let again = f64::from(times - 1) * -alike.iter().map(|edit| edit.chance).sum::<f64>().ln().min(0.0);
        Slip::of(alike.first()?.kind, Some(self.index), times, places, again)
    }

    /// The same slip every time: at the one place of every repeat, or wherever the row gives the opportunity.
    fn every_time(&self, alike: &[&Edit], times: u32, seen: Seen, besides: f64) -> Option<Slip> {
        if times < 2 {
            return None;
        }
        let is_all = alike.len() == times as usize;
        let is_first_of_all = |edit: &Edit| {
            let nth = self.group_at(edit.ops.start).and_then(|group| group.repeat);
            nth.is_some_and(|nth| nth.of == times && nth.nth == 1)
        };
        let firsts = alike.iter().enumerate().filter(|&(index, edit)| {
            is_misread(edit.kind) && if is_all { index == 0 } else { is_first_of_all(edit) }
        });
        let places = firsts.map(|(_, edit)| {
            self.place(edit, times, self.against(edit, times, seen) + besides - chance::EVERY_REPEAT.ln())
        });
        let mut slip = Slip::of(alike.first()?.kind, Some(self.index), times, places.collect(), 0.0)?;
        slip.every_time = true;
        Some(slip)
    }

    /// Nats against a slip made so many times, at this place among them, by what she sees of the row.
    fn against(&self, edit: &Edit, times: u32, seen: Seen) -> f64 {
        against(self.off(edit), seen.off) + self.shown_after(edit, times).against(seen)
    }

    /// What the row would show after a slip made so many times.
    fn shown_after(&self, edit: &Edit, times: u32) -> Shown {
        let told = Shown::of(&self.ops[edit.ops.clone()]);
        self.shown.changed(told, Shown::of(&edit.instead), times)
    }

    /// Nats against no slip in this row, by what she sees of it.
    fn against_no_slip(&self, seen: Seen) -> f64 {
        let off = if matches!(seen.off, Off::From(_)) { chance::NOT_SEEN } else { 0.0 };
        off + self.shown.against(seen)
    }

    fn place(&self, edit: &Edit, times: u32, cost: f64) -> SlipPlace {
        let ops = edit.ops.clone();
        let repeat = self.group_at(ops.start).and_then(|group| group.repeat);
        let stitch = self.made[ops.start] + 1;
        let off = self.off(edit);
        let last = self.made[ops.end].max(stitch);
        SlipPlace { stitch, last, ops, repeat, off, shown: self.shown_after(edit, times), cost }
    }

    /// Places next to each other in one run of like stitches as one place: the eye cannot tell them apart.
    fn runs(&self, places: Vec<SlipPlace>) -> Vec<SlipPlace> {
        let mut runs: Vec<SlipPlace> = Vec::new();
        for place in places {
            match runs.last_mut() {
                Some(run)
                    if run.ops.end == place.ops.start
                        && self.ops[run.ops.start] == self.ops[place.ops.start] =>
                {
                    let least = run.cost.min(place.cost);
                    run.cost = least - ((least - run.cost).exp() + (least - place.cost).exp()).ln();
                    (run.ops.end, run.last) = (place.ops.end, place.last);
                }
                _ => runs.push(place),
            }
        }
        runs
    }

    fn group_at(&self, op: usize) -> Option<&Group> {
        self.groups.iter().find(|group| group.ops.contains(&op))
    }

    /// By how much an edit changes the count: what it makes, and what it leaves on the left needle, which is worked
    /// besides.
    fn change(&self, edit: &Edit) -> i64 {
        let net =
            |ops: &[Op]| ops.iter().map(|op| i64::from(op.makes()) - i64::from(op.takes())).sum::<i64>();
        net(&edit.instead) - net(&self.ops[edit.ops.clone()])
    }

    /// The first stitch that would look wrong; before the edit nothing does.
    fn off(&self, edit: &Edit) -> Option<u32> {
        let [start, end] = [edit.ops.start, edit.ops.end].map(|op| self.made[op] as usize);
        let instead = looks(&edit.instead);
        let is = instead.iter().chain(&self.looks[end..]);
        let differs = self.looks[start..].iter().zip(is).position(|(should, is)| should != is)?;
        u32::try_from(start + differs + 1).ok()
    }

    /// Every way to slip once in this row.
    fn edits(&self) -> Vec<Edit> {
        let mut edits = Vec::new();
        for (place, &op) in self.ops.iter().enumerate() {
            let at = place..place + 1;
            let mut add = |kind, instead: Vec<Op>, chance| {
                edits.push(Edit { kind, ops: at.clone(), instead, chance });
            };
            let single = if op.face() == Face::Purl { Op::P } else { Op::K };
            match op {
                Op::Yo => add(SlipKind::YarnOverMissed, vec![], chance::YARN_OVER_MISSED),
                Op::Yo2 | Op::Yo3 => {
                    let less = if op == Op::Yo2 { Op::Yo } else { Op::Yo2 };
                    add(SlipKind::WoundLess, vec![less], chance::WOUND_LESS);
                    add(SlipKind::YarnOverMissed, vec![], chance::YARN_OVER_MISSED);
                }
                Op::Co | Op::Pu | Op::Take | Op::Hold | Op::Turn | Op::Bo | Op::Drop | Op::Cross(_) => {}
                _ if op.is_increase() => {
                    let instead = if op.takes() == 0 { vec![] } else { vec![single; op.takes() as usize] };
                    add(SlipKind::IncreaseMissed, instead, chance::INCREASE_MISSED);
                }
                _ if op.is_decrease() => {
                    let takes = op.takes();
                    add(SlipKind::DecreaseMissed, vec![single; takes as usize], chance::DECREASE_MISSED);
                    if takes == 3 && op.makes() == 1 {
                        let pair = if single == Op::P { Op::P2tog } else { short_of(op) };
                        add(SlipKind::DecreaseShort, vec![pair, single], chance::DECREASE_SHORT);
                    }
                }
                Op::K | Op::P | Op::Ktbl | Op::Ptbl => {
                    add(SlipKind::Dropped, vec![Op::Drop], chance::DROPPED);
                }
                _ => {}
            }
        }
        edits.extend(self.pairs());
        edits.extend(self.accidental_yarn_overs());
        edits.extend(self.bindings_off());
        edits.extend(self.plain_repeats());
        edits
    }

    /// Two single stitches taken together.
    fn pairs(&self) -> impl Iterator<Item = Edit> {
        self.ops.windows(2).enumerate().filter_map(|(place, pair)| {
            let instead = match pair {
                [Op::K | Op::Ktbl, Op::K] => Op::K2tog,
                [Op::P | Op::Ptbl, Op::P] => Op::P2tog,
                _ => return None,
            };
            let (kind, chance) = (SlipKind::TakenTogether, chance::TAKEN_TOGETHER);
            Some(Edit { kind, ops: place..place + 2, instead: vec![instead], chance })
        })
    }

    /// A yarn over by accident, before any stitch but the first.
    fn accidental_yarn_overs(&self) -> impl Iterator<Item = Edit> {
        self.ops.windows(2).enumerate().filter(|(_, pair)| pair[1].takes() > 0 && pair[1] != Op::Bo).map(
            |(place, pair)| {
                let moves = pair[0].face() != pair[1].face() && pair[0].takes() > 0;
                let chance = if moves { chance::YARN_OVER_EXTRA_AT_CHANGE } else { chance::YARN_OVER_EXTRA };
                let kind = SlipKind::YarnOverExtra;
                Edit { kind, ops: place + 1..place + 1, instead: vec![Op::Yo], chance }
            },
        )
    }

    /// Some bound off too few or too many in each run of them; one off is likelier than two.
    fn bindings_off(&self) -> Vec<Edit> {
        let mut edits = Vec::new();
        let mut start = 0;
        for run in self.ops.chunk_by(|a, b| a == b) {
            let end = start + run.len();
            let singles = self.ops[end..].iter().take_while(|op| op.takes() == 1 && op.makes() == 1).count();
            for by in (1..=BOUND_OFF_BY).filter(|_| run[0] == Op::Bo) {
                let chance = chance::BOUND_OFF / 2.0 / 4f64.powi(i32::try_from(by).unwrap_or(i32::MAX) - 1);
                let mut add = |kind, ops, op| edits.push(Edit { kind, ops, instead: vec![op; by], chance });
                if by <= run.len() {
                    add(SlipKind::BoundOffFew, end - by..end, Op::K);
                }
                if by <= singles {
                    add(SlipKind::BoundOffMany, end..end + by, Op::Bo);
                }
            }
            start = end;
        }
        edits
    }

    /// A repeat worked plain.
    fn plain_repeats(&self) -> impl Iterator<Item = Edit> {
        self.groups.iter().filter(|group| group.repeat.is_some()).filter_map(|group| {
            let unit = &self.ops[group.ops.clone()];
            let takes: u32 = unit.iter().map(|op| op.takes()).sum();
            // A repeat with one figure in it, worked plain, is that figure left out.
            let shaped = unit.iter().filter(|op| op.is_increase() || op.is_decrease()).count() > 1;
            let instead = vec![Op::K; takes as usize];
            let (kind, chance) = (SlipKind::RepeatPlain, chance::REPEAT_PLAIN);
            (shaped && takes > 0).then(|| Edit { kind, ops: group.ops.clone(), instead, chance })
        })
    }

    /// Yarn overs of this row that were lost in the next; `besides` are nats against it by what she sees of both.
    ///
    /// In this row the hole is there; a strand shows where its loop should be in the next.
    fn lost_yarn_overs(&self, wrong_by: i64, besides: f64) -> Option<Slip> {
        let times = times_over(wrong_by, -1)?;
        let holes: Vec<Edit> = (0..self.ops.len())
            .filter(|&place| makes_hole(self.ops[place], 0))
            .map(|place| Edit {
                kind: SlipKind::YarnOverLost,
                ops: place..place + 1,
                instead: vec![],
                chance: chance::YARN_OVER_LOST,
            })
            .collect();
        let alike: Vec<&Edit> = holes.iter().collect();
        (alike.len() >= times as usize)
            .then(|| self.each_at_a_place(&alike, times, Seen::default(), besides))?
    }
}

/// Whether a slip can come of misreading a row, so that it is made again in every repeat.
fn is_misread(kind: SlipKind) -> bool {
    use SlipKind::*;
    matches!(kind, YarnOverMissed | WoundLess | IncreaseMissed | DecreaseMissed | DecreaseShort)
}

/// How a decrease of three looks with one stitch left out.
fn short_of(op: Op) -> Op {
    match op {
        Op::K3tog => Op::K2tog,
        Op::K3togTbl => Op::K2togTbl,
        _ => Op::Skp,
    }
}

/// How often a change must be made to be wrong by so much; `None` where it is never.
fn times_over(wrong_by: i64, change: i64) -> Option<u32> {
    if wrong_by == 0 && change == 0 {
        return Some(1);
    }
    let comes_out = change != 0 && wrong_by % change == 0 && wrong_by / change > 0;
    comes_out.then(|| u32::try_from(wrong_by / change).ok())?
}

fn looks(ops: &[Op]) -> Vec<Look> {
    ops.iter()
        .flat_map(|&op| {
            (0..op.makes()).map(move |index| Look {
                face: op.loop_face(index),
                together: if op.is_decrease() { op.takes() } else { 1 },
                lean: op.lean(),
                hole: makes_hole(op, index),
            })
        })
        .collect()
}

fn first_wrong(should: &[Look], is: &[Look]) -> Option<u32> {
    let differs = should.iter().zip(is).position(|(should, is)| should != is)?;
    u32::try_from(differs + 1).ok()
}

/// Other rows of the pattern that could have been worked on the same stitches.
fn other_rows(worked: &WorkedPiece, found: &Found, here: &Row<'_>, wrong_by: i64) -> Vec<Slip> {
    let row = &worked.rows[found.row];
    let near = found.row.saturating_sub(4)..worked.rows.len().min(found.row + 5);
    let mut slips: Vec<Slip> = Vec::new();
    for index in near {
        let other = &worked.rows[index];
        let same_change = i64::from(other.after) - i64::from(other.before)
            == wrong_by + i64::from(row.after) - i64::from(row.before);
        let fits = other.before == row.before && other.side == row.side && same_change;
        let ops: Vec<Op> = other.ops.iter().map(|stitch| stitch.op).collect();
        if !fits || ops == here.ops || slips.iter().any(|slip| slip.other == Some(index)) {
            continue;
        }
        let off = first_wrong(&here.looks, &looks(&ops));
        let shown = Shown::of(&ops);
        let seen = against(off, found.here.off) + shown.against(found.here);
        let cost = seen - chance::OTHER_ROW.ln();
        let place = SlipPlace::whole_row(off, shown, cost);
        let slip = Slip::of(SlipKind::OtherRow, Some(found.row), 1, vec![place], 0.0);
        slips.extend(slip.map(|slip| Slip { other: Some(index), ..slip }));
    }
    slips
}

/// Not so many cast on as told: only near the cast-on, since every count of a row afterwards would have shown it.
fn cast_on(
    worked: &WorkedPiece,
    along: &AlongPiece,
    here: &Row<'_>,
    found: &Found,
    wrong_by: i64,
) -> Option<Slip> {
    let near = found.row < 2 && (1..=3).contains(&wrong_by.abs());
    let rows = &worked.rows[..=found.row];
    let came_out = if rows.iter().all(is_unshaped) { 1.0 } else { chance::UNNOTICED_IN_PATTERN };
    let unnoticed = if found.row == 0 { 1.0 } else { chance::UNNOTICED };
    let cast_on = f64::from(along.cast_on.max(1)) * chance::CAST_ON / 2.0;
    let cost = (wrong_by.abs() - 1) as f64 - (cast_on * came_out * unnoticed).ln();
    let place = SlipPlace::whole_row(None, here.shown, cost + here.against_no_slip(found.here));
    near.then(|| Slip::of(SlipKind::CastOn, None, 1, vec![place], 0.0))?
}

impl SlipPlace {
    /// No place in particular.
    fn whole_row(off: Option<u32>, shown: Shown, cost: f64) -> SlipPlace {
        SlipPlace { ops: 0..0, stitch: 1, last: 1, repeat: None, off, shown, cost }
    }
}

impl Slip {
    /// The same with more nats against it.
    fn costlier(mut self, nats: f64) -> Slip {
        self.cost += nats;
        self
    }

    /// A slip with its places in order and their costs summed up; `None` without a place.
    fn of(
        kind: SlipKind,
        row: Option<usize>,
        times: u32,
        mut places: Vec<SlipPlace>,
        besides: f64,
    ) -> Option<Slip> {
        places.sort_by(|a, b| a.cost.total_cmp(&b.cost).then(a.ops.start.cmp(&b.ops.start)));
        let least = places.first()?.cost;
        let sum: f64 = places.iter().map(|place| (least - place.cost).exp()).sum();
        let cost = least - sum.ln() + besides;
        Some(Slip { kind, row, times, every_time: false, places, cost, other: None })
    }
}
