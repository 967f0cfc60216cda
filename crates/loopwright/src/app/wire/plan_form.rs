//! A plan as a form to fill in: everything that its text can say.
//!
//! What is left out of the text is null here. Lengths are text with their unit, as people write them.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::Refusal;

/// The text of a plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanText {
    pub text: String,
}

/// What a text fills in, or why it is no plan.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct PlanRead {
    pub form: Option<PlanForm>,
    pub problem: Option<Refusal>,
}

/// A form that was filled in, and the text that it changes.
#[derive(Clone, Debug, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanFilled {
    pub form: PlanForm,
    /// The text before, whose comments stay.
    pub before: String,
}

/// A plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanForm {
    pub title: Option<String>,
    /// A swatch of its own.
    pub swatch: Option<FormSwatch>,
    /// By how many per cent a seam may be eased.
    pub ease: f64,
    pub pieces: Vec<FormPiece>,
    /// The block, the topmost row first; null is an empty place.
    pub block: Vec<Vec<Option<FormCell>>>,
    pub joins: Vec<FormJoin>,
    pub laid: Vec<FormLaid>,
    pub edging: Option<FormEdging>,
    pub yarns: Vec<FormYarn>,
    pub needles: Vec<FormNeedle>,
    pub stretches: Vec<FormStretch>,
    pub time: FormTime,
}

/// A swatch: stitches and rows, and what they were counted over.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FormSwatch {
    pub stitches: f64,
    pub rows: f64,
    pub over: Option<String>,
    pub width: Option<String>,
    pub height: Option<String>,
}

/// A piece.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FormPiece {
    pub name: String,
    /// Which piece of the pattern it is, from 1; null where there is none such.
    pub of: Option<usize>,
    pub count: Option<u32>,
    pub colour: Option<String>,
    /// Colours of rows, such as "1-12".
    pub rows: BTreeMap<String, String>,
    pub size: FormSize,
}

/// Where a size comes from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "from", rename_all = "snake_case", deny_unknown_fields)]
pub enum FormSize {
    /// The model of the cloth.
    Cloth,
    /// The gauge alone.
    Gauge,
    /// It is given.
    Given { width: String, height: String },
}

/// A piece in its place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FormCell {
    pub piece: String,
    /// Quarter turns anticlockwise.
    pub turn: usize,
}

/// An edge of a piece.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FormEdge {
    pub piece: String,
    pub side: String,
}

/// Edges that meet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FormJoin {
    pub one: FormEdge,
    pub other: FormEdge,
    pub times: Option<u32>,
}

/// Pieces laid over the block.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FormLaid {
    pub piece: String,
    pub on: FormLaidOn,
}

/// Where they are laid.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum FormLaidOn {
    Crossings,
    Middles,
}

/// An edging.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FormEdging {
    pub piece: String,
    /// Corners in centimetres; null for round the block.
    pub path: Option<Vec<(f64, f64)>>,
    pub closed: bool,
    /// How corners are turned; null for the first way that lies flat.
    pub corner: Option<FormCorner>,
    pub knitted_on: bool,
    pub repeat: Option<String>,
    pub depth: Option<String>,
}

/// How corners are turned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum FormCorner {
    Eased,
    Mitre,
    Pleat,
}

/// A yarn.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FormYarn {
    pub colour: String,
    pub printed: Option<String>,
    /// In 100 g.
    pub metres: Option<f64>,
    /// Grams of a ball.
    pub ball: f64,
}

/// Needles.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FormNeedle {
    pub printed: Option<String>,
    pub number: String,
    pub gauge: FormNeedleGauge,
    pub pieces: Vec<String>,
}

/// What the number of a needle was counted on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FormNeedleGauge {
    Millimetres,
    Wire,
    British,
    Us,
    Japan,
    Filiere,
    OldBritish,
    German,
    Girth,
}

/// An edge that must stretch.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FormStretch {
    pub edge: FormEdge,
    pub to: String,
}

/// When the work is done.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FormTime {
    /// The first day, such as 2026-12-01.
    pub start: Option<String>,
    /// Hours a day.
    pub hours: Option<f64>,
    /// Stitches a minute.
    pub pace: Option<f64>,
}
