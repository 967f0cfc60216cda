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
    panics: usize,
    slowest: Duration,
}

fn main() -> Result<()> {
    let args = Args::parse();
    let reader = Reader::new()?;
    let mut by_folder: BTreeMap<String, Score> = BTreeMap::new();
    let mut all = Score::default();
    for file in args.paths.iter().map(|path| files_of(path)).collect::<Result<Vec<_>>>()?.into_iter().flatten() {
        let gold = Gold::load(&file)?;
        let score = measure(&reader, &file, &gold, &args);
        let folder = file.parent().and_then(Path::file_name).map_or_else(String::new, |name| name.to_string_lossy().into_owned());
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

fn measure(reader: &Reader, file: &Path, gold: &Gold, args: &Args) -> Score {
    let options = Options { cast_on: gold.given_cast_on(), ..Options::default() };
    let start = Instant::now();
    let read = catch_unwind(std::panic::AssertUnwindSafe(|| reader.read(&gold.text, &options)));
    let mut score = Score { patterns: 1, rows: gold.rows.len(), slowest: start.elapsed(), ..Score::default() };
    let name = file.file_stem().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let Ok(reading) = read else {
        score.panics = 1;
        println!("{name}: panic");
        return score;
    };
    let rows: Vec<&WorkedRow> = best_piece(&reading, gold).map(|piece| piece.worked.rows.iter().collect()).unwrap_or_default();
    let same = |(row, gold): &(&&WorkedRow, &gold::GoldRow)| same_row(&row.ops, &gold.stitches());
    score.rows_exact = rows.iter().zip(&gold.rows).filter(same).count();
    score.counts_exact = rows.iter().zip(&gold.rows).filter(|(row, gold)| row.after == gold.after).count();
    score.exact = usize::from(score.rows_exact == gold.rows.len() && rows.len() == gold.rows.len());
    if score.exact == 0 && (args.differences || args.rows) {
        println!("{name}: {} of {} rows, {} read", score.rows_exact, gold.rows.len(), rows.len());
        print_difference(&rows, gold, args.rows);
    }
    score
}

/// The piece that agrees with the checked rows best.
fn best_piece<'a>(reading: &'a Reading, gold: &Gold) -> Option<&'a PieceReading> {
    reading.pieces.iter().max_by_key(|piece| {
        piece.worked.rows.iter().zip(&gold.rows).filter(|(row, gold)| same_row(&row.ops, &gold.stitches())).count()
    })
}

fn print_difference(rows: &[&WorkedRow], gold: &Gold, all: bool) {
    for (index, gold) in gold.rows.iter().enumerate() {
        let row = rows.get(index);
        let same = row.is_some_and(|row| same_row(&row.ops, &gold.stitches()));
        if !same || all {
            let read = row.map_or_else(|| "nothing".to_owned(), |row| format!("{} [{}]", cut(&tokens(&row.ops)), row.after));
            println!("  {} gold {} [{}]\n  {} read {read}", gold.label, cut(&gold.ops), gold.after, row.map_or("", |row| &row.label));
        }
        if !same && !all {
            return;
        }
    }
}

fn cut(text: &str) -> String {
    const LONGEST: usize = 100;
    if text.len() > LONGEST { format!("{}…", text.chars().take(LONGEST).collect::<String>()) } else { text.to_owned() }
}

impl Score {
    fn add(&mut self, other: Score) {
        self.patterns += other.patterns;
        self.exact += other.exact;
        self.rows += other.rows;
        self.rows_exact += other.rows_exact;
        self.counts_exact += other.counts_exact;
        self.panics += other.panics;
        self.slowest = self.slowest.max(other.slowest);
    }
}

fn print_table(by_folder: &BTreeMap<String, Score>, all: &Score) {
    println!("{:<18} {:>9} {:>13} {:>13} {:>7} {:>11}", "", "patterns", "rows exact", "counts exact", "panics", "slowest");
    for (folder, score) in by_folder.iter().map(|(folder, score)| (folder.as_str(), score)).chain([("all", all)]) {
        println!(
            "{folder:<18} {:>4} / {:<3} {:>5} / {:<5} {:>5} / {:<5} {:>7} {:>8.1} ms",
            score.exact,
            score.patterns,
            score.rows_exact,
            score.rows,
            score.counts_exact,
            score.rows,
            score.panics,
            score.slowest.as_secs_f64() * 1000.0
        );
    }
}
