//! How long mending takes: for 60 rows with one misprint and with two, and as the rows grow in number at a fixed width.

#![allow(clippy::unwrap_used, reason = "a measurement that cannot go on has failed")]

mod lace;

use divan::{Bencher, black_box};
use mending::{Orders, mend};
use reading::{Options, Reader};

use self::lace::{lace, misprinted};

fn main() {
    divan::main();
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
