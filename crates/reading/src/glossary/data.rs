//! The words and phrases that explanations of terms are made of, from `data/glossary.toml`.
//!
//! Knows the file's form; not how an explanation is found or read.

use std::collections::HashSet;
use std::sync::LazyLock;

use loops::Op;
use notation::{BadPhrase, Meaning, PhraseBook};
use serde::Deserialize;

/// The data compiled in.
///
/// The file is part of the program: a test reads it, and it cannot differ at run time.
pub(super) static DATA: LazyLock<Data> = LazyLock::new(|| {
    Data::parse(include_str!("../../data/glossary.toml")).expect("the data file compiled in is whole")
});

/// How firmly words link a term to its explanation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum CueKind {
    /// `means`, `stands for`.
    Strong,
    /// `is`, `for`: good only in an explanation of terms.
    Weak,
    /// After `by T`: `we mean`.
    By,
    /// The term comes last: `is written`.
    Turned,
    /// The term comes last, and what stands right before is meant: `we shall call this`.
    Called,
}

/// What a turn of phrase in an explanation tells.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Told {
    /// Operations.
    Ops(Vec<Op>),
    /// `make one`, which the book may explain elsewhere.
    Make(Op),
    /// One stitch is drawn over another.
    Pass,
    /// Casting off goes on in the same way.
    GoesOn,
    /// Nothing more.
    Nothing,
    /// Remarks begin here.
    Cut,
}

/// A phrase that a term may stand in.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Frame {
    /// The op or kind of op that the term has.
    #[serde(rename = "of")]
    pub(super) applies: String,
    #[serde(default)]
    kind: String,
    op: Option<String>,
    /// Only for terms of three letters or more.
    #[serde(default)]
    pub(super) long: bool,
    /// Only for shorter ones.
    #[serde(default)]
    pub(super) short: bool,
    /// Nats against.
    #[serde(default)]
    pub(super) cost: f64,
    /// With `{T}` for the term.
    pub(super) phrases: Vec<String>,
}

/// Phrases with `{knit}`, `{purl}`, `{slip}` for all words for these.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Compound {
    /// What the phrases mean.
    pub(super) op: String,
    /// The phrases.
    pub(super) phrases: Vec<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct ToldEntry {
    op: String,
    #[serde(default)]
    make: bool,
    phrases: Vec<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    cues: Vec<String>,
    weak_cues: Vec<String>,
    by_cues: Vec<String>,
    turned_cues: Vec<String>,
    called_cues: Vec<String>,
    lead_in: HashSet<String>,
    other_names: HashSet<String>,
    no_term: HashSet<String>,
    plain_rows: HashSet<String>,
    purled_rows: HashSet<String>,
    pieces: HashSet<String>,
    full_words: HashSet<String>,
    short_words: HashSet<String>,
    fixed: HashSet<String>,
    spelled: HashSet<String>,
    filler: HashSet<String>,
    cuts: Vec<String>,
    going_on: Vec<String>,
    told: Vec<ToldEntry>,
    frame: Vec<Frame>,
    compound: Vec<Compound>,
}

/// The data, filed for use.
pub(super) struct Data {
    /// Words that link term and explanation.
    pub(super) cues: PhraseBook,
    cue_kinds: Vec<CueKind>,
    /// Turns of phrase in explanations.
    pub(super) told: PhraseBook,
    tellings: Vec<Told>,
    /// Words before a term that do not belong to it.
    pub(super) lead_in: HashSet<String>,
    /// Words that begin other names of a term, which stand between commas after it.
    pub(super) other_names: HashSet<String>,
    /// Words that are no term.
    pub(super) no_term: HashSet<String>,
    /// Words for rows that are knitted, and for those that are purled.
    pub(super) plain_rows: HashSet<String>,
    pub(super) purled_rows: HashSet<String>,
    /// Names of pieces of a row that hold words that are else no term.
    pub(super) pieces: HashSet<String>,
    /// Words that are no abbreviation.
    pub(super) full_words: HashSet<String>,
    /// Abbreviations that look like words.
    pub(super) short_words: HashSet<String>,
    /// Terms whose meaning never changes.
    pub(super) fixed: HashSet<String>,
    /// Words that a term may be a shorter spelling of.
    pub(super) spelled: HashSet<String>,
    /// Words passed over in an explanation.
    pub(super) filler: HashSet<String>,
    /// Phrases for new terms.
    pub(super) frames: Vec<Frame>,
    /// Phrases for several words at once.
    pub(super) compounds: Vec<Compound>,
}

/// Why the file cannot be used.
#[derive(Debug, thiserror::Error)]
pub(super) enum BadGlossaryData {
    /// Its form.
    #[error("not the form of the file: {0}")]
    Form(#[from] toml::de::Error),
    /// A phrase.
    #[error(transparent)]
    Phrase(#[from] BadPhrase),
    /// An operation.
    #[error("no stitch operation is called \"{0}\"")]
    Op(String),
}

impl Data {
    fn parse(file: &str) -> Result<Data, BadGlossaryData> {
        let file: File = toml::from_str(file)?;
        let mut data = Data {
            cues: PhraseBook::default(),
            cue_kinds: Vec::new(),
            told: PhraseBook::default(),
            tellings: Vec::new(),
            lead_in: file.lead_in,
            other_names: file.other_names,
            no_term: file.no_term,
            plain_rows: file.plain_rows,
            purled_rows: file.purled_rows,
            pieces: file.pieces,
            full_words: file.full_words,
            short_words: file.short_words,
            fixed: file.fixed,
            spelled: file.spelled,
            filler: file.filler,
            frames: file.frame,
            compounds: file.compound,
        };
        for (phrases, kind) in [
            (&file.cues, CueKind::Strong),
            (&file.weak_cues, CueKind::Weak),
            (&file.by_cues, CueKind::By),
            (&file.turned_cues, CueKind::Turned),
            (&file.called_cues, CueKind::Called),
        ] {
            add(&mut data.cues, phrases, data.cue_kinds.len())?;
            data.cue_kinds.push(kind);
        }
        for (phrases, told) in [(&file.cuts, Told::Cut), (&file.going_on, Told::GoesOn)] {
            data.tell(phrases, told)?;
        }
        for entry in &file.told {
            data.tell(&entry.phrases, telling(entry)?)?;
        }
        for compound in &data.compounds {
            parse_op(&compound.op)?;
        }
        Ok(data)
    }

    fn tell(&mut self, phrases: &[String], told: Told) -> Result<(), BadGlossaryData> {
        add(&mut self.told, phrases, self.tellings.len())?;
        self.tellings.push(told);
        Ok(())
    }

    /// How firm the cue filed under this entry is.
    pub(super) fn cue(&self, entry: u32) -> CueKind {
        self.cue_kinds[entry as usize]
    }

    /// What the turn of phrase filed under this entry tells.
    pub(super) fn telling(&self, entry: u32) -> &Told {
        &self.tellings[entry as usize]
    }
}

impl Frame {
    /// Whether its phrases tell a whole row, or the rest of one.
    pub(super) fn works_a_row(&self) -> bool {
        matches!(self.kind.as_str(), "row" | "rest")
    }

    /// What the phrases mean for a term that stands for these operations.
    pub(super) fn meaning(&self, ops: &[Op]) -> Option<Meaning> {
        Some(match (self.kind.as_str(), &self.op) {
            ("row", _) => Meaning::Row(*ops.first()?),
            ("rest", _) => Meaning::Rest(*ops.first()?),
            (_, None) => Meaning::Stitches(ops.to_vec()),
            (_, Some(op)) if op.contains('{') => Meaning::Family(op.clone()),
            (_, Some(op)) => Meaning::Stitches(vec![op.parse().ok()?]),
        })
    }
}

fn add(book: &mut PhraseBook, phrases: &[String], entry: usize) -> Result<(), BadPhrase> {
    let entry = u32::try_from(entry).unwrap_or(u32::MAX);
    phrases.iter().try_for_each(|phrase| book.add(phrase, entry))
}

fn telling(entry: &ToldEntry) -> Result<Told, BadGlossaryData> {
    Ok(match entry.op.as_str() {
        "" => Told::Nothing,
        "pass" => Told::Pass,
        op if entry.make => Told::Make(parse_op(op)?),
        op => Told::Ops(vec![parse_op(op)?]),
    })
}

fn parse_op(op: &str) -> Result<Op, BadGlossaryData> {
    op.parse().map_err(|_| BadGlossaryData::Op(op.to_owned()))
}
