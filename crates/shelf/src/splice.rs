//! A piece of a text replaced by another, and what becomes of places in the text.
//!
//! ```text
//! knit 5, purl 2          remove 1 at 5, insert "12"
//!      └┘                 the place of "purl 2" moves on by one; that of "knit 5" is lost,
//! knit 12, purl 2         for its words are no longer the same
//! ```
//!
//! A place is kept only where the splice that takes this one back would bring it home, so that nothing has to be
//! remembered of the places that were kept.

use serde::{Deserialize, Serialize};
use span::Span;

use crate::change::ChangeError;
use crate::project::TEXT_LIMIT;

/// So many bytes of a text replaced by others.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Splice {
    /// The first byte.
    pub at: u32,
    /// How many bytes are removed.
    pub remove: u32,
    /// What stands there instead.
    pub insert: String,
}

impl Splice {
    /// Replaces the bytes and returns the splice that takes this one back.
    pub(crate) fn apply(&self, text: &mut String) -> Result<Splice, ChangeError> {
        let end = self.at.checked_add(self.remove).filter(|&end| end < u32::MAX);
        let outside = ChangeError::Place { start: self.at, end: end.unwrap_or(u32::MAX) };
        let range = Span { start: self.at, end: end.ok_or(outside.clone())? }.range();
        let removed = text.get(range.clone()).ok_or(outside)?.to_owned();
        if text.len() - removed.len() + self.insert.len() > TEXT_LIMIT {
            return Err(ChangeError::TooLong { limit: TEXT_LIMIT });
        }
        text.replace_range(range, &self.insert);
        Ok(Splice { at: self.at, remove: byte_count(&self.insert), insert: removed })
    }

    /// Where a place of the text is afterwards; nothing where its words are not the same any more.
    ///
    /// `before` and `after` are the text before and after the splice, `back` is what takes it back.
    pub(crate) fn follow(&self, back: &Splice, before: &str, after: &str, place: Span) -> Option<Span> {
        let moved = self.shift(place)?;
        let comes_home = back.shift(moved) == Some(place);
        let reads_the_same = whole_words(before, place) == whole_words(after, moved);
        (comes_home && reads_the_same).then_some(moved)
    }

    /// The place moved by what comes before it; nothing where the splice lies within it.
    fn shift(&self, place: Span) -> Option<Span> {
        if place.end <= self.at {
            Some(place)
        } else if place.start >= self.at + self.remove {
            Some(place.moved(i64::from(byte_count(&self.insert)) - i64::from(self.remove)))
        } else {
            None
        }
    }

    /// Where one who types would go on.
    fn caret(&self) -> u32 {
        self.at + byte_count(&self.insert)
    }

    /// Whether it goes on where `earlier` stopped: letters typed, or taken away before or after the caret.
    pub(crate) fn adjoins(&self, earlier: &Splice) -> bool {
        let caret = earlier.caret();
        self.at == caret || self.at + self.remove == caret
    }
}

/// Bytes of a text that is within [`crate::TEXT_LIMIT`].
fn byte_count(text: &str) -> u32 {
    u32::try_from(text.len()).unwrap_or(u32::MAX)
}

/// The words under a place, the first and the last of them whole.
fn whole_words(text: &str, place: Span) -> &str {
    let (head, tail) = (text.get(..place.range().start), text.get(place.range().end..));
    let (Some(head), Some(tail)) = (head, tail) else { return "" };
    let start = head.trim_end_matches(char::is_alphanumeric).len();
    let end = text.len() - tail.trim_start_matches(char::is_alphanumeric).len();
    &text[start..end]
}
