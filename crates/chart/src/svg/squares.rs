//! The worked squares of a chart, each with the rows and stitches it stands for.
//!
//! A square is a `rect` without ink, beneath everything else: `data-row` lists the rows of the piece that are drawn
//! there, `data-stitch` the operations of those rows, in working order, both counted from 0. There are several of them
//! where a repeat or a run of rows is drawn once.

use std::fmt::Write as _;

use super::Area;
use super::path::number;
use crate::chart::{Cell, Chart, ChartRow, Repeat};
use crate::style::Style;

/// The most numbers of one list; a program that lights squares does without the rest.
const LISTED: usize = 200;

/// A worked square with the operations that are drawn in it: the first, how many there are, and how far they are apart.
struct Square<'a> {
    cell: &'a Cell,
    first: usize,
    times: usize,
    step: usize,
}

pub(super) fn draw_squares(out: &mut String, chart: &Chart, area: Area, style: &Style) {
    out.push_str("<g fill=\"none\" pointer-events=\"all\">\n");
    let height = number(style.cell_height);
    for (row, top) in chart.rows_from_top(area, style) {
        let (y, rows) = (number(top), list(row.first, row.times, row.step));
        for square in squares(chart, row).iter().filter(|square| square.cell.width > 0) {
            let x = number(area.x + square.cell.column as f32 * style.cell_width);
            let width = number(square.cell.width as f32 * style.cell_width);
            let stitches = list(square.first, square.times, square.step);
            let _ = writeln!(
                out,
                "<rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" data-row=\"{rows}\" \
                 data-stitch=\"{stitches}\"/>"
            );
        }
    }
    out.push_str("</g>\n");
}

fn list(first: usize, times: usize, step: usize) -> String {
    let numbers = (0..times.min(LISTED)).map(|time| (first + time * step).to_string());
    numbers.collect::<Vec<_>>().join(" ")
}

/// The squares of a row in working order.
fn squares<'a>(chart: &Chart, row: &'a ChartRow) -> Vec<Square<'a>> {
    let repeat = chart.repeat.filter(|repeat| repeat.folded);
    let is_repeated = |cell: &Cell| {
        repeat.is_some_and(|Repeat { start, width, .. }| (start..start + width).contains(&cell.column))
    };
    let mut cells: Vec<&Cell> = row.cells.iter().filter(|cell| cell.op.is_some()).collect();
    if chart.starts_right(row) {
        cells.reverse();
    }
    let step = cells.iter().filter(|cell| is_repeated(cell)).count();
    let times = repeat.map_or(1, |repeat| repeat.times);
    let mut next = 0;
    let mut left = step;
    let mut squares = Vec::with_capacity(cells.len());
    for cell in cells {
        let repeated = is_repeated(cell);
        squares.push(Square { cell, first: next, times: if repeated { times } else { 1 }, step });
        next += 1;
        if repeated {
            left -= 1;
            // The last of the drawn repeat: the others follow it.
            next += if left == 0 { step * (times - 1) } else { 0 };
        }
    }
    squares
}
