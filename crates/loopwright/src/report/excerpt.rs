//! The lines around a place in the text, so that a report never carries the whole of a long one.

use std::ops::Range;

use span::Span;

use crate::source::Source;

/// Lines shown at most; of a longer passage only the beginning.
const LINES: usize = 8;

/// A text with its lines counted.
pub struct Page<'a> {
    source: &'a Source,
    /// Where each line begins.
    starts: Vec<usize>,
}

/// Whole lines of a text, with a place in them.
pub struct Excerpt<'a> {
    /// The lines.
    pub text: &'a str,
    /// The number of the first, from 1.
    pub line: usize,
    /// The place, in bytes of `text`.
    pub range: Range<usize>,
}

impl<'a> Page<'a> {
    /// Counts the lines of a text.
    pub fn of(source: &'a Source) -> Page<'a> {
        let breaks = source.text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n').map(|(at, _)| at + 1);
        Page { source, starts: std::iter::once(0).chain(breaks).collect() }
    }

    /// The name of the text.
    pub fn name(&self) -> &'a str {
        &self.source.name
    }

    /// The lines around a span.
    pub fn around(&self, span: Span) -> Excerpt<'a> {
        let text = self.source.text.as_str();
        let (start, end) = (span.range().start.min(text.len()), span.range().end.min(text.len()));
        let first = self.line_of(start);
        let last = self.line_of(end.max(start + 1) - 1).min(first + LINES - 1);
        let from = self.starts[first];
        let to = self.starts.get(last + 1).map_or(text.len(), |next| next - 1);
        let lines = text.get(from..to).unwrap_or("").trim_end_matches('\r');
        let range = (start - from).min(lines.len())..(end - from).min(lines.len());
        Excerpt { text: lines, line: first + 1, range }
    }

    /// The index of the line with this byte; there is always a line that begins at 0.
    fn line_of(&self, offset: usize) -> usize {
        self.starts.partition_point(|start| *start <= offset) - 1
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn around(text: &str, start: usize, end: usize) -> (String, usize, Range<usize>) {
        let source = Source::of_text("page", text);
        let excerpt = Page::of(&source).around(Span::new(start, end));
        (excerpt.text.to_owned(), excerpt.line, excerpt.range)
    }

    #[test]
    fn an_excerpt_holds_the_lines_of_the_span() {
        let text = "Cast on 3.\nknit\r\npurl 2\nend";
        assert_eq!(around(text, 11, 15), ("knit".to_owned(), 2, 0..4));
        assert_eq!(around(text, 13, 20), ("knit\r\npurl 2".to_owned(), 2, 2..9));
        assert_eq!(around(text, 28, 28), ("end".to_owned(), 4, 3..3));
        assert_eq!(around("", 0, 0), (String::new(), 1, 0..0));
        assert_eq!(around("knit\n", 5, 5), (String::new(), 2, 0..0));
    }

    #[test]
    fn a_long_passage_is_cut() {
        let text = "knit\n".repeat(100);
        let (lines, line, range) = around(&text, 5, 300);
        assert_eq!((lines.lines().count(), line, range), (LINES, 2, 0..39));
    }
}
