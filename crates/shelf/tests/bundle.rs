//! A bundle gives back the project it was made of, and a bad one is refused with a clear message.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod common;

use std::collections::BTreeMap;
use std::fs;
use std::io::{Cursor, Read, Write};
use std::path::Path;

use proptest::prelude::*;
use serde_json::{Value, json};
use shelf::{Change, Country, Gauge, Place, Project, Ruling, Shelf, ShelfError, Source};
use span::Span;
use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

use common::{TEXT, act, at, folder, open, png, project};

/// A project with something in every field, two pages of which the first was taken away again, and two places.
fn full_project(shelf: &mut Shelf) -> shelf::ProjectId {
    let ruling = Ruling {
        at: Span::new(8, 10),
        printed: "24".to_owned(),
        corrected: "25".to_owned(),
        why: "every row comes out with 25".to_owned(),
        taken: true,
    };
    let given = Project {
        glossary: "P means plain.".to_owned(),
        source: Source { title: "The Penny Sheaf".to_owned(), date: "1858".to_owned(), ..Source::default() },
        cast_on: Some(25),
        gauge: Some(Gauge { stitches: 9.5, rows: 13.1 }),
        yarn: "eight-thread fleecy".to_owned(),
        notes: "for the carriage".to_owned(),
        plan: "title = \"A rug\"".to_owned(),
        country: Country::Us,
        answers: BTreeMap::from([("P".to_owned(), "plain".to_owned())]),
        rulings: vec![ruling],
        ..project("A carriage rug", TEXT)
    };
    let id = shelf.create(&given, at(0)).unwrap();
    let (first, _) = shelf.add_page(id, act("w", "page added", 1), "back.png", &png(b"1")).unwrap();
    let jpeg = [0xff, 0xd8, 0xff, 0xe0, 1, 2, 3];
    let (_, stored) = shelf.add_page(id, act("w", "page added", 2), "scan 2.jpg", &jpeg).unwrap();
    shelf
        .change(id, stored.revision, act("w", "page removed", 3), &[Change::RemovePage { page: first }])
        .unwrap();
    shelf.move_to(id, Place { piece: 1, time: 2, row: 12, stitch: 3 }, at(4)).unwrap();
    shelf.move_to(id, Place { piece: 0, time: 1, row: 5, stitch: 0 }, at(5)).unwrap();
    id
}

#[test]
fn a_bundle_gives_back_the_project_on_another_shelf() {
    let (here, there) = (folder(), folder());
    let (mut shelf, mut other) = (open(here.path()), open(there.path()));
    let id = full_project(&mut shelf);
    let zip = shelf.export(id).unwrap();
    let new = other.import(&zip, at(9)).unwrap();
    let project = other.project(new).unwrap().project;
    assert_eq!(project, shelf.project(id).unwrap().project);
    assert_eq!(other.needles(new).unwrap(), shelf.needles(id).unwrap());
    let page = project.pages[0].page;
    assert_eq!(other.page(new, page).unwrap(), shelf.page(id, page).unwrap());
    assert_eq!(other.export(new).unwrap(), zip);
}

#[test]
fn the_sheet_of_a_bundle_has_the_form_that_is_written_down() {
    let schema = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../schema/project-1.schema.json");
    let schema: Value = serde_json::from_str(&fs::read_to_string(schema).unwrap()).unwrap();
    jsonschema::draft202012::meta::validate(&schema).unwrap();
    let form = jsonschema::draft202012::new(&schema).unwrap();
    let folder = folder();
    let mut shelf = open(folder.path());
    let full = full_project(&mut shelf);
    let empty = shelf.create(&Project::default(), at(0)).unwrap();
    for id in [full, empty] {
        let sheet = sheet(&files(&shelf.export(id).unwrap()));
        let faults: Vec<_> = form.iter_errors(&sheet).map(|fault| fault.to_string()).collect();
        assert_eq!(faults, Vec::<String>::new());
    }
    // Every field is required and no other is allowed, so that the form and the types cannot part ways.
    let whole = sheet(&files(&shelf.export(full).unwrap()));
    for field in whole["project"].as_object().unwrap().keys() {
        let mut less = whole.clone();
        less["project"].as_object_mut().unwrap().remove(field);
        assert!(!form.is_valid(&less), "{field} is not in the form");
    }
    let mut more = whole.clone();
    more["project"]["colour"] = json!("grey");
    assert!(!form.is_valid(&more));
}

/// The files of a zip in their order.
fn files(zip: &[u8]) -> Vec<(String, Vec<u8>)> {
    let mut zip = ZipArchive::new(Cursor::new(zip)).unwrap();
    let mut files = Vec::new();
    for index in 0..zip.len() {
        let mut file = zip.by_index(index).unwrap();
        let name = file.name().unwrap().into_owned();
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).unwrap();
        files.push((name, bytes));
    }
    files
}

fn zip_of(files: &[(String, Vec<u8>)]) -> Vec<u8> {
    writer_of(files).finish().unwrap().into_inner()
}

fn writer_of(files: &[(String, Vec<u8>)]) -> ZipWriter<Cursor<Vec<u8>>> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        zip.start_file(name.as_str(), SimpleFileOptions::default()).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip
}

fn sheet(files: &[(String, Vec<u8>)]) -> Value {
    let (_, sheet) = files.iter().find(|(name, _)| name == "project.json").unwrap();
    serde_json::from_slice(sheet).unwrap()
}

/// Imports a bundle after something was done to its files, which must be refused; returns the message.
fn refused(spoil: impl FnOnce(&mut Vec<(String, Vec<u8>)>)) -> String {
    refused_zip(|files| {
        spoil(files);
        zip_of(files)
    })
}

fn refused_zip(spoil: impl FnOnce(&mut Vec<(String, Vec<u8>)>) -> Vec<u8>) -> String {
    let folder = folder();
    let mut shelf = open(folder.path());
    let id = full_project(&mut shelf);
    let before = tree(folder.path());
    let mut files = files(&shelf.export(id).unwrap());
    let zip = spoil(&mut files);
    let error = shelf.import(&zip, at(0)).unwrap_err();
    assert_eq!(shelf.list().unwrap().len(), 1);
    assert_eq!(tree(folder.path()), before);
    error.to_string()
}

/// The names of all files in a folder and within it.
fn tree(folder: &Path) -> Vec<String> {
    let mut names = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        names.push(path.display().to_string());
        if path.is_dir() {
            names.extend(tree(&path));
        }
    }
    names.sort();
    names
}

/// Alters the sheet of a bundle.
fn with_sheet(alter: impl FnOnce(&mut Value)) -> impl FnOnce(&mut Vec<(String, Vec<u8>)>) {
    |files| {
        let mut altered = sheet(files);
        alter(&mut altered);
        let (_, bytes) = files.iter_mut().find(|(name, _)| name == "project.json").unwrap();
        *bytes = serde_json::to_vec(&altered).unwrap();
    }
}

#[test]
fn names_that_have_no_place_in_a_project_are_refused() {
    for name in [
        "../text.txt",
        "/etc/passwd",
        "pages/../../text.txt",
        "pages\\1.png",
        "C:\\text.txt",
        "pages/01.png",
        "pages/1.gif",
        "pages/-1.png",
        "pages/99999999999.png",
        "pages/7.png",
        "Text.txt",
        "readme.txt",
        "pages/1.png/",
    ] {
        let message = refused(|files| files.push((name.to_owned(), png(b"x"))));
        assert!(message.contains("has no place in a project"), "{name}: {message}");
    }
}

#[test]
fn a_link_is_refused() {
    let message = refused_zip(|files| {
        files.retain(|(name, _)| name != "glossary.txt");
        let mut zip = writer_of(files);
        zip.add_symlink("glossary.txt", "/etc/passwd", SimpleFileOptions::default()).unwrap();
        zip.finish().unwrap().into_inner()
    });
    assert_eq!(message, "the zip holds “glossary.txt”, which has no place in a project");
}

#[test]
fn a_name_that_stands_there_twice_is_refused() {
    let message = refused_zip(|files| {
        files.push(("tezt.txt".to_owned(), b"another text".to_vec()));
        let mut zip = zip_of(files);
        for at in 0..zip.len() - 8 {
            if &zip[at..at + 8] == b"tezt.txt" {
                zip[at..at + 8].copy_from_slice(b"text.txt");
            }
        }
        zip
    });
    assert!(message.contains("duplicate"), "{message}");
}

#[test]
fn a_file_that_is_missing_is_named() {
    for name in ["project.json", "text.txt", "glossary.txt", "pages/2.jpg"] {
        let message = refused(|files| files.retain(|(there, _)| there != name));
        assert_eq!(message, format!("the zip has no “{name}”"));
    }
}

#[test]
fn another_form_is_named() {
    let message = refused(with_sheet(|sheet| sheet["schema"] = json!("loopwright.project/2")));
    assert!(message.contains("loopwright.project/2"), "{message}");
}

#[test]
fn a_sheet_that_says_what_no_project_can_be_is_refused() {
    let page = json!({"page": 2, "name": "again.jpg", "media": "image/jpeg"});
    refused(with_sheet(|sheet| sheet["project"]["pages"].as_array_mut().unwrap().push(page)));
    refused(with_sheet(|sheet| sheet["project"]["rulings"][0]["at"] = json!([0, 5_000])));
    refused(with_sheet(|sheet| sheet["project"]["gauge"]["rows"] = json!(-1)));
    refused(with_sheet(|sheet| sheet["project"]["title"] = json!("x".repeat(20_000))));
    refused(|files| {
        files[3].0 = "pages/4294967295.jpg".to_owned();
        with_sheet(|sheet| sheet["project"]["pages"][0]["page"] = json!(4_294_967_295u32))(files);
    });
    let message = refused(with_sheet(|sheet| sheet["project"]["colour"] = json!("grey")));
    assert!(message.contains("unknown field `colour`"), "{message}");
    let deep = "[".repeat(100_000);
    refused(|files| files[0].1 = format!("{{\"schema\": {deep}").into_bytes());
}

#[test]
fn files_that_are_not_what_they_should_be_are_refused() {
    let message = refused(|files| files[1].1 = vec![0xff, 0xfe]);
    assert_eq!(message, "“text.txt” is not UTF-8 text");
    let message = refused(|files| files[3].1 = png(b"x"));
    assert!(message.starts_with("“pages/2.jpg” is not a picture"), "{message}");
    let message = refused(|files| files[3].1 = b"GIF89a".to_vec());
    assert_eq!(message, "this is neither a PNG nor a JPEG picture");
    let message = refused(|files| files[1].1 = vec![b'x'; shelf::TEXT_LIMIT + 1]);
    assert!(message.contains("longer than"), "{message}");
}

#[test]
fn bytes_that_are_no_zip_are_refused() {
    for bytes in [&b""[..], b"PK\x05\x06", b"not a zip at all", &[0; 5_000]] {
        let message = refused_zip(|_| bytes.to_vec());
        assert!(message.starts_with("this is not a zip file"), "{message}");
    }
}

#[test]
fn the_same_picture_lies_on_the_disk_once() {
    let folder = folder();
    let mut shelf = open(folder.path());
    let id = full_project(&mut shelf);
    let pictures = fs::read_dir(folder.path().join("pages")).unwrap().count();
    let zip = shelf.export(id).unwrap();
    shelf.import(&zip, at(0)).unwrap();
    assert_eq!(fs::read_dir(folder.path().join("pages")).unwrap().count(), pictures);
}

#[test]
fn a_page_that_is_taken_away_comes_back_with_its_picture() {
    let folder = folder();
    let mut shelf = open(folder.path());
    let id = full_project(&mut shelf);
    let before = shelf.undo(id, at(5)).unwrap();
    assert_eq!(before.project.pages.len(), 2);
    let first = before.project.pages[0].page;
    assert_eq!(shelf.page(id, first).unwrap().bytes, png(b"1"));
    let missing = Change::AddPage {
        index: 0,
        page: shelf::Page { page: shelf::PageId::from_number(7), ..before.project.pages[0].clone() },
    };
    let refused = shelf.change(id, before.revision, act("w", "page added", 6), &[missing]);
    assert!(matches!(refused, Err(ShelfError::NoPicture(_))));
}

#[test]
fn a_picture_that_was_altered_is_told_and_mended_by_adding_it_again() {
    let folder = folder();
    let mut shelf = open(folder.path());
    let id = full_project(&mut shelf);
    let page = shelf.project(id).unwrap().project.pages[0].clone();
    let whole = shelf.page(id, page.page).unwrap();
    for entry in fs::read_dir(folder.path().join("pages")).unwrap() {
        fs::write(entry.unwrap().path(), "spilt tea").unwrap();
    }
    assert!(matches!(shelf.page(id, page.page), Err(ShelfError::PictureDamaged(_))));
    assert!(matches!(shelf.export(id), Err(ShelfError::PictureDamaged(_))));
    shelf.add_page(id, act("w", "page added", 9), &page.name, &whole.bytes).unwrap();
    assert_eq!(shelf.page(id, page.page).unwrap(), whole);
}

#[test]
fn pictures_of_other_kinds_and_too_large_ones_are_refused() {
    let folder = folder();
    let mut shelf = open(folder.path());
    let id = shelf.create(&project("A mat", TEXT), at(0)).unwrap();
    let mut add = |bytes: &[u8]| shelf.add_page(id, act("w", "page added", 1), "scan", bytes).unwrap_err();
    assert!(matches!(add(b"<svg onload=alert(1)>"), ShelfError::NotAPicture));
    assert!(matches!(add(b""), ShelfError::NotAPicture));
    assert!(matches!(add(&png(&vec![0; shelf::PICTURE_LIMIT])), ShelfError::PictureTooLarge));
    assert_eq!(shelf.project(id).unwrap().project.pages, []);
}

prop_compose! {
    fn any_project()(
        title in ".{0,20}",
        text in "(.|\n){0,200}",
        glossary in ".{0,50}",
        (notes, plan, yarn) in (".{0,20}", ".{0,20}", ".{0,20}"),
        (date, identifier) in (".{0,9}", ".{0,9}"),
        cast_on in proptest::option::of(any::<u32>()),
        gauge in proptest::option::of((0.001..1_000.0, 0.001..1_000.0)),
        us in any::<bool>(),
        answers in proptest::collection::btree_map(".{0,5}", ".{0,5}", 0..4),
        rulings in proptest::collection::vec((0.0..1.0, 0.0..0.3, ".{0,5}", any::<bool>()), 0..5),
    ) -> Project {
        let place = |fraction: f64| {
            let wanted = (text.len() as f64 * fraction.min(1.0)) as usize;
            (0..=wanted).rev().find(|place| text.is_char_boundary(*place)).unwrap()
        };
        let mut found: Vec<Ruling> = rulings
            .into_iter()
            .map(|(from, long, corrected, taken): (f64, f64, String, bool)| {
                let at = Span::new(place(from), place(from + long));
                Ruling { at, printed: at.of(&text).to_owned(), corrected, why: String::new(), taken }
            })
            .collect();
        found.sort_by(|one, other| (one.at, &one.corrected).cmp(&(other.at, &other.corrected)));
        found.dedup_by(|one, other| (one.at, &one.corrected) == (other.at, &other.corrected));
        Project {
            title, glossary, notes, plan, yarn, cast_on, answers,
            source: Source { date, identifier, ..Source::default() },
            gauge: gauge.map(|(stitches, rows)| Gauge { stitches, rows }),
            country: if us { Country::Us } else { Country::Uk },
            rulings: found,
            text,
            pages: Vec::new(),
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn whatever_a_project_holds_comes_back(
        given in any_project(),
        pictures in proptest::collection::vec(proptest::collection::vec(any::<u8>(), 0..50), 0..4),
    ) {
        let folder = folder();
        let mut shelf = open(folder.path());
        let id = shelf.create(&given, at(0)).unwrap();
        for picture in &pictures {
            shelf.add_page(id, act("w", "page added", 1), "scan.png", &png(picture)).unwrap();
        }
        let zip = shelf.export(id).unwrap();
        let new = shelf.import(&zip, at(2)).unwrap();
        let (one, other) = (shelf.project(id).unwrap().project, shelf.project(new).unwrap().project);
        prop_assert_eq!(&Project { pages: Vec::new(), ..one.clone() }, &given);
        prop_assert_eq!(&one, &other);
        for page in &one.pages {
            prop_assert_eq!(shelf.page(id, page.page).unwrap(), shelf.page(new, page.page).unwrap());
        }
    }

    #[test]
    fn bytes_altered_anywhere_bring_no_panic(place in 0.0..1.0, byte in any::<u8>()) {
        let folder = folder();
        let mut shelf = open(folder.path());
        let id = full_project(&mut shelf);
        let mut zip = shelf.export(id).unwrap();
        let index = (zip.len() as f64 * place) as usize;
        zip[index] = byte;
        // Whether it is taken in depends on the byte; what was there stays in any case.
        let _ = shelf.import(&zip, at(0));
        prop_assert!(shelf.project(id).is_ok());
    }
}
