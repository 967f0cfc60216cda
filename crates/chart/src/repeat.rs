//! The repeat across the chart: the columns that come again and again, in every row.
//!
//! Columns are compared as they are drawn. The longest stretch of columns in which each equals the one `width`
//! further on holds the repeats; where in that stretch the frame stands is free, and is chosen so that it cuts
//! no symbol, parts no yarn over from its decrease where that can be helped, and leaves the edges even.

use std::collections::{HashMap, HashSet};

use loops::Op;

use crate::chart::{COLUMN_LIMIT, Cell, ChartRow, Repeat};
use crate::symbol::Symbol;

/// What stands in one column of one row.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
struct Square {
    symbol: Symbol,
    op: Option<Op>,
    /// Columns from the start of its cell.
    within: usize,
    /// Whether the work was turned before it.
    turned: bool,
}

/// The rows of a chart as numbered squares, equal rows once.
struct Grid {
    rows: Vec<Vec<u32>>,
    squares: Vec<Square>,
    columns: usize,
}

/// Finds the repeat that fills most of the chart, at least half of it.
pub(crate) fn find(rows: &[ChartRow], columns: usize) -> Option<Repeat> {
    let grid = Grid::new(rows, columns);
    let alike = grid.good(1);
    let mut best: Option<Repeat> = None;
    for width in 2..=(columns / 2).min(COLUMN_LIMIT / 2) {
        let Some((from, length)) = longest(&grid.good(width)) else { continue };
        let to = from + length + width;
        let one_column_over = alike[from..to - 1].iter().all(|&same| same);
        if length < width || one_column_over {
            continue;
        }
        let Some(repeat) = grid.frame(from, to, width) else { continue };
        let filled = repeat.width * repeat.times;
        if filled * 2 >= columns && best.is_none_or(|best| filled > best.width * best.times) {
            best = Some(repeat);
        }
    }
    best
}

/// Leaves one repeat of all, the one at the left.
pub(crate) fn fold(rows: &mut [ChartRow], columns: &mut usize, repeat: &mut Repeat) {
    let gone = repeat.width * (repeat.times - 1);
    let first_gone = repeat.start + repeat.width;
    for row in rows {
        row.cells.retain(|cell| !(first_gone..first_gone + gone).contains(&cell.column));
        for cell in &mut row.cells {
            if cell.column >= first_gone + gone {
                cell.column -= gone;
            }
        }
    }
    *columns -= gone;
    repeat.folded = true;
}

impl Grid {
    fn new(rows: &[ChartRow], columns: usize) -> Grid {
        let mut grid = Grid { rows: Vec::new(), squares: Vec::new(), columns };
        let (mut numbers, mut seen) = (HashMap::new(), HashSet::new());
        for row in rows {
            let row: Vec<u32> = squares(&row.cells)
                .map(|square| {
                    *numbers.entry(square).or_insert_with(|| {
                        grid.squares.push(square);
                        grid.squares.len() as u32 - 1
                    })
                })
                .collect();
            if seen.insert(row.clone()) {
                grid.rows.push(row);
            }
        }
        grid
    }

    /// For each column, whether it equals the one `width` further on in every row.
    fn good(&self, width: usize) -> Vec<bool> {
        let mut good = vec![true; self.columns.saturating_sub(width)];
        for row in &self.rows {
            for (good, (here, there)) in good.iter_mut().zip(row.iter().zip(row.iter().skip(width))) {
                *good &= here == there;
            }
        }
        good
    }

    /// The best frame for repeats of `width` between two columns.
    fn frame(&self, from: usize, to: usize, width: usize) -> Option<Repeat> {
        let most = (to - from) / width;
        (2..=most).rev().find_map(|times| {
            let starts = (from..=to - width * times)
                .filter(|start| self.splits_none(*start) && self.splits_none(start + width * times));
            let start = starts.min_by_key(|start| {
                let end = start + width * times;
                (self.partings(*start) + self.partings(end), start.abs_diff(self.columns - end))
            })?;
            Some(Repeat { start, width, times, folded: false })
        })
    }

    fn square(&self, row: &[u32], column: usize) -> Option<Square> {
        row.get(column).and_then(|&number| self.squares.get(number as usize)).copied()
    }

    fn splits_none(&self, column: usize) -> bool {
        self.rows.iter().all(|row| self.square(row, column).is_none_or(|square| square.within == 0))
    }

    /// Rows in which a cut at `column` parts a yarn over from the decrease that it pays for.
    fn partings(&self, column: usize) -> usize {
        let op = |row: &[u32], column: Option<usize>| self.square(row, column?)?.op;
        let parts = |row: &&Vec<u32>| match (op(row, column.checked_sub(1)), op(row, Some(column))) {
            (Some(left), Some(right)) => {
                (left.takes() == 0 && right.is_decrease()) || (right.takes() == 0 && left.is_decrease())
            }
            _ => false,
        };
        self.rows.iter().filter(parts).count()
    }
}

/// The squares of a row from left to right.
fn squares(cells: &[Cell]) -> impl Iterator<Item = Square> {
    let turn = cells.iter().find(|cell| cell.width == 0).map(|cell| cell.column);
    cells.iter().flat_map(move |cell| {
        (0..cell.width).map(move |within| Square {
            symbol: cell.symbol,
            op: cell.op,
            within,
            turned: turn == Some(cell.column + within),
        })
    })
}

/// Start and length of the longest stretch of `true`, the first of equals.
fn longest(good: &[bool]) -> Option<(usize, usize)> {
    let mut best = None;
    let mut start = 0;
    for run in good.chunk_by(|a, b| a == b) {
        if run[0] && best.is_none_or(|(_, length)| run.len() > length) {
            best = Some((start, run.len()));
        }
        start += run.len();
    }
    best
}
