//! Mends every fixture and compares with what its file says.
//!
//! A misprint counts as found if the corrected reading has the stitches of the text with the words put right as its file
//! says; how the reader reads that text is for its own tests. `tests/data/mended.txt` lists the misprints that are found
//! and how; a fixture that falls behind its line fails, one that is ahead of it is told, so that the line can be brought
//! up. A clean text that is read as its file says must bring no correction that is sure.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use loops::{Op, Stitch, parse_tokens};
use mending::{Mended, Mending, Orders, mend};
use notation::Lexicon;
use reading::{Options, Reader, Reading};
use serde::Deserialize;

#[derive(Deserialize)]
struct Fixture {
    text: String,
    glossary: Option<String>,
    cast_on: Option<u32>,
    multiple: Option<toml::Value>,
    rows: Vec<Row>,
    #[serde(default)]
    emendations: Vec<Emended>,
}

#[derive(Deserialize)]
struct Row {
    ops: String,
}

#[derive(Deserialize)]
struct Emended {
    printed: String,
    corrected: String,
}

/// How well a misprint was found, the best last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Standing {
    Missed,
    Offered,
    Doubted,
    Sure,
}

fn fixtures(folder: &str) -> Vec<(String, Fixture)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures").join(folder);
    let mut files: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let load = |file: PathBuf| {
        let name = file.file_stem().unwrap().to_string_lossy().into_owned();
        let fixture =
            toml::from_str(&fs::read_to_string(file).unwrap()).unwrap_or_else(|why| panic!("{name}: {why}"));
        (name, fixture)
    };
    files.into_iter().map(load).collect()
}

fn setting(fixture: &Fixture) -> (Reader, Options) {
    let glossary = fixture.glossary.as_deref().unwrap_or_default();
    let reader = Reader::for_text(&Lexicon::builtin().unwrap(), glossary, &fixture.text).unwrap();
    let open = fixture.multiple.is_some() && !tells_number(&fixture.text);
    let cast_on = fixture.cast_on.filter(|_| open);
    (reader, Options { cast_on, ..Options::default() })
}

/// The text with the words put right as the file says.
fn corrected(fixture: &Fixture) -> String {
    fixture.emendations.iter().fold(fixture.text.clone(), |text, one| {
        assert_eq!(text.matches(&one.printed).count(), 1, "{:?} stands once", one.printed);
        text.replacen(&one.printed, &one.corrected, 1)
    })
}

/// Whether the text says how many are cast on.
fn tells_number(text: &str) -> bool {
    let reader = Reader::new().unwrap();
    reader
        .read(text, &Options::default())
        .pieces
        .first()
        .is_some_and(|piece| piece.plan.cast_on.count.is_some() || piece.plan.cast_on.of.is_some())
}

/// Operations with the kinds of slip as one, so that only what a page tells apart is compared.
fn plain(ops: &[Stitch]) -> Vec<Op> {
    ops.iter().map(|stitch| if stitch.op.is_slip() { Op::Slp } else { stitch.op }).collect()
}

/// The number that a piece is said to divide by; the stitches and the stated count of each of its rows.
type Stitches = (Option<u32>, Vec<(Vec<Op>, Option<u32>)>);

/// The stitches of every piece, with what was cast on and said.
fn stitches(reading: &Reading) -> Vec<Stitches> {
    let rows = |piece: &reading::PieceReading| {
        let rows = piece.worked.rows.iter().zip(&piece.plan.rows);
        rows.map(|(row, planned)| (plain(&row.ops), planned.stated.map(|(stated, _)| stated))).collect()
    };
    reading.pieces.iter().map(|piece| (piece.plan.cast_on.of, rows(piece))).collect()
}

fn standing(mending: &Mending, right: &Reading) -> Standing {
    match mending.candidates.iter().position(|mended| stitches(&mended.reading) == stitches(right)) {
        Some(0) if mending.sure => Standing::Sure,
        Some(0) => Standing::Doubted,
        Some(_) => Standing::Offered,
        None => Standing::Missed,
    }
}

/// A text with a correction's words in it.
fn with_correction(text: &str, mended: &Mended) -> String {
    let mut corrected = text.to_owned();
    for one in mended.emendations.iter().rev() {
        corrected.replace_range(one.span.range(), &one.corrected);
    }
    corrected
}

fn read_as_told(reading: &Reading, fixture: &Fixture) -> bool {
    let gold: Vec<Vec<Op>> = fixture.rows.iter().map(|row| plain(&parse_tokens(&row.ops).unwrap())).collect();
    reading
        .pieces
        .iter()
        .any(|piece| piece.worked.rows.iter().map(|row| plain(&row.ops)).eq(gold.iter().cloned()))
}

fn told(mended: &Mended) -> String {
    let words: Vec<String> = mended
        .emendations
        .iter()
        .map(|one| format!("row {} {:?} -> {:?} ({})", one.row, one.printed, one.corrected, one.why))
        .collect();
    format!("{:.1} {}", mended.cost, words.join("; "))
}

fn expected() -> BTreeMap<String, Standing> {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/mended.txt");
    let lines = fs::read_to_string(file).unwrap();
    let parse = |line: &str| {
        let (name, how) = line.split_once(' ').unwrap();
        let how = match how.trim() {
            "sure" => Standing::Sure,
            "doubted" => Standing::Doubted,
            "offered" => Standing::Offered,
            other => panic!("{name}: no standing is called {other}"),
        };
        (name.to_owned(), how)
    };
    lines.lines().filter(|line| !line.is_empty() && !line.starts_with('#')).map(parse).collect()
}

#[test]
fn misprints_are_found_as_well_as_before() {
    let expected = expected();
    let mut behind = Vec::new();
    for (name, fixture) in fixtures("mending") {
        let (reader, options) = setting(&fixture);
        let mending = mend(&reader.study(), &fixture.text, &options, &Orders::top(3));
        let right = reader.read(&corrected(&fixture), &options);
        let standing = standing(&mending, &right);
        let faults = |reading: &Reading| mending::troubles(reading, &fixture.text).len();
        println!("{name:26} {standing:?}");
        if standing != Standing::Sure {
            println!(
                "    wanted {:?} -> {:?}",
                fixture.emendations[0].printed, fixture.emendations[0].corrected
            );
            println!(
                "    printed costs {:.1} with {} faults and {} words passed over, right {:.1} with {} and {}",
                mending.printed.cost,
                faults(&mending.printed),
                mending.printed.unread.len(),
                right.cost,
                faults(&right),
                right.unread.len()
            );
        }
        mending.candidates.iter().for_each(|mended| println!("    {}", told(mended)));
        let wanted = expected.get(&name).copied().unwrap_or(Standing::Missed);
        if standing < wanted {
            behind.push(format!("{name}: {standing:?}, was {wanted:?}"));
        } else if standing > wanted {
            println!("    ahead of its line in tests/data/mended.txt: {wanted:?}");
        }
    }
    assert!(behind.is_empty(), "{behind:#?}");
    assert!(expected.len() >= 20, "the list of what is found has been emptied");
}

#[test]
fn a_clean_text_brings_no_sure_correction() {
    let mut wrong = Vec::new();
    for folder in ["clean", "reading"] {
        for (name, fixture) in fixtures(folder) {
            let (reader, options) = setting(&fixture);
            let mending = mend(&reader.study(), &fixture.text, &options, &Orders::top(3));
            let read = read_as_told(&mending.printed, &fixture);
            for mended in &mending.candidates {
                println!("{folder}/{name}{}: {}", if read { "" } else { " (not read)" }, told(mended));
            }
            if mending.sure && read {
                wrong.push(name);
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn a_correction_shows_the_rows_that_the_corrected_text_is_read_as() {
    for (name, fixture) in fixtures("mending") {
        let (reader, options) = setting(&fixture);
        let mending = mend(&reader.study(), &fixture.text, &options, &Orders::top(1));
        let Some(mended) = mending.candidates.first() else { continue };
        let corrected = with_correction(&fixture.text, mended);
        let read = reader.read(&corrected, &options);
        assert_eq!(stitches(&mended.reading), stitches(&read), "{name}: {}", told(mended));
    }
}
