//! How long reading takes: a pattern of forty-odd rows, and the reader's own start.

use divan::{Bencher, black_box};
use reading::{Options, Reader};

fn main() {
    divan::main();
}

/// The square of the demo: 47 rows, one remark for half of them.
const SQUARE: &str = include_str!("../../../demo/carriage-rug.txt");

#[divan::bench]
fn start(bencher: Bencher<'_, '_>) {
    bencher.bench(|| Reader::new().is_ok());
}

#[divan::bench]
fn the_whole_demo(bencher: Bencher<'_, '_>) {
    let reader = Reader::new().expect("the data files compiled in are whole");
    bencher.bench(|| reader.read(black_box(SQUARE), &Options::default()).pieces.len());
}

/// Forty rows told in full, two alike by turns.
#[divan::bench]
fn forty_rows(bencher: Bencher<'_, '_>) {
    let reader = Reader::new().expect("the data files compiled in are whole");
    let text = forty_rows_text();
    bencher.bench(|| reader.read(black_box(&text), &Options::default()).pieces.len());
}

fn forty_rows_text() -> String {
    let mut text = "Cast on 23 stitches.\n\n".to_owned();
    for row in (1..=40).step_by(2) {
        let knit = 1 + row % 4;
        text.push_str(&format!(
            "{row}th row: Slip 1, knit {knit}, * make 1, knit 2 together, knit 1, slip 1, knit 1, pass the slipped \
             stitch over, make 1, knit 1; repeat from *, knit the rest.\n\n{}th row: Purled.\n\n",
            row + 1
        ));
    }
    text
}
