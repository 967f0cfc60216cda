//! The rows of an edging with a mitre in it: the short rows go on in pattern where that keeps its stitches.
//!
//! A row is cut where what is worked of it makes as many stitches as it takes; what is left over up to the turn is
//! knitted or purled, as most of the row is. Where the pattern grows or shrinks there, the short rows are knitted.

use cloth::Edge;
use loops::{Op, Piece, Row, Side, Stitch, tally};

use crate::Problem;
use crate::strip::{corner_after, outer_side, stitches_before};

/// Fewer stitches than these are worked plain: a hole would have nothing beside it.
const HOLES: u32 = 4;

/// An edging with room for a corner between two of its repeats.
pub(super) struct Cornered {
    /// The edging from its beginning to its end.
    piece: Piece,
    /// Rows before the corner.
    pub(super) before: usize,
    /// Stitches on the needle there.
    pub(super) stitches: u32,
    /// The rows that are worked there, away from the outer edge and back to it.
    pair: [Vec<Stitch>; 2],
    /// Whether these are the next rows of the pattern; if not, they are knitted.
    pub(super) in_pattern: bool,
    /// The side that faces on the way from the outer edge.
    side: Side,
}

impl Cornered {
    /// Some repeats before a corner and as many after it.
    pub(super) fn of(piece: &Piece, repeats: u32, straight: Edge) -> Result<Cornered, Problem> {
        let long = repeated(piece, 2 * repeats)?;
        let worked = loops::work(&long);
        let before = corner_after(&long, piece.repeat().rows(repeats as usize), straight);
        let stitches = stitches_before(&long, before);
        let next =
            [before, before + 1].map(|row| worked.rows.get(row).map_or(Vec::new(), |row| row.ops.clone()));
        let keeps = |ops: &Vec<Stitch>| {
            let tally = tally(ops);
            (tally.takes, tally.makes, tally.turns) == (stitches, stitches, false)
        };
        let in_pattern = next.iter().all(keeps);
        let pair = if in_pattern { next } else { [Op::K; 2].map(|op| plain(op, stitches)) };
        Ok(Cornered { piece: long, before, stitches, pair, in_pattern, side: outer_side(straight) })
    }

    /// With these short rows at the corner.
    pub(super) fn with_short_rows(&self, worked: impl Iterator<Item = u32>) -> Piece {
        self.with_pairs(worked.map(|stitches| {
            let mut there = cut(self.pair[0].iter(), stitches);
            there.push(Stitch::detached(Op::Turn));
            let mut back = cut(self.pair[1].iter().rev(), stitches);
            back.reverse();
            [there, back]
        }))
    }

    /// With as many pairs of rows over all stitches at the corner.
    pub(super) fn with_full_rows(&self, pairs: usize) -> Piece {
        self.with_pairs(std::iter::repeat_n(self.pair.clone(), pairs))
    }

    fn with_pairs(&self, pairs: impl Iterator<Item = [Vec<Stitch>; 2]>) -> Piece {
        let between = pairs.flat_map(|[there, back]| {
            [Row::of("", self.side, &there), Row::of("", self.side.turned(), &back)]
        });
        let (before, after) = self.piece.rows.split_at(self.before);
        let rows = before.iter().cloned().chain(between).chain(after.iter().cloned());
        Piece { rows: rows.collect(), ..self.piece.clone() }
    }
}

/// The edging with so many repeats.
pub(super) fn repeated(piece: &Piece, times: u32) -> Result<Piece, Problem> {
    piece
        .repeated(times)
        .map_err(|error| Problem::new(error.to_string(), "give the rows of one repeat of the edging"))
}

fn plain(op: Op, stitches: u32) -> Vec<Stitch> {
    vec![Stitch::detached(op); stitches as usize]
}

/// So many stitches of a row, from the outer edge on.
fn cut<'a>(ops: impl Iterator<Item = &'a Stitch> + Clone, stitches: u32) -> Vec<Stitch> {
    let purled = ops.clone().filter(|stitch| stitch.op == Op::P).count();
    let knitted = ops.clone().filter(|stitch| stitch.op == Op::K).count();
    let rest = if purled > knitted { Op::P } else { Op::K };
    if stitches < HOLES {
        return plain(rest, stitches);
    }
    let (mut takes, mut makes, mut whole) = (0, 0, (0, 0));
    for (place, stitch) in ops.clone().enumerate() {
        takes += stitch.op.takes();
        makes += stitch.op.makes();
        if takes.max(makes) > stitches {
            break;
        }
        if takes == makes {
            whole = (place + 1, takes);
        }
    }
    let (kept, taken) = whole;
    let mut row: Vec<Stitch> = ops.take(kept).copied().collect();
    row.extend(plain(rest, stitches - taken));
    row
}
