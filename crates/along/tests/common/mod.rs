//! What the tests and the figures share: pieces, an eye that looks at the cloth, hands that slip.
//!
//! Neither the eye nor the hands use the crate under test: the eye looks at [`loops::ClothGraph`], the hands change
//! lists of operations.

#![allow(dead_code, reason = "each test uses its part")]

pub mod eye;
pub mod hands;

use std::path::{Path, PathBuf};

use loops::{Piece, Side, Worked};
use serde::Deserialize;

/// A checked reading, as far as it is needed here.
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
}

impl Gold {
    fn piece(&self) -> Option<Piece> {
        let worked = if self.worked == "round" { Worked::Round } else { Worked::Flat };
        let first_side = if self.first_side.as_deref() == Some("WS") { Side::Wrong } else { Side::Right };
        let rows = self.rows.iter().map(|row| &row.ops);
        Piece::of_tokens(worked, first_side, self.cast_on, rows).ok()
    }
}

/// The checked readings of the fixtures, the demo, and the corpus where it lies beside the project, with their names.
pub fn checked_readings() -> Vec<(String, Piece)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let corpus = std::env::var_os("LOOPWRIGHT_CORPUS")
        .map_or_else(|| root.join("../shared/corpus/dev"), PathBuf::from);
    if !corpus.is_dir() {
        println!("skipped: no corpus at {}; set LOOPWRIGHT_CORPUS to where it lies", corpus.display());
    }
    let mut pieces = Vec::new();
    for folder in [root.join("fixtures/reading"), root.join("fixtures/clean"), root.join("demo"), corpus] {
        for file in toml_files(&folder) {
            let text = std::fs::read_to_string(&file).expect("a readable file");
            let gold: Option<Gold> = toml::from_str(&text).ok();
            pieces
                .extend(gold.and_then(|gold| gold.piece()).map(|piece| (file.display().to_string(), piece)));
        }
    }
    pieces
}

fn toml_files(folder: &Path) -> Vec<PathBuf> {
    let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
    let mut files = Vec::new();
    for path in entries.flatten().map(|entry| entry.path()) {
        if path.is_dir() {
            files.extend(toml_files(&path));
        } else if path.extension().is_some_and(|end| end == "toml") {
            files.push(path);
        }
    }
    files.sort();
    files
}
