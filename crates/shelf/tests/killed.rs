//! A program that is killed at any moment has lost nothing that the shelf had acknowledged.

#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod common;

use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Read};
use std::path::Path;
use std::process::{Command, Stdio};
use std::thread;
use std::time::Duration;

use shelf::{PageId, ProjectId, Revision, Shelf, Timestamp};

use common::{at, fingerprint, folder, open_at, png};

const ROUNDS: u32 = 200;

/// Hours between the rounds, so that some of them make a backup.
const HOURS: i64 = 5;

/// What was acknowledged in all rounds so far.
#[derive(Default)]
struct Acknowledged {
    project: Option<ProjectId>,
    states: BTreeMap<Revision, u64>,
    pages: BTreeMap<PageId, u32>,
    row: u32,
}

#[test]
fn everything_acknowledged_is_there_after_each_of_200_kills() {
    let folder = folder();
    let mut acknowledged = Acknowledged::default();
    for round in 0..ROUNDS {
        let now = at(i64::from(round) * HOURS * 3_600_000);
        let lines = killed(folder.path(), now, round);
        let before = acknowledged.states.len();
        for line in lines.lines() {
            acknowledged.note(line);
        }
        let shelf = open_at(folder.path(), now);
        acknowledged.check(&shelf, before);
    }
    let shelf = open_at(folder.path(), at(0));
    acknowledged.check(&shelf, 0);
    // The lines that are waited for tell of some 400.
    assert!(acknowledged.states.len() > 200, "only {} states in all", acknowledged.states.len());
}

/// Runs the busy program until it has written so many lines and some time more, and returns its whole lines.
fn killed(folder: &Path, now: Timestamp, round: u32) -> String {
    let mut busy = Command::new(env!("CARGO_BIN_EXE_busy"))
        .arg(folder)
        .arg(now.millis().to_string())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut output = BufReader::new(busy.stdout.take().unwrap());
    let mut lines = String::new();
    let (wanted, pause) = moment(round);
    for _ in 0..wanted {
        output.read_line(&mut lines).unwrap();
    }
    thread::sleep(pause);
    busy.kill().unwrap();
    let killed = busy.wait().unwrap();
    let mut complaints = String::new();
    output.read_to_string(&mut lines).unwrap();
    busy.stderr.take().unwrap().read_to_string(&mut complaints).unwrap();
    assert_eq!((killed.code(), complaints.as_str()), (None, ""));
    lines.truncate(lines.rfind('\n').map_or(0, |end| end + 1));
    lines
}

/// When a round ends: every fourth while the shelf is being opened, the others in the midst of the work.
fn moment(round: u32) -> (u32, Duration) {
    let random = round.wrapping_mul(2_654_435_761) >> 8;
    if round.is_multiple_of(4) {
        (0, Duration::from_micros(u64::from(random % 20_000)))
    } else {
        (1 + random % 12, Duration::from_micros(u64::from(random % 3_000)))
    }
}

impl Acknowledged {
    fn note(&mut self, line: &str) {
        let words: Vec<_> = line.split(' ').collect();
        let number = |index: usize| words[index].parse::<u32>().unwrap();
        match words[0] {
            "project" => self.project = Some(ProjectId::from_number(i64::from(number(1)))),
            "state" => {
                let revision = Revision::from_number(i64::from(number(1)));
                self.states.insert(revision, words[2].parse().unwrap());
            }
            "page" => drop(self.pages.insert(PageId::from_number(number(1)), number(2))),
            "row" => self.row = number(1),
            _ => panic!("{line}"),
        }
    }

    /// Finds everything but the first states, which were found before.
    fn check(&self, shelf: &Shelf, found: usize) {
        let Some(id) = self.project else { return };
        let stored = shelf.project(id).unwrap();
        for (revision, state) in self.states.iter().skip(found) {
            assert_eq!(fingerprint(&shelf.at(id, *revision).unwrap()), *state, "{revision:?}");
        }
        for (page, turn) in &self.pages {
            assert_eq!(shelf.page(id, *page).unwrap().bytes, png(&turn.to_le_bytes()));
        }
        // The newest may have been written without its acknowledgement being heard.
        assert!(Some(&stored.revision) >= self.states.keys().last());
        let rows: Vec<_> = shelf.moves(id).unwrap().into_iter().map(|made| made.to.row).collect();
        assert!(rows.len() >= self.row as usize);
        assert!(rows.iter().copied().eq(1..=rows.len() as u32));
    }
}
