//! A program for the test of killing: works on a shelf without a pause and says on its output what was acknowledged.
//!
//! `busy FOLDER MOMENT` opens the shelf, makes a project where there is none, and goes on until it is killed. Each line
//! says something that must be found afterwards, and is written only after the shelf has acknowledged it.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

#[path = "../common/mod.rs"]
mod common;

use std::io::Write;
use std::path::PathBuf;

use shelf::{Act, Change, Place, ProjectId, Setting, Shelf, Splice, Timestamp};

use common::{fingerprint, png, project};

fn main() {
    let mut arguments = std::env::args_os().skip(1);
    let folder = PathBuf::from(arguments.next().unwrap());
    let now: i64 = arguments.next().unwrap().to_str().unwrap().parse().unwrap();
    let now = Timestamp::from_millis(now);
    let (mut shelf, notices) = Shelf::open(&folder, now).unwrap();
    assert_eq!(notices, []);
    let id = match shelf.list().unwrap().first() {
        Some(entry) => entry.id,
        None => shelf.create(&project("A mat", &"knit 1, over, narrow. ".repeat(500)), now).unwrap(),
    };
    say(&format!("project {}", id.number()));
    for turn in 0.. {
        let line = work(&mut shelf, id, now, turn);
        say(&line);
    }
}

fn say(line: &str) {
    let mut output = std::io::stdout().lock();
    writeln!(output, "{line}").unwrap();
    output.flush().unwrap();
}

/// Does something and tells what was acknowledged.
fn work(shelf: &mut Shelf, id: ProjectId, at: Timestamp, turn: u32) -> String {
    let act = Act { window: "busy", label: "typing", at };
    let stored = match turn % 8 {
        0 => {
            let row = shelf.needles(id).unwrap().places.last().map_or(1, |place| place.row + 1);
            shelf.move_to(id, Place { piece: 0, time: 1, row, stitch: turn }, at).unwrap();
            return format!("row {row}");
        }
        1 => {
            let picture = png(&turn.to_le_bytes());
            let (page, _) = shelf.add_page(id, act, "scan.png", &picture).unwrap();
            return format!("page {} {turn}", page.number());
        }
        2 => shelf.undo(id, at).unwrap(),
        3 => shelf.redo(id, at).unwrap(),
        _ => {
            let stored = shelf.project(id).unwrap();
            let place = u32::try_from(stored.project.text.len()).unwrap() / 2;
            let typed = Change::Text(Splice { at: place, remove: turn % 3, insert: format!("row {turn} ") });
            let changes = [typed, Change::Set(Setting::Notes(format!("turn {turn}")))];
            shelf.change(id, stored.revision, act, &changes).unwrap()
        }
    };
    format!("state {} {}", stored.revision.number(), fingerprint(&stored.project))
}
