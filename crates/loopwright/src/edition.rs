//! From a checked text to the plain data of a booklet.

use std::collections::BTreeMap;

use booklet::{
    Abbreviation, Drawing, Edition, Key, Material, Measure, Note, NoteKind, PieceText, RowText, Side, Source,
};
use chart::{Chart, ChartError};
use cloth::Picture;
use makingup::{Length, Plan, Schematic};
use reading::PieceReading;
use wording::{Sides, Terms, Written, WrittenRow, write};

use crate::caution::cautions;
use crate::charts::svg_bare;
use crate::checked::{Checked, piece_name};
use crate::cloths::{Cloth, framed};
use crate::gauge::Gauge;
use crate::materials::materials;
use crate::plan_text;
use crate::remark::{Remark, RemarkKind, capital, unstopped};

/// The longest old text that is set as an appendix, in bytes: some twenty pages.
const APPENDIX: usize = 40_000;
/// The width of a key, in the units of its drawing; the page scales it to its own.
const KEY_WIDTH: f32 = 420.0;

/// How the cloth of each piece looks, or why there is no picture of it.
pub type Pictures = Vec<Result<Drawing, String>>;

/// What a person says of the edition.
#[derive(Clone, Debug, Default)]
pub struct Particulars {
    /// Its title.
    pub title: String,
    /// Where the old text was printed.
    pub source: Source,
    /// The gauge to tell sizes by.
    pub gauge: Option<Gauge>,
    /// The terms of the rows.
    pub terms: Terms,
}

/// The edition of a text.
pub fn edition(
    checked: &Checked,
    particulars: &Particulars,
    charts: &[Result<Chart, ChartError>],
    pictures: Pictures,
    remarks: &[Remark],
) -> Edition {
    let pieces = &checked.reading().pieces;
    let written: Vec<Written> = pieces.iter().map(|piece| write(&piece.piece, particulars.terms)).collect();
    let mut pictures = pictures.into_iter();
    let texts = written.iter().enumerate().map(|(index, written)| {
        let mut text = piece_text(written, index, remarks);
        text.remarks.extend(written.again.clone());
        text.name = piece_name(pieces, index).map(|name| unshouted(&name));
        match pictures.next() {
            Some(Ok(picture)) => text.cloth = Some(picture),
            Some(Err(why)) => text.remarks.push(format!("There is no picture of the cloth: {why}.")),
            None => {}
        }
        if let Some(chart) = charts.get(index) {
            add_chart(&mut text, chart, piece_name(pieces, index).as_deref());
        }
        text
    });
    let text = &checked.source.text;
    Edition {
        title: particulars.title.clone(),
        source: particulars.source.clone(),
        materials: materials(text)
            .into_iter()
            .map(|printed| Material { printed: Some(printed), today: None })
            .collect(),
        measures: measures(pieces, particulars.gauge.as_ref()),
        abbreviations: abbreviations(&written),
        pieces: texts.collect(),
        notes: remarks.iter().map(note).collect(),
        cautions: cautions(text).into_iter().map(str::to_owned).collect(),
        original_text: (text.len() <= APPENDIX).then(|| text.clone()),
        colophon: Some(format!("Made with Loopwright {}.", env!("CARGO_PKG_VERSION"))),
        ..Edition::default()
    }
}

/// The picture of a piece for the booklet. Sizes are told only at a gauge that was given; how the cloth looks hardly
/// depends on it.
pub fn drawing(cloth: &Cloth, picture: &Picture, name: Option<&str>, gauge: Option<&Gauge>) -> Drawing {
    let of = name.map_or_else(String::new, |name| format!(" of {name}"));
    let told = gauge.map(|gauge| {
        let (size, metres) = (capital(&cloth.size()), cloth.metres());
        let lies = if cloth.is_tube() { "" } else { ", smoothed flat" };
        format!("{size} at {gauge} of plain fabric{lies}; yarn {metres}. A prediction: knit a swatch.")
    });
    Drawing {
        svg: framed(picture),
        alt: format!("The right side of the cloth{of}, predicted stitch by stitch from the rows above."),
        caption: told,
    }
}

/// Words that stay small within a title.
const SMALL: [&str; 15] =
    ["a", "an", "and", "as", "at", "by", "for", "from", "in", "of", "on", "or", "the", "to", "with"];

/// A name in capitals as a title is set, with capitals at the beginnings of words only.
fn unshouted(name: &str) -> String {
    if name.chars().any(char::is_lowercase) {
        return name.to_owned();
    }
    let lower = name.to_lowercase();
    let words = lower.split(' ').enumerate();
    let set = words.map(
        |(place, word)| {
            if place > 0 && SMALL.contains(&word) { word.to_owned() } else { capital(word) }
        },
    );
    set.collect::<Vec<_>>().join(" ")
}

/// Sets what is taken today beside what is printed, as far as there is room.
fn add_materials(printed: &mut Vec<Material>, today: Vec<Material>) {
    let mut today = today.into_iter();
    for (material, new) in printed.iter_mut().zip(today.by_ref()) {
        material.today = new.today;
    }
    printed.extend(today);
}

/// Puts a plan into an edition: the schematic, sizes, materials of today, and the steps of making up.
pub fn add_plan(edition: &mut Edition, plan: &Plan) {
    let style = makingup::Style { paper: "none".to_owned(), ..makingup::Style::default() };
    let schematic = Schematic::of(plan, &style);
    edition.schematic = Some(Drawing { alt: schematic.words(), svg: schematic.to_svg(), caption: None });
    edition.making_up.clone_from(&plan.making_up);
    let needles = plan.needles.iter().map(|needle| Material {
        printed: needle.printed.clone(),
        today: Some(capital(&plan_text::needle(needle))),
    });
    let yarns = plan.yarns.iter().map(|yarn| Material {
        printed: yarn.printed.clone(),
        today: plan_text::yarn(yarn).first().map(|line| capital(line)),
    });
    let materials: Vec<Material> = yarns.chain(needles).collect();
    // The plan quotes what the old text names; its paragraph stands in the original text.
    if materials.iter().any(|material| material.printed.is_some()) {
        edition.materials = materials;
    } else {
        add_materials(&mut edition.materials, materials);
    }
    let finished = plan.finished.map(|[width, height]| Measure {
        name: "Finished size".to_owned(),
        value: format!("{} by {}", Length::cm(width), Length::cm(height)),
    });
    let edging = plan.edging.as_ref().map(|edging| edging.piece);
    let pieces = plan.pieces.iter().enumerate().filter(|(place, _)| Some(*place) != edging);
    let sizes = pieces.map(|(_, piece)| Measure { name: capital(&piece.name), value: piece.size() });
    let gauge = Measure { name: "Gauge".to_owned(), value: plan_text::gauge(plan) };
    edition.measures = std::iter::once(gauge).chain(finished).chain(sizes).collect();
}

/// The gauge and the sizes that come of it.
fn measures(pieces: &[PieceReading], gauge: Option<&Gauge>) -> Vec<Measure> {
    let Some(gauge) = gauge else { return Vec::new() };
    let sizes = pieces.iter().enumerate().map(|(index, piece)| Measure {
        name: piece_name(pieces, index).unwrap_or_else(|| "Size".to_owned()),
        value: gauge.size_of(piece).to_string(),
    });
    std::iter::once(Measure { name: "Gauge".to_owned(), value: gauge.to_string() }).chain(sizes).collect()
}

/// The abbreviations of all pieces, each once, in the order of the alphabet.
pub fn abbreviations(written: &[Written]) -> Vec<Abbreviation> {
    let all: BTreeMap<(String, String), String> = written
        .iter()
        .flat_map(Written::abbreviations)
        .map(|(short, meaning)| ((short.to_lowercase(), short), meaning))
        .collect();
    all.into_iter().map(|((_, short), meaning)| Abbreviation { short, meaning }).collect()
}

fn piece_text(written: &Written, index: usize, remarks: &[Remark]) -> PieceText {
    PieceText {
        cast_on: Some(written.cast_on.clone()),
        rows: written.rows.iter().map(|row| row_text(row, index, remarks)).collect(),
        ..PieceText::default()
    }
}

fn row_text(row: &WrittenRow, piece: usize, remarks: &[Remark]) -> RowText {
    let (label, side) = match row.sides {
        Some(Sides::One(loops::Side::Right)) => (row.heading.clone(), Some(Side::Right)),
        Some(Sides::One(loops::Side::Wrong)) => (row.heading.clone(), Some(Side::Wrong)),
        Some(sides) => (format!("{} ({sides})", row.heading), None),
        None => (row.heading.clone(), None),
    };
    let is_here = |remark: &Remark| remark.row.is_some_and(|(of, at)| of == piece && row.rows.contains(&at));
    let notes = remarks.iter().enumerate().filter(|(_, remark)| is_here(remark)).map(|(at, _)| at);
    RowText {
        label,
        side,
        text: row.text.clone(),
        count: row.count.map(|count| count.to_string()),
        notes: notes.collect(),
    }
}

fn add_chart(text: &mut PieceText, chart: &Result<Chart, ChartError>, name: Option<&str>) {
    match chart {
        Ok(chart) => {
            let of = name.map_or_else(String::new, |name| format!(" of {name}"));
            let size = format!("{} columns by {} rows", chart.columns, chart.rows.len());
            text.charts.push(Drawing {
                svg: svg_bare(chart),
                alt: format!("Chart{of}, {size}; written out above."),
                caption: None,
            });
            let key = Drawing {
                svg: chart.key_svg(KEY_WIDTH, &chart::Style::default()),
                alt: format!("Key to the chart{of}."),
                caption: None,
            };
            text.key = Key { drawing: Some(key), entries: Vec::new() };
        }
        Err(error) => text.remarks.push(format!("There is no chart of it: {error}.")),
    }
}

fn note(remark: &Remark) -> Note {
    let kind = match remark.kind {
        RemarkKind::Correction => NoteKind::Correction,
        RemarkKind::Choice | RemarkKind::Assumption => NoteKind::Choice,
        RemarkKind::Unread => NoteKind::Unread,
        RemarkKind::Fault => NoteKind::Fault,
    };
    // A correction and a choice show both forms side by side; the rest is told in a sentence.
    let why = match remark.kind {
        RemarkKind::Correction | RemarkKind::Choice => sentence(&remark.why),
        RemarkKind::Unread => String::new(),
        RemarkKind::Fault | RemarkKind::Assumption => {
            format!("{} {}", sentence(&told(remark)), sentence(&remark.why))
        }
    };
    Note {
        kind,
        row: in_edition(&remark.place),
        printed: remark.printed.as_deref().map(unstopped).map(str::to_owned),
        reading: remark.reading.as_deref().map(unstopped).map(str::to_owned),
        why,
    }
}

/// The place of a remark, the piece called as it is over its rows.
fn in_edition(place: &str) -> String {
    match place.rsplit_once(", ") {
        Some((name, row)) => format!("{}, {row}", unshouted(name)),
        None => place.to_owned(),
    }
}

/// The matter of a remark that stands beside its place.
fn told(remark: &Remark) -> String {
    if remark.kind == RemarkKind::Fault {
        format!("the row {}", remark.message)
    } else {
        remark.message.clone()
    }
}

fn sentence(text: &str) -> String {
    let capital = capital(text);
    if capital.is_empty() || capital.ends_with('.') { capital } else { format!("{capital}.") }
}

#[cfg(test)]
mod tests {
    use super::{Particulars, edition, in_edition, unshouted};
    use crate::checked::Checked;
    use crate::glossary::Senses;
    use crate::source::Source;

    #[test]
    fn the_booklet_says_where_rows_begin_again() {
        let remarks = |end: &str| {
            let text = format!(
                "Cast on 12 stitches.\n\n1st row.--Knit.\n\n2nd row.--Purl.\n\n3rd row.--Knit.\n\n{end}"
            );
            let (source, senses) = (Source::of_text("page.txt", &text), Senses::load(None).unwrap());
            let checked = Checked::of_source(source, &senses, reading::Options::default(), 1).unwrap();
            edition(&checked, &Particulars::default(), &[], Vec::new(), &[]).pieces[0].remarks.clone()
        };
        let again = remarks("Commence again from the second row.\n");
        assert_eq!(
            again,
            ["Then again from row 2, as long as the pattern says; the row before it is worked once."]
        );
        assert_eq!(remarks("4th row.--Knit 3, k 2 tog, knit 7.\n"), Vec::<String>::new());
    }

    #[test]
    fn names_in_capitals_are_set_as_titles() {
        assert_eq!(unshouted("THE SQUARE, FOR A CHILD'S COT"), "The Square, for a Child's Cot");
        assert_eq!(unshouted("Border of the Rug"), "Border of the Rug");
        assert_eq!(in_edition("THE SQUARE, row 15"), "The Square, row 15");
        assert_eq!(in_edition("Row 15"), "Row 15");
    }
}
