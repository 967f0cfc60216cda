//! The shelf itself: its list, and projects put on it, put away and taken out.

use std::path::{Path, PathBuf};

use rusqlite::{Connection, OptionalExtension, Row, Transaction, TransactionBehavior, params};

use crate::error::ShelfError;
use crate::ids::{ProjectId, Revision, Timestamp};
use crate::lock::Lock;
use crate::project::Project;
use crate::schema;

/// A folder of projects, held by this program alone.
#[derive(Debug)]
pub struct Shelf {
    // The connection is closed before the lock is given back.
    pub(crate) connection: Connection,
    folder: PathBuf,
    _lock: Lock,
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
    pub fn open(folder: &Path, _now: Timestamp) -> Result<(Shelf, Vec<Notice>), ShelfError> {
        std::fs::create_dir_all(folder).map_err(|error| ShelfError::of_folder(folder, error))?;
        let lock = Lock::take(folder)?;
        let mut connection = Connection::open(folder.join("shelf.sqlite"))?;
        connection.pragma_update_and_check(None, "journal_mode", "WAL", |_| Ok(()))?;
        connection.pragma_update(None, "synchronous", "FULL")?;
        connection.pragma_update(None, "foreign_keys", true)?;
        schema::migrate(&mut connection)?;
        Ok((Shelf { connection, folder: folder.to_owned(), _lock: lock }, Vec::new()))
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// All projects, the one changed last first; those put away are among them.
    pub fn list(&self) -> Result<Vec<Entry>, ShelfError> {
        let mut query = self.connection.prepare_cached(
            "SELECT id, title, changed, rows, doubts, removed FROM project ORDER BY changed DESC, id DESC",
        )?;
        let entries = query.query_map([], entry)?.collect::<Result<_, _>>()?;
        Ok(entries)
    }

    /// Puts a new project on the shelf. It has no pages yet: they come with their pictures.
    pub fn create(&mut self, project: &Project, at: Timestamp) -> Result<ProjectId, ShelfError> {
        let mut project = project.clone();
        project.pages.clear();
        let project = project.settled()?;
        let transaction = self.begin()?;
        let id = insert(&transaction, &project, at)?;
        transaction.commit()?;
        Ok(id)
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

    /// Starts a transaction that writes, and is taken back where it is not committed.
    pub(crate) fn begin(&mut self) -> Result<Transaction<'_>, ShelfError> {
        Ok(self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?)
    }

    fn update_one(
        &mut self,
        id: ProjectId,
        update: &str,
        values: impl rusqlite::Params,
    ) -> Result<(), ShelfError> {
        match self.connection.prepare_cached(update)?.execute(values)? {
            0 => Err(ShelfError::NoProject(id)),
            _ => Ok(()),
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

/// Puts a project that is in order into the tables.
pub(crate) fn insert(
    transaction: &Transaction<'_>,
    project: &Project,
    at: Timestamp,
) -> Result<ProjectId, ShelfError> {
    transaction
        .prepare_cached("INSERT INTO project (title, revision, changed) VALUES (?1, ?2, ?3)")?
        .execute(params![project.title, Revision::FIRST.number(), at.millis()])?;
    let id = ProjectId::from_number(transaction.last_insert_rowid());
    transaction
        .prepare_cached("INSERT INTO content (project, sheet, text, glossary) VALUES (?1, ?2, ?3, ?4)")?
        .execute(params![id.number(), serde_json::to_string(project)?, project.text, project.glossary])?;
    Ok(id)
}

/// The newest state of a project and its revision.
pub(crate) fn newest(connection: &Connection, id: ProjectId) -> Result<(Project, Revision), ShelfError> {
    let mut query = connection.prepare_cached(
        "SELECT sheet, text, glossary, revision FROM content JOIN project ON id = project WHERE id = ?1",
    )?;
    let found = query
        .query_row([id.number()], |row| {
            Ok((row.get::<_, String>(0)?, row.get(1)?, row.get(2)?, row.get::<_, i64>(3)?))
        })
        .optional()?;
    let (sheet, text, glossary, revision) = found.ok_or(ShelfError::NoProject(id))?;
    let project = Project { text, glossary, ..serde_json::from_str(&sheet)? };
    Ok((project, Revision::from_number(revision)))
}

/// Writes a project's new state; texts that are the same as `before` stay as they lie.
pub(crate) fn replace(
    transaction: &Transaction<'_>,
    id: ProjectId,
    before: &Project,
    after: &Project,
    revision: Revision,
    at: Timestamp,
) -> Result<(), ShelfError> {
    let number = id.number();
    transaction
        .prepare_cached("UPDATE project SET title = ?2, revision = ?3, changed = ?4 WHERE id = ?1")?
        .execute(params![number, after.title, revision.number(), at.millis()])?;
    transaction
        .prepare_cached("UPDATE content SET sheet = ?2 WHERE project = ?1")?
        .execute(params![number, serde_json::to_string(after)?])?;
    if before.text != after.text {
        transaction
            .prepare_cached("UPDATE content SET text = ?2 WHERE project = ?1")?
            .execute(params![number, after.text])?;
    }
    if before.glossary != after.glossary {
        transaction
            .prepare_cached("UPDATE content SET glossary = ?2 WHERE project = ?1")?
            .execute(params![number, after.glossary])?;
    }
    Ok(())
}
