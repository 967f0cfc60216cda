//! What the words of a pattern mean.
//!
//! Senses stand in data files, each with its period, place and source; a [`Lexicon`] files their phrases and
//! finds them in a run of words. Knows operations by name; knows nothing of rows, needles, punctuation or files.
//! Start at [`Lexicon::builtin`].

pub mod numeral;
mod phrase;
mod sense;

pub use self::phrase::{BadPhrase, Found, PhraseBook, Printed, WordId};
pub use self::sense::{BadSenses, Context, From, Lexicon, Meaning, Sense, SenseId, YarnTo};
