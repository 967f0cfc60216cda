//! How many rows, counts and patterns of checked readings come out exactly.

use std::collections::BTreeMap;
use std::panic::catch_unwind;
use std::path::Path;
use std::time::{Duration, Instant};

use anyhow::Result;
use loops::{WorkedRow, tokens};
use mending::{Mending, Orders, mend};
use notation::Lexicon;
use reading::{Options, PieceReading, Reader, Reading};

use crate::Args;
use crate::gold::{self, Gold, same_row};

/// What came of one file.
#[derive(Clone, Copy, Default)]
pub struct Score {
    /// Texts.
    pub patterns: usize,
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

/// Reads and mends one text.
///
/// # Errors
/// When the book's explanation of terms makes no reader.
pub fn measure(lexicon: &Lexicon, file: &Path, gold: &Gold, args: &Args) -> Result<Score> {
    let reader = Reader::for_text(lexicon, &gold.glossary, &gold.text)?;
    let options = Options { cast_on: gold.given_cast_on(), ..Options::default() };
    let start = Instant::now();
    let read = catch_unwind(std::panic::AssertUnwindSafe(|| {
        mend(&reader.study(), &gold.text, &options, &Orders::top(3))
    }));
    let mut score =
        Score { patterns: 1, rows: gold.rows.len(), slowest: start.elapsed(), ..Score::default() };
    let name = file.file_stem().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let Ok(mending) = read else {
        score.panics = 1;
        println!("{name}: panic");
        return Ok(score);
    };
    let reading = mending.best();
    let rows: Vec<&WorkedRow> =
        best_piece(reading, gold).map(|piece| piece.worked.rows.iter().collect()).unwrap_or_default();
    let same = |(row, gold): &(&&WorkedRow, &gold::GoldRow)| same_row(&row.ops, &gold.stitches());
    score.rows_exact = rows.iter().zip(&gold.rows).filter(same).count();
    score.counts_exact = rows.iter().zip(&gold.rows).filter(|(row, gold)| row.after == gold.after).count();
    score.exact = usize::from(score.rows_exact == gold.rows.len() && rows.len() == gold.rows.len());
    score.misprints = usize::from(!gold.emendations.is_empty());
    score.mended = usize::from(!gold.emendations.is_empty() && first_is_gold(&mending, gold));
    score.false_alarms = usize::from(gold.emendations.is_empty() && mending.emendations().next().is_some());
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
pub fn best_piece<'a>(reading: &'a Reading, gold: &Gold) -> Option<&'a PieceReading> {
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
    /// Adds another score.
    pub fn add(&mut self, other: Score) {
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

/// Prints the scores of each folder and of all.
pub fn print_table(by_folder: &BTreeMap<String, Score>, all: &Score) {
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
