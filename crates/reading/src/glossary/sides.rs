//! Terms that are worked one way in plain rows and another in purled ones.
//!
//! "Take in: in a plain row, slip one, knit one, and draw over; in a pearled row, pearl two together": two definitions,
//! each with the rows that it holds in. Knows how such rows are named; what is worked in them it asks the explainer.

use std::ops::Range;

use notation::Context;

use super::data::DATA;
use super::entries::{Entry, Link};
use super::explanation::Understood;
use super::{Definition, Glossary, Page};

/// The words that name the rows of one side.
struct Side {
    words: Range<usize>,
    context: Context,
}

impl Page<'_> {
    /// Adds the definitions of an entry that tells both sides; false if it does not.
    pub(super) fn of_both_sides(&self, entry: &Entry, glossary: &mut Glossary) -> bool {
        let Some(told) = self.told_by_sides(entry.explained.clone()) else { return false };
        let Some(explained) = self.span(entry.explained.start, entry.explained.end) else { return false };
        let known = glossary.definitions.len();
        for (told, context) in told {
            let told = Understood { context: Some(context), ..told };
            let own = entry.terms.iter().filter_map(|term| self.definition(term, (&told, true), explained));
            // What the lexicon says of every row is said here of some.
            glossary.definitions.extend(own.map(|own| Definition { confirms: false, ..own }));
        }
        glossary.definitions.len() > known
    }

    /// What is told of either side, before the words for it or behind them.
    fn told_by_sides(&self, range: Range<usize>) -> Option<[(Understood, Context); 2]> {
        let [one, other] = <[Side; 2]>::try_from(self.sides(range.clone())).ok()?;
        let parts = if one.words.start == range.start {
            [one.words.end..other.words.start, other.words.end..range.end]
        } else {
            [range.start..one.words.start, one.words.end..other.words.start]
        };
        let said = |part: Range<usize>| {
            let first = part.clone().find(|&at| self.tokens[at].text != "and")?;
            self.explainer.told(first..part.end, Link::Strong).filter(|told| told.whole)
        };
        let [first, second] = parts;
        let apart = one.context != other.context;
        Some([(said(first)?, one.context), (said(second)?, other.context)]).filter(|_| apart)
    }

    /// Where words name the rows of one side: "in a plain row", "in the seamed".
    fn sides(&self, range: Range<usize>) -> Vec<Side> {
        let text = |at: usize| self.tokens.get(at).map_or("", |token| token.text.as_str());
        let side = |at: usize| {
            let article = matches!(text(at + 1), "a" | "an" | "the" | "every" | "all") as usize;
            let kind = at + 1 + article;
            let context = match text(kind) {
                word if DATA.plain_rows.contains(word) => Context::Plain,
                word if DATA.purled_rows.contains(word) => Context::Purled,
                _ => return None,
            };
            let row = matches!(text(kind + 1), "row" | "rows" | "needle" | "needles") as usize;
            let named = matches!(text(at), "in" | "on") && article + row > 0;
            named.then(|| Side { words: at..kind + 1 + row, context })
        };
        range.filter_map(side).collect()
    }
}
