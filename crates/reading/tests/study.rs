//! A reader with a memory reads as one without: the stretches it knows are only moved to their place.

use std::path::Path;

use reading::{Options, Reader, lex};

/// The same rows further on, with a number changed, and as they stood at first.
fn variants(text: &str) -> [String; 4] {
    let longer = format!("Instructions for this pattern.\n\n{text}");
    [text.to_owned(), longer.clone(), longer.replacen(" 2", " 3", 1), text.to_owned()]
}

#[test]
fn a_text_met_again_reads_the_same() {
    let reader = Reader::new().expect("whole data files");
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/mending");
    for entry in std::fs::read_dir(folder).expect("the folder is in the project") {
        let file = std::fs::read_to_string(entry.expect("a readable entry").path()).expect("a file");
        let gold: toml::Table = toml::from_str(&file).expect("a checked reading");
        let text = gold["text"].as_str().expect("a text");
        let study = reader.study();
        for variant in variants(text) {
            let remembered = study.read(&variant, &Options::default());
            let fresh = reader.read(&variant, &Options::default());
            assert_eq!(format!("{remembered:?}"), format!("{fresh:?}"), "{variant}");
            let cut = study.read_tokens(&variant, lex(&variant), &Options::default());
            assert_eq!(format!("{cut:?}"), format!("{fresh:?}"), "{variant}");
        }
    }
}
