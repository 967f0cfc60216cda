//! The senses in force: the built-in ones, and those of a file, which outrank them.
//!
//! The file is either the book's own explanation of its terms, in prose, or a file of `[[sense]]` entries in the
//! form of the built-in one.

use std::path::Path;

use notation::{BadSenses, From, Lexicon};
use reading::senses_of;

use crate::choice::one_line;
use crate::failure::Failure;
use crate::source::{InputError, Source};

/// What a file of senses is known by.
const ENTRY: &str = "[[sense]]";

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
            GlossaryError::Senses { .. } => {
                "each sense is a [[sense]] with id, op and phrases, as in the built-in file"
            }
        }
    }
}

/// The senses in force.
#[derive(Clone, Debug)]
pub struct Senses {
    /// The senses.
    pub lexicon: Lexicon,
    /// The book's own explanation of its terms; empty where none was given.
    pub explained: String,
    /// Explanations that were not understood.
    pub not_understood: Vec<String>,
}

impl Senses {
    /// The built-in ones.
    ///
    /// # Errors
    /// [`Failure::Data`] only if the data files compiled in are broken.
    pub fn builtin() -> Result<Senses, Failure> {
        let lexicon = Lexicon::builtin().map_err(reading::BadData::Senses)?;
        Ok(Senses { lexicon, explained: String::new(), not_understood: Vec::new() })
    }

    /// The built-in ones, and those of a file if one is named.
    ///
    /// # Errors
    /// [`Failure::Glossary`] when the file cannot be used.
    pub fn load(file: Option<&Path>) -> Result<Senses, Failure> {
        let senses = Senses::builtin()?;
        match file {
            Some(path) => Ok(senses.with(&Source::load(path).map_err(GlossaryError::Input)?)?),
            None => Ok(senses),
        }
    }

    /// These with those of a file.
    ///
    /// # Errors
    /// [`GlossaryError::Senses`] when an entry is not well formed; prose is never refused.
    pub fn with(mut self, source: &Source) -> Result<Senses, GlossaryError> {
        if source.text.contains(ENTRY) {
            let added = self.lexicon.add_file(&source.text, From::Glossary);
            added.map_err(|bad| GlossaryError::Senses { file: source.name.clone(), bad })?;
            return Ok(self);
        }
        let glossary = senses_of(&source.text, &self.lexicon);
        let not_understood = glossary.not_understood.iter().map(|span| one_line(span.of(&source.text)));
        self.not_understood = not_understood.collect();
        self.explained = source.text.clone();
        Ok(self)
    }
}
