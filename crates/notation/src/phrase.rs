//! Phrases: the small language in which data files write what may be printed, and the book that finds them.
//!
//! ```text
//! phrase = part { " " part }
//! part   = word | "{n}" or "{m}" (a number) | "{nth}" (an ordinal number) | "{yarn}" (any name of the thread)
//!        | "[" phrase "]" (may be absent) | "(" phrase { "|" phrase } ")" (one of these)
//!        | "{" class "}" (one of the phrases of `words.toml`)
//! ```
//!
//! A [`PhraseBook`] is a graph over interned words. It knows nothing of punctuation: the reader decides which
//! gaps a phrase may run over. All matches at a place are given, not only the longest.

use std::collections::BTreeMap;
use std::sync::{LazyLock, OnceLock};

use rustc_hash::{FxHashMap, FxHashSet};
use smallvec::SmallVec;

use crate::numeral::{ordinal, pieces, spelling};

/// Names of the thread that stand for one another in "bring the … forward".
const YARN: [&str; 12] = [
    "thread", "wool", "cotton", "silk", "yarn", "worsted", "material", "floss", "twine", "fleecy", "twist",
    "braid",
];

/// Words that stand for one another in many phrases: the name of each class, and its phrases.
static CLASSES: LazyLock<BTreeMap<String, String>> =
    LazyLock::new(|| toml::from_str(include_str!("../data/words.toml")).unwrap_or_default());

/// A word of the lexicon, interned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct WordId(u32);

/// One printed word as the phrase book sees it.
#[derive(Clone, Copy, Debug)]
pub struct Printed {
    /// The word in lower case, if the lexicon has it.
    pub word: Option<WordId>,
    /// Its value, if it is a cardinal number.
    pub number: Option<u32>,
    /// Its value, if it is an ordinal number.
    pub nth: Option<u32>,
    /// Whether a phrase may run on from the word before to this one.
    pub joins: bool,
}

impl Printed {
    /// A word or a figure within a phrase.
    pub fn within(text: &str, word: Option<WordId>) -> Printed {
        Printed { word, number: text.parse().ok(), nth: ordinal(text), joins: true }
    }

    /// Its value, if it is a number of either kind.
    pub fn value(&self) -> Option<u32> {
        self.number.or(self.nth)
    }
}

/// A phrase that is not written in the small language.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("phrase \"{phrase}\": {what}")]
pub struct BadPhrase {
    /// The phrase as written.
    pub phrase: String,
    /// What is wrong with it.
    pub what: &'static str,
}

/// A phrase found in the text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Found {
    /// Words covered.
    pub len: usize,
    /// What was filed under the phrase.
    pub entry: u32,
    /// Offsets of the first two numbers from the start of the phrase.
    pub numbers: [Option<u16>; 2],
}

/// The plainest words that a phrase stands for: the first of several, nothing that may be absent, and `number` where a
/// number stands. What is not written in the small language is left as it is.
pub(crate) fn plainest(phrase: &str, number: Option<u32>) -> String {
    let (mut out, mut rest) = (Vec::new(), phrase.trim());
    let figure = number.map(|number| number.to_string());
    while let Some(first) = rest.chars().next() {
        let part = match first {
            '(' | '[' | '{' => &rest[..closing(rest)],
            _ => &rest[..rest.find(' ').unwrap_or(rest.len())],
        };
        let inner = part.get(1..part.len().max(2) - 1).unwrap_or("");
        match first {
            '[' => {}
            '(' => out.push(plainest(first_of(inner), number)),
            '{' if matches!(inner, "n" | "m" | "nth") => out.extend(figure.clone()),
            '{' if inner == "yarn" => out.push(YARN[0].to_owned()),
            '{' => out.extend(CLASSES.get(inner).map(|class| plainest(first_of(class), number))),
            // A number may stand within a word: `k{n}tog`.
            _ => out.push(part.replace("{n}", figure.as_deref().unwrap_or(""))),
        }
        rest = rest[part.len()..].trim_start();
    }
    out.retain(|words| !words.is_empty());
    out.join(" ")
}

/// The byte after the bracket that closes the first one.
fn closing(text: &str) -> usize {
    let mut depth = 0;
    for (at, letter) in text.char_indices() {
        match letter {
            '(' | '[' | '{' => depth += 1,
            ')' | ']' | '}' => depth -= 1,
            _ => {}
        }
        if depth == 0 {
            return at + letter.len_utf8();
        }
    }
    text.len()
}

/// What stands before the first bar that is in no bracket.
fn first_of(alternatives: &str) -> &str {
    let mut depth = 0;
    for (at, letter) in alternatives.char_indices() {
        match letter {
            '(' | '[' | '{' => depth += 1,
            ')' | ']' | '}' => depth -= 1,
            '|' if depth == 0 => return &alternatives[..at],
            _ => {}
        }
    }
    alternatives
}

#[derive(Clone, Debug, Default)]
struct Node {
    number: Option<u32>,
    nth: Option<u32>,
    /// Nodes that are reached without a word.
    jumps: SmallVec<[u32; 2]>,
    entries: SmallVec<[u32; 1]>,
}

/// Where a phrase may begin: the nodes after each first word, and those after a number of either kind.
#[derive(Clone, Debug, Default)]
struct Opening {
    words: FxHashMap<WordId, SmallVec<[u32; 4]>>,
    numbers: SmallVec<[u32; 4]>,
    nths: SmallVec<[u32; 4]>,
}

/// A graph of phrases, each filed with the index of an entry. Phrases that begin alike share their first nodes;
/// a choice opens branches that meet again in a node of the phrase's own.
#[derive(Clone, Debug)]
pub struct PhraseBook {
    interned: FxHashMap<String, WordId>,
    nodes: Vec<Node>,
    /// The node after a word, by the node before it.
    words: FxHashMap<(u32, WordId), u32>,
    /// Found when it is first asked for, so that no match walks all phrases that begin with a choice.
    opening: OnceLock<Opening>,
}

impl Default for PhraseBook {
    fn default() -> PhraseBook {
        let mut book = PhraseBook {
            interned: FxHashMap::default(),
            nodes: vec![Node::default()],
            words: FxHashMap::default(),
            opening: OnceLock::new(),
        };
        let yarn = book.intern("{yarn}");
        book.interned.extend(YARN.iter().map(|name| ((*name).to_owned(), yarn)));
        book
    }
}

impl PhraseBook {
    /// Files a phrase under an entry.
    ///
    /// # Errors
    /// [`BadPhrase`] when the phrase does not follow the small language.
    pub fn add(&mut self, phrase: &str, entry: u32) -> Result<(), BadPhrase> {
        let bad = |what| BadPhrase { phrase: phrase.to_owned(), what };
        let whole = expand(phrase).ok_or_else(|| bad("it names a class of words that there is not"))?;
        let mut parts = split(&whole);
        parts.reverse();
        self.opening.take();
        let (end, empty) = self.sequence(0, &mut parts).map_err(bad)?;
        if !parts.is_empty() {
            return Err(bad("a bracket closes that was not opened"));
        }
        if empty {
            return Err(bad("it may not be empty"));
        }
        let entries = &mut self.nodes[end as usize].entries;
        if !entries.contains(&entry) {
            entries.push(entry);
        }
        Ok(())
    }

    /// Adds the parts (a stack, the next on top) from a node up to a closing bracket or bar, which is left; the node
    /// after them, and whether it is reached without a word.
    fn sequence(&mut self, mut at: u32, parts: &mut Vec<String>) -> Result<(u32, bool), &'static str> {
        let mut empty = true;
        while let Some(part) = parts.pop() {
            match part.as_str() {
                "]" | ")" | "|" => {
                    parts.push(part);
                    break;
                }
                "[" | "(" => {
                    let meet = self.fresh();
                    if part == "[" {
                        self.nodes[at as usize].jumps.push(meet);
                    }
                    let any = self.alternatives(at, meet, if part == "[" { "]" } else { ")" }, parts)?;
                    empty &= part == "[" || any;
                    at = meet;
                }
                word => {
                    at = self.child(at, word);
                    empty = false;
                }
            }
        }
        Ok((at, empty))
    }

    /// Adds phrases of which one is taken, up to the closing bracket; whether one of them is empty.
    fn alternatives(
        &mut self,
        at: u32,
        meet: u32,
        close: &str,
        parts: &mut Vec<String>,
    ) -> Result<bool, &'static str> {
        let mut any_empty = false;
        loop {
            let (end, empty) = self.sequence(at, parts)?;
            any_empty |= empty;
            self.nodes[end as usize].jumps.push(meet);
            match parts.pop() {
                Some(part) if part == close => return Ok(any_empty),
                Some(part) if part == "|" => {}
                _ => return Err("a bracket is not closed"),
            }
        }
    }

    fn child(&mut self, at: u32, part: &str) -> u32 {
        if let "{n}" | "{m}" | "{nth}" = part {
            let fresh = self.fresh();
            let node = &mut self.nodes[at as usize];
            let slot = if part == "{nth}" { &mut node.nth } else { &mut node.number };
            return *slot.get_or_insert(fresh);
        }
        let word = self.intern(part);
        if let Some(known) = self.words.get(&(at, word)) {
            return *known;
        }
        let fresh = self.fresh();
        self.words.insert((at, word), fresh);
        fresh
    }

    fn fresh(&mut self) -> u32 {
        self.nodes.push(Node::default());
        u32::try_from(self.nodes.len() - 1).unwrap_or(u32::MAX)
    }

    fn intern(&mut self, word: &str) -> WordId {
        let next = WordId(u32::try_from(self.interned.len()).unwrap_or(u32::MAX));
        *self.interned.entry(word.to_owned()).or_insert(next)
    }

    fn opening(&self) -> &Opening {
        self.opening.get_or_init(|| {
            let mut reached = FxHashSet::default();
            let mut open = vec![0];
            while let Some(node) = open.pop() {
                if reached.insert(node) {
                    open.extend(&self.nodes[node as usize].jumps);
                }
            }
            let mut opening = Opening::default();
            opening.numbers.extend(reached.iter().filter_map(|node| self.nodes[*node as usize].number));
            opening.nths.extend(reached.iter().filter_map(|node| self.nodes[*node as usize].nth));
            for ((from, word), next) in &self.words {
                if reached.contains(from) {
                    opening.words.entry(*word).or_default().push(*next);
                }
            }
            opening
        })
    }

    /// The id of a word in lower case, if any phrase has it; all names of the thread have one id.
    pub fn word(&self, text: &str) -> Option<WordId> {
        self.interned.get(text).copied()
    }

    /// Calls `found` for every phrase that starts at `words[at]`; a phrase that can be read along two branches
    /// is reported twice.
    pub fn matches(&self, words: &[Printed], at: usize, found: &mut impl FnMut(Found)) {
        let opening = self.opening();
        let Some(word) = words.get(at) else { return };
        for &next in word.word.and_then(|word| opening.words.get(&word)).into_iter().flatten() {
            self.walk(next, words, at, at + 1, [None; 2], found);
        }
        let numbers = opening.numbers.iter().filter(|_| word.number.is_some());
        for &next in numbers.chain(opening.nths.iter().filter(|_| word.nth.is_some())) {
            self.walk(next, words, at, at + 1, [Some(0), None], found);
        }
    }

    fn walk(
        &self,
        node: u32,
        words: &[Printed],
        start: usize,
        at: usize,
        numbers: [Option<u16>; 2],
        found: &mut impl FnMut(Found),
    ) {
        let (from, node) = (node, &self.nodes[node as usize]);
        for &entry in &node.entries {
            found(Found { len: at - start, entry, numbers });
        }
        for &next in &node.jumps {
            self.walk(next, words, start, at, numbers, found);
        }
        let Some(word) = words.get(at).filter(|word| word.joins) else { return };
        if let Some(&next) = word.word.and_then(|word| self.words.get(&(from, word))) {
            self.walk(next, words, start, at + 1, numbers, found);
        }
        let numbered = node.number.filter(|_| word.number.is_some());
        for next in numbered.into_iter().chain(node.nth.filter(|_| word.nth.is_some())) {
            let offset = u16::try_from(at - start).ok();
            let numbers =
                if numbers[0].is_none() { [offset, None] } else { [numbers[0], numbers[1].or(offset)] };
            self.walk(next, words, start, at + 1, numbers, found);
        }
    }
}

/// A phrase with its classes written out; `None` if there is no class of such a name.
fn expand(phrase: &str) -> Option<String> {
    let mut out = String::with_capacity(phrase.len());
    let mut rest = phrase;
    while let Some((before, after)) = rest.split_once('{') {
        let (name, after) = after.split_once('}')?;
        out.push_str(before);
        match name {
            "n" | "m" | "nth" | "yarn" => out.extend(["{", name, "}"]),
            // A class may name another; the data have no circles, or no phrase could be filed.
            name => out.extend(["(", &expand(CLASSES.get(name)?)?, ")"]),
        }
        rest = after;
    }
    out.push_str(rest);
    Some(out)
}

/// Cuts a phrase into words and brackets, numbers brought to one spelling.
fn split(phrase: &str) -> Vec<String> {
    let mut spaced = String::with_capacity(phrase.len() + 8);
    for letter in phrase.chars() {
        if "[]()|".contains(letter) {
            spaced.push(' ');
            spaced.push(letter);
            spaced.push(' ');
        } else {
            spaced.extend(letter.to_lowercase());
        }
    }
    let part = |part| if str::starts_with(part, '{') { vec![part] } else { pieces(part) };
    spaced.split_whitespace().flat_map(part).map(spelling).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn classes_of_words_are_whole() {
        assert!(CLASSES.len() > 5);
        let mut book = PhraseBook::default();
        for (name, phrases) in &*CLASSES {
            assert_eq!(book.add(&format!("({phrases})"), 0), Ok(()), "{name}");
        }
        assert!(book.add("{nothing of the kind}", 0).is_err());
    }

    fn printed(book: &PhraseBook, text: &str) -> Vec<Printed> {
        let word = |word: &str| Printed::within(word, book.word(word));
        text.split(' ').map(word).collect()
    }

    #[test]
    fn options_and_alternatives_all_match() {
        let mut book = PhraseBook::default();
        book.add("(bring|throw) the {yarn} forward", 7).unwrap();
        book.add("knit {n} [stitches] together", 8).unwrap();
        book.add("knit {n}", 9).unwrap();
        book.add("p2tog", 10).unwrap();
        let found = |text: &str| {
            let mut all = Vec::new();
            book.matches(&printed(&book, text), 0, &mut |found| all.push((found.len, found.entry)));
            all.sort_unstable();
            all
        };
        assert_eq!(found("throw the silk forward"), [(4, 7)]);
        assert_eq!(found("knit 2 together"), [(2, 9), (3, 8)]);
        assert_eq!(found("knit 2 stitches together"), [(2, 9), (4, 8)]);
        assert_eq!(found("knit both together"), []);
        assert_eq!(found("p 2 tog"), [(3, 10)]);
    }

    #[test]
    fn broken_phrases_are_refused() {
        let mut book = PhraseBook::default();
        for phrase in ["[knit", "knit)", "[knit]", ""] {
            assert!(book.add(phrase, 0).is_err(), "{phrase}");
        }
    }
}
