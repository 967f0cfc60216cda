//! Explanations that lean on what was told before: names given after the work, and terms that are "the same, but …".
//!
//! Knows entries and definitions; not how either is found in the text.

use loops::{Cross, Op};
use notation::Meaning;
use span::Span;

use super::entries::{Entry, Naming};
use super::explanation::Understood;
use super::{Definition, Glossary, Page};

/// Nats against each further step back that a name reaches. A guess.
const FURTHER: f64 = 0.4;

impl Page<'_> {
    /// What was named may reach further back: how far is asked of the whole book, and the counts decide. `known` is the
    /// number of definitions before those of the nearest reach.
    pub(super) fn named_further(
        &self,
        entry: &Entry,
        (naming, known): (&Naming, usize),
        glossary: &mut Glossary,
    ) {
        let mut cost = 0.0;
        let nearest = glossary.definitions.len();
        for start in &naming.further {
            cost += FURTHER;
            let range = *start..entry.explained.end;
            let Some(told) = self.explainer.told(range.clone(), entry.link) else { continue };
            let Some(explained) = self.span(range.start, range.end) else { continue };
            let reach =
                entry.terms.iter().filter_map(|term| self.definition(term, (&told, false), explained));
            for definition in reach {
                let same =
                    |one: &Definition| one.term == definition.term && one.meaning == definition.meaning;
                if !glossary.definitions.iter().any(same) {
                    glossary.definitions.push(Definition { cost, ..definition });
                }
            }
        }
        if glossary.definitions.len() > nearest {
            for definition in &mut glossary.definitions[known..] {
                let words = definition.explained.of(self.text).split_whitespace();
                let answer = words.collect::<Vec<_>>().join(" ");
                definition.choice = Some((definition.term.clone(), answer));
            }
        }
    }

    /// "To close it, purl these five together": the entry with the name of what was explained before for "it".
    pub(super) fn of_the_last(&self, entry: &Entry, glossary: &Glossary) -> Entry {
        let mut entry = entry.clone();
        let last = glossary.definitions.last().filter(|last| !last.short && !last.term.contains(' '));
        for term in entry.terms.iter_mut().filter(|term| term.verb) {
            if let ([verb, it], Some(last)) = (term.words.as_slice(), last)
                && matches!(it.as_str(), "it" | "them")
            {
                term.words = vec![verb.clone(), "the".to_owned(), last.term.clone()];
            }
        }
        entry
    }

    /// "Twist 6 to the left: the same, but with the spare pin in front": the crossing before, its needle on the other side.
    pub(super) fn same_but(&self, entry: &Entry, explained: Span, glossary: &mut Glossary) -> bool {
        let words = &self.tokens[entry.explained.clone()];
        let says = |list: &[&str]| words.iter().any(|token| list.contains(&token.text.as_str()));
        let same = words.iter().take(3).any(|token| token.text == "same");
        let before = glossary.definitions.last().map(|definition| &definition.meaning);
        let Some(Meaning::Stitches(ops)) = before.filter(|_| same) else { return false };
        let [Op::Cross(cross)] = ops.as_slice() else { return false };
        let (front, back) = (says(&["front", "before"]), says(&["back", "behind"]));
        if front == back {
            return false;
        }
        let meaning = Meaning::Stitches(vec![Op::Cross(Cross { front, ..*cross })]);
        let told = Understood { meaning, context: None, end: entry.explained.end, whole: true, open: false };
        let known = glossary.definitions.len();
        for term in &entry.terms {
            self.define(term, (&told, true), explained, glossary);
        }
        glossary.definitions.len() > known
    }
}
