//! The tables of the database, and how older ones become them.
//!
//! A migration that was once released is never edited; a new one is added to the end of the list.

use rusqlite::Connection;
use rusqlite_migration::{M, Migrations};

use crate::error::ShelfError;

const STEPS: &[M<'_>] =
    &[M::up(include_str!("schema/1-projects.sql")), M::up(include_str!("schema/2-moves.sql"))];

const MIGRATIONS: Migrations<'_> = Migrations::from_slice(STEPS);

/// The newest form that this program knows.
pub(crate) const KNOWN: i64 = STEPS.len() as i64;

/// The form of a database: how many migrations it has had, and 0 for an empty one.
pub(crate) fn form(connection: &Connection) -> rusqlite::Result<i64> {
    connection.pragma_query_value(None, "user_version", |row| row.get(0))
}

/// Whether a database has no tables yet.
pub(crate) fn is_empty(connection: &Connection) -> rusqlite::Result<bool> {
    connection.query_row("SELECT NOT EXISTS (SELECT 1 FROM sqlite_schema)", [], |row| row.get(0))
}

/// Brings the database to the newest form.
pub(crate) fn migrate(connection: &mut Connection) -> Result<(), ShelfError> {
    MIGRATIONS.to_latest(connection).map_err(|error| match error {
        rusqlite_migration::Error::RusqliteError { err, .. } => err.into(),
        other => ShelfError::Damaged(other.to_string()),
    })
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_migrations_can_be_run_one_after_the_other() {
        super::MIGRATIONS.validate().unwrap();
    }

    #[test]
    fn the_one_place_of_the_first_form_becomes_the_first_move() {
        let mut connection = rusqlite::Connection::open_in_memory().unwrap();
        super::MIGRATIONS.to_version(&mut connection, 1).unwrap();
        connection
            .execute_batch(
                "INSERT INTO project (id, title, revision, changed) VALUES (7, 'A mat', 0, 0);
                 INSERT INTO place (project, piece, row, stitch) VALUES (7, 1, 12, 3);",
            )
            .unwrap();
        super::migrate(&mut connection).unwrap();
        let query = "SELECT number, piece, time, row, stitch, state FROM move WHERE project = 7";
        let columns = |row: &rusqlite::Row<'_>| (0..6).map(|column| row.get(column)).collect();
        let moved: Vec<u32> = connection.query_row(query, [], columns).unwrap();
        assert_eq!(moved, [1, 1, 1, 12, 3, 1]);
    }
}
