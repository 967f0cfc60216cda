//! Opening the database of a shelf: looked over, brought to the newest form, with a backup of the day.
//!
//! ```text
//! lock ─▶ look over ─┬─ whole ───────────────────────────────────────▶ migrate ─▶ backup ─▶ open
//!                    └─ damaged ─▶ set aside ─▶ newest good backup ─▶ what the damaged one still gives
//! ```

use std::path::Path;
use std::{fs, io};

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags};

use crate::backup;
use crate::content;
use crate::error::ShelfError;
use crate::folder::{Folder, with_ending};
use crate::history;
use crate::ids::Timestamp;
use crate::lock::{Left, Lock};
use crate::recover;
use crate::schema;
use crate::shelf::Notice;

/// How closely a database is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Care {
    /// As at every start: every page of the database is there and well formed.
    Usual,
    /// After a program that was killed: indices too, and every project as it was written.
    Close,
    /// After damage was found: every history too.
    Closest,
}

/// Opens the database; where it is damaged, with what can be had again, and notices that say so.
pub(crate) fn open(
    folder: &Folder,
    lock: &Lock,
    now: Timestamp,
) -> Result<(Connection, Vec<Notice>), ShelfError> {
    let care = match lock.left() {
        Left::InOrder => Care::Usual,
        Left::Open => Care::Close,
        Left::Amiss => Care::Closest,
    };
    let mut notices = Vec::new();
    recover::finish(folder)?;
    let mut connection = match whole(folder, care) {
        Err(ShelfError::Damaged(damage)) => {
            notices.push(recover::recover(folder, &damage, now)?);
            connect(&folder.database())?
        }
        opened => opened?,
    };
    let form = schema::form(&connection)?;
    if form > 0 && form < schema::KNOWN {
        backup::before_migration(&connection, folder, form, now)?;
    }
    schema::migrate(&mut connection)?;
    if let Err(error) = backup::daily(&connection, folder, now) {
        notices.push(Notice(format!("No backup of the projects could be made today: {error}.")));
    }
    Ok((connection, notices))
}

/// The database of the folder, where it is whole or there was none yet.
fn whole(folder: &Folder, care: Care) -> Result<Connection, ShelfError> {
    let path = folder.database();
    let has_backups = !backup::list(folder)?.is_empty();
    let waits = fs::metadata(with_ending(&path, "-wal")).is_ok_and(|journal| journal.len() > 0);
    match fs::metadata(&path) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(folder.told(error)),
        Err(_) if has_backups || waits => return Err(ShelfError::Damaged("it is not there".to_owned())),
        // SQLite takes an empty file for a new database, and clears away what waits in the journal.
        Ok(file) if file.len() == 0 && (has_backups || waits) => {
            return Err(ShelfError::Damaged("it is empty".to_owned()));
        }
        _ => {}
    }
    let connection = connect(&path)?;
    // Should it be damaged, it stays as it is, and so does its journal.
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true)?;
    look_over(&connection, care)?;
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, false)?;
    Ok(connection)
}

/// Opens a database for writing, so that what it acknowledges is on the disk.
pub(crate) fn connect(path: &Path) -> Result<Connection, ShelfError> {
    let flags =
        OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = Connection::open_with_flags(path, flags)?;
    if connection.is_readonly(rusqlite::MAIN_DB)? {
        return Err(ShelfError::ReadOnly);
    }
    refuse_newer(&connection)?;
    connection.pragma_update(None, "cell_size_check", true)?;
    connection.pragma_update(None, "trusted_schema", false)?;
    connection.pragma_update(None, "foreign_keys", true)?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    let journal: String =
        connection.pragma_update_and_check(None, "journal_mode", "WAL", |row| row.get(0))?;
    if journal != "wal" {
        return Err(ShelfError::Disk(format!("the journal is kept as {journal}, not as wal")));
    }
    Ok(connection)
}

/// Opens a database that must not be altered.
pub(crate) fn connect_to_read(path: &Path) -> Result<Connection, ShelfError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = Connection::open_with_flags(path, flags)?;
    refuse_newer(&connection)?;
    connection.pragma_update(None, "cell_size_check", true)?;
    connection.pragma_update(None, "trusted_schema", false)?;
    Ok(connection)
}

fn refuse_newer(connection: &Connection) -> Result<(), ShelfError> {
    let found = schema::form(connection)?;
    if found > schema::KNOWN {
        return Err(ShelfError::Newer { found, known: schema::KNOWN });
    }
    Ok(())
}

/// Finds damage in a database.
pub(crate) fn look_over(connection: &Connection, care: Care) -> Result<(), ShelfError> {
    let check = match care {
        Care::Usual => "PRAGMA quick_check(1)",
        Care::Close | Care::Closest => "PRAGMA integrity_check(1)",
    };
    let found: String = connection.query_row(check, [], |row| row.get(0))?;
    if found != "ok" {
        // The first line only says which database is meant.
        return Err(ShelfError::Damaged(found.lines().last().unwrap_or_default().to_owned()));
    }
    let form = schema::form(connection)?;
    if form < 0 || form == 0 && !schema::is_empty(connection)? {
        return Err(ShelfError::Damaged("its form is not told".to_owned()));
    }
    if care == Care::Usual || form == 0 {
        return Ok(());
    }
    for id in content::ids(connection)? {
        match care {
            Care::Closest => history::check(connection, id)?,
            _ => drop(content::newest(connection, id)?),
        }
    }
    Ok(())
}
