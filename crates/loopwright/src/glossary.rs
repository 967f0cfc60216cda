//! The senses in force: the built-in ones, and those of a file.
//!
//! A file of senses is TOML in the form of the built-in one. A book's explanation in prose is recognised and told
//! apart from a damaged file of senses, but not read into senses here.

use std::path::Path;

use notation::{BadSenses, From, Lexicon};

use crate::failure::Failure;
use crate::source::{InputError, Source};

/// A file of senses that cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum GlossaryError {
    /// The file cannot be read.
    #[error(transparent)]
    Input(#[from] InputError),
    /// The senses in it are not well formed.
    #[error("{file}: {bad}")]
    Senses {
        /// The file.
        file: String,
        /// What is wrong.
        bad: BadSenses,
    },
}

impl GlossaryError {
    /// What to do about it.
    pub fn help(&self) -> &'static str {
        match self {
            GlossaryError::Input(error) => error.help(),
            GlossaryError::Senses { .. } => "each sense is a [[sense]] with id, op and phrases, as in the built-in file",
        }
    }
}

/// The senses in force, and whether a file was prose, which adds none.
pub fn lexicon(file: Option<&Path>) -> Result<(Lexicon, Option<String>), Failure> {
    let mut lexicon = Lexicon::builtin().map_err(reading::BadData::Senses)?;
    let Some(path) = file else { return Ok((lexicon, None)) };
    let source = Source::load(path).map_err(GlossaryError::Input)?;
    match lexicon.add_file(&source.text, From::Glossary) {
        Ok(()) => Ok((lexicon, None)),
        Err(BadSenses::Form(_)) if !source.text.contains("[[sense]]") => Ok((lexicon, Some(source.name))),
        Err(bad) => Err(GlossaryError::Senses { file: source.name, bad }.into()),
    }
}
