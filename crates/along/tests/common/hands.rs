//! Hands that slip: a row worked otherwise than told, with what is then found.
//!
//! How often each slip is made is fixed here by weights of its own; the rows, and the places in a row, are drawn
//! evenly. Since all ways to slip are known here, so is how well anybody could tell which it was ([`best`]).

use std::collections::BTreeMap;

use along::{Found, Off, Seen, SlipKind};
use loops::{Op, Piece, WorkedPiece, WorkedRow, work};
use prose::Rng;

/// A slip that was made.
#[derive(Clone, Debug)]
pub struct Made {
    pub kind: SlipKind,
    /// Index of the row it was made in; `None` for the cast-on.
    pub row: Option<usize>,
    /// Its place among the operations of the row.
    pub op: usize,
    /// What she finds.
    pub found: Found,
    /// Whether she looked where the row goes wrong.
    pub looked: bool,
}

/// How well she looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Eye {
    /// She only counts.
    Counts,
    /// She counts the yarn overs of the row too, and the holes of the row below where the row should have none; now
    /// and then one off.
    YarnOvers,
    /// The same, and she looks whether a loose loop hangs below the needles; now and then she overlooks it.
    YarnOversAndLoop,
    /// The same, and she counts the places of the row where stitches lie together in one; now and then one off.
    All,
    /// She says from which stitch on the row looks wrong, now and then one off.
    Looks,
}

const KINDS: [(SlipKind, u32); 12] = [
    (SlipKind::YarnOverMissed, 32),
    (SlipKind::DecreaseMissed, 20),
    (SlipKind::DecreaseShort, 5),
    (SlipKind::IncreaseMissed, 6),
    (SlipKind::TakenTogether, 9),
    (SlipKind::Dropped, 8),
    (SlipKind::YarnOverExtra, 8),
    (SlipKind::YarnOverLost, 5),
    (SlipKind::BoundOffFew, 3),
    (SlipKind::BoundOffMany, 2),
    (SlipKind::WoundLess, 2),
    (SlipKind::CastOn, 4),
];

/// One way to slip so that a count is wrong.
struct Way {
    kind: SlipKind,
    row: Option<usize>,
    op: usize,
    /// The row as it was worked.
    done: Vec<Op>,
    /// Index of the row after which she counts.
    seen_in: usize,
    count: u32,
    /// How likely it is, against the other ways of its kind.
    chance: f64,
}

/// One slip in eight is seen a row later only, and then where that row is plain.
const LATER: f64 = 0.12;
/// How often what she sees is one off, in a hundred.
const ONE_OFF: u32 = 10;

/// A kind of slip.
pub fn kind(rng: &mut Rng) -> SlipKind {
    rng.weigh(KINDS).expect("kinds that weigh something")
}

/// Slips once somewhere in a piece so that a count is wrong; `None` where there is no place for it.
pub fn slip(piece: &Piece, kind: SlipKind, eye: Eye, rng: &mut Rng) -> Option<Made> {
    let worked = work(piece);
    let ways = ways(&worked, kind);
    let mut at = f64::from(rng.below(1_000_000)) / 1e6 * ways.iter().map(|way| way.chance).sum::<f64>();
    let way = ways.iter().find(|way| {
        at -= way.chance;
        at < 0.0
    });
    let way = way.or(ways.last())?;
    let here_should = &worked.rows[way.seen_in];
    let below = way.seen_in.checked_sub(1).map(|row| &worked.rows[row]);
    let (mut here, mut before) = (Seen::default(), Seen::default());
    match eye {
        Eye::Counts => {}
        Eye::YarnOvers | Eye::YarnOversAndLoop | Eye::All => {
            here.yarn_overs = Some(counted(way.yarn_overs(way.seen_in, here_should), rng));
            before.yarn_overs = below
                .filter(|_| yarn_overs(&ops(here_should)) == 0)
                .map(|row| counted(way.yarn_overs(way.seen_in - 1, row), rng));
            here.together = (eye == Eye::All).then(|| counted(way.together(way.seen_in, here_should), rng));
        }
        Eye::Looks => {
            let off = match way.kind {
                SlipKind::YarnOverLost => Off::Nowhere,
                _ => match way.row {
                    Some(row) => seen(first_difference(&ops(&worked.rows[row]), &way.done), rng),
                    None => Off::Nowhere,
                },
            };
            let is_here = way.row.is_none_or(|row| row == way.seen_in);
            (here.off, before.off) = if is_here { (off, Off::Unsaid) } else { (Off::Nowhere, off) };
        }
    }
    let hangs = way.kind == SlipKind::Dropped && !rng.chance(ONE_OFF);
    let loose_loop = matches!(eye, Eye::YarnOversAndLoop | Eye::All).then_some(hangs);
    let found = Found { row: way.seen_in, count: way.count, here, before, loose_loop };
    Some(Made { kind, row: way.row, op: way.op, found, looked: eye == Eye::Looks })
}

/// How well anybody could tell what led to what she found, knowing how often each slip is made: how likely the
/// likeliest is, and that it is among the likeliest three.
pub fn best(piece: &Piece, found: &Found) -> (f64, f64) {
    let mut chances: Vec<f64> = chances(piece, found).into_values().collect();
    chances.sort_by(|a, b| b.total_cmp(a));
    let all: f64 = chances.iter().sum();
    (chances.iter().take(1).sum::<f64>() / all, chances.iter().take(3).sum::<f64>() / all)
}

/// How likely each slip is behind what she found, by its kind and row.
fn chances(piece: &Piece, found: &Found) -> BTreeMap<(SlipKind, Option<usize>), f64> {
    let worked = work(piece);
    let mut chances: BTreeMap<(SlipKind, Option<usize>), f64> = BTreeMap::new();
    for (kind, weight) in KINDS {
        let ways = ways(&worked, kind);
        let all: f64 = ways.iter().map(|way| way.chance).sum();
        for way in ways.iter().filter(|way| (way.seen_in, way.count) == (found.row, found.count)) {
            let sees = way.sees(&worked, found);
            *chances.entry((kind, way.row)).or_default() += f64::from(weight) * way.chance / all * sees;
        }
    }
    chances
}

/// All ways to slip once so that a count is wrong.
fn ways(worked: &WorkedPiece, kind: SlipKind) -> Vec<Way> {
    if kind == SlipKind::CastOn {
        return miscounted(worked);
    }
    let mut ways = Vec::new();
    for (row, should) in worked.rows.iter().enumerate() {
        let told = ops(should);
        let places = places(&told, kind);
        for &op in &places {
            let done = changed(&told, kind, op);
            let wrong_by = net(&done) - net(&told);
            for (seen_in, share) in [(row, 1.0 - LATER), (row + 1, LATER)] {
                let later = seen_in > row;
                let share = if kind == SlipKind::YarnOverLost { f64::from(u8::from(later)) } else { share };
                let Some(at) = worked.rows.get(seen_in).filter(|at| !later || is_plain(at)) else { continue };
                let Ok(count) = u32::try_from(in_hand(at) + wrong_by) else { continue };
                if wrong_by != 0 && share > 0.0 {
                    let chance = share / places.len() as f64;
                    ways.push(Way { kind, row: Some(row), op, done: done.clone(), seen_in, count, chance });
                }
            }
        }
    }
    ways
}

/// One cast on too many or too few: seen after the first row, or the second where the first shows nothing.
fn miscounted(worked: &WorkedPiece) -> Vec<Way> {
    let mut ways = Vec::new();
    let shows = |row: &WorkedRow| if is_plain(row) { LATER } else { 0.0 };
    let later = worked.rows.first().map_or(0.0, shows);
    for (seen_in, chance) in [(0, 1.0 - later), (1, later)] {
        let Some(at) = worked.rows.get(seen_in).filter(|_| chance > 0.0) else { continue };
        for wrong_by in [1, -1] {
            let Ok(count) = u32::try_from(in_hand(at) + wrong_by) else { continue };
            ways.push(Way {
                kind: SlipKind::CastOn,
                row: None,
                op: 0,
                done: Vec::new(),
                seen_in,
                count,
                chance,
            });
        }
    }
    ways
}

impl Way {
    /// The yarn overs that a row has after this slip. One that is lost in the next row leaves its hole behind.
    fn yarn_overs(&self, row: usize, should: &WorkedRow) -> u32 {
        yarn_overs(&self.worked(row, should))
    }

    /// The places of a row where stitches lie together after this slip.
    fn together(&self, row: usize, should: &WorkedRow) -> u32 {
        let count = self.worked(row, should).iter().filter(|op| op.is_decrease()).count();
        u32::try_from(count).expect("a row of common length")
    }

    /// A row as it was worked. A yarn over that is lost in the next row was worked in its own.
    fn worked(&self, row: usize, should: &WorkedRow) -> Vec<Op> {
        let is_changed = Some(row) == self.row && self.kind != SlipKind::YarnOverLost;
        if is_changed { self.done.clone() } else { ops(should) }
    }

    /// How likely she is to see what she found, but for the count, after this slip.
    fn sees(&self, worked: &WorkedPiece, found: &Found) -> f64 {
        let one_off = f64::from(ONE_OFF) / 100.0;
        let counts = |there: u32, seen: Option<u32>| match (there, seen) {
            (_, None) => 1.0,
            (0, Some(1)) => one_off,
            (there, Some(seen)) if there == seen => 1.0 - one_off,
            (there, Some(seen)) if there.abs_diff(seen) == 1 => one_off / 2.0,
            _ => 0.0,
        };
        let likely = |row: Option<usize>, seen: Seen| {
            let Some(row) = row else { return 1.0 };
            let should = &worked.rows[row];
            counts(self.yarn_overs(row, should), seen.yarn_overs)
                * counts(self.together(row, should), seen.together)
        };
        let sees_loop = match (self.kind, found.loose_loop) {
            (SlipKind::Dropped, Some(true)) => 1.0 - one_off,
            (SlipKind::Dropped, Some(false)) => one_off,
            (_, Some(true)) => 0.0,
            (_, Some(false) | None) => 1.0,
        };
        sees_loop * likely(Some(found.row), found.here) * likely(found.row.checked_sub(1), found.before)
    }
}

/// A number that she counts, now and then one off.
fn counted(there: u32, rng: &mut Rng) -> u32 {
    match rng.chance(ONE_OFF) {
        true if there == 0 || rng.chance(50) => there + 1,
        true => there - 1,
        false => there,
    }
}

/// The first stitch that is another, now and then told one off.
fn seen(place: Option<u32>, rng: &mut Rng) -> Off {
    match place {
        None => Off::Nowhere,
        Some(place) if rng.chance(ONE_OFF) => {
            Off::From(if rng.chance(50) { place + 1 } else { place.max(2) - 1 })
        }
        Some(place) => Off::From(place),
    }
}

fn ops(row: &WorkedRow) -> Vec<Op> {
    row.ops.iter().map(|stitch| stitch.op).collect()
}

/// Stitches that she counts after a row: not those that wait behind a turn.
fn in_hand(row: &WorkedRow) -> i64 {
    let takes: u32 = row.ops.iter().map(|stitch| stitch.op.takes()).sum();
    let turns = row.ops.iter().any(|stitch| stitch.op == Op::Turn);
    i64::from(row.after) - if turns { i64::from(row.before) - i64::from(takes) } else { 0 }
}

fn yarn_overs(ops: &[Op]) -> u32 {
    let count = ops.iter().filter(|op| matches!(op, Op::Yo | Op::Yo2 | Op::Yo3 | Op::Kyok)).count();
    u32::try_from(count).expect("a row of common length")
}

fn is_plain(row: &WorkedRow) -> bool {
    row.ops.windows(2).all(|pair| pair[0].op == pair[1].op)
        && matches!(row.ops.first().map(|s| s.op), Some(Op::K | Op::P))
}

fn net(ops: &[Op]) -> i64 {
    ops.iter().map(|op| i64::from(op.makes()) - i64::from(op.takes())).sum()
}

/// The places of a row where hands can slip so.
fn places(told: &[Op], kind: SlipKind) -> Vec<usize> {
    let knit = |op: &Op| matches!(op, Op::K | Op::P);
    let fits = |place: usize| match kind {
        SlipKind::YarnOverMissed | SlipKind::YarnOverLost => told[place] == Op::Yo,
        SlipKind::DecreaseMissed => told[place].is_decrease(),
        SlipKind::DecreaseShort => matches!(told[place], Op::K3tog | Op::Sk2p | Op::P3tog | Op::S2kp),
        SlipKind::IncreaseMissed => matches!(told[place], Op::M1 | Op::Kfb | Op::Pfb | Op::K1P1),
        SlipKind::TakenTogether => {
            told[place..].len() > 1 && knit(&told[place]) && told[place] == told[place + 1]
        }
        SlipKind::Dropped => knit(&told[place]),
        SlipKind::YarnOverExtra => place > 0 && knit(&told[place]) && knit(&told[place - 1]),
        SlipKind::WoundLess => matches!(told[place], Op::Yo2 | Op::Yo3),
        SlipKind::BoundOffMany => told[..place].last() == Some(&Op::Bo) && knit(&told[place]),
        SlipKind::BoundOffFew => told[place] == Op::Bo && told.get(place + 1) != Some(&Op::Bo),
        _ => false,
    };
    (0..told.len()).filter(|&place| fits(place)).collect()
}

/// The row as it was worked with a slip at one of its [`places`].
fn changed(told: &[Op], kind: SlipKind, place: usize) -> Vec<Op> {
    let (before, after) = told.split_at(place);
    let same = |op: Op| if op.face() == loops::Face::Purl { Op::P } else { Op::K };
    let (done, taken): (Vec<Op>, usize) = match kind {
        SlipKind::Dropped => (vec![Op::Drop], 1),
        SlipKind::DecreaseMissed | SlipKind::IncreaseMissed => {
            (vec![same(told[place]); told[place].takes() as usize], 1)
        }
        SlipKind::DecreaseShort => {
            let pair = match told[place] {
                Op::K3tog => Op::K2tog,
                Op::P3tog => Op::P2tog,
                _ => Op::Skp,
            };
            (vec![pair, same(told[place])], 1)
        }
        SlipKind::TakenTogether => (vec![if told[place] == Op::P { Op::P2tog } else { Op::K2tog }], 2),
        SlipKind::YarnOverExtra => (vec![Op::Yo, told[place]], 1),
        SlipKind::BoundOffFew => (vec![Op::K], 1),
        SlipKind::BoundOffMany => (vec![Op::Bo], 1),
        SlipKind::WoundLess => (vec![if told[place] == Op::Yo2 { Op::Yo } else { Op::Yo2 }], 1),
        _ => (vec![], 1),
    };
    [before, &done, &after[taken..]].concat()
}

/// The first stitch, counted from 1, that is made otherwise than it should be.
fn first_difference(told: &[Op], done: &[Op]) -> Option<u32> {
    let made = |ops: &[Op]| -> Vec<String> {
        ops.iter().flat_map(|op| (0..op.makes()).map(move |index| format!("{op} {index}"))).collect()
    };
    let (told, done) = (made(told), made(done));
    let place = told.iter().zip(&done).position(|(told, done)| told != done)?;
    u32::try_from(place + 1).ok()
}
