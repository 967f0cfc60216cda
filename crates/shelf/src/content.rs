//! The newest state of a project in the tables, under a digest by which damage on the disk is noticed.

use rusqlite::{Connection, OptionalExtension, Transaction, params};

use crate::error::ShelfError;
use crate::ids::{ProjectId, Revision, Timestamp};
use crate::project::Project;

/// Puts a project that is in order into the tables, under a new number where none is given.
pub(crate) fn insert(
    transaction: &Transaction<'_>,
    id: Option<ProjectId>,
    project: &Project,
    at: Timestamp,
) -> Result<ProjectId, ShelfError> {
    transaction
        .prepare_cached("INSERT INTO project (id, title, revision, changed) VALUES (?1, ?2, ?3, ?4)")?
        .execute(params![id.map(ProjectId::number), project.title, Revision::FIRST.number(), at.millis()])?;
    let id = ProjectId::from_number(transaction.last_insert_rowid());
    let sheet = serde_json::to_string(project)?;
    let digest = digest(&sheet, &project.text, &project.glossary);
    transaction
        .prepare_cached(
            "INSERT INTO content (project, sheet, text, glossary, digest) VALUES (?1, ?2, ?3, ?4, ?5)",
        )?
        .execute(params![id.number(), sheet, project.text, project.glossary, digest])?;
    Ok(id)
}

/// The newest state of a project and its revision.
pub(crate) fn newest(connection: &Connection, id: ProjectId) -> Result<(Project, Revision), ShelfError> {
    let mut query = connection.prepare_cached(
        "SELECT sheet, text, glossary, digest, revision FROM content JOIN project ON id = project WHERE id = ?1",
    )?;
    let found = query
        .query_row([id.number()], |row| {
            let texts: [String; 4] = [row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?];
            Ok((texts, row.get::<_, i64>(4)?))
        })
        .optional()?;
    let ([sheet, text, glossary, written], revision) = found.ok_or(ShelfError::NoProject(id))?;
    if digest(&sheet, &text, &glossary) != written {
        return Err(ShelfError::Damaged(format!("project {} is not as it was written", id.number())));
    }
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
    let sheet = serde_json::to_string(after)?;
    let digest = digest(&sheet, &after.text, &after.glossary);
    transaction
        .prepare_cached("UPDATE content SET sheet = ?2, digest = ?3 WHERE project = ?1")?
        .execute(params![number, sheet, digest])?;
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

/// Reads every project, so that damage is noticed that the database itself cannot see.
pub(crate) fn check(connection: &Connection) -> Result<(), ShelfError> {
    for id in ids(connection)? {
        newest(connection, id)?;
    }
    Ok(())
}

/// The projects, those put away among them, in the order they were made.
pub(crate) fn ids(connection: &Connection) -> Result<Vec<ProjectId>, ShelfError> {
    let mut query = connection.prepare("SELECT id FROM project ORDER BY id")?;
    let ids = query.query_map([], |row| Ok(ProjectId::from_number(row.get(0)?)))?;
    Ok(ids.collect::<Result<_, _>>()?)
}

/// Stands for the three texts; the length of each goes in too, so that none can grow at another's cost.
fn digest(sheet: &str, text: &str, glossary: &str) -> String {
    let mut hasher = blake3::Hasher::new();
    for part in [sheet, text, glossary] {
        hasher.update(&(part.len() as u64).to_le_bytes());
        hasher.update(part.as_bytes());
    }
    hasher.finalize().to_hex().to_string()
}
