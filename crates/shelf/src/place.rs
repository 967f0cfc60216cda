//! The places at the needles: one in each piece that is under way. Every move is on the disk at once.
//!
//! Moves have their own undo, apart from that of the project: taking back a word of the text must not move anybody at
//! her needles, nor the other way round.
//!
//! ```text
//! moves      1 square   2 square   3 border   4 square   undo
//!                                  └ her place in the border ┘└ 2 again is her place in the square, 3 the one she is at
//! ```

use rusqlite::{Connection, OptionalExtension, Transaction, params};

use crate::content::revision;
use crate::error::ShelfError;
use crate::ids::{ProjectId, Timestamp};
use crate::project::Place;
use crate::shelf::Shelf;
use crate::steps::state;

/// Where the knitter is.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Needles {
    /// Her place in each piece that she has begun; the one that she works at is the last.
    pub places: Vec<Place>,
    /// Whether there is a move to take back.
    pub undo: bool,
    /// Whether there is one to make again.
    pub redo: bool,
}

/// A move at the needles.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Move {
    /// Where to.
    pub to: Place,
    /// When.
    pub at: Timestamp,
}

impl Shelf {
    /// Where the knitter is in each piece.
    pub fn needles(&self, id: ProjectId) -> Result<Needles, ShelfError> {
        self.read(|connection| {
            revision(connection, id)?;
            needles(connection, id)
        })
    }

    /// Notes where the knitter goes.
    pub fn move_to(&mut self, id: ProjectId, to: Place, at: Timestamp) -> Result<Needles, ShelfError> {
        self.write(|transaction| {
            revision(transaction, id)?;
            cut_off(transaction, id)?;
            add(transaction, id, Move { to, at })?;
            needles(transaction, id)
        })
    }

    /// Takes back the last move; where there is none, she stays where she is.
    pub fn move_back(&mut self, id: ProjectId) -> Result<Needles, ShelfError> {
        self.write(|transaction| {
            revision(transaction, id)?;
            let query = "SELECT max(number) FROM move WHERE project = ?1 AND state = ?2";
            turn(transaction, id, query, state::MADE, state::UNDONE)
        })
    }

    /// Makes the move again that was taken back last; where there is none, she stays where she is.
    pub fn move_again(&mut self, id: ProjectId) -> Result<Needles, ShelfError> {
        self.write(|transaction| {
            revision(transaction, id)?;
            let query = "SELECT min(number) FROM move WHERE project = ?1 AND state = ?2";
            turn(transaction, id, query, state::UNDONE, state::MADE)
        })
    }

    /// The moves that were not taken back, the first first; they tell the pace.
    pub fn moves(&self, id: ProjectId) -> Result<Vec<Move>, ShelfError> {
        self.read(|connection| {
            revision(connection, id)?;
            let mut query = connection.prepare_cached(
                "SELECT piece, time, row, stitch, at FROM move WHERE project = ?1 AND state = ?2 ORDER BY number",
            )?;
            let moves = query.query_map(params![id.number(), state::MADE], |row| {
                Ok(Move { to: place(row)?, at: Timestamp::from_millis(row.get(4)?) })
            })?;
            Ok(moves.collect::<Result<_, _>>()?)
        })
    }
}

/// Adds a move after all others of the project.
pub(crate) fn add(transaction: &Transaction<'_>, id: ProjectId, made: Move) -> Result<(), ShelfError> {
    let Move { to, at } = made;
    transaction
        .prepare_cached(
            "INSERT INTO move (project, number, piece, time, row, stitch, at, state)
             SELECT ?1, coalesce(max(number), 0) + 1, ?2, ?3, ?4, ?5, ?6, ?7 FROM move WHERE project = ?1",
        )?
        .execute(params![id.number(), to.piece, to.time, to.row, to.stitch, at.millis(), state::MADE])?;
    Ok(())
}

fn needles(connection: &Connection, id: ProjectId) -> Result<Needles, ShelfError> {
    let mut query = connection.prepare_cached(
        "SELECT piece, time, row, stitch, max(number) AS last FROM move
         WHERE project = ?1 AND state = ?2 GROUP BY piece ORDER BY last",
    )?;
    let places = query.query_map(params![id.number(), state::MADE], place)?;
    let places: Vec<Place> = places.collect::<Result<_, _>>()?;
    let redo = connection
        .prepare_cached("SELECT 1 FROM move WHERE project = ?1 AND state = ?2")?
        .exists(params![id.number(), state::UNDONE])?;
    Ok(Needles { undo: !places.is_empty(), places, redo })
}

fn place(row: &rusqlite::Row<'_>) -> rusqlite::Result<Place> {
    Ok(Place { piece: row.get(0)?, time: row.get(1)?, row: row.get(2)?, stitch: row.get(3)? })
}

/// Gives the move that a query finds another state, where it finds one.
fn turn(
    transaction: &Transaction<'_>,
    id: ProjectId,
    query: &str,
    from: i64,
    to: i64,
) -> Result<Needles, ShelfError> {
    let number: Option<Option<i64>> = transaction
        .prepare_cached(query)?
        .query_row(params![id.number(), from], |row| row.get(0))
        .optional()?;
    if let Some(number) = number.flatten() {
        transaction
            .prepare_cached("UPDATE move SET state = ?3 WHERE project = ?1 AND number = ?2")?
            .execute(params![id.number(), number, to])?;
    }
    needles(transaction, id)
}

/// Moves that were taken back can no longer be made again.
fn cut_off(transaction: &Transaction<'_>, id: ProjectId) -> Result<(), ShelfError> {
    transaction
        .prepare_cached("UPDATE move SET state = ?3 WHERE project = ?1 AND state = ?2")?
        .execute(params![id.number(), state::UNDONE, state::CUT])?;
    Ok(())
}
