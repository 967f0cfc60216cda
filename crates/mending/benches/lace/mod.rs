//! Lace to measure with, rightly printed and not.

#![allow(clippy::unwrap_used, reason = "a measurement that cannot go on has failed")]

use std::fmt::Write as _;

/// Lace of so many rows over 25 stitches in which a hole wanders to and fro; every pattern row is told.
pub fn lace(rows: usize) -> String {
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
pub fn misprinted(rows: usize, wrong: &[usize]) -> String {
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
