//! Both finders against an eye and hands that know nothing of them, over random programs and checked readings, and the
//! cases of `fixtures/along`.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod common;
mod score;

use std::path::Path;

use along::{AlongPiece, Found, Observed, Seen, Shows, places, slips};
use common::hands::Eye;
use loops::{Piece, Side, Worked, work};
use serde::Deserialize;
use wording::Terms;

/// Seeds that were not looked at before the finders were finished.
const HELD_OUT: u64 = 910_000;

#[test]
fn the_row_is_always_listed_and_mostly_alone() {
    let score = score::ripped_back(HELD_OUT, 150);
    println!("{score}");
    for (name, ripped) in score.0.iter().filter(|(_, ripped)| ripped.listed.of > 0) {
        assert_eq!(ripped.listed.good, ripped.listed.of, "{name}");
        assert!(ripped.alone_uncounted.share() > 0.6, "{name}");
        assert!(ripped.alone_by_asked_three.share() > 0.75, "{name}");
    }
    assert!(score.0[1].1.listed.of > 1000, "the fixtures were not found");
}

#[test]
fn a_slip_is_named_among_the_first() {
    let score = score::slips_of(Eye::Looks, HELD_OUT, 1500);
    assert!(score.all.first.of > 500);
    assert!(score.all.first.share() >= 0.80, "{}", score.all.first);
    assert!(score.all.first_three.share() >= 0.95, "{}", score.all.first_three);
}

#[test]
fn yarn_overs_counted_and_a_loose_loop_tell_the_slip_without_its_place() {
    let score = score::slips_of(Eye::YarnOversAndLoop, HELD_OUT, 1500);
    assert!(score.all.first.share() >= 0.80, "{}", score.all.first);
    assert!(score.all.first_three.share() >= 0.95, "{}", score.all.first_three);
}

#[test]
fn what_lies_together_counted_besides_tells_the_slip_nearly_always() {
    let score = score::slips_of(Eye::All, HELD_OUT, 1500);
    let (first, three) = score.best.unwrap();
    assert!(score.all.first.share() >= (first - 0.05).max(0.88), "{} of {first}", score.all.first);
    assert!(
        score.all.first_three.share() >= (three - 0.02).max(0.97),
        "{} of {three}",
        score.all.first_three
    );
}

#[test]
fn a_count_alone_tells_nearly_what_it_can() {
    let score = score::slips_of(Eye::Counts, HELD_OUT, 1500);
    let (first, three) = score.best.unwrap();
    assert!(score.all.first.share() >= first - 0.07, "{} of {first}", score.all.first);
    assert!(score.all.first_three.share() >= three - 0.04, "{} of {three}", score.all.first_three);
}

// ---- fixtures ---------------------------------------------------------------------------------------------------

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Fixture {
    cast_on: u32,
    rows: Vec<String>,
    #[serde(default)]
    wrong: Vec<Wrong>,
    #[serde(default)]
    ripped: Vec<Ripped>,
}

/// A wrong count; rows are counted from 1, `from = 0` stands for a row that looks right.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Wrong {
    what: String,
    row: usize,
    found: u32,
    from: Option<u32>,
    before_from: Option<u32>,
    yarn_overs: Option<u32>,
    together: Option<u32>,
    before_yarn_overs: Option<u32>,
    loose_loop: Option<bool>,
    slip: String,
    in_row: Option<usize>,
    place: Option<usize>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Ripped {
    what: String,
    seen: SeenAfter,
    rows: Vec<usize>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SeenAfter {
    count: Option<u32>,
    shows: Option<String>,
    side: Option<String>,
    hole_rows: Option<u32>,
    above_holes: Option<u32>,
}

impl Fixture {
    fn piece(&self) -> Piece {
        Piece::of_tokens(Worked::Flat, Side::Right, self.cast_on, &self.rows).unwrap()
    }
}

impl SeenAfter {
    fn observed(&self) -> Observed {
        Observed {
            count: self.count,
            shows: self.shows.as_deref().map(|shows| match shows {
                "plain" => Shows::Plain,
                "purl" => Shows::Purl,
                _ => Shows::Mixed,
            }),
            side: self.side.as_deref().map(|side| if side == "RS" { Side::Right } else { Side::Wrong }),
            hole_rows: self.hole_rows,
            above_holes: self.above_holes,
            ..Observed::default()
        }
    }
}

#[test]
fn the_cases_of_the_fixtures() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/along");
    let mut cases = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let text = std::fs::read_to_string(entry.unwrap().path()).unwrap();
        let fixture: Fixture = toml::from_str(&text).unwrap();
        let piece = fixture.piece();
        assert_eq!(work(&piece).faults, []);
        let along = AlongPiece::of(&piece, Terms::Us);
        fixture.wrong.iter().for_each(|wrong| check_wrong(&piece, &along, wrong));
        for case in &fixture.ripped {
            let found = places(&along.signs, &case.seen.observed());
            let exact = found.iter().filter(|place| place.off.is_empty()).map(|place| place.rows);
            assert_eq!(exact.collect::<Vec<_>>(), case.rows, "{}", case.what);
        }
        cases += fixture.wrong.len() + fixture.ripped.len();
    }
    assert!(cases > 0, "there are no cases");
}

fn check_wrong(piece: &Piece, along: &AlongPiece, wrong: &Wrong) {
    let here = Seen { off: wrong.from.into(), yarn_overs: wrong.yarn_overs, together: wrong.together };
    let before = Seen { off: wrong.before_from.into(), yarn_overs: wrong.before_yarn_overs, together: None };
    let found = Found { row: wrong.row - 1, count: wrong.found, here, before, loose_loop: wrong.loose_loop };
    let named = slips(&work(piece), along, &found);
    let first = named.first().unwrap();
    let kind = serde_json::to_value(first.kind).unwrap();
    assert_eq!(kind, wrong.slip.as_str(), "{}: {named:#?}", wrong.what);
    assert_eq!(first.row, Some(wrong.in_row.unwrap_or(wrong.row) - 1), "{}", wrong.what);
    if let Some(place) = wrong.place {
        assert_eq!(first.places[0].ops.start, place, "{}", wrong.what);
    }
}

#[test]
fn a_count_that_nothing_gives_and_a_row_that_is_not_there() {
    let fixture = Fixture { cast_on: 20, rows: vec!["k*20".to_owned(); 3], wrong: vec![], ripped: vec![] };
    let piece = fixture.piece();
    let along = AlongPiece::of(&piece, Terms::Us);
    let found =
        |row, count| Found { row, count, here: Seen::default(), before: Seen::default(), loose_loop: None };
    assert_eq!(slips(&work(&piece), &along, &found(9, 20)), []);
    assert_eq!(slips(&work(&piece), &along, &found(2, 900)), []);
    let nothing = Observed { count: Some(900), ..Observed::default() };
    assert_eq!(places(&along.signs, &nothing), []);
}
