//! Whatever is handed in is read to an end: words of the craft in any order, and any characters at all.

use proptest::prelude::*;
use reading::{Options, Reader};

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
