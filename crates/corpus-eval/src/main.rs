//! Reads every checked reading of a folder with the library and prints how many rows, counts and patterns come
//! out exactly, or what the mender makes of misprints put into them.

mod gold;
mod misprints;
mod score;
mod slips;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use anyhow::{Result, anyhow};
use clap::Parser;
use notation::Lexicon;

use crate::gold::{Gold, files_in};
use crate::misprints::Course;
use crate::score::{Score, measure, print_table};

/// Measures the reader against checked readings.
#[derive(Parser)]
#[command(version)]
struct Args {
    /// Folders or files of checked readings.
    #[arg(required = true)]
    paths: Vec<PathBuf>,
    /// Print the first row of each pattern that differs.
    #[arg(long)]
    differences: bool,
    /// Print the whole reading of each pattern that differs.
    #[arg(long)]
    rows: bool,
    /// Put misprints into the texts that are read exactly, and into as many generated ones, instead: one of every
    /// class into each text, so many times over.
    #[arg(long, value_name = "N")]
    misprints: Option<u64>,
    /// Draws the misprints and the generated texts.
    #[arg(long, value_name = "S", default_value_t = 1, requires = "misprints")]
    seed: u64,
    /// Weigh corrections that tie by how their cloth would look.
    #[arg(long, requires = "misprints")]
    eye: bool,
    /// Judge the misprints of one class alone.
    #[arg(long, requires = "misprints")]
    class: Option<String>,
}

fn main() -> Result<()> {
    let args = Args::parse();
    let lexicon = Lexicon::builtin()?;
    let golds = args
        .paths
        .iter()
        .map(|path| files_of(path))
        .collect::<Result<Vec<_>>>()?
        .into_iter()
        .flatten()
        .map(|file| Ok((Gold::load(&file)?, file)))
        .collect::<Result<Vec<_>>>()?;
    if golds.is_empty() {
        return Err(anyhow!("no checked readings found"));
    }
    if let Some(rounds) = args.misprints {
        let Args { seed, differences: misses, eye, class, .. } = args;
        return misprints::measure(&lexicon, &golds, &Course { rounds, seed, misses, eye, class });
    }
    let mut by_folder: BTreeMap<String, Score> = BTreeMap::new();
    let mut all = Score::default();
    for (gold, file) in &golds {
        let score = measure(&lexicon, file, gold, &args)?;
        let folder = file
            .parent()
            .and_then(Path::file_name)
            .map_or_else(String::new, |name| name.to_string_lossy().into_owned());
        by_folder.entry(folder).or_default().add(score);
        all.add(score);
    }
    print_table(&by_folder, &all);
    Ok(())
}

fn files_of(path: &Path) -> Result<Vec<PathBuf>> {
    if path.is_dir() { files_in(path) } else { Ok(vec![path.to_owned()]) }
}
