//! What a printed edition holds, in the order in which it is set.
//!
//! Plain text and drawings, already worded by the caller: nothing here knows stitches or readings. Every field
//! may be missing; whatever is empty leaves no trace on the page. Strings are text, never markup: a `*`, `#`
//! or `_` is printed as it stands.

use serde::{Deserialize, Serialize};

/// One edition of an old pattern, from title page to colophon.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Edition {
    /// Title; the one field that must not be empty.
    pub title: String,
    /// A line under the title.
    pub subtitle: Option<String>,
    /// A picture for the title page.
    pub picture: Option<Drawing>,
    /// Date of the edition, for the archive; 1 January 1970 stands for none.
    pub date: Option<Date>,
    /// Size of the pages.
    pub page_size: PageSize,
    /// Where the old text was printed.
    pub source: Source,
    /// Introduction, a paragraph each.
    pub intro: Vec<String>,
    /// What is needed, as printed and in present-day terms.
    pub materials: Vec<Material>,
    /// Gauge, finished size, and the like.
    pub measures: Vec<Measure>,
    /// Abbreviations used in the rows.
    pub abbreviations: Vec<Abbreviation>,
    /// The pieces to be worked.
    pub pieces: Vec<PieceText>,
    /// The whole with its measures, drawn.
    pub schematic: Option<Drawing>,
    /// Making up, a step each.
    pub making_up: Vec<String>,
    /// Cautions and care, a line each.
    pub cautions: Vec<String>,
    /// Corrections, choices and doubts.
    pub notes: Vec<Note>,
    /// The old text, set line for line as an appendix.
    pub original_text: Option<String>,
    /// What is known of the rights, a paragraph each.
    pub rights: Vec<String>,
    /// Last lines of the booklet.
    pub colophon: Option<String>,
}

/// A day. The clock is never asked, so that the same edition gives the same bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Date {
    /// Year.
    pub year: u16,
    /// Month, from 1.
    pub month: u8,
    /// Day, from 1.
    pub day: u8,
}

/// Size of the pages, upright.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PageSize {
    /// 148 by 210 mm: the booklet's own size.
    #[default]
    A5,
    /// 210 by 297 mm.
    A4,
    /// 8½ by 11 inches.
    Letter,
}

/// Where the old text was printed.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Source {
    /// Author, as on the title page.
    pub author: Option<String>,
    /// Title of the book or periodical.
    pub title: Option<String>,
    /// Place of publication.
    pub place: Option<String>,
    /// Publisher.
    pub publisher: Option<String>,
    /// Year or date.
    pub year: Option<String>,
    /// Page or plate, with its word: "p. 12".
    pub page: Option<String>,
    /// The copy or scan that was read.
    pub identifier: Option<String>,
}

/// One thing that is needed, then and now.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Material {
    /// As printed in the source.
    pub printed: Option<String>,
    /// The present-day equivalent.
    pub today: Option<String>,
}

/// One named measure: gauge, finished size, yarn needed.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Measure {
    /// What is measured.
    pub name: String,
    /// The measure.
    pub value: String,
}

/// One abbreviation.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Abbreviation {
    /// The short form, as used in the rows.
    pub short: String,
    /// What it stands for.
    pub meaning: String,
}

/// One piece to be worked: its rows, charts and key.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct PieceText {
    /// Name of the piece; a pattern of one piece may have none.
    pub name: Option<String>,
    /// How the piece is begun.
    pub cast_on: Option<String>,
    /// The rows, in working order.
    pub rows: Vec<RowText>,
    /// Remarks after the rows, a paragraph each.
    pub remarks: Vec<String>,
    /// How the cloth should look; the caption tells its size and yarn.
    pub cloth: Option<Drawing>,
    /// Charts.
    pub charts: Vec<Drawing>,
    /// Key to the charts.
    pub key: Key,
}

/// One row or round, or one instruction between rows.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct RowText {
    /// "Row 3", "Rows 5 to 9", "Round 2"; may be empty.
    pub label: String,
    /// The side that faces the worker, where it is worth saying.
    pub side: Option<Side>,
    /// What to work.
    pub text: String,
    /// Stitches at the end of the row.
    pub count: Option<String>,
    /// Notes on this row: positions in [`Edition::notes`], from 0. Positions out of range are left out.
    pub notes: Vec<usize>,
}

/// Side of the work that faces the worker.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// The side that is shown.
    Right,
    /// The back; said in words beside the row's label.
    Wrong,
}

/// A drawing with the words that stand for it when it cannot be seen.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Drawing {
    /// The drawing as an SVG document.
    ///
    /// Its `<text>` is set in the booklet's own faces; other families fall back to them. Pictures linked
    /// from it are not to be had, and nesting is limited to what drawings need: 40 levels of elements, and 8
    /// references in a chain.
    pub svg: String,
    /// The words for those who cannot see it; the drawing's name is used where this is empty.
    pub alt: String,
    /// A line below the drawing.
    pub caption: Option<String>,
}

/// Key to the charts: a list, a drawing, or both.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Key {
    /// The whole key as one drawing.
    pub drawing: Option<Drawing>,
    /// The symbols one by one.
    pub entries: Vec<KeyEntry>,
}

/// One symbol of the key.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct KeyEntry {
    /// The symbol in letters or signs; not needed beside a drawing.
    pub symbol: String,
    /// The symbol as an SVG document. The meaning stands beside it, so it needs no words of its own.
    pub svg: Option<String>,
    /// What is worked.
    pub meaning: String,
}

/// One note on the text.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Note {
    /// What the note is about.
    pub kind: NoteKind,
    /// The place: "Row 7".
    pub row: String,
    /// The words as printed.
    pub printed: Option<String>,
    /// The words as read or corrected in this edition.
    pub reading: Option<String>,
    /// The evidence.
    pub why: String,
}

/// What a note is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum NoteKind {
    /// A misprint that was put right.
    #[default]
    Correction,
    /// One of several possible readings.
    Choice,
    /// Words that were not understood.
    Unread,
    /// A fault that was left as it is.
    Fault,
}
