//! A chart as SVG: squares, symbols, frames and labels in their places.
//!
//! Each symbol of the chart is one group with its words as `<title>`, and one path however often it occurs, so
//! that a large chart stays small. No ids, no scripts and no fonts for symbols: several charts can stand in one
//! page, and any viewer draws them alike.

mod grid;
mod path;
mod squares;
mod strokes;

use std::fmt::Write as _;

use loops::{Op, Side};

use self::grid::draw_grid;
use self::path::number;
use self::squares::draw_squares;
use self::strokes::Strokes;
use crate::chart::{Chart, ChartRow, Repeat};
use crate::flow::columns_of;
use crate::key;
use crate::style::Style;
use crate::symbol::Symbol;
use crate::text::count_after;
use crate::words::words;

/// Share of the font size that a letter is wide, on average, in a book face; a guess that errs on the wide side.
const LETTER_WIDTH: f32 = 0.5;

/// The upper left corner of something, and its size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Area {
    pub x: f32,
    pub y: f32,
    pub width: f32,
    pub height: f32,
}

impl Chart {
    /// Draws the chart, with its key beneath if the style says so.
    pub fn to_svg(&self, style: &Style) -> String {
        let grid = self.grid_area(style);
        let mut width = grid.x + grid.width + self.right_margin(style);
        let mut height = grid.y + grid.height + style.margin;
        let mut body = String::new();
        self.draw(&mut body, grid, style);
        if style.with_key {
            let y = height - style.margin + style.key_gap;
            let key = key::draw(&mut body, self, (style.margin, y), width - 2.0 * style.margin, style);
            width = width.max(key.x + key.width + style.margin);
            height = key.y + key.height + style.margin;
        }
        document(&body, (width, height), &self.title("Chart"), &self.description(), style)
    }

    /// Draws the key alone, as wide as `width`, or wider if it must.
    pub fn key_svg(&self, width: f32, style: &Style) -> String {
        let mut body = String::new();
        let key = key::draw(&mut body, self, (style.margin, style.margin), width - 2.0 * style.margin, style);
        let (right, bottom) = (key.x + key.width + style.margin, key.y + key.height + style.margin);
        let about = "The symbols of the chart and what each asks for.";
        document(&body, (right.max(width), bottom), &self.title("Key to the chart"), about, style)
    }

    fn title(&self, what: &str) -> String {
        self.name.as_ref().map_or_else(|| what.to_owned(), |name| format!("{what}: {name}"))
    }

    /// Says in words how to read the chart and what is in it.
    fn description(&self) -> String {
        let rows: usize = self.rows.iter().map(|row| row.times).sum();
        let mut out = format!(
            "{} columns and {rows} rows, as seen from the {} side, from the bottom up. ",
            self.columns,
            side_word(self.seen)
        );
        for (side, rows) in [(Side::Right, "Right-side"), (Side::Wrong, "Wrong-side")] {
            let way = if side == self.seen { "right to left" } else { "left to right" };
            if self.rows.iter().any(|row| row.side == side) {
                let _ = write!(out, "{rows} rows run from {way}. ");
            }
        }
        if let Some(Repeat { width, times, folded, .. }) = self.repeat {
            let drawn = if folded { "drawn once and worked" } else { "worked" };
            let _ = write!(out, "The framed {width} columns are {drawn} {times} times. ");
        }
        out.trim_end().to_owned()
    }

    fn grid_area(&self, style: &Style) -> Area {
        Area {
            x: style.margin + self.side_width(false, style),
            y: style.margin,
            width: self.columns as f32 * style.cell_width,
            height: self.rows.len() as f32 * style.cell_height,
        }
    }

    fn right_margin(&self, style: &Style) -> f32 {
        self.side_width(true, style) + style.margin
    }

    /// Room for what stands beside the grid, at its right or left: labels of rows that start there, counts of the others.
    fn side_width(&self, at_right: bool, style: &Style) -> f32 {
        let width = |row: &ChartRow| {
            if self.starts_right(row) == at_right {
                text_width(&row.label, style.font_size)
            } else {
                let turn = if self.turns_at_edge(row) { style.cell_width } else { 0.0 };
                turn + count_after(row)
                    .map_or(0.0, |count| text_width(&count_text(count), style.small_font_size))
            }
        };
        let widest = self.rows.iter().map(width).fold(0.0, f32::max);
        if widest > 0.0 { widest + style.label_gap } else { 0.0 }
    }

    /// Whether the row turns where no resting stitch has room for the arrow.
    fn turns_at_edge(&self, row: &ChartRow) -> bool {
        let edge = if self.starts_right(row) { 0 } else { self.columns };
        row.cells.iter().any(|cell| cell.width == 0 && cell.column == edge)
    }

    fn draw(&self, out: &mut String, area: Area, style: &Style) {
        if style.with_squares {
            draw_squares(out, self, area, style);
        }
        draw_grid(out, self, area, style);
        self.draw_symbols(out, area, style);
        if let Some(repeat) = self.repeat {
            // Of several the one that a row from the right comes to first.
            let last = if repeat.folded { 0 } else { repeat.width * (repeat.times - 1) };
            let x = area.x + (repeat.start + last) as f32 * style.cell_width;
            let width = repeat.width as f32 * style.cell_width;
            draw_frame(out, Area { x, width, ..area }, style);
        }
        self.draw_labels(out, area, style);
    }

    fn draw_symbols(&self, out: &mut String, area: Area, style: &Style) {
        for entry in &self.key {
            let mut strokes = Strokes::new(entry.symbol, style);
            for (row, top) in self.rows_from_top(area, style) {
                for cell in row.cells.iter().filter(|cell| cell.symbol == entry.symbol) {
                    let turned_left = cell.width == 0 && self.starts_right(row);
                    let column = cell.column as f32 - if turned_left { 1.0 } else { 0.0 };
                    let mirrored = cell.width == 0 && !self.starts_right(row);
                    strokes.add(area.x + column * style.cell_width, top, mirrored);
                }
            }
            strokes.write(out, &key::line(entry, self.seen));
        }
    }

    /// The rows with the height of their upper edge.
    fn rows_from_top(&self, area: Area, style: &Style) -> impl Iterator<Item = (&ChartRow, f32)> {
        let height = style.cell_height;
        self.rows.iter().rev().enumerate().map(move |(place, row)| (row, area.y + place as f32 * height))
    }

    fn draw_labels(&self, out: &mut String, area: Area, style: &Style) {
        let (left, right) = (area.x - style.label_gap, area.x + area.width + style.label_gap);
        for (row, top) in self.rows_from_top(area, style) {
            let middle = top + style.cell_height / 2.0;
            let (start, end) = if self.starts_right(row) {
                ((right, "start"), (left, "end"))
            } else {
                ((left, "end"), (right, "start"))
            };
            draw_text(out, start, middle, &row.label, style.font_size, &style.ink);
            if let Some(count) = count_after(row) {
                let turn = if self.turns_at_edge(row) { style.cell_width } else { 0.0 };
                let outward = if self.starts_right(row) { -turn } else { turn };
                let end = (end.0 + outward, end.1);
                draw_text(out, end, middle, &count_text(count), style.small_font_size, &style.soft_ink);
            }
        }
    }
}

/// A whole drawing around its body.
fn document(body: &str, (width, height): (f32, f32), title: &str, about: &str, style: &Style) -> String {
    let (width, height) = (number(width), number(height));
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"{width}\" height=\"{height}\" \
         viewBox=\"0 0 {width} {height}\" font-family=\"{}\" font-size=\"{}\" fill=\"{}\">\n",
        escape(&style.font_family),
        number(style.font_size),
        escape(&style.ink)
    );
    let _ = writeln!(out, "<title>{}</title>\n<desc>{}</desc>", escape(title), escape(about));
    let _ = writeln!(out, "<rect width=\"{width}\" height=\"{height}\" fill=\"{}\"/>", escape(&style.paper));
    out.push_str(body);
    out.push_str("</svg>\n");
    out
}

/// One symbol in its square, as it stands in a key.
pub fn symbol_svg(op: Op, style: &Style) -> String {
    let symbol = Symbol::of(op, Side::Right);
    let columns = columns_of(op).max(1);
    let mut body = String::new();
    draw_swatch(&mut body, symbol, columns, (style.margin, style.margin), style);
    let size =
        (columns as f32 * style.cell_width + 2.0 * style.margin, style.cell_height + 2.0 * style.margin);
    document(&body, size, &words(op), "A symbol of a chart.", style)
}

/// The name of a side within a sentence.
pub(crate) fn side_word(side: Side) -> &'static str {
    match side {
        Side::Right => "right",
        Side::Wrong => "wrong",
    }
}

fn count_text(count: u32) -> String {
    format!("{count} {}", if count == 1 { "st" } else { "sts" })
}

/// Draws the heavy frame of a repeat.
pub(crate) fn draw_frame(out: &mut String, area: Area, style: &Style) {
    draw_box(out, area, "none", &style.ink, style.repeat_stroke);
}

/// Draws a rectangle with its outline.
fn draw_box(out: &mut String, area: Area, fill: &str, ink: &str, stroke: f32) {
    let [x, y, width, height, stroke] = [area.x, area.y, area.width, area.height, stroke].map(number);
    let (fill, ink) = (escape(fill), escape(ink));
    let _ = writeln!(
        out,
        "<rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" fill=\"{fill}\" stroke=\"{ink}\" \
         stroke-width=\"{stroke}\"/>"
    );
}

/// Writes one line of text whose middle is at the height `middle`.
pub(crate) fn draw_text(
    out: &mut String,
    (x, anchor): (f32, &str),
    middle: f32,
    text: &str,
    size: f32,
    ink: &str,
) {
    if text.is_empty() {
        return;
    }
    // Figures and capitals of book faces are about two thirds of the font size high.
    let baseline = middle + size * 0.33;
    let anchor = if anchor == "start" { String::new() } else { format!(" text-anchor=\"{anchor}\"") };
    let _ = writeln!(
        out,
        "<text x=\"{}\" y=\"{}\" font-size=\"{}\"{anchor} fill=\"{}\">{}</text>",
        number(x),
        number(baseline),
        number(size),
        escape(ink),
        escape(text)
    );
}

/// Draws one square of the key, `columns` wide.
pub(crate) fn draw_swatch(
    out: &mut String,
    symbol: Symbol,
    columns: usize,
    corner: (f32, f32),
    style: &Style,
) {
    let (x, y) = corner;
    let area = Area { x, y, width: columns as f32 * style.cell_width, height: style.cell_height };
    let ground = match symbol {
        Symbol::NoStitch => &style.no_stitch,
        Symbol::Unworked => &style.unworked,
        Symbol::Front(_) | Symbol::Behind(_) => "none",
    };
    draw_box(out, area, ground, &style.strong_grid, style.outline_stroke);
    let mut strokes = Strokes::new(symbol, style);
    strokes.add(x, y, false);
    strokes.write(out, "");
}

/// About how wide a text is.
pub(crate) fn text_width(text: &str, size: f32) -> f32 {
    text.chars().count() as f32 * size * LETTER_WIDTH
}

/// How many letters fit.
pub(crate) fn letters_in(width: f32, size: f32) -> usize {
    (width / (size * LETTER_WIDTH)).max(1.0) as usize
}

/// Text for the inside of an element or an attribute; characters that XML does not allow are left out.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\t' | '\n' | '\r' => out.push(' '),
            '\u{0}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => {}
            other => out.push(other),
        }
    }
    out
}
