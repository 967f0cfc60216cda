//! What every command is told: the text and what is known of it beforehand.

use std::collections::BTreeMap;
use std::path::PathBuf;

use loops::ROW_LIMIT;
use notation::Lexicon;
use reading::Options;
use wording::Terms;

use crate::failure::Failure;

/// The text, and what is known of it beforehand.
#[derive(Debug, clap::Args)]
pub struct ReadingArgs {
    /// The text of the pattern; `-` is standard input
    pub file: PathBuf,
    /// The book's own explanation of its terms, or a file of [[sense]] entries; outranks the built-in senses
    #[arg(long, value_name = "FILE")]
    pub glossary: Option<PathBuf>,
    /// Stitches cast on, where another part of the book tells the number
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=ROW_LIMIT as i64))]
    pub cast_on: Option<u32>,
    /// Settles a question that holds for the whole text, such as P=plain; may be given again
    #[arg(long = "choose", value_name = "QUESTION=ANSWER", value_parser = choice)]
    pub choices: Vec<(String, String)>,
}

/// The country whose terms are used.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub enum Country {
    /// Bind off, gauge
    #[default]
    Us,
    /// Cast off, tension
    Uk,
}

impl From<Country> for Terms {
    fn from(country: Country) -> Terms {
        match country {
            Country::Us => Terms::Us,
            Country::Uk => Terms::Uk,
        }
    }
}

fn choice(text: &str) -> Result<(String, String), String> {
    match text.split_once('=') {
        Some((question, answer)) if !question.is_empty() && !answer.is_empty() => {
            Ok((question.to_owned(), answer.to_owned()))
        }
        _ => Err("a choice is QUESTION=ANSWER, such as P=plain".to_owned()),
    }
}

impl ReadingArgs {
    /// What the reader is told beforehand.
    ///
    /// # Errors
    /// A usage failure for a choice that the senses in force do not offer.
    pub fn options(&self, lexicon: &Lexicon) -> Result<Options, Failure> {
        for (question, answer) in &self.choices {
            check_choice(lexicon, question, answer)?;
        }
        Ok(Options {
            cast_on: self.cast_on,
            answers: self.choices.iter().cloned().collect(),
            ..Options::default()
        })
    }
}

/// The questions that the senses raise, each with its answers; `no` is one where there is a single other.
pub fn offered(lexicon: &Lexicon) -> BTreeMap<&str, Vec<&str>> {
    let mut offered: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (question, answer) in lexicon.senses().filter_map(|(_, sense)| sense.choice.as_ref()) {
        let answers = offered.entry(question).or_default();
        if !answers.contains(&answer.as_str()) {
            answers.push(answer);
        }
    }
    for answers in offered.values_mut().filter(|answers| answers.len() == 1) {
        answers.push("no");
    }
    offered
}

/// Whether the senses in force offer an answer to a question.
///
/// # Errors
/// A usage failure that lists what they offer.
pub fn check_choice(lexicon: &Lexicon, question: &str, answer: &str) -> Result<(), Failure> {
    let offered = offered(lexicon);
    let Some(answers) = offered.get(question) else {
        let questions: Vec<&str> = offered.keys().copied().collect();
        return Err(Failure::Usage {
            message: format!("--choose {question}={answer}: there is no question \"{question}\""),
            help: format!("the questions are {}", questions.join(", ")),
        });
    };
    if answers.contains(&answer) {
        return Ok(());
    }
    Err(Failure::Usage {
        message: format!("--choose {question}={answer}: \"{answer}\" is no answer to \"{question}\""),
        help: format!("the answers are {}", answers.join(", ")),
    })
}
