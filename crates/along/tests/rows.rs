//! What always holds of a piece at the needles, over random programs and checked readings.

mod common;

use along::{AlongPiece, page};
use common::checked_readings;
use loops::{Piece, work};
use proptest::prelude::*;
use prose::random_program;
use wording::Terms;

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
