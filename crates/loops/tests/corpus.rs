//! Works every checked reading of the corpus, where there is one: the counts must be those of the editor, and
//! the cloth must hold together. The folder is named by `LOOPWRIGHT_CORPUS`, or lies beside the workspace.

use std::path::{Path, PathBuf};

use loops::{ClothGraph, Piece, Side, Worked, work};
use serde::Deserialize;

/// What this test needs of a checked reading.
#[derive(Deserialize)]
struct Gold {
    cast_on: u32,
    worked: String,
    first_side: Option<String>,
    rows: Vec<GoldRow>,
}

#[derive(Deserialize)]
struct GoldRow {
    ops: String,
    after: u32,
}

impl Gold {
    fn piece(&self) -> Piece {
        let worked = if self.worked == "round" { Worked::Round } else { Worked::Flat };
        let first_side = if self.first_side.as_deref() == Some("WS") { Side::Wrong } else { Side::Right };
        let rows = self.rows.iter().map(|row| &row.ops);
        Piece::of_tokens(worked, first_side, self.cast_on, rows).expect("known tokens")
    }
}

#[test]
fn every_checked_reading_comes_out() {
    let folder = std::env::var_os("LOOPWRIGHT_CORPUS").map_or_else(
        || Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/corpus/dev"),
        PathBuf::from,
    );
    if !folder.is_dir() {
        println!("skipped: no corpus at {}", folder.display());
        return;
    }
    let files = gold_files(&folder);
    assert!(!files.is_empty(), "no reading in {}", folder.display());
    let mut rows = 0;
    for file in &files {
        let text = std::fs::read_to_string(file).expect("a readable file");
        let gold: Gold = toml::from_str(&text).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
        rows += gold.rows.len();
        try_reading(&gold, &file.display().to_string());
    }
    println!("{} readings, {rows} rows", files.len());
}

fn try_reading(gold: &Gold, name: &str) {
    let piece = gold.piece();
    let worked = work(&piece);
    assert_eq!(worked.faults, [], "{name}");
    let after: Vec<u32> = worked.rows.iter().map(|row| row.after).collect();
    let expected: Vec<u32> = gold.rows.iter().map(|row| row.after).collect();
    assert_eq!(after, expected, "{name}");

    let graph = ClothGraph::work(&piece).expect("a piece of common size");
    assert_eq!(graph.check(), Ok(()), "{name}");
    for (row, expected) in graph.rows()[1..].iter().zip(&expected) {
        assert_eq!((row.after, row.missing, row.left), (*expected, 0, 0), "{name}");
        assert_eq!(row.out_of_reach, 0, "{name}: a stitch beyond a turn");
    }
}

fn gold_files(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).expect("a readable folder");
    let mut files = Vec::new();
    for path in entries.map(|entry| entry.expect("a readable entry").path()) {
        if path.is_dir() {
            files.extend(gold_files(&path));
        } else if path.extension().is_some_and(|extension| extension == "toml") {
            files.push(path);
        }
    }
    files.sort();
    files
}
