//! The place at the needles and the pace of the work. Both are on the disk at once, and no undo touches them.

use rusqlite::{OptionalExtension, Transaction, params};

use crate::content::revision;
use crate::error::ShelfError;
use crate::ids::{ProjectId, Timestamp};
use crate::project::Place;
use crate::shelf::Shelf;

/// A row that was finished at the needles.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WorkedRow {
    /// Which piece.
    pub piece: u32,
    /// Which of its rows.
    pub row: u32,
    /// When it was finished.
    pub at: Timestamp,
}

impl Shelf {
    /// Where the knitter is, once she has begun.
    pub fn place(&self, id: ProjectId) -> Result<Option<Place>, ShelfError> {
        self.read(|connection| {
            revision(connection, id)?;
            let place = connection
                .prepare_cached("SELECT piece, row, stitch FROM place WHERE project = ?1")?
                .query_row([id.number()], |row| {
                    Ok(Place { piece: row.get(0)?, row: row.get(1)?, stitch: row.get(2)? })
                });
            Ok(place.optional()?)
        })
    }

    /// Notes where the knitter is.
    pub fn set_place(&mut self, id: ProjectId, place: Place) -> Result<(), ShelfError> {
        self.write(|transaction| {
            revision(transaction, id)?;
            set_place(transaction, id, place)
        })
    }

    /// Notes that a row was finished.
    pub fn note_row(&mut self, id: ProjectId, worked: WorkedRow) -> Result<(), ShelfError> {
        self.write(|transaction| {
            revision(transaction, id)?;
            transaction
                .prepare_cached("INSERT INTO worked (project, piece, row, at) VALUES (?1, ?2, ?3, ?4)")?
                .execute(params![id.number(), worked.piece, worked.row, worked.at.millis()])?;
            Ok(())
        })
    }

    /// The rows that were finished, the first first; a row that was ripped back and worked again stands there twice.
    pub fn worked_rows(&self, id: ProjectId) -> Result<Vec<WorkedRow>, ShelfError> {
        self.read(|connection| {
            revision(connection, id)?;
            let mut query = connection
                .prepare_cached("SELECT piece, row, at FROM worked WHERE project = ?1 ORDER BY at, id")?;
            let rows = query.query_map([id.number()], |row| {
                Ok(WorkedRow {
                    piece: row.get(0)?,
                    row: row.get(1)?,
                    at: Timestamp::from_millis(row.get(2)?),
                })
            })?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }
}

/// Notes the place at the needles of a project that is there.
pub(crate) fn set_place(
    transaction: &Transaction<'_>,
    id: ProjectId,
    place: Place,
) -> Result<(), ShelfError> {
    transaction
        .prepare_cached("INSERT OR REPLACE INTO place (project, piece, row, stitch) VALUES (?1, ?2, ?3, ?4)")?
        .execute(params![id.number(), place.piece, place.row, place.stitch])?;
    Ok(())
}
