//! The search for the correction of the printed text that makes the arithmetic come out.
//!
//! Knows candidate corrections, their cost and their evidence; not how text is printed. Start at [`mend()`].

mod catalog;
mod change;
mod class;
mod cut;
mod doubt;
mod draft;
mod eye;
mod face;
mod habits;
mod mend;
mod moved;
mod named;
mod numbering;
mod odd;
mod patch;
mod place;
mod purse;
mod referred;
mod regular;
mod rows;
mod ruling;
mod search;
mod spelling;
mod strayed;
mod trouble;
mod turning;
mod twice;
mod whole;
mod words;
mod wound;

pub use self::mend::{each_problem, mend, read_ruled, regularity};
pub use self::ruling::{Orders, Ruling};
pub use self::search::{Correction, Model, Problem, Step};
pub use self::trouble::{Trouble, troubles};

use reading::Reading;
use serde::Serialize;
use span::Span;

/// One correction of the printed text.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Emendation {
    /// The row, by its printed number or name; `cast on` for the cast-on.
    pub row: String,
    /// The words as printed; empty where words are missing.
    pub printed: String,
    /// The words as they should be; empty where words are too many.
    pub corrected: String,
    /// Where the printed words stand; an empty span where words are missing.
    pub span: Span,
    /// Nats against the misprint.
    pub cost: f64,
    /// What speaks for it, in one plain sentence.
    pub why: String,
}

/// The text as some corrections would have it.
#[derive(Clone, Debug)]
pub struct Mended {
    /// Nats against it, corrections and all.
    pub cost: f64,
    /// The corrections, in the order of the text.
    pub emendations: Vec<Emendation>,
    /// The reading with them.
    pub reading: Reading,
}

/// What the mender found.
#[derive(Clone, Debug)]
pub struct Mending {
    /// The reading of the text as printed, but for the corrections that the user took.
    pub printed: Reading,
    /// Those corrections, in the order in which they were taken.
    pub taken: Vec<Emendation>,
    /// The text with the words put right that are surely misspelt, where there are any.
    pub respelled: Option<Mended>,
    /// Corrected readings, best first; none where the text needs none.
    pub candidates: Vec<Mended>,
    /// Whether the first is so far ahead of the others that it may be applied.
    pub sure: bool,
    /// Whether corrections were searched at all: a very long text, or one with very much that does not come out, is only
    /// read.
    pub searched: bool,
    /// Whether the search was ended before everything was tried that might be, because it had taken so much work. What was
    /// left is less likely than what was tried; but then no correction is sure.
    pub cut_short: bool,
}

impl Mending {
    /// The reading to go on with: the corrected one where it is sure, else the text as printed but for misspelt words.
    pub fn best(&self) -> &Reading {
        self.applied().map_or(&self.printed, |mended| &mended.reading)
    }

    /// The corrections in that reading: those that the user took, and those that are sure.
    pub fn emendations(&self) -> impl Iterator<Item = &Emendation> {
        self.taken.iter().chain(self.applied().into_iter().flat_map(|mended| &mended.emendations))
    }

    /// The corrected reading that is applied unasked.
    fn applied(&self) -> Option<&Mended> {
        self.candidates.first().filter(|_| self.sure).or(self.respelled.as_ref())
    }
}
