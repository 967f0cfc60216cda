//! Where things lie in the folder of a shelf, and how files get there whole or not at all.
//!
//! ```text
//! shelf.sqlite            the projects, with shelf.sqlite-wal and -shm while they are open
//! shelf.lock              held while a program has the shelf
//! pages/                  pictures of pages, named by their digest, never changed
//! backups/                copies of shelf.sqlite, named by their moment
//! set-aside/              databases that were found damaged
//! restored.sqlite         what is to take the place of a damaged one, while it is made
//! ```

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use crate::error::ShelfError;

/// The folder of a shelf.
#[derive(Clone, Debug)]
pub(crate) struct Folder(PathBuf);

impl Folder {
    /// The folder, made where there is none.
    pub(crate) fn make(path: &Path) -> Result<Folder, ShelfError> {
        let folder = Folder(path.to_owned());
        fs::create_dir_all(path).map_err(|error| folder.told(error))?;
        Ok(folder)
    }

    /// The folder itself.
    pub(crate) fn path(&self) -> &Path {
        &self.0
    }

    /// The database.
    pub(crate) fn database(&self) -> PathBuf {
        self.0.join("shelf.sqlite")
    }

    /// The file that is held while a program has the shelf.
    pub(crate) fn lock(&self) -> PathBuf {
        self.0.join("shelf.lock")
    }

    /// The folder of pictures.
    pub(crate) fn pages(&self) -> PathBuf {
        self.0.join("pages")
    }

    /// The folder of backups.
    pub(crate) fn backups(&self) -> PathBuf {
        self.0.join("backups")
    }

    /// The folder of databases that were found damaged.
    pub(crate) fn set_aside(&self) -> PathBuf {
        self.0.join("set-aside")
    }

    /// What is to take the place of a damaged database.
    pub(crate) fn restored(&self) -> PathBuf {
        self.0.join("restored.sqlite")
    }

    /// An error of reading or writing in the folder, told as what it means.
    pub(crate) fn told(&self, error: io::Error) -> ShelfError {
        match error.kind() {
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => ShelfError::ReadOnly,
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => ShelfError::Full,
            _ => ShelfError::Folder { folder: self.0.clone(), source: error },
        }
    }
}

/// The path with something put after its name.
pub(crate) fn with_ending(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

/// Deletes a file, should it be there.
pub(crate) fn clear(path: &Path) -> io::Result<()> {
    match fs::remove_file(path) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}

/// Writes a file that is there whole or not at all, even if the power fails. Its folder must be there.
pub(crate) fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    let mut file = tempfile::NamedTempFile::new_in(folder)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    file.persist(path)?;
    sync_folder(folder)
}

/// Gives a file that is whole its name, for good.
pub(crate) fn rename_whole(from: &Path, to: &Path) -> io::Result<()> {
    File::open(from)?.sync_all()?;
    fs::rename(from, to)?;
    sync_folder(to.parent().unwrap_or(Path::new(".")))
}

/// Sees to it that the names of a folder are on the disk.
#[cfg(unix)]
fn sync_folder(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

/// Names are on the disk here when they are given.
#[cfg(not(unix))]
fn sync_folder(_: &Path) -> io::Result<()> {
    Ok(())
}
