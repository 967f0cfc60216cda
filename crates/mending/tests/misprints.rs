//! Misprinted numbers in made-up lace, which the mender must put right.
//!
//! A small generator writes patterns whose rows go in even steps or whose halves mirror each other, in the plain words of
//! the time, and one number is set wrong so that the stitches do not come out. The seed is fixed, so every run is the same.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::fmt::Write as _;

use mending::{Orders, mend};
use reading::{Options, Reader};

/// A small generator of numbers, good enough to draw patterns.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, below: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % below
    }

    fn between(&mut self, from: u64, to: u64) -> u64 {
        from + self.roll(to - from + 1)
    }
}

/// One instruction: words with `#` for the number, the number, and whether it takes and makes that many stitches.
#[derive(Clone)]
enum Part {
    Knit(u64),
    Over,
    Together,
}

struct Pattern {
    cast_on: u64,
    rows: Vec<Vec<Part>>,
    /// Whether return rows tell their number of stitches.
    counted: bool,
}

fn words(part: &Part) -> String {
    match part {
        Part::Knit(n) => format!("knit {n}"),
        Part::Over => "make 1".to_owned(),
        Part::Together => "knit 2 together".to_owned(),
    }
}

fn made(row: &[Part]) -> u64 {
    row.iter().map(|part| if let Part::Knit(n) = part { *n } else { 1 }).sum()
}

impl Pattern {
    fn draw(dice: &mut Dice, rows: u64) -> Pattern {
        let counted = dice.roll(2) == 0;
        match dice.roll(3) {
            0 => {
                let (edge, middle) = (dice.between(1, 4), dice.between(1, 7));
                let row = |n: u64| {
                    vec![
                        Part::Knit(edge),
                        Part::Over,
                        Part::Knit(middle + 2 * n),
                        Part::Over,
                        Part::Knit(edge),
                    ]
                };
                Pattern { cast_on: 2 * edge + middle, rows: (0..rows).map(row).collect(), counted }
            }
            1 => {
                let (first, rest) = (dice.between(1, 4), dice.between(2, 6) + rows);
                let row =
                    |n: u64| vec![Part::Knit(first + n), Part::Over, Part::Together, Part::Knit(rest - n)];
                Pattern { cast_on: first + rest + 2, rows: (0..rows).map(row).collect(), counted }
            }
            _ => {
                let (side, middle) = (dice.between(2, 4) + rows, dice.between(1, 5));
                let row = |n: u64| {
                    let side = side - n;
                    vec![
                        Part::Knit(side),
                        Part::Together,
                        Part::Over,
                        Part::Knit(middle + 2 * n),
                        Part::Over,
                        Part::Together,
                        Part::Knit(side),
                    ]
                };
                Pattern { cast_on: 2 * side + middle + 4, rows: (0..rows).map(row).collect(), counted }
            }
        }
    }

    /// The text, and where each number of the pattern rows stands with its value.
    fn print(&self) -> (String, Vec<(usize, u64)>) {
        let mut text = format!("Cast on {} stitches.\n\n", self.cast_on);
        let mut numbers = Vec::new();
        for (index, row) in self.rows.iter().enumerate() {
            let label = 2 * index + 1;
            write!(text, "Row {label}. ").unwrap();
            for (at, part) in row.iter().enumerate() {
                let said = words(part);
                let said = if at == 0 { said.replacen('k', "K", 1) } else { format!(", {said}") };
                if let Part::Knit(n) = part {
                    numbers.push((text.len() + said.rfind(' ').unwrap() + 1, *n));
                }
                text.push_str(&said);
            }
            let left = if self.counted { format!(" {}", made(row)) } else { String::new() };
            write!(text, ".\nRow {}. Purl{left}.\n", label + 1).unwrap();
        }
        (text, numbers)
    }
}

/// A wrong number for a right one, near it as most are.
fn wrong(dice: &mut Dice, right: u64) -> u64 {
    let off = [1, 1, 1, 1, 2, 2, 3][dice.roll(7) as usize];
    if dice.roll(2) == 0 || right <= off { right + off } else { right - off }
}

fn rows(reading: &reading::Reading) -> Vec<String> {
    reading.pieces.iter().flat_map(|piece| &piece.worked.rows).map(|row| loops::tokens(&row.ops)).collect()
}

#[test]
fn a_misprinted_number_comes_first() {
    let reader = Reader::new().unwrap();
    let mut dice = Dice(1_850);
    let (mut tried, mut first, mut sure_and_wrong) = (0, 0, 0);
    while tried < 150 {
        let count = dice.between(4, 7);
        let (text, numbers) = Pattern::draw(&mut dice, count).print();
        let (at, right) = numbers[dice.roll(numbers.len() as u64) as usize];
        let misprint = wrong(&mut dice, right);
        let printed = format!("{}{misprint}{}", &text[..at], &text[at + right.to_string().len()..]);
        let mending = mend(&reader.study(), &printed, &Options::default(), &Orders::top(3));
        let meant = rows(&reader.read(&text, &Options::default()));
        if mending::troubles(&mending.printed, &printed).is_empty() {
            continue;
        }
        tried += 1;
        let found = mending.candidates.first().is_some_and(|mended| rows(&mended.reading) == meant);
        first += u32::from(found);
        sure_and_wrong += u32::from(mending.sure && !found);
        if !found {
            println!("{right} -> {misprint} in\n{printed}");
            for mended in &mending.candidates {
                println!("  {:.1} sure {} {:?}", mended.cost, mending.sure, mended.emendations);
            }
        }
    }
    println!("{first} of {tried} first, {sure_and_wrong} sure and wrong");
    assert!(first * 100 >= tried * 90, "{first} of {tried}");
    assert!(sure_and_wrong * 100 <= tried, "{sure_and_wrong} sure and wrong");
}

#[test]
fn made_up_lace_without_misprint_brings_no_correction() {
    let reader = Reader::new().unwrap();
    let mut dice = Dice(1_871);
    for _ in 0..60 {
        let count = dice.between(3, 9);
        let (text, _) = Pattern::draw(&mut dice, count).print();
        let mending = mend(&reader.study(), &text, &Options::default(), &Orders::top(3));
        assert!(mending.candidates.is_empty(), "{:?} in\n{text}", mending.candidates[0].emendations);
    }
}
