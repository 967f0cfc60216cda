//! Between the form of the contract and the types of the shelf: offsets, fields, names of changes.

use axum::http::StatusCode;
use mending::Ruling;
use shelf::{Change, ProjectId, Setting, Splice, Stored};
use wording::Terms;

use crate::app::refused::Refused;
use crate::app::utf16::{Places, byte_at, span_at};
use crate::app::view::Given;
use crate::app::wire::{self, Field, Value};
use crate::gauge::Gauge;

/// A project as the front end meets it.
pub fn state(id: ProjectId, stored: Stored) -> wire::ProjectState {
    wire::ProjectState {
        id: id.number().to_string(),
        revision: revision(stored.revision),
        undo: stored.undo,
        redo: stored.redo,
        project: project(stored.project),
    }
}

/// The number of a revision; those of the shelf start at 0.
pub fn revision(revision: shelf::Revision) -> u64 {
    u64::try_from(revision.number()).unwrap_or(0)
}

/// What is in a project, places in code units.
pub fn project(project: shelf::Project) -> wire::Project {
    let places = Places::of(&project.text);
    let source = project.source;
    wire::Project {
        rulings: project
            .rulings
            .into_iter()
            .map(|ruling| wire::Ruling {
                at: places.at(ruling.at).unwrap_or_default(),
                printed: ruling.printed,
                corrected: ruling.corrected,
                why: ruling.why,
                taken: ruling.taken,
            })
            .collect(),
        title: project.title,
        text: project.text,
        glossary: project.glossary,
        source: wire::Source {
            title: source.title,
            creator: source.creator,
            publisher: source.publisher,
            date: source.date,
            place: source.place,
            identifier: source.identifier,
            pages: source.pages,
            language: source.language,
            rights: source.rights,
        },
        cast_on: project.cast_on,
        gauge: project.gauge.map(|gauge| wire::Gauge { stitches: gauge.stitches, rows: gauge.rows }),
        yarn: project.yarn,
        notes: project.notes,
        plan: project.plan,
        country: match project.country {
            shelf::Country::Us => wire::Country::Us,
            shelf::Country::Uk => wire::Country::Uk,
        },
        answers: project.answers,
        pages: project
            .pages
            .into_iter()
            .map(|page| wire::Page {
                page: page.page.number(),
                name: page.name,
                media: page.media.name().to_owned(),
            })
            .collect(),
    }
}

/// What a project says besides its text.
pub fn given(project: &shelf::Project) -> Given {
    Given {
        cast_on: project.cast_on,
        answers: project.answers.clone(),
        rulings: project
            .rulings
            .iter()
            .map(|ruling| Ruling {
                span: ruling.at,
                printed: ruling.printed.clone(),
                corrected: ruling.corrected.clone(),
                why: ruling.why.clone(),
                taken: ruling.taken,
            })
            .collect(),
        gauge: project.gauge.and_then(|gauge| Gauge::new(gauge.stitches, gauge.rows)),
        terms: match project.country {
            shelf::Country::Us => Terms::Us,
            shelf::Country::Uk => Terms::Uk,
        },
    }
}

/// Where she is at the needles.
pub fn needles(needles: shelf::Needles) -> wire::Needles {
    let place = |place: shelf::Place| wire::Place {
        piece: place.piece,
        time: place.time,
        row: place.row,
        stitch: place.stitch,
    };
    wire::Needles {
        places: needles.places.into_iter().map(place).collect(),
        undo: needles.undo,
        redo: needles.redo,
    }
}

/// A place at the needles as the shelf keeps it.
pub fn place(place: wire::Place) -> shelf::Place {
    shelf::Place { piece: place.piece, time: place.time, row: place.row, stitch: place.stitch }
}

/// Changes with places in code units as changes of the shelf; each speaks of what the one before left.
///
/// # Errors
/// [`Refused`] for a place that the text does not have, and for a value that does not suit its field.
pub fn changes(project: &shelf::Project, changes: Vec<wire::Change>) -> Result<Vec<Change>, Refused> {
    let (mut text, mut glossary) = (project.text.clone(), project.glossary.clone());
    changes.into_iter().map(|change| one(change, &mut text, &mut glossary)).collect()
}

fn one(change: wire::Change, text: &mut String, glossary: &mut String) -> Result<Change, Refused> {
    Ok(match change {
        wire::Change::Text { at, remove, insert } => Change::Text(splice(text, at, remove, insert)?),
        wire::Change::Glossary { at, remove, insert } => {
            Change::Glossary(splice(glossary, at, remove, insert)?)
        }
        wire::Change::Set { field, value } => Change::Set(setting(field, value)?),
        wire::Change::Answer { question, answer } => Change::Answer { question, answer },
        wire::Change::Rule { ruling } => Change::Rule {
            ruling: shelf::Ruling {
                at: span_at(text, ruling.at).ok_or_else(no_such_place)?,
                printed: ruling.printed,
                corrected: ruling.corrected,
                why: ruling.why,
                taken: ruling.taken,
            },
        },
        wire::Change::Unrule { at, corrected } => {
            Change::Unrule { at: span_at(text, at).ok_or_else(no_such_place)?, corrected }
        }
        wire::Change::RemovePage { page } => Change::RemovePage { page: shelf::PageId::from_number(page) },
    })
}

/// The splice in bytes, made in the working copy as well.
fn splice(text: &mut String, at: u32, remove: u32, insert: String) -> Result<Splice, Refused> {
    let start = byte_at(text, at).ok_or_else(no_such_place)?;
    let end = start + byte_at(&text[start..], remove).ok_or_else(no_such_place)?;
    if text.len() - (end - start) + insert.len() > shelf::TEXT_LIMIT {
        return Err(too_long());
    }
    text.replace_range(start..end, &insert);
    Ok(Splice { at: start as u32, remove: (end - start) as u32, insert })
}

/// What is said of more text than one project takes.
pub fn too_long() -> Refused {
    Refused::new(
        StatusCode::PAYLOAD_TOO_LARGE,
        format!("this is more text than the {} MB that one project takes", shelf::TEXT_LIMIT / (1024 * 1024)),
        "give the pages with the pattern and leave out the rest of the book",
    )
}

fn no_such_place() -> Refused {
    Refused::nonsense(
        "this change speaks of a place that the text does not have",
        "fetch the project anew and make the change there",
    )
}

fn setting(field: Field, value: Option<Value>) -> Result<Setting, Refused> {
    let wrong =
        || Refused::nonsense("this value does not suit the field", "see the description of the interface");
    let line = |value: Option<Value>| match value {
        Some(Value::Text(text)) => Ok(text),
        None => Ok(String::new()),
        Some(_) => Err(wrong()),
    };
    Ok(match field {
        Field::Title => Setting::Title(line(value)?),
        Field::Notes => Setting::Notes(line(value)?),
        Field::Yarn => Setting::Yarn(line(value)?),
        Field::Plan => Setting::Plan(line(value)?),
        Field::Country => Setting::Country(match value {
            Some(Value::Text(country)) if country == "us" => shelf::Country::Us,
            Some(Value::Text(country)) if country == "uk" => shelf::Country::Uk,
            _ => return Err(wrong()),
        }),
        Field::CastOn => Setting::CastOn(match value {
            None => None,
            Some(Value::Number(count)) if (1..=loops::ROW_LIMIT as u32).contains(&count) => Some(count),
            Some(_) => return Err(wrong()),
        }),
        Field::Gauge => Setting::Gauge(match value {
            None => None,
            Some(Value::Gauge(gauge)) if Gauge::new(gauge.stitches, gauge.rows).is_some() => {
                Some(shelf::Gauge { stitches: gauge.stitches, rows: gauge.rows })
            }
            Some(_) => return Err(wrong()),
        }),
        Field::SourceTitle => Setting::SourceTitle(line(value)?),
        Field::SourceCreator => Setting::SourceCreator(line(value)?),
        Field::SourcePublisher => Setting::SourcePublisher(line(value)?),
        Field::SourceDate => Setting::SourceDate(line(value)?),
        Field::SourcePlace => Setting::SourcePlace(line(value)?),
        Field::SourceIdentifier => Setting::SourceIdentifier(line(value)?),
        Field::SourcePages => Setting::SourcePages(line(value)?),
        Field::SourceLanguage => Setting::SourceLanguage(line(value)?),
        Field::SourceRights => Setting::SourceRights(line(value)?),
    })
}

/// What undoing some changes is called.
pub fn label(changes: &[wire::Change]) -> &'static str {
    match changes {
        [wire::Change::Text { .. }, ..] => "typing",
        [wire::Change::Glossary { .. }, ..] => "typing in the book's explanation of terms",
        [wire::Change::Set { field, .. }, ..] => match field {
            Field::Title => "the title",
            Field::Notes => "the notes",
            Field::Yarn => "the yarn",
            Field::Plan => "the plan of the making up",
            Field::Country => "the country of the terms",
            Field::CastOn => "the number cast on",
            Field::Gauge => "the gauge",
            _ => "the source",
        },
        [wire::Change::Answer { .. }, ..] => "an answer",
        [wire::Change::Rule { ruling }, ..] if ruling.taken => "a correction taken",
        [wire::Change::Rule { .. }, ..] => "a correction refused",
        [wire::Change::Unrule { .. }, rest @ ..] if !rest.is_empty() => label(rest),
        [wire::Change::Unrule { .. }, ..] => "a correction left open again",
        [wire::Change::RemovePage { .. }, ..] => "a page taken away",
        [] => "nothing",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::wire::At;

    fn of(text: &str, all: Vec<wire::Change>) -> Result<Vec<Change>, Refused> {
        changes(&shelf::Project { text: text.to_owned(), ..shelf::Project::default() }, all)
    }

    fn text(at: u32, remove: u32, insert: &str) -> wire::Change {
        wire::Change::Text { at, remove, insert: insert.to_owned() }
    }

    #[test]
    fn each_change_speaks_of_what_the_one_before_left() {
        let made = of("½ knit", vec![text(0, 1, "🧶"), text(3, 4, "purl")]).unwrap();
        let [Change::Text(first), Change::Text(second)] = made.as_slice() else { panic!("{made:?}") };
        assert_eq!((first.at, first.remove), (0, 2));
        assert_eq!((second.at, second.remove), (5, 4));
    }

    #[test]
    fn places_outside_the_text_are_refused() {
        for change in [text(7, 0, "a"), text(0, 7, ""), text(u32::MAX, u32::MAX, "")] {
            assert_eq!(of("½ knit", vec![change]), Err(no_such_place()));
        }
        assert!(of("🧶", vec![text(1, 0, "a")]).is_err(), "half a pair");
        let unrule = wire::Change::Unrule { at: At(2, 1), corrected: String::new() };
        assert!(of("knit", vec![unrule]).is_err());
    }

    #[test]
    fn a_text_that_grows_too_long_is_refused_clearly() {
        let long = "k".repeat(shelf::TEXT_LIMIT);
        assert_eq!(of(&long, vec![text(0, 0, "k")]), Err(too_long()));
        assert!(of(&long, vec![text(0, 1, "k")]).is_ok());
    }

    #[test]
    fn values_must_suit_their_fields() {
        let set = |field, value| of("", vec![wire::Change::Set { field, value }]);
        assert!(set(Field::CastOn, Some(Value::Number(24))).is_ok());
        assert!(set(Field::CastOn, None).is_ok());
        for (field, value) in [
            (Field::CastOn, Some(Value::Number(0))),
            (Field::CastOn, Some(Value::Text("24".to_owned()))),
            (Field::Title, Some(Value::Number(1))),
            (Field::Country, Some(Value::Text("fr".to_owned()))),
            (Field::Country, None),
            (Field::Gauge, Some(Value::Gauge(wire::Gauge { stitches: 0.0, rows: 30.0 }))),
        ] {
            assert!(set(field, value).is_err(), "{field:?}");
        }
    }
}
