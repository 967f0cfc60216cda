//! Whatever is handed in is read to an end: words of the craft in any order, and any characters at all.

use loops::Op;
use proptest::prelude::*;
use reading::{Item, Options, Overs, Reader, Seq, Until, Work, fits};
use span::Span;

/// Words and marks that real patterns are made of, so that random texts reach far into the grammar.
const WORDS: [&str; 60] = [
    "knit",
    "purl",
    "P",
    "K",
    "2",
    "4000000000",
    "0",
    "one",
    "twenty",
    "together",
    "twice",
    "times",
    "more",
    "*",
    "repeat",
    "from",
    "(",
    ")",
    "[",
    "]",
    "row",
    "rows",
    "1st",
    "3rd",
    "Row",
    "round",
    "cast",
    "on",
    "off",
    "bring",
    "the",
    "wool",
    "forward",
    "slip",
    "pass",
    "over",
    "make",
    "yo2",
    "turn",
    "like",
    "alternate",
    "every",
    "to",
    "end",
    "last",
    "stitches",
    "until",
    "remain",
    "in",
    "all",
    "plain",
    ".",
    ";",
    ":",
    "--",
    ",",
    "\n\n",
    "\n",
    "½",
    "ſ",
];

fn of_the_craft() -> impl Strategy<Value = String> {
    prop::collection::vec(prop::sample::select(&WORDS[..]), 0..80).prop_map(|words| words.join(" "))
}

fn read(reader: &Reader, text: &str) {
    let reading = reader.read(text, &Options::default());
    for piece in &reading.pieces {
        for row in &piece.worked.rows {
            assert!(row.span.is_detached() || text.get(row.span.range()).is_some());
        }
    }
    for span in &reading.unread {
        assert!(text.get(span.range()).is_some());
    }
}

/// Once found to work for minutes: rows numbered or counted by thousands of millions.
#[test]
fn more_rows_than_anyone_knits() {
    let reader = Reader::new().expect("whole data files");
    for text in [
        "Cast on 20. 1st row: knit. 3rd row: knit. Row 4000000000 plain. Every alternate row: purl.",
        "Cast on 20. Knit 4000000000 rows.",
        "1st row: knit 1, make 1, knit 1.\n\n4000000000 rows, forward.",
        "Cast on 20. 1st row: knit. The first 4000000000 rows: purl. Repeat from 1st to 4000000000th row.",
    ] {
        read(&reader, text);
        let rows: usize =
            reader.read(text, &Options::default()).pieces.iter().map(|piece| piece.worked.rows.len()).sum();
        assert!(rows <= 10, "{rows} rows: {text}");
    }
}

/// Once found to take all the memory there is, or to overflow: numbers that say how often, how far apart, or how far from
/// the end something is worked.
#[test]
fn more_stitches_than_anyone_counts() {
    let reader = Reader::new().expect("whole data files");
    for row in [
        "1st row: Knit, increasing 4000000000 times at equal distances. 2nd row: Knit.",
        "1st row: Knit, decreasing 4000000000 stitches evenly. 2nd row: Knit.",
        "1st row: Knit, decreasing 3 times after every 4294967295 stitches.",
        "1st row: Knit, decreasing 0 stitches evenly. 2nd row: knit, decreasing in the same places.",
        "Knit 4 rows. In the 2nd of these rounds knit together 4000000000 times 2 stitches.",
        "1st row: K 1, n, knit to the end. Decrease with 4000000000 rows between 3 times.",
        "1st row: K 1, n, knit to the end. Decrease with 4294967295 rows between 3 times.",
        "1st row: Knit to within 4294967295 of the seam, narrow, seam.",
        "1st row: Knit to within 4294967295 of the end, narrow, knit 1.",
        "1st round: * Over, knit 3; repeat from *. 9th, 5th and 3rd rounds: in the same way, with one more between.",
        "1st round: * Over, knit 3; repeat from *. 2nd to 900th round: in the same way, with 99 more between each.",
    ] {
        let text = format!("Cast on 36 stitches. {row}");
        read(&reader, &text);
        let reading = reader.read(&text, &Options::default());
        let stitches: usize =
            reading.pieces.iter().flat_map(|piece| &piece.worked.rows).map(|row| row.ops.len()).sum();
        assert!(stitches < 2_000_000, "{stitches} stitches: {text}");
    }
}

/// Plain stitches before an intake that no row can hold are not read as such.
#[test]
fn more_stitches_before_an_intake_than_a_row_holds() {
    let reader = Reader::new().expect("whole data files");
    let most_plain = |number: &str| {
        let sentence = format!("Make in the 2nd row 8 intakes, with {number} plain before each.");
        let text = format!("Cast on 48 stitches. 1st row: knit. {sentence}");
        let reading = reader.read(&text, &Options::default());
        let rows = reading.pieces.iter().flat_map(|piece| &piece.chain);
        rows.flat_map(|row| &row.candidates)
            .flat_map(|read| read.seq.items())
            .map(|item| longest(&item))
            .max()
    };
    assert_eq!(most_plain("4"), Some(4));
    assert!(most_plain("4000000000") < Some(5_000));
}

/// The most stitches that an instruction tells in one number.
fn longest(item: &Item) -> u32 {
    match item {
        Item::Work(work) => work.times,
        Item::Group { body, .. } => body.items().iter().map(longest).max().unwrap_or(0),
        _ => 0,
    }
}

/// Once found to overflow: a repeat cut short in a row that makes more loops than can be counted.
#[test]
fn a_repeat_cut_short_in_a_row_past_counting() {
    let work = |op, times| {
        Item::Work(Work { ops: [op].into(), times, span: Span::DETACHED, number: None, sense: None })
    };
    let body = Seq::one(work(Op::K, 3)).and(&Seq::one(work(Op::Yo, 3_000_000_000)));
    let row = Seq::one(Item::Group { body, until: Until::End, span: Span::DETACHED });
    let mut all = Vec::new();
    fits(&row, 20, Overs::default(), &mut all);
    assert!(all.iter().any(|fit| fit.cut.is_some() && fit.after == u32::MAX), "{all:?}");
}

/// Once found by the fuzzer to take all the memory there is: rows that come out in ever more ways, tried for a multiple.
#[test]
fn rows_that_come_out_in_ever_more_ways() {
    read(&Reader::new().expect("whole data files"), include_str!("findings/ever-more-ways.txt"));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn words_of_the_craft_in_any_order(text in of_the_craft()) {
        read(&Reader::new().expect("whole data files"), &text);
    }

    #[test]
    fn any_characters(text in ".{0,200}") {
        read(&Reader::new().expect("whole data files"), &text);
    }
}
