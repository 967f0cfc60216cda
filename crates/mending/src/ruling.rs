//! What the user has decided about corrections: taken ones are read as if they were printed, refused ones are not
//! offered again. Taking words as they are printed leaves them alone: nothing in them is corrected.
//!
//! Knows places of the print and words; not how corrections are found.

use span::Span;

use crate::patch::{Patch, Patched, apply};
use crate::{Emendation, Mending};

/// One correction that the user has decided about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ruling {
    /// Where the printed words stand; an empty span where words are missing.
    pub span: Span,
    /// The words as printed, by which a ruling on words that have changed since is known.
    pub printed: String,
    /// The words as they should be.
    pub corrected: String,
    /// What speaks for it, as it was told when it was decided.
    pub why: String,
    /// Whether it was taken; else it was refused.
    pub taken: bool,
}

impl Ruling {
    /// Whether it leaves the words as they are printed, in which case nothing in them is corrected.
    pub fn leaves_alone(&self) -> bool {
        self.taken && self.corrected == self.printed
    }
}

/// What a search is asked for.
#[derive(Clone, Copy, Default)]
pub struct Orders<'a> {
    /// How many corrected readings are wanted at most.
    pub top: usize,
    /// What the user has decided.
    pub rulings: &'a [Ruling],
    /// Says that the search may be given up, when its answer is of no more use.
    pub stop: Option<&'a dyn Fn() -> bool>,
}

impl Orders<'_> {
    /// So many corrected readings, nothing decided yet.
    pub fn top(top: usize) -> Orders<'static> {
        Orders { top, rulings: &[], stop: None }
    }

    /// Whether the search is to be given up.
    pub(crate) fn stopped(&self) -> bool {
        self.stop.is_some_and(|stop| stop())
    }
}

/// A text with the corrections that were taken, and those that were refused.
pub(crate) struct Ruled<'a> {
    print: &'a str,
    taken: Vec<&'a Ruling>,
    refused: Vec<&'a Ruling>,
    /// The stretches of the print that are left as they are.
    kept: Vec<Span>,
    patched: Patched,
}

impl<'a> Ruled<'a> {
    /// Applies the rulings that fit the text: those whose words still stand there, the first where two overlap.
    pub fn of(print: &'a str, rulings: &'a [Ruling]) -> Ruled<'a> {
        let patched = Patched::unchanged(print);
        let mut ruled = Ruled { print, taken: Vec::new(), refused: Vec::new(), kept: Vec::new(), patched };
        let mut patches = Vec::new();
        let stands = |ruling: &&Ruling| {
            !ruling.span.is_detached() && print.get(ruling.span.range()) == Some(ruling.printed.as_str())
        };
        for ruling in rulings.iter().filter(stands) {
            if !ruling.taken {
                ruled.refused.push(ruling);
                continue;
            }
            if ruling.leaves_alone() {
                ruled.kept.push(ruling.span);
                continue;
            }
            patches.push(Patch::new(ruling.span, ruling.corrected.as_str()));
            match apply(print, &patches) {
                Some(patched) => {
                    ruled.patched = patched;
                    ruled.taken.push(ruling);
                }
                None => {
                    patches.pop();
                }
            }
        }
        ruled
    }

    /// The text with what was taken.
    pub fn text(&self) -> &str {
        &self.patched.text
    }

    /// Whether a correction of [`Ruled::text`] may be offered: it was not refused, and the words are neither the user's
    /// nor to be left alone.
    pub fn allows(&self, patch: &Patch) -> bool {
        let place = self.patched.spot(patch.span);
        let refused = |ruling: &&Ruling| ruling.span == place && ruling.corrected == patch.corrected;
        let kept = |kept: &Span| kept.start <= place.end && place.start <= kept.end;
        let is_kept = self.kept.iter().any(kept);
        !is_kept && !self.patched.changes(patch.span) && !self.refused.iter().any(refused)
    }

    /// Brings what was found in [`Ruled::text`] back to the print.
    pub fn to_print(&self, mending: &mut Mending) {
        mending.taken = self.taken.iter().map(|ruling| self.emendation(ruling, mending)).collect();
        if self.taken.is_empty() {
            return;
        }
        crate::place::to_print(&mut mending.printed, &self.patched);
        for candidate in mending.candidates.iter_mut().chain(&mut mending.respelled) {
            crate::place::to_print(&mut candidate.reading, &self.patched);
            for emendation in &mut candidate.emendations {
                emendation.span = self.patched.spot(emendation.span);
                emendation.span.of(self.print).clone_into(&mut emendation.printed);
            }
        }
    }

    /// A correction that was taken, as it is told. The reading is still one of [`Ruled::text`].
    fn emendation(&self, ruling: &Ruling, mending: &Mending) -> Emendation {
        let mut rows = mending.printed.pieces.iter().flat_map(|piece| &piece.plan.rows);
        let row = rows.find(|row| self.patched.spot(row.span).covers(ruling.span));
        Emendation {
            row: row.map_or_else(|| "cast on".to_owned(), |row| row.label.clone()),
            printed: ruling.printed.clone(),
            corrected: ruling.corrected.clone(),
            span: ruling.span,
            cost: 0.0,
            why: ruling.why.clone(),
        }
    }
}
