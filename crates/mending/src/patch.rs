//! Corrections of the printed words as replacements of stretches of text.
//!
//! Knows how to apply them and where a place of the corrected text stands in the print; not what they mean.

use span::Span;

/// Words to stand in place of others.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Patch {
    /// The words replaced; empty where words are put in.
    pub span: Span,
    /// The words to stand there.
    pub corrected: String,
}

impl Patch {
    /// A replacement.
    pub fn new(span: Span, corrected: impl Into<String>) -> Patch {
        Patch { span, corrected: corrected.into() }
    }
}

/// A text with corrections applied, and the way back to the print.
#[derive(Clone, Debug)]
pub struct Patched {
    /// The corrected text.
    pub text: String,
    /// The patches in the order of the text, each with where its words begin in the corrected text.
    placed: Vec<(u32, Patch)>,
}

/// Applies corrections; `None` where two of them overlap or one does not lie in the text.
pub fn apply(text: &str, patches: &[Patch]) -> Option<Patched> {
    let mut sorted = patches.to_vec();
    sorted.sort();
    let mut out = String::with_capacity(text.len() + 32);
    let mut placed = Vec::with_capacity(sorted.len());
    let mut at = 0;
    for patch in sorted {
        let range = patch.span.range();
        if patch.span.is_detached() || range.start < at {
            return None;
        }
        text.get(range.clone())?;
        out.push_str(text.get(at..range.start)?);
        placed.push((u32::try_from(out.len()).ok()?, patch.clone()));
        out.push_str(&patch.corrected);
        at = range.end;
    }
    out.push_str(text.get(at..)?);
    Some(Patched { text: out, placed })
}

impl Patched {
    /// A text without corrections.
    pub fn unchanged(text: &str) -> Patched {
        Patched { text: text.to_owned(), placed: Vec::new() }
    }

    /// Whether a stretch of the corrected text touches words that were corrected.
    pub fn changes(&self, span: Span) -> bool {
        self.placed.iter().any(|(start, patch)| {
            let stop = start + u32::try_from(patch.corrected.len()).unwrap_or(0);
            span.start < stop && *start < span.end
        })
    }

    /// Where a correction of the corrected text stands in the print, an empty one between the same words.
    pub fn spot(&self, span: Span) -> Span {
        if span.is_detached() || span.start < span.end && !self.printed(span).is_detached() {
            return self.printed(span);
        }
        let start = self.place(span.start, false);
        Span { start, end: start }
    }

    /// Where words of the corrected text stand in the print; detached where they were put in.
    pub fn printed(&self, span: Span) -> Span {
        if span.is_detached() {
            return span;
        }
        let (start, end) = (self.place(span.start, false), self.place(span.end, true));
        if start >= end { Span::DETACHED } else { Span { start, end } }
    }

    /// A place of the corrected text in the print; one within corrected words goes to their beginning or end.
    fn place(&self, at: u32, end: bool) -> u32 {
        let mut shift = 0i64;
        for (start, patch) in &self.placed {
            let stop = start + u32::try_from(patch.corrected.len()).unwrap_or(0);
            if at < *start || (end && at == *start) {
                break;
            }
            if at < stop || (end && at == stop) {
                return if end { patch.span.end } else { patch.span.start };
            }
            shift = i64::from(patch.span.end) - i64::from(stop);
        }
        u32::try_from(i64::from(at) + shift).unwrap_or(0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_replaced_put_in_and_taken_out() {
        let text = "k 3, k 12, yo, yo, p 1";
        let patches = [
            Patch::new(Span::new(11, 15), ""),
            Patch::new(Span::new(5, 9), "k 9"),
            Patch::new(Span::new(22, 22), ", k 4"),
        ];
        let patched = apply(text, &patches).unwrap();
        assert_eq!(patched.text, "k 3, k 9, yo, p 1, k 4");
        let back = |words: &str| {
            let at = patched.text.find(words).unwrap();
            patched.printed(Span::new(at, at + words.len()))
        };
        assert_eq!(back("k 3").of(text), "k 3");
        assert_eq!(back("k 9").of(text), "k 12");
        assert_eq!(back("p 1").of(text), "p 1");
        assert!(back(", k 4").is_detached());
    }

    #[test]
    fn corrections_that_overlap_or_lie_outside_are_refused() {
        let of = |spans: &[(usize, usize)]| {
            let patches: Vec<Patch> =
                spans.iter().map(|(from, to)| Patch::new(Span::new(*from, *to), "x")).collect();
            apply("knit æther", &patches).map(|patched| patched.text)
        };
        assert_eq!(of(&[(0, 4), (2, 5)]), None);
        assert_eq!(of(&[(0, 40)]), None);
        assert_eq!(of(&[(6, 7)]), None, "half a letter");
        assert_eq!(of(&[(0, 4), (4, 5)]).as_deref(), Some("xxæther"));
    }
}
