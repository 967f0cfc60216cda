//! What can go wrong on the shelf, in plain words and with the way out.
//!
//! Nothing that goes wrong destroys what stood on the shelf before.

use std::io;
use std::path::PathBuf;

use rusqlite::ErrorCode;

use crate::bundle::BundleError;
use crate::change::ChangeError;
use crate::ids::{PageId, ProjectId, Revision};

/// Why something could not be done.
#[derive(Debug, thiserror::Error)]
pub enum ShelfError {
    /// The folder cannot be made or entered.
    #[error("{}: the folder for the projects cannot be used: {source}", folder.display())]
    Folder {
        /// The folder.
        folder: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// Nothing can be written.
    #[error("the folder of the projects can be read but not written")]
    ReadOnly,
    /// No space is left.
    #[error("the disk is full")]
    Full,
    /// A second program holds the shelf.
    #[error("another window of this program, or another program, has the projects open")]
    InUse,
    /// The database is of a later version of the program.
    #[error(
        "the projects were last opened by a newer version of this program (form {found}, this one knows {known})"
    )]
    Newer {
        /// The form of the database.
        found: i64,
        /// The newest form that this program knows.
        known: i64,
    },
    /// The database was found damaged while it was in use.
    #[error("the file of the projects is damaged: {0}")]
    Damaged(String),
    /// The disk does not do as it is told.
    #[error("the file of the projects cannot be read or written: {0}")]
    Disk(String),
    /// There is no such project.
    #[error("there is no project {}", .0.number())]
    NoProject(ProjectId),
    /// There is no such revision.
    #[error("the project has no revision {}", .0.number())]
    NoRevision(Revision),
    /// There is no picture of such a page.
    #[error("the project has no picture of a page {}", .0.number())]
    NoPicture(PageId),
    /// The file of a page's picture is not as it was written.
    #[error("the picture of page {} is damaged or gone; the project itself is not", .0.number())]
    PictureDamaged(PageId),
    /// What was given as a picture is none.
    #[error("this is neither a PNG nor a JPEG picture")]
    NotAPicture,
    /// The picture is too large.
    #[error("this picture is larger than {} MB", crate::pages::PICTURE_LIMIT >> 20)]
    PictureTooLarge,
    /// The change was made for a state that is not the newest.
    #[error("the project was changed in between; its newest revision is {}", newest.number())]
    Stale {
        /// The newest revision.
        newest: Revision,
    },
    /// A bundle cannot be taken in or made.
    #[error(transparent)]
    Bundle(#[from] BundleError),
    /// The change does not fit the project.
    #[error(transparent)]
    Change(#[from] ChangeError),
}

impl ShelfError {
    /// What to do about it, where there is something to do.
    pub fn help(&self) -> Option<&'static str> {
        Some(match self {
            ShelfError::Folder { .. } => "give another folder, or see that this one can be written",
            ShelfError::ReadOnly => "allow writing to the folder and its files, or give another folder",
            ShelfError::Full => {
                "nothing that was kept is lost; make room on the disk, then make the change again"
            }
            ShelfError::InUse => "close the other one, or give another folder",
            ShelfError::Newer { .. } => {
                "take the newer version of the program; the projects were left as they are"
            }
            ShelfError::Damaged(_) => {
                "start the program again: it sets the damaged file aside and takes the backup"
            }
            ShelfError::Disk(_) => "see that the disk is there and has room, then start the program again",
            ShelfError::Stale { .. } => "fetch the project anew and make the change there",
            ShelfError::PictureDamaged(_) => {
                "add the picture again; a page that holds the same one is mended by it"
            }
            ShelfError::NotAPicture => "save the scan as PNG or JPEG",
            ShelfError::PictureTooLarge => "scan it in less detail, or save it as JPEG",
            ShelfError::NoProject(_) | ShelfError::NoRevision(_) | ShelfError::NoPicture(_) => return None,
            ShelfError::Bundle(error) => error.help(),
            ShelfError::Change(_) => return None,
        })
    }
}

impl From<rusqlite::Error> for ShelfError {
    fn from(error: rusqlite::Error) -> ShelfError {
        match error.sqlite_error_code() {
            Some(ErrorCode::DiskFull) => ShelfError::Full,
            // The file that programs share beside the database could not be made large enough.
            Some(_) if error.sqlite_extended_error_code() == Some(rusqlite::ffi::SQLITE_IOERR_SHMSIZE) => {
                ShelfError::Full
            }
            Some(ErrorCode::ReadOnly | ErrorCode::CannotOpen | ErrorCode::PermissionDenied) => {
                ShelfError::ReadOnly
            }
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => ShelfError::InUse,
            Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => {
                ShelfError::Damaged(error.to_string())
            }
            Some(_) => ShelfError::Disk(error.to_string()),
            // Not of SQLite itself: a column that does not hold what this program wrote there.
            None => ShelfError::Damaged(error.to_string()),
        }
    }
}

impl From<serde_json::Error> for ShelfError {
    fn from(error: serde_json::Error) -> ShelfError {
        ShelfError::Damaged(error.to_string())
    }
}
