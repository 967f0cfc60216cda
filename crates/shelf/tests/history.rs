//! Whatever is changed, undone and redone, no state is lost on the way.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod common;

use proptest::prelude::*;
use shelf::{
    Act, Change, Gauge, Needles, Place, Project, Revision, Ruling, Setting, Shelf, ShelfError, Splice,
    Timestamp,
};
use span::Span;

use common::{TEXT, act, at, folder, open, project, set_notes, text};

fn ruling(start: usize, end: usize, printed: &str, corrected: &str) -> Ruling {
    Ruling {
        at: Span::new(start, end),
        printed: printed.to_owned(),
        corrected: corrected.to_owned(),
        why: String::new(),
        taken: true,
    }
}

/// A shelf with one project of [`TEXT`].
fn one_project() -> (tempfile::TempDir, Shelf, shelf::ProjectId) {
    let folder = folder();
    let mut shelf = open(folder.path());
    let id = shelf.create(&project("A mat", TEXT), at(0)).unwrap();
    (folder, shelf, id)
}

#[test]
fn typing_is_undone_in_one_go_and_a_pause_another_window_or_another_place_parts_it() {
    let (_folder, mut shelf, id) = one_project();
    let mut revision = Revision::FIRST;
    let mut typed = |window, millis, place, letters: &str| {
        let change = text(place, 0, letters);
        let stored = shelf.change(id, revision, act(window, "typing", millis), &[change]).unwrap();
        revision = stored.revision;
    };
    typed("left", 0, 0, "a");
    typed("left", 900, 1, "b");
    typed("left", 1_900, 2, "c");
    typed("left", 3_000, 3, "d"); // after a pause
    typed("right", 3_100, 4, "e"); // in another window
    typed("right", 3_200, 20, "f"); // at another place
    let mut texts = Vec::new();
    loop {
        let before = shelf.project(id).unwrap();
        if before.undo.is_none() {
            break;
        }
        let after = shelf.undo(id, at(9_000)).unwrap();
        texts.push(after.project.text[..5].to_owned());
    }
    assert_eq!(texts, ["abcde", "abcdC", "abcCa", "Cast "]);
}

#[test]
fn letters_taken_away_one_after_the_other_are_one_step() {
    let (_folder, mut shelf, id) = one_project();
    let mut revision = Revision::FIRST;
    for (millis, place) in [(0, 5), (100, 4), (200, 3), (300, 3)] {
        let stored = shelf.change(id, revision, act("w", "typing", millis), &[text(place, 1, "")]).unwrap();
        revision = stored.revision;
    }
    assert!(shelf.project(id).unwrap().project.text.starts_with("Cas 24"));
    let undone = shelf.undo(id, at(400)).unwrap();
    assert_eq!((undone.project.text.as_str(), undone.undo), (TEXT, None));
}

#[test]
fn a_change_for_an_older_state_is_refused() {
    let (_folder, mut shelf, id) = one_project();
    let stored = shelf.change(id, Revision::FIRST, act("w", "typing", 0), &[text(0, 0, "x")]).unwrap();
    let refused = shelf.change(id, Revision::FIRST, act("w", "typing", 0), &[text(0, 0, "y")]);
    assert!(matches!(refused, Err(ShelfError::Stale { newest }) if newest == stored.revision));
    assert_eq!(shelf.project(id).unwrap(), stored);
}

#[test]
fn rulings_move_with_their_words_and_come_back_when_the_words_do() {
    let (_folder, mut shelf, id) = one_project();
    let number = ruling(8, 10, "24", "25");
    let changes = [Change::Rule { ruling: number.clone() }];
    let stored = shelf.change(id, Revision::FIRST, act("w", "correction taken", 0), &changes).unwrap();
    let moved = shelf.change(id, stored.revision, act("w", "typing", 0), &[text(0, 0, "Now: ")]).unwrap();
    assert_eq!(moved.project.rulings, [Ruling { at: Span::new(13, 15), ..number.clone() }]);
    // A digit at the end of the number makes it another number, though the splice touches no byte of it.
    let dropped = shelf.change(id, moved.revision, act("w", "typing", 5_000), &[text(15, 0, "0")]).unwrap();
    assert_eq!(dropped.project.rulings, []);
    assert_eq!(shelf.undo(id, at(6_000)).unwrap().project, moved.project);
    let spaced = shelf.change(id, Revision::from_number(4), act("w", "typing", 7_000), &[text(15, 0, " x")]);
    assert_eq!(spaced.unwrap().project.rulings, moved.project.rulings);
}

#[test]
fn a_ruling_between_words_comes_back_to_its_place_when_what_stood_before_it_does() {
    let (_folder, mut shelf, id) = one_project();
    let dash = TEXT.find("--").unwrap();
    let between = Change::Rule { ruling: ruling(dash + 1, dash + 1, "", "over") };
    let ruled = shelf.change(id, Revision::FIRST, act("w", "correction taken", 0), &[between]).unwrap();
    let removed = text(u32::try_from(dash).unwrap(), 1, "");
    shelf.change(id, ruled.revision, act("w", "typing", 0), &[removed]).unwrap();
    assert_eq!(shelf.undo(id, at(1)).unwrap().project, ruled.project);
}

#[test]
fn a_change_that_does_not_fit_is_refused_and_leaves_everything_as_it_was() {
    let (_folder, mut shelf, id) = one_project();
    let before = shelf.project(id).unwrap();
    let half = u32::try_from(TEXT.find('\u{bd}').unwrap()).unwrap() + 1;
    let answer = Change::Answer { question: "P".to_owned(), answer: Some("plain".to_owned()) };
    let bad = [
        text(half, 0, "x"),
        text(0, half, "x"),
        text(9_999, 0, "x"),
        text(0, 9_999, "x"),
        text(u32::MAX, u32::MAX, "x"),
        text(0, 0, &"x".repeat(shelf::TEXT_LIMIT)),
        Change::Rule { ruling: ruling(0, 9_999, "", "") },
        Change::Rule { ruling: Ruling { at: Span::DETACHED, ..ruling(0, 0, "", "") } },
        Change::Unrule { at: Span::new(0, 4), corrected: "Bind".to_owned() },
        Change::Set(Setting::Gauge(Some(Gauge { stitches: 0.0, rows: 30.0 }))),
        Change::Set(Setting::Gauge(Some(Gauge { stitches: f64::NAN, rows: 30.0 }))),
        Change::Set(Setting::Title("x".repeat(shelf::LINE_LIMIT + 1))),
        Change::RemovePage { page: shelf::PageId::from_number(1) },
    ];
    for change in bad {
        let changes = [answer.clone(), change];
        let refused = shelf.change(id, before.revision, act("w", "change", 0), &changes);
        assert!(matches!(refused, Err(ShelfError::Change(_))), "{:?}: {refused:?}", changes[1]);
        assert_eq!(shelf.project(id).unwrap(), before);
    }
}

#[test]
fn what_a_change_cuts_off_from_redo_is_still_found_in_the_history() {
    let (_folder, mut shelf, id) = one_project();
    let first = shelf.change(id, Revision::FIRST, act("w", "one", 0), &[text(0, 0, "one ")]).unwrap();
    let undone = shelf.undo(id, at(1)).unwrap();
    assert_eq!(undone.redo.as_deref(), Some("one"));
    let second = shelf.change(id, undone.revision, act("w", "two", 2), &[text(0, 0, "two ")]).unwrap();
    assert_eq!(second.redo, None);
    assert_eq!(shelf.redo(id, at(3)).unwrap(), second);
    assert_eq!(shelf.at(id, first.revision).unwrap(), first.project);
}

#[test]
fn states_with_a_name_are_found_again() {
    let (_folder, mut shelf, id) = one_project();
    let printed = shelf.label(id, "as printed", at(5)).unwrap();
    shelf.change(id, printed.revision, act("w", "typing", 6), &[text(0, 4, "Bind")]).unwrap();
    shelf.label(id, "after the first row", at(7)).unwrap();
    let names: Vec<_> = shelf.labels(id).unwrap().into_iter().map(|label| label.name).collect();
    assert_eq!(names, ["as printed", "after the first row"]);
    assert_eq!(shelf.at(id, printed.revision).unwrap().text, TEXT);
    let missing = shelf.at(id, Revision::from_number(2));
    assert!(matches!(missing, Err(ShelfError::NoRevision(_))));
}

/// Something that may happen to a project. Places are fractions of the text, so that most of them fit.
#[derive(Clone, Debug)]
enum Deed {
    Splice { from: f64, to: f64, insert: String, glossary: bool },
    Rule { from: f64, to: f64, corrected: String, taken: bool },
    Unrule(usize),
    Set(Setting),
    Answer(String, Option<String>),
    Undo,
    Redo,
}

fn deed() -> impl Strategy<Value = Deed> {
    let words = "[a-c ,\u{bd}1]{0,4}";
    let settings = prop_oneof![
        words.prop_map(Setting::Title),
        words.prop_map(Setting::SourcePlace),
        proptest::option::of(1..99u32).prop_map(Setting::CastOn),
        proptest::option::of((0.1..99.0, 0.1..99.0))
            .prop_map(|gauge| Setting::Gauge(gauge.map(|(stitches, rows)| Gauge { stitches, rows }))),
    ];
    prop_oneof![
        6 => (0.0..1.0, 0.0..0.2, words, any::<bool>()).prop_map(|(from, long, insert, glossary)| {
            Deed::Splice { from, to: from + long, insert, glossary }
        }),
        4 => (0.0..1.0, 0.0..0.2, "[xy]", any::<bool>()).prop_map(|(from, long, corrected, taken)| {
            Deed::Rule { from, to: from + long, corrected, taken }
        }),
        1 => (0..9usize).prop_map(Deed::Unrule),
        2 => settings.prop_map(Deed::Set),
        1 => ("[PM]", proptest::option::of("[ab]")).prop_map(|(question, answer)| Deed::Answer(question, answer)),
        2 => Just(Deed::Undo),
        1 => Just(Deed::Redo),
    ]
}

/// The whole letter of the text that lies at a fraction of it.
fn place(text: &str, fraction: f64) -> usize {
    let mut place = (text.len() as f64 * fraction.min(1.0)) as usize;
    while !text.is_char_boundary(place) {
        place -= 1;
    }
    place
}

/// The change that a deed stands for, where it stands for one.
fn change(project: &Project, deed: &Deed) -> Option<Change> {
    Some(match deed {
        Deed::Splice { from, to, insert, glossary } => {
            let text = if *glossary { &project.glossary } else { &project.text };
            let (from, to) = (place(text, *from), place(text, *to));
            let splice = Splice {
                at: u32::try_from(from).unwrap(),
                remove: u32::try_from(to - from).unwrap(),
                insert: insert.clone(),
            };
            if *glossary { Change::Glossary(splice) } else { Change::Text(splice) }
        }
        Deed::Rule { from, to, corrected, taken } => {
            let at = Span::new(place(&project.text, *from), place(&project.text, *to));
            let printed = at.of(&project.text).to_owned();
            Change::Rule {
                ruling: Ruling {
                    at,
                    printed,
                    corrected: corrected.clone(),
                    why: String::new(),
                    taken: *taken,
                },
            }
        }
        Deed::Unrule(index) => {
            let ruling = project.rulings.get(*index)?;
            Change::Unrule { at: ruling.at, corrected: ruling.corrected.clone() }
        }
        Deed::Set(setting) => Change::Set(setting.clone()),
        Deed::Answer(question, answer) => {
            Change::Answer { question: question.clone(), answer: answer.clone() }
        }
        Deed::Undo | Deed::Redo => return None,
    })
}

/// Does a deed and returns the moment of the next.
fn happen(shelf: &mut Shelf, id: shelf::ProjectId, deed: &Deed, now: Timestamp) {
    let stored = shelf.project(id).unwrap();
    match deed {
        Deed::Undo => drop(shelf.undo(id, now).unwrap()),
        Deed::Redo => drop(shelf.redo(id, now).unwrap()),
        _ => {
            if let Some(change) = change(&stored.project, deed) {
                let act = Act { window: "w", label: "change", at: now };
                shelf.change(id, stored.revision, act, &[change]).unwrap();
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    #[test]
    fn undone_fully_it_is_the_first_redone_it_is_the_last_and_every_state_is_found_again(
        deeds in proptest::collection::vec((deed(), 0..1_500i64), 1..40),
    ) {
        let (folder, mut shelf, id) = one_project();
        let first = shelf.project(id).unwrap().project;
        let mut states = vec![first.clone()];
        let mut now = 0;
        for (deed, pause) in &deeds {
            now += pause;
            let revision = shelf.project(id).unwrap().revision;
            happen(&mut shelf, id, deed, at(now));
            let stored = shelf.project(id).unwrap();
            if stored.revision != revision {
                states.push(stored.project);
            }
        }
        while shelf.project(id).unwrap().redo.is_some() {
            states.push(shelf.redo(id, at(now)).unwrap().project);
        }
        let last = states.last().unwrap().clone();
        for (number, state) in states.iter().enumerate() {
            let revision = Revision::from_number(i64::try_from(number).unwrap());
            prop_assert_eq!(&shelf.at(id, revision).unwrap(), state);
        }

        drop(shelf);
        let mut shelf = open(folder.path());
        while shelf.project(id).unwrap().undo.is_some() {
            shelf.undo(id, at(now)).unwrap();
        }
        prop_assert_eq!(&shelf.project(id).unwrap().project, &first);
        while shelf.project(id).unwrap().redo.is_some() {
            shelf.redo(id, at(now)).unwrap();
        }
        prop_assert_eq!(&shelf.project(id).unwrap().project, &last);
    }
}

fn square(row: u32) -> Place {
    Place { piece: 0, time: 1, row, stitch: 0 }
}

#[test]
fn each_piece_keeps_its_place_and_moves_are_taken_back_apart_from_changes() {
    let folder = folder();
    let mut shelf = open(folder.path());
    let id = shelf.create(&project("A rug", "Cast on 3."), at(0)).unwrap();
    assert_eq!(shelf.needles(id).unwrap(), Needles::default());
    let border = Place { piece: 1, time: 2, row: 3, stitch: 5 };
    for (millis, to) in [(1, square(1)), (2, square(2)), (3, border), (4, square(3))] {
        shelf.move_to(id, to, at(millis)).unwrap();
    }
    assert_eq!(shelf.needles(id).unwrap().places, [border, square(3)]);
    set_notes(&mut shelf, id, "begun");
    assert_eq!(shelf.move_back(id).unwrap().places, [square(2), border]);
    assert_eq!(shelf.project(id).unwrap().project.notes, "begun");
    shelf.undo(id, at(5)).unwrap();
    drop(shelf);

    let mut shelf = open(folder.path());
    assert_eq!(shelf.move_back(id).unwrap(), Needles { places: vec![square(2)], undo: true, redo: true });
    assert_eq!(shelf.move_again(id).unwrap().places, [square(2), border]);
    let cut = shelf.move_to(id, square(9), at(6)).unwrap();
    assert_eq!(cut, Needles { places: vec![border, square(9)], undo: true, redo: false });
    assert_eq!(shelf.move_again(id).unwrap(), cut);
    let moves: Vec<_> = shelf.moves(id).unwrap().into_iter().map(|made| made.to.row).collect();
    assert_eq!(moves, [1, 2, 3, 9]);
    for _ in 0..9 {
        shelf.move_back(id).unwrap();
    }
    assert_eq!(shelf.needles(id).unwrap(), Needles { places: vec![], undo: false, redo: true });
}
