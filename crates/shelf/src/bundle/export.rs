//! Makes the zip of a project.

use std::io::{Cursor, Write};

use zip::result::ZipError;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use super::{BundleError, GLOSSARY, LIMITS, SCHEMA, SHEET, Sheet, TEXT, picture_name};
use crate::error::ShelfError;
use crate::ids::ProjectId;
use crate::shelf::Shelf;

pub(super) fn export(shelf: &Shelf, id: ProjectId) -> Result<Vec<u8>, ShelfError> {
    let project = shelf.project(id)?.project;
    let places = shelf.needles(id)?.places;
    let (text, glossary, pages) = (project.text.clone(), project.glossary.clone(), project.pages.clone());
    let sheet = serde_json::to_string_pretty(&Sheet { schema: SCHEMA.to_owned(), project, places })?;
    let mut bundle = Bundle::default();
    bundle.add(SHEET, sheet.as_bytes(), CompressionMethod::Deflated)?;
    bundle.add(TEXT, text.as_bytes(), CompressionMethod::Deflated)?;
    bundle.add(GLOSSARY, glossary.as_bytes(), CompressionMethod::Deflated)?;
    for page in &pages {
        // Pictures are packed as they are.
        let bytes = shelf.page(id, page.page)?.bytes;
        bundle.add(&picture_name(page), &bytes, CompressionMethod::Stored)?;
    }
    bundle.finish()
}

/// A zip in the making, which keeps to the limits of those that are taken in.
struct Bundle {
    zip: ZipWriter<Cursor<Vec<u8>>>,
    files: usize,
    size: usize,
}

impl Default for Bundle {
    fn default() -> Bundle {
        Bundle { zip: ZipWriter::new(Cursor::new(Vec::new())), files: 0, size: 0 }
    }
}

impl Bundle {
    fn add(&mut self, name: &str, bytes: &[u8], method: CompressionMethod) -> Result<(), ShelfError> {
        self.files += 1;
        self.size += bytes.len();
        if self.files > LIMITS.files {
            return Err(BundleError::TooMany.into());
        }
        if bytes.len() > LIMITS.file {
            return Err(BundleError::FileTooLarge { name: name.to_owned() }.into());
        }
        if self.size > LIMITS.bundle {
            return Err(BundleError::TooLarge.into());
        }
        self.zip
            .start_file(name, SimpleFileOptions::default().compression_method(method))
            .map_err(|error| packing(&error))?;
        self.zip.write_all(bytes).map_err(|error| packing(&error.into()))
    }

    fn finish(self) -> Result<Vec<u8>, ShelfError> {
        Ok(self.zip.finish().map_err(|error| packing(&error))?.into_inner())
    }
}

/// Packing into memory fails only where the library does.
fn packing(error: &ZipError) -> ShelfError {
    ShelfError::Disk(error.to_string())
}
