//! How the rows of a piece follow themselves.
//!
//! Rows that only set the work up are worked once: those of brioche begin on plain loops, and what comes after finds a
//! slipped stitch and the yarn laid over it in every second place. These are known by what they leave on the needles;
//! others because the text says where it begins again ([`Piece::once`]).

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

/// Which rows follow themselves: those at the beginning are worked once, the others over and over.
///
/// A place is a row counted through all times, from 0; times and rows are counted from 0 too.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Repeat {
    /// Rows that are worked once.
    pub once: usize,
    /// Rows that are worked again.
    pub again: usize,
}

impl Repeat {
    /// Rows of so many times through.
    pub fn rows(self, times: usize) -> usize {
        if times == 0 { 0 } else { self.once.saturating_add(self.again.saturating_mul(times)) }
    }

    /// The time through, and the row, of a place.
    pub fn at(self, place: usize) -> (usize, usize) {
        let time = place.saturating_sub(self.once) / self.again.max(1);
        (time, place - time * self.again)
    }

    /// The place of a row in a time through; one that is worked once leads to the first that is worked again, but for
    /// the first time through.
    pub fn place(self, time: usize, row: usize) -> usize {
        time.saturating_mul(self.again).saturating_add(if time == 0 { row } else { row.max(self.once) })
    }
}

impl Piece {
    /// The piece with its rows so many times over, those that are worked once at the beginning only; see
    /// [`Piece::with_rows`].
    ///
    /// # Errors
    /// [`DoesNotRepeat`] when the rows do not leave what they began with.
    pub fn repeated(&self, times: u32) -> Result<Piece, DoesNotRepeat> {
        self.with_rows(self.repeat().rows(times as usize))
    }

    /// The piece with so many rows, those it has over and over but for the ones that are worked once, each on the side
    /// that then faces.
    ///
    /// # Errors
    /// [`DoesNotRepeat`] when more are wanted than there are, and the others do not leave what they began with.
    pub fn with_rows(&self, count: usize) -> Result<Piece, DoesNotRepeat> {
        let worked = crate::work(self);
        let after = |rows: usize| match rows {
            0 => self.cast_on,
            _ => worked.rows.get(rows - 1).map_or(self.cast_on, |row| row.after),
        };
        let repeat = self.repeat();
        let (begins, ends) = (after(repeat.once), after(self.rows.len()));
        if count > self.rows.len() && (begins != ends || repeat.again == 0) {
            return Err(DoesNotRepeat { begins, ends });
        }
        let turns = worked.rows[repeat.once..].iter().map(|row| crate::tally(&row.ops).turns);
        let flips = turns.filter(|&turns| turns || self.worked == Worked::Flat).count() % 2 == 1;
        let mut repeated = self.clone();
        repeated.rows = (0..count)
            .map(|place| {
                let (time, row) = repeat.at(place);
                let mut row = self.rows[row].clone();
                if flips && time % 2 == 1 {
                    row.side = row.side.turned();
                }
                row
            })
            .collect();
        Ok(repeated)
    }

    /// Which rows follow themselves: not those that the text tells to work once, nor those that only set the work up.
    pub fn repeat(&self) -> Repeat {
        let told = if self.once < self.rows.len() { self.once } else { 0 };
        let once = told.max(self.set_up_rows());
        Repeat { once, again: self.rows.len() - once }
    }

    /// How many rows at the beginning only set the work up, as what is on the needles shows.
    fn set_up_rows(&self) -> usize {
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
