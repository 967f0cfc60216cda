//! Hands that slip: a row worked otherwise than told, with what is then found.
//!
//! How often each slip is made is fixed here by weights of its own; the places are drawn evenly.

use along::{Found, Off, SlipKind};
use loops::{Op, Piece, WorkedRow, work};
use prose::Rng;

/// A slip that was made.
#[derive(Clone, Debug)]
pub struct Made {
    pub kind: SlipKind,
    /// Index of the row it was made in.
    pub row: usize,
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
    /// She says from which stitch on the row looks wrong, now and then one off.
    Looks,
}

const KINDS: [(SlipKind, u32); 9] = [
    (SlipKind::YarnOverMissed, 32),
    (SlipKind::DecreaseMissed, 20),
    (SlipKind::DecreaseShort, 5),
    (SlipKind::IncreaseMissed, 6),
    (SlipKind::TakenTogether, 9),
    (SlipKind::Dropped, 8),
    (SlipKind::YarnOverExtra, 8),
    (SlipKind::YarnOverLost, 5),
    (SlipKind::BoundOffFew, 3),
];

/// A kind of slip.
pub fn kind(rng: &mut Rng) -> SlipKind {
    rng.weigh(KINDS).expect("kinds that weigh something")
}

/// Slips once somewhere in a piece so that a count is wrong; `None` where this try found no place for it.
pub fn slip(piece: &Piece, kind: SlipKind, eye: Eye, rng: &mut Rng) -> Option<Made> {
    let worked = work(piece);
    let row = rng.below(u32::try_from(worked.rows.len()).ok()?) as usize;
    let told: Vec<Op> = worked.rows[row].ops.iter().map(|stitch| stitch.op).collect();
    let (op, done) = changed(&told, kind, rng)?;
    let wrong_by = net(&done) - net(&told);
    if wrong_by == 0 {
        return None;
    }
    let is_lost = kind == SlipKind::YarnOverLost;
    // One slip in eight is seen a row later only, and then where that row is plain.
    let later = is_lost || rng.chance(12);
    let seen_in = if later { row + 1 } else { row };
    let at = worked.rows.get(seen_in)?;
    if later && !is_plain(at) {
        return None;
    }
    let count = u32::try_from(i64::from(at.after) + wrong_by).ok()?;
    let off = if is_lost { Off::Nowhere } else { seen(first_difference(&told, &done), rng) };
    let looked = eye == Eye::Looks;
    let (here, before) = match (looked, later) {
        (false, _) => (Off::Unsaid, Off::Unsaid),
        (true, false) => (off, Off::Unsaid),
        (true, true) => (Off::Nowhere, off),
    };
    let found = Found { row: seen_in, count, here, before };
    Some(Made { kind, row, op, found, looked })
}

/// The first stitch that is another, now and then told one off.
fn seen(place: Option<u32>, rng: &mut Rng) -> Off {
    match place {
        None => Off::Nowhere,
        Some(place) if rng.chance(10) => Off::From(if rng.chance(50) { place + 1 } else { place.max(2) - 1 }),
        Some(place) => Off::From(place),
    }
}

fn is_plain(row: &WorkedRow) -> bool {
    row.ops.windows(2).all(|pair| pair[0].op == pair[1].op)
        && matches!(row.ops.first().map(|s| s.op), Some(Op::K | Op::P))
}

fn net(ops: &[Op]) -> i64 {
    ops.iter().map(|op| i64::from(op.makes()) - i64::from(op.takes())).sum()
}

/// The row as it was worked, and the place of the slip.
fn changed(told: &[Op], kind: SlipKind, rng: &mut Rng) -> Option<(usize, Vec<Op>)> {
    let knit = |op: &Op| matches!(op, Op::K | Op::P);
    let narrow = |op: &Op| op.is_decrease();
    let fits = |place: usize| match kind {
        SlipKind::YarnOverMissed | SlipKind::YarnOverLost => told[place] == Op::Yo,
        SlipKind::DecreaseMissed => narrow(&told[place]),
        SlipKind::DecreaseShort => matches!(told[place], Op::K3tog | Op::Sk2p | Op::P3tog | Op::S2kp),
        SlipKind::IncreaseMissed => matches!(told[place], Op::M1 | Op::Kfb | Op::Pfb | Op::K1P1),
        SlipKind::TakenTogether => {
            told[place..].len() > 1 && knit(&told[place]) && told[place] == told[place + 1]
        }
        SlipKind::Dropped => knit(&told[place]),
        SlipKind::YarnOverExtra => place > 0 && knit(&told[place]) && knit(&told[place - 1]),
        SlipKind::BoundOffFew => told[place] == Op::Bo && told.get(place + 1) != Some(&Op::Bo),
        _ => false,
    };
    let places: Vec<usize> = (0..told.len()).filter(|&place| fits(place)).collect();
    let place = *rng.pick(&places)?;
    let (before, after) = told.split_at(place);
    let same = |op: Op| if op.face() == loops::Face::Purl { Op::P } else { Op::K };
    let (done, taken): (Vec<Op>, usize) = match kind {
        SlipKind::YarnOverMissed | SlipKind::YarnOverLost | SlipKind::Dropped => {
            (if kind == SlipKind::Dropped { vec![Op::Drop] } else { vec![] }, 1)
        }
        SlipKind::DecreaseMissed => (vec![same(told[place]); told[place].takes() as usize], 1),
        SlipKind::DecreaseShort => {
            let pair = match told[place] {
                Op::K3tog => Op::K2tog,
                Op::P3tog => Op::P2tog,
                _ => Op::Skp,
            };
            (vec![pair, same(told[place])], 1)
        }
        SlipKind::IncreaseMissed => (vec![same(told[place]); told[place].takes() as usize], 1),
        SlipKind::TakenTogether => (vec![if told[place] == Op::P { Op::P2tog } else { Op::K2tog }], 2),
        SlipKind::YarnOverExtra => (vec![Op::Yo, told[place]], 1),
        SlipKind::BoundOffFew => (vec![Op::K], 1),
        _ => return None,
    };
    Some((place, [before, &done, &after[taken..]].concat()))
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
