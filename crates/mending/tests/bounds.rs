//! That no text takes the search for corrections longer than a page that is mended in a moment.
//!
//! The texts were found by the fuzzer to take up to thirteen seconds. What they take is counted in steps of work, which
//! are the same on every machine.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use mending::{Mending, Orders, mend};
use notation::Lexicon;
use reading::{Options, Reader, effort};

/// Steps that a search may take with the last reading that it begins: well under a second where a step takes fifty
/// nanoseconds.
const MOST: u64 = 12_000_000;

/// Mends a text, its first paragraph taken for an explanation of terms, and tells how many steps that took.
fn mended(text: &str) -> (Mending, u64) {
    let lexicon = Lexicon::builtin().unwrap();
    let explained = text.split("\n\n").next().unwrap_or("");
    let reader = Reader::for_text(&lexicon, explained, text).unwrap();
    let before = effort::steps();
    let mending = mend(&reader.study(), text, &Options::default(), &Orders::top(3));
    (mending, effort::steps() - before)
}

fn ends_in_time(text: &str) -> Mending {
    let (mending, steps) = mended(text);
    assert!(mending.searched && mending.cut_short, "{steps} steps");
    assert!(!mending.sure, "what was left untried may be as likely");
    assert!(steps < MOST, "{steps} steps");
    mending
}

fn ends_in_time_with_the_likeliest(text: &str) {
    assert!(!ends_in_time(text).candidates.is_empty());
}

#[test]
fn a_thousand_rows() {
    ends_in_time(include_str!("findings/a-thousand-rows.txt"));
}

#[test]
fn rows_in_open_repeats_that_come_out_in_many_ways() {
    ends_in_time_with_the_likeliest(include_str!("findings/open-repeats.txt"));
}

#[test]
fn many_rows_in_the_same_odd_words() {
    ends_in_time_with_the_likeliest(include_str!("findings/rows-in-the-same-odd-words.txt"));
}

#[test]
fn one_long_sentence_that_is_no_sense() {
    ends_in_time_with_the_likeliest(include_str!("findings/one-long-sentence.txt"));
}

#[test]
fn a_search_that_ends_by_itself_is_not_cut_short() {
    let text = "Cast on 11 stitches.\n1st row: Knit 2, over, narrow, knit 8.\n2nd row: Purl 11.\n";
    let (mending, steps) = mended(text);
    assert!(mending.searched && !mending.cut_short && !mending.candidates.is_empty());
    assert!(steps < MOST / 20, "{steps} steps");
    assert_eq!(mended(text).1, steps, "the same text takes the same steps");
}

/// Short rows that are worked again until all are worked were looked at as rows that go on alike, and those as rows worked
/// again, until the stack ran over.
#[test]
fn short_rows_in_a_circle() {
    let (_, steps) = mended(include_str!("findings/short-rows-in-a-circle.txt"));
    assert!(steps < MOST, "{steps} steps");
}
