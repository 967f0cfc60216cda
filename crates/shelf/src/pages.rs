//! The scanned pages of a project and their pictures.
//!
//! A picture lies in a file of its own, named by its digest, and never changes: what is damaged about it is noticed
//! when it is read, and a page that was taken away and brought back finds it where it was.

use std::fs;
use std::io;
use std::path::PathBuf;

use rusqlite::{Connection, OptionalExtension, Transaction, params};

use crate::change::Change;
use crate::content::newest;
use crate::error::ShelfError;
use crate::folder::{Folder, write_whole};
use crate::history::{Act, Stored, make};
use crate::ids::{PageId, ProjectId};
use crate::project::{Media, Page};
use crate::shelf::Shelf;

/// The most bytes that the picture of a page may have.
pub const PICTURE_LIMIT: usize = 32 * 1024 * 1024;

/// The picture of a page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// Its kind.
    pub media: Media,
    /// The bytes of its file.
    pub bytes: Vec<u8>,
}

impl Shelf {
    /// Adds a page after the others; undo takes it away again. What kind of picture it is, its first bytes say.
    pub fn add_page(
        &mut self,
        id: ProjectId,
        act: Act<'_>,
        name: &str,
        bytes: &[u8],
    ) -> Result<(PageId, Stored), ShelfError> {
        let media = media(bytes)?;
        let folder = self.folder.clone();
        self.write(|transaction| {
            let before = newest(transaction, id)?;
            let page = keep(transaction, &folder, id, None, media, bytes)?;
            let index = before.0.pages.len();
            let added = Change::AddPage { index, page: Page { page, name: name.to_owned(), media } };
            Ok((page, make(transaction, id, before, act, &[added])?))
        })
    }

    /// The picture of a page, also of one that was taken away.
    pub fn page(&self, id: ProjectId, page: PageId) -> Result<Picture, ShelfError> {
        self.read(|connection| read(connection, &self.folder, id, page))
    }
}

/// The kind of a picture that may be kept.
pub(crate) fn media(bytes: &[u8]) -> Result<Media, ShelfError> {
    if bytes.len() > PICTURE_LIMIT {
        return Err(ShelfError::PictureTooLarge);
    }
    Media::of(bytes).ok_or(ShelfError::NotAPicture)
}

/// Keeps a picture for a page of a project, under a new number where none is given.
pub(crate) fn keep(
    transaction: &Transaction<'_>,
    folder: &Folder,
    id: ProjectId,
    page: Option<PageId>,
    media: Media,
    bytes: &[u8],
) -> Result<PageId, ShelfError> {
    let digest = blake3::hash(bytes).to_hex();
    write(folder, &digest, media, bytes)?;
    let number = transaction
        .prepare_cached(
            "INSERT INTO page (project, number, media, digest)
             SELECT ?1, coalesce(?2, max(number) + 1, 1), ?3, ?4 FROM page WHERE project = ?1 RETURNING number",
        )?
        .query_row(params![id.number(), page.map(PageId::number), media.name(), digest.as_str()], |row| {
            row.get(0)
        })?;
    Ok(PageId::from_number(number))
}

/// The picture of a page as it was kept.
pub(crate) fn read(
    connection: &Connection,
    folder: &Folder,
    id: ProjectId,
    page: PageId,
) -> Result<Picture, ShelfError> {
    let found = connection
        .prepare_cached("SELECT media, digest FROM page WHERE project = ?1 AND number = ?2")?
        .query_row(params![id.number(), page.number()], |row| {
            Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?))
        })
        .optional()?;
    let (media, digest) = found.ok_or(ShelfError::NoPicture(page))?;
    let media = Media::named(&media).ok_or_else(|| ShelfError::Damaged(format!("no picture is {media}")))?;
    let bytes = match fs::read(path(folder, &digest, media)) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(folder.told(error)),
        bytes => bytes.unwrap_or_default(),
    };
    if blake3::hash(&bytes).to_hex().as_str() != digest {
        return Err(ShelfError::PictureDamaged(page));
    }
    Ok(Picture { media, bytes })
}

fn path(folder: &Folder, digest: &str, media: Media) -> PathBuf {
    folder.pages().join(format!("{digest}.{}", media.ending()))
}

/// Writes a picture's file, unless it lies there whole.
fn write(folder: &Folder, digest: &str, media: Media, bytes: &[u8]) -> Result<(), ShelfError> {
    let told = |error| folder.told(error);
    let path = path(folder, digest, media);
    if fs::read(&path).is_ok_and(|there| there == bytes) {
        return Ok(());
    }
    fs::create_dir_all(folder.pages()).map_err(told)?;
    write_whole(&path, bytes).map_err(told)
}
