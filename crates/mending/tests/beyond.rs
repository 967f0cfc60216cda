//! Misprints that no count reaches by itself, and corrections that must not be sure.
//!
//! Rows made from others carry a misprint on, a word that turns the work makes other rows of what is printed, and one
//! misprint may look like two.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use mending::{Mending, Orders, mend, troubles};
use notation::Lexicon;
use reading::{Options, Reader};

fn mended(text: &str) -> Mending {
    let mending = mend(&Reader::new().unwrap().study(), text, &Options::default(), &Orders::top(5));
    assert!(!troubles(&mending.printed, text).is_empty(), "something is amiss in\n{text}");
    mending
}

fn told(mending: &Mending) -> Vec<(&str, &str)> {
    let first = mending.candidates.first().map(|mended| mended.emendations.as_slice()).unwrap_or_default();
    first.iter().map(|one| (one.printed.as_str(), one.corrected.as_str())).collect()
}

/// The text with other words in one place.
fn misprinted(text: &str, right: &str, wrong: &str) -> String {
    assert_eq!(text.matches(right).count(), 1, "{right:?} stands once");
    text.replacen(right, wrong, 1)
}

const HEEL: &str = "Cast on 16 stitches.\n\n\
    To turn the heel: Slip 1, purl 8, purl 2 together, purl 1, turn; slip 1, knit 3, knit 2 together, knit 1, turn; \
    slip 1, purl 4, purl 2 together, purl 1, turn; slip 1, knit 5, knit 2 together, knit 1, turn; slip 1, purl 6, \
    purl 2 together, purl 1, turn; slip 1, knit 7, knit 2 together, knit 1. Ten stitches remain.\n";

#[test]
fn a_turn_left_out_is_put_in_where_others_stand() {
    let text = misprinted(HEEL, "purl 1, turn; slip 1, knit 3", "purl 1; slip 1, knit 3");
    assert_eq!(told(&mended(&text)), [("", ", turn")]);
}

#[test]
fn a_turn_set_too_early_is_changed_about() {
    let text = misprinted(HEEL, "knit 1, turn; slip 1, purl 6", "turn, knit 1; slip 1, purl 6");
    assert_eq!(told(&mended(&text)), [("turn, knit 1", "knit 1, turn")]);
}

#[test]
fn a_turn_set_for_another_instruction_and_one_set_for_a_turn_are_known_by_what_stands_about_them() {
    let text = misprinted(HEEL, "knit 3, knit 2 together", "knit 3, turn");
    assert_eq!(told(&mended(&text)), [("turn", "knit 2 together")]);
    let text = misprinted(HEEL, "purl 1, turn; slip 1, knit 5", "purl 1, purl 1; slip 1, knit 5");
    assert_eq!(told(&mended(&text)), [("purl 1", "turn")]);
}

const SOLE: &str = "Cast on 36 sts.\n\n\
    Row 1--Increase 1 in first st., k. 16, increase 1 in each of the next 2 sts., k. 16, increase 1 in last st.\n\n\
    Row 2--Knit.\n\nRow 3--Same as Row 1, but k. 18 in place of 16 each time.\n\nRow 4--Knit.\n\n\
    Row 5--Same again, with k. 20. (48 sts.)\n\nRow 6--Knit.\n";

#[test]
fn what_rows_are_made_from_is_corrected_before_all_of_them() {
    let text = misprinted(SOLE, "2 sts., k. 16", "2 sts., k. 10");
    assert_eq!(told(&mended(&text)), [("k. 10", "k. 16")]);
}

#[test]
fn words_set_twice_in_a_row_told_from_both_sides_are_taken_out() {
    let text = "Cast on twenty-one stitches.\n\nFirst row.--Knit one, over, slip one, knit one, pass it over, knit seven; \
        knit the middle stitch; then the same on the other side, reversed.\n\nSecond row.--Purl.\n\n\
        Third row.--Knit two, over, slip one, knit one, pass it over, knit six, knit the middle stitch, and the same \
        reversed.\n\nFourth row.--Purl.\n";
    let again = ", knit six, knit the middle stitch";
    let text = misprinted(text, again, &again.repeat(2));
    assert_eq!(told(&mended(&text)), [(again, "")]);
}

#[test]
fn dropped_stitches_of_groups_in_groups_are_known_from_the_rows_about_them() {
    let text = "Cast on 60 sts.\n\nRow 1--K 2, (k 5, k 1) 8 times, k 2 (52 sts).\nRow 2 and all even rows--Purl.\n\
        Row 3--K 2, (k 4, k 2 tog) 8 times, k 2 (44 sts).\nRow 5--K 2, (k 3, k 2 tog) 8 times, k 2 (36 sts).\n\
        Row 7--K 2, (k 2, k 2 tog) 8 times, k 2 (28 sts).\nRow 9--K 2, (k 1, k 2 tog) 8 times, k 2 (20 sts).\n\
        Row 11--K 2 tog 10 times (10 sts).\n";
    assert_eq!(told(&mended(text)), [("k 1", "k 2 tog")]);
}

#[test]
fn what_one_misprint_of_another_kind_may_explain_is_never_sure() {
    for (what, text) in [
        (
            "two corrections side by side: the narrowing of the first row was left out",
            "Cast on 60 sts.\n\nRow 1--K 2, (k 5) 8 times, k 2 (52 sts).\nRow 2 and all even rows--Purl.\n\
             Row 3--K 2, (k 4, k 2 tog) 8 times, k 2 (44 sts).\nRow 5--K 2, (k 3, k 2 tog) 8 times, k 2 (36 sts).\n",
        ),
        (
            "a number cast on that only one row takes: that row has lost stitches by the dozen",
            "Cast on 28 stitches.\n\n1st row: knit 3, over, narrow, knit 11.\n2nd row: plain.\n\
             3rd row: plain.\n4th row: plain.\n",
        ),
        (
            "a row set again whose own words stand nowhere",
            "Cast on 8 sts.\n\n1st row--Sl. 1, o, n, k 1, o, n, o, k 2.\n2nd row--K 6, o, n, k 1.\n\
             3rd row--Sl. 1, o, n, k 2, o, n, o, k 2. You should now have 10 stitches.\n4th row--K 7, o, n, k 1.\n\
             5th row--Sl. 1, o, n, k 6, o, k 1.\n6th row--K 7, o, n, k 1.\n\
             7th row--Sl. 1, o, n, k 7, o, k 1. You should now have 12 stitches.\n8th row--Same as 6th row.\n\
             9th row--Sl. 1, o, n, knit to the last 1, o, k 1.\n10th row--As 6th.\n\
             11th row--Sl. 1, o, n, k to end.\n12th row--Cast off 5, k 5, o, n, k 1.\nRepeat from 1st row.\n",
        ),
    ] {
        let mending = mended(text);
        assert!(!mending.candidates.is_empty(), "{what}");
        assert!(!mending.sure, "{what}: {:?}", told(&mending));
    }
}

/// The first correction of a text in which everything comes out as printed.
fn doubted(text: &str) -> Vec<(String, String)> {
    let mending = mend(&Reader::new().unwrap().study(), text, &Options::default(), &Orders::top(3));
    assert!(troubles(&mending.printed, text).is_empty(), "nothing is amiss in\n{text}");
    assert!(!mending.sure, "a doubt is never sure");
    told(&mending)
        .into_iter()
        .map(|(printed, corrected)| (printed.to_owned(), corrected.to_owned()))
        .collect()
}

const SLOPE: &str = "Cast on 30 stitches.\n\n\
    1st row--Sl. 1, k. 3, o, n, k. to the end.\n2nd row--Plain.\n3rd row--Sl. 1, k. 4, o, n, k. to the end.\n\
    4th row--Plain.\n5th row--Sl. 1, k. 5, o, n, k. to the end.\n6th row--Plain.\n\
    7th row--Sl. 1, k. 6, o, n, k. to the end.\n8th row--Plain.\n9th row--Sl. 1, k. 7, o, n, k. to the end.\n";

#[test]
fn an_irregular_row_is_doubted_though_other_counts_come_of_it() {
    let text = misprinted(SLOPE, "k. 5, o, n, k. to", "k. 5, o, k. to");
    assert_eq!(doubted(&text), [(String::new(), ", n".to_owned())]);
    assert_eq!(doubted(SLOPE), [], "as it should be");
}

const BRACES: &str = "Cast on 15 stitches.\n\n\
    1st needle--Knit 5, knit 2 together, over, knit 1, over, narrow, knit 5.\n\n\
    2nd needle--Purl.\n\n\
    3rd needle--Knit 4, knit 2 together, over, knit 3, over, narrow, knit 4.\n\n\
    The 4th and 6th needles, like the 2nd.\n\n\
    5th needle--Knit 3, knit 2 together, over, knit 5, over, narrow, knit 3.\n\n\
    7th needle like the 3rd.\n";

#[test]
fn a_word_that_the_reading_of_a_row_passes_over_is_put_right() {
    let text = misprinted(BRACES, "together, over, knit 3", "together, on, knit 3");
    assert_eq!(doubted(&text), [("on".to_owned(), "over".to_owned())]);
}

#[test]
fn a_stitch_for_another_in_words_that_are_not_understood_is_not_sure() {
    let glossary = "K, knit plain. P, purl. K and w, knit 1 through the back.";
    let text = "Cast on 29 stitches.\n\n1st row: K 29.\n\n\
        2nd row: K 1, p 3, * k 5, p 3; repeat from *, k and w.\n\n\
        3rd row: P 1, k 3, * p 5, k 3; repeat from *, p and w.\n\n4th row: Same as the 2nd row.\n";
    let reader = Reader::for_text(&Lexicon::builtin().unwrap(), glossary, text).unwrap();
    let mending = mend(&reader.study(), text, &Options::default(), &Orders::top(3));
    assert_eq!(told(&mending), [("p", "k")]);
    assert!(!mending.sure, "\"p and w\" may be a phrase that was not explained");
}

const KNEE: &str = "Cast on 21 stitches, and knit 2 rows plain.\n\n\
    3rd row: Knit 10, make 1, knit 1, make 1, knit 10.\n\n4th row: Plain.\n\n\
    5th row: Knit 11, make 1, knit 1, make 1, knit 11. 6th row: Plain.\n\n\
    Continue to increase in the same way, on each side of the middle stitch, in every other row, until there are 29 \
    stitches on the pin.\n";

#[test]
fn a_row_that_others_are_made_from_is_doubted_for_what_shows_in_them_all() {
    let text = misprinted(KNEE, "11, make 1, knit 1, make 1, knit 11", "11, make 1, knit 11, make 1, knit 1");
    assert_eq!(
        doubted(&text),
        [("knit 11, make 1, knit 1".to_owned(), "knit 1, make 1, knit 11".to_owned())]
    );
}

const OPENWORK: &str = "The number of stitches must be divisible by 5, and 2 are added for the last rib.\n\n\
    1st row--* Purl 2, knit 1, over, narrow; repeat from *, purl 2.\n\n2nd row--* Knit 2, purl 3; repeat from *, knit 2.\n";

#[test]
fn the_number_that_the_stitches_divide_by_is_found_where_those_beside_are_not_told_in_a_number() {
    let text = misprinted(OPENWORK, "divisible by 5", "divisible by 4");
    let options = Options { cast_on: Some(12), ..Options::default() };
    let mending = mend(&Reader::new().unwrap().study(), &text, &options, &Orders::top(3));
    assert_eq!(told(&mending).first(), Some(&("divisible by 4", "divisible by 5")));
}

#[test]
fn a_decrease_at_the_beginning_of_a_row_is_known_though_nothing_of_it_is_read() {
    let text =
        misprinted(OPENWORK, "* Purl 2, knit 1, over, narrow", "* Knit 1 together, over, knit 1, purl 2");
    assert_eq!(told(&mended(&text)).first(), Some(&("1", "2")));
}

#[test]
fn a_word_of_ordinary_english_is_not_surely_another() {
    let page: toml::Table =
        toml::from_str(include_str!("../../../fixtures/reading/mitten-thumb-gore-1911.toml")).unwrap();
    let field = |name: &str| page[name].as_str().unwrap();
    assert!(field("text").contains("strong thread"));
    let reader = Reader::for_text(&Lexicon::builtin().unwrap(), field("glossary"), field("text")).unwrap();
    let mending = mend(&reader.study(), field("text"), &Options::default(), &Orders::top(3));
    assert!(!mending.sure, "{:?}", told(&mending));
}

#[test]
fn a_stitch_is_put_right_in_letters_as_large_as_those_printed() {
    let text = "Cast on 12 stitches.\n\n1st row. K 3, O, N, K 7.\n\n2nd row. K 12.\n\n3rd row. K 4, N, N, K 6.\n\n\
        4th row. K 12.\n\n5th row. K 5, O, N, K 5.\n\n6th row. K 12.\n";
    let reader = Reader::new().unwrap();
    let mending = mend(&reader.study(), text, &Options::default(), &Orders::top(3));
    assert_eq!(told(&mending), [("N", "O")]);
}
