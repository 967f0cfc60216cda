//! Dialects: the choices of one kind of book, as data.
//!
//! `data/dialects.toml` holds them all; a dialect may take what it does not say from another (`like_dialect`).
//! A text in the data is a template whose places `{…}` are filled in by the writer:
//!
//! | place | filled with |
//! |---|---|
//! | `{n}`, `{left}`, `{all}`, `{of}`, `{plus}`, `{each}`, `{needles}` | a number, as a word or in figures |
//! | `{t}`, `{h}`, `{m}` | how many are worked together, held, worked before the held ones |
//! | `{d}`, `{st}` | a number in figures, the ending of its ordinal |
//! | `{nth}`, `{Nth}` | ordinals: `3rd` or `third`, `Third` |
//! | `{row}`, `{rows}`, `{Row}`, `{Rows}` | row, round or needle |
//! | `{times}`, `{more}` | twice, three times; once more, twice more |
//! | `{body}`, `{a}`, `{b}` | what is repeated, or the two members of a pair |
//!
//! Knows nothing of programs or of how a text is put together. Start at [`Dialect::all`].

use std::collections::BTreeMap;

use loops::{Cross, Face, Op};
use serde::Deserialize;
use toml::{Table, Value};

/// One text of several, with how often it is chosen.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Choice {
    pub text: String,
    #[serde(default = "one")]
    pub w: u32,
    /// Only where the next operation is not purled or slipped.
    #[serde(default)]
    pub plain: bool,
    /// Only where the next operation is purled.
    #[serde(default)]
    pub purl: bool,
    /// Only for crossings whose spare needle hangs before the work.
    #[serde(default)]
    pub front: bool,
    /// Only for crossings whose spare needle hangs behind the work.
    #[serde(default)]
    pub back: bool,
    /// Only where the first row is worked in this way throughout; the text then tells it.
    #[serde(default)]
    pub first: Option<String>,
}

/// A way to say that something is repeated.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Repeat {
    /// Its name in statistics.
    pub id: String,
    pub text: String,
    #[serde(default = "one")]
    pub w: u32,
    /// Only where nothing stands before it in the row.
    #[serde(default)]
    pub bare: bool,
    /// Only where nothing stands behind it in the row.
    #[serde(default)]
    pub last: bool,
}

/// How the name of a row is printed.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Label {
    pub one: String,
    pub many: String,
    #[serde(default = "one")]
    pub w: u32,
    /// Whether a capital letter follows.
    #[serde(default)]
    pub capital: bool,
    /// Whether it says row also where the work is round.
    #[serde(default)]
    pub row: bool,
}

/// Words for plain, purled and bound-off work.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ByOp {
    #[serde(default)]
    pub k: Vec<String>,
    #[serde(default)]
    pub p: Vec<String>,
    #[serde(default)]
    pub bo: Vec<String>,
}

impl ByOp {
    pub(crate) fn of(&self, op: Op) -> &[String] {
        match op {
            Op::K => &self.k,
            Op::P => &self.p,
            Op::Bo => &self.bo,
            _ => &[],
        }
    }
}

/// One kind of book.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Dialect {
    /// Its name.
    pub name: String,
    pub(crate) numbers: Numbers,
    /// The book's own explanation of terms.
    pub glossary: String,
    /// Answers to questions that hold for a whole book, as the glossary gives them.
    #[serde(default)]
    pub answers: BTreeMap<String, String>,
    #[serde(default)]
    pub(crate) yarn: Vec<String>,
    /// Whether the book prints `2d` and `3d`.
    #[serde(default)]
    pub(crate) short_ordinals: bool,
    /// The word for row, where the book has one of its own.
    #[serde(default)]
    pub(crate) row: Option<String>,
    pub(crate) labels: Vec<Label>,
    pub(crate) layouts: Vec<Choice>,
    pub(crate) joints: Vec<Choice>,
    pub(crate) whole: ByOp,
    pub(crate) rest: ByOp,
    pub(crate) rest_to: ByOp,
    pub(crate) across: Vec<Repeat>,
    pub(crate) times: Vec<Repeat>,
    pub(crate) endings: Vec<Choice>,
    pub(crate) returns_before: ByOp,
    pub(crate) returns_after: ByOp,
    /// Remarks that stand at the first of the rows between, where it would be told.
    #[serde(default)]
    pub(crate) returns_between: ByOp,
    /// Remarks on rows between that have no number of their own.
    #[serde(default)]
    pub(crate) returns_unnumbered: ByOp,
    pub(crate) like: Vec<String>,
    pub(crate) again: Vec<Choice>,
    pub(crate) again_more: Vec<String>,
    pub(crate) again_in_all: Vec<String>,
    pub(crate) cast_on: Vec<Choice>,
    pub(crate) cast_on_needles: Vec<String>,
    pub(crate) multiple: Vec<String>,
    pub(crate) multiple_plus: Vec<String>,
    pub(crate) edge: Vec<String>,
    pub(crate) count: Vec<String>,
    pub(crate) words: BTreeMap<String, Vec<Choice>>,
    #[serde(skip)]
    pub(crate) common: Common,
}

/// Whether numbers are words or figures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Numbers {
    Words,
    Figures,
}

/// What any book may have around its rows.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Common {
    pub titles: Vec<String>,
    pub materials: Vec<String>,
    pub closing: Vec<String>,
    pub captions: Vec<String>,
    pub yarn: Vec<String>,
    /// Plain stitches at both edges that are told once for all rows.
    pub edges_apart: Vec<String>,
    /// That a row is like the one before it.
    pub like_last: Vec<String>,
    /// Casting off told by what is left.
    pub cast_off_but: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    common: Common,
    dialect: Vec<Table>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Swapped {
    dialect: Vec<Table>,
}

/// The data file compiled in is broken; a test keeps it whole.
#[derive(Debug, thiserror::Error)]
pub enum BadDialects {
    /// Not the form of a file of dialects.
    #[error("not a file of dialects: {0}")]
    Form(#[from] toml::de::Error),
    /// A dialect is said to be like one that does not stand before it.
    #[error("no dialect before it is called \"{0}\"")]
    Like(String),
}

fn one() -> u32 {
    1
}

impl Dialect {
    /// Every dialect, oldest first.
    ///
    /// # Errors
    /// [`BadDialects`] only if the data file compiled in is broken.
    pub fn all() -> Result<Vec<Dialect>, BadDialects> {
        let file: File = toml::from_str(include_str!("../data/dialects.toml"))?;
        Dialect::of(file)
    }

    /// Books under other letters, without an explanation of terms: what the letters mean stands in
    /// [`Dialect::answers`].
    ///
    /// # Errors
    /// [`BadDialects`] only if the data files compiled in are broken.
    pub fn swapped() -> Result<Vec<Dialect>, BadDialects> {
        let mut file: File = toml::from_str(include_str!("../data/dialects.toml"))?;
        let swapped: Swapped = toml::from_str(include_str!("../data/swapped.toml"))?;
        let known = file.dialect.len();
        file.dialect.extend(swapped.dialect);
        Ok(Dialect::of(file)?.split_off(known))
    }

    fn of(file: File) -> Result<Vec<Dialect>, BadDialects> {
        let mut tables: Vec<Table> = Vec::new();
        let mut dialects = Vec::new();
        for table in file.dialect {
            let table = inherited(table, &tables)?;
            let mut dialect: Dialect = Value::Table(table.clone()).try_into()?;
            dialect.common = file.common.clone();
            tables.push(table);
            dialects.push(dialect);
        }
        Ok(dialects)
    }

    /// The words for an operation before another one.
    pub(crate) fn words_for(&self, op: Op, next: Option<Op>) -> Vec<&Choice> {
        let key = match op {
            Op::Cross(_) => "cross".to_owned(),
            Op::Slk | Op::SlWyif | Op::SlWyib => "slp".to_owned(),
            op => op.to_string(),
        };
        let known = self.words.get(&key).map_or(&[][..], Vec::as_slice);
        known.iter().filter(|choice| choice.fits(op, next)).collect()
    }
}

impl Choice {
    fn fits(&self, op: Op, next: Option<Op>) -> bool {
        let purls = next.is_some_and(|next| next.face() == Face::Purl);
        let moves = purls || next.is_some_and(Op::is_slip);
        let hangs = match op {
            Op::Cross(Cross { front, .. }) => (!self.front || front) && (!self.back || !front),
            _ => true,
        };
        (!self.plain || !moves) && (!self.purl || purls) && hangs
    }
}

/// A dialect with what it takes from the one it is like; of nested tables only the words of the other are kept
/// that it has not itself.
fn inherited(mut table: Table, known: &[Table]) -> Result<Table, BadDialects> {
    let Some(like) = table.remove("like_dialect") else { return Ok(table) };
    let like = like.as_str().unwrap_or_default().to_owned();
    let is_it = |other: &&Table| other.get("name").and_then(Value::as_str) == Some(&like);
    let mut merged = known.iter().find(is_it).cloned().ok_or(BadDialects::Like(like))?;
    for (key, value) in table {
        match (merged.get_mut(&key), value) {
            (Some(Value::Table(old)), Value::Table(new)) if key == "words" => old.extend(new),
            (_, value) => {
                merged.insert(key, value);
            }
        }
    }
    Ok(merged)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_dialect_has_words_for_what_programs_hold() {
        let ops = "k p ktbl slp yo yo2 k2tog k3tog p2tog skp sk2p s1k2po kfb bo co turn c2/2f c2/2b";
        let mut dialects = Dialect::all().unwrap();
        assert!(dialects.len() >= 9);
        dialects.extend(Dialect::swapped().unwrap());
        for dialect in &dialects {
            for op in ops.split(' ').map(|name| name.parse::<Op>().unwrap()) {
                for next in [None, Some(Op::K), Some(Op::P), Some(Op::Slp)] {
                    assert!(
                        !dialect.words_for(op, next).is_empty(),
                        "{}: {op} before {next:?}",
                        dialect.name
                    );
                }
            }
        }
    }
}
