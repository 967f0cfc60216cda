//! The cloth graph: every stitch of a worked piece, what it was worked into and what became of it.
//!
//! ```text
//! row 2      4   5 ──▶ next along the row
//!           / \  |
//! row 1    2   3 |     stitch 4 has the parents 2 and 3 and is the fate of both
//!          |   | yo    a yarn over has no parent and hangs between its neighbours
//! row 0    0   1       the cast-on
//! ```
//!
//! Knows which loop stands on which, seen from the right side of the cloth. Knows nothing of sizes or shapes,
//! and reports no faults: a program that does not come out is worked as far as it goes (see
//! [`ClothGraph::work`]), and [`crate::work()`] says what is wrong with it.
//!
//! Invariants, all tried by [`ClothGraph::check`]: stitches are numbered in order of working, so those of a row
//! are a range of ids; parents lie in earlier rows; a stitch is used up by one operation or ended in one way or
//! still live, never two of these; in each row the loops there, less those taken and lost, and those made come
//! to the loops after it.

mod build;
mod check;
mod needles;

use span::Span;

use crate::{Face, Op, Side};

pub use self::check::Inconsistent;

/// How many stitches one graph may hold.
///
/// A shawl of 500 rows of 400 stitches has a tenth of this; a full graph takes about 100 megabytes.
pub const STITCH_LIMIT: usize = 2_000_000;

/// The number of a stitch in its graph, in order of working.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct StitchId(u32);

impl StitchId {
    /// The id of the stitch with this place in [`ClothGraph::stitches`].
    pub const fn new(place: u32) -> StitchId {
        StitchId(place)
    }

    /// The place of the stitch in [`ClothGraph::stitches`].
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

/// The number of a row in its graph: 0 for the cast-on, then the rows of the piece from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct RowId(u32);

impl RowId {
    /// The cast-on.
    pub const CAST_ON: RowId = RowId(0);

    /// The id of the row with this place in [`ClothGraph::rows`].
    pub const fn new(place: u32) -> RowId {
        RowId(place)
    }

    /// The place of the row in [`ClothGraph::rows`].
    pub const fn index(self) -> usize {
        self.0 as usize
    }

    /// The place of the row in the rows of its piece; `None` for the cast-on.
    pub const fn in_piece(self) -> Option<usize> {
        (self.0 as usize).checked_sub(1)
    }
}

/// One loop of the cloth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ClothStitch {
    /// The operation that made it, as the worker did it.
    pub op: Op,
    /// The place of that operation among all of the piece, from 0 in working order; `None` for the cast-on.
    pub operation: Option<u32>,
    /// Which of the loops that the operation made it is, from 0 in the order made.
    pub index: u16,
    /// The row it was made in.
    pub row: RowId,
    /// What became of it.
    pub fate: Fate,
    /// The words it came from.
    pub span: Span,
    /// The face shown on the right side of the cloth; that of the stitch below for a slipped one.
    pub face: Face,
    /// Whether the loop is turned about itself.
    pub twisted: bool,
    /// How the stitch was passed over in this row, for one that was not worked.
    pub slipped: Option<Slip>,
    /// Its part in a crossing, seen from the right side of the cloth.
    pub crossing: Option<Layer>,
    first_parent: u32,
    parent_count: u8,
}

/// How a stitch was slipped, seen from the right side of the cloth.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Slip {
    /// The yarn runs before the stitch and shows.
    YarnFront,
    /// The yarn runs behind the stitch.
    YarnBack,
    /// The yarn is laid over the stitch, and both are one unit.
    YarnOver,
}

/// The part of a stitch in a crossing, seen from the right side of the cloth.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Layer {
    /// It runs before the others.
    Over,
    /// It runs behind the others.
    Under,
}

/// What became of a stitch.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Fate {
    /// It is on the needles.
    Live,
    /// It was worked, slipped or taken back from a holder; this is the first loop made of it.
    Worked(StitchId),
    /// It was bound off in this row.
    BoundOff(RowId),
    /// It was let fall in this row.
    Dropped(RowId),
    /// It was put on a holder in this row and is there still.
    Held(RowId),
    /// It was left over in this row, which took fewer stitches than there were and did not turn.
    Left(RowId),
}

/// What a loop hangs from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hang<'a> {
    /// From the stitches it was worked into.
    Parents(&'a [StitchId]),
    /// From the cast-on edge.
    CastOn,
    /// From the strand between its neighbours along the row, or beyond the one neighbour at the row's end.
    Between(Option<StitchId>, Option<StitchId>),
    /// From an edge of the cloth, beside the neighbour that was worked before it.
    Edge(Option<StitchId>),
    /// From nothing: its row took more stitches than there were, or its holder was empty.
    Missing,
}

/// One row of the cloth, with the account of its loops.
///
/// `after = before - taken - left + made`, where `made` is the length of [`ClothRow::stitches`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ClothRow {
    /// The side that faced the worker.
    pub side: Side,
    /// Loops on the needles before the row.
    pub before: u32,
    /// Loops on the needles after the row.
    pub after: u32,
    /// Loops taken from the left needle.
    pub taken: u32,
    /// Loops lost because the row is short and does not turn.
    pub left: u32,
    /// Loops that the row asks for and that are not there.
    pub missing: u32,
    /// How many of those taken lie behind the worker, where a turn before left them: the counts agree, and yet
    /// the row cannot be worked as written.
    pub out_of_reach: u32,
    first: u32,
    end: u32,
}

impl ClothRow {
    /// The stitches made, in order of working.
    pub fn stitches(&self) -> impl DoubleEndedIterator<Item = StitchId> + ExactSizeIterator + use<> {
        (self.first..self.end).map(StitchId)
    }

    /// The number of stitches made.
    pub fn made(&self) -> u32 {
        self.end - self.first
    }
}

/// A piece that would have more than [`STITCH_LIMIT`] stitches.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TooManyStitches;

impl std::fmt::Display for TooManyStitches {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "the piece has more than {STITCH_LIMIT} stitches")
    }
}

impl std::error::Error for TooManyStitches {}

/// Every stitch of a worked piece.
#[derive(Clone, Debug, PartialEq)]
pub struct ClothGraph {
    stitches: Vec<ClothStitch>,
    /// The parents of all stitches, one run each.
    parents: Vec<StitchId>,
    rows: Vec<ClothRow>,
    live: Vec<StitchId>,
}

impl ClothGraph {
    /// The stitches in order of working; a [`StitchId`] is a place in this list.
    pub fn stitches(&self) -> &[ClothStitch] {
        &self.stitches
    }

    /// The rows in order, the cast-on first; a [`RowId`] is a place in this list.
    pub fn rows(&self) -> &[ClothRow] {
        &self.rows
    }

    /// The stitches on the needles at the end, in the order in which the next row would meet them: in flat work
    /// with the work turned, in the round going on.
    pub fn live(&self) -> &[StitchId] {
        &self.live
    }

    /// A stitch; `None` for an id of another graph that is too large for this one.
    pub fn stitch(&self, id: StitchId) -> Option<&ClothStitch> {
        self.stitches.get(id.index())
    }

    /// The stitches that a stitch was worked into, in the order in which they were taken; none for a yarn over,
    /// a cast-on or picked-up stitch.
    pub fn parents(&self, id: StitchId) -> &[StitchId] {
        let Some(stitch) = self.stitch(id) else { return &[] };
        let first = stitch.first_parent as usize;
        self.parents.get(first..first + usize::from(stitch.parent_count)).unwrap_or(&[])
    }

    /// The stitch after this one along its row; `None` for the last, in the round too.
    pub fn next(&self, id: StitchId) -> Option<StitchId> {
        let next = StitchId(id.0.checked_add(1)?);
        self.same_row(id, next).then_some(next)
    }

    /// The stitch before this one along its row; `None` for the first.
    pub fn previous(&self, id: StitchId) -> Option<StitchId> {
        let previous = StitchId(id.0.checked_sub(1)?);
        self.same_row(id, previous).then_some(previous)
    }

    /// What a stitch hangs from.
    pub fn hangs(&self, id: StitchId) -> Hang<'_> {
        let Some(stitch) = self.stitch(id) else { return Hang::Missing };
        match (self.parents(id), stitch.op) {
            ([], _) if stitch.row == RowId::CAST_ON => Hang::CastOn,
            ([], Op::Pu) => Hang::Edge(self.previous(id)),
            ([], Op::Take) => Hang::Missing,
            ([], op) if op.takes() == 0 => Hang::Between(self.previous(id), self.next(id)),
            ([], _) => Hang::Missing,
            (parents, _) => Hang::Parents(parents),
        }
    }

    fn same_row(&self, one: StitchId, other: StitchId) -> bool {
        match (self.stitch(one), self.stitch(other)) {
            (Some(one), Some(other)) => one.row == other.row,
            _ => false,
        }
    }
}
