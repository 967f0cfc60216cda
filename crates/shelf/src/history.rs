//! Changes, undo and redo, and the states a project has been in.
//!
//! The history only grows: an undo is one more line in it, and what a new change cuts off from redo stays in it.
//!
//! ```text
//! revision   1      2      3      4      5      6
//! history    do A   do B   undo B undo A redo A do C
//! made       A      A B    A      -      A      A C
//! undone     -      -      B      B A    B      -       B is cut off, yet at revision 2 it is found
//! ```

use rusqlite::{Connection, OptionalExtension, Transaction, params};

use crate::change::{Change, apply_all};
use crate::content::{newest, replace, revision};
use crate::error::ShelfError;
use crate::ids::{ProjectId, Revision, Timestamp};
use crate::project::{Project, check_line};
use crate::shelf::Shelf;

/// Typing that goes on within so many milliseconds is undone in one go.
const TYPING_PAUSE: i64 = 1_000;

/// What a line of history records; the numbers stand in the database.
mod kind {
    pub(super) const MADE: i64 = 1;
    pub(super) const UNDONE: i64 = 2;
    pub(super) const REDONE: i64 = 3;
}

/// What became of a step; the numbers stand in the database.
mod state {
    pub(super) const MADE: i64 = 1;
    pub(super) const UNDONE: i64 = 2;
    pub(super) const CUT: i64 = 3;
}

/// A project as it stands on the shelf.
#[derive(Clone, Debug, PartialEq)]
pub struct Stored {
    /// What it holds.
    pub project: Project,
    /// Its newest revision.
    pub revision: Revision,
    /// What undo would take back.
    pub undo: Option<String>,
    /// What redo would make again.
    pub redo: Option<String>,
}

/// Who changes something, what it is called, and when.
#[derive(Clone, Copy, Debug)]
pub struct Act<'a> {
    /// The window it was done in.
    pub window: &'a str,
    /// What undo calls it.
    pub label: &'a str,
    /// When.
    pub at: Timestamp,
}

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
    /// A project as it stands now.
    pub fn project(&self, id: ProjectId) -> Result<Stored, ShelfError> {
        self.read(|connection| {
            let (project, revision) = newest(connection, id)?;
            stored(connection, id, project, revision)
        })
    }

    /// Makes changes, all of them or none, and returns the project with them.
    ///
    /// `base` is the revision they were made for; where it is not the newest they are refused as
    /// [`ShelfError::Stale`]. One splice that goes on where the last one of the same window and label stopped,
    /// within a second, is undone together with it.
    pub fn change(
        &mut self,
        id: ProjectId,
        base: Revision,
        act: Act<'_>,
        changes: &[Change],
    ) -> Result<Stored, ShelfError> {
        check_line(act.window)?;
        check_line(act.label)?;
        self.write(|transaction| {
            let (before, revision) = newest(transaction, id)?;
            if base != revision {
                return Err(ShelfError::Stale { newest: revision });
            }
            if changes.is_empty() {
                return stored(transaction, id, before, revision);
            }
            check_pictures(transaction, id, changes)?;
            make(transaction, id, (before, revision), act, changes)
        })
    }

    /// Takes back the last step that was made; where there is none, the project stays as it is.
    pub fn undo(&mut self, id: ProjectId, at: Timestamp) -> Result<Stored, ShelfError> {
        self.write(|transaction| turn(transaction, id, at, Turn::Undo))
    }

    /// Makes the step again that was undone last; where there is none, the project stays as it is.
    pub fn redo(&mut self, id: ProjectId, at: Timestamp) -> Result<Stored, ShelfError> {
        self.write(|transaction| turn(transaction, id, at, Turn::Redo))
    }

    /// The project as it was at a revision.
    pub fn at(&self, id: ProjectId, revision: Revision) -> Result<Project, ShelfError> {
        self.read(|connection| {
            let (project, newest) = newest(connection, id)?;
            if revision < Revision::FIRST || revision > newest {
                return Err(ShelfError::NoRevision(revision));
            }
            go_back(connection, id, project, revision)
        })
    }

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

/// Makes changes of a state that is the newest, and writes them into the history.
pub(crate) fn make(
    transaction: &Transaction<'_>,
    id: ProjectId,
    (before, revision): (Project, Revision),
    act: Act<'_>,
    changes: &[Change],
) -> Result<Stored, ShelfError> {
    let mut after = before.clone();
    let inverse = apply_all(&mut after, changes)?;
    let step = match step_to_join(transaction, id, revision, act, changes)? {
        Some(step) => step,
        None => new_step(transaction, id, act.label)?,
    };
    let line = Line {
        kind: kind::MADE,
        step,
        window: Some(act.window),
        forward: Some(serde_json::to_string(changes)?),
        backward: Some(serde_json::to_string(&inverse)?),
    };
    let revision = line.add(transaction, id, revision, act.at)?;
    replace(transaction, id, &before, &after, revision, act.at)?;
    stored(transaction, id, after, revision)
}

/// Undoes or redoes one step, where there is one.
fn turn(
    transaction: &Transaction<'_>,
    id: ProjectId,
    at: Timestamp,
    turn: Turn,
) -> Result<Stored, ShelfError> {
    let (before, revision) = newest(transaction, id)?;
    let Some((step, _)) = turn.step(transaction, id)? else {
        return stored(transaction, id, before, revision);
    };
    let mut after = before.clone();
    turn.apply(transaction, id, step, &mut after)?;
    let (kind, state) = match turn {
        Turn::Undo => (kind::UNDONE, state::UNDONE),
        Turn::Redo => (kind::REDONE, state::MADE),
    };
    transaction
        .prepare_cached("UPDATE step SET state = ?3 WHERE project = ?1 AND number = ?2")?
        .execute(params![id.number(), step, state])?;
    let line = Line { kind, step, window: None, forward: None, backward: None };
    let revision = line.add(transaction, id, revision, at)?;
    replace(transaction, id, &before, &after, revision, at)?;
    stored(transaction, id, after, revision)
}

/// Takes back everything that came after a revision.
pub(crate) fn go_back(
    connection: &Connection,
    id: ProjectId,
    mut project: Project,
    revision: Revision,
) -> Result<Project, ShelfError> {
    let mut query = connection.prepare_cached(
        "SELECT kind, step, backward FROM history WHERE project = ?1 AND revision > ?2 ORDER BY revision DESC",
    )?;
    let mut lines = query.query(params![id.number(), revision.number()])?;
    while let Some(line) = lines.next()? {
        match line.get(0)? {
            kind::MADE => apply_stored(&mut project, &line.get::<_, String>(2)?)?,
            kind::UNDONE => Turn::Redo.apply(connection, id, line.get(1)?, &mut project)?,
            _ => Turn::Undo.apply(connection, id, line.get(1)?, &mut project)?,
        }
    }
    Ok(project)
}

/// The two ways along the steps.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Turn {
    Undo,
    Redo,
}

impl Turn {
    /// The step that comes next on the way, and its label.
    fn step(self, connection: &Connection, id: ProjectId) -> Result<Option<(i64, String)>, ShelfError> {
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
    fn apply(
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

/// Goes back through the whole history of a project, so that damage is noticed that digests do not tell.
pub(crate) fn check(connection: &Connection, id: ProjectId) -> Result<(), ShelfError> {
    let (project, _) = newest(connection, id)?;
    go_back(connection, id, project, Revision::FIRST)?;
    Ok(())
}

/// A line that is to be added to the history.
struct Line<'a> {
    kind: i64,
    step: i64,
    window: Option<&'a str>,
    forward: Option<String>,
    backward: Option<String>,
}

impl Line<'_> {
    fn add(
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
fn apply_stored(project: &mut Project, changes: &str) -> Result<(), ShelfError> {
    let changes: Vec<Change> = serde_json::from_str(changes)?;
    apply_all(project, &changes).map_err(|error| ShelfError::Damaged(error.to_string()))?;
    Ok(())
}

/// The step that the changes go on with: typing of the same window at the same place, without a pause.
fn step_to_join(
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
fn new_step(transaction: &Transaction<'_>, id: ProjectId, label: &str) -> Result<i64, ShelfError> {
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

/// A page can only be put back where its picture is kept.
fn check_pictures(
    transaction: &Transaction<'_>,
    id: ProjectId,
    changes: &[Change],
) -> Result<(), ShelfError> {
    let mut query =
        transaction.prepare_cached("SELECT 1 FROM page WHERE project = ?1 AND number = ?2 AND media = ?3")?;
    for change in changes {
        if let Change::AddPage { page, .. } = change
            && !query.exists(params![id.number(), page.page.number(), page.media.name()])?
        {
            return Err(ShelfError::NoPicture(page.page));
        }
    }
    Ok(())
}

/// A state together with what undo and redo would do.
fn stored(
    connection: &Connection,
    id: ProjectId,
    project: Project,
    revision: Revision,
) -> Result<Stored, ShelfError> {
    let label = |turn: Turn| Ok::<_, ShelfError>(turn.step(connection, id)?.map(|(_, label)| label));
    Ok(Stored { project, revision, undo: label(Turn::Undo)?, redo: label(Turn::Redo)? })
}
