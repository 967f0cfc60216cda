//! Checked readings: one pattern a file, its printed text and the rows that a careful editor makes of it.

use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use loops::{Op, Stitch, parse_tokens};
use serde::Deserialize;

/// One checked reading.
#[derive(Debug, Deserialize)]
pub struct Gold {
    /// The printed text.
    pub text: String,
    /// The book's own explanation of terms.
    #[serde(default)]
    pub glossary: String,
    /// Stitches cast on.
    pub cast_on: u32,
    /// Whether the text does not tell that number.
    #[serde(default)]
    pub cast_on_chosen: bool,
    /// Present where the number may be another.
    pub multiple: Option<toml::Value>,
    /// The rows.
    pub rows: Vec<GoldRow>,
    /// Where the print is wrong.
    #[serde(default)]
    pub emendations: Vec<GoldEmendation>,
}

/// One row of a checked reading.
#[derive(Debug, Deserialize)]
pub struct GoldRow {
    /// The printed number, or a name.
    #[serde(default)]
    pub label: String,
    /// What is worked.
    pub ops: String,
    /// Stitches after the row.
    pub after: u32,
}

/// One misprint of a checked reading.
#[derive(Debug, Deserialize)]
pub struct GoldEmendation {
    /// The row.
    pub row: String,
    /// What is printed.
    pub printed: String,
    /// What should be.
    pub corrected: String,
}

impl Gold {
    /// Reads a file.
    ///
    /// # Errors
    /// When the file cannot be read or is no checked reading.
    pub fn load(path: &Path) -> Result<Gold> {
        let file = std::fs::read_to_string(path).with_context(|| path.display().to_string())?;
        toml::from_str(&file).with_context(|| path.display().to_string())
    }

    /// The number to give to the reader: only where the text does not tell it, or leaves it open, so that the
    /// rows are worked out for the same number as the checked ones.
    pub fn given_cast_on(&self) -> Option<u32> {
        (self.cast_on_chosen || self.multiple.is_some()).then_some(self.cast_on)
    }
}

impl GoldRow {
    /// The operations one by one.
    pub fn stitches(&self) -> Vec<Stitch> {
        parse_tokens(&self.ops).unwrap_or_default()
    }
}

/// Whether two rows are the same, slips compared without regard to kind.
pub fn same_row(a: &[Stitch], b: &[Stitch]) -> bool {
    let alike = |op: Op| if op.is_slip() && op != Op::SlYo { Op::Slp } else { op };
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| alike(a.op) == alike(b.op))
}

/// All checked readings in a folder and its folders, in order.
///
/// # Errors
/// When a folder cannot be read.
pub fn files_in(folder: &Path) -> Result<Vec<PathBuf>> {
    let mut out = Vec::new();
    let entries = std::fs::read_dir(folder).with_context(|| folder.display().to_string())?;
    for entry in entries {
        let path = entry?.path();
        if path.is_dir() {
            out.extend(files_in(&path)?);
        } else if path.extension().is_some_and(|extension| extension == "toml") {
            out.push(path);
        }
    }
    out.sort();
    Ok(out)
}
