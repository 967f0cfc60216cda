//! What the tests of the shelf share.

use std::path::Path;

use shelf::{Shelf, Timestamp};

/// A folder that goes away with the test.
pub fn folder() -> tempfile::TempDir {
    tempfile::tempdir().unwrap()
}

/// So many milliseconds into the tests.
pub fn at(millis: i64) -> Timestamp {
    Timestamp::from_millis(1_760_000_000_000 + millis)
}

/// The shelf of a folder, in which nothing may be amiss.
pub fn open(folder: &Path) -> Shelf {
    let (shelf, notices) = Shelf::open(folder, at(0)).unwrap();
    assert_eq!(notices, []);
    shelf
}
