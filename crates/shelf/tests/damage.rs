//! Whatever happens to the folder, nothing is destroyed and the message is clear.

#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod common;

use std::fs::{self, OpenOptions};
use std::os::unix::fs::{FileExt, PermissionsExt};
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use proptest::prelude::*;

use shelf::{Notice, Place, ProjectId, Revision, Shelf, ShelfError};

use common::{act, at, folder, open, open_at, png, project, set_notes};

const DAY: i64 = 86_400_000;

/// Text enough that a project fills pages of its own.
fn long_text(number: usize) -> String {
    format!("{number}th row.--Knit {number}, purl 2, over, narrow.\n").repeat(200)
}

/// A folder with ten projects, a backup of them as they were made, and a later note on each of them.
fn ten_projects() -> (tempfile::TempDir, Vec<ProjectId>) {
    let folder = folder();
    let mut shelf = open(folder.path());
    let ids: Vec<_> = (0..10)
        .map(|number| shelf.create(&project(&format!("Mat {number}"), &long_text(number)), at(0)).unwrap())
        .collect();
    drop(shelf);
    let mut shelf = open_at(folder.path(), at(2 * DAY));
    for id in &ids {
        set_notes(&mut shelf, *id, "after the backup");
    }
    (folder, ids)
}

fn names(folder: &Path) -> Vec<String> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let mut names: Vec<_> = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

fn database(folder: &Path) -> PathBuf {
    folder.join("shelf.sqlite")
}

fn overwrite(path: &Path, offset: u64, bytes: &[u8]) {
    OpenOptions::new().write(true).open(path).unwrap().write_all_at(bytes, offset).unwrap();
}

/// Where some words stand first in the database.
fn find(folder: &Path, words: &str) -> u64 {
    let bytes = fs::read(database(folder)).unwrap();
    let mut places = bytes.windows(words.len());
    u64::try_from(places.position(|place| place == words.as_bytes()).unwrap()).unwrap()
}

/// Writes over the start of some words in the database, past SQLite.
fn alter(folder: &Path, words: &str, by: &str) {
    overwrite(&database(folder), find(folder, words), by.as_bytes());
}

/// Opens the shelf three days on, which must bring one notice of damage, and leave the damaged file as it was.
fn recovered(folder: &Path) -> (Shelf, String) {
    let damaged = fs::read(database(folder)).unwrap();
    let (shelf, notices) = Shelf::open(folder, at(3 * DAY)).unwrap();
    let [Notice(notice)] = notices.as_slice() else { panic!("not one notice: {notices:?}") };
    assert!(notice.contains("was damaged"), "{notice}");
    let aside: Vec<_> = names(&folder.join("set-aside"));
    let kept = aside.iter().find(|name| name.ends_with(".sqlite")).unwrap();
    assert!(notice.contains(kept), "{notice}");
    assert_eq!(fs::read(folder.join("set-aside").join(kept)).unwrap(), damaged);
    (shelf, notice.clone())
}

/// How many of the projects are as they were made, and how many have their later note; there are no others.
fn counts(shelf: &Shelf, ids: &[ProjectId]) -> (usize, usize) {
    let mut counts = (0, 0);
    for (number, id) in ids.iter().enumerate() {
        let found = shelf.project(*id).unwrap().project;
        assert_eq!(found.text, long_text(number));
        match found.notes.as_str() {
            "" => counts.0 += 1,
            "after the backup" => counts.1 += 1,
            other => panic!("notes that nobody wrote: {other}"),
        }
    }
    counts
}

#[test]
fn a_file_that_is_no_database_gives_way_to_the_backup() {
    let (folder, ids) = ten_projects();
    fs::write(database(folder.path()), "a shopping list: eight-thread fleecy, two pounds").unwrap();
    let (shelf, notice) = recovered(folder.path());
    assert!(notice.contains("The backup of 2025-10-11-085320 was taken instead."), "{notice}");
    assert_eq!(counts(&shelf, &ids), (10, 0));
}

#[test]
fn an_empty_file_gives_way_to_the_backup() {
    let (folder, ids) = ten_projects();
    fs::write(database(folder.path()), "").unwrap();
    let (shelf, _) = recovered(folder.path());
    assert_eq!(counts(&shelf, &ids), (10, 0));
}

#[test]
fn a_file_that_is_gone_gives_way_to_the_backup() {
    let (folder, ids) = ten_projects();
    fs::remove_file(database(folder.path())).unwrap();
    let (shelf, notices) = Shelf::open(folder.path(), at(3 * DAY)).unwrap();
    assert_eq!(notices.len(), 1);
    assert_eq!(counts(&shelf, &ids), (10, 0));
}

#[test]
fn a_file_cut_short_anywhere_loses_no_project() {
    let (whole, ids) = ten_projects();
    let length = fs::metadata(database(whole.path())).unwrap().len();
    for tenth in 1..10 {
        let folder = copy_of(whole.path());
        let file = OpenOptions::new().write(true).open(database(folder.path())).unwrap();
        file.set_len(length * tenth / 10).unwrap();
        let (shelf, _) = recovered(folder.path());
        let (older, newer) = counts(&shelf, &ids);
        assert_eq!(older + newer, 10);
    }
}

#[test]
fn damage_in_any_page_loses_no_project_and_spares_those_that_it_does_not_touch() {
    let (whole, ids) = ten_projects();
    let pages = fs::metadata(database(whole.path())).unwrap().len() / 4_096;
    let mut brought_up_to_date = 0;
    for page in 0..pages {
        let folder = copy_of(whole.path());
        overwrite(&database(folder.path()), page * 4_096, &[0x5a; 4_096]);
        let (shelf, notices) = Shelf::open(folder.path(), at(3 * DAY)).unwrap();
        let (older, newer) = counts_or_damage(shelf, folder.path(), &ids);
        assert_eq!(older + newer, 10, "page {page}: {notices:?}");
        brought_up_to_date += newer;
    }
    // Most pages belong to one project, and the other nine come from the damaged file.
    assert!(
        brought_up_to_date >= usize::try_from(pages).unwrap() * 7,
        "{brought_up_to_date} of {pages} pages"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn bytes_written_over_anywhere_lose_no_project(
        from in 0.0..1.0,
        bytes in prop_oneof![
            proptest::collection::vec(any::<u8>(), 1..20),
            (any::<u8>(), 1..9_000usize).prop_map(|(byte, count)| vec![byte; count]),
        ],
        killed in any::<bool>(),
    ) {
        static WHOLE: OnceLock<(tempfile::TempDir, Vec<ProjectId>)> = OnceLock::new();
        let (whole, ids) = WHOLE.get_or_init(ten_projects);
        let folder = copy_of(whole.path());
        let length = fs::metadata(database(folder.path())).unwrap().len();
        let offset = (length as f64 * from) as u64;
        let room = usize::try_from(length - offset).unwrap().min(bytes.len());
        overwrite(&database(folder.path()), offset, &bytes[..room]);
        if killed {
            fs::write(folder.path().join("shelf.lock"), "x").unwrap();
        }
        match Shelf::open(folder.path(), at(3 * DAY)) {
            Ok((shelf, _)) => {
                let (older, newer) = counts_or_damage(shelf, folder.path(), ids);
                prop_assert_eq!(older + newer, 10);
            }
            // Four bytes in the head of the file say which form it has.
            Err(refused) => prop_assert!(matches!(refused, ShelfError::Newer { .. }), "{}", refused),
        }
    }
}

/// As [`counts`]; where damage shows only when a project is read, after another start that mends it.
fn counts_or_damage(shelf: Shelf, folder: &Path, ids: &[ProjectId]) -> (usize, usize) {
    let shown = ids.iter().any(|id| matches!(shelf.project(*id), Err(ShelfError::Damaged(_))));
    if !shown {
        return counts(&shelf, ids);
    }
    drop(shelf);
    let (shelf, _) = recovered(folder);
    counts(&shelf, ids)
}

#[test]
fn a_letter_altered_within_a_text_is_noticed_and_mended_at_the_next_start() {
    let (folder, ids) = ten_projects();
    alter(folder.path(), "7th row.--Knit 7", "8");
    let shelf = open_at(folder.path(), at(3 * DAY));
    let refused = shelf.project(ids[7]).unwrap_err();
    assert!(matches!(refused, ShelfError::Damaged(_)), "{refused}");
    assert!(refused.help().unwrap().contains("start the program again"));
    drop(shelf);
    let (shelf, notice) = recovered(folder.path());
    assert!(notice.ends_with("; 9 projects could be brought up to date from the damaged file."), "{notice}");
    assert_eq!(counts(&shelf, &ids), (1, 9));
}

#[test]
fn what_is_brought_up_to_date_keeps_its_history_its_names_and_its_place() {
    let (folder, ids) = ten_projects();
    let id = ids[0];
    let mut shelf = open_at(folder.path(), at(2 * DAY));
    let (page, _) = shelf.add_page(id, act("w", "page added", 5), "scan.png", &png(b"x")).unwrap();
    shelf.label(id, "with its page", at(6)).unwrap();
    shelf.move_to(id, Place { piece: 0, time: 1, row: 6, stitch: 0 }, at(7)).unwrap();
    shelf.move_to(id, Place { piece: 0, time: 1, row: 7, stitch: 0 }, at(7)).unwrap();
    shelf.move_back(id).unwrap();
    shelf.undo(id, at(8)).unwrap();
    shelf.put_away(ids[1], at(9)).unwrap();
    let new = shelf.create(&project("A new mat", "Cast on 5."), at(10)).unwrap();
    set_notes(&mut shelf, new, "never backed up");
    let everything = |shelf: &Shelf| {
        let states: Vec<_> =
            (0..=3).map(|number| shelf.at(id, Revision::from_number(number)).unwrap()).collect();
        let new = (shelf.project(new).unwrap(), shelf.at(new, Revision::FIRST).unwrap());
        let work = (shelf.needles(id).unwrap(), shelf.moves(id).unwrap(), shelf.page(id, page).unwrap());
        (states, shelf.project(id).unwrap(), shelf.labels(id).unwrap(), work, new, shelf.list().unwrap())
    };
    let before = everything(&shelf);
    drop(shelf);
    // Project 7 is altered, and all others come whole from the file that is damaged by that.
    alter(folder.path(), "7th row.--Knit 7", "8");
    fs::write(folder.path().join("shelf.lock"), "x").unwrap();
    let (shelf, notice) = recovered(folder.path());
    assert!(notice.ends_with("; 10 projects could be brought up to date from the damaged file."), "{notice}");
    let mut after = everything(&shelf);
    for (old, new) in before.5.iter().zip(&mut after.5) {
        // The altered one is that of the backup, which was changed last when it was made.
        if new.title == "Mat 7" {
            *new = old.clone();
        }
    }
    assert_eq!(after, before);
}

#[test]
fn a_history_that_is_damaged_gives_way_to_one_step_from_the_backup() {
    let (folder, ids) = ten_projects();
    let connection = rusqlite::Connection::open(database(folder.path())).unwrap();
    connection.execute("UPDATE history SET backward = '[' WHERE project = ?1", [ids[3].number()]).unwrap();
    drop(connection);
    let mut shelf = open_at(folder.path(), at(3 * DAY));
    assert!(matches!(shelf.undo(ids[3], at(0)), Err(ShelfError::Damaged(_))));
    drop(shelf);
    let (mut shelf, _) = recovered(folder.path());
    assert_eq!(counts(&shelf, &ids), (0, 10));
    let undo = |shelf: &Shelf, id| shelf.project(id).unwrap().undo.unwrap();
    assert_eq!(undo(&shelf, ids[2]), "notes");
    assert_eq!(undo(&shelf, ids[3]), "brought back from the damaged file");
    assert_eq!(shelf.undo(ids[3], at(0)).unwrap().project.notes, "");
    assert_eq!(shelf.redo(ids[3], at(0)).unwrap().project.notes, "after the backup");
    drop(shelf);
    open_at(folder.path(), at(3 * DAY));
}

#[test]
fn a_history_that_does_not_lead_to_the_backup_is_not_believed() {
    let (folder, ids) = ten_projects();
    let connection = rusqlite::Connection::open(database(folder.path())).unwrap();
    let wrong = r#"[{"do": "set", "field": "notes", "value": "nobody wrote this"}]"#;
    let update = "UPDATE history SET backward = ?2 WHERE project = ?1";
    connection.execute(update, rusqlite::params![ids[3].number(), wrong]).unwrap();
    drop(connection);
    alter(folder.path(), "7th row.--Knit 7", "8");
    fs::write(folder.path().join("shelf.lock"), "x").unwrap();
    let (mut shelf, _) = recovered(folder.path());
    assert_eq!(counts(&shelf, &ids), (1, 9));
    assert_eq!(shelf.undo(ids[3], at(0)).unwrap().project.notes, "");
}

#[test]
fn without_a_backup_what_can_be_read_is_kept_and_the_rest_lies_aside() {
    let folder = folder();
    let mut shelf = open(folder.path());
    for number in 0..10 {
        shelf.create(&project(&format!("Mat {number}"), &long_text(number)), at(0)).unwrap();
    }
    drop(shelf);
    let offset = find(folder.path(), "7th row.") / 4_096 * 4_096;
    overwrite(&database(folder.path()), offset, &[0x5a; 4_096]);
    fs::write(folder.path().join("shelf.lock"), "x").unwrap();
    let (shelf, notice) = recovered(folder.path());
    assert!(notice.contains("There was no whole backup; 9 projects"), "{notice}");
    assert_eq!(shelf.list().unwrap().len(), 9);
}

#[test]
fn a_backup_that_is_damaged_itself_is_passed_over_for_an_older_one() {
    let (folder, ids) = ten_projects();
    let backups = folder.path().join("backups");
    drop(open_at(folder.path(), at(4 * DAY)));
    let newest = names(&backups).pop().unwrap();
    overwrite(&backups.join(newest), 0, &[0x5a; 4_096]);
    fs::write(database(folder.path()), "nothing of use").unwrap();
    let (shelf, notice) = recovered(folder.path());
    assert!(notice.contains("The backup of 2025-10-11-085320 was taken"), "{notice}");
    assert_eq!(counts(&shelf, &ids), (10, 0));
}

#[test]
fn a_recovery_cut_short_is_ended_by_the_next_start() {
    let (folder, ids) = ten_projects();
    fs::rename(database(folder.path()), folder.path().join("restored.sqlite")).unwrap();
    let shelf = open_at(folder.path(), at(3 * DAY));
    assert_eq!(counts(&shelf, &ids), (0, 10));
}

#[test]
fn a_newer_form_is_refused_and_left_as_it_is() {
    let (folder, _) = ten_projects();
    let path = database(folder.path());
    let connection = rusqlite::Connection::open(&path).unwrap();
    connection.pragma_update(None, "user_version", 99).unwrap();
    drop(connection);
    let before = fs::read(&path).unwrap();
    let refused = Shelf::open(folder.path(), at(0)).unwrap_err();
    assert!(matches!(refused, ShelfError::Newer { found: 99, .. }), "{refused}");
    assert!(refused.help().unwrap().contains("newer version"));
    assert_eq!(fs::read(&path).unwrap(), before);
}

#[test]
fn a_form_that_there_is_not_is_damage() {
    for form in [0, -5] {
        let (folder, ids) = ten_projects();
        let connection = rusqlite::Connection::open(database(folder.path())).unwrap();
        connection.pragma_update(None, "user_version", form).unwrap();
        drop(connection);
        let (shelf, notice) = recovered(folder.path());
        assert!(notice.contains("its form is not told"), "{notice}");
        assert_eq!(counts(&shelf, &ids), (0, 10));
    }
}

#[test]
fn a_second_program_is_told_that_the_shelf_is_in_use() {
    let folder = folder();
    let first = open(folder.path());
    assert!(matches!(Shelf::open(folder.path(), at(0)), Err(ShelfError::InUse)));
    drop(first);
    open(folder.path());
}

#[test]
fn backups_are_made_once_a_day_and_seven_are_kept() {
    let folder = folder();
    let backups = folder.path().join("backups");
    let mut shelf = open(folder.path());
    assert_eq!(names(&backups), Vec::<String>::new());
    shelf.create(&project("A mat", "Cast on 4."), at(0)).unwrap();
    drop(shelf);
    for hours in (0..24 * 9).step_by(6) {
        drop(open_at(folder.path(), at(hours * 3_600_000)));
    }
    let kept = names(&backups);
    assert_eq!(kept.len(), 7);
    assert_eq!(
        (kept[0].as_str(), kept[6].as_str()),
        ("shelf-2025-10-11-085320.sqlite", "shelf-2025-10-17-085320.sqlite")
    );
}

#[test]
fn a_shelf_that_stays_open_for_days_has_a_backup_of_each() {
    let folder = folder();
    let mut shelf = open(folder.path());
    shelf.create(&project("A mat", "Cast on 4."), at(0)).unwrap();
    for hour in 0..72 {
        shelf.back_up(at(hour * 3_600_000)).unwrap();
    }
    let kept = names(&folder.path().join("backups"));
    assert_eq!(kept.len(), 4, "{kept:?}");
}

#[test]
fn a_folder_that_is_a_file_is_told_by_its_name() {
    let folder = folder();
    let path = folder.path().join("list.txt");
    fs::write(&path, "a list").unwrap();
    let refused = Shelf::open(&path, at(0)).unwrap_err();
    assert!(refused.to_string().contains("list.txt"), "{refused}");
    assert_eq!(fs::read_to_string(path).unwrap(), "a list");
}

/// Permissions do not bind an administrator, who gets no further here than to see that nothing is lost.
#[test]
fn a_folder_that_cannot_be_written_is_told_and_nothing_in_it_is_altered() {
    let (folder, ids) = ten_projects();
    let before = fs::read(database(folder.path())).unwrap();
    let protected = ["shelf.sqlite", "shelf.lock", ""].map(|name| folder.path().join(name));
    protect(&protected, true);
    let binds = fs::write(folder.path().join("a-trial"), "").is_err();
    let opened = Shelf::open(folder.path(), at(3 * DAY));
    protect(&protected, false);
    match opened {
        Err(refused) => {
            assert!(matches!(refused, ShelfError::ReadOnly), "{refused}");
            assert!(refused.help().unwrap().contains("allow writing"));
            assert_eq!(fs::read(database(folder.path())).unwrap(), before);
        }
        Ok((shelf, notices)) => {
            assert!(!binds && notices.is_empty(), "{notices:?}");
            assert_eq!(counts(&shelf, &ids), (0, 10));
        }
    }
}

#[test]
fn a_database_that_cannot_be_written_is_told() {
    let (folder, _) = ten_projects();
    let path = [database(folder.path())];
    protect(&path, true);
    let binds = OpenOptions::new().write(true).open(&path[0]).is_err();
    let opened = Shelf::open(folder.path(), at(3 * DAY));
    protect(&path, false);
    assert_eq!(binds, matches!(opened, Err(ShelfError::ReadOnly)), "{opened:?}");
}

fn protect(paths: &[PathBuf], readonly: bool) {
    for path in paths {
        let mut permissions = fs::metadata(path).unwrap().permissions();
        let mode = if readonly { permissions.mode() & !0o222 } else { permissions.mode() | 0o200 };
        permissions.set_mode(mode);
        fs::set_permissions(path, permissions).unwrap();
    }
}

/// A copy of a shelf's folder.
fn copy_of(whole: &Path) -> tempfile::TempDir {
    let folder = folder();
    fs::copy(database(whole), database(folder.path())).unwrap();
    fs::create_dir(folder.path().join("backups")).unwrap();
    for name in names(&whole.join("backups")) {
        fs::copy(whole.join("backups").join(&name), folder.path().join("backups").join(&name)).unwrap();
    }
    folder
}
