//! What corrections cost that are only tried by reading, held against the costs of other misprints.

use reading::Options;

use super::*;
use crate::trouble::troubles;

/// The drafts of a text, each with the words as printed and as corrected.
fn all(text: &str) -> Vec<(String, String, f64)> {
    let reader = Reader::new().unwrap();
    let reading = reader.read(text, &Options::default());
    let out = drafts(&reader, &reading, &troubles(&reading, text), &Words::new(text));
    out.into_iter()
        .map(|draft| {
            let patch = &draft.patches[0];
            (patch.span.of(text).to_owned(), patch.corrected.clone(), draft.cost)
        })
        .collect()
}

/// What it costs to correct words of a text.
fn cost(text: &str, printed: &str, corrected: &str) -> f64 {
    let all = all(text);
    let found = all.iter().find(|(old, new, _)| old == printed && new == corrected);
    found.unwrap_or_else(|| panic!("{printed:?} to {corrected:?} in {all:#?}")).2
}

/// A number of a row off by one, off by two, and one that looks like another.
const OFF_BY_ONE: f64 = MISPRINT + 0.9;
const OFF_BY_TWO: f64 = MISPRINT + 1.6;
const LOOKS_ALIKE: f64 = MISPRINT + 1.9;

#[test]
fn a_mark_that_is_surely_missing_goes_before_every_number() {
    let multiple = MISPRINT + Class::Multiple.cost() + number_cost(4, 5, "4", "5");
    let start =
        cost("Cast on 13 stitches. 1st row: knit 3, over, narrow; repeat from *. 2nd row: purl.", "", "* ");
    let end =
        cost("Cast on 13 stitches. 1st row: * knit 3, over, narrow; repeat from. 2nd row: purl.", "", " *,");
    for mark in [start, end] {
        assert!(mark < multiple, "{mark}: that it is missing is beyond doubt");
        assert!(mark > MISPRINT / 2.0, "{mark}: where it stood is not");
    }
}

#[test]
fn a_number_that_only_one_row_can_have_costs_nothing_where_it_is_near() {
    let rows = |second: u32| {
        format!(
            "Cast on 9 stitches.\n\n1st row. Plain. 2nd row. Purl. 3rd row. Knit 9. {second}th row. Purl 9. \
             5th row. Plain. 6th row. Purl. 7th row. Plain. 8th row. Purl. 9th row. Plain. 10th row. Purl.\n"
        )
    };
    assert!(cost(&rows(5), "5th", "4th") < 0.0);
    assert!(cost(&rows(6), "6th", "4th") < 0.0);
    assert!(cost(&rows(10), "10th", "4th") > 0.0, "it looks like none");
}

#[test]
fn a_word_for_another_is_likelier_before_words_not_understood_and_least_beside_the_rows() {
    let plain = cost("Cast on 9 stitches. 1st row: knit 4, narrow, knit 4. 2nd row: purl.", "narrow", "knit");
    assert!((plain - confused_cost(0.0, false, false)).abs() < 1e-9, "{plain}");
    let before = confused_cost(0.0, false, true);
    assert!(OFF_BY_TWO < before && before < LOOKS_ALIKE, "{before}");
    let many = confused_cost(0.0, true, false);
    assert!(OFF_BY_ONE < many && many < OFF_BY_TWO, "{many}");
    let rows = MISPRINT + Class::Rows.cost();
    let beside = confused_cost(APART, false, false);
    assert!(rows < beside && beside < rows + 0.5, "{beside}");
    let above = confused_cost(BEFORE, false, false);
    assert!(plain + 0.3 < above && above < rows, "{above}");
}

#[test]
fn numbers_changed_about_by_a_word_that_no_instruction_has_go_before_every_number_of_a_row() {
    let text = "Cast on 9 stitches. 1st row: knit twice, (over, narrow) 2, knit 3. 2nd row: purl.";
    let about = cost(text, "twice", "2");
    assert!(about < OFF_BY_ONE, "{about}: no number makes sense of the word");
    assert!(about > MISPRINT, "{about}: with which it changed places is not beyond doubt");
}

#[test]
fn a_row_is_dearly_read_where_words_of_it_are_passed_over() {
    let dear = |row: &str| {
        let text = format!("Cast on 15 stitches. 1st row: {row} 2nd row: purl 15.");
        let reading = Reader::new().unwrap().read(&text, &Options::default());
        dearly_read(&reading.pieces[0]).count()
    };
    assert_eq!(dear("knit 4, knit 2 together, over, knit 3, over, narrow, knit 4."), 0);
    assert_eq!(dear("knit 4, knit 2 together, on, knit 3, over, narrow, knit 4."), 1, "\"together, on\"");
}
