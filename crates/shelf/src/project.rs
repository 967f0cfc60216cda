//! What a project is: a transcription with all that was said and decided about it.
//!
//! Knows no storage and no history. All places are byte offsets of the transcription.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use span::Span;

use crate::change::ChangeError;
use crate::ids::PageId;

/// The most bytes that the transcription, the book's glossary, the notes, the plan or the yarn may have.
pub const TEXT_LIMIT: usize = 2 * 1024 * 1024;

/// The most bytes that a title, a line on the source, an answer or a name may have.
pub const LINE_LIMIT: usize = 10_000;

/// The most corrections that may be decided about, and the most answers and pages that a project may have.
pub const COUNT_LIMIT: usize = 10_000;

/// The highest number that a page may come with.
const PAGE_NUMBER_LIMIT: usize = 1_000_000;

/// A pattern that is being brought back to life.
///
/// Its serialised form leaves out `text` and `glossary`: both are kept beside it, in the database as in a bundle.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Project {
    /// What the project is called.
    pub title: String,
    /// The transcription, as printed.
    #[serde(skip)]
    pub text: String,
    /// The book's own explanation of its terms.
    #[serde(skip)]
    pub glossary: String,
    /// Where the text comes from.
    pub source: Source,
    /// The stitches cast on, where another part of the book tells them.
    pub cast_on: Option<u32>,
    /// The gauge of plain fabric.
    pub gauge: Option<Gauge>,
    /// The yarn, in the user's words.
    pub yarn: String,
    /// The user's notes.
    pub notes: String,
    /// The plan of the making up, in the form of a plan's file.
    pub plan: String,
    /// The country whose terms the rows are written in.
    pub country: Country,
    /// Answers to questions that hold for the whole text.
    pub answers: BTreeMap<String, String>,
    /// Corrections that were decided about, in the order of the text.
    pub rulings: Vec<Ruling>,
    /// The scanned pages, in the order that they were added.
    pub pages: Vec<Page>,
}

/// Where a text comes from, by the terms of Dublin Core; what is not known is empty.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Source {
    /// Title of the book or periodical.
    pub title: String,
    /// Who made the pattern.
    pub creator: String,
    /// Who published it.
    pub publisher: String,
    /// When it was published.
    pub date: String,
    /// Where it was published.
    pub place: String,
    /// A shelf mark or an address under which it is found.
    pub identifier: String,
    /// The pages that the pattern stands on.
    pub pages: String,
    /// Its language.
    pub language: String,
    /// Who may do what with it.
    pub rights: String,
}

/// Stitches and rows to ten centimetres of plain fabric.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Gauge {
    /// Stitches.
    pub stitches: f64,
    /// Rows.
    pub rows: f64,
}

/// The country whose terms are used.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Country {
    /// The United States.
    Us,
    /// Great Britain.
    #[default]
    Uk,
}

/// A correction of the print that the user took or refused; the transcription itself is not altered by it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ruling {
    /// Where the printed words stand in the transcription; an empty span where words are missing.
    pub at: Span,
    /// The words as printed.
    pub printed: String,
    /// The words as they should be.
    pub corrected: String,
    /// What speaks for it, as it was told when it was decided.
    #[serde(default)]
    pub why: String,
    /// Whether it was taken; else it was refused.
    pub taken: bool,
}

impl Ruling {
    /// What no two rulings of a project share, and what they are ordered by.
    pub(crate) fn key(&self) -> (Span, &str) {
        (self.at, &self.corrected)
    }
}

/// A scanned page of the source; its picture is kept apart.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Page {
    /// Which page of the project.
    pub page: PageId,
    /// Its name, as its file had it.
    pub name: String,
    /// The kind of its picture.
    pub media: Media,
}

/// The kinds of pictures that a page may have.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Media {
    /// A PNG.
    #[serde(rename = "image/png")]
    Png,
    /// A JPEG.
    #[serde(rename = "image/jpeg")]
    Jpeg,
}

impl Media {
    /// The kind of a picture by its first bytes; nothing where it is neither PNG nor JPEG.
    pub fn of(bytes: &[u8]) -> Option<Media> {
        if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
            Some(Media::Png)
        } else if bytes.starts_with(&[0xff, 0xd8, 0xff]) {
            Some(Media::Jpeg)
        } else {
            None
        }
    }

    /// Its name as a media type.
    pub fn name(self) -> &'static str {
        match self {
            Media::Png => "image/png",
            Media::Jpeg => "image/jpeg",
        }
    }

    /// The kind of this name.
    pub(crate) fn named(name: &str) -> Option<Media> {
        [Media::Png, Media::Jpeg].into_iter().find(|media| media.name() == name)
    }

    /// The ending of its files, without the dot.
    pub(crate) fn ending(self) -> &'static str {
        match self {
            Media::Png => "png",
            Media::Jpeg => "jpg",
        }
    }
}

/// Where the knitter is in a piece: she works `row` of it next, from `stitch` on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Place {
    /// Which piece, from 0.
    pub piece: u32,
    /// Which time through its rows, from 1.
    pub time: u32,
    /// Which of its rows: 0 is the cast-on, then they count from 1, and one more is the end.
    pub row: u32,
    /// Which operation of that row, from 0.
    pub stitch: u32,
}

impl Project {
    /// Puts the rulings into the order of the text, and tells what in the project could not have come of changes.
    pub(crate) fn settled(mut self) -> Result<Project, ChangeError> {
        self.rulings.sort_by(|one, other| one.key().cmp(&other.key()));
        self.check()?;
        Ok(self)
    }

    fn check(&self) -> Result<(), ChangeError> {
        for text in [&self.text, &self.glossary, &self.notes, &self.plan, &self.yarn] {
            check_text(text)?;
        }
        let source = &self.source;
        for line in [&self.title, &source.title, &source.creator, &source.publisher, &source.date] {
            check_line(line)?;
        }
        for line in [&source.place, &source.identifier, &source.pages, &source.language, &source.rights] {
            check_line(line)?;
        }
        self.gauge.map_or(Ok(()), check_gauge)?;
        for (question, answer) in &self.answers {
            check_line(question)?;
            check_line(answer)?;
        }
        for ruling in &self.rulings {
            check_ruling(&self.text, ruling)?;
        }
        if self.rulings.windows(2).any(|pair| pair[0].key() == pair[1].key()) {
            return Err(ChangeError::Twice);
        }
        for (index, page) in self.pages.iter().enumerate() {
            check_line(&page.name)?;
            if page.page.number() as usize > PAGE_NUMBER_LIMIT {
                return Err(ChangeError::TooMany { limit: PAGE_NUMBER_LIMIT });
            }
            if self.pages[..index].iter().any(|other| other.page == page.page) {
                return Err(ChangeError::Twice);
            }
        }
        check_count(self.answers.len())?;
        check_count(self.rulings.len())?;
        check_count(self.pages.len())
    }
}

/// A text must not be longer than the reader takes.
pub(crate) fn check_text(text: &str) -> Result<(), ChangeError> {
    if text.len() > TEXT_LIMIT { Err(ChangeError::TooLong { limit: TEXT_LIMIT }) } else { Ok(()) }
}

/// A line must not be longer than a line.
pub(crate) fn check_line(line: &str) -> Result<(), ChangeError> {
    if line.len() > LINE_LIMIT { Err(ChangeError::TooLong { limit: LINE_LIMIT }) } else { Ok(()) }
}

/// There must not be too many of one kind.
pub(crate) fn check_count(count: usize) -> Result<(), ChangeError> {
    if count > COUNT_LIMIT { Err(ChangeError::TooMany { limit: COUNT_LIMIT }) } else { Ok(()) }
}

/// A gauge has some stitches and some rows, and not without end.
pub(crate) fn check_gauge(gauge: Gauge) -> Result<(), ChangeError> {
    let fits = |number: f64| number > 0.0 && number <= 1_000.0;
    if fits(gauge.stitches) && fits(gauge.rows) { Ok(()) } else { Err(ChangeError::Gauge) }
}

/// A ruling stands on whole characters of the text.
pub(crate) fn check_ruling(text: &str, ruling: &Ruling) -> Result<(), ChangeError> {
    for words in [&ruling.printed, &ruling.corrected, &ruling.why] {
        check_line(words)?;
    }
    match text.get(ruling.at.range()) {
        Some(_) if !ruling.at.is_detached() => Ok(()),
        _ => Err(ChangeError::Place { start: ruling.at.start, end: ruling.at.end }),
    }
}
