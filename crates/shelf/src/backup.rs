//! Copies of the database: one a day, and one before each migration.
//!
//! The daily ones are made at the start, and while the shelf stays open whenever one is asked for that is due; the last
//! seven are kept. Pictures need no copies: their files never change, and what is damaged about them is noticed by their
//! names.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use rusqlite::Connection;

use crate::error::ShelfError;
use crate::folder::{Folder, clear, rename_whole};
use crate::ids::Timestamp;

/// How many daily backups are kept.
const KEPT: usize = 7;

/// Milliseconds after which the newest backup is too old: a little less than a day, so that one who opens the shelf
/// every morning has a backup of every day.
const DAY: i64 = 20 * 60 * 60 * 1_000;

const DAILY: &str = "shelf-";

/// Makes a backup where none of the last day is there, and lets the oldest go.
pub(crate) fn daily(connection: &Connection, folder: &Folder, now: Timestamp) -> Result<(), ShelfError> {
    let daily = |moment: Timestamp| format!("{DAILY}{}.sqlite", moment.for_file_name());
    // Names sort by their moments. A backup from the future comes of a clock that was wrong, and counts for nothing.
    let recent = daily(Timestamp::from_millis(now.millis().saturating_sub(DAY)))..=daily(now);
    let is_recent = |path: &PathBuf| recent.contains(&name(path).to_owned());
    let there = list(folder)?;
    if there.iter().any(is_recent) || is_empty(connection)? {
        return Ok(());
    }
    copy(connection, folder, &daily(now))?;
    let mut kept: Vec<_> = list(folder)?.into_iter().filter(|path| name(path).starts_with(DAILY)).collect();
    kept.truncate(kept.len().saturating_sub(KEPT));
    for old in kept {
        fs::remove_file(old).map_err(|error| folder.told(error))?;
    }
    Ok(())
}

/// Makes a backup of a database of an older form; it is kept for ever.
pub(crate) fn before_migration(
    connection: &Connection,
    folder: &Folder,
    form: i64,
    now: Timestamp,
) -> Result<(), ShelfError> {
    copy(connection, folder, &format!("form-{form}-{}.sqlite", now.for_file_name()))
}

/// The backups, the oldest first.
pub(crate) fn list(folder: &Folder) -> Result<Vec<PathBuf>, ShelfError> {
    let told = |error| folder.told(error);
    let entries = match fs::read_dir(folder.backups()) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(told(error)),
    };
    let mut paths = Vec::new();
    for entry in entries {
        let path = entry.map_err(told)?.path();
        if path.extension().is_some_and(|ending| ending == "sqlite") {
            paths.push(path);
        }
    }
    paths.sort_by(|one, other| moment(one).cmp(moment(other)));
    Ok(paths)
}

/// The moment in a backup's name, as it is written there.
pub(crate) fn moment(backup: &Path) -> &str {
    const LENGTH: usize = "1858-03-01-093000.sqlite".len();
    let name = name(backup);
    let start = name.len().saturating_sub(LENGTH);
    name.get(start..).unwrap_or(name).trim_end_matches(".sqlite")
}

fn name(path: &Path) -> &str {
    path.file_name().and_then(|name| name.to_str()).unwrap_or_default()
}

fn is_empty(connection: &Connection) -> Result<bool, ShelfError> {
    Ok(connection.query_row("SELECT NOT EXISTS (SELECT 1 FROM project)", [], |row| row.get(0))?)
}

/// Copies the database as it is at this moment, whole or not at all.
fn copy(connection: &Connection, folder: &Folder, name: &str) -> Result<(), ShelfError> {
    let told = |error| folder.told(error);
    let backups = folder.backups();
    fs::create_dir_all(&backups).map_err(told)?;
    // What a program that was killed left behind would be in the way.
    let unfinished = backups.join("unfinished");
    clear(&unfinished).map_err(told)?;
    let target = unfinished.to_str().ok_or_else(|| told(io::ErrorKind::InvalidFilename.into()))?;
    if let Err(error) = connection.execute("VACUUM INTO ?1", [target]) {
        clear(&unfinished).map_err(told)?;
        return Err(error.into());
    }
    rename_whole(&unfinished, &backups.join(name)).map_err(told)
}

#[cfg(test)]
mod tests {
    use super::{before_migration, daily, list, moment};
    use crate::folder::Folder;
    use crate::ids::Timestamp;
    use crate::open::{Care, connect, connect_to_read, look_over};
    use crate::schema;

    #[test]
    fn a_backup_before_a_migration_is_whole_and_outlives_the_daily_ones() {
        let place = tempfile::tempdir().unwrap();
        let folder = Folder::make(place.path()).unwrap();
        let mut connection = connect(&folder.database()).unwrap();
        schema::migrate(&mut connection).unwrap();
        connection
            .execute("INSERT INTO project (title, revision, changed) VALUES ('A mat', 0, 0)", [])
            .unwrap();
        std::fs::create_dir_all(folder.backups()).unwrap();
        std::fs::write(folder.backups().join("unfinished"), "of a program that was killed").unwrap();
        before_migration(&connection, &folder, 1, Timestamp::from_millis(0)).unwrap();
        for day in 1..=9 {
            daily(&connection, &folder, Timestamp::from_millis(day * 86_400_000)).unwrap();
        }
        let there = list(&folder).unwrap();
        let moments: Vec<_> = there.iter().map(|backup| moment(backup)).collect();
        assert_eq!(moments.len(), 8);
        assert_eq!((moments[0], moments[1]), ("1970-01-01-000000", "1970-01-04-000000"));
        look_over(&connect_to_read(&there[0]).unwrap(), Care::Usual).unwrap();
        assert!(!folder.backups().join("unfinished").exists());
    }
}
