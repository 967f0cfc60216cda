//! What may be corrected in a piece, as the search sees it, and what it gives back.

use crate::change::Base;
use crate::patch::Patch;

/// Rows that share their printed words, and what may be changed in them.
pub struct Group {
    /// The rows.
    pub rows: Vec<usize>,
    /// Their readings, each with its changes.
    pub bases: Vec<Base>,
}

/// A correction that gives whole rows other readings.
pub struct Whole {
    /// Nats against it, [`MISPRINT`] not counted.
    pub cost: f64,
    /// The rows with the row whose readings they take.
    pub rows: Vec<(usize, usize)>,
    /// The corrected words.
    pub patches: Vec<Patch>,
}

/// Another number cast on.
#[derive(Clone, Copy, Debug)]
pub struct Start {
    /// The number.
    pub count: u32,
    /// Nats against it, [`MISPRINT`] not counted.
    pub cost: f64,
}

/// Everything that may be corrected in a piece.
#[derive(Default)]
pub struct Catalog {
    /// Changes within rows.
    pub groups: Vec<Group>,
    /// Changes of whole rows.
    pub wholes: Vec<Whole>,
    /// Other numbers cast on.
    pub starts: Vec<Start>,
    /// Rows whose stated count may be wrong.
    pub totals: Vec<usize>,
}

impl Catalog {
    /// The groups whose first row this is.
    pub fn groups_at(&self, row: usize) -> impl Iterator<Item = usize> {
        self.groups
            .iter()
            .enumerate()
            .filter(move |(_, group)| group.rows.first() == Some(&row))
            .map(|(index, _)| index)
    }
}

/// Which correction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// A change of the rows of a group.
    Change {
        /// Index of the group.
        group: usize,
        /// Index of its reading.
        base: usize,
        /// Index of the change.
        change: usize,
    },
    /// A correction of whole rows, by index.
    Whole(usize),
    /// Another number cast on.
    Start(u32),
    /// The count stated after a row should be this.
    Total(usize, u32),
}

/// One correction with its cost, [`MISPRINT`] counted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edit {
    /// What it is.
    pub what: What,
    /// Nats against it.
    pub cost: f64,
}

/// Corrections that go together, with the cost of the whole.
#[derive(Clone, Debug)]
pub struct Hit {
    /// The corrections.
    pub edits: Vec<Edit>,
    /// Nats against the corrections and the piece as it then is.
    pub cost: f64,
}
