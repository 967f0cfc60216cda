//! What always holds of a piece at the needles, over random programs and checked readings.

mod common;

use along::{AlongPiece, Found, Observed, SlipKind, Spot, on_needles, page, places, slips};
use common::checked_readings;
use loops::{Piece, Side, Worked, work};
use proptest::prelude::*;
use prose::random_program;
use wording::{Terms, then_again};

/// Groups cover a row without gap, and their counts end where the row ends; signs tell the same counts.
fn check(piece: &Piece) {
    let worked = work(piece);
    assert_eq!(worked.faults, []);
    let along = AlongPiece::of(piece, Terms::Us);
    assert_eq!(along.signs.len(), worked.rows.len() + 1);
    for (index, (row, told)) in worked.rows.iter().zip(&along.rows).enumerate() {
        let mut place = 0;
        for group in &told.groups {
            assert_eq!(group.ops.start, place, "row {index}: {:?}", told.groups);
            assert!(!group.words.is_empty() && group.done <= group.on_needles);
            place = group.ops.end;
        }
        assert_eq!(place, row.ops.len(), "row {index}: {:?}", told.groups);
        assert_eq!(told.groups.last().map(|group| group.on_needles), Some(row.after), "row {index}");
        assert_eq!(along.signs[index + 1].count, row.after, "row {index}");
        assert_eq!(along.signs[index + 1].waits, told.waits, "row {index}");
        assert!(told.waits <= row.after, "row {index}: {} of {} wait", told.waits, row.after);
        assert_eq!(along.signs[index].side, row.side, "row {index}");
    }
}

#[test]
fn checked_readings_hold() {
    let readings = checked_readings();
    assert!(readings.len() > 50, "the fixtures were not found");
    readings.iter().for_each(|(_, piece)| check(piece));
}

proptest! {
    #[test]
    fn random_programs_hold(seed in any::<u64>()) {
        check(&random_program(seed));
    }
}

#[test]
fn the_page_asks_for_nothing_and_says_which_program_it_is() {
    let [one, other] = [3, 4].map(|seed| page("A <title> & more", &[random_program(seed)], Terms::Us, &[]));
    for page in [&one, &other] {
        assert!(page.contains("<title>A &lt;title&gt; &amp; more</title>"));
        assert!(!page.contains("{{"), "a marker was left");
        let links = page.matches("://").count() - page.matches("http://www.w3.org/2000/svg").count();
        assert_eq!(links, 0, "the page links to somewhere");
        assert_eq!(page.matches("</script>").count(), 2);
    }
    let key = |page: &str| {
        let from = page.find("data-key=\"").expect("a key") + 10;
        page[from..from + 16].to_owned()
    };
    assert_ne!(key(&one), key(&other));
    assert_eq!(
        one,
        page("A <title> & more", &[random_program(3)], Terms::Us, &[]),
        "not the same bytes again"
    );
}

#[test]
fn a_piece_without_rows_is_a_cast_on() {
    let piece = Piece { rows: Vec::new(), ..random_program(1) };
    let along = AlongPiece::of(&piece, Terms::Uk);
    assert_eq!((along.rows.len(), along.signs.len(), along.repeats), (0, 1, false));
    assert!(page("Nothing", &[piece], Terms::Uk, &[]).contains("No chart"));
}

/// A yoke in two shoulders: what she has in hand is told apart from what waits, and the place is found by either count.
#[test]
fn stitches_that_wait_are_told_apart() {
    let rows = ["k*24", "k*10 k2tog turn", "k*11 turn", "bo*11 turn", "k2tog k*10", "k*11"];
    let piece = Piece::of_tokens(Worked::Flat, Side::Right, 24, rows).expect("tokens");
    check(&piece);
    let along = AlongPiece::of(&piece, Terms::Us);
    let told: Vec<_> = along.rows.iter().map(|row| (row.in_hand(), row.waits)).collect();
    assert_eq!(told, [(24, 0), (11, 12), (11, 12), (0, 12), (11, 0), (11, 0)]);
    assert_eq!(along.rows[4].notes, ["Join the yarn anew, to 12 stitches that waited."]);
    assert_eq!(on_needles(along.rows[1].after, along.rows[1].waits), "11 stitches in hand, 12 wait");
    for count in [11, 23] {
        let found = places(&along.signs, &Observed { count: Some(count), ..Observed::default() });
        assert!(found.iter().any(|place| place.rows == 2 && place.off.is_empty()), "{count}");
    }
    // She counts those in hand: one too many there is a decrease forgotten.
    let found = Found { row: 1, count: 12, ..Found::default() };
    let likely = &slips(&work(&piece), &along, &found)[0];
    assert_eq!((likely.kind, likely.row), (SlipKind::DecreaseMissed, Some(1)));
}

/// "Commence again from the 2nd row": the first widens, and is worked once.
#[test]
fn rows_begin_again_where_the_text_says() {
    let rows = ["k m1 k*2", "p*4", "yo k2tog k*2", "p*4"];
    let plain = Piece::of_tokens(Worked::Flat, Side::Right, 3, rows).expect("tokens");
    let piece = Piece { once: 1, ..plain.clone() };
    let along = AlongPiece::of(&piece, Terms::Us);
    assert!(along.repeats && along.flips);
    assert_eq!((along.again_from, along.rows[1].before, along.rows[3].after), (2, 4, 4));
    let again = "Then again from row 2, as long as the pattern says; the row before it is worked once.";
    assert_eq!(then_again(&piece).as_deref(), Some(again));
    // The second time through takes three rows more; each has the count and the lifeline of the first.
    let twice = AlongPiece::of(&piece.repeated(2).expect("it repeats"), Terms::Us);
    assert_eq!(twice.rows.len(), 7);
    for (again, first) in twice.rows[4..].iter().zip(&along.rows[1..]) {
        assert_eq!((&again.label, again.before, again.after), (&first.label, first.before, first.after));
        assert_eq!(again.side, first.side.turned());
    }
    assert_eq!(twice.stitches - along.stitches, 12);
    // A place kept when all rows were begun again leads to the first that still is.
    let spot = Spot { piece: 0, time: 2, row: 1, op: 0 };
    assert!(page("Edging", &[piece], Terms::Us, &[spot]).contains(r#""at":[{"row":2,"group":0,"time":2}]"#));
    let told = AlongPiece::of(&plain, Terms::Us);
    assert!(!told.repeats && then_again(&plain).is_none());
}
