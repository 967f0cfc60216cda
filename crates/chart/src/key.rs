//! The key: each symbol of the chart beside what it asks for.
//!
//! Entries stand in columns, filled one after the other; the words are broken by a guess of their width, since
//! the fonts of the reader are not known.

use loops::{Op, Side};

use crate::chart::{Chart, KeyEntry};
use crate::flow::columns_of;
use crate::style::Style;
use crate::svg::{Area, draw_frame, draw_swatch, draw_text, letters_in, side_word};
use crate::symbol::Symbol;
use crate::words::{cross_name, words};

/// Columns of a square up to which the words beside it start level; wider ones have theirs further right.
const LEVEL: usize = 2;

/// What to do in a few words, such as `knit; wrong side: purl`.
pub(crate) fn line(entry: &KeyEntry, seen: Side) -> String {
    let (first, second) = meanings(entry, seen);
    second.map_or_else(|| first.clone(), |second| format!("{first}; {second}"))
}

/// The words of the first line, and of the second where the side that is not seen asks for something else.
fn meanings(entry: &KeyEntry, seen: Side) -> (String, Option<String>) {
    let behind = |op| format!("{} side: {}", side_word(seen.turned()), named_words(op));
    let (here, there) = match seen {
        Side::Right => (entry.right, entry.wrong),
        Side::Wrong => (entry.wrong, entry.right),
    };
    match (entry.symbol, here, there) {
        (Symbol::NoStitch, ..) => ("no stitch: skip this square".to_owned(), None),
        (Symbol::Unworked, ..) => ("not worked in this row".to_owned(), None),
        (_, Some(here), Some(there)) if here != there => (named_words(here), Some(behind(there))),
        (_, Some(here), _) => (named_words(here), None),
        (symbol, None, Some(there)) if symbol == Symbol::Front(there) => (named_words(there), None),
        (_, None, Some(there)) => (behind(there), None),
        (_, None, None) => (String::new(), None),
    }
}

fn named_words(op: Op) -> String {
    match op {
        Op::Cross(cross) => format!("{}: {}", cross_name(cross), words(op)),
        _ => words(op),
    }
}

/// What stands before the words.
enum Swatch {
    Symbol(Symbol, usize),
    Frame,
}

struct Entry {
    swatch: Swatch,
    /// The lines, and whether each is soft and small.
    lines: Vec<(String, bool)>,
}

impl Swatch {
    fn columns(&self) -> usize {
        match self {
            Swatch::Symbol(_, columns) => *columns,
            Swatch::Frame => 1,
        }
    }
}

/// Draws the key from a corner downward, about `width` wide, and tells the area it fills.
pub(crate) fn draw(out: &mut String, chart: &Chart, (x, y): (f32, f32), width: f32, style: &Style) -> Area {
    let count = ((width / style.key_column) as usize).max(1);
    let column_width = (width / count as f32).max(style.key_column);
    let columns = in_columns(entries(chart, column_width, style), count, style);
    let mut bottom = y;
    for (place, column) in columns.iter().enumerate() {
        let left = x + place as f32 * column_width;
        let common =
            column.iter().map(|entry| entry.swatch.columns()).filter(|&columns| columns <= LEVEL).max();
        let mut top = y;
        for entry in column {
            let swatch = entry.swatch.columns().max(common.unwrap_or(1));
            let text = left + swatch as f32 * style.cell_width + style.label_gap;
            draw_entry(out, entry, (left, text, top), style);
            top += height(entry, style);
        }
        bottom = bottom.max(top);
    }
    Area { x, y, width: column_width * columns.len() as f32, height: bottom - style.key_leading - y }
}

fn entries(chart: &Chart, column_width: f32, style: &Style) -> Vec<Entry> {
    let room = |symbol| {
        let swatch = columns(symbol).max(LEVEL) as f32 * style.cell_width;
        (column_width - swatch - 3.0 * style.label_gap).max(style.key_column / 3.0)
    };
    let mut out: Vec<Entry> = chart
        .key
        .iter()
        .map(|entry| {
            let (first, second) = meanings(entry, chart.seen);
            let room = room(entry.symbol);
            let mut lines = broken(&first, letters_in(room, style.font_size), false);
            if let Some(second) = second {
                lines.extend(broken(&second, letters_in(room, style.small_font_size), true));
            }
            Entry { swatch: Swatch::Symbol(entry.symbol, columns(entry.symbol)), lines }
        })
        .collect();
    if let Some(repeat) = chart.repeat {
        let words = format!("repeat of {} columns, worked {} times", repeat.width, repeat.times);
        out.push(Entry {
            swatch: Swatch::Frame,
            lines: broken(&words, letters_in(room(Symbol::NoStitch), style.font_size), false),
        });
    }
    out
}

fn columns(symbol: Symbol) -> usize {
    symbol.shape().map_or(1, columns_of).max(1)
}

fn broken(text: &str, letters: usize, soft: bool) -> Vec<(String, bool)> {
    let mut lines: Vec<String> = vec![String::new()];
    for word in text.split(' ') {
        match lines.last_mut() {
            Some(line) if line.is_empty() => line.push_str(word),
            Some(line) if line.chars().count() + 1 + word.chars().count() <= letters => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines.into_iter().map(|line| (line, soft)).collect()
}

/// Deals the entries out into columns of about equal height, in order.
fn in_columns(entries: Vec<Entry>, count: usize, style: &Style) -> Vec<Vec<Entry>> {
    let total: f32 = entries.iter().map(|entry| height(entry, style)).sum();
    let each = total / count as f32;
    let mut columns: Vec<Vec<Entry>> = vec![Vec::new()];
    let mut filled = 0.0;
    for entry in entries {
        let own = height(&entry, style);
        if filled > 0.0 && filled + own / 2.0 > each * columns.len() as f32 && columns.len() < count {
            columns.push(Vec::new());
        }
        filled += own;
        if let Some(column) = columns.last_mut() {
            column.push(entry);
        }
    }
    columns
}

fn line_height(soft: bool, style: &Style) -> f32 {
    1.25 * if soft { style.small_font_size } else { style.font_size }
}

fn height(entry: &Entry, style: &Style) -> f32 {
    let text: f32 = entry.lines.iter().map(|(_, soft)| line_height(*soft, style)).sum();
    text.max(style.cell_height) + style.key_leading
}

fn draw_entry(out: &mut String, entry: &Entry, (left, text, top): (f32, f32, f32), style: &Style) {
    match entry.swatch {
        Swatch::Symbol(symbol, columns) => draw_swatch(out, symbol, columns, (left, top), style),
        Swatch::Frame => {
            draw_frame(
                out,
                Area { x: left, y: top, width: style.cell_width, height: style.cell_height },
                style,
            );
        }
    }
    // The first line stands level with the square.
    let mut middle = top + style.cell_height / 2.0;
    for (place, (words, soft)) in entry.lines.iter().enumerate() {
        if place > 0 {
            middle += line_height(*soft, style);
        }
        let (size, ink) =
            if *soft { (style.small_font_size, &style.soft_ink) } else { (style.font_size, &style.ink) };
        draw_text(out, (text, "start"), middle, words, size, ink);
    }
}
