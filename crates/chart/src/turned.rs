//! The chart turned over, so that it shows the wrong side of the cloth.
//!
//! Columns change ends, and every symbol shows what its stitch looks like from behind; rows, labels and counts stay.

use loops::Side;

use crate::chart::{Cell, Chart, ChartRow, Repeat, key_of};
use crate::symbol::Symbol;

impl Chart {
    /// The same chart as seen from the wrong side of the cloth.
    pub fn from_wrong_side(&self) -> Chart {
        let rows: Vec<ChartRow> = self.rows.iter().map(|row| turned(row, self.columns)).collect();
        Chart {
            seen: Side::Wrong,
            name: self.name.clone(),
            worked: self.worked,
            columns: self.columns,
            repeat: self.repeat.map(|repeat| mirrored(repeat, self.columns)),
            key: key_of(&rows),
            rows,
        }
    }
}

fn turned(row: &ChartRow, columns: usize) -> ChartRow {
    let cell = |cell: &Cell| Cell {
        column: columns - cell.column - cell.width,
        symbol: cell.op.map_or(cell.symbol, |op| Symbol::of(op, row.side.turned())),
        ..*cell
    };
    ChartRow { cells: row.cells.iter().rev().map(cell).collect(), ..row.clone() }
}

fn mirrored(repeat: Repeat, columns: usize) -> Repeat {
    let drawn = if repeat.folded { 1 } else { repeat.times };
    Repeat { start: columns - repeat.start - repeat.width * drawn, ..repeat }
}
