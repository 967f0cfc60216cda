//! Projects and their changes.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{At, View};

/// What the list of projects tells of one.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Entry {
    pub id: String,
    pub title: String,
    /// When it was changed last, in milliseconds since 1970.
    pub changed: i64,
    pub rows: u32,
    pub open_doubts: u32,
    /// Whether there is a picture of its cloth.
    pub has_picture: bool,
    /// Whether it was put away.
    pub removed: bool,
}

/// A project to be made.
#[derive(Clone, Debug, Default, Deserialize, ToSchema)]
#[serde(default, deny_unknown_fields)]
pub struct NewProject {
    pub title: Option<String>,
    pub text: Option<String>,
}

/// A project that was made.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Made {
    pub id: String,
}

/// A project as it stands.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct ProjectState {
    pub id: String,
    pub revision: u64,
    /// What undoing would take back.
    pub undo: Option<String>,
    /// What redoing would bring back.
    pub redo: Option<String>,
    pub project: Project,
}

/// A project.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Project {
    pub title: String,
    /// The transcription of the old text.
    pub text: String,
    /// The book's own explanation of its terms.
    pub glossary: String,
    pub source: Source,
    /// Stitches cast on, where another part of the book tells the number.
    pub cast_on: Option<u32>,
    pub gauge: Option<Gauge>,
    pub yarn: String,
    pub notes: String,
    /// The plan of the making up, as a file of plans has it.
    pub plan: String,
    pub country: Country,
    /// Answers to questions that hold for the whole text.
    pub answers: BTreeMap<String, String>,
    pub rulings: Vec<Ruling>,
    pub pages: Vec<Page>,
}

/// Where the old text was printed, by terms of Dublin Core.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Source {
    pub title: String,
    pub creator: String,
    pub publisher: String,
    pub date: String,
    pub place: String,
    pub identifier: String,
    pub pages: String,
    pub language: String,
    pub rights: String,
}

/// Stitches and rows of plain fabric to 10 cm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Gauge {
    pub stitches: f64,
    pub rows: f64,
}

/// The country whose terms are used.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Country {
    Us,
    Uk,
}

/// A correction of the print that was taken or refused; one that is taken with the printed words as the corrected ones
/// leaves them as they are.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Ruling {
    /// Where the printed words stand; an empty stretch where words are missing.
    pub at: At,
    pub printed: String,
    pub corrected: String,
    /// What spoke for it when it was decided.
    #[serde(default)]
    pub why: String,
    pub taken: bool,
}

/// A picture of the old page.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Page {
    pub page: u32,
    pub name: String,
    /// Its media type.
    pub media: String,
}

/// A change of a project.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "do", rename_all = "snake_case", deny_unknown_fields)]
pub enum Change {
    /// Takes `remove` code units out of the transcription at `at`, and puts `insert` there.
    Text { at: u32, remove: u32, insert: String },
    /// The same for the book's explanation of its terms.
    Glossary { at: u32, remove: u32, insert: String },
    /// Sets a field.
    Set { field: Field, value: Option<Value> },
    /// Answers a question of the whole text; nothing as the answer lets the text decide again.
    Answer { question: String, answer: Option<String> },
    /// Takes or refuses a correction.
    Rule { ruling: Ruling },
    /// Forgets that a correction was taken or refused.
    Unrule { at: At, corrected: String },
    /// Takes a picture out of the project.
    RemovePage { page: u32 },
}

/// A field of a project.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub enum Field {
    #[serde(rename = "title")]
    Title,
    #[serde(rename = "notes")]
    Notes,
    #[serde(rename = "yarn")]
    Yarn,
    #[serde(rename = "plan")]
    Plan,
    #[serde(rename = "country")]
    Country,
    #[serde(rename = "cast_on")]
    CastOn,
    #[serde(rename = "gauge")]
    Gauge,
    #[serde(rename = "source.title")]
    SourceTitle,
    #[serde(rename = "source.creator")]
    SourceCreator,
    #[serde(rename = "source.publisher")]
    SourcePublisher,
    #[serde(rename = "source.date")]
    SourceDate,
    #[serde(rename = "source.place")]
    SourcePlace,
    #[serde(rename = "source.identifier")]
    SourceIdentifier,
    #[serde(rename = "source.pages")]
    SourcePages,
    #[serde(rename = "source.language")]
    SourceLanguage,
    #[serde(rename = "source.rights")]
    SourceRights,
}

/// What a field is set to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(untagged)]
pub enum Value {
    Number(u32),
    Text(String),
    Gauge(Gauge),
}

/// Changes to be made together.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Changes {
    /// The revision that they speak of.
    pub base: u64,
    /// The window that they come from.
    pub window: String,
    /// What undoing them is to be called, in place of the name made of them.
    #[serde(default)]
    pub label: Option<String>,
    pub changes: Vec<Change>,
}

/// What changes led to.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Changed {
    pub revision: u64,
    pub undo: Option<String>,
    pub redo: Option<String>,
    /// The view without a search for corrections, where it could be made at once.
    pub view: Option<View>,
}

/// The window that asks.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Window {
    pub window: String,
}

/// A state that is kept under a name.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Label {
    pub name: String,
    pub revision: u64,
    /// When it was named, in milliseconds since 1970.
    pub made: i64,
}

/// A name for the state as it stands.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewLabel {
    #[schema(min_length = 1)]
    pub name: String,
}

/// A picture that was added.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct PageMade {
    pub page: u32,
}

/// A sense that the program knows of itself.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct TermEntry {
    pub term: String,
    pub sense: String,
    /// When it was used.
    pub period: String,
    /// Where it was found.
    pub source: String,
    /// The operations, in the names of files.
    pub ops: Vec<String>,
    /// The chart's symbol of the first of them as SVG.
    pub symbol: Option<String>,
}

/// The program.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct About {
    pub version: String,
    /// The folder of the shelf.
    pub shelf: String,
    /// What she must be told, such as that something was recovered.
    pub notices: Vec<String>,
}

/// Why a request was refused.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct Refusal {
    pub message: String,
    pub help: String,
}

/// What `live` tells as `state`: someone changed the project.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct StateEvent {
    pub revision: u64,
    pub window: String,
    pub undo: Option<String>,
    pub redo: Option<String>,
}
