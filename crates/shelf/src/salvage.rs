//! What a damaged database still gives: each project that can be read whole, however the others fare.
//!
//! A project counts as whole where the digests of its parts say so. Its history comes with it where going back
//! through it leads from its newest state to the state of the backup; else the way from the one to the other becomes
//! a single step, which can be undone. A project that the backup does not have is put on the shelf as it is found.

use rusqlite::types::Value;
use rusqlite::{Connection, ErrorCode, Transaction, params, params_from_iter};

use crate::change::difference;
use crate::content::{insert, newest, replace};
use crate::error::ShelfError;
use crate::history::{Act, go_back, make};
use crate::ids::{ProjectId, Revision, Timestamp};
use crate::project::Project;

/// No shelf has as many projects as this; a damaged count might say so.
const MOST_PROJECTS: i64 = 100_000;

/// The table of a project's rows, to be read from the damaged database and added to the restored one.
struct Copied {
    read: &'static str,
    add: &'static str,
}

const STEPS: Copied = Copied {
    read: "SELECT project, number, label, state FROM step WHERE project = ?1",
    add: "INSERT INTO step (project, number, label, state) VALUES (?1, ?2, ?3, ?4)
          ON CONFLICT (project, number) DO UPDATE SET label = excluded.label, state = excluded.state",
};

const HISTORY: Copied = Copied {
    read: "SELECT project, revision, kind, step, window, at, forward, backward FROM history WHERE project = ?1",
    add: "INSERT OR IGNORE INTO history (project, revision, kind, step, window, at, forward, backward)
          VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
};

const LABELS: Copied = Copied {
    read: "SELECT project, revision, name, made FROM label WHERE project = ?1",
    add: "INSERT OR IGNORE INTO label (project, revision, name, made) VALUES (?1, ?2, ?3, ?4)",
};

const PAGES: Copied = Copied {
    read: "SELECT project, number, media, digest FROM page WHERE project = ?1",
    add: "INSERT OR IGNORE INTO page (project, number, media, digest) VALUES (?1, ?2, ?3, ?4)",
};

const MOVES: Copied = Copied {
    read: "SELECT project, number, piece, time, row, stitch, at, state FROM move WHERE project = ?1",
    add: "INSERT INTO move (project, number, piece, time, row, stitch, at, state) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)
          ON CONFLICT (project, number) DO UPDATE SET state = excluded.state",
};

const ENTRY: Copied = Copied {
    read: "SELECT id, changed, rows, doubts, removed FROM project WHERE id = ?1",
    add: "UPDATE project SET changed = ?2, rows = ?3, doubts = ?4, removed = ?5 WHERE id = ?1",
};

/// Copies what can be read of the damaged database; returns how many projects are newer by it.
pub(crate) fn all(
    damaged: &Connection,
    target: &Transaction<'_>,
    now: Timestamp,
) -> Result<usize, ShelfError> {
    let mut saved = 0;
    // Projects are looked up one by one: a walk over the table would end at the first page that is damaged.
    for number in 1..=last(damaged) {
        if project(damaged, target, ProjectId::from_number(number), now)? {
            saved += 1;
        }
    }
    Ok(saved)
}

/// The highest number of a project that the damaged database knows of.
fn last(damaged: &Connection) -> i64 {
    let count = |query: &str| damaged.query_row(query, [], |row| row.get::<_, Option<i64>>(0));
    let given = count("SELECT seq FROM sqlite_sequence WHERE name = 'project'").ok().flatten();
    let highest = count("SELECT max(id) FROM project").ok().flatten();
    given.max(highest).unwrap_or(0).min(MOST_PROJECTS)
}

/// Copies one project where it can be read; says whether it is newer by it.
fn project(
    damaged: &Connection,
    target: &Transaction<'_>,
    id: ProjectId,
    now: Timestamp,
) -> Result<bool, ShelfError> {
    let Ok((found, revision)) = newest(damaged, id) else { return Ok(false) };
    let Ok(found) = found.settled() else { return Ok(false) };
    let (before, is_new) = match newest(target, id) {
        Ok((_, there)) if there > revision => return Ok(false),
        Ok(before) => (before, false),
        Err(ShelfError::NoProject(_)) => {
            insert(target, Some(id), &found, now)?;
            ((found.clone(), Revision::FIRST), true)
        }
        Err(error) => return Err(error),
    };
    let has_more = before.1 < revision;
    copy(damaged, target, id, &PAGES)?;
    let has_history = has_more && bring_history(damaged, target, id, &before, (&found, revision), is_new)?;
    if has_more && !has_history && !is_new {
        let act = Act { window: "", label: "brought back from the damaged file", at: now };
        let changes = difference(&before.0, &found);
        make(target, id, before, act, &changes)?;
    }
    for copied in [&MOVES, &ENTRY] {
        copy(damaged, target, id, copied)?;
    }
    Ok(is_new || has_more)
}

/// Copies a project's history and newest state, all of it or nothing; says whether it could.
fn bring_history(
    damaged: &Connection,
    target: &Transaction<'_>,
    id: ProjectId,
    before: &(Project, Revision),
    (found, revision): (&Project, Revision),
    is_new: bool,
) -> Result<bool, ShelfError> {
    target.execute_batch("SAVEPOINT history")?;
    let mut whole = true;
    for copied in [&STEPS, &HISTORY, &LABELS] {
        whole = whole && copy(damaged, target, id, copied)?;
    }
    if whole {
        // The moment is set right with the entry.
        replace(target, id, &before.0, found, revision, Timestamp::from_millis(0))?;
        whole = match go_back(target, id, found.clone(), before.1) {
            Ok(reached) => is_new || reached == before.0,
            Err(_) => false,
        };
    }
    whole = whole && lines(target, id)? == revision.number();
    target.execute_batch(if whole { "RELEASE history" } else { "ROLLBACK TO history; RELEASE history" })?;
    Ok(whole)
}

/// How many lines the history of a project has.
fn lines(target: &Transaction<'_>, id: ProjectId) -> Result<i64, ShelfError> {
    let query = "SELECT count(*) FROM history WHERE project = ?1";
    Ok(target.query_row(query, params![id.number()], |row| row.get(0))?)
}

/// Copies the rows of a project; says whether all of them could be read and fitted.
fn copy(
    damaged: &Connection,
    target: &Transaction<'_>,
    id: ProjectId,
    copied: &Copied,
) -> Result<bool, ShelfError> {
    let Ok(rows) = read(damaged, id, copied.read) else { return Ok(false) };
    let mut add = target.prepare_cached(copied.add)?;
    for row in rows {
        match add.execute(params_from_iter(row)) {
            Err(error) if error.sqlite_error_code() == Some(ErrorCode::ConstraintViolation) => {
                return Ok(false);
            }
            added => added?,
        };
    }
    Ok(true)
}

fn read(damaged: &Connection, id: ProjectId, query: &str) -> rusqlite::Result<Vec<Vec<Value>>> {
    let mut query = damaged.prepare(query)?;
    let columns = query.column_count();
    let rows = query.query_map([id.number()], |row| (0..columns).map(|column| row.get(column)).collect())?;
    rows.collect()
}
