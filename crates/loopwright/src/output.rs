//! Writing: whole files or none, and a standard output that may close early.

use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

/// Why something could not be written.
#[derive(Debug, thiserror::Error)]
pub enum OutputError {
    /// Whoever read our output has stopped.
    #[error("the output was closed")]
    Closed,
    /// Standard output.
    #[error("standard output cannot be written: {0}")]
    Standard(std::io::Error),
    /// A file.
    #[error("{}: the file cannot be written: {error}", .path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// Why.
        error: std::io::Error,
    },
    /// A file, where there is a folder.
    #[error("{}: there is a folder of that name", .0.display())]
    IsFolder(PathBuf),
    /// A folder.
    #[error("{}: the folder cannot be made: {error}", .path.display())]
    Folder {
        /// The folder.
        path: PathBuf,
        /// Why.
        error: std::io::Error,
    },
}

impl OutputError {
    /// What to do about it.
    pub fn help(&self) -> &'static str {
        match self {
            OutputError::Closed | OutputError::Standard(_) => {
                "check where the output is sent, and the room on the disk"
            }
            OutputError::File { .. } => {
                "check that the folder is there and may be written, and the room on the disk"
            }
            OutputError::IsFolder(_) => "give another name with -o",
            OutputError::Folder { .. } => {
                "give a folder with -o whose path holds no file and that may be written"
            }
        }
    }
}

/// Prints on standard output; colours only where a terminal shows them.
pub fn print(text: &str) -> Result<(), OutputError> {
    let mut out = anstream::stdout().lock();
    out.write_all(text.as_bytes()).and_then(|()| out.flush()).map_err(|error| match error.kind() {
        ErrorKind::BrokenPipe => OutputError::Closed,
        _ => OutputError::Standard(error),
    })
}

/// Makes a folder and those above it.
pub fn make_folder(path: &Path) -> Result<(), OutputError> {
    std::fs::create_dir_all(path).map_err(|error| OutputError::Folder { path: path.to_owned(), error })
}

/// Writes a file as a whole: under another name first, and given its own only when complete, so that neither a
/// full disk nor a stop leaves half of it.
pub fn write_file(path: &Path, bytes: &[u8]) -> Result<(), OutputError> {
    if path.is_dir() {
        return Err(OutputError::IsFolder(path.to_owned()));
    }
    write_whole(path, bytes).map_err(|error| OutputError::File { path: path.to_owned(), error })
}

fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), std::io::Error> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    builder.prefix(".loopwright-");
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut file = builder.tempfile_in(folder)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    file.persist(path)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_replaced_as_a_whole_and_nothing_else_is_left() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("rows.txt");
        write_file(&path, b"knit 3").unwrap();
        write_file(&path, b"purl").unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), b"purl");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_place_that_cannot_be_written_is_named() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        write_file(&file, b"").unwrap();
        let below = file.join("rows.txt");
        assert!(matches!(write_file(&below, b""), Err(OutputError::File { path, .. }) if path == below));
        assert!(matches!(write_file(folder.path(), b""), Err(OutputError::IsFolder(_))));
        assert!(matches!(make_folder(&below), Err(OutputError::Folder { path, .. }) if path == below));
    }
}
