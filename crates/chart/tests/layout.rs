//! The layout of a chart, as text: `.` knit, `-` purl, `#` no stitch, `~` resting, `<` turn, names else.

mod common;

use chart::{Chart, ChartError, Options, Symbol};
use common::{chart, piece};
use loops::{Op, Worked};

/// Compares a drawing with the expected one, ends of lines aside.
#[track_caller]
fn assert_drawn(chart: &Chart, expected: &str) {
    let tidy =
        |text: &str| text.lines().map(str::trim_end).filter(|l| !l.is_empty()).collect::<Vec<_>>().join("\n");
    let (drawn, expected) = (tidy(&chart.to_string()), tidy(expected));
    assert!(drawn == expected, "drawn:\n{drawn}\nexpected:\n{expected}");
}

#[test]
fn lace_with_purled_wrong_side_rows() {
    let lace = chart(
        10,
        Worked::Flat,
        "1 R slp k yo skp k yo skp k*3
         2 W slp p*9
         3 R slp k*2 yo skp k yo skp k*2
         4 W slp p*9",
    );
    assert_drawn(
        &lace,
        "
4  slp  . | .   .   . | .   .   . | .   .
    .   . |skp yo   . |skp yo   . | .  slp  3
2  slp  . | .   .   . | .   .   . | .   .
    .   . | .  skp yo | .  skp yo | .  slp  1  (10)
        ",
    );
}

#[test]
fn cable_three_over_three_in_front() {
    let cable = chart(
        10,
        Worked::Flat,
        "1 R p*2 c3/3f p*2
         2 W k*2 p*6 k*2
         3 R p*2 k*6 p*2
         4 W k*2 p*6 k*2",
    );
    assert_drawn(
        &cable,
        "
4  - - . . . . . . - -
   - - . . . . . . - -  3
2  - - . . . . . . - -
   - -    c3/3f    - -  1  (10)
        ",
    );
}

#[test]
fn edging_that_grows_and_is_bound_off() {
    let edging = chart(
        5,
        Worked::Flat,
        "1 R slp k*2 yo k*2
         2 W k*2 yo k*4
         3 R slp k*6
         4 W bo*2 k*5",
    );
    assert_drawn(
        &edging,
        "
4  bo  bo   -   -   -   -   -    (5)
    .   .   .   .   .   .  slp  3
2   -   -  yo   -   -   -   -    (7)
    #   .   .  yo   .   .  slp  1  (6)
        ",
    );
}

#[test]
fn short_row_heel() {
    let heel = chart(
        8,
        Worked::Flat,
        "1 R k*4 k2tog k turn
         2 W slp p p2tog p turn
         3 R slp k*2 k2tog turn
         4 W slp p*2 p2tog",
    );
    assert_drawn(
        &heel,
        "
4    #    slp    .     .   k2tog   #     #     (4)
     #   < k2tog   .     .    slp    ~     #    3  (5)
2    ~    slp    .   k2tog   .   <   ~     #     (6)
     ~   <   .   k2tog   .     .     .     .    1  (7)
        ",
    );
}

#[test]
fn repeats_that_grow_keep_their_columns() {
    let crown = chart(
        9,
        Worked::Round,
        "1 R k k2tog k k2tog k k2tog
         2 R k*6
         3 R k2tog k2tog k2tog",
    );
    assert_drawn(
        &crown,
        "
  |k2tog   #  |k2tog   #  |k2tog   #  | 3  (3)
  |  .     .  |  .     .  |  .     .  | 2
  |k2tog   .  |k2tog   .  |k2tog   .  | 1  (6)
        ",
    );
    let bells = chart(
        7,
        Worked::Flat,
        "1 R k yo k yo k yo k yo k yo k yo k
         2 W p*13
         3 R k sk2p k sk2p k sk2p k
         4 W p*7",
    );
    assert_drawn(
        &bells,
        "
4 | .    #    .    #  | .    #    .    #  | .    #    .    #  | .
  | .    #   sk2p  #  | .    #   sk2p  #  | .    #   sk2p  #  | .    3  (7)
2 | .    .    .    .  | .    .    .    .  | .    .    .    .  | .
  | .    yo   .    yo | .    yo   .    yo | .    yo   .    yo | .    1  (13)
        ",
    );
}

#[test]
fn halves_of_a_shrinking_repeat_mirror_each_other() {
    let bells = chart(
        13,
        Worked::Flat,
        "1 R p k yo k yo k p k yo k yo k p k yo k yo k p
         2 W k p*5 k p*5 k p*5 k
         3 R p ssk k k2tog p ssk k k2tog p ssk k k2tog p
         4 W k p*3 k p*3 k p*3 k",
    );
    assert_drawn(
        &bells,
        "
4 |  -     #     .     .     .     #  |  -     #     .     .     .     #  |  -     #     .     .     .     #  |  -
  |  -     #   k2tog   .    ssk    #  |  -     #   k2tog   .    ssk    #  |  -     #   k2tog   .    ssk    #  |  -    3  (13)
2 |  -     .     .     .     .     .  |  -     .     .     .     .     .  |  -     .     .     .     .     .  |  -
  |  -     .    yo     .    yo     .  |  -     .    yo     .    yo     .  |  -     .    yo     .    yo     .  |  -    1  (19)
        ",
    );
}

#[test]
fn wide_pieces_show_one_repeat_between_the_edges() {
    let wide = chart(
        32,
        Worked::Flat,
        &format!("1 R k*2 {}k*2\n2 W k*2 {}k*2", "yo k2tog k*2 ".repeat(7), "p*4 ".repeat(7)),
    );
    assert_drawn(
        &wide,
        "
2    -     -  |  .     .     .     .  |  -     -
     .     .  |  .     .   k2tog  yo  |  .     .    1  (32)
        ",
    );
    assert_eq!(wide.worked(1).map(|ops| ops.len()), Some(32));
}

#[test]
fn long_runs_of_like_rows_are_drawn_once() {
    let rows: String = (1..=21)
        .map(|row| match row {
            row if row % 2 == 0 => format!("{row} W p*4\n"),
            20.. => format!("{row} R p*4\n"),
            _ => format!("{row} R k*4\n"),
        })
        .collect();
    let sock = chart(4, Worked::Flat, &rows);
    assert_drawn(
        &sock,
        "
          - - - -  21
10 times  . . . .
          . . . .  1–20  (4)
        ",
    );
    assert_eq!(sock.worked(13), Some(vec![Op::P; 4]));
    assert!(sock.rows.iter().filter(|row| row.draws(13)).count() == 1);
}

#[test]
fn faulty_rows_are_charted_as_far_as_they_go() {
    let faulty = chart(
        5,
        Worked::Flat,
        "1 R k*3
         2 W p*6
         3 R",
    );
    assert_drawn(
        &faulty,
        "
   ~ ~ ~ ~ ~ ~  3  (0)
2  . . . . . .   (6)
   ~ ~ . . . #  1  (3)
        ",
    );
}

#[test]
fn the_key_has_each_symbol_once_with_its_meaning_on_the_sides_where_it_stands() {
    let lace = chart(4, Worked::Flat, "1 R k yo k2tog k\n2 W p*2 k p");
    let key: Vec<_> = lace.key.iter().map(|entry| (entry.symbol, entry.right, entry.wrong)).collect();
    let expected = [
        (Symbol::Front(Op::K), Some(Op::K), Some(Op::P)),
        (Symbol::Front(Op::P), None, Some(Op::K)),
        (Symbol::Front(Op::Yo), Some(Op::Yo), None),
        (Symbol::Front(Op::K2tog), Some(Op::K2tog), None),
    ];
    assert_eq!(key, expected);
}

#[test]
fn too_large_a_piece_is_refused_with_the_way_out() {
    let refused = |cast_on, rows: &str| Chart::of(&piece(cast_on, Worked::Flat, rows), &Options::default());
    let tall: String = "1 R k yo\n2 R k*2\n3 R k2tog\n".repeat(400);
    assert_eq!(refused(1, ""), Err(ChartError::Empty));
    assert_eq!(refused(u32::MAX, "1 R k"), Err(ChartError::TooLarge));
    assert_eq!(refused(1, &tall), Err(ChartError::TooTall { rows: 1200 }));
    let ever_longer: String = (1..30).map(|knit| format!("k*{knit} p ")).collect();
    let error = refused(464, &format!("1 R {ever_longer}")).unwrap_err();
    assert_eq!(error, ChartError::TooWide { columns: 464 });
    assert!(error.to_string().contains("chart one panel"));
}
