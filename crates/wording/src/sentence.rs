//! A phrase as a sentence without its full stop.

use crate::phrase::{Part, Phrase, Step, Verb};
use crate::terms::{Terms, Word, stitches};

/// Writes a row: `K1, *k2tog, yo; repeat from * to last 3 sts, k3`.
pub fn sentence(phrase: &Phrase, terms: Terms) -> String {
    let mut steps: Vec<String> = match phrase.steps.as_slice() {
        [] => vec!["work no sts".to_owned()],
        [Step::Sweep { verb, left: 0 }] => vec![word(*verb).to_owned()],
        steps => steps.iter().map(|step| written_step(step, terms)).collect(),
    };
    if phrase.unworked > 0 {
        steps.push(format!("leaving {} unworked", stitches(phrase.unworked)));
    }
    capitalised(&steps.join(", "))
}

/// The text with its first letter a capital, if it begins with one or a mark before one.
pub(crate) fn capitalised(text: &str) -> String {
    let begin = text.find(|c| !matches!(c, '*' | '(')).unwrap_or(0);
    let (marks, rest) = text.split_at(begin);
    let mut letters = rest.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    marks.chars().chain(first).chain(letters.clone()).collect()
}

fn written_step(step: &Step, terms: Terms) -> String {
    match step {
        Step::Part(part) => written_part(part, terms),
        Step::Across { unit, left } => {
            let unit: Vec<String> = unit.iter().map(|part| written_part(part, terms)).collect();
            format!("*{}; repeat from * {}", unit.join(", "), reach(*left))
        }
        Step::Sweep { verb, left } => format!("{} {}", word(*verb), reach(*left)),
        Step::BindOffAll => format!("{} all sts", terms.word(Word::BindOff)),
    }
}

fn written_part(part: &Part, terms: Terms) -> String {
    match part {
        Part::Run(run) => terms.run(*run),
        Part::Times { runs, times } => {
            let runs: Vec<String> = runs.iter().map(|run| terms.run(*run)).collect();
            format!("({}) {times} times", runs.join(", "))
        }
    }
}

fn reach(left: u32) -> String {
    match left {
        0 => "to end".to_owned(),
        1 => "to last st".to_owned(),
        _ => format!("to last {left} sts"),
    }
}

fn word(verb: Verb) -> &'static str {
    match verb {
        Verb::Knit => "knit",
        Verb::Purl => "purl",
    }
}
