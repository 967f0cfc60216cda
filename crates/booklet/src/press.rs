//! Prints: lays the copy out with the fixed template, and writes the pages as PDF.
//!
//! The only module that runs typst. Its world has two sources of files, the template and the copy; no disk,
//! no clock and no network. What typst remembers between runs is let go after ten further booklets.

use std::collections::HashMap;

use typst::comemo::Track;
use typst::diag::{FileError, FileResult, LoadedWithin, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::loading::{LoadSource, Loaded};
use typst::syntax::{FileId, RootedPath, Source, Span, Spanned, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::{LazyHash, hash128};
use typst::visualize::SvgImage;
use typst::{Feature, Features, Library, LibraryExt, World};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};

use crate::copy::{Copy, NamedDrawing, prepare};
use crate::edition::{Date, Edition};
use crate::error::BookletError;
use crate::faces::{FACES, FAMILIES};
use crate::nesting::too_deep;

/// Documents typst may remember parts of.
const REMEMBERED: usize = 10;

/// Stands for no date, since an archive wants one.
const NO_DATE: Date = Date { year: 1970, month: 1, day: 1 };

/// An edition laid out in pages.
pub struct Booklet {
    document: PagedDocument,
    ident: String,
    date: Timestamp,
}

impl Booklet {
    /// Lays an edition out.
    pub fn new(edition: &Edition) -> Result<Booklet, BookletError> {
        let booklet = lay_out(edition);
        typst::comemo::evict(REMEMBERED);
        booklet
    }

    /// Number of pages.
    pub fn page_count(&self) -> usize {
        self.document.pages().len()
    }

    /// Writes the pages as tagged PDF that asks for PDF/UA-1 and PDF/A-2a; the same edition gives the same
    /// bytes.
    pub fn pdf(&self) -> Result<Vec<u8>, BookletError> {
        let standards = PdfStandards::new(&[PdfStandard::Ua_1, PdfStandard::A_2a])
            .map_err(|error| BookletError::Export(error.message().to_string()))?;
        let options = PdfOptions {
            ident: Smart::Custom(self.ident.clone()),
            creator: Smart::Custom(Some("Loopwright".to_owned())),
            timestamp: Some(self.date),
            standards,
            ..PdfOptions::default()
        };
        typst_pdf::pdf(&self.document, &options).map_err(|errors| BookletError::Export(worded(&errors)))
    }
}

fn lay_out(edition: &Edition) -> Result<Booklet, BookletError> {
    let date = timestamp(edition.date.unwrap_or(NO_DATE))?;
    let copy = prepare(edition)?;
    let ident = format!("booklet {:032x}", hash128(&copy.json));
    let desk = Desk::new(&copy)?;
    for drawing in &copy.drawings {
        desk.check(drawing)?;
    }
    let document = typst::compile::<PagedDocument>(&desk)
        .output
        .map_err(|errors| BookletError::Layout(worded(&errors)))?;
    Ok(Booklet { document, ident, date })
}

fn timestamp(date: Date) -> Result<Timestamp, BookletError> {
    Datetime::from_ymd(i32::from(date.year), date.month, date.day)
        .map(Timestamp::new_utc)
        .ok_or(BookletError::Date(date))
}

/// The world of one booklet: the template, the copy and the faces.
struct Desk {
    library: LazyHash<Library>,
    template: Source,
    files: HashMap<FileId, Bytes>,
}

impl Desk {
    fn new(copy: &Copy) -> Result<Desk, BookletError> {
        let features: Features = [Feature::A11yExtras].into_iter().collect();
        let template =
            Source::new(file_id("/booklet.typ")?, include_str!("../template/booklet.typ").to_owned());
        let mut files = HashMap::new();
        files.insert(file_id("/edition.json")?, Bytes::from_string(copy.json.clone()));
        for drawing in &copy.drawings {
            files.insert(file_id(&drawing.path)?, Bytes::from_string(drawing.svg.clone()));
        }
        Ok(Desk {
            library: LazyHash::new(Library::builder().with_features(features).build()),
            template,
            files,
        })
    }

    /// Reads a drawing the way the template will, to name it if it is bad. Having no place of its own, it
    /// can link to no other file.
    fn check(&self, drawing: &NamedDrawing) -> Result<(), BookletError> {
        let bad = |reason: String| BookletError::Drawing { name: drawing.name.clone(), reason };
        if let Some(reason) = too_deep(&drawing.svg) {
            return Err(bad(reason.to_owned()));
        }
        let bytes = Bytes::from_string(drawing.svg.clone());
        let loaded = Loaded::new(Spanned::new(LoadSource::Bytes, Span::detached()), bytes.clone());
        let world: &dyn World = self;
        SvgImage::with_fonts_images(bytes, world.track(), &FAMILIES, None)
            .within(&loaded)
            .map(|_| ())
            .map_err(|errors| bad(worded(&errors)))
    }
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &self.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &FACES.book
    }

    fn main(&self) -> FileId {
        self.template.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.template.id() { Ok(self.template.clone()) } else { Err(not_found(id)) }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        self.files.get(&id).cloned().ok_or_else(|| not_found(id))
    }

    fn font(&self, index: usize) -> Option<Font> {
        FACES.fonts.get(index).cloned()
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        None
    }
}

fn not_found(id: FileId) -> FileError {
    FileError::NotFound(id.vpath().get_without_slash().into())
}

fn file_id(path: &str) -> Result<FileId, BookletError> {
    let path = VirtualPath::new(path).map_err(|_| BookletError::Layout(format!("bad path {path}")))?;
    Ok(RootedPath::new(VirtualRoot::Project, path).intern())
}

/// Joins messages and their hints to one line.
fn worded(errors: &[SourceDiagnostic]) -> String {
    let one = |error: &SourceDiagnostic| {
        let hints = error.hints.iter().map(|hint| format!(" ({})", hint.v)).collect::<String>();
        format!("{}{hints}", error.message)
    };
    errors.iter().map(one).collect::<Vec<_>>().join("; ")
}
