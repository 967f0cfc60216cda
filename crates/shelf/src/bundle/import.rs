//! Takes the project out of a zip, of which nothing is believed.

use std::collections::BTreeMap;
use std::io::{Cursor, Read};

use serde::Deserialize;
use zip::ZipArchive;
use zip::read::ZipFile;
use zip::result::ZipError;

use super::{
    BundleError, GLOSSARY, LIMITS, Limits, PAGES, SCHEMA, SHEET, Sheet, TEXT, is_picture_name, picture_name,
};
use crate::content::insert;
use crate::error::ShelfError;
use crate::ids::{ProjectId, Timestamp};
use crate::pages::{keep, media};
use crate::place::{Move, add};
use crate::project::{Page, Project};
use crate::shelf::Shelf;

/// The files of a zip by their names.
type Files = BTreeMap<String, Vec<u8>>;

pub(super) fn import(shelf: &mut Shelf, zip: &[u8], at: Timestamp) -> Result<ProjectId, ShelfError> {
    let mut files = unpack(zip, LIMITS)?;
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
        for to in sheet.places {
            add(transaction, id, Move { to, at })?;
        }
        Ok(id)
    })
}

/// Unpacks the files that a project may have; what is too much is noticed while it is unpacked.
fn unpack(zip: &[u8], limits: Limits) -> Result<Files, BundleError> {
    let told = |error: ZipError| BundleError::NotAZip(error.to_string());
    if listed(zip) > limits.files {
        return Err(BundleError::TooMany);
    }
    let mut zip = ZipArchive::new(Cursor::new(zip)).map_err(told)?;
    // Names that stand there twice, files that share bytes, and files that only some programs see.
    zip.validate_header_consistency().map_err(told)?;
    let mut files = Files::new();
    let mut room = limits.bundle;
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
        let bytes = unpack_file(&mut entry, limits.file.min(room))?;
        match bytes {
            Some(bytes) => {
                room -= bytes.len();
                files.insert(name, bytes);
            }
            None if room < limits.file => return Err(BundleError::TooLarge),
            None => return Err(BundleError::FileTooLarge { name }),
        }
    }
    Ok(files)
}

/// How many files the zip lists at most; known before the list is read, which takes memory.
fn listed(zip: &[u8]) -> usize {
    const LISTED: &[u8] = b"PK\x01\x02";
    zip.windows(LISTED.len()).filter(|bytes| *bytes == LISTED).count()
}

/// The bytes of a file, where they are no more than the limit.
fn unpack_file<R: Read>(entry: &mut ZipFile<'_, R>, limit: usize) -> Result<Option<Vec<u8>>, BundleError> {
    let mut bytes = Vec::new();
    let most = limit as u64 + 1;
    entry.take(most).read_to_end(&mut bytes).map_err(|error| BundleError::NotAZip(error.to_string()))?;
    Ok((bytes.len() <= limit).then_some(bytes))
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

#[cfg(test)]
mod tests {
    use std::io::{Cursor, Write};

    use zip::ZipWriter;
    use zip::write::SimpleFileOptions;

    use super::super::Limits;
    use super::{BundleError, unpack};

    const SMALL: Limits = Limits { files: 3, file: 1_000_000, bundle: 2_000_000 };

    /// A zip of so many pictures that unpack to so many bytes each.
    fn pictures(count: usize, size: usize) -> Vec<u8> {
        let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
        for number in 1..=count {
            zip.start_file(format!("pages/{number}.png"), SimpleFileOptions::default()).unwrap();
            zip.write_all(&vec![0; size]).unwrap();
        }
        zip.finish().unwrap().into_inner()
    }

    #[test]
    fn a_bomb_is_given_up_while_it_is_unpacked() {
        let bomb = pictures(1, 1_000_001);
        assert!(bomb.len() < 10_000);
        assert!(
            matches!(unpack(&bomb, SMALL), Err(BundleError::FileTooLarge { name }) if name == "pages/1.png")
        );
        assert!(matches!(unpack(&pictures(3, 700_000), SMALL), Err(BundleError::TooLarge)));
        assert!(matches!(unpack(&pictures(4, 1), SMALL), Err(BundleError::TooMany)));
        assert_eq!(unpack(&pictures(2, 1_000_000), SMALL).unwrap().len(), 2);
    }

    #[test]
    fn a_bomb_that_lies_about_its_size_is_given_up_too() {
        let honest = pictures(1, 5_000_000);
        let size = 5_000_000u32.to_le_bytes();
        let mut lying = honest.clone();
        for at in 0..honest.len() - 4 {
            if honest[at..at + 4] == size {
                lying[at..at + 4].copy_from_slice(&10u32.to_le_bytes());
            }
        }
        assert_ne!(lying, honest);
        assert!(unpack(&lying, SMALL).is_err());
    }
}
