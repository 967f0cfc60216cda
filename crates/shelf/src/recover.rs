//! What is done about a damaged database: nothing of it is deleted, and as much as can be is had again.
//!
//! The newest backup that is whole is taken, every project that the damaged database still gives in a newer state is
//! brought up to that state, and only then is the damaged one set aside. Cut short at any moment, the next start
//! does it again or ends it.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use rusqlite::Connection;

use crate::backup;
use crate::error::ShelfError;
use crate::folder::{Folder, clear, rename_whole, with_ending};
use crate::ids::Timestamp;
use crate::open::{Care, connect_to_read, look_over};
use crate::salvage;
use crate::schema;
use crate::shelf::{Notice, write};

/// What SQLite puts after a database's name for the files that belong to it, the database itself last.
const ENDINGS: [&str; 3] = ["-wal", "-shm", ""];

/// Puts another database into the place of the damaged one, and says so.
pub(crate) fn recover(folder: &Folder, damage: &str, now: Timestamp) -> Result<Notice, ShelfError> {
    let backup = newest_whole(folder)?;
    let saved = make(folder, backup.as_deref(), now)?;
    let aside = set_aside(folder, now)?;
    finish(folder)?;
    Ok(Notice(words(damage, aside.as_deref(), backup.as_deref(), saved)))
}

/// Gives a restored database its place, where the damaged one has left it.
pub(crate) fn finish(folder: &Folder) -> Result<(), ShelfError> {
    let (database, restored) = (folder.database(), folder.restored());
    if !database.exists() && restored.exists() {
        rename_whole(&restored, &database).map_err(|error| folder.told(error))?;
    }
    Ok(())
}

fn words(damage: &str, aside: Option<&Path>, backup: Option<&Path>, saved: usize) -> String {
    let mut words = format!("The file of the projects was damaged: {damage}.");
    if let Some(aside) = aside {
        words += &format!(" It was set aside as {}; nothing of it was deleted.", aside.display());
    }
    words += &match backup {
        Some(backup) => format!(" The backup of {} was taken instead", backup::moment(backup)),
        None => " There was no whole backup".to_owned(),
    };
    words
        + &match saved {
            0 => ".".to_owned(),
            1 => "; one project could be brought up to date from the damaged file.".to_owned(),
            saved => format!("; {saved} projects could be brought up to date from the damaged file."),
        }
}

/// The newest backup in which nothing is amiss.
fn newest_whole(folder: &Folder) -> Result<Option<PathBuf>, ShelfError> {
    let whole = |path: &PathBuf| {
        connect_to_read(path).and_then(|connection| look_over(&connection, Care::Closest)).is_ok()
    };
    Ok(backup::list(folder)?.into_iter().rev().find(whole))
}

/// Makes the database that is to take the place; returns how many projects came from the damaged one.
fn make(folder: &Folder, backup: Option<&Path>, now: Timestamp) -> Result<usize, ShelfError> {
    let told = |error| folder.told(error);
    let restored = folder.restored();
    for ending in ["", "-journal"] {
        clear(&with_ending(&restored, ending)).map_err(told)?;
    }
    if let Some(backup) = backup {
        fs::copy(backup, &restored).map_err(told)?;
    }
    let mut connection = Connection::open(&restored)?;
    schema::migrate(&mut connection)?;
    write(&mut connection, |transaction| match connect_to_read(&folder.database()) {
        Ok(damaged) => salvage::all(&damaged, transaction, now),
        Err(_) => Ok(0),
    })
}

/// Moves the database and what belongs to it out of the way, under the name of the moment.
fn set_aside(folder: &Folder, now: Timestamp) -> Result<Option<PathBuf>, ShelfError> {
    let told = |error| folder.told(error);
    fs::create_dir_all(folder.set_aside()).map_err(told)?;
    let aside = free_name(folder, now)?;
    let mut moved = false;
    for ending in ENDINGS {
        match fs::rename(with_ending(&folder.database(), ending), with_ending(&aside, ending)) {
            Ok(()) => moved = true,
            Err(error) if error.kind() == io::ErrorKind::NotFound => {}
            Err(error) => return Err(told(error)),
        }
    }
    Ok(moved.then_some(aside))
}

/// A name among those set aside that nothing has yet.
fn free_name(folder: &Folder, now: Timestamp) -> Result<PathBuf, ShelfError> {
    let name = |number: u32| match number {
        1 => format!("shelf-{}.sqlite", now.for_file_name()),
        _ => format!("shelf-{}-{number}.sqlite", now.for_file_name()),
    };
    let free = |path: &PathBuf| ENDINGS.iter().all(|ending| !with_ending(path, ending).exists());
    let mut names = (1..=1_000).map(|number| folder.set_aside().join(name(number)));
    names.find(free).ok_or_else(|| folder.told(io::ErrorKind::AlreadyExists.into()))
}
