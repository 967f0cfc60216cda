//! The idioms: phrases of the grammar that stand for no stitch, filed by their words.
//!
//! Knows the form of their file; not what the grammar makes of them.

use notation::PhraseBook;
use serde::Deserialize;

use crate::grammar::{Grammar, Terminal};

/// The idioms, filed by phrase.
#[derive(Debug)]
pub struct Idioms {
    pub(super) entries: Vec<Idiom>,
    pub(super) book: PhraseBook,
}

#[derive(Debug)]
pub(super) struct Idiom {
    pub(super) terminal: Terminal,
    pub(super) n: Option<u32>,
    pub(super) cost: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct IdiomEntry {
    terminal: String,
    n: Option<u32>,
    #[serde(default)]
    cost: f64,
    phrases: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct IdiomFile {
    idiom: Vec<IdiomEntry>,
}

/// A file of idioms that cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum BadIdioms {
    /// Not the form of a file of idioms.
    #[error("not a file of idioms: {0}")]
    Form(#[from] toml::de::Error),
    /// A phrase is not written in the small language.
    #[error(transparent)]
    Phrase(#[from] notation::BadPhrase),
}

impl Idioms {
    /// Reads the idioms of a file, their terminals named as in the grammar.
    ///
    /// # Errors
    /// [`BadIdioms`] when the file or a phrase is broken.
    pub fn parse(file: &str, grammar: &mut Grammar) -> Result<Idioms, BadIdioms> {
        let file: IdiomFile = toml::from_str(file)?;
        let mut idioms = Idioms { entries: Vec::new(), book: PhraseBook::default() };
        for entry in file.idiom {
            let index = u32::try_from(idioms.entries.len()).unwrap_or(u32::MAX);
            for phrase in &entry.phrases {
                idioms.book.add(phrase, index)?;
            }
            let terminal = grammar.terminal(&entry.terminal);
            idioms.entries.push(Idiom { terminal, n: entry.n, cost: entry.cost });
        }
        Ok(idioms)
    }

    /// Whether a word in lower case is one of any idiom.
    pub fn has(&self, word: &str) -> bool {
        self.book.word(word).is_some()
    }
}
