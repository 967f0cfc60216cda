//! What can stop a command, with its message, the way out and the exit code.
//!
//! Faults in the text are no failures: they are data, and the command goes on. A failure names the file, what is
//! wrong with it and what to do; 1 stands for a file that cannot be used, 2 for wrong usage.

use clap::builder::styling::{AnsiColor, Style};

use crate::glossary::GlossaryError;
use crate::output::OutputError;
use crate::source::InputError;

/// Why a command stopped.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// The text cannot be used.
    #[error(transparent)]
    Input(#[from] InputError),
    /// The file of senses cannot be used.
    #[error(transparent)]
    Glossary(#[from] GlossaryError),
    /// Something cannot be written.
    #[error(transparent)]
    Output(#[from] OutputError),
    /// There is nothing in the text to work with.
    #[error("{file}: no knitting pattern was found in it, neither a cast-on nor rows")]
    NoPattern {
        /// The text.
        file: String,
    },
    /// A piece is too large for a chart.
    #[error("{file}: {piece} cannot be charted: {error}")]
    Chart {
        /// The text.
        file: String,
        /// Which piece, in words.
        piece: String,
        /// Why.
        error: chart::ChartError,
    },
    /// The cloth of a piece cannot be worked out.
    #[error("{file}: the cloth of {piece} cannot be shown: {reason}")]
    Cloth {
        /// The text.
        file: String,
        /// Which piece, in words.
        piece: String,
        /// Why.
        reason: String,
    },
    /// The plan cannot be made.
    #[error("{}", in_file(file, problem))]
    Plan {
        /// The file of the plan.
        file: String,
        /// What is wrong.
        problem: makingup::Problem,
    },
    /// The booklet cannot be set.
    #[error("{file}: the booklet cannot be made: {error}")]
    Booklet {
        /// The text.
        file: String,
        /// Why.
        error: booklet::BookletError,
    },
    /// The shelf of projects cannot be used.
    #[error(transparent)]
    Shelf(#[from] shelf::ShelfError),
    /// The app cannot be served.
    #[error("the app cannot be served: {0}")]
    Server(std::io::Error),
    /// The arguments do not fit what they are about.
    #[error("{message}")]
    Usage {
        /// What is wrong.
        message: String,
        /// The way out.
        help: String,
    },
    /// The data files compiled in do not fit each other.
    #[error("the program's own data is damaged: {0}")]
    Data(#[from] reading::BadData),
    /// The reading cannot be written as JSON.
    #[error("the reading cannot be written as JSON: {0}")]
    Json(#[from] serde_json::Error),
}

impl Failure {
    /// The exit code: 1 for a file that cannot be used, 2 for wrong usage.
    pub fn exit_code(&self) -> u8 {
        if matches!(self, Failure::Usage { .. }) { 2 } else { 1 }
    }

    /// What to do about it.
    pub fn help(&self) -> String {
        match self {
            Failure::Input(error) => error.help().to_owned(),
            Failure::Glossary(error) => error.help().to_owned(),
            Failure::Output(error) => error.help().to_owned(),
            Failure::NoPattern { file } => {
                format!(
                    "give the part of the book that holds the rows; `loopwright read {file}` tells what is understood"
                )
            }
            Failure::Chart { file, .. } => format!("`loopwright write {file}` gives the rows in words"),
            Failure::Cloth { file, .. } => {
                format!("`loopwright read {file}` tells what is understood, and which rows do not come out")
            }
            Failure::Plan { problem, .. } => problem.help.clone(),
            Failure::Booklet { .. } => "`loopwright write` and `loopwright chart` give its parts".to_owned(),
            Failure::Shelf(error) => error.help().unwrap_or("look at the list of projects anew").to_owned(),
            Failure::Server(_) => {
                "leave --port out to have a free one, and see whether the program runs already".to_owned()
            }
            Failure::Usage { help, .. } => help.clone(),
            Failure::Data(_) | Failure::Json(_) => "build or install the program anew".to_owned(),
        }
    }

    /// Prints the message and the way out on standard error.
    pub fn tell(&self) {
        let error = Style::new().fg_color(Some(AnsiColor::Red.into())).bold();
        let help = Style::new().fg_color(Some(AnsiColor::Cyan.into())).bold();
        anstream::eprintln!("{error}error{error:#}: {self}");
        anstream::eprintln!("{help}help{help:#}: {}", self.help());
    }

    /// A reader of our output that has had enough is no failure.
    pub(crate) fn forgive_closed_pipe(self) -> Result<(), Failure> {
        match self {
            Failure::Output(OutputError::Closed) => Ok(()),
            other => Err(other),
        }
    }
}

/// What is wrong with a plan, with its file and the entry of it.
fn in_file(file: &str, problem: &makingup::Problem) -> String {
    match &problem.entry {
        Some(entry) => format!("{file}: {entry}: {problem}"),
        None => format!("{file}: {problem}"),
    }
}
