//! Places of a text counted in bytes, as the program does, and in UTF-16 code units, as the browser does.
//!
//! Everything that crosses the border between the two goes through here.

use span::Span;

use crate::app::wire::At;

/// The places of one text.
pub struct Places {
    /// The characters that are longer in bytes than in code units: where each ends in bytes, and in code units.
    anchors: Vec<(u32, u32)>,
    /// The whole length in bytes and in code units.
    length: (u32, u32),
}

impl Places {
    /// The places of a text.
    pub fn of(text: &str) -> Places {
        let mut anchors = Vec::new();
        let mut units = 0;
        for (at, letter) in text.char_indices() {
            units += letter.len_utf16() as u32;
            if letter.len_utf8() != letter.len_utf16() {
                anchors.push(((at + letter.len_utf8()) as u32, units));
            }
        }
        Places { anchors, length: (text.len() as u32, units) }
    }

    /// A place in bytes, in code units; one within a character goes to its end.
    pub fn units(&self, byte: u32) -> u32 {
        let byte = byte.min(self.length.0);
        match self.anchors.partition_point(|(end, _)| *end <= byte).checked_sub(1) {
            None => self.bounded_by(0, byte, 0),
            Some(at) => self.bounded_by(at + 1, byte - self.anchors[at].0, self.anchors[at].1),
        }
    }

    /// So many bytes after an anchor in code units, but not beyond the next.
    fn bounded_by(&self, next: usize, ahead: u32, from: u32) -> u32 {
        let most = self.anchors.get(next).map_or(u32::MAX, |(_, units)| *units);
        (from + ahead).min(most)
    }

    /// A span in code units; `None` for one that was not printed.
    pub fn at(&self, span: Span) -> Option<At> {
        (!span.is_detached()).then(|| At(self.units(span.start), self.units(span.end)))
    }
}

/// The byte at a place in code units; `None` beyond the text or within a character.
pub fn byte_at(text: &str, unit: u32) -> Option<usize> {
    if text.is_ascii() {
        return Some(unit as usize).filter(|at| *at <= text.len());
    }
    let mut units = 0;
    for (at, letter) in text.char_indices() {
        if units >= unit {
            return (units == unit).then_some(at);
        }
        units += letter.len_utf16() as u32;
    }
    (units == unit).then_some(text.len())
}

/// The bytes of a stretch in code units.
pub fn span_at(text: &str, At(start, end): At) -> Option<Span> {
    (start <= end).then_some(())?;
    Some(Span::new(byte_at(text, start)?, byte_at(text, end)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "½ row—🧶 knit é";

    #[test]
    fn places_go_there_and_back() {
        let places = Places::of(TEXT);
        for (byte, _) in TEXT.char_indices().chain([(TEXT.len(), ' ')]) {
            let units = TEXT[..byte].encode_utf16().count() as u32;
            assert_eq!(places.units(byte as u32), units, "byte {byte}");
            assert_eq!(byte_at(TEXT, units), Some(byte), "unit {units}");
        }
        assert_eq!(byte_at("knit", 3), Some(3));
    }

    #[test]
    fn places_that_are_none_are_refused() {
        let yarn = TEXT[..TEXT.find('🧶').unwrap()].encode_utf16().count() as u32;
        assert_eq!(byte_at(TEXT, yarn + 1), None, "half a pair");
        assert_eq!(byte_at(TEXT, 900), None);
        assert_eq!(byte_at("knit", 5), None);
        assert_eq!(span_at("knit", At(3, 1)), None);
        assert_eq!(span_at("knit", At(1, 3)), Some(Span::new(1, 3)));
    }

    #[test]
    fn what_was_not_printed_has_no_place() {
        assert_eq!(Places::of("knit").at(Span::DETACHED), None);
        assert_eq!(Places::of("½ knit").at(Span::new(3, 7)), Some(At(2, 6)));
        assert_eq!(Places::of("½").units(1), 1, "half a character goes to its end");
    }
}
