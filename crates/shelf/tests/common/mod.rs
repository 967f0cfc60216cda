//! What the tests of the shelf share.

#![allow(dead_code, reason = "each test file takes what it needs")]

use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::Path;

use shelf::{Act, Change, Project, ProjectId, Setting, Shelf, Splice, Stored, Timestamp};

/// A few words of a pattern, with letters of more than one byte among them.
pub const TEXT: &str = "Cast on 24 stitches.\n1st row.--K 2, \u{bd} yard, o, k 2 tog.\n";

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
    open_at(folder, at(0))
}

/// The shelf of a folder as it is opened at a moment, in which nothing may be amiss.
pub fn open_at(folder: &Path, now: Timestamp) -> Shelf {
    let (shelf, notices) = Shelf::open(folder, now).unwrap();
    assert_eq!(notices, []);
    shelf
}

/// A project of this title and text.
pub fn project(title: &str, text: &str) -> Project {
    Project { title: title.to_owned(), text: text.to_owned(), ..Project::default() }
}

/// Someone at a window who does something at a moment.
pub fn act(window: &'static str, label: &'static str, millis: i64) -> Act<'static> {
    Act { window, label, at: at(millis) }
}

/// A splice of the transcription.
pub fn text(at: u32, remove: u32, insert: &str) -> Change {
    Change::Text(Splice { at, remove, insert: insert.to_owned() })
}

/// Sets the notes of a project to what they should be.
pub fn set_notes(shelf: &mut Shelf, id: ProjectId, notes: &str) -> Stored {
    let revision = shelf.project(id).unwrap().revision;
    let changes = [Change::Set(Setting::Notes(notes.to_owned()))];
    shelf.change(id, revision, act("w", "notes", 0), &changes).unwrap()
}

/// The first bytes of a PNG and something after them.
pub fn png(rest: &[u8]) -> Vec<u8> {
    [b"\x89PNG\r\n\x1a\n", rest].concat()
}

/// Stands for a project as it is.
pub fn fingerprint(project: &Project) -> u64 {
    let mut hasher = DefaultHasher::new();
    format!("{project:?}").hash(&mut hasher);
    hasher.finish()
}
