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
