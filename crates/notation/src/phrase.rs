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
use std::sync::LazyLock;

use rustc_hash::FxHashMap;
use smallvec::SmallVec;

use crate::numeral::{ordinal, pieces, spelling};

/// Names of the thread that stand for one another in "bring the … forward".
const YARN: [&str; 12] = [
    "thread", "wool", "cotton", "silk", "yarn", "worsted", "material", "floss", "twine", "fleecy", "twist",
    "braid",
];

/// Words that mean the same wherever they stand: a phrase with one of them is read with any of its row.
static SAME: LazyLock<Vec<Vec<String>>> = LazyLock::new(|| {
    let file: BTreeMap<String, Vec<Vec<String>>> =
        toml::from_str(include_str!("../data/same.toml")).unwrap_or_default();
    file.into_values().flatten().collect()
});

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

    /// What it is in the graph.
    fn ids(&self) -> impl Iterator<Item = WordId> {
        [self.word, self.number.map(|_| NUMBER), self.nth.map(|_| NTH)].into_iter().flatten()
    }

    /// What is read of a phrase with this word, where the phrase asks for a certain one.
    fn read_as(&self, asked: WordId, read: Found) -> Option<Found> {
        let longer = Found { len: read.len + 1, ..read };
        if self.word == Some(asked) {
            return Some(longer);
        }
        let number = match asked {
            NUMBER => self.number,
            NTH => self.nth,
            _ => None,
        };
        let offset = number.and_then(|_| u16::try_from(read.len).ok())?;
        let numbers = match read.numbers {
            [None, _] => [Some(offset), None],
            [first, second] => [first, second.or(Some(offset))],
        };
        Some(Found { numbers, ..longer })
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

/// A part of a phrase, interned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
struct PartId(u32);

/// A part of a phrase.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
enum Part {
    Word(WordId),
    /// One of these phrases, which may be absent.
    Choice {
        branches: Vec<Vec<PartId>>,
        absent: bool,
    },
}

/// Nodes from which a phrase goes on: several behind what may be absent.
type Front = SmallVec<[u32; 2]>;

/// A place in the graph of phrases.
#[derive(Clone, Debug, Default)]
struct Node {
    /// The entries of the phrases that end here.
    entries: SmallVec<[u32; 1]>,
    /// The words that lead on from here, each with the node after it; a word may lead to several.
    after: SmallVec<[(WordId, u32); 2]>,
}

/// A graph of phrases, each filed with the index of an entry. Phrases that begin alike share their first nodes; the
/// branches of a choice meet again in one node.
#[derive(Clone, Debug)]
pub struct PhraseBook {
    interned: FxHashMap<String, WordId>,
    nodes: Vec<Node>,
    /// The nodes after each word that leads on from the root; they are too many for a list.
    opening: FxHashMap<WordId, Front>,
    parts: Vec<Part>,
    ids: FxHashMap<Part, PartId>,
    /// The classes of words met so far, by their names in braces.
    classes: FxHashMap<String, PartId>,
    /// The nodes after a part, by the nodes before it, for phrases that begin alike.
    shared: FxHashMap<(Front, PartId), Front>,
}

/// The node where all phrases begin.
const ROOT: u32 = 0;
/// What stands in the graph for any cardinal number.
const NUMBER: WordId = WordId(0);
/// What stands there for any ordinal number.
const NTH: WordId = WordId(1);
/// What stands there for any name of the thread.
const THREAD: WordId = WordId(2);

impl Default for PhraseBook {
    fn default() -> PhraseBook {
        let special = [("{n}", NUMBER), ("{m}", NUMBER), ("{nth}", NTH), ("{yarn}", THREAD)];
        let alike = SAME
            .iter()
            .zip(THREAD.0 + 1..)
            .flat_map(|(words, id)| words.iter().map(move |word| (word.as_str(), WordId(id))));
        let names = special.into_iter().chain(YARN.map(|name| (name, THREAD))).chain(alike);
        PhraseBook {
            interned: names.map(|(word, id)| (word.to_owned(), id)).collect(),
            nodes: vec![Node::default()],
            opening: FxHashMap::default(),
            parts: Vec::new(),
            ids: FxHashMap::default(),
            classes: FxHashMap::default(),
            shared: FxHashMap::default(),
        }
    }
}

impl PhraseBook {
    /// Files a phrase under an entry.
    ///
    /// # Errors
    /// [`BadPhrase`] when the phrase does not follow the small language.
    pub fn add(&mut self, phrase: &str, entry: u32) -> Result<(), BadPhrase> {
        let bad = |what| BadPhrase { phrase: phrase.to_owned(), what };
        let phrase = phrase.to_lowercase();
        let mut words = split(&phrase);
        words.reverse();
        let parts = self.parts(&mut words).map_err(bad)?;
        if !words.is_empty() {
            return Err(bad("a bracket closes that was not opened"));
        }
        let ends = self.file(&Front::from_slice(&[ROOT]), &parts);
        if ends.contains(&ROOT) {
            return Err(bad("it may not be empty"));
        }
        for end in ends {
            let entries = &mut self.nodes[end as usize].entries;
            if !entries.contains(&entry) {
                entries.push(entry);
            }
        }
        Ok(())
    }

    /// Reads words and brackets (a stack, the next on top) up to a closing bracket or bar, which is left.
    fn parts(&mut self, words: &mut Vec<&str>) -> Result<Vec<PartId>, &'static str> {
        let mut parts = Vec::new();
        while let Some(word) = words.pop() {
            parts.push(match word {
                "]" | ")" | "|" => {
                    words.push(word);
                    break;
                }
                "[" => self.choice("]", words)?,
                "(" => self.choice(")", words)?,
                class if class.starts_with('{') && self.word(class).is_none() => self.class(class)?,
                word => {
                    let word = self.intern(&spelling(word));
                    self.part(Part::Word(word))
                }
            });
        }
        Ok(parts)
    }

    /// Any of the phrases of a class; the data have no circles, or no phrase could be filed.
    fn class(&mut self, braced: &str) -> Result<PartId, &'static str> {
        if let Some(known) = self.classes.get(braced) {
            return Ok(*known);
        }
        let phrases = CLASSES.get(braced.trim_matches(['{', '}']));
        let mut words = split(phrases.ok_or("it names a class of words that there is not")?);
        words.push(")");
        words.reverse();
        let class = self.choice(")", &mut words)?;
        self.classes.insert(braced.to_owned(), class);
        Ok(class)
    }

    /// Reads phrases of which one is taken, up to the closing bracket.
    fn choice(&mut self, close: &str, words: &mut Vec<&str>) -> Result<PartId, &'static str> {
        let mut branches = Vec::new();
        loop {
            branches.push(self.parts(words)?);
            match words.pop() {
                Some("|") => {}
                Some(word) if word == close => {
                    return Ok(self.part(Part::Choice { branches, absent: close == "]" }));
                }
                _ => return Err("a bracket is not closed"),
            }
        }
    }

    fn part(&mut self, part: Part) -> PartId {
        let next = PartId(u32::try_from(self.parts.len()).unwrap_or(u32::MAX));
        *self.ids.entry(part).or_insert_with_key(|part| {
            self.parts.push(part.clone());
            next
        })
    }

    /// The nodes after some parts that go on from some nodes.
    fn file(&mut self, from: &Front, parts: &[PartId]) -> Front {
        parts.iter().fold(from.clone(), |at, part| self.beyond(at, *part))
    }

    fn beyond(&mut self, from: Front, part: PartId) -> Front {
        let key = (from, part);
        if let Some(known) = self.shared.get(&key) {
            return known.clone();
        }
        let meet = self.fresh();
        let ends = match self.parts[part.0 as usize].clone() {
            Part::Word(word) => self.lead(&key.0, word, meet),
            Part::Choice { branches, absent } => {
                let mut ends = if absent { key.0.clone() } else { Front::new() };
                for branch in branches {
                    let more = self.branch(&key.0, &branch, meet);
                    join(&mut ends, &more);
                }
                ends
            }
        };
        self.shared.insert(key, ends.clone());
        ends
    }

    /// The nodes after a branch of a choice; its last word leads to where the branches meet.
    fn branch(&mut self, from: &Front, branch: &[PartId], meet: u32) -> Front {
        let last = branch.split_last().map(|(last, before)| (&self.parts[last.0 as usize], before));
        let Some((&Part::Word(last), before)) = last else { return self.file(from, branch) };
        let from = self.file(from, before);
        self.lead(&from, last, meet)
    }

    /// Leads from some nodes over a word to another.
    fn lead(&mut self, from: &Front, word: WordId, to: u32) -> Front {
        for &node in from {
            if node == ROOT {
                join(self.opening.entry(word).or_default(), &[to]);
            } else if !self.nodes[node as usize].after.contains(&(word, to)) {
                self.nodes[node as usize].after.push((word, to));
            }
        }
        Front::from_slice(&[to])
    }

    fn fresh(&mut self) -> u32 {
        self.nodes.push(Node::default());
        u32::try_from(self.nodes.len() - 1).unwrap_or(u32::MAX)
    }

    fn intern(&mut self, word: &str) -> WordId {
        let next = WordId(u32::try_from(self.interned.len()).unwrap_or(u32::MAX));
        *self.interned.entry(word.to_owned()).or_insert(next)
    }

    /// The id of a word in lower case, if any phrase has it; all names of the thread have one id.
    pub fn word(&self, text: &str) -> Option<WordId> {
        self.interned.get(text).copied()
    }

    /// Calls `found` for every phrase that starts at `words[at]`; a phrase that can be read along two branches
    /// is reported twice.
    pub fn matches(&self, words: &[Printed], at: usize, found: &mut impl FnMut(Found)) {
        let words = words.get(at..).unwrap_or(&[]);
        let Some(word) = words.first() else { return };
        let nothing = Found { len: 0, entry: 0, numbers: [None; 2] };
        for id in word.ids() {
            let Some((read, opening)) = word.read_as(id, nothing).zip(self.opening.get(&id)) else {
                continue;
            };
            opening.iter().for_each(|&next| self.walk(next, words, read, found));
        }
    }

    /// Reports the phrases that go on from a node, with what of them was read so far.
    fn walk(&self, node: u32, words: &[Printed], read: Found, found: &mut impl FnMut(Found)) {
        let node = &self.nodes[node as usize];
        for &entry in &node.entries {
            found(Found { entry, ..read });
        }
        let Some(word) = words.get(read.len).filter(|word| word.joins) else { return };
        for &(asked, next) in &node.after {
            if let Some(read) = word.read_as(asked, read) {
                self.walk(next, words, read, found);
            }
        }
    }
}

/// Adds the nodes to a list that are not on it.
fn join(front: &mut Front, more: &[u32]) {
    let fresh: Front = more.iter().filter(|node| !front.contains(node)).copied().collect();
    front.extend(fresh);
}

/// Cuts a phrase into words and brackets; a name in braces is one word.
fn split(phrase: &str) -> Vec<&str> {
    let mut words = Vec::new();
    for word in phrase.split_whitespace() {
        let mut from = 0;
        for (at, bracket) in word.match_indices(['[', ']', '(', ')', '|']) {
            words.extend(parted(&word[from..at]));
            words.push(bracket);
            from = at + bracket.len();
        }
        words.extend(parted(&word[from..]));
    }
    words
}

/// A word cut where letters meet figures, unless it is a name in braces.
fn parted(word: &str) -> Vec<&str> {
    match word {
        "" => Vec::new(),
        name if name.starts_with('{') => vec![name],
        word => pieces(word),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn classes_of_words_are_whole() {
        assert!(CLASSES.len() > 5);
        assert!(SAME.len() > 20, "the words of one meaning are read");
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
