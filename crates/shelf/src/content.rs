//! The newest state of a project in the tables, under a digest by which damage on the disk is noticed.

use std::borrow::Cow;

use rusqlite::{Connection, OptionalExtension, Transaction, params};

use crate::error::ShelfError;
use crate::ids::{ProjectId, Revision, Timestamp};
use crate::project::Project;

/// The parts of a project; the numbers stand in the database.
mod part {
    pub(super) const SHEET: i64 = 1;
    pub(super) const TEXT: i64 = 2;
    pub(super) const GLOSSARY: i64 = 3;
}

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
    for (part, value) in parts(project)? {
        transaction
            .prepare_cached("INSERT INTO content (project, part, value, digest) VALUES (?1, ?2, ?3, ?4)")?
            .execute(params![id.number(), part, value, digest(&value)])?;
    }
    Ok(id)
}

/// The newest state of a project and its revision.
pub(crate) fn newest(connection: &Connection, id: ProjectId) -> Result<(Project, Revision), ShelfError> {
    let revision = revision(connection, id)?;
    let part = |part: i64| {
        let (value, written): (String, String) = connection
            .prepare_cached("SELECT value, digest FROM content WHERE project = ?1 AND part = ?2")?
            .query_row([id.number(), part], |row| Ok((row.get(0)?, row.get(1)?)))?;
        if digest(&value) == written {
            Ok(value)
        } else {
            Err(ShelfError::Damaged(format!("project {} is not as it was written", id.number())))
        }
    };
    let sheet = serde_json::from_str(&part(part::SHEET)?)?;
    Ok((Project { text: part(part::TEXT)?, glossary: part(part::GLOSSARY)?, ..sheet }, revision))
}

/// The newest revision of a project.
pub(crate) fn revision(connection: &Connection, id: ProjectId) -> Result<Revision, ShelfError> {
    connection
        .prepare_cached("SELECT revision FROM project WHERE id = ?1")?
        .query_row([id.number()], |row| row.get(0))
        .optional()?
        .map(Revision::from_number)
        .ok_or(ShelfError::NoProject(id))
}

/// Writes a project's new state; the parts that are the same as `before` stay as they lie.
pub(crate) fn replace(
    transaction: &Transaction<'_>,
    id: ProjectId,
    before: &Project,
    after: &Project,
    revision: Revision,
    at: Timestamp,
) -> Result<(), ShelfError> {
    transaction
        .prepare_cached("UPDATE project SET title = ?2, revision = ?3, changed = ?4 WHERE id = ?1")?
        .execute(params![id.number(), after.title, revision.number(), at.millis()])?;
    for ((part, value), (_, old)) in parts(after)?.into_iter().zip(parts(before)?) {
        if value != old {
            transaction
                .prepare_cached(
                    "UPDATE content SET value = ?3, digest = ?4 WHERE project = ?1 AND part = ?2",
                )?
                .execute(params![id.number(), part, value, digest(&value)])?;
        }
    }
    Ok(())
}

/// A project in the parts that the database keeps.
fn parts(project: &Project) -> Result<[(i64, Cow<'_, str>); 3], ShelfError> {
    Ok([
        (part::SHEET, serde_json::to_string(project)?.into()),
        (part::TEXT, project.text.as_str().into()),
        (part::GLOSSARY, project.glossary.as_str().into()),
    ])
}

/// The projects, those put away among them, in the order they were made.
pub(crate) fn ids(connection: &Connection) -> Result<Vec<ProjectId>, ShelfError> {
    let mut query = connection.prepare("SELECT id FROM project ORDER BY id")?;
    let ids = query.query_map([], |row| Ok(ProjectId::from_number(row.get(0)?)))?;
    Ok(ids.collect::<Result<_, _>>()?)
}

fn digest(value: &str) -> String {
    blake3::hash(value.as_bytes()).to_hex().to_string()
}
