//! The JSON of every fixture and of the demo keeps to the forms in `schema/`, and what it says holds together.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::path::{Path, PathBuf};

use loops::{parse_tokens, tally};
use loopwright::{Checked, Senses, Source, json};
use reading::Options;
use serde::Deserialize;
use serde_json::Value;

/// How many corrections are asked for.
const TOP: usize = 3;

/// What a test needs of a fixture.
#[derive(Deserialize)]
struct Fixture {
    text: String,
    #[serde(default)]
    glossary: String,
    cast_on: Option<u32>,
    multiple: Option<toml::Value>,
    #[serde(default)]
    cast_on_chosen: bool,
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn checked(name: &str, text: &str, glossary: &str, cast_on: Option<u32>) -> Checked {
    let options = Options { cast_on, ..Options::default() };
    let senses = Senses::builtin().unwrap().with(&Source::of_text("glossary", glossary)).unwrap();
    Checked::of_source(Source::of_text(name, text), &senses, options, TOP).unwrap()
}

/// Every fixture, and the demo as a whole, read.
fn all() -> Vec<(String, Checked)> {
    let mut all = Vec::new();
    for folder in ["reading", "mending", "clean"] {
        for entry in std::fs::read_dir(root().join("fixtures").join(folder)).unwrap() {
            let path = entry.unwrap().path();
            let fixture: Fixture = toml::from_str(&std::fs::read_to_string(&path).unwrap()).unwrap();
            let is_open = fixture.multiple.is_some() || fixture.cast_on_chosen;
            let name = format!("{folder}/{}", path.file_stem().unwrap().to_string_lossy());
            let checked =
                checked(&name, &fixture.text, &fixture.glossary, fixture.cast_on.filter(|_| is_open));
            all.push((name, checked));
        }
    }
    let demo = std::fs::read_to_string(root().join("demo/carriage-rug.txt")).unwrap();
    all.push(("demo".to_owned(), checked("demo", &demo, "", None)));
    assert!(all.len() > 100, "the fixtures were not found");
    all
}

fn schema(name: &str) -> jsonschema::Validator {
    let text = std::fs::read_to_string(root().join("schema").join(name)).unwrap();
    let schema: Value = serde_json::from_str(&text).unwrap();
    jsonschema::draft202012::meta::validate(&schema).unwrap();
    jsonschema::draft202012::new(&schema).unwrap()
}

fn assert_valid(schema: &jsonschema::Validator, name: &str, json: &Value) {
    let errors: Vec<String> =
        schema.iter_errors(json).map(|error| format!("{}: {error}", error.instance_path)).collect();
    assert!(errors.is_empty(), "{name}: {errors:#?}");
}

#[test]
fn every_output_keeps_to_its_form_and_holds_together() {
    let (reading, mending) = (schema("reading-1.schema.json"), schema("mending-1.schema.json"));
    let along = schema("along-1.schema.json");
    for (name, checked) in all() {
        let read = serde_json::to_value(json::reading(&checked)).unwrap();
        assert_valid(&reading, &name, &read);
        assert_spans(&name, &read, &checked.source.text);
        assert_pieces(&name, &read["pieces"], read["faults"].as_array().is_some_and(Vec::is_empty));
        let mend = serde_json::to_value(json::mending(&checked, TOP)).unwrap();
        assert_valid(&mending, &name, &mend);
        assert_spans(&name, &mend, &checked.source.text);
        assert_valid(&along, &name, &at_the_needles(&checked));
    }
}

/// The plan of the demo, and one with everything that the demo does not have.
#[test]
fn plans_keep_to_their_form() {
    let form = schema("plan-1.schema.json");
    let demo = std::fs::read_to_string(root().join("demo/carriage-rug.txt")).unwrap();
    let demo_plan = std::fs::read_to_string(root().join("demo/carriage-rug.plan")).unwrap();
    let full = std::fs::read_to_string(root().join("fixtures/plan/jacket.txt")).unwrap();
    let full_plan = std::fs::read_to_string(root().join("fixtures/plan/jacket.plan")).unwrap();
    for (name, text, plan) in [("demo", demo, demo_plan), ("jacket", full, full_plan)] {
        let checked = checked(name, &text, "", None);
        let pieces: Vec<loops::Piece> =
            checked.pieces().unwrap().iter().map(|reading| reading.piece.clone()).collect();
        let plan = makingup::Plan::of(&makingup::PlanFile::read(&plan).unwrap(), &pieces).unwrap();
        assert_valid(
            &form,
            name,
            &serde_json::to_value(json::plan(&plan, &["Keep it from flames."])).unwrap(),
        );
    }
}

fn at_the_needles(checked: &Checked) -> Value {
    let pieces = checked.reading().pieces.iter();
    let pieces = pieces.map(|reading| along::AlongPiece::of(&reading.piece, wording::Terms::Us));
    serde_json::to_value(json::along(&pieces.collect::<Vec<_>>())).unwrap()
}

/// Every span lies in the text, and printed words are the words under it.
fn assert_spans(name: &str, json: &Value, text: &str) {
    match json {
        Value::Array(items) => items.iter().for_each(|item| assert_spans(name, item, text)),
        Value::Object(fields) => {
            if let Some(span) = fields.get("span") {
                let [start, end] = [0, 1].map(|at| span[at].as_u64().unwrap() as usize);
                let words = text
                    .get(start..end)
                    .unwrap_or_else(|| panic!("{name}: {start}..{end} is not in the text"));
                for field in ["printed", "text"] {
                    if let Some(printed) = fields.get(field).and_then(Value::as_str).filter(|_| end > start) {
                        assert_eq!(one_line(printed), one_line(words), "{name}: {field}");
                    }
                }
            }
            fields.values().for_each(|value| assert_spans(name, value, text));
        }
        _ => {}
    }
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Each row takes what the row before left, where nothing is at fault.
fn assert_pieces(name: &str, pieces: &Value, is_whole: bool) {
    for piece in pieces.as_array().unwrap().iter().filter(|_| is_whole) {
        let mut count = piece["cast_on"].as_u64().unwrap();
        for row in piece["rows"].as_array().unwrap() {
            assert_eq!(row["before"].as_u64().unwrap(), count, "{name}: row {}", row["label"]);
            let sum = tally(&parse_tokens(row["ops"].as_str().unwrap()).unwrap());
            count = row["after"].as_u64().unwrap();
            let left = if sum.turns { row["before"].as_u64().unwrap() - u64::from(sum.takes) } else { 0 };
            assert_eq!(u64::from(sum.makes) + left, count, "{name}: row {}", row["label"]);
        }
    }
}

#[test]
fn the_same_text_gives_the_same_json() {
    let text = std::fs::read_to_string(root().join("demo/carriage-rug.txt")).unwrap();
    let json = || serde_json::to_string(&json::reading(&checked("demo", &text, "", None))).unwrap();
    assert_eq!(json(), json());
}

#[test]
fn a_wrong_output_is_refused() {
    let schema = schema("reading-1.schema.json");
    let mut json =
        serde_json::to_value(json::reading(&checked("", "Cast on 3.\n1st row.--Knit 3.\n", "", None)))
            .unwrap();
    assert!(schema.is_valid(&json));
    json["pieces"][0]["rows"][0]["side"] = "right".into();
    assert!(!schema.is_valid(&json));
}
