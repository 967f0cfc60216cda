//! Prepares the copy: everything the template sets, as one clean JSON file and one file for each drawing.
//!
//! The template is fixed; what users wrote reaches it only as data. All strings of the edition pass through
//! [`clean`], whatever their field, so that a field added later cannot be forgotten.

use std::collections::HashMap;

use serde_json::Value;

use crate::clean;
use crate::edition::{Drawing, Edition, Key, PieceText};
use crate::error::BookletError;
use crate::niceties;

/// An edition made ready for the press.
pub(crate) struct Copy {
    /// The edition as JSON, each `svg` replaced by the path of its file.
    pub(crate) json: String,
    /// The drawings, in the order of the pages; equal ones share a path.
    pub(crate) drawings: Vec<NamedDrawing>,
}

/// One drawing as a file.
pub(crate) struct NamedDrawing {
    /// The drawing in words, for messages.
    pub(crate) name: String,
    /// Path the template knows it by.
    pub(crate) path: String,
    /// The SVG.
    pub(crate) svg: String,
}

/// Field that holds a drawing.
const DRAWING: &str = "svg";
/// Field whose lines are kept.
const LINES: &str = "original_text";
/// Fields that quote the source or are machine-made; their quotes stay as they are.
const VERBATIM: [&str; 4] = ["printed", "short", "symbol", "identifier"];

/// Distinct drawings of one booklet. The paths are typst's for as long as the program runs, and it stops at
/// 65,535 of them; so they are numbers, which every booklet shares.
const DRAWING_LIMIT: usize = 1000;

/// Makes the copy of an edition.
pub(crate) fn prepare(edition: &Edition) -> Result<Copy, BookletError> {
    let mut edition = edition.clone();
    name_unworded(&mut edition);
    let mut paths = HashMap::new();
    let drawings = drawings(&edition, &mut paths)?;
    let mut value =
        serde_json::to_value(&edition).map_err(|error| BookletError::Layout(error.to_string()))?;
    clean_value("", &mut value, &paths);
    if value["title"].as_str().is_none_or(str::is_empty) {
        return Err(BookletError::NoTitle);
    }
    Ok(Copy { json: value.to_string(), drawings })
}

/// Gives a drawing without words its name, since an accessible PDF must have some.
fn name_unworded(edition: &mut Edition) {
    let word = |drawing: &mut Drawing, name: String| {
        if clean::line(&drawing.alt).is_empty() {
            drawing.alt = name;
        }
    };
    if let Some(picture) = &mut edition.picture {
        word(picture, picture_name());
    }
    if let Some(schematic) = &mut edition.schematic {
        word(schematic, schematic_name());
    }
    for (at, piece) in edition.pieces.iter_mut().enumerate() {
        let title = piece_title(at, piece);
        if let Some(cloth) = &mut piece.cloth {
            word(cloth, cloth_name(&title));
        }
        for (number, chart) in piece.charts.iter_mut().enumerate() {
            word(chart, chart_name(&title, number));
        }
        if let Some(key) = &mut piece.key.drawing {
            word(key, key_name(&title));
        }
    }
}

/// SVG and the path of its file.
type Paths = HashMap<String, String>;

/// Names the drawings and gives each its path.
fn drawings(edition: &Edition, paths: &mut Paths) -> Result<Vec<NamedDrawing>, BookletError> {
    let mut out = Vec::new();
    for (name, svg) in named_svgs(edition) {
        let svg = clean::drawing(svg);
        let number = paths.len();
        let path = paths.entry(svg.clone()).or_insert_with(|| format!("/drawings/{number}.svg")).clone();
        if paths.len() > DRAWING_LIMIT {
            let reason = format!("a booklet holds at most {DRAWING_LIMIT} drawings");
            return Err(BookletError::Drawing { name, reason });
        }
        out.push(NamedDrawing { name, path, svg });
    }
    Ok(out)
}

fn named_svgs(edition: &Edition) -> Vec<(String, &str)> {
    let mut out: Vec<(String, &str)> = Vec::new();
    out.extend(edition.picture.iter().map(|picture| (picture_name(), picture.svg.as_str())));
    for (at, piece) in edition.pieces.iter().enumerate() {
        let title = piece_title(at, piece);
        out.extend(piece.cloth.iter().map(|cloth| (cloth_name(&title), cloth.svg.as_str())));
        let charts = piece.charts.iter().enumerate();
        out.extend(charts.map(|(number, chart)| (chart_name(&title, number), chart.svg.as_str())));
        let Key { drawing, entries } = &piece.key;
        out.extend(drawing.iter().map(|key| (key_name(&title), key.svg.as_str())));
        let symbols = entries.iter().filter_map(|entry| entry.svg.as_deref().map(|svg| (entry, svg)));
        out.extend(symbols.map(|(entry, svg)| (symbol_name(&title, &entry.meaning), svg)));
    }
    out.extend(edition.schematic.iter().map(|schematic| (schematic_name(), schematic.svg.as_str())));
    out
}

fn schematic_name() -> String {
    "the schematic".to_owned()
}

fn picture_name() -> String {
    "the picture on the title page".to_owned()
}

fn cloth_name(title: &str) -> String {
    format!("the picture of the cloth of {title}")
}

fn chart_name(title: &str, number: usize) -> String {
    format!("chart {} of {title}", number + 1)
}

fn key_name(title: &str) -> String {
    format!("the key of {title}")
}

fn symbol_name(title: &str, meaning: &str) -> String {
    format!("the symbol for “{}” in the key of {title}", clean::line(meaning))
}

fn piece_title(at: usize, piece: &PieceText) -> String {
    match piece.name.as_deref().map(clean::line) {
        Some(name) if !name.is_empty() => format!("“{name}”"),
        _ => format!("piece {}", at + 1),
    }
}

/// Cleans all strings under a field, and drops the blank ones of a list.
fn clean_value(field: &str, value: &mut Value, paths: &Paths) {
    match value {
        Value::String(text) => *text = clean_text(field, text, paths),
        Value::Array(items) => {
            items.iter_mut().for_each(|item| clean_value(field, item, paths));
            items.retain(|item| item.as_str() != Some(""));
        }
        Value::Object(fields) => {
            fields.iter_mut().for_each(|(field, value)| clean_value(field, value, paths));
        }
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

fn clean_text(field: &str, text: &str, paths: &Paths) -> String {
    match field {
        DRAWING => paths.get(&clean::drawing(text)).cloned().unwrap_or_default(),
        LINES => clean::lines(text),
        _ if VERBATIM.contains(&field) => clean::line(text),
        _ => niceties::polish(&clean::line(text)),
    }
}

#[cfg(test)]
mod tests {
    use super::{LINES, VERBATIM, prepare};
    use crate::edition::{Abbreviation, Drawing, Edition, Key, KeyEntry, Note, PieceText, Source};
    use crate::error::BookletError;

    fn drawing(svg: &str) -> Drawing {
        Drawing { svg: svg.to_owned(), ..Drawing::default() }
    }

    #[test]
    fn drawings_become_files_with_words() {
        let key = Key {
            drawing: Some(drawing("<svg>key</svg>")),
            entries: vec![KeyEntry {
                svg: Some("<svg>o</svg>".into()),
                meaning: "over".into(),
                ..Default::default()
            }],
        };
        let piece = PieceText { charts: vec![drawing("<svg>chart</svg>")], key, ..PieceText::default() };
        let picture = Some(drawing("<svg>picture</svg>"));
        let edition =
            Edition { title: "A".into(), picture, pieces: vec![piece.clone(), piece], ..Edition::default() };
        let copy = prepare(&edition).unwrap();
        let names: Vec<&str> = copy.drawings.iter().map(|drawing| drawing.name.as_str()).collect();
        assert_eq!(
            names,
            [
                "the picture on the title page",
                "chart 1 of piece 1",
                "the key of piece 1",
                "the symbol for “over” in the key of piece 1",
                "chart 1 of piece 2",
                "the key of piece 2",
                "the symbol for “over” in the key of piece 2",
            ]
        );
        assert_eq!(copy.drawings[1].path, copy.drawings[4].path);
        for drawing in &copy.drawings {
            assert!(copy.json.contains(&drawing.path), "{}", drawing.name);
        }
        assert!(!copy.json.contains("<svg>"));
        assert!(copy.json.contains(r#""alt":"chart 1 of piece 2""#));
    }

    #[test]
    fn too_many_drawings_are_refused() {
        let charts = (0..=super::DRAWING_LIMIT).map(|number| drawing(&number.to_string())).collect();
        let pieces = vec![PieceText { charts, ..PieceText::default() }];
        let edition = Edition { title: "A".into(), pieces, ..Edition::default() };
        let Some(BookletError::Drawing { name, .. }) = prepare(&edition).err() else { panic!("was taken") };
        assert_eq!(name, "chart 1001 of piece 1");
    }

    #[test]
    fn quotations_keep_their_quotes() {
        let quoted = "the worker's \"leaf\" row";
        let edition = Edition {
            title: quoted.into(),
            original_text: Some(format!("{quoted}\n  {quoted}")),
            abbreviations: vec![Abbreviation { short: quoted.into(), meaning: String::new() }],
            notes: vec![Note { printed: Some(quoted.into()), why: quoted.into(), ..Note::default() }],
            source: Source { identifier: Some(quoted.into()), ..Source::default() },
            ..Edition::default()
        };
        let copy = prepare(&edition).unwrap();
        let value: serde_json::Value = serde_json::from_str(&copy.json).unwrap();
        assert_eq!(value["title"], "the worker’s “leaf” row");
        assert_eq!(value["notes"][0]["why"], "the worker’s “leaf” row");
        assert_eq!(value["notes"][0]["printed"], quoted);
        assert_eq!(value["abbreviations"][0]["short"], quoted);
        assert_eq!(value["source"]["identifier"], quoted);
        assert_eq!(value[LINES], format!("{quoted}\n  {quoted}"));
    }

    #[test]
    fn the_fields_named_here_are_fields_of_an_edition() {
        let piece = PieceText {
            key: Key { drawing: Some(Drawing::default()), entries: vec![KeyEntry::default()] },
            ..PieceText::default()
        };
        let edition = Edition {
            pieces: vec![piece],
            abbreviations: vec![Abbreviation::default()],
            notes: vec![Note::default()],
            ..Edition::default()
        };
        let json = serde_json::to_string(&edition).unwrap();
        for field in VERBATIM.iter().chain(&[LINES, super::DRAWING]) {
            assert!(json.contains(&format!("\"{field}\":")), "{field}");
        }
    }

    #[test]
    fn a_blank_title_is_refused() {
        for title in ["", " \n", "\0\u{200b}"] {
            let edition = Edition { title: title.into(), ..Edition::default() };
            assert_eq!(prepare(&edition).err(), Some(BookletError::NoTitle), "{title:?}");
        }
    }
}
