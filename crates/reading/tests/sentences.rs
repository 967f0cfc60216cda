//! Single sentences as books print them, with the rows that they tell.
//!
//! A pattern's text is a check of everything together; these say which turn of phrase is no longer understood.

use loops::{Op, Step, parse_tokens};
use reading::{Options, Reader};
use serde::Deserialize;

/// What is told before each sentence.
const BEFORE: &str = "Cast on 21 stitches.\n\n1st row. Plain. 2nd row. Purl.\n\n";
/// The rows that this makes.
const ROWS_BEFORE: usize = 2;

#[derive(Deserialize)]
struct Cases {
    case: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    says: String,
    rows: Vec<String>,
}

#[derive(Deserialize)]
struct Surrounded {
    case: Vec<InSurroundings>,
}

/// A sentence with what is told before it.
#[derive(Deserialize)]
struct InSurroundings {
    before: String,
    #[serde(default)]
    glossary: String,
    says: String,
    rows: Vec<String>,
    /// Whether it is not read yet.
    #[serde(default)]
    open: bool,
}

impl InSurroundings {
    /// The last rows of what is read, as many as the sentence tells.
    fn read(&self, lexicon: &notation::Lexicon) -> Vec<Vec<String>> {
        let text = format!("{}\n\n{}\n", self.before, self.says);
        let reader = Reader::for_text(lexicon, &self.glossary, &text).expect("whole data");
        let reading = reader.read(&text, &Options::default());
        let rows: Vec<Vec<String>> =
            reading.pieces.iter().flat_map(|piece| &piece.piece.rows).map(|row| names(&row.steps)).collect();
        let from = rows.len().saturating_sub(self.rows.len());
        rows[from..].iter().map(|row| bare(row.clone())).collect()
    }
}

fn names(steps: &[Step]) -> Vec<String> {
    let name = |step: &Step| match step {
        Step::Work(op, _) => Some(op.to_string()),
        _ => None,
    };
    steps.iter().filter_map(name).collect()
}

/// A row without the turn at its end, and without the way in which stitches are slipped.
fn bare(mut row: Vec<String>) -> Vec<String> {
    row.pop_if(|last| last == "turn");
    let slip = |name: String| {
        let slips = matches!(name.as_str(), "slp" | "slk" | "slwyif" | "slwyib");
        if slips { "sl".to_owned() } else { name }
    };
    row.into_iter().map(slip).collect()
}

/// The rows that a sentence adds, as operations, turns among them.
fn told(reader: &Reader, says: &str) -> Vec<Vec<String>> {
    let reading = reader.read(&format!("{BEFORE}{says}\n"), &Options::default());
    let rows = reading.pieces.iter().flat_map(|piece| &piece.piece.rows).skip(ROWS_BEFORE);
    rows.map(|row| names(&row.steps)).collect()
}

fn wanted(row: &str) -> Vec<String> {
    parse_tokens(row)
        .expect("operations")
        .iter()
        .map(|stitch| stitch.op)
        .map(|op: Op| op.to_string())
        .collect()
}

#[test]
fn each_sentence_tells_its_rows() {
    let cases: Cases = toml::from_str(include_str!("sentences/cases.toml")).unwrap();
    assert!(cases.case.len() > 100, "the cases have been emptied");
    let reader = Reader::new().unwrap();
    let mut wrong = Vec::new();
    for case in &cases.case {
        let rows: Vec<Vec<String>> = case.rows.iter().map(|row| wanted(row)).collect();
        let read = told(&reader, &case.says);
        if read != rows {
            wrong.push(format!("{:?}\n  tells {rows:?}\n  read  {read:?}", case.says));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn each_sentence_tells_its_rows_in_its_surroundings() {
    tell_their_rows(include_str!("sentences/surroundings.toml"));
}

#[test]
fn each_everyday_sentence_tells_its_rows() {
    tell_their_rows(include_str!("sentences/everyday.toml"));
}

#[test]
fn each_household_sentence_tells_its_rows() {
    tell_their_rows(include_str!("sentences/household.toml"));
}

#[test]
fn each_market_sentence_tells_its_rows() {
    tell_their_rows(include_str!("sentences/market.toml"));
}

#[test]
fn each_parish_sentence_tells_its_rows() {
    tell_their_rows(include_str!("sentences/parish.toml"));
}

#[test]
fn each_sentence_of_whole_rows_tells_them() {
    tell_their_rows(include_str!("sentences/whole_rows.toml"));
}

/// Reads every case of a file; those marked open must not be read yet.
fn tell_their_rows(cases: &str) {
    let cases: Surrounded = toml::from_str(cases).expect("the cases are written as they should be");
    assert!(cases.case.len() > 100, "the cases have been emptied");
    let lexicon = notation::Lexicon::builtin().expect("the data files compiled in are whole");
    let mut wrong = Vec::new();
    for case in &cases.case {
        let rows: Vec<Vec<String>> = case.rows.iter().map(|row| bare(wanted(row))).collect();
        let read = case.read(&lexicon);
        match (read == rows, case.open) {
            (false, false) => wrong.push(format!("{:?}\n  tells {rows:?}\n  read  {read:?}", case.says)),
            (true, true) => wrong.push(format!("{:?} is read now: it is open no more", case.says)),
            _ => {}
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
