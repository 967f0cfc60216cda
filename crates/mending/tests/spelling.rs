//! Misspelt words are put right before anything else is searched.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use mending::{Mending, Orders, mend};
use reading::{Options, Reader};

fn mended(text: &str) -> Mending {
    mend(&Reader::new().unwrap().study(), text, &Options::default(), &Orders::top(3))
}

fn told(mending: &Mending) -> Vec<(&str, &str)> {
    mending.emendations().map(|one| (one.printed.as_str(), one.corrected.as_str())).collect()
}

#[test]
fn slips_of_letters_and_of_the_scan_are_put_right() {
    for (printed, meant) in
        [("knlt", "knit"), ("0ver", "over"), ("nanow", "narrow"), ("kn1t", "knit"), ("pnrl", "purl")]
    {
        let right = "Cast on 21 stitches.\n\n1st row: knit 3, over, narrow, knit 16.\n\n2nd row: purl 21.\n";
        let (before, after) = right.split_once(meant).unwrap();
        let text = format!("{before}{printed}{after}");
        let mending = mended(&text);
        assert_eq!(told(&mending), [(printed, meant)], "{text}");
        let clean = mended(right);
        let ops = |mending: &Mending| {
            mending.best().pieces[0].worked.rows.iter().map(|row| loops::tokens(&row.ops)).collect::<Vec<_>>()
        };
        assert_eq!(ops(&mending), ops(&clean), "{text}");
    }
}

#[test]
fn other_misprints_are_found_beside_them() {
    let text = "Cast on 21 stitches.\n\n1st row: knlt 3, over, narrow, knit 16.\n\n2nd row: purl 21.\n\n\
        3rd row: knit 4, over, narrow, knit 13.\n\n4th row: purl 21.\n\n5th row: knit 5, over, narrow, knit 14.\n\n\
        6th row: purl 21.\n";
    let mending = mended(text);
    let first = &mending.candidates[0].emendations;
    let words: Vec<_> = first.iter().map(|one| (one.printed.as_str(), one.corrected.as_str())).collect();
    assert_eq!(words, [("knlt", "knit"), ("knit 13", "knit 15")]);
    assert!(first.iter().all(|one| one.span.of(text) == one.printed), "places of the print");
}

#[test]
fn the_name_of_a_row_is_put_right() {
    let text = "Cast on 21 stitches.\n\n1st row: knit 3, over, narrow, knit 16.\n\nSecond row: purl 21.\n\n\
        Thlrd row: knit 4, over, narrow, knit 15.\n\nFourth row: purl 21.\n";
    assert_eq!(told(&mended(text)), [("Thlrd", "Third")]);
}

#[test]
fn mere_doubts_come_after_a_misspelt_word() {
    let row = |label: u32, first: u32| {
        format!(
            "{label}th row: knit {first}, over, narrow, knit {}.\n\n{}th row: purl.\n\n",
            10 - first,
            label + 1
        )
    };
    let right = format!("Cast on 12 stitches.\n\n{}{}{}{}", row(1, 1), row(3, 2), row(5, 7), row(7, 4));
    let doubt = mended(&right);
    assert!(!doubt.sure && !doubt.candidates.is_empty());
    let mending = mended(&right.replace("7th row: knit", "7th row: knlt"));
    assert_eq!(told(&mending), [("knlt", "knit")]);
    assert!(mending.candidates.len() > 1, "the doubt is told as well");
}

#[test]
fn words_of_prose_are_left_alone() {
    let text = "A pretty trimming for a dross or a cloth of finn.\n\nCast on 21 stitches.\n\n1st row: knit 3, over, \
        narrow, knit 16; this is the tow row.\n\n2nd row: purl 21.\n";
    assert_eq!(told(&mended(text)), [], "nothing is read better for them");
}
