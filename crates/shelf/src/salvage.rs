//! What a damaged database still gives: each project that can be read whole, however the others fare.
//!
//! A project counts as whole where its digest says so. One that the backup has in an older state is brought up to
//! date by one more change, which can be undone; one that it does not have is put on the shelf anew.

use rusqlite::{Connection, Transaction, params};

use crate::change::difference;
use crate::content::{insert, newest};
use crate::error::ShelfError;
use crate::history::{Act, make};
use crate::ids::{ProjectId, Timestamp};
use crate::place::{place, set_place};

/// No shelf has as many projects as this; a damaged count might say so.
const MOST_PROJECTS: i64 = 100_000;

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

/// Copies one project where it can be read and is newer; says whether it did.
fn project(
    damaged: &Connection,
    target: &Transaction<'_>,
    id: ProjectId,
    now: Timestamp,
) -> Result<bool, ShelfError> {
    let Ok((found, revision)) = newest(damaged, id) else { return Ok(false) };
    let Ok(found) = found.settled() else { return Ok(false) };
    match newest(target, id) {
        Ok((_, there)) if there >= revision => return Ok(false),
        Ok(before) => {
            copy_pictures(damaged, target, id)?;
            let changes = difference(&before.0, &found);
            let act = Act { window: "", label: "brought back from the damaged file", at: now };
            make(target, id, before, act, &changes)?;
        }
        Err(ShelfError::NoProject(_)) => {
            insert(target, Some(id), &found, now)?;
            copy_pictures(damaged, target, id)?;
        }
        Err(error) => return Err(error),
    }
    copy_place(damaged, target, id)?;
    Ok(true)
}

/// Copies what is known of a project's pictures, as far as it can be read.
fn copy_pictures(damaged: &Connection, target: &Transaction<'_>, id: ProjectId) -> Result<(), ShelfError> {
    let Ok(mut query) = damaged.prepare("SELECT number, media, digest FROM page WHERE project = ?1") else {
        return Ok(());
    };
    let rows = query.query_map([id.number()], |row| {
        Ok((row.get::<_, u32>(0)?, row.get::<_, String>(1)?, row.get::<_, String>(2)?))
    })?;
    for (number, media, digest) in rows.map_while(Result::ok) {
        target.execute(
            "INSERT OR IGNORE INTO page (project, number, media, digest) VALUES (?1, ?2, ?3, ?4)",
            params![id.number(), number, media, digest],
        )?;
    }
    Ok(())
}

/// Copies the place at the needles, where it can be read.
fn copy_place(damaged: &Connection, target: &Transaction<'_>, id: ProjectId) -> Result<(), ShelfError> {
    match place(damaged, id) {
        Ok(Some(place)) => set_place(target, id, place),
        _ => Ok(()),
    }
}
