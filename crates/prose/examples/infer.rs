//! Reads texts under swapped letters without any explanation of terms, and prints how often the reader finds out
//! what the letters mean.
//!
//! ```text
//! cargo run --release -p prose --example infer -- [--n 100] [--seed 1] [--book NAME] [--failures 8] [--show SEED]
//! ```
//!
//! A text counts for a question where it has six rows or more and the answer matters: read under another answer,
//! the stitches would be others.

use std::collections::BTreeMap;

use loops::{Op, WorkedRow};
use prose::{Dialect, Prose, random_program, write};
use reading::{Options, Reader, Reading};

/// The least number of rows that a text must have.
const ROWS: usize = 6;

#[derive(Default)]
struct Score {
    asked: usize,
    right: usize,
    /// Seeds of texts that were read wrong, with the length of the text.
    wrong: Vec<(usize, u64)>,
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let (mut n, mut seed, mut book, mut failures, mut show) = (100, 1, None, 8, None);
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        let value = words.next().ok_or(format!("{word} wants a value"))?;
        match word.as_str() {
            "--n" => n = value.parse()?,
            "--seed" => seed = value.parse()?,
            "--book" => book = Some(value),
            "--show" => show = Some(value.parse()?),
            "--failures" => failures = value.parse()?,
            _ => return Err(format!("unknown argument {word}").into()),
        }
    }
    let reader = Reader::new()?;
    let mut by_question: BTreeMap<(String, String), Score> = BTreeMap::new();
    let mut rows: BTreeMap<String, Score> = BTreeMap::new();
    let dialects = Dialect::swapped()?;
    for dialect in dialects.iter().filter(|dialect| book.as_ref().is_none_or(|book| *book == dialect.name)) {
        if let Some(seed) = show {
            print_whole(&reader, &write(&random_program(seed), dialect, seed));
            continue;
        }
        for seed in seed..seed + n {
            let piece = random_program(seed);
            if piece.rows.len() < ROWS {
                continue;
            }
            let prose = write(&piece, dialect, seed);
            measure(&reader, &prose, seed, &mut by_question, rows.entry(dialect.name.clone()).or_default());
        }
    }
    println!("{:<10} {:<28} {:>8} of {:<8}", "question", "book", "right", "texts");
    for ((question, book), score) in &by_question {
        print_score(question, book, score, failures);
    }
    println!("\nrows read exactly, every stitch");
    for (book, score) in &rows {
        print_score("", book, score, failures);
    }
    let all = by_question.values().fold((0, 0), |all, one| (all.0 + one.right, all.1 + one.asked));
    println!("all questions: {} of {} {:.2} %", all.0, all.1, 100.0 * all.0 as f64 / all.1.max(1) as f64);
    Ok(())
}

fn measure(
    reader: &Reader,
    prose: &Prose,
    seed: u64,
    by_question: &mut BTreeMap<(String, String), Score>,
    rows: &mut Score,
) {
    let options = Options { cast_on: prose.cast_on, ..Options::default() };
    let reading = reader.read(&prose.text, &options);
    let exact = is_exact(&reading, prose);
    rows.add(exact, prose, seed);
    for (question, truth) in &prose.answers {
        let Some(decision) = reading.decisions.iter().find(|decision| decision.question == *question) else {
            continue;
        };
        let chosen = decision.answers.first().map(|(answer, _)| answer);
        let others = decision.answers.iter().filter(|(answer, _)| answer != truth);
        let matters = |(other, _): &(String, f64)| {
            let told = |answer: &str| {
                let answers = [(question.clone(), answer.to_owned())].into();
                stitches(&reader.read(&prose.text, &Options { answers, ..options.clone() }))
            };
            told(other) != told(truth)
        };
        if others.into_iter().any(matters) {
            let score = by_question.entry((question.clone(), prose.dialect.clone())).or_default();
            score.add(chosen == Some(truth), prose, seed);
        }
    }
}

impl Score {
    fn add(&mut self, right: bool, prose: &Prose, seed: u64) {
        self.asked += 1;
        self.right += usize::from(right);
        if !right {
            self.wrong.push((prose.text.len(), seed));
        }
    }
}

fn stitches(reading: &Reading) -> Vec<Vec<Op>> {
    let rows = reading.pieces.iter().flat_map(|piece| &piece.worked.rows);
    rows.map(|row| row.ops.iter().map(|stitch| stitch.op).collect()).collect()
}

fn is_exact(reading: &Reading, prose: &Prose) -> bool {
    let alike = |op: Op| if op.is_slip() && op != Op::SlYo { Op::Slp } else { op };
    let same = |row: &WorkedRow, ops: &[Op]| {
        row.ops.len() == ops.len() && row.ops.iter().zip(ops).all(|(a, b)| alike(a.op) == alike(*b))
    };
    reading.pieces.iter().any(|piece| {
        let rows = &piece.worked.rows;
        rows.len() == prose.rows.len() && rows.iter().zip(&prose.rows).all(|(row, told)| same(row, &told.ops))
    })
}

/// One text with what was found out and the first row that differs.
fn print_whole(reader: &Reader, prose: &Prose) {
    let reading = reader.read(&prose.text, &Options { cast_on: prose.cast_on, ..Options::default() });
    println!("{}\n{}\nmeant {:?}", prose.dialect, prose.text, prose.answers);
    for decision in &reading.decisions {
        println!("{} {:.1?}\n    {}", decision.question, decision.answers, decision.why.join("\n    "));
    }
    let read = stitches(&reading);
    for (index, row) in prose.rows.iter().enumerate() {
        if read.get(index) != Some(&row.ops) {
            println!("row {} meant {:?}\n    read {:?}", index + 1, row.ops, read.get(index));
            break;
        }
    }
}

fn print_score(question: &str, book: &str, score: &Score, failures: usize) {
    let mut wrong = score.wrong.clone();
    wrong.sort_unstable();
    let seeds: Vec<String> = wrong.iter().take(failures).map(|(_, seed)| seed.to_string()).collect();
    let percent = 100.0 * score.right as f64 / score.asked.max(1) as f64;
    println!(
        "{question:<10} {book:<28} {:>8} of {:<8} {percent:>6.2} %  {}",
        score.right,
        score.asked,
        if seeds.is_empty() { String::new() } else { format!("wrong: {}", seeds.join(" ")) }
    );
}
