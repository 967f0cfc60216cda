//! A piece as she works it: row by row, with everything that belongs to a row.

use chart::{Chart, Options};
use loops::{Op, Piece, Side, Tally, Worked, WorkedRow, tally, work};
use serde::Serialize;
use wording::{Terms, row_heading};

use crate::group::{Group, groups};
use crate::lifeline::lifelines;
use crate::ripped::Sign;
use crate::signs::Signs;

/// A piece for the needles.
#[derive(Clone, Debug, Serialize)]
pub struct AlongPiece {
    /// What it is called, if it is called anything.
    pub name: Option<String>,
    /// There and back, or in the round.
    #[serde(serialize_with = "crate::json::worked")]
    pub worked: Worked,
    /// Stitches cast on.
    pub cast_on: u32,
    /// How to begin.
    pub begin: String,
    /// Whether the rows can follow themselves.
    pub repeats: bool,
    /// The row at which they then begin again, from 1: those before it are worked once.
    pub again_from: usize,
    /// Whether the other side faces when they do, every second time through.
    pub flips: bool,
    /// Stitches worked in all rows, the cast-on among them.
    pub stitches: u64,
    /// The rows.
    pub rows: Vec<AlongRow>,
    /// What can be seen after each number of rows, from none to all.
    pub signs: Vec<Signs>,
    /// What is worth looking at in this piece at all, the quickest first.
    pub asks: Vec<Sign>,
}

/// A row for the needles.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AlongRow {
    /// The printed number, or a name.
    pub label: String,
    /// What it is headed.
    pub heading: String,
    /// The side that faces.
    #[serde(serialize_with = "crate::json::side")]
    pub side: Side,
    /// The whole row in words.
    pub text: String,
    /// Stitches on the needles before it.
    pub before: u32,
    /// Stitches on the needles after it.
    pub after: u32,
    /// How many of these wait unworked: the work was turned before them.
    pub waits: u32,
    /// Stitches on holders after it.
    pub on_holder: u32,
    /// Its operations, as files and JSON have them.
    pub ops: String,
    /// What is done, in order.
    pub groups: Vec<Group>,
    /// What is to be known besides.
    pub notes: Vec<String>,
    /// Why a lifeline after this row is worth it, where it is.
    pub lifeline: Option<String>,
    /// The row of the chart that shows it, from the bottom up.
    pub chart_row: Option<usize>,
}

/// How the rows of a piece begin again.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Again {
    /// Rows that are worked once, before the one at which they do.
    pub once: usize,
    /// Whether the other side faces then, every second time through.
    pub flips: bool,
}

impl Again {
    /// Nothing where they cannot follow themselves.
    pub(crate) fn of(piece: &Piece) -> Option<Again> {
        let once = piece.repeat().once;
        let twice = piece.repeated(2).ok()?;
        let flips = twice.rows.get(piece.rows.len())?.side != piece.rows.get(once)?.side;
        Some(Again { once, flips })
    }
}

impl AlongPiece {
    /// Works a piece; what does not come out in it is told by [`loops::work`], and worked as it stands.
    pub fn of(piece: &Piece, terms: Terms) -> AlongPiece {
        let worked = work(piece);
        let chart = Chart::of(piece, &Options::default()).ok();
        let chart_row = |index: usize| chart.as_ref()?.rows.iter().position(|row| row.draws(index));
        let mut on_holder = 0;
        let mut rows: Vec<AlongRow> = Vec::with_capacity(worked.rows.len());
        for (index, row) in worked.rows.iter().enumerate() {
            on_holder = holder_after(on_holder, row);
            let in_hand = rows.last().map(AlongRow::in_hand);
            let (groups, text) = groups(row, terms);
            rows.push(AlongRow {
                label: row.label.clone(),
                heading: row_heading(&row.label, piece.worked),
                side: row.side,
                text,
                before: row.before,
                after: row.after,
                waits: waits(row),
                on_holder,
                ops: loops::tokens(&row.ops),
                groups,
                notes: notes(row, on_holder, in_hand),
                lifeline: None,
                chart_row: chart_row(index),
            });
        }
        let again = Again::of(piece);
        for (index, reason) in lifelines(&worked.rows, again.map(|again| again.once)) {
            rows[index].lifeline = Some(reason);
        }
        let signs = Signs::of(piece, &worked);
        AlongPiece {
            name: piece.name.clone(),
            worked: piece.worked,
            cast_on: piece.cast_on,
            begin: wording::write(piece, terms).cast_on,
            repeats: again.is_some(),
            again_from: piece.repeat().once + 1,
            flips: again.is_some_and(|again| again.flips),
            stitches: u64::from(piece.cast_on) + worked.rows.iter().map(row_stitches).sum::<u64>(),
            asks: Sign::ALL.into_iter().filter(|sign| sign.tells_of(&signs, piece.worked)).collect(),
            signs,
            rows,
        }
    }
}

impl AlongRow {
    /// Stitches that she has in hand after it: those on the needles but for those that wait.
    pub fn in_hand(&self) -> u32 {
        self.after - self.waits
    }
}

/// Stitches that wait unworked after a row, since it was turned before them.
pub(crate) fn waits(row: &WorkedRow) -> u32 {
    let Tally { takes, turns, .. } = tally(&row.ops);
    if turns { row.before.saturating_sub(takes) } else { 0 }
}

fn holder_after(before: u32, row: &WorkedRow) -> u32 {
    row.ops.iter().fold(before, |held, stitch| match stitch.op {
        Op::Hold => held + 1,
        Op::Take => held.saturating_sub(1),
        _ => held,
    })
}

/// Stitches worked in a row: those made, and those bound off.
pub fn row_stitches(row: &WorkedRow) -> u64 {
    row.ops.iter().map(|stitch| u64::from(stitch.op.makes().max(u32::from(stitch.op == Op::Bo)))).sum()
}

/// What a row asks to be known besides what is done in it, with so many stitches in hand before it.
fn notes(row: &WorkedRow, on_holder: u32, in_hand: Option<u32>) -> Vec<String> {
    let has = |op: Op| row.ops.iter().any(|stitch| stitch.op == op);
    let mut notes = Vec::new();
    if in_hand == Some(0) && row.before > 0 {
        notes.push(format!("Join the yarn anew, to {} that waited.", stitch_count(row.before)));
    }
    let cables: Vec<_> = row.ops.iter().filter_map(|stitch| as_cross(stitch.op)).collect();
    if let Some(widest) = cables.iter().map(|cross| cross.held).max() {
        notes.push(format!("A spare needle for {}.", stitch_count(u32::from(widest))));
    }
    if on_holder > 0 {
        notes.push(format!("{} on the holder after the row.", stitch_count(on_holder)));
    }
    if has(Op::SlYo) || has(Op::Brk) || has(Op::Brp) {
        notes.push("A slipped stitch and the yarn laid over it are one stitch when you count.".to_owned());
    }
    if has(Op::Yo2) || has(Op::Yo3) {
        notes.push("A yarn wound twice is two stitches when you count, wound three times three.".to_owned());
    }
    notes
}

fn as_cross(op: Op) -> Option<loops::Cross> {
    if let Op::Cross(cross) = op { Some(cross) } else { None }
}

fn stitch_count(count: u32) -> String {
    crate::words::counted(count, "stitch", "stitches")
}
