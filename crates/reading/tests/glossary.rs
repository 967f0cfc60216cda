//! A book's own explanation of terms: what is understood, what is not, and what comes of it in reading.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use notation::{Lexicon, Meaning, YarnTo};
use proptest::prelude::*;
use reading::{Glossary, Options, Reader, lexicon_of_book, senses_of, senses_within};
use serde::Deserialize;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Cases {
    case: Vec<Case>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    text: String,
    #[serde(default)]
    within: bool,
    #[serde(default)]
    terms: BTreeMap<String, String>,
    #[serde(default)]
    answers: BTreeMap<String, String>,
    #[serde(default)]
    spelled: BTreeMap<String, String>,
    #[serde(default)]
    missed: usize,
}

fn lexicon() -> Lexicon {
    Lexicon::builtin().unwrap()
}

fn told(meaning: &Meaning) -> String {
    match meaning {
        Meaning::Stitches(ops) => ops.iter().map(ToString::to_string).collect::<Vec<_>>().join(" "),
        Meaning::Move(YarnTo::Front) => "front".to_owned(),
        Meaning::Move(YarnTo::Back) => "back".to_owned(),
        other => format!("{other:?}"),
    }
}

/// Terms with all that they are said to mean.
fn terms(glossary: &Glossary) -> BTreeMap<String, String> {
    let mut terms: BTreeMap<String, String> = BTreeMap::new();
    for definition in &glossary.definitions {
        let entry = terms.entry(definition.term.clone()).or_default();
        if !entry.is_empty() {
            entry.push(' ');
        }
        entry.push_str(&told(&definition.meaning));
    }
    terms
}

#[test]
fn explanations_are_understood() {
    let cases: Cases = toml::from_str(include_str!("glossary/cases.toml")).unwrap();
    let lexicon = lexicon();
    let mut wrong = Vec::new();
    for case in &cases.case {
        let glossary = if case.within { senses_within(&case.text, &lexicon) } else { senses_of(&case.text, &lexicon) };
        let spelled: BTreeMap<String, String> =
            glossary.respellings.iter().map(|one| (one.term.join(" "), one.words.join(" "))).collect();
        let found = (terms(&glossary), glossary.answers.clone(), spelled, glossary.not_understood.len());
        let expected = (case.terms.clone(), case.answers.clone(), case.spelled.clone(), case.missed);
        if found != expected {
            wrong.push(format!("{}\n  found    {found:?}\n  expected {expected:?}", case.text));
        }
    }
    assert!(wrong.is_empty(), "{} of {} wrong\n{}", wrong.len(), cases.case.len(), wrong.join("\n"));
}

/// Prints what is found in a folder's glossaries and texts.
#[test]
fn tmp_print() {
    let lexicon = lexicon();
    for folder in std::env::var("FOLDERS").unwrap_or_default().split(':') {
        for file in walk(Path::new(folder)) {
            let table: toml::Table = toml::from_str(&std::fs::read_to_string(&file).unwrap()).unwrap();
            let get = |key: &str| table.get(key).and_then(toml::Value::as_str).unwrap_or("").to_owned();
            let a = senses_of(&get("glossary"), &lexicon);
            let b = senses_within(&get("text"), &lexicon);
            println!("== {}", file.file_name().unwrap().to_string_lossy());
            for (name, glossary, text) in [("G", &a, get("glossary")), ("T", &b, get("text"))] {
                for d in &glossary.definitions { println!("  {name} {} = {} {} {:?}   [{}]", d.term, told(&d.meaning), if d.confirms {"confirms"} else {"NEW"}, d.context, d.words.replace('\n', " ")); }
                if !glossary.answers.is_empty() { println!("  {name} answers {:?}", glossary.answers); }
                for d in &glossary.respellings { println!("  {name} spelled {:?} {:?}", d.term, d.words); }
                for d in &glossary.not_understood { println!("  {name} missed {}", d.of(&text).replace('\n', " ")); }
            }
        }
    }
}
fn walk(folder: &Path) -> Vec<PathBuf> {
    let mut all: Vec<PathBuf> = Vec::new();
    let Ok(entries) = std::fs::read_dir(folder) else { return all };
    for entry in entries.flatten() {
        let path = entry.path();
        if path.is_dir() { all.extend(walk(&path)); } else if path.extension().is_some_and(|e| e == "toml") { all.push(path); }
    }
    all.sort();
    all
}
