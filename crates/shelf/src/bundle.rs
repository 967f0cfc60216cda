//! A project as one zip, to be kept, sent and taken in elsewhere; `docs/bundle.md` tells its form.
//!
//! ```text
//! project.json     everything but the texts and pictures, by schema/project-1.schema.json
//! text.txt         the transcription
//! glossary.txt     the book's own explanation of its terms
//! pages/1.png      the picture of page 1, and so on
//! ```
//!
//! Nothing is unpacked to the disk, and no name from a zip ever becomes a path: a file that has no place in a project
//! is refused. What is exported can be imported.

mod export;
mod import;

use serde::{Deserialize, Serialize};

use crate::error::ShelfError;
use crate::ids::{PageId, ProjectId, Timestamp};
use crate::pages::PICTURE_LIMIT;
use crate::project::{Media, Page, Place, Project};
use crate::shelf::Shelf;

/// How much a bundle may hold.
#[derive(Clone, Copy, Debug)]
struct Limits {
    /// Files.
    files: usize,
    /// Bytes of one file when unpacked.
    file: usize,
    /// Bytes of all files when unpacked.
    bundle: usize,
}

const LIMITS: Limits = Limits { files: 2_000, file: PICTURE_LIMIT, bundle: 512 * 1024 * 1024 };

const SCHEMA: &str = "loopwright.project/1";
const SHEET: &str = "project.json";
const TEXT: &str = "text.txt";
const GLOSSARY: &str = "glossary.txt";
const PAGES: &str = "pages/";

/// Why a bundle cannot be taken in, or made.
#[derive(Debug, thiserror::Error)]
pub enum BundleError {
    /// It is no zip, a damaged one, or one that says different things to different programs.
    #[error("this is not a zip file, or not a sound one: {0}")]
    NotAZip(String),
    /// It holds something that no project has.
    #[error("the zip holds “{0}”, which has no place in a project")]
    Stranger(String),
    /// Something is missing.
    #[error("the zip has no “{0}”")]
    Missing(String),
    /// A file is too large.
    #[error("“{name}” has more than {} MB", LIMITS.file >> 20)]
    FileTooLarge {
        /// The file.
        name: String,
    },
    /// All of it is too large.
    #[error("all files of the project together have more than {} MB", LIMITS.bundle >> 20)]
    TooLarge,
    /// There are too many files.
    #[error("the zip has more than {} files", LIMITS.files)]
    TooMany,
    /// It is of a later version of the program.
    #[error("the project has the form “{0}”; this program knows “{SCHEMA}”")]
    Form(String),
    /// The sheet is not as the form asks.
    #[error("“{SHEET}” cannot be read: {0}")]
    Sheet(String),
    /// A text is not UTF-8.
    #[error("“{0}” is not UTF-8 text")]
    NotText(String),
    /// A picture is not what the sheet says.
    #[error("“{0}” is not a picture of the kind that its name says")]
    Picture(String),
}

impl BundleError {
    /// What to do about it, where there is something to do.
    pub(crate) fn help(&self) -> &'static str {
        match self {
            BundleError::Form(_) => "take the newer version of the program",
            BundleError::TooLarge | BundleError::FileTooLarge { .. } | BundleError::TooMany => {
                "save the pages of the source in less detail, or share them among several projects"
            }
            _ => "export the project once more and take the file as it is",
        }
    }
}

/// What stands in `project.json`.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Sheet {
    schema: String,
    project: Project,
    /// The place in each piece that is under way; she works at the last.
    places: Vec<Place>,
}

/// The name of a page's picture.
fn picture_name(page: &Page) -> String {
    format!("{PAGES}{}.{}", page.page.number(), page.media.ending())
}

/// Whether a file of this name may be the picture of some page.
fn is_picture_name(name: &str) -> bool {
    let number = |media: Media| name.strip_prefix(PAGES)?.strip_suffix(media.ending())?.strip_suffix('.');
    let page = number(Media::Png).map(|number| (number, Media::Png));
    page.or(number(Media::Jpeg).map(|number| (number, Media::Jpeg))).is_some_and(|(number, media)| {
        let page = number.parse().map(PageId::from_number);
        page.is_ok_and(|page| picture_name(&Page { page, name: String::new(), media }) == name)
    })
}

impl Shelf {
    /// A project as it stands now, with its pages and the places at the needles, as the bytes of one zip.
    ///
    /// The same project gives the same bytes.
    pub fn export(&self, id: ProjectId) -> Result<Vec<u8>, ShelfError> {
        export::export(self, id)
    }

    /// Puts the project of a zip on the shelf, as a new one.
    pub fn import(&mut self, zip: &[u8], at: Timestamp) -> Result<ProjectId, ShelfError> {
        import::import(self, zip, at)
    }
}
