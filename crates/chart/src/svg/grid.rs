//! The squares of a chart: grounds, lines between them, outline.
//!
//! A line is drawn between two squares unless both hold no stitch or both belong to one symbol; lines in one
//! stroke as far as they go. Nothing is painted over.

use std::fmt::Write as _;

use super::path::{Path, number};
use super::{Area, draw_box, escape};
use crate::chart::Chart;
use crate::style::Style;
use crate::symbol::Symbol;

/// What matters of a square for its neighbours.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Square {
    NoStitch,
    Unworked,
    /// The first column of a symbol, or the only one.
    First,
    /// A further column of the symbol to the left.
    Further,
}

/// What is drawn between two squares; only inner lines are ever strong, so that edges stay even.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Line {
    None,
    Inner,
    Edge,
}

fn between(one: Square, other: Square) -> Line {
    match (one == Square::NoStitch, other == Square::NoStitch) {
        (true, true) => Line::None,
        (false, false) => Line::Inner,
        _ => Line::Edge,
    }
}

pub(super) fn draw_grid(out: &mut String, chart: &Chart, area: Area, style: &Style) {
    let grid =
        Grid { rows: chart.rows.iter().rev().map(|row| squares(row, chart.columns)).collect(), area, style };
    for (ground, fill) in [(Square::NoStitch, &style.no_stitch), (Square::Unworked, &style.unworked)] {
        let path = grid.grounds(ground);
        if !path.is_empty() {
            let _ = writeln!(out, "<path d=\"{}\" fill=\"{}\"/>", path.data(), escape(fill));
        }
    }
    let (mut thin, mut strong) = (Path::default(), Path::default());
    grid.uprights(chart.columns, &mut thin, &mut strong);
    grid.levels(chart.columns, &mut thin, &mut strong);
    let lines = [(thin, &style.grid, style.grid_stroke), (strong, &style.strong_grid, style.strong_stroke)];
    for (path, ink, weight) in lines.iter().filter(|(path, ..)| !path.is_empty()) {
        let (ink, weight) = (escape(ink), number(*weight));
        let _ = writeln!(
            out,
            "<path d=\"{}\" fill=\"none\" stroke=\"{ink}\" stroke-width=\"{weight}\"/>",
            path.data()
        );
    }
    draw_box(out, area, "none", &style.strong_grid, style.outline_stroke);
}

fn squares(row: &crate::ChartRow, columns: usize) -> Vec<Square> {
    let mut out = Vec::with_capacity(columns);
    for cell in row.cells.iter().filter(|cell| cell.width > 0) {
        out.push(match cell.symbol {
            Symbol::NoStitch => Square::NoStitch,
            Symbol::Unworked => Square::Unworked,
            Symbol::Front(_) | Symbol::Behind(_) => Square::First,
        });
        out.extend(std::iter::repeat_n(Square::Further, cell.width - 1));
    }
    out
}

struct Grid<'a> {
    /// From the top down.
    rows: Vec<Vec<Square>>,
    area: Area,
    style: &'a Style,
}

impl Grid<'_> {
    fn x(&self, column: usize) -> f32 {
        self.area.x + column as f32 * self.style.cell_width
    }

    fn y(&self, row: usize) -> f32 {
        self.area.y + row as f32 * self.style.cell_height
    }

    fn grounds(&self, ground: Square) -> Path {
        let mut path = Path::default();
        for (row, squares) in self.rows.iter().enumerate() {
            for (from, to) in stretches(squares.iter().map(|&square| square == ground)) {
                let (left, right, top, bottom) = (self.x(from), self.x(to), self.y(row), self.y(row + 1));
                path.lines(&[(left, top), (right, top), (right, bottom), (left, bottom)]);
                path.close();
            }
        }
        path
    }

    fn uprights(&self, columns: usize, thin: &mut Path, strong: &mut Path) {
        for column in 1..columns {
            let lines =
                self.rows.iter().map(|squares| match (squares.get(column - 1), squares.get(column)) {
                    (Some(left), Some(right)) if *right != Square::Further => between(*left, *right),
                    _ => Line::None,
                });
            let is_strong = self.is_strong(columns - column, columns);
            self.draw(&lines.collect::<Vec<_>>(), is_strong, thin, strong, |row| {
                (self.x(column), self.y(row))
            });
        }
    }

    fn levels(&self, columns: usize, thin: &mut Path, strong: &mut Path) {
        for (above, pair) in self.rows.windows(2).enumerate() {
            let row = above + 1;
            let lines = (0..columns).map(|column| match (pair[0].get(column), pair[1].get(column)) {
                (Some(upper), Some(lower)) => between(*upper, *lower),
                _ => Line::None,
            });
            let is_strong = self.is_strong(self.rows.len() - row, self.rows.len());
            self.draw(&lines.collect::<Vec<_>>(), is_strong, thin, strong, |column| {
                (self.x(column), self.y(row))
            });
        }
    }

    /// Draws the stretches of one line of the grid.
    fn draw(
        &self,
        lines: &[Line],
        is_strong: bool,
        thin: &mut Path,
        strong: &mut Path,
        at: impl Fn(usize) -> (f32, f32),
    ) {
        let is_thin = |line: &Line| *line == Line::Edge || (*line == Line::Inner && !is_strong);
        for (from, to) in stretches(lines.iter().map(is_thin)) {
            thin.lines(&[at(from), at(to)]);
        }
        for (from, to) in stretches(lines.iter().map(|line| *line == Line::Inner && is_strong)) {
            strong.lines(&[at(from), at(to)]);
        }
    }

    fn is_strong(&self, line: usize, of: usize) -> bool {
        of > self.style.strong_above
            && self.style.strong_every > 0
            && line.is_multiple_of(self.style.strong_every)
    }
}

/// Start and end of each stretch of `true`.
fn stretches(drawn: impl Iterator<Item = bool>) -> Vec<(usize, usize)> {
    let mut out: Vec<(usize, usize)> = Vec::new();
    for (place, _) in drawn.enumerate().filter(|(_, drawn)| *drawn) {
        match out.last_mut() {
            Some((_, to)) if *to == place => *to += 1,
            _ => out.push((place, place + 1)),
        }
    }
    out
}
