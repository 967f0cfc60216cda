//! How long mending takes: for 60 rows with one misprint and with two, and as the rows grow in number at a fixed width.

#![allow(clippy::unwrap_used, reason = "a measurement that cannot go on has failed")]

use std::fmt::Write as _;

use divan::{Bencher, black_box};
use mending::{Orders, mend};
use reading::{Options, Reader};

fn main() {
    divan::main();
}

/// Lace of so many rows over 25 stitches in which a hole wanders to and fro; every pattern row is told.
fn lace(rows: usize) -> String {
    let mut text = String::from("Cast on 25 stitches.\n\n");
    for row in 1..=rows {
        if row % 2 == 0 {
            writeln!(text, "{row}th row.--Purl 25.").unwrap();
            continue;
        }
        let step = row / 2 % 16;
        let left = 2 + step.min(16 - step);
        writeln!(
            text,
            "{row}th row.--Knit {left}, make 1, knit 2 together, knit 4, make 1, knit 2 together, knit {}.",
            17 - left
        )
        .unwrap();
    }
    text
}

/// The same with the first number of some rows off by one.
fn misprinted(rows: usize, wrong: &[usize]) -> String {
    let mut text = lace(rows);
    for row in wrong {
        let begins = format!("\n{row}th row.--Knit ");
        let at = text.find(&begins).unwrap() + begins.len();
        let end = at + text[at..].find(',').unwrap();
        let number: usize = text[at..end].parse().unwrap();
        text.replace_range(at..end, &(number + 1).to_string());
    }
    text
}

fn measure(bencher: Bencher<'_, '_>, text: &str) {
    let reader = Reader::new().unwrap();
    bencher.bench_local(|| {
        mend(&black_box(&reader).study(), black_box(text), &Options::default(), &Orders::top(3))
    });
}

#[divan::bench(args = [15, 30, 60, 120, 240])]
fn without_misprint(bencher: Bencher<'_, '_>, rows: usize) {
    measure(bencher, &lace(rows));
}

#[divan::bench(args = [15, 30, 60, 120, 240])]
fn one_misprint(bencher: Bencher<'_, '_>, rows: usize) {
    measure(bencher, &misprinted(rows, &[rows / 4 * 2 + 1]));
}

#[divan::bench(args = [30, 60, 120])]
fn two_misprints(bencher: Bencher<'_, '_>, rows: usize) {
    measure(bencher, &misprinted(rows, &[7, rows / 4 * 2 + 1]));
}

#[divan::bench(args = [60])]
fn three_misprints(bencher: Bencher<'_, '_>, rows: usize) {
    measure(bencher, &misprinted(rows, &[7, 31, 49]));
}
