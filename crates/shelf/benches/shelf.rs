//! How long the shelf takes: `cargo bench -p shelf`.
//!
//! The shelf has 500 projects of 60 rows each; one of them has a history of 5,000 letters typed.

#![allow(clippy::unwrap_used, reason = "a measurement that cannot go on has failed")]

#[path = "../tests/common/mod.rs"]
mod common;

use std::path::Path;

use divan::{Bencher, black_box};
use shelf::{ProjectId, Revision, Shelf};

use common::{act, at, folder, open, project, text};

const PROJECTS: usize = 500;
const LETTERS: i64 = 5_000;

fn main() {
    divan::main();
}

fn sixty_rows() -> String {
    (1..=60).map(|row| format!("{row}th row.--K 2, * o, k 2 tog, p {row}; repeat from *, k 1.\n")).collect()
}

/// A folder with the projects, and the first of them.
fn full() -> (tempfile::TempDir, ProjectId) {
    let folder = folder();
    let mut shelf = open(folder.path());
    let ids: Vec<_> = (0..PROJECTS)
        .map(|number| shelf.create(&project(&format!("Mat {number}"), &sixty_rows()), at(0)).unwrap())
        .collect();
    for letter in 0..LETTERS {
        type_letter(&mut shelf, ids[0], letter * 100);
    }
    (folder, ids[0])
}

fn type_letter(shelf: &mut Shelf, id: ProjectId, millis: i64) {
    let stored = shelf.project(id).unwrap();
    let place = u32::try_from(stored.project.text.len() / 2).unwrap();
    shelf.change(id, stored.revision, act("w", "typing", millis), &[text(place, 0, "k")]).unwrap();
}

#[divan::bench]
fn list_of_500(bencher: Bencher<'_, '_>) {
    let (folder, _) = full();
    let shelf = open(folder.path());
    bencher.bench_local(|| shelf.list().unwrap());
}

#[divan::bench]
fn open_and_close_500(bencher: Bencher<'_, '_>) {
    let (folder, _) = full();
    drop(open(folder.path()));
    bencher.bench_local(|| open(folder.path()));
}

#[divan::bench]
fn open_and_close_500_after_a_kill(bencher: Bencher<'_, '_>) {
    let (folder, _) = full();
    drop(open(folder.path()));
    bencher.with_inputs(|| leave_as_if_killed(folder.path())).bench_local_values(|()| open(folder.path()));
}

/// The lock of a program that was killed has one byte.
fn leave_as_if_killed(folder: &Path) {
    std::fs::write(folder.join("shelf.lock"), "x").unwrap();
}

#[divan::bench]
fn read_a_project(bencher: Bencher<'_, '_>) {
    let (folder, id) = full();
    let shelf = open(folder.path());
    bencher.bench_local(|| shelf.project(id).unwrap());
}

#[divan::bench]
fn type_a_letter(bencher: Bencher<'_, '_>) {
    let (folder, id) = full();
    let mut shelf = open(folder.path());
    let mut now = LETTERS * 100;
    bencher.bench_local(|| {
        now += 100;
        type_letter(&mut shelf, id, now);
    });
}

#[divan::bench]
fn undo_and_redo_5000_letters(bencher: Bencher<'_, '_>) {
    let (folder, id) = full();
    let mut shelf = open(folder.path());
    bencher.bench_local(|| {
        shelf.undo(id, at(0)).unwrap();
        shelf.redo(id, at(0)).unwrap()
    });
}

#[divan::bench]
fn go_back_5000_letters(bencher: Bencher<'_, '_>) {
    let (folder, id) = full();
    let shelf = open(folder.path());
    bencher.bench_local(|| shelf.at(black_box(id), Revision::FIRST).unwrap());
}
