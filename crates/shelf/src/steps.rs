//! The steps of undo and redo, and the lines of the history that make them up.
//!
//! A step is what undo takes back in one go: one line of the history, or the lines of one who typed without a pause.

use rusqlite::{Connection, OptionalExtension, Transaction, params};

use crate::change::{Change, apply_all};
use crate::error::ShelfError;
use crate::history::Act;
use crate::ids::{ProjectId, Revision, Timestamp};
use crate::project::Project;

/// Typing that goes on within so many milliseconds is undone in one go.
const TYPING_PAUSE: i64 = 1_000;

/// What a line of history records; the numbers stand in the database.
pub(crate) mod kind {
    pub(crate) const MADE: i64 = 1;
    pub(crate) const UNDONE: i64 = 2;
    pub(crate) const REDONE: i64 = 3;
}

/// What became of a step; the numbers stand in the database.
pub(crate) mod state {
    pub(crate) const MADE: i64 = 1;
    pub(crate) const UNDONE: i64 = 2;
    pub(crate) const CUT: i64 = 3;
}

/// The two ways along the steps.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Turn {
    Undo,
    Redo,
}

impl Turn {
    /// The step that comes next on the way, and its label.
    pub(crate) fn step(
        self,
        connection: &Connection,
        id: ProjectId,
    ) -> Result<Option<(i64, String)>, ShelfError> {
        let (query, state) = match self {
            Turn::Undo => (
                "SELECT number, label FROM step WHERE project = ?1 AND state = ?2 ORDER BY number DESC LIMIT 1",
                state::MADE,
            ),
            Turn::Redo => (
                "SELECT number, label FROM step WHERE project = ?1 AND state = ?2 ORDER BY number LIMIT 1",
                state::UNDONE,
            ),
        };
        let mut query = connection.prepare_cached(query)?;
        Ok(query.query_row(params![id.number(), state], |row| Ok((row.get(0)?, row.get(1)?))).optional()?)
    }

    /// Takes back the changes of a step, or makes them again.
    pub(crate) fn apply(
        self,
        connection: &Connection,
        id: ProjectId,
        step: i64,
        project: &mut Project,
    ) -> Result<(), ShelfError> {
        let mut query = connection.prepare_cached(match self {
            Turn::Undo => {
                "SELECT backward FROM history WHERE project = ?1 AND step = ?2 AND kind = ?3 ORDER BY revision DESC"
            }
            Turn::Redo => {
                "SELECT forward FROM history WHERE project = ?1 AND step = ?2 AND kind = ?3 ORDER BY revision"
            }
        })?;
        let mut lines = query.query(params![id.number(), step, kind::MADE])?;
        while let Some(line) = lines.next()? {
            apply_stored(project, &line.get::<_, String>(0)?)?;
        }
        Ok(())
    }
}

/// A line that is to be added to the history.
pub(crate) struct Line<'a> {
    pub(crate) kind: i64,
    pub(crate) step: i64,
    pub(crate) window: Option<&'a str>,
    pub(crate) forward: Option<String>,
    pub(crate) backward: Option<String>,
}

impl Line<'_> {
    pub(crate) fn add(
        &self,
        transaction: &Transaction<'_>,
        id: ProjectId,
        after: Revision,
        at: Timestamp,
    ) -> Result<Revision, ShelfError> {
        let revision = after.next();
        transaction
            .prepare_cached(
                "INSERT INTO history (project, revision, kind, step, window, at, forward, backward)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
            )?
            .execute(params![
                id.number(),
                revision.number(),
                self.kind,
                self.step,
                self.window,
                at.millis(),
                self.forward,
                self.backward
            ])?;
        Ok(revision)
    }
}

/// Makes changes that were recorded; where they do not fit, the record is damaged.
pub(crate) fn apply_stored(project: &mut Project, changes: &str) -> Result<(), ShelfError> {
    let changes: Vec<Change> = serde_json::from_str(changes)?;
    apply_all(project, &changes).map_err(|error| ShelfError::Damaged(error.to_string()))?;
    Ok(())
}

/// The step that the changes go on with: typing of the same window at the same place, without a pause.
pub(crate) fn step_to_join(
    transaction: &Transaction<'_>,
    id: ProjectId,
    newest: Revision,
    act: Act<'_>,
    changes: &[Change],
) -> Result<Option<i64>, ShelfError> {
    let [change] = changes else { return Ok(None) };
    let mut query = transaction.prepare_cached(
        "SELECT number, forward FROM history JOIN step ON step.project = history.project AND number = step
         WHERE history.project = ?1 AND revision = ?2 AND kind = ?3 AND window = ?4 AND label = ?5
             AND at BETWEEN ?6 AND ?7",
    )?;
    let earliest = act.at.millis().saturating_sub(TYPING_PAUSE);
    let values =
        params![id.number(), newest.number(), kind::MADE, act.window, act.label, earliest, act.at.millis()];
    let last =
        query.query_row(values, |row| Ok((row.get::<_, i64>(0)?, row.get::<_, String>(1)?))).optional()?;
    let Some((step, forward)) = last else { return Ok(None) };
    let before: Vec<Change> = serde_json::from_str(&forward)?;
    let goes_on = matches!(before.as_slice(), [before] if change.adjoins(before));
    Ok(goes_on.then_some(step))
}

/// Opens a new step; steps that were undone are cut off from redo.
pub(crate) fn new_step(transaction: &Transaction<'_>, id: ProjectId, label: &str) -> Result<i64, ShelfError> {
    transaction
        .prepare_cached("UPDATE step SET state = ?3 WHERE project = ?1 AND state = ?2")?
        .execute(params![id.number(), state::UNDONE, state::CUT])?;
    let number = transaction
        .prepare_cached(
            "INSERT INTO step (project, number, label, state)
             SELECT ?1, coalesce(max(number), 0) + 1, ?2, ?3 FROM step WHERE project = ?1 RETURNING number",
        )?
        .query_row(params![id.number(), label, state::MADE], |row| row.get(0))?;
    Ok(number)
}

/// Notes what became of a step.
pub(crate) fn set_state(
    transaction: &Transaction<'_>,
    id: ProjectId,
    step: i64,
    state: i64,
) -> Result<(), ShelfError> {
    transaction
        .prepare_cached("UPDATE step SET state = ?3 WHERE project = ?1 AND number = ?2")?
        .execute(params![id.number(), step, state])?;
    Ok(())
}
