//! States of a project that have a name, and are kept in mind by it.

use rusqlite::params;

use crate::content::revision;
use crate::error::ShelfError;
use crate::ids::{ProjectId, Revision, Timestamp};
use crate::project::check_line;
use crate::shelf::Shelf;

/// A state with a name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// The name.
    pub name: String,
    /// The state.
    pub revision: Revision,
    /// When the name was given.
    pub made: Timestamp,
}

impl Shelf {
    /// Gives the newest state a name, by which it is kept in mind.
    pub fn label(&mut self, id: ProjectId, name: &str, made: Timestamp) -> Result<Label, ShelfError> {
        check_line(name)?;
        self.write(|transaction| {
            let revision = revision(transaction, id)?;
            transaction
                .prepare_cached(
                    "INSERT OR REPLACE INTO label (project, revision, name, made) VALUES (?1, ?2, ?3, ?4)",
                )?
                .execute(params![id.number(), revision.number(), name, made.millis()])?;
            Ok(Label { name: name.to_owned(), revision, made })
        })
    }

    /// The states with a name, the oldest first.
    pub fn labels(&self, id: ProjectId) -> Result<Vec<Label>, ShelfError> {
        self.read(|connection| {
            revision(connection, id)?;
            let mut query = connection.prepare_cached(
                "SELECT name, revision, made FROM label WHERE project = ?1 ORDER BY revision, made, name",
            )?;
            let labels = query.query_map([id.number()], |row| {
                Ok(Label {
                    name: row.get(0)?,
                    revision: Revision::from_number(row.get(1)?),
                    made: Timestamp::from_millis(row.get(2)?),
                })
            })?;
            Ok(labels.collect::<Result<_, _>>()?)
        })
    }
}
