//! Takes the project out of a zip, of which nothing is believed.

use std::collections::BTreeMap;
use std::io::{Cursor, Read};

use serde::Deserialize;
use zip::ZipArchive;
use zip::read::ZipFile;
use zip::result::ZipError;

use super::{
    BUNDLE_LIMIT, BundleError, FILE_LIMIT, FILES_LIMIT, GLOSSARY, PAGES, SCHEMA, SHEET, Sheet, TEXT,
    is_picture_name, picture_name,
};
use crate::content::insert;
use crate::error::ShelfError;
use crate::ids::{ProjectId, Timestamp};
use crate::pages::{keep, media};
use crate::place::set_place;
use crate::project::{Page, Project};
use crate::shelf::Shelf;

/// The files of a zip by their names.
type Files = BTreeMap<String, Vec<u8>>;

pub(super) fn import(shelf: &mut Shelf, zip: &[u8], at: Timestamp) -> Result<ProjectId, ShelfError> {
    let mut files = unpack(zip)?;
    let sheet = read_sheet(&take(&mut files, SHEET)?)?;
    let text = read_text(&mut files, TEXT)?;
    let glossary = read_text(&mut files, GLOSSARY)?;
    let project = Project { text, glossary, ..sheet.project }.settled()?;
    let pictures = take_pictures(&mut files, &project.pages)?;
    if let Some(name) = files.into_keys().next() {
        return Err(BundleError::Stranger(name).into());
    }
    let folder = shelf.folder.clone();
    shelf.write(|transaction| {
        let id = insert(transaction, None, &project, at)?;
        for (page, bytes) in project.pages.iter().zip(&pictures) {
            keep(transaction, &folder, id, Some(page.page), page.media, bytes)?;
        }
        if let Some(place) = sheet.place {
            set_place(transaction, id, place)?;
        }
        Ok(id)
    })
}

/// Unpacks the files that a project may have; what is too much is noticed while it is unpacked.
fn unpack(zip: &[u8]) -> Result<Files, BundleError> {
    let told = |error: ZipError| BundleError::NotAZip(error.to_string());
    if has_too_many(zip) {
        return Err(BundleError::TooMany);
    }
    let mut zip = ZipArchive::new(Cursor::new(zip)).map_err(told)?;
    // Names that stand there twice, files that share bytes, and files that only some programs see.
    zip.validate_header_consistency().map_err(told)?;
    let mut files = Files::new();
    let mut room = BUNDLE_LIMIT;
    for index in 0..zip.len() {
        let mut entry = zip.by_index(index).map_err(told)?;
        let name = String::from_utf8_lossy(entry.name_raw()).into_owned();
        if name == PAGES {
            continue;
        }
        let known = [SHEET, TEXT, GLOSSARY].contains(&name.as_str()) || is_picture_name(&name);
        if !known || entry.is_symlink() {
            return Err(BundleError::Stranger(name));
        }
        let bytes = unpack_file(&mut entry, &name)?;
        room = room.checked_sub(bytes.len()).ok_or(BundleError::TooLarge)?;
        files.insert(name, bytes);
    }
    Ok(files)
}

/// Whether the zip lists more files than a bundle may have; known before the list is read, which takes memory.
fn has_too_many(zip: &[u8]) -> bool {
    const LISTED: &[u8] = b"PK\x01\x02";
    zip.windows(LISTED.len()).filter(|bytes| *bytes == LISTED).count() > FILES_LIMIT
}

fn unpack_file<R: Read>(entry: &mut ZipFile<'_, R>, name: &str) -> Result<Vec<u8>, BundleError> {
    let mut bytes = Vec::new();
    let most = FILE_LIMIT as u64 + 1;
    entry.take(most).read_to_end(&mut bytes).map_err(|error| BundleError::NotAZip(error.to_string()))?;
    if bytes.len() > FILE_LIMIT {
        return Err(BundleError::FileTooLarge { name: name.to_owned() });
    }
    Ok(bytes)
}

fn take(files: &mut Files, name: &str) -> Result<Vec<u8>, BundleError> {
    files.remove(name).ok_or_else(|| BundleError::Missing(name.to_owned()))
}

/// Reads the sheet, after it is known to be of a form that can be read.
fn read_sheet(json: &[u8]) -> Result<Sheet, BundleError> {
    #[derive(Deserialize)]
    struct Form {
        schema: String,
    }
    let told = |error: serde_json::Error| BundleError::Sheet(error.to_string());
    let form: Form = serde_json::from_slice(json).map_err(told)?;
    if form.schema != SCHEMA {
        return Err(BundleError::Form(form.schema));
    }
    serde_json::from_slice(json).map_err(told)
}

fn read_text(files: &mut Files, name: &str) -> Result<String, BundleError> {
    String::from_utf8(take(files, name)?).map_err(|_| BundleError::NotText(name.to_owned()))
}

/// The picture of each page, in their order.
fn take_pictures(files: &mut Files, pages: &[Page]) -> Result<Vec<Vec<u8>>, ShelfError> {
    let mut pictures = Vec::with_capacity(pages.len());
    for page in pages {
        let name = picture_name(page);
        let bytes = take(files, &name)?;
        if media(&bytes)? != page.media {
            return Err(BundleError::Picture(name).into());
        }
        pictures.push(bytes);
    }
    Ok(pictures)
}
