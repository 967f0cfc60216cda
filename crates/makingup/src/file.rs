//! The text file of a plan: what a person writes, or fills into a form that writes it.
//!
//! TOML, described for people in `docs/plan.md`. Knows the form alone; [`crate::Plan::of`] makes the plan.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::corner::Treatment;
use crate::edging::Joining;
use crate::needle::NeedleGauge;
use crate::shape::Sizing;
use crate::{Length, PlanEntry, Problem};

/// A plan as written.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlanFile {
    /// What is made.
    pub title: Option<String>,
    /// The swatch of plain fabric.
    pub swatch: Option<SwatchText>,
    /// By how many per cent a seam may be eased.
    #[serde(default = "usual_ease", skip_serializing_if = "is_usual_ease")]
    pub ease: f64,
    /// The pieces.
    #[serde(default, skip_serializing_if = "Vec::is_empty", rename = "piece")]
    pub pieces: Vec<PieceEntry>,
    /// Pieces laid out in rows, the topmost row first.
    pub block: Option<BlockText>,
    /// Edges that meet besides those of the block.
    #[serde(default, skip_serializing_if = "Vec::is_empty", rename = "join")]
    pub joins: Vec<JoinText>,
    /// Pieces laid over others.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub laid: Vec<LaidText>,
    /// The edging.
    pub edging: Option<EdgingText>,
    /// When it is worked, and how fast.
    pub time: Option<TimeText>,
    /// The yarns.
    #[serde(default, skip_serializing_if = "Vec::is_empty", rename = "yarn")]
    pub yarns: Vec<YarnText>,
    /// The needles.
    #[serde(default, skip_serializing_if = "Vec::is_empty", rename = "needle")]
    pub needles: Vec<NeedleText>,
    /// Edges that must stretch.
    #[serde(default, skip_serializing_if = "Vec::is_empty", rename = "stretch")]
    pub stretches: Vec<StretchText>,
}

/// A swatch: stitches and rows, and what they were counted over.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SwatchText {
    /// Stitches counted.
    pub stitches: f64,
    /// Rows counted.
    pub rows: f64,
    /// What both were counted over; 10 cm where nothing is said.
    pub over: Option<String>,
    /// What the stitches were counted over.
    pub width: Option<String>,
    /// What the rows were counted over.
    pub height: Option<String>,
}

/// When the work is done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TimeText {
    /// The first day, such as "2026-12-01"; no days are told where nothing is said.
    pub start: Option<String>,
    /// Hours a day; one where nothing is said.
    pub hours: Option<f64>,
    /// Stitches a minute, where they were not measured at the needles.
    pub pace: Option<f64>,
}

/// A piece of the plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PieceEntry {
    /// What to call it.
    pub name: String,
    /// Which piece of the pattern it is: its name there, or its number from 1; `name` where nothing is said.
    pub of: Option<PieceRef>,
    /// How many are made; one where nothing is said. An edging has as much as it needs.
    pub count: Option<u32>,
    /// The colour it is worked in.
    pub colour: Option<String>,
    /// Colours by rows, such as { "1-12" = "grey", "13-24" = "red" }.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub rows: BTreeMap<String, String>,
    /// Where its size comes from; "cloth" where nothing is said.
    pub size: Option<SizeText>,
}

/// A piece of the pattern.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum PieceRef {
    /// Its number, from 1.
    Number(usize),
    /// Its name, with or without its article.
    Name(String),
}

/// A size: "cloth", "gauge", or measures.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum SizeText {
    /// "cloth" or "gauge".
    From(String),
    /// Measures.
    Given {
        /// Width, such as "8 in".
        width: String,
        /// Height.
        height: String,
    },
}

/// A block of pieces.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BlockText {
    /// Its rows.
    pub rows: Vec<String>,
}

/// Two edges that meet, each as "piece side".
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JoinText {
    /// Such as "front right".
    pub one: String,
    /// Such as "back left".
    pub other: String,
    /// How often; once where nothing is said.
    pub times: Option<u32>,
}

/// Pieces laid over others.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LaidText {
    /// Which piece.
    pub piece: String,
    /// Where.
    pub on: LaidOn,
}

/// Where pieces are laid.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum LaidOn {
    /// Where four pieces of the block meet.
    Crossings,
    /// In the middle of each piece of the block.
    Middles,
}

/// An edging.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EdgingText {
    /// Which piece is one repeat of it.
    pub piece: String,
    /// The corners of the path in centimetres; round the block where nothing is said.
    pub path: Option<Vec<[f64; 2]>>,
    /// Whether the path is joined to its beginning.
    #[serde(default = "yes", skip_serializing_if = "is_yes")]
    pub closed: bool,
    /// How corners are turned; the best way where nothing is said.
    pub corner: Option<Treatment>,
    /// How it is put on.
    #[serde(default, skip_serializing_if = "is_usual_joining")]
    pub joined: Joining,
    /// The length of one repeat, where it was measured.
    pub repeat: Option<String>,
    /// The depth, where it was measured.
    pub depth: Option<String>,
}

/// A yarn.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct YarnText {
    /// The colour it is for.
    pub colour: String,
    /// Its old name and amount, as printed.
    pub printed: Option<String>,
    /// Metres in 100 g of the yarn taken today.
    pub metres: Option<f64>,
    /// Grams of a ball.
    #[serde(default = "usual_ball")]
    pub ball: f64,
}

/// Needles.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NeedleText {
    /// As printed.
    pub printed: Option<String>,
    /// The number.
    pub number: String,
    /// The gauge that the number was counted on.
    pub gauge: NeedleGauge,
    /// The pieces that are worked on them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub pieces: Vec<String>,
}

/// An edge that must stretch.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StretchText {
    /// Which edge, as "piece side".
    pub edge: String,
    /// To what length.
    pub to: String,
}

fn usual_ease() -> f64 {
    5.0
}

fn is_usual_ease(ease: &f64) -> bool {
    *ease == usual_ease()
}

fn is_yes(closed: &bool) -> bool {
    *closed
}

fn is_usual_joining(joined: &Joining) -> bool {
    *joined == Joining::default()
}

fn usual_ball() -> f64 {
    50.0
}

fn yes() -> bool {
    true
}

impl Default for PlanFile {
    fn default() -> PlanFile {
        PlanFile {
            title: None,
            swatch: None,
            ease: usual_ease(),
            pieces: Vec::new(),
            block: None,
            joins: Vec::new(),
            laid: Vec::new(),
            edging: None,
            time: None,
            yarns: Vec::new(),
            needles: Vec::new(),
            stretches: Vec::new(),
        }
    }
}

impl PlanFile {
    /// Reads the text of a plan.
    ///
    /// # Errors
    /// A [`Problem`] with the line that cannot be read.
    pub fn read(text: &str) -> Result<PlanFile, Problem> {
        let help = "docs/plan.md describes the form of a plan";
        let file: PlanFile = toml::from_str(text).map_err(|error| {
            let line = error.span().map(|span| text[..span.start.min(text.len())].matches('\n').count() + 1);
            let place = line.map_or_else(String::new, |line| format!("line {line}: "));
            Problem::new(format!("{place}{}", error.message().replace('\n', ", ")), help)
        })?;
        if !(0.0..=20.0).contains(&file.ease) {
            let too_much = Problem::new(
                format!("a seam cannot be eased by {} %", file.ease),
                "give it in per cent, from 0 to 20; 5 is as much as a sleeve is eased",
            );
            return Err(too_much.of(PlanEntry::Ease));
        }
        Ok(file)
    }
}

impl PlanFile {
    /// The piece and the side that an edge names, such as "front right"; of names that begin alike the longest.
    pub fn edge<'a>(&'a self, text: &'a str) -> Option<(usize, &'a str)> {
        let pieces = self.pieces.iter().enumerate().filter_map(|(place, piece)| {
            let side = text.trim().strip_prefix(piece.name.as_str())?.strip_prefix(' ')?;
            Some((place, side.trim()))
        });
        pieces.max_by_key(|&(place, _)| self.pieces[place].name.len())
    }
}

impl PieceEntry {
    /// Where its size comes from.
    ///
    /// # Errors
    /// A [`Problem`] for a length or a word that is none.
    pub fn sizing(&self) -> Result<Sizing, Problem> {
        match &self.size {
            None => Ok(Sizing::Cloth),
            Some(SizeText::Given { width, height }) => Ok(Sizing::Given(width.parse()?, height.parse()?)),
            Some(SizeText::From(word)) => match word.as_str() {
                "cloth" => Ok(Sizing::Cloth),
                "gauge" => Ok(Sizing::Gauge),
                other => Err(Problem::new(
                    format!("a size comes from no \"{other}\""),
                    "write \"cloth\", \"gauge\", or { width = \"20 cm\", height = \"30 cm\" }",
                )),
            },
        }
    }
}

impl SwatchText {
    /// So many stitches and rows to 10 cm.
    pub fn to_10_cm(stitches: f64, rows: f64) -> SwatchText {
        SwatchText { stitches, rows, over: None, width: None, height: None }
    }

    /// The swatch with its lengths.
    ///
    /// # Errors
    /// A [`Problem`] for a length that is none.
    pub fn swatch(&self) -> Result<crate::Swatch, Problem> {
        let over = |own: &Option<String>| -> Result<Length, Problem> {
            own.as_ref().or(self.over.as_ref()).map_or(Ok(Length::cm(10.0)), |text| text.parse())
        };
        Ok(crate::Swatch {
            stitches: self.stitches,
            width: over(&self.width)?,
            rows: self.rows,
            height: over(&self.height)?,
        })
    }
}
