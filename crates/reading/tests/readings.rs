//! Checked readings of the project's own patterns, read and compared stitch by stitch.
//!
//! `passing.txt` names those that come out exactly; one of them that no longer does fails the test. With
//! `LOOPWRIGHT_REWRITE=1` the list is written anew, for a person to read the difference.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use loops::{Op, Stitch, parse_tokens};
use notation::Lexicon;
use reading::{Options, Reader};

fn project() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn files() -> Vec<PathBuf> {
    let folders = ["fixtures/reading", "fixtures/clean", "demo"].map(|folder| project().join(folder));
    let entries =
        folders.iter().flat_map(|folder| std::fs::read_dir(folder).expect("the folder is in the project"));
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.expect("a readable entry").path()).collect();
    files.retain(|file| file.extension().is_some_and(|extension| extension == "toml"));
    files.sort();
    files
}

/// Slips are compared without regard to kind, as the format of checked readings says.
fn alike(a: &[Stitch], b: &[Stitch]) -> bool {
    let kind = |op: Op| if op.is_slip() && op != Op::SlYo { Op::Slp } else { op };
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| kind(a.op) == kind(b.op))
}

fn reads_exactly(lexicon: &Lexicon, file: &Path) -> bool {
    let gold: toml::Table =
        toml::from_str(&std::fs::read_to_string(file).expect("a file")).expect("a checked reading");
    let text = |key: &str| gold.get(key).and_then(toml::Value::as_str).unwrap_or("").to_owned();
    let open = gold.contains_key("multiple") || gold.contains_key("cast_on_chosen");
    let cast_on = gold.get("cast_on").and_then(toml::Value::as_integer).filter(|_| open);
    let options =
        Options { cast_on: cast_on.and_then(|count| u32::try_from(count).ok()), ..Options::default() };
    let reader = Reader::for_text(lexicon, &text("glossary"), &text("text")).expect("whole data files");
    let reading = reader.read(&text("text"), &options);
    let rows = gold["rows"].as_array().expect("rows");
    let ops = |row: &toml::Value| parse_tokens(row["ops"].as_str().expect("ops")).expect("known operations");
    reading.pieces.iter().any(|piece| {
        piece.worked.rows.len() == rows.len()
            && piece.worked.rows.iter().zip(rows).all(|(row, gold)| alike(&row.ops, &ops(gold)))
    })
}

#[test]
fn patterns_that_read_exactly_still_do() {
    let lexicon = Lexicon::builtin().expect("whole senses");
    let name = |file: &Path| file.file_stem().expect("a name").to_string_lossy().into_owned();
    let passing: BTreeSet<String> =
        files().iter().filter(|file| reads_exactly(&lexicon, file)).map(|file| name(file)).collect();
    let list = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/passing.txt");
    if std::env::var_os("LOOPWRIGHT_REWRITE").is_some() {
        let text: String = passing.iter().map(|name| format!("{name}\n")).collect();
        std::fs::write(&list, text).expect("the list can be written");
    }
    let known: BTreeSet<String> =
        std::fs::read_to_string(&list).expect("the list").lines().map(str::to_owned).collect();
    let lost: Vec<&String> = known.difference(&passing).collect();
    println!("{} of {} patterns read exactly", passing.len(), files().len());
    assert!(lost.is_empty(), "no longer read exactly: {lost:?}");
    assert!(passing.len() >= 28, "the list has shrunk");
}

#[test]
fn what_is_not_understood_is_said_even_at_the_end() {
    let reader = Reader::new().expect("whole data files");
    let cases = [
        ("* k 1, repeat from * 4000000000 times.", vec!["repeat from * 4000000000 times"]),
        ("* k 1, repeat from * to the end, zigzag 3 sideways.", vec!["zigzag 3 sideways"]),
        ("* k 1, repeat from * to the end. This makes a pretty stripe.", vec![]),
    ];
    for (row, expected) in cases {
        let text = format!("Cast on 10 stitches. 1st row: {row}");
        let reading = reader.read(&text, &Options::default());
        let unread: Vec<&str> = reading.unread.iter().map(|span| span.of(&text)).collect();
        assert_eq!(unread, expected, "{text}");
    }
}
