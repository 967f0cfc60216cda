//! A chart as plain text: for tests, for a terminal, and for whoever listens to the page.

use std::fmt;

use loops::Op;

use crate::chart::{Cell, Chart, ChartRow};
use crate::symbol::Symbol;

/// Draws the chart in letters, the top row first: `.` knit, `-` purl, `#` no stitch, `~` resting, names else.
/// A bar stands at each edge of the repeat.
impl fmt::Display for Chart {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let column = self.column_width();
        let margin = self.rows.iter().map(|row| row.label.chars().count()).max().unwrap_or(0);
        for row in self.rows.iter().rev() {
            let mut line = String::new();
            let left = if self.starts_right(row) { "" } else { &row.label };
            line.push_str(&format!("{left:>margin$} "));
            for cell in &row.cells {
                line.push(self.bar_before(cell));
                let width = (cell.width * (column + 1)).saturating_sub(1);
                line.push_str(&format!("{:^width$}", letters(cell)));
            }
            line.push(self.bar_at(self.columns));
            if self.starts_right(row) {
                line.push_str(&format!(" {}", row.label));
            }
            if let Some(count) = count_after(row) {
                line.push_str(&format!("  ({count})"));
            }
            writeln!(f, "{}", line.trim_end())?;
        }
        Ok(())
    }
}

impl Chart {
    fn column_width(&self) -> usize {
        let cells = self.rows.iter().flat_map(|row| &row.cells).filter(|cell| cell.width > 0);
        cells.map(|cell| letters(cell).chars().count().div_ceil(cell.width)).max().unwrap_or(1)
    }

    fn bar_before(&self, cell: &Cell) -> char {
        if cell.width == 0 { ' ' } else { self.bar_at(cell.column) }
    }

    fn bar_at(&self, column: usize) -> char {
        let edge = |repeat: &crate::Repeat| {
            column.checked_sub(repeat.start).is_some_and(|within| {
                within.is_multiple_of(repeat.width)
                    && within / repeat.width <= if repeat.folded { 1 } else { repeat.times }
            })
        };
        if self.repeat.as_ref().is_some_and(edge) { '|' } else { ' ' }
    }
}

/// The count to print at the end of a row: only where it changes, and after the first row.
pub(crate) fn count_after(row: &ChartRow) -> Option<u32> {
    (row.first == 0 || row.after != row.before).then_some(row.after)
}

fn letters(cell: &Cell) -> String {
    match cell.symbol {
        Symbol::Front(Op::K) => ".".to_owned(),
        Symbol::Front(Op::P) => "-".to_owned(),
        Symbol::Front(Op::Turn) => "<".to_owned(),
        Symbol::Front(op) => op.to_string(),
        Symbol::Behind(op) => format!("{op}'"),
        Symbol::Unworked => "~".to_owned(),
        Symbol::NoStitch => "#".to_owned(),
    }
}
