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

use rusqlite::{Connection, Transaction, params};

use crate::change::{Change, apply_all};
use crate::content::{newest, replace};
use crate::error::ShelfError;
use crate::ids::{ProjectId, Revision, Timestamp};
use crate::project::{Project, check_line};
use crate::shelf::Shelf;
use crate::steps::{Line, Turn, apply_stored, kind, new_step, set_state, state, step_to_join};

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
    set_state(transaction, id, step, state)?;
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
            kind::REDONE => Turn::Undo.apply(connection, id, line.get(1)?, &mut project)?,
            other => return Err(ShelfError::Damaged(format!("the history has a line of kind {other}"))),
        }
    }
    Ok(project)
}

/// Goes back through the whole history of a project, so that damage is noticed that digests do not tell.
pub(crate) fn check(connection: &Connection, id: ProjectId) -> Result<(), ShelfError> {
    let (project, _) = newest(connection, id)?;
    go_back(connection, id, project, Revision::FIRST)?;
    Ok(())
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
