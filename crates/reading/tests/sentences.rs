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

/// The rows that a sentence adds, as operations, turns among them.
fn told(reader: &Reader, says: &str) -> Vec<Vec<String>> {
    let reading = reader.read(&format!("{BEFORE}{says}\n"), &Options::default());
    let rows = reading.pieces.iter().flat_map(|piece| &piece.piece.rows).skip(ROWS_BEFORE);
    let step = |step: &Step| match step {
        Step::Work(op, _) => Some(op.to_string()),
        _ => None,
    };
    rows.map(|row| row.steps.iter().filter_map(step).collect()).collect()
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
