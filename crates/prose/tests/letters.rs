//! What the letters of a book mean is found out where no page explains them.

use prose::{Dialect, Prose, random_program, write};
use reading::{Options, Reader, Reading};

fn read(reader: &Reader, prose: &Prose, answers: &[(&str, &str)]) -> Reading {
    let answers = answers.iter().map(|(question, answer)| ((*question).to_owned(), (*answer).to_owned()));
    reader.read(
        &prose.text,
        &Options { cast_on: prose.cast_on, answers: answers.collect(), ..Options::default() },
    )
}

fn stitches(reading: &Reading) -> Vec<String> {
    let rows = reading.pieces.iter().flat_map(|piece| &piece.worked.rows);
    rows.map(|row| loops::tokens(&row.ops)).collect()
}

/// Whether another answer would give other stitches.
fn matters(reader: &Reader, prose: &Prose, question: &str, truth: &str, others: &[(String, f64)]) -> bool {
    let told = stitches(&read(reader, prose, &[(question, truth)]));
    others
        .iter()
        .filter(|(other, _)| other != truth)
        .any(|(other, _)| stitches(&read(reader, prose, &[(question, other.as_str())])) != told)
}

#[test]
fn letters_are_understood_without_an_explanation() {
    const SEEDS: u64 = 40;
    let reader = Reader::new().unwrap();
    let (mut asked, mut wrong) = (0, Vec::new());
    for dialect in Dialect::swapped().unwrap() {
        for seed in 0..SEEDS {
            let piece = random_program(seed);
            if piece.rows.len() < 6 {
                continue;
            }
            let prose = write(&piece, &dialect, seed);
            for decision in &read(&reader, &prose, &[]).decisions {
                let Some(truth) = prose.answers.get(&decision.question) else { continue };
                if matters(&reader, &prose, &decision.question, truth, &decision.answers) {
                    asked += 1;
                    if decision.answers[0].0 != *truth {
                        wrong.push(format!("{} {seed} {decision:?}", dialect.name));
                    }
                }
            }
        }
    }
    assert!(asked > 150, "{asked}");
    assert!(wrong.len() * 100 <= asked, "{wrong:#?}");
}

#[test]
fn a_decision_says_why() {
    let reader = Reader::new().unwrap();
    let text = "Cast on 20 stitches.\n\n1st Row.--P. 4, M. 1, take 2 together, P. 8, M. 1, take 2 together, P. 4.\n\n\
                2nd Row.--Pearl.\n\nRepeat.";
    let reading = reader.read(text, &Options::default());
    let letter = reading.decisions.iter().find(|decision| decision.question == "P").unwrap();
    assert_eq!(letter.answers[0].0, "plain");
    assert!(letter.why.iter().any(|reason| reason.contains("0 of 2 decreases")), "{:?}", letter.why);
}
