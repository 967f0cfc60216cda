//! What is made of a project: rows, charts, doubts, senses.

use std::sync::Arc;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{At, Change};
use crate::app::view::Patch;

/// Everything that is made of one state of a project.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct View {
    pub revision: u64,
    /// Whether corrections were searched.
    pub searched: bool,
    pub pieces: Vec<PieceView>,
    /// In the order of the text.
    pub doubts: Vec<Doubt>,
    /// How many of them wait for her.
    pub open_doubts: u32,
    pub notation: Vec<Sense>,
    pub words: Vec<WordView>,
    pub abbreviations: Vec<Abbreviation>,
    /// Why nothing could be made.
    pub error: Option<String>,
}

/// One piece of knitting.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct PieceView {
    pub name: Option<String>,
    pub worked: Worked,
    pub cast_on: u32,
    pub cast_on_written: String,
    pub multiple: Option<Multiple>,
    /// One for each row as it is worked.
    pub rows: Vec<RowView>,
    /// The chart as SVG, as seen from the right side.
    pub chart: Option<String>,
    pub chart_error: Option<String>,
    /// The key of the chart as SVG.
    pub key: Option<String>,
    /// How large it is at the gauge.
    pub size: Option<String>,
}

/// Flat work or work in the round.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Worked {
    Flat,
    Round,
}

/// "Any number divisible by `of`, and `plus` over".
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct Multiple {
    pub of: u32,
    pub plus: u32,
}

/// One row as it is worked.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct RowView {
    pub label: String,
    pub side: Side,
    /// Stitches before the row.
    pub before: u32,
    /// Stitches after the row.
    pub after: u32,
    /// What is worked, in the terms of today.
    pub written: String,
    /// The words that the row came from.
    pub at: Option<At>,
    /// Start and end of words, and how many operations one after the other they made; null where nothing is printed.
    pub stitches: Vec<(Option<u32>, Option<u32>, u32)>,
    /// What does not come out.
    pub fault: Option<String>,
    /// The line that the row shares with others where like rows are written together.
    pub line: u32,
}

/// The side of the cloth that faces the worker.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    Right,
    Wrong,
}

/// Something to look at: a fault, a correction, a choice, what was assumed, what was not understood.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct Doubt {
    /// The same as long as the doubt is the same.
    pub key: String,
    pub kind: DoubtKind,
    /// The place in words; empty where the whole text is meant.
    pub place: String,
    pub at: Option<At>,
    pub title: String,
    /// What speaks for it, or what to do; may be empty.
    pub why: String,
    pub printed: Option<String>,
    pub options: Vec<DoubtOption>,
    pub state: DoubtState,
    pub piece: Option<u32>,
    pub row: Option<u32>,
    /// Whether a correction is so far ahead that it was applied unasked.
    pub sure: bool,
}

impl Doubt {
    /// Whether it waits for her: there is something to decide, or a fault, and it is not decided.
    pub fn is_open(&self) -> bool {
        let is_remark = self.options.is_empty() && self.kind != DoubtKind::Fault;
        self.state == DoubtState::Open && !is_remark
    }
}

/// What a doubt is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum DoubtKind {
    Fault,
    Correction,
    Choice,
    Assumption,
    Unread,
}

/// What was decided about a doubt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum DoubtState {
    Open,
    Taken,
    Refused,
    /// The program is sure, and she has not said otherwise.
    Settled,
}

/// One way to settle a doubt.
#[derive(Clone, Debug, Default, PartialEq, Serialize, ToSchema)]
pub struct DoubtOption {
    pub label: String,
    /// Whether it is in force.
    pub chosen: bool,
    /// The changes that choose it.
    pub change: Vec<Change>,
    /// Nats against it.
    pub cost: Option<f64>,
    /// The rows that are other with it than as printed.
    pub rows: Vec<RowChange>,
    /// These rows as programs, to be drawn when they are asked for.
    #[serde(skip)]
    pub patch: Option<Arc<Patch>>,
}

/// The charts of the rows that an option changes.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct Compared {
    pub before: ComparedChart,
    pub after: ComparedChart,
}

/// The chart of some rows.
#[derive(Clone, Debug, Default, PartialEq, Serialize, ToSchema)]
pub struct ComparedChart {
    /// As SVG, from the right side; null where there is none to draw.
    pub chart: Option<String>,
    /// The rows that differ, as the chart counts them: the first, and the one after the last.
    pub changed: (u32, u32),
}

/// A row before and after.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct RowChange {
    pub piece: u32,
    pub label: String,
    pub before_written: String,
    pub after_written: String,
}

/// A term with the sense it was read by.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct Sense {
    pub term: String,
    pub sense: String,
    pub from: Origin,
    /// Where it stands first.
    pub at: Option<At>,
    /// The question of the whole text that it answers.
    pub question: Option<String>,
    pub options: Vec<DoubtOption>,
}

/// Where a sense comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Origin {
    Glossary,
    Notation,
    Inferred,
    Chosen,
}

/// How sure the reading of some words is.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct WordView {
    pub at: At,
    /// 0 not understood, 1 doubtful, 2 sure.
    pub sure: u8,
}

/// A short form with what it means.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct Abbreviation {
    pub short: String,
    pub long: String,
}

/// The cloth of a piece in words.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct ClothInfo {
    pub piece: u32,
    pub size: Option<String>,
    pub yarn: Option<String>,
    /// What must be said of it, such as that it had not quite come to rest.
    pub note: Option<String>,
    /// Why there is none.
    pub error: Option<String>,
}

/// What `live` tells as `cloth`: the cloth of every piece was worked out.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct ClothEvent {
    pub revision: u64,
    pub pieces: Vec<ClothInfo>,
}
