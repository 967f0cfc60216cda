//! Byte ranges of the source text: the one word that every crate shares.
//!
//! A [`Span`] is half-open and `Copy`. It knows nothing of what stands in the text; a value that was made up
//! by the program rather than read carries [`Span::DETACHED`], never a wrong range.

use serde::{Deserialize, Serialize};

/// A half-open range of byte offsets into one source text.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(from = "[u32; 2]", into = "[u32; 2]")]
pub struct Span {
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// The span of something that was not printed.
    pub const DETACHED: Span = Span { start: u32::MAX, end: u32::MAX };

    /// Makes a span from two byte offsets; an end before the start is moved up to it.
    pub fn new(start: usize, end: usize) -> Span {
        let start = u32::try_from(start).unwrap_or(u32::MAX);
        let end = u32::try_from(end).unwrap_or(u32::MAX);
        Span { start, end: end.max(start) }
    }

    /// Whether the span stands for something that was not printed.
    pub fn is_detached(self) -> bool {
        self == Span::DETACHED
    }

    /// The smallest span that covers both; a detached one adds nothing.
    pub fn to(self, other: Span) -> Span {
        if self.is_detached() {
            other
        } else if other.is_detached() {
            self
        } else {
            Span { start: self.start.min(other.start), end: self.end.max(other.end) }
        }
    }

    /// The span as a range for slicing, empty when detached.
    pub fn range(self) -> std::ops::Range<usize> {
        if self.is_detached() { 0..0 } else { self.start as usize..self.end as usize }
    }

    /// The span so many bytes further on, or back where the number is less than zero; a detached one stays so.
    pub fn moved(self, by: i64) -> Span {
        let place = |at: u32| u32::try_from(i64::from(at) + by).unwrap_or(0);
        if self.is_detached() { self } else { Span { start: place(self.start), end: place(self.end) } }
    }

    /// The text under the span; empty when detached or outside of `text`.
    pub fn of(self, text: &str) -> &str {
        text.get(self.range()).unwrap_or("")
    }

    /// Whether `other` lies within this span.
    pub fn covers(self, other: Span) -> bool {
        !self.is_detached() && !other.is_detached() && self.start <= other.start && other.end <= self.end
    }
}

impl std::fmt::Debug for Span {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if self.is_detached() { write!(f, "detached") } else { write!(f, "{}..{}", self.start, self.end) }
    }
}

impl From<[u32; 2]> for Span {
    fn from([start, end]: [u32; 2]) -> Span {
        Span { start, end: end.max(start) }
    }
}

impl From<Span> for [u32; 2] {
    fn from(span: Span) -> [u32; 2] {
        [span.start, span.end]
    }
}

#[cfg(test)]
mod tests {
    use super::Span;

    #[test]
    fn a_detached_span_adds_nothing() {
        let word = Span::new(3, 8);
        assert_eq!(Span::DETACHED.to(word), word);
        assert_eq!(word.to(Span::new(10, 12)), Span::new(3, 12));
        assert_eq!(Span::DETACHED.of("knit"), "");
        assert_eq!(Span::DETACHED.moved(4), Span::DETACHED);
        assert_eq!(word.moved(-3).moved(5), Span::new(5, 10));
    }
}
