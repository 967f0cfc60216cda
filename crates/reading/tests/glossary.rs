//! A book's own explanation of terms: what is understood, what is not, and what comes of it in reading.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

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
    static BUILTIN: LazyLock<Lexicon> = LazyLock::new(|| Lexicon::builtin().expect("whole senses"));
    BUILTIN.clone()
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
        let glossary =
            if case.within { senses_within(&case.text, &lexicon) } else { senses_of(&case.text, &lexicon) };
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

/// What a folder of checked readings is known to say.
#[derive(Deserialize)]
struct Known {
    /// Every op that a term may be found to mean.
    allowed: BTreeMap<String, Vec<String>>,
    /// The definitions of some fixtures that add something, by file.
    fixture: BTreeMap<String, BTreeMap<String, String>>,
    /// What the texts of some fixtures explain in passing.
    within: BTreeMap<String, BTreeMap<String, String>>,
    /// The words for which these texts write others.
    spelled: BTreeMap<String, BTreeMap<String, String>>,
}

/// The checked readings of this workspace, and those of the corpus where it is at hand: it is named by
/// `LOOPWRIGHT_CORPUS`, or lies beside the workspace.
fn checked_readings() -> Vec<(String, toml::Table)> {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let corpus = std::env::var_os("LOOPWRIGHT_CORPUS")
        .map_or_else(|| here.join("../../../shared/corpus/dev"), PathBuf::from);
    let mut files = Vec::new();
    files_in(&here.join("../../fixtures"), &mut files);
    files_in(&corpus, &mut files);
    let load = |file: PathBuf| {
        let table = toml::from_str(&std::fs::read_to_string(&file).expect("a readable file"))
            .expect("a checked reading");
        (file.file_stem().expect("a file has a name").to_string_lossy().into_owned(), table)
    };
    files.into_iter().map(load).collect()
}

fn files_in(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            files_in(&path, files);
        } else if path.extension().is_some_and(|ending| ending == "toml") {
            files.push(path);
        }
    }
}

#[test]
fn checked_readings_are_not_contradicted() {
    let known: Known = toml::from_str(include_str!("glossary/known.toml")).unwrap();
    let lexicon = lexicon();
    let readings = checked_readings();
    assert!(readings.len() > 100);
    let mut seen = 0;
    for (name, table) in &readings {
        let text = |key: &str| table.get(key).and_then(toml::Value::as_str).unwrap_or("");
        let within = senses_within(text("text"), &lexicon);
        let explained: BTreeMap<String, String> =
            within.definitions.iter().map(|one| (one.term.clone(), told(&one.meaning))).collect();
        let expected = known.within.get(name).cloned().unwrap_or_default();
        let respelled: BTreeMap<String, String> =
            within.respellings.iter().map(|one| (one.term.join(" "), one.words.join(" "))).collect();
        let spelled = known.spelled.get(name).cloned().unwrap_or_default();
        assert_eq!((explained, respelled), (expected, spelled), "{name}: explained in the text");
        let glossary = senses_of(text("glossary"), &lexicon);
        for definition in &glossary.definitions {
            println!("{name}: {} = {}", definition.term, told(&definition.meaning));
            let allowed = known
                .allowed
                .get(&definition.term)
                .is_some_and(|ops| ops.contains(&told(&definition.meaning)));
            assert!(allowed, "{name}: {} is {}", definition.term, told(&definition.meaning));
            assert!(definition.words.contains(definition.explained.of(text("glossary"))));
        }
        if let Some(expected) = known.fixture.get(name) {
            let new = glossary.definitions.iter().filter(|definition| !definition.confirms);
            let new: BTreeMap<String, String> =
                new.map(|one| (one.term.clone(), told(&one.meaning))).collect();
            assert_eq!(new, *expected, "{name}");
            seen += 1;
        }
    }
    assert_eq!(seen, known.fixture.len());
}

/// The rows that a text comes to with a book's own terms.
fn rows(glossary: &str, text: &str) -> Vec<String> {
    let (lexicon, terms) = lexicon_of_book(&lexicon(), glossary);
    let reader = Reader::with(lexicon).expect("whole data");
    let reading = reader.read(text, &Options { answers: terms.answers, ..Options::default() });
    assert_eq!(reading.pieces.len(), 1, "{text}");
    reading.pieces[0].worked.rows.iter().map(|row| loops::tokens(&row.ops)).collect()
}

#[derive(Deserialize)]
struct Swaps {
    swap: Vec<Swap>,
}

#[derive(Deserialize)]
struct Swap {
    rows: Vec<String>,
    way: Vec<Way>,
}

#[derive(Deserialize)]
struct Way {
    glossary: String,
    text: String,
}

#[test]
fn one_pattern_under_many_letters_is_one_program() {
    let swaps: Swaps = toml::from_str(include_str!("glossary/swaps.toml")).unwrap();
    let mut wrong = Vec::new();
    for swap in &swaps.swap {
        for way in &swap.way {
            let found = rows(&way.glossary, &way.text);
            if found != swap.rows {
                wrong.push(format!("{}\n  found    {found:?}\n  expected {:?}", way.glossary, swap.rows));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn respelled_words_keep_their_spans() {
    let text = "k 2 tg, c. o. 12";
    let glossary = senses_of("tg, together; c. o., cast on; r = round.", &lexicon());
    let tokens = glossary.respell(reading::lex(text));
    let words: Vec<(&str, &str)> =
        tokens.iter().map(|token| (token.text.as_str(), token.span.of(text))).collect();
    assert_eq!(
        words,
        [("k", "k"), ("2", "2"), ("together", "tg"), ("cast", "c. o"), ("on", "c. o"), ("12", "12")]
    );
}

#[test]
fn what_confirms_the_lexicon_adds_nothing() {
    let (lexicon, glossary) = lexicon_of_book(
        &lexicon(),
        "To bring the wool forward.--To bring the wool forward so as to make a hole.",
    );
    assert!(glossary.definitions[0].confirms);
    assert_eq!(lexicon.senses().count(), self::lexicon().senses().count());
}

/// Found by the arbitrary explanations below: a term is announced, and the text ends.
#[test]
fn an_explanation_may_end_before_its_term() {
    let lexicon = lexicon();
    for text in ["P is written (", "Knit is written", "by T we mean ("] {
        assert_eq!(senses_of(text, &lexicon).definitions, []);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn arbitrary_text_brings_no_panic(text in "\\PC{0,200}") {
        total(&text);
    }

    #[test]
    fn arbitrary_explanations_bring_no_panic(parts in prop::collection::vec(prop::sample::select(PARTS), 0..40)) {
        total(&parts.concat());
    }
}

const PARTS: &[&str] = &[
    "P",
    "K",
    " a",
    " knit",
    " purl",
    " means",
    " = ",
    ", ",
    "; ",
    ". ",
    ".--",
    ": ",
    "(",
    ")",
    "(p)",
    "\n",
    "\n\n",
    " is",
    " for",
    " 2",
    " together",
    " slip",
    " draw it over",
    " stands for",
    " by",
    " we mean",
    " written ",
    " or",
    " and",
    "_",
    " to",
    " make one",
    " wool forward",
    "....",
    "\t",
    "   ",
    " T",
    " one hundred",
    " the",
    " plain",
    "½",
    "é",
    "“",
    " &c.",
];

/// Every part of the result must lie within the text.
fn total(text: &str) {
    let lexicon = lexicon();
    for glossary in [senses_of(text, &lexicon), senses_within(text, &lexicon)] {
        for definition in &glossary.definitions {
            assert!(!definition.span.of(text).is_empty() && !definition.explained.of(text).is_empty());
        }
        assert!(glossary.not_understood.iter().all(|span| !span.of(text).is_empty()));
        glossary.install(&lexicon);
        glossary.respell(reading::lex(text));
    }
}
