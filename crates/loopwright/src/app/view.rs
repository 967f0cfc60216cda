//! Everything that the front end shows of one state of a project, made of the same parts as the commands use.
//!
//! Knows a checked text and what she decided about it; knows nothing of how projects are kept or how views reach the
//! browser. [`View::of`] is pure: the same state gives the same view. Start there.

mod carry;
mod corrections;
mod diff;
mod doubts;
mod notation;
mod patch;
mod pieces;
mod words;

pub use self::carry::Earlier;
pub use self::patch::{Cut, Patch};
pub use self::pieces::{Charts, marks, style};

use std::collections::BTreeMap;

use mending::Ruling;
use wording::{Terms, Written, write};

use crate::app::utf16::Places;
use crate::app::wire::{Abbreviation, View};
use crate::checked::Checked;
use crate::choice::terms;
use crate::gauge::Gauge;

/// What she has said besides the text.
#[derive(Clone, Debug, Default)]
pub struct Given {
    /// Stitches cast on.
    pub cast_on: Option<u32>,
    /// Answers to questions of the whole text.
    pub answers: BTreeMap<String, String>,
    /// Corrections taken and refused.
    pub rulings: Vec<Ruling>,
    /// The gauge to tell sizes by.
    pub gauge: Option<Gauge>,
    /// The terms of the rows.
    pub terms: Terms,
}

/// What a view is made of.
struct Subject<'a> {
    checked: &'a Checked,
    given: &'a Given,
    places: Places,
}

impl View {
    /// The view of a checked text. Doubts that only a search can find are taken over from an earlier view where this
    /// text was only read.
    pub fn of(
        revision: u64,
        checked: &Checked,
        given: &Given,
        charts: &mut Charts,
        earlier: Option<&Earlier>,
    ) -> View {
        let subject = Subject { checked, given, places: Places::of(&checked.source.text) };
        let pieces = &checked.reading().pieces;
        let written: Vec<Written> = pieces.iter().map(|piece| write(&piece.piece, given.terms)).collect();
        let terms = terms(checked, checked.reading());
        let doubts = subject.doubts(&terms, earlier);
        View {
            revision,
            searched: checked.mending.searched,
            pieces: subject.pieces(&written, charts),
            open_doubts: doubts.iter().filter(|doubt| doubt.is_open()).count() as u32,
            doubts,
            notation: subject.notation(&terms),
            words: subject.words(),
            abbreviations: abbreviations(&written),
            error: None,
        }
    }

    /// A view of what cannot be read at all.
    pub fn failed(revision: u64, error: String) -> View {
        View {
            revision,
            searched: true,
            pieces: Vec::new(),
            doubts: Vec::new(),
            open_doubts: 0,
            notation: Vec::new(),
            words: Vec::new(),
            abbreviations: Vec::new(),
            error: Some(error),
        }
    }
}

/// The abbreviations of all pieces, each once, in the order of the alphabet.
fn abbreviations(written: &[Written]) -> Vec<Abbreviation> {
    crate::edition::abbreviations(written)
        .into_iter()
        .map(|one| Abbreviation { short: one.short, long: one.meaning })
        .collect()
}
