//! A worked piece as a grid of symbols, and that as SVG.
//!
//! ```text
//! Piece ─ flow ─▶ cells with parents ─ growing, place, settle ─▶ columns ─ repeat, collapse ─▶ Chart ─▶ text, SVG
//! ```
//!
//! A chart shows the cloth as seen from its right side (or turned, from its wrong one), rows bottom up. It is made in two steps: [`Chart::of`]
//! lays the piece out as data, [`Chart::to_svg`] draws that data. Knows nothing of how a text is read or printed.
//! Start at [`Chart`], then [`Symbol`].

mod chart;
mod collapse;
mod flow;
mod glyph;
mod growing;
mod key;
mod place;
mod repeat;
mod settle;
mod style;
mod svg;
mod symbol;
mod text;
mod turned;
mod words;

pub use self::chart::{
    CELL_LIMIT, COLUMN_LIMIT, Cell, Chart, ChartError, ChartRow, KeyEntry, Options, ROW_LIMIT, Repeat,
};
pub use self::style::Style;
pub use self::svg::symbol_svg;
pub use self::symbol::Symbol;
pub use self::words::{cross_name, words};
