//! Single misprints, put into a text whose meaning is known.
//!
//! The classes are those found in old books (reference table of misprints, 99 faults of five books). A change
//! counts only if the row that it stands in, worked as printed, no longer comes out or leaves another number of
//! stitches; of a total that is only stated, if it no longer agrees. Knows the told parts of a text, not how texts
//! are read. The words around the changed ones stay letter for letter as they were.

mod classes;
mod parts;

use span::Span;

use crate::rng::Rng;
use crate::told::{Part, outcome};
use crate::write::Prose;

use self::classes::edits;
pub use self::classes::number_like;

/// The classes of misprint.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Class {
    /// A number within a row.
    NumberInRow,
    /// The number cast on, or that it is divided by.
    NumberCastOn,
    /// The row that is referred to.
    NumberOfRow,
    /// A total that is stated, or the number cast off.
    NumberTotal,
    /// How many are worked together.
    NumberTogether,
    /// A place counted from the end.
    NumberOfPlace,
    /// An instruction left out.
    DroppedWords,
    /// An instruction set twice.
    DoubledWords,
    /// A small word that changes the sense: moving the thread for making a stitch, plain for together.
    WrongWord,
    /// One stitch for another.
    WrongStitch,
    /// A repeat mark missing or misplaced.
    RepeatMark,
    /// Two numbers of a row have changed places.
    SwappedWords,
    /// Two rows have changed places, or one stands twice.
    SwappedRows,
    /// A figure or word misread for one that looks like it.
    Misread,
}

impl Class {
    /// All classes.
    pub const ALL: [Class; 14] = [
        Class::NumberInRow,
        Class::NumberCastOn,
        Class::NumberOfRow,
        Class::NumberTotal,
        Class::NumberTogether,
        Class::NumberOfPlace,
        Class::DroppedWords,
        Class::DoubledWords,
        Class::WrongWord,
        Class::WrongStitch,
        Class::RepeatMark,
        Class::SwappedWords,
        Class::SwappedRows,
        Class::Misread,
    ];

    /// A short name for tables.
    pub fn name(self) -> &'static str {
        match self {
            Class::NumberInRow => "number-in-row",
            Class::NumberCastOn => "number-cast-on",
            Class::NumberOfRow => "number-of-row",
            Class::NumberTotal => "number-total",
            Class::NumberTogether => "number-together",
            Class::NumberOfPlace => "number-of-place",
            Class::DroppedWords => "dropped-words",
            Class::DoubledWords => "doubled-words",
            Class::WrongWord => "wrong-word",
            Class::WrongStitch => "wrong-stitch",
            Class::RepeatMark => "repeat-mark",
            Class::SwappedWords => "swapped-words",
            Class::SwappedRows => "swapped-rows",
            Class::Misread => "misread",
        }
    }
}

/// A misprint with its correction.
#[derive(Clone, Debug, PartialEq)]
pub struct Misprint {
    /// The class.
    pub class: Class,
    /// The row by its number; `cast on` for the cast-on.
    pub row: String,
    /// The words as now printed; empty where words are missing.
    pub printed: String,
    /// The words as they were; empty where words are too many.
    pub corrected: String,
    /// Where the printed words stand in the changed text.
    pub span: Span,
    /// Whether the working of the whole text betrays it: some row does not come out, a stated number or the
    /// closing repeat disagrees.
    pub tells: bool,
}

/// Puts a misprint of a class into a text; `None` where the text has no place for one that changes a count.
pub fn misprint(prose: &Prose, class: Class, seed: u64) -> Option<(String, Misprint)> {
    let mut rng = Rng::new(seed);
    let mut edits = edits(prose, class, &mut rng);
    while !edits.is_empty() {
        let index = rng.below(u32::try_from(edits.len()).unwrap_or(u32::MAX)) as usize;
        let edit = edits.swap_remove(index);
        if edit.text != edit.span.of(&prose.text) && edit.change.matters(prose) {
            return Some(apply(prose, class, &edit));
        }
    }
    None
}

fn apply(prose: &Prose, class: Class, edit: &Edit) -> (String, Misprint) {
    let mut text = prose.text.clone();
    text.replace_range(edit.span.range(), &edit.text);
    let start = edit.span.range().start;
    let misprint = Misprint {
        class,
        row: edit.row.clone(),
        printed: edit.text.clone(),
        corrected: edit.span.of(&prose.text).to_owned(),
        span: Span::new(start, start + edit.text.len()),
        tells: edit.change.tells(prose),
    };
    (text, misprint)
}

/// One possible change of the text with what it makes of the program.
struct Edit {
    row: String,
    span: Span,
    text: String,
    change: Change,
}

enum Change {
    /// Places that now say something else.
    Parts(Vec<(usize, Vec<Part>)>),
    /// Another number cast on.
    CastOn(u32),
    /// Another number to divide by, and stitches over.
    Multiple(u32, u32),
    /// Another number stated after a row.
    Stated(usize, u32),
}

impl Change {
    fn parts<'a>(&'a self, prose: &'a Prose, row: usize) -> Option<&'a [Part]> {
        let telling = prose.rows[prose.rows[row].as_row].telling?;
        if let Change::Parts(changed) = self
            && let Some((_, parts)) = changed.iter().find(|(index, _)| *index == telling)
        {
            return Some(parts);
        }
        Some(&prose.tellings[telling].parts)
    }

    /// Whether a row no longer comes out as it did.
    fn matters(&self, prose: &Prose) -> bool {
        match self {
            Change::Parts(_) => prose.rows.iter().enumerate().any(|(index, row)| {
                self.parts(prose, index).is_some_and(|parts| outcome(parts, row.before) != Some(row.after))
            }),
            Change::CastOn(_) | Change::Multiple(..) | Change::Stated(..) => self.tells(prose),
        }
    }

    /// Whether working the whole text betrays the change.
    fn tells(&self, prose: &Prose) -> bool {
        let first = prose.rows.first().map_or(0, |row| row.before);
        match self {
            Change::CastOn(cast_on) => self.breaks(prose, *cast_on),
            Change::Multiple(of, plus) => (2..5).any(|times| self.breaks(prose, of * times + plus)),
            Change::Stated(row, count) => prose.rows[*row].after != *count,
            Change::Parts(_) => self.breaks(prose, first),
        }
    }

    /// Whether some row does not come out, or a stated number or the repeat in height disagrees.
    fn breaks(&self, prose: &Prose, cast_on: u32) -> bool {
        let exact = !matches!(self, Change::Multiple(..));
        let mut before = cast_on;
        let mut start = cast_on;
        for (index, row) in prose.rows.iter().enumerate() {
            if row.label == "1" {
                start = before;
            }
            let Some(after) = self.parts(prose, index).and_then(|parts| outcome(parts, before)) else {
                return true;
            };
            let stated = prose.counts.iter().any(|(stated, _)| *stated == index);
            if stated && exact && after != row.after {
                return true;
            }
            before = after;
        }
        prose.closes && before != start
    }
}

#[cfg(test)]
mod tests {
    use super::classes::{misread, number_like};
    use super::*;
    use crate::{Dialect, random_program, write};

    #[test]
    fn a_misprint_differs_in_its_span_alone() {
        let mut found = vec![0; Class::ALL.len()];
        for dialect in Dialect::all().unwrap() {
            for seed in 0..200 {
                let prose = write(&random_program(seed), &dialect, seed);
                for (index, class) in Class::ALL.into_iter().enumerate() {
                    let Some((text, misprint)) = misprint(&prose, class, seed) else { continue };
                    found[index] += 1;
                    let range = misprint.span.range();
                    assert_eq!(&text[range.clone()], misprint.printed);
                    let mended = [&text[..range.start], &misprint.corrected, &text[range.end..]].concat();
                    assert_eq!(mended, prose.text, "{class:?} {seed} {}", dialect.name);
                    assert_ne!(text, prose.text);
                }
            }
        }
        assert!(found.iter().all(|number| *number >= 5), "{found:?}");
    }

    #[test]
    fn numbers_are_printed_as_their_neighbours_are() {
        let table = [("5", 6, "6"), ("five", 6, "six"), ("Five", 6, "Six"), ("twice", 3, "three times")];
        for (old, number, new) in table {
            assert_eq!(number_like(old, number), new);
        }
        assert_eq!(number_like("4 times more", 2), "twice more");
        assert_eq!(misread("13", 13), [73, 43, 18, 12]);
    }
}
