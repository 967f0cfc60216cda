//! How sure the reading of the words is.
//!
//! | told | words |
//! |---|---|
//! | 0 | not understood |
//! | 1 | in a row that does not come out, corrected, or of a sense that could well be another |
//! | 2 | everything else that made stitches |

use std::collections::BTreeMap;

use reading::{PieceReading, Reading};
use span::Span;

use super::Subject;
use super::carry::touch;
use super::doubts::is_open;
use crate::app::wire::WordView;
use crate::choice::uses;
use crate::fault::faults;

impl Subject<'_> {
    /// The words that stitches were made of, and those not understood, in the order of the text.
    pub fn words(&self) -> Vec<WordView> {
        let reading = self.checked.reading();
        let mut sure: BTreeMap<Span, u8> = BTreeMap::new();
        let mut note = |span: Span, level: u8| {
            if !span.is_detached() && span.start < span.end {
                let known = sure.entry(span).or_insert(level);
                *known = level.min(*known);
            }
        };
        for (index, piece) in reading.pieces.iter().enumerate() {
            rows_of(reading, index, piece, &mut note);
        }
        let open: Vec<&str> = reading
            .decisions
            .iter()
            .filter(|decision| is_open(decision))
            .map(|decision| decision.question.as_str())
            .collect();
        for (span, question) in uses(self.checked, reading) {
            if open.contains(&question.as_str()) {
                note(span, 1);
            }
        }
        for one in self.checked.emendations().filter(|one| !one.span.is_detached()) {
            let touched = |span: &Span| touch(*span, one.span);
            sure.iter_mut().filter(|(span, _)| touched(span)).for_each(|(_, level)| *level = (*level).min(1));
        }
        reading.unread.iter().for_each(|span| {
            sure.insert(*span, 0);
        });
        let told =
            sure.into_iter().filter_map(|(span, sure)| Some(WordView { at: self.places.at(span)?, sure }));
        told.collect()
    }
}

fn rows_of(reading: &Reading, index: usize, piece: &PieceReading, note: &mut impl FnMut(Span, u8)) {
    let faults: Vec<usize> =
        faults(reading).iter().filter(|fault| fault.piece == index).map(|fault| fault.row).collect();
    for (row, worked) in piece.worked.rows.iter().enumerate() {
        let level = if faults.contains(&row) { 1 } else { 2 };
        worked.ops.chunk_by(|a, b| a.span == b.span).for_each(|run| note(run[0].span, level));
    }
}
