//! Senses: what a phrase means, with its period, place and source; and the lexicon that files them.
//!
//! Built-in senses come from `data/stitches.toml`. A book's own glossary, or the user, may add senses; those
//! outrank the built-in ones for the same words.

use loops::Op;
use serde::Deserialize;

use crate::phrase::{BadPhrase, Found, PhraseBook, Printed, WordId, plainest};

/// Index of a sense in its lexicon.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct SenseId(pub u32);

/// Who says that a phrase has a sense; later ones outrank earlier ones.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub enum From {
    /// The built-in lexicon.
    #[default]
    Notation,
    /// The book's own explanation of terms.
    Glossary,
    /// The user.
    Chosen,
}

/// Where the yarn is brought.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum YarnTo {
    /// Before the work.
    Front,
    /// Behind the work.
    Back,
}

/// What a phrase tells the worker to do.
#[derive(Clone, Debug, PartialEq)]
pub enum Meaning {
    /// Operations, as often as the phrase's number says.
    Stitches(Vec<Op>),
    /// An operation whose name holds the phrase's numbers (`k{n}tog`), or half of the first (`c{h}/{h}b`).
    Family(String),
    /// An operation on all stitches up to the end of the row.
    Rest(Op),
    /// An operation on every stitch of the row.
    Row(Op),
    /// The yarn changes sides; nothing is made.
    Move(YarnTo),
}

/// Where a sense holds only beside certain stitches; the reader weighs it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Context {
    /// A yarn over before a knit stitch or a decrease, seldom before a purl or a slip.
    Forward,
    /// The yarn only moves, before a purl or a slip.
    Move,
    /// At the beginning of a row.
    Chain,
    /// Named as the middle one of a row.
    Middle,
    /// Among plain stitches.
    Plain,
    /// Among purled stitches.
    Purled,
}

/// One sense of one or more phrases.
#[derive(Clone, Debug)]
pub struct Sense {
    /// Its name in the data file.
    pub id: String,
    /// What it means.
    pub meaning: Meaning,
    /// Nats against reading the words so.
    pub cost: f64,
    /// The book-wide question it is one answer to, and the answer.
    pub choice: Option<(String, String)>,
    /// Where it holds.
    pub context: Option<Context>,
    /// First and last year of use.
    pub period: (u16, u16),
    /// Where it was used.
    pub place: String,
    /// Where the sense was found.
    pub source: String,
    /// Who says so.
    pub from: From,
    /// Its phrases, in the small language of data files.
    pub phrases: Vec<String>,
}

/// A sense as data files write it.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct SenseEntry {
    id: String,
    #[serde(default)]
    kind: Kind,
    op: String,
    #[serde(default)]
    cost: f64,
    choice: Option<String>,
    context: Option<Context>,
    phrases: Vec<String>,
    #[serde(default = "any_period")]
    period: (u16, u16),
    #[serde(default)]
    place: String,
    #[serde(default)]
    source: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct SenseFile {
    sense: Vec<SenseEntry>,
}

#[derive(Clone, Copy, Debug, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Kind {
    #[default]
    Stitch,
    Rest,
    Row,
    Move,
}

fn any_period() -> (u16, u16) {
    (1830, 2100)
}

/// A file of senses that cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum BadSenses {
    /// Not the form of a file of senses.
    #[error("not a file of senses: {0}")]
    Form(#[from] toml::de::Error),
    /// A phrase is not written in the small language.
    #[error("sense \"{id}\": {bad}")]
    Phrase {
        /// The sense.
        id: String,
        /// What is wrong with its phrase.
        bad: BadPhrase,
    },
    /// The op is none.
    #[error("sense \"{id}\": no stitch operation is called \"{op}\"")]
    Op {
        /// The sense.
        id: String,
        /// What stands for its op.
        op: String,
    },
}

/// All senses in force, and the book that finds their phrases.
#[derive(Clone, Debug, Default)]
pub struct Lexicon {
    senses: Vec<Sense>,
    book: PhraseBook,
}

impl Lexicon {
    /// The built-in senses.
    ///
    /// # Errors
    /// Only if the data files compiled in are broken; a test keeps them whole.
    pub fn builtin() -> Result<Lexicon, BadSenses> {
        let mut lexicon = Lexicon::default();
        lexicon.add_file(include_str!("../data/stitches.toml"), From::Notation)?;
        Ok(lexicon)
    }

    /// The built-in senses, but for those that were found in one book alone: what that book is read with where it
    /// must not have taught the reader. `book` is the beginning of its name in [`Sense::source`].
    ///
    /// # Errors
    /// Only if the data files compiled in are broken; a test keeps them whole.
    pub fn builtin_without(book: &str) -> Result<Lexicon, BadSenses> {
        let file: SenseFile = toml::from_str(include_str!("../data/stitches.toml"))?;
        let mut lexicon = Lexicon::default();
        let only = |source: &str| source.split(';').all(|part| part.trim().starts_with(book));
        for entry in file.sense.into_iter().filter(|entry| !only(&entry.source)) {
            lexicon.add_entry(entry, From::Notation)?;
        }
        Ok(lexicon)
    }

    /// Adds the senses of a file; they outrank those of lower authority for the same words.
    ///
    /// # Errors
    /// [`BadSenses`] that names the sense and what is wrong with it; nothing is added then.
    pub fn add_file(&mut self, file: &str, from: From) -> Result<(), BadSenses> {
        let file: SenseFile = toml::from_str(file)?;
        let mut next = self.clone();
        for entry in file.sense {
            next.add_entry(entry, from)?;
        }
        *self = next;
        Ok(())
    }

    fn add_entry(&mut self, entry: SenseEntry, from: From) -> Result<(), BadSenses> {
        let meaning = meaning_of(&entry)?;
        let id = entry.id.clone();
        let choice = entry.choice.as_deref().and_then(|choice| choice.split_once('='));
        let choice = choice.map(|(question, answer)| (question.to_owned(), answer.to_owned()));
        let sense = Sense {
            id: entry.id,
            meaning,
            cost: entry.cost,
            choice,
            context: entry.context,
            period: entry.period,
            place: entry.place,
            source: entry.source,
            from,
            phrases: entry.phrases,
        };
        self.add(sense).map_err(|bad| BadSenses::Phrase { id, bad })?;
        Ok(())
    }

    /// Adds one sense for its phrases.
    ///
    /// # Errors
    /// [`BadPhrase`] when a phrase is not written in the small language.
    pub fn add(&mut self, sense: Sense) -> Result<SenseId, BadPhrase> {
        let id = u32::try_from(self.senses.len()).unwrap_or(u32::MAX);
        let filed = sense.phrases.iter().try_for_each(|phrase| self.book.add(phrase, id));
        self.senses.push(sense);
        filed?;
        Ok(SenseId(id))
    }

    /// The sense with this id.
    pub fn sense(&self, id: SenseId) -> &Sense {
        &self.senses[id.0 as usize]
    }

    /// All senses with their ids.
    pub fn senses(&self) -> impl Iterator<Item = (SenseId, &Sense)> {
        self.senses
            .iter()
            .enumerate()
            .map(|(index, sense)| (SenseId(u32::try_from(index).unwrap_or(u32::MAX)), sense))
    }

    /// The id of a word in lower case, if any phrase has it.
    pub fn word(&self, text: &str) -> Option<WordId> {
        self.book.word(text)
    }

    /// The phrases that start at `words[at]`, the outranked ones left out.
    pub fn matches(&self, words: &[Printed], at: usize, out: &mut Vec<(Found, SenseId)>) {
        out.clear();
        self.book.matches(words, at, &mut |found| {
            if !out.iter().any(|(other, _)| *other == found) {
                out.push((found, SenseId(found.entry)));
            }
        });
        if out.iter().any(|(_, id)| self.sense(*id).from > From::Notation) {
            let ranks: Vec<(usize, From)> =
                out.iter().map(|(found, id)| (found.len, self.sense(*id).from)).collect();
            out.retain(|(found, id)| {
                let from = self.sense(*id).from;
                ranks.iter().all(|(len, other)| *len != found.len || *other <= from)
            });
        }
    }
}

fn meaning_of(entry: &SenseEntry) -> Result<Meaning, BadSenses> {
    let bad = || BadSenses::Op { id: entry.id.clone(), op: entry.op.clone() };
    let ops = || entry.op.split(' ').map(str::parse).collect::<Result<Vec<Op>, _>>().map_err(|_| bad());
    let one = || entry.op.parse::<Op>().map_err(|_| bad());
    Ok(match entry.kind {
        Kind::Stitch if entry.op.contains('{') => Meaning::Family(entry.op.clone()),
        Kind::Stitch => Meaning::Stitches(ops()?),
        Kind::Rest => Meaning::Rest(one()?),
        Kind::Row => Meaning::Row(one()?),
        Kind::Move if entry.op == "front" => Meaning::Move(YarnTo::Front),
        Kind::Move if entry.op == "back" => Meaning::Move(YarnTo::Back),
        Kind::Move => return Err(bad()),
    })
}

impl Sense {
    /// The operations with the plainest words of each phrase, every one once; none where no stitch is meant.
    pub fn examples(&self) -> Option<(Vec<Op>, Vec<String>)> {
        let number = matches!(self.meaning, Meaning::Family(_)).then_some(2);
        let (ops, _) = self.meaning.ops([number, None])?;
        let mut examples: Vec<String> = Vec::new();
        for words in self.phrases.iter().map(|phrase| plainest(phrase, number)) {
            if !words.is_empty() && !examples.contains(&words) {
                examples.push(words);
            }
        }
        Some((ops, examples))
    }
}

impl Meaning {
    /// The operations that the phrase stands for with these numbers; `None` where there is no such operation
    /// (`knit 9 together`) or the meaning is no stitch.
    pub fn ops(&self, numbers: [Option<u32>; 2]) -> Option<(Vec<Op>, u32)> {
        match self {
            Meaning::Stitches(ops) => Some((ops.clone(), numbers[0].unwrap_or(1))),
            Meaning::Family(name) => {
                let n = numbers[0].unwrap_or(1);
                let name =
                    name.replace("{n}", &n.to_string()).replace("{m}", &numbers[1].unwrap_or(n).to_string());
                let halved = !name.contains("{h}") || n.is_multiple_of(2);
                let name = halved.then(|| name.replace("{h}", &(n / 2).to_string()))?;
                let name = if name == "yo1" { "yo" } else { &name };
                Some((vec![name.parse().ok()?], 1))
            }
            Meaning::Rest(_) | Meaning::Row(_) | Meaning::Move(_) => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_builtin_senses_are_whole() {
        let lexicon = Lexicon::builtin().unwrap();
        assert!(lexicon.senses().count() > 40);
        for (_, sense) in lexicon.senses() {
            assert!(!sense.source.is_empty(), "{} has no source", sense.id);
            assert!(sense.period.0 <= sense.period.1, "{} has no period", sense.id);
        }
    }

    #[test]
    fn examples_are_plain_words() {
        let lexicon = Lexicon::builtin().unwrap();
        let examples = |id: &str| {
            let (_, sense) = lexicon.senses().find(|(_, sense)| sense.id == id).unwrap();
            sense.examples().unwrap().1
        };
        assert!(examples("knit").contains(&"knit plain".to_owned()), "{:?}", examples("knit"));
        for words in lexicon.senses().filter_map(|(_, sense)| sense.examples()).flat_map(|(_, words)| words) {
            assert!(!words.contains(['(', ')', '[', ']', '{', '}', '|']), "{words}");
        }
    }

    #[test]
    fn a_file_with_a_wrong_op_adds_nothing() {
        let mut lexicon = Lexicon::builtin().unwrap();
        let before = lexicon.senses().count();
        let bad = "[[sense]]\nid = \"a\"\nop = \"k\"\nphrases = [\"zig\"]\n[[sense]]\nid = \"b\"\nop = \"zag\"\nphrases = [\"zag\"]";
        let message = lexicon.add_file(bad, From::Chosen).unwrap_err().to_string();
        assert_eq!(message, "sense \"b\": no stitch operation is called \"zag\"");
        assert_eq!(lexicon.senses().count(), before);
    }
}
