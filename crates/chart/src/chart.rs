//! The chart as data: what stands in which column of which row.
//!
//! Invariants: the cells of a row stand from left to right and fill all columns; a turn is a cell of no width on
//! the line where the work was turned. Without the squares that hold no stitch or a resting one, the cells of a
//! row are exactly its operations; [`Chart::worked`] gives them back, folded repeats spelled out.

use std::collections::HashMap;
use std::fmt;

use loops::{Op, Piece, Side, Worked, WorkedRow, work};

use crate::collapse::collapse;
use crate::flow::{Flow, Loose};
use crate::growing::{self, Cuts};
use crate::place::{Placed, place};
use crate::repeat;
use crate::settle::{comes_back, settle};
use crate::symbol::Symbol;

/// Columns that a chart may have when drawn.
pub const COLUMN_LIMIT: usize = 400;
/// Rows that a chart may have when drawn.
pub const ROW_LIMIT: usize = 1000;
/// Cells that a piece may have, all repeats spelled out, before folding.
pub const CELL_LIMIT: usize = COLUMN_LIMIT * ROW_LIMIT;

/// A piece as a grid of symbols, as seen from one side.
#[derive(Clone, Debug, PartialEq)]
pub struct Chart {
    /// The side that it shows: the right one as it is laid out, the wrong one after [`Chart::from_wrong_side`].
    pub seen: Side,
    /// What the text calls the piece.
    pub name: Option<String>,
    /// There and back, or in the round.
    pub worked: Worked,
    /// Columns of the grid.
    pub columns: usize,
    /// Rows from the bottom up.
    pub rows: Vec<ChartRow>,
    /// The repeat across, where there is one.
    pub repeat: Option<Repeat>,
    /// The symbols used, each once, in the order of a key.
    pub key: Vec<KeyEntry>,
}

/// A drawn row.
#[derive(Clone, Debug, PartialEq)]
pub struct ChartRow {
    /// What stands beside it, on the side where it starts: right for a row worked on the side that is seen, else left.
    pub label: String,
    /// The side that faces the worker.
    pub side: Side,
    /// From left to right.
    pub cells: Vec<Cell>,
    /// Stitches before the row.
    pub before: u32,
    /// Stitches after the row.
    pub after: u32,
    /// Index in the piece of the row drawn here.
    pub first: usize,
    /// How many rows of the piece are drawn here; 1 unless a run of like rows was drawn once.
    pub times: usize,
    /// How many rows apart those are.
    pub step: usize,
}

/// One symbol in its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cell {
    /// First column, counted from the left.
    pub column: usize,
    /// Columns it fills; none for a turn.
    pub width: usize,
    /// What it shows.
    pub symbol: Symbol,
    /// The operation as the worker does it; `None` where nothing is worked.
    pub op: Option<Op>,
}

/// Columns that are worked several times across.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Repeat {
    /// First column of the first repeat, counted from the left.
    pub start: usize,
    /// Columns of one repeat.
    pub width: usize,
    /// How many times it is worked.
    pub times: usize,
    /// Whether only one of them is drawn.
    pub folded: bool,
}

/// A symbol of the chart with what it asks for on either side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct KeyEntry {
    /// The symbol.
    pub symbol: Symbol,
    /// The operation, if the symbol stands in a right-side row.
    pub right: Option<Op>,
    /// The operation, if the symbol stands in a wrong-side row.
    pub wrong: Option<Op>,
}

/// How a piece is laid out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Options {
    /// Stitches above which only one repeat is drawn between the edges. Default 30, which fits a page at a
    /// readable size.
    pub fold_above: usize,
    /// Like rows in a run from which they are drawn once. Default 8; fewer are quicker counted than explained.
    pub collapse_from: usize,
}

impl Default for Options {
    fn default() -> Options {
        Options { fold_above: 30, collapse_from: 8 }
    }
}

impl Options {
    /// Everything drawn as often as it is worked.
    pub const WHOLE: Options = Options { fold_above: usize::MAX, collapse_from: usize::MAX };
}

/// Why a piece cannot be charted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ChartError {
    /// There is nothing to draw.
    Empty,
    /// Too many columns, even with one repeat drawn.
    TooWide {
        /// Columns it would have.
        columns: usize,
    },
    /// Too many rows, even with like rows drawn once.
    TooTall {
        /// Rows it would have.
        rows: usize,
    },
    /// Too many stitches altogether.
    TooLarge,
}

impl fmt::Display for ChartError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ChartError::Empty => {
                write!(f, "the piece has no rows to chart; give it at least one row with a stitch")
            }
            ChartError::TooWide { columns } => write!(
                f,
                "the chart would be {columns} columns wide, and {COLUMN_LIMIT} are the most; chart one panel, or \
                 cast on fewer repeats"
            ),
            ChartError::TooTall { rows } => write!(
                f,
                "the chart would be {rows} rows high, and {ROW_LIMIT} are the most; chart one repeat in height, or \
                 split the piece in parts"
            ),
            ChartError::TooLarge => write!(
                f,
                "the piece has more than {CELL_LIMIT} stitches, too many for one chart; chart one repeat, or split \
                 the piece in parts"
            ),
        }
    }
}

impl std::error::Error for ChartError {}

impl Chart {
    /// Lays out a piece.
    ///
    /// A piece with faults is charted as far as it goes; the faults are told by [`loops::work`].
    ///
    /// # Errors
    /// [`ChartError`] when the piece has no stitch or is too large for a chart.
    pub fn of(piece: &Piece, options: &Options) -> Result<Chart, ChartError> {
        if piece.cast_on as usize > CELL_LIMIT || piece.rows.len() > CELL_LIMIT {
            return Err(ChartError::TooLarge);
        }
        let worked = work(piece).rows;
        let (mut columns, mut rows) = lay_out(&worked, piece.cast_on as usize)?;
        let mut repeat = repeat::find(&rows, columns);
        if let Some(repeat) = &mut repeat
            && widest(&worked) > options.fold_above
        {
            repeat::fold(&mut rows, &mut columns, repeat);
        }
        let rows = collapse(&rows, options.collapse_from);
        if columns > COLUMN_LIMIT {
            return Err(ChartError::TooWide { columns });
        }
        if rows.len() > ROW_LIMIT {
            return Err(ChartError::TooTall { rows: rows.len() });
        }
        let key = key_of(&rows);
        let (name, worked) = (piece.name.clone(), piece.worked);
        Ok(Chart { seen: Side::Right, name, worked, columns, rows, repeat, key })
    }

    /// The operations of row `index` of the piece, as the worker does them, read back from the chart.
    pub fn worked(&self, index: usize) -> Option<Vec<Op>> {
        let row = self.rows.iter().find(|row| row.draws(index))?;
        let mut ops: Vec<Op> = self.unfolded(row).filter_map(|cell| cell.op).collect();
        if self.starts_right(row) {
            ops.reverse();
        }
        Some(ops)
    }

    /// Whether a row is worked on the side that is seen, so that it starts at the right.
    pub(crate) fn starts_right(&self, row: &ChartRow) -> bool {
        row.side == self.seen
    }

    /// The cells of a row, left to right, with a folded repeat spelled out; columns are those of the drawing.
    fn unfolded<'a>(&self, row: &'a ChartRow) -> impl Iterator<Item = &'a Cell> + use<'a> {
        let (from, to, times) = match self.repeat {
            Some(Repeat { start, width, times, folded: true }) => (start, start + width, times),
            _ => (0, 0, 1),
        };
        let left = row.cells.partition_point(|cell| cell.column < from);
        let right = left + row.cells[left..].partition_point(|cell| cell.column < to);
        let (left, middle, right) = (&row.cells[..left], &row.cells[left..right], &row.cells[right..]);
        left.iter().chain(std::iter::repeat_n(middle, times).flatten()).chain(right)
    }
}

impl ChartRow {
    /// Whether row `index` of the piece is drawn here.
    pub fn draws(&self, index: usize) -> bool {
        index
            .checked_sub(self.first)
            .is_some_and(|above| above.is_multiple_of(self.step) && above / self.step < self.times)
    }
}

fn widest(rows: &[WorkedRow]) -> usize {
    rows.iter().map(|row| row.before.max(row.after)).max().unwrap_or(0) as usize
}

fn lay_out(worked: &[WorkedRow], cast_on: usize) -> Result<(usize, Vec<ChartRow>), ChartError> {
    let runs = runs(worked, cast_on)?;
    let cuts = match growing::find(&runs, cast_on) {
        Some(Cuts(cuts)) => cuts,
        None => vec![Vec::new(); runs.len()],
    };
    let zones = zones(&runs, &cuts);
    let columns = zones.iter().map(|zone| zone.width).sum();
    if columns == 0 {
        return Err(ChartError::Empty);
    }
    let rows = worked.iter().enumerate().map(|(index, row)| ChartRow {
        label: row.label.clone(),
        side: row.side,
        cells: cells(&runs[index], &cuts[index], &zones, index, row.side, columns),
        before: row.before,
        after: row.after,
        first: index,
        times: 1,
        step: 1,
    });
    let rows: Vec<ChartRow> = rows.collect();
    if columns.saturating_mul(rows.len()) > CELL_LIMIT {
        return Err(ChartError::TooLarge);
    }
    Ok((columns, rows))
}

fn runs(worked: &[WorkedRow], cast_on: usize) -> Result<Vec<Vec<Loose>>, ChartError> {
    let mut flow = Flow::new(cast_on);
    let mut total = 0;
    let mut runs = Vec::with_capacity(worked.len());
    for row in worked {
        let run = flow.row(row);
        total += width_of(&run);
        if total > CELL_LIMIT {
            return Err(ChartError::TooLarge);
        }
        runs.push(run);
    }
    Ok(runs)
}

fn width_of(cells: &[Loose]) -> usize {
    cells.iter().map(|cell| cell.width).sum()
}

/// The ranges of cells between the cuts of a row, edges included.
fn parts(run: &[Loose], cuts: &[usize]) -> impl Iterator<Item = std::ops::Range<usize>> {
    let starts = std::iter::once(0).chain(cuts.iter().copied());
    let ends = cuts.iter().copied().chain(std::iter::once(run.len()));
    starts.zip(ends).map(|(start, end)| start..end)
}

/// Places the zones from left to right; a chart without cuts is one zone.
fn zones(runs: &[Vec<Loose>], cuts: &[Vec<usize>]) -> Vec<Placed> {
    let count = cuts.first().map_or(0, Vec::len) + 1;
    (0..count).map(|zone| place_zone(runs, cuts, zone, zone > 0 && zone + 1 < count)).collect()
}

fn place_zone(runs: &[Vec<Loose>], cuts: &[Vec<usize>], zone: usize, is_repeat: bool) -> Placed {
    let mut rows = Vec::with_capacity(runs.len());
    let mut below = Vec::with_capacity(runs.len());
    let mut start = 0;
    for (run, cuts) in runs.iter().zip(cuts) {
        let first = zone.checked_sub(1).map_or(0, |cut| cuts[cut]);
        let last = cuts.get(zone).copied().unwrap_or(run.len());
        rows.push(&run[first..last]);
        below.push(start);
        start = width_of(&run[..first]);
    }
    if is_repeat && comes_back(&rows) { settle(&rows, &below) } else { place(&rows, &below) }
}

/// The cells of one row in their columns, the gaps filled.
fn cells(
    run: &[Loose],
    cuts: &[usize],
    zones: &[Placed],
    row: usize,
    side: Side,
    columns: usize,
) -> Vec<Cell> {
    let gap = |column| Cell { column, width: 1, symbol: Symbol::NoStitch, op: None };
    let mut out: Vec<Cell> = Vec::with_capacity(columns);
    let (mut filled, mut base) = (0, 0);
    for (zone, part) in zones.iter().zip(parts(run, cuts)) {
        for (loose, column) in run[part].iter().zip(&zone.columns[row]) {
            let column = base + column;
            out.extend((filled..column).map(gap));
            let symbol = loose.op.map_or(Symbol::Unworked, |op| Symbol::of(op, side));
            out.push(Cell { column, width: loose.width, symbol, op: loose.op });
            filled = column + loose.width;
        }
        base += zone.width;
    }
    out.extend((filled..columns).map(gap));
    out
}

/// The symbols of the rows in the order of a key: operations as `loops` names them, crossings by size, then the
/// squares in which nothing is worked.
pub(crate) fn key_of(rows: &[ChartRow]) -> Vec<KeyEntry> {
    let mut entries: Vec<KeyEntry> = Vec::new();
    let mut places = HashMap::new();
    for row in rows {
        for cell in &row.cells {
            let place = *places.entry(cell.symbol).or_insert_with(|| {
                entries.push(KeyEntry { symbol: cell.symbol, right: None, wrong: None });
                entries.len() - 1
            });
            match row.side {
                Side::Right => entries[place].right = cell.op,
                Side::Wrong => entries[place].wrong = cell.op,
            }
        }
    }
    entries.sort_by_key(|entry| key_order(entry.symbol));
    entries
}

fn key_order(symbol: Symbol) -> (usize, u32, String) {
    let place = |op: Op| Op::NAMED.iter().position(|&named| named == op).unwrap_or(Op::NAMED.len());
    match symbol {
        Symbol::Front(op @ Op::Cross(_)) | Symbol::Behind(op @ Op::Cross(_)) => {
            (Op::NAMED.len() * 2, op.takes(), op.to_string())
        }
        Symbol::Front(op) => (place(op) * 2, 0, String::new()),
        Symbol::Behind(op) => (place(op) * 2 + 1, 0, String::new()),
        Symbol::Unworked => (usize::MAX - 1, 0, String::new()),
        Symbol::NoStitch => (usize::MAX, 0, String::new()),
    }
}
