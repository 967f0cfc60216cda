//! Reads every checked reading of a folder with the library and prints how many rows, counts and patterns come
//! out exactly.

mod gold;

use std::collections::BTreeMap;
use std::panic::catch_unwind;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use anyhow::{Result, anyhow};
use clap::Parser;
use loops::{WorkedRow, tokens};
use mending::{Mending, mend};
use notation::Lexicon;
use reading::{Options, PieceReading, Reader, Reading};

use crate::gold::{Gold, files_in, same_row};

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
}

/// What came of one file.
#[derive(Clone, Copy, Default)]
struct Score {
    patterns: usize,
    exact: usize,
    rows: usize,
    rows_exact: usize,
    counts_exact: usize,
    /// Misprints that the checked reading names.
    misprints: usize,
    /// Of those, put right first by the mender, sure or not.
    mended: usize,
    /// Corrections offered as sure where the checked reading has none.
    false_alarms: usize,
    panics: usize,
    slowest: Duration,
}

fn main() -> Result<()> {
    let args = Args::parse();
    let lexicon = Lexicon::builtin()?;
    let mut by_folder: BTreeMap<String, Score> = BTreeMap::new();
    let mut all = Score::default();
    for file in
        args.paths.iter().map(|path| files_of(path)).collect::<Result<Vec<_>>>()?.into_iter().flatten()
    {
        let gold = Gold::load(&file)?;
        let score = measure(&lexicon, &file, &gold, &args)?;
        let folder = file
            .parent()
            .and_then(Path::file_name)
            .map_or_else(String::new, |name| name.to_string_lossy().into_owned());
        by_folder.entry(folder).or_default().add(score);
        all.add(score);
    }
    if all.patterns == 0 {
        return Err(anyhow!("no checked readings found"));
    }
    print_table(&by_folder, &all);
    Ok(())
}

fn files_of(path: &Path) -> Result<Vec<PathBuf>> {
    if path.is_dir() { files_in(path) } else { Ok(vec![path.to_owned()]) }
}

fn measure(lexicon: &Lexicon, file: &Path, gold: &Gold, args: &Args) -> Result<Score> {
    let reader = Reader::for_text(lexicon, &gold.glossary, &gold.text)?;
    let options = Options { cast_on: gold.given_cast_on(), ..Options::default() };
    let start = Instant::now();
    let read = catch_unwind(std::panic::AssertUnwindSafe(|| mend(&reader, &gold.text, &options, 3)));
    let mut score =
        Score { patterns: 1, rows: gold.rows.len(), slowest: start.elapsed(), ..Score::default() };
    let name = file.file_stem().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let Ok(mending) = read else {
        score.panics = 1;
        println!("{name}: panic");
        return Ok(score);
    };
    let (reading, emendations) = mending.best();
    let rows: Vec<&WorkedRow> =
        best_piece(reading, gold).map(|piece| piece.worked.rows.iter().collect()).unwrap_or_default();
    let same = |(row, gold): &(&&WorkedRow, &gold::GoldRow)| same_row(&row.ops, &gold.stitches());
    score.rows_exact = rows.iter().zip(&gold.rows).filter(same).count();
    score.counts_exact = rows.iter().zip(&gold.rows).filter(|(row, gold)| row.after == gold.after).count();
    score.exact = usize::from(score.rows_exact == gold.rows.len() && rows.len() == gold.rows.len());
    score.misprints = usize::from(!gold.emendations.is_empty());
    score.mended = usize::from(!gold.emendations.is_empty() && first_is_gold(&mending, gold));
    score.false_alarms = usize::from(gold.emendations.is_empty() && !emendations.is_empty());
    if score.exact == 0 && (args.differences || args.rows) {
        println!("{name}: {} of {} rows, {} read", score.rows_exact, gold.rows.len(), rows.len());
        print_difference(&rows, gold, args.rows);
    }
    if args.differences && (score.false_alarms > 0 || score.mended < score.misprints) {
        print_emendations(&name, &mending, gold);
    }
    Ok(score)
}

/// Whether the best correction, sure or not, gives the checked rows.
fn first_is_gold(mending: &Mending, gold: &Gold) -> bool {
    let Some(mended) = mending.candidates.first() else { return false };
    best_piece(&mended.reading, gold).is_some_and(|piece| {
        piece.worked.rows.len() == gold.rows.len()
            && piece
                .worked
                .rows
                .iter()
                .zip(&gold.rows)
                .all(|(row, gold)| same_row(&row.ops, &gold.stitches()))
    })
}

fn print_emendations(name: &str, mending: &Mending, gold: &Gold) {
    for emendation in &gold.emendations {
        println!(
            "  {name} gold corrects {}: {:?} to {:?}",
            emendation.row, emendation.printed, emendation.corrected
        );
    }
    for emendation in mending.candidates.first().iter().flat_map(|mended| &mended.emendations) {
        let sure = if mending.sure { "sure" } else { "doubt" };
        println!(
            "  {name} {sure} {}: {:?} to {:?}",
            emendation.row, emendation.printed, emendation.corrected
        );
    }
}

/// The piece that agrees with the checked rows best.
fn best_piece<'a>(reading: &'a Reading, gold: &Gold) -> Option<&'a PieceReading> {
    reading.pieces.iter().max_by_key(|piece| {
        piece
            .worked
            .rows
            .iter()
            .zip(&gold.rows)
            .filter(|(row, gold)| same_row(&row.ops, &gold.stitches()))
            .count()
    })
}

fn print_difference(rows: &[&WorkedRow], gold: &Gold, all: bool) {
    for (index, gold) in gold.rows.iter().enumerate() {
        let row = rows.get(index);
        let same = row.is_some_and(|row| same_row(&row.ops, &gold.stitches()));
        if !same || all {
            let read = row.map_or_else(
                || "nothing".to_owned(),
                |row| format!("{} [{}]", cut(&tokens(&row.ops)), row.after),
            );
            println!(
                "  {} gold {} [{}]\n  {} read {read}",
                gold.label,
                cut(&gold.ops),
                gold.after,
                row.map_or("", |row| &row.label)
            );
        }
        if !same && !all {
            return;
        }
    }
}

fn cut(text: &str) -> String {
    const LONGEST: usize = 100;
    if text.len() > LONGEST {
        format!("{}…", text.chars().take(LONGEST).collect::<String>())
    } else {
        text.to_owned()
    }
}

impl Score {
    fn add(&mut self, other: Score) {
        self.patterns += other.patterns;
        self.exact += other.exact;
        self.rows += other.rows;
        self.rows_exact += other.rows_exact;
        self.counts_exact += other.counts_exact;
        self.misprints += other.misprints;
        self.mended += other.mended;
        self.false_alarms += other.false_alarms;
        self.panics += other.panics;
        self.slowest = self.slowest.max(other.slowest);
    }
}

fn print_table(by_folder: &BTreeMap<String, Score>, all: &Score) {
    println!(
        "{:<18} {:>10} {:>13} {:>13} {:>9} {:>12} {:>7} {:>11}",
        "", "patterns", "rows exact", "counts exact", "mended", "false alarms", "panics", "slowest"
    );
    for (folder, score) in
        by_folder.iter().map(|(folder, score)| (folder.as_str(), score)).chain([("all", all)])
    {
        println!(
            "{folder:<18} {:>4} / {:<3} {:>5} / {:<5} {:>5} / {:<5} {:>4} / {:<2} {:>12} {:>7} {:>8.1} ms",
            score.exact,
            score.patterns,
            score.rows_exact,
            score.rows,
            score.counts_exact,
            score.rows,
            score.mended,
            score.misprints,
            score.false_alarms,
            score.panics,
            score.slowest.as_secs_f64() * 1000.0
        );
    }
}
