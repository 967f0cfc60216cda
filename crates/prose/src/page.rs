//! A text that is put together piece by piece, every piece with its span; and numbers as words.
//!
//! Lines are broken by turning a space into the end of a line, so that no span moves.

use notation::numeral::{cardinal_word, ordinal_word};
use span::Span;

/// The text so far.
#[derive(Clone, Debug, Default)]
pub(crate) struct Page {
    pub text: String,
}

impl Page {
    /// Adds a piece. A full stop after one that ends an abbreviation is not doubled.
    pub fn put(&mut self, piece: &str) -> Span {
        let piece = piece.strip_prefix('.').filter(|_| self.text.ends_with('.')).unwrap_or(piece);
        let start = self.text.len();
        self.text.push_str(piece);
        Span::new(start, self.text.len())
    }

    pub fn here(&self) -> usize {
        self.text.len()
    }

    pub fn since(&self, start: usize) -> Span {
        Span::new(start, self.text.len())
    }

    /// Makes the letter at a place a capital.
    pub fn capital(&mut self, at: usize) {
        let upper = match self.text.get(at..).and_then(|rest| rest.chars().next()) {
            Some(letter) if letter.is_ascii_lowercase() => letter.to_ascii_uppercase(),
            _ => return,
        };
        self.text.replace_range(at..=at, upper.encode_utf8(&mut [0; 4]));
    }

    /// Breaks lines longer than `width` letters at a space.
    pub fn wrap(&mut self, width: usize) {
        let mut breaks = Vec::new();
        let (mut column, mut space) = (0, None);
        for (at, letter) in self.text.char_indices() {
            match letter {
                '\n' => (column, space) = (0, None),
                _ => {
                    column += 1;
                    if letter == ' ' && (column <= width + 1 || space.is_none()) {
                        space = Some((at, column));
                    }
                    if let Some((place, reached)) = space.filter(|_| column > width) {
                        breaks.push(place);
                        column -= reached;
                        space = None;
                    }
                }
            }
        }
        for at in breaks {
            self.text.replace_range(at..=at, "\n");
        }
    }
}

/// A part of a template: letters as they are, or the name of a place to fill in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Piece<'a> {
    Text(&'a str),
    Place(&'a str),
}

/// Cuts a template at its places.
pub(crate) fn pieces(template: &str) -> Vec<Piece<'_>> {
    let mut out = Vec::new();
    let mut rest = template;
    while let Some((text, after)) = rest.split_once('{') {
        let Some((place, behind)) = after.split_once('}') else { break };
        if !text.is_empty() {
            out.push(Piece::Text(text));
        }
        out.push(Piece::Place(place));
        rest = behind;
    }
    if !rest.is_empty() {
        out.push(Piece::Text(rest));
    }
    out
}

/// A number as a word; figures from a hundred on.
pub(crate) fn word(number: u32) -> String {
    cardinal_word(number).unwrap_or_else(|| number.to_string())
}

/// An ordinal as a word; figures from a hundred on.
pub(crate) fn nth_word(number: u32) -> String {
    ordinal_word(number).unwrap_or_else(|| nth(number))
}

/// The ending of an ordinal in figures.
pub(crate) fn ending(number: u32) -> &'static str {
    match (number % 100, number % 10) {
        (11..=13, _) => "th",
        (_, 1) => "st",
        (_, 2) => "nd",
        (_, 3) => "rd",
        _ => "th",
    }
}

/// An ordinal in figures.
pub(crate) fn nth(number: u32) -> String {
    format!("{number}{}", ending(number))
}

/// An ordinal in figures with one letter where that is usual: `2d`, `3d`, `23d`.
pub(crate) fn nth_short(number: u32) -> String {
    match ending(number) {
        "nd" | "rd" => format!("{number}d"),
        ending => format!("{number}{ending}"),
    }
}

/// Twice, three times.
pub(crate) fn times(number: u32, words: bool) -> String {
    match number {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        _ if words => format!("{} times", word(number)),
        _ => format!("{number} times"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_written_out() {
        let words = [1, 12, 20, 21, 99, 100].map(word);
        assert_eq!(words, ["one", "twelve", "twenty", "twenty-one", "ninety-nine", "100"]);
        assert_eq!([2, 3, 11, 13, 23].map(nth_short), ["2d", "3d", "11th", "13th", "23d"]);
        assert_eq!([3, 20, 32].map(nth_word), ["third", "twentieth", "thirty-second"]);
        assert_eq!([1, 2, 3, 4, 11, 22].map(nth), ["1st", "2nd", "3rd", "4th", "11th", "22nd"]);
        assert_eq!([times(2, true), times(3, true), times(3, false)], ["twice", "three times", "3 times"]);
    }

    #[test]
    fn wrapping_moves_nothing() {
        let mut page = Page::default();
        page.put("aaa bbb ccc\n\nddd eeeeeeeeeeeeee f g hh");
        page.wrap(7);
        assert_eq!(page.text, "aaa bbb\nccc\n\nddd\neeeeeeeeeeeeee\nf g hh");
    }

    #[test]
    fn templates_are_cut_at_their_places() {
        use Piece::{Place, Text};
        assert_eq!(pieces("k{n}tog"), [Text("k"), Place("n"), Text("tog")]);
        assert_eq!(pieces("turn"), [Text("turn")]);
    }
}
