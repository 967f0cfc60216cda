//! A correction of the printed words before it is tried.

use span::Span;

use crate::Emendation;
use crate::patch::Patch;

/// Words further apart than this many bytes are told as two corrections.
const JOINED: usize = 80;

/// Patches that make one correction.
#[derive(Clone, Debug, PartialEq)]
pub struct Draft {
    /// Nats against the misprint.
    pub cost: f64,
    /// The row, by its printed number or name.
    pub row: String,
    /// The corrected words.
    pub patches: Vec<Patch>,
    /// What speaks for it, where that is known before it is tried.
    pub why: Option<String>,
    /// Whether the words printed are sense as well, so that it is never applied unasked.
    pub doubtful: bool,
}

impl Draft {
    /// The correction as it is told.
    pub fn emendations(&self, text: &str, why: &str) -> Vec<Emendation> {
        let joined = self.joined(text);
        let cost = self.cost / joined.len().max(1) as f64;
        joined
            .into_iter()
            .map(|patch| Emendation {
                row: self.row.clone(),
                printed: patch.span.of(text).to_owned(),
                corrected: patch.corrected,
                span: patch.span,
                cost,
                why: why.to_owned(),
            })
            .collect()
    }

    /// Its patches, those that stand near one another made into one.
    pub fn joined(&self, text: &str) -> Vec<Patch> {
        let mut sorted = self.patches.clone();
        sorted.sort();
        let mut out: Vec<Patch> = Vec::new();
        for patch in sorted {
            let between =
                out.last().and_then(|last| text.get(last.span.range().end..patch.span.range().start));
            match (out.last_mut(), between.filter(|between| between.len() <= JOINED)) {
                (Some(last), Some(between)) => {
                    last.corrected = format!("{}{between}{}", last.corrected, patch.corrected);
                    last.span = Span { start: last.span.start, end: patch.span.end };
                }
                _ => out.push(patch),
            }
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_of_one_row_are_told_together() {
        let text = "Knit 2, over, knit 6, over, knit 1, over, knit 6, over, knit 2.";
        let patches = vec![Patch::new(Span::new(42, 48), "knit 5"), Patch::new(Span::new(14, 20), "knit 5")];
        let draft = Draft { cost: 7.0, row: "5".to_owned(), patches, why: None, doubtful: false };
        let told = draft.emendations(text, "because");
        assert_eq!(told.len(), 1);
        assert_eq!(told[0].printed, "knit 6, over, knit 1, over, knit 6");
        assert_eq!(told[0].corrected, "knit 5, over, knit 1, over, knit 5");
    }
}
