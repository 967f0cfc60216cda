//! How the rows of a piece follow themselves.
//!
//! Rows that only set the work up are worked once: those of brioche begin on plain loops, and what comes after finds a
//! slipped stitch and the yarn laid over it in every second place. They are known by what they leave on the needles,
//! not by their words.

use std::fmt;

use crate::{ClothGraph, Piece, Slip, Worked};

/// Rows that cannot follow themselves: they leave another number of stitches than they began with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DoesNotRepeat {
    /// Stitches at the beginning.
    pub begins: u32,
    /// Stitches at the end.
    pub ends: u32,
}

impl fmt::Display for DoesNotRepeat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let DoesNotRepeat { begins, ends } = self;
        write!(f, "its rows begin with {begins} stitches and end with {ends}, so they do not repeat")
    }
}

impl std::error::Error for DoesNotRepeat {}

impl Piece {
    /// The piece with as many rows as it has so many times over; see [`Piece::with_rows`].
    ///
    /// # Errors
    /// [`DoesNotRepeat`] when the rows do not leave what they began with.
    pub fn repeated(&self, times: u32) -> Result<Piece, DoesNotRepeat> {
        self.with_rows(self.rows.len() * times as usize)
    }

    /// The piece with so many rows, those it has over and over but for the ones that set it up, each on the side that
    /// then faces.
    ///
    /// # Errors
    /// [`DoesNotRepeat`] when more are wanted than there are, and the rows do not leave what they began with.
    pub fn with_rows(&self, count: usize) -> Result<Piece, DoesNotRepeat> {
        self.with_rows_after(self.set_up_rows(), count)
    }

    /// The same where so many rows at the beginning are not worked again: "commence again from the 4th row".
    ///
    /// # Errors
    /// [`DoesNotRepeat`] when more are wanted than there are, and the others do not leave what they began with.
    pub fn with_rows_after(&self, set_up: usize, count: usize) -> Result<Piece, DoesNotRepeat> {
        let worked = crate::work(self);
        let after = |rows: usize| match rows {
            0 => self.cast_on,
            _ => worked.rows.get(rows - 1).map_or(self.cast_on, |row| row.after),
        };
        let more = count > self.rows.len();
        let first = if more { set_up.min(self.rows.len()) } else { 0 };
        let again = self.rows.len() - first;
        let (begins, ends) = (after(first), after(self.rows.len()));
        if more && (begins != ends || again == 0) {
            return Err(DoesNotRepeat { begins, ends });
        }
        let turns = worked.rows[first..].iter().map(|row| crate::tally(&row.ops).turns);
        let flips = turns.filter(|&turns| turns || self.worked == Worked::Flat).count() % 2 == 1;
        let mut repeated = self.clone();
        repeated.rows = (0..count)
            .map(|place| {
                let time = place.saturating_sub(first) / again.max(1);
                let mut row = self.rows[place - time * again].clone();
                if flips && time % 2 == 1 {
                    row.side = row.side.turned();
                }
                row
            })
            .collect();
        Ok(repeated)
    }

    /// How many rows at the beginning only set the work up: they are not worked again where the others are.
    pub fn set_up_rows(&self) -> usize {
        let left = self.units_after(self.rows.len());
        if !left.contains(&true) {
            return 0;
        }
        (1..self.rows.len()).find(|&rows| self.units_after(rows) == left).unwrap_or(0)
    }

    /// For each loop on the needles after so many rows, as the next row meets it, whether it is a slipped stitch with
    /// the yarn laid over it.
    fn units_after(&self, rows: usize) -> Vec<bool> {
        let begun = Piece { rows: self.rows[..rows].to_vec(), ..self.clone() };
        let Ok(graph) = ClothGraph::work(&begun) else { return Vec::new() };
        let is_unit = |id: &crate::StitchId| graph.stitches()[id.index()].slipped == Some(Slip::YarnOver);
        graph.live().iter().map(is_unit).collect()
    }
}
