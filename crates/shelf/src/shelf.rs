//! The shelf itself: its list, and projects put on it, put away and taken out.

use std::cell::Cell;
use std::path::Path;

use rusqlite::{Connection, Row, Transaction, TransactionBehavior, params};

use crate::backup::daily;
use crate::content::insert;
use crate::error::ShelfError;
use crate::folder::Folder;
use crate::ids::{ProjectId, Timestamp};
use crate::lock::{Left, Lock};
use crate::open::open;
use crate::project::Project;

/// A folder of projects, held by this program alone.
#[derive(Debug)]
pub struct Shelf {
    // The connection is closed before the lock is given back.
    connection: Connection,
    pub(crate) folder: Folder,
    lock: Lock,
    amiss: Cell<bool>,
}

/// Something the user should know about how the shelf was found, in plain words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Notice(pub String);

/// A project as the list shows it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Which project.
    pub id: ProjectId,
    /// What it is called.
    pub title: String,
    /// When it was last changed.
    pub changed: Timestamp,
    /// How many rows it has, as [`Shelf::set_summary`] last told.
    pub rows: Option<u32>,
    /// How many doubts are open, as [`Shelf::set_summary`] last told.
    pub doubts: Option<u32>,
    /// Whether it was put away.
    pub removed: bool,
}

impl Shelf {
    /// Opens the shelf of a folder, which is made where there is none.
    ///
    /// A damaged database is set aside and the newest backup taken; the notices say so. Where a backup of the last
    /// day is missing, one is made.
    pub fn open(folder: &Path, now: Timestamp) -> Result<(Shelf, Vec<Notice>), ShelfError> {
        let folder = Folder::make(folder)?;
        let lock = Lock::take(&folder)?;
        let (connection, notices) = open(&folder, &lock, now)?;
        Ok((Shelf { connection, folder, lock, amiss: Cell::new(false) }, notices))
    }

    /// Makes a backup where none of the last day is there, as [`Shelf::open`] does; for a shelf that stays open for days.
    pub fn back_up(&self, now: Timestamp) -> Result<(), ShelfError> {
        self.read(|connection| daily(connection, &self.folder, now))
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// All projects, the one changed last first; those put away are among them.
    pub fn list(&self) -> Result<Vec<Entry>, ShelfError> {
        self.read(|connection| {
            let mut query = connection.prepare_cached(
                "SELECT id, title, changed, rows, doubts, removed FROM project ORDER BY changed DESC, id DESC",
            )?;
            let entries = query.query_map([], entry)?;
            Ok(entries.collect::<Result<_, _>>()?)
        })
    }

    /// Puts a new project on the shelf. It has no pages yet: they come with their pictures.
    pub fn create(&mut self, project: &Project, at: Timestamp) -> Result<ProjectId, ShelfError> {
        let mut project = project.clone();
        project.pages.clear();
        let project = project.settled()?;
        self.write(|transaction| insert(transaction, None, &project, at))
    }

    /// Puts a project away; nothing of it is lost.
    pub fn put_away(&mut self, id: ProjectId, at: Timestamp) -> Result<(), ShelfError> {
        let update = "UPDATE project SET removed = coalesce(removed, ?2) WHERE id = ?1";
        self.update_one(id, update, params![id.number(), at.millis()])
    }

    /// Brings a project back that was put away.
    pub fn bring_back(&mut self, id: ProjectId) -> Result<(), ShelfError> {
        self.update_one(id, "UPDATE project SET removed = NULL WHERE id = ?1", params![id.number()])
    }

    /// Notes what the list shows of a project besides its title.
    pub fn set_summary(&mut self, id: ProjectId, rows: u32, doubts: u32) -> Result<(), ShelfError> {
        let update = "UPDATE project SET rows = ?2, doubts = ?3 WHERE id = ?1";
        self.update_one(id, update, params![id.number(), rows, doubts])
    }

    fn update_one(
        &mut self,
        id: ProjectId,
        update: &str,
        values: impl rusqlite::Params,
    ) -> Result<(), ShelfError> {
        self.write(|transaction| match transaction.prepare_cached(update)?.execute(values)? {
            0 => Err(ShelfError::NoProject(id)),
            _ => Ok(()),
        })
    }

    /// Reads, and remembers damage that is found.
    pub(crate) fn read<T>(
        &self,
        work: impl FnOnce(&Connection) -> Result<T, ShelfError>,
    ) -> Result<T, ShelfError> {
        self.watch(work(&self.connection))
    }

    /// Writes, all of it or nothing; it is on the disk when this returns well.
    pub(crate) fn write<T>(
        &mut self,
        work: impl FnOnce(&Transaction<'_>) -> Result<T, ShelfError>,
    ) -> Result<T, ShelfError> {
        let result = write(&mut self.connection, work);
        self.watch(result)
    }

    /// Remembers damage, so that the next start looks closely and mends it.
    fn watch<T>(&self, result: Result<T, ShelfError>) -> Result<T, ShelfError> {
        if let Err(ShelfError::Damaged(_)) = result {
            self.amiss.set(true);
            self.lock.leave(Left::Amiss);
        }
        result
    }
}

/// Does some work in one transaction, which is taken back where the work fails.
pub(crate) fn write<T>(
    connection: &mut Connection,
    work: impl FnOnce(&Transaction<'_>) -> Result<T, ShelfError>,
) -> Result<T, ShelfError> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let result = work(&transaction)?;
    transaction.commit()?;
    Ok(result)
}

impl Drop for Shelf {
    fn drop(&mut self) {
        if !self.amiss.get() {
            self.lock.leave(Left::InOrder);
        }
    }
}

fn entry(row: &Row<'_>) -> rusqlite::Result<Entry> {
    Ok(Entry {
        id: ProjectId::from_number(row.get(0)?),
        title: row.get(1)?,
        changed: Timestamp::from_millis(row.get(2)?),
        rows: row.get(3)?,
        doubts: row.get(4)?,
        removed: row.get::<_, Option<i64>>(5)?.is_some(),
    })
}

#[cfg(test)]
mod tests {
    use super::{Shelf, ShelfError, Timestamp};
    use crate::{Act, Change, Place, Project, Setting};

    #[test]
    fn a_full_disk_takes_nothing_away_and_the_work_goes_on_when_there_is_room() {
        let folder = tempfile::tempdir().unwrap();
        let at = Timestamp::from_millis(0);
        let act = Act { window: "w", label: "notes", at };
        let (mut shelf, _) = Shelf::open(folder.path(), at).unwrap();
        let id = shelf.create(&Project { text: "Cast on 24.".to_owned(), ..Project::default() }, at).unwrap();
        let before = shelf.project(id).unwrap();
        let pages: i64 = shelf.connection.pragma_query_value(None, "page_count", |row| row.get(0)).unwrap();
        let most = |shelf: &Shelf, pages: i64| {
            shelf.connection.pragma_update_and_check(None, "max_page_count", pages, |_| Ok(())).unwrap();
        };
        most(&shelf, pages);

        let notes = [Change::Set(Setting::Notes("for the carriage ".repeat(2_000)))];
        let refused = shelf.change(id, before.revision, act, &notes).unwrap_err();
        assert!(matches!(refused, ShelfError::Full), "{refused}");
        assert_eq!(refused.to_string(), "the disk is full");
        assert!(refused.help().unwrap().contains("make room"));
        let large = Project { text: "knit 1. ".repeat(9_000), ..Project::default() };
        assert!(matches!(shelf.create(&large, at), Err(ShelfError::Full)));
        assert_eq!(shelf.project(id).unwrap(), before);
        assert_eq!(shelf.list().unwrap().len(), 1);

        most(&shelf, pages * 100);
        let after = shelf.change(id, before.revision, act, &notes).unwrap();
        shelf.move_to(id, Place { piece: 0, time: 1, row: 1, stitch: 0 }, at).unwrap();
        drop(shelf);
        let (shelf, notices) = Shelf::open(folder.path(), at).unwrap();
        assert_eq!(notices, []);
        assert_eq!(shelf.project(id).unwrap(), after);
    }
}
