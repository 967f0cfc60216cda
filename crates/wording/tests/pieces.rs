//! Whole pieces, to be read by a person, and how their rows are grouped.

mod common;

use common::piece;
use loops::{Multiple, Piece, Row, Side, Step, Worked};
use span::Span;
use wording::{Body, Terms, abbreviations_used, write};

fn text(piece: &Piece) -> String {
    write(piece, Terms::Us).to_text()
}

fn numbered(worked: Worked, cast_on: u32, rows: &[&str]) -> Piece {
    let labels: Vec<String> = (1..=rows.len()).map(|number| number.to_string()).collect();
    let rows: Vec<(&str, &str)> = labels.iter().map(String::as_str).zip(rows.iter().copied()).collect();
    piece(worked, Side::Right, cast_on, &rows)
}

/// A made-up lace.
#[test]
fn a_flat_lace_with_purled_rows() {
    let mut lace = numbered(
        Worked::Flat,
        20,
        &[
            "k yo skp k*4 yo skp k*4 yo skp k*5",
            "p*20",
            "k k2tog yo k yo skp k k2tog yo k yo skp k k2tog yo k yo skp k*2",
            "p*20",
            "k*3 yo sk2p yo k*3 yo sk2p yo k*3 yo sk2p yo k*2",
            "p*20",
            "k*20",
            "p*20",
            "k yo skp k*4 yo skp k*4 yo skp k*5",
            "p*20",
            "k k2tog yo k yo skp k k2tog yo k yo skp k k2tog yo k yo skp k*2",
            "p*20",
            "bo*20",
        ],
    );
    lace.name = Some("Trial lace".to_owned());
    lace.multiple = Some(Multiple { of: 6, plus: 2 });
    insta::assert_snapshot!(text(&lace), @"
    Trial lace

    Cast on 20 sts (a multiple of 6, plus 2).
    Row 1 (RS): *K1, yo, skp, k3; repeat from * to last 2 sts, k2.
    Rows 2, 4, 6 and 8 (WS): Purl.
    Row 3 (RS): *K1, k2tog, yo, k1, yo, skp; repeat from * to last 2 sts, k2.
    Row 5 (RS): *K3, yo, sk2p, yo; repeat from * to last 2 sts, k2.
    Row 7 (RS): Knit.
    Rows 9–12: Repeat rows 1–4.
    Row 13 (RS): Bind off all sts.
    ");
}

/// Lambert, My Knitting Book, 1843, p. 71, "Vandyke Border", ended after one vandyke.
#[test]
fn an_edging_with_a_bind_off() {
    let edging = numbered(
        Worked::Flat,
        7,
        &[
            "k*7",
            "k*7",
            "slp k*2 yo k2tog yo2 k2tog",
            "yo k*2 p k*2 yo k2tog k",
            "slp k*2 yo k2tog k*4",
            "k*6 yo k2tog k",
            "slp k*2 yo k2tog yo2 k2tog yo2 k2tog",
            "k*2 p k*2 p k*2 yo k2tog k",
            "slp k*2 yo k2tog yo2 k2tog yo2 k2tog yo2 k2tog",
            "k*2 p k*2 p k*2 p k*2 yo k2tog k",
            "slp k*2 yo k2tog k*9",
            "bo*7 k*4 yo k2tog k",
            "bo*7",
        ],
    );
    insta::assert_snapshot!(text(&edging), @"
    Cast on 7 sts.
    Rows 1 and 2 (RS and WS): Knit.
    Row 3 (RS): Sl 1, k2, yo, k2tog, yo2, k2tog. [8 sts]
    Row 4 (WS): Yo, k2, p1, k2, yo, k2tog, k1. [9 sts]
    Row 5 (RS): Sl 1, k2, yo, k2tog, k4.
    Row 6 (WS): K6, yo, k2tog, k1.
    Row 7 (RS): Sl 1, k2, yo, k2tog, yo2, k2tog, yo2, k2tog. [11 sts]
    Row 8 (WS): K2, p1, k2, p1, k2, yo, k2tog, k1.
    Row 9 (RS): Sl 1, k2, yo, k2tog, *yo2, k2tog; repeat from * to end. [14 sts]
    Row 10 (WS): *K2, p1; repeat from * to last 5 sts, k2, yo, k2tog, k1.
    Row 11 (RS): Sl 1, k2, yo, k2tog, knit to end.
    Row 12 (WS): Bind off 7 sts, k4, yo, k2tog, k1. [7 sts]
    Row 13 (RS): Bind off all sts.
    ");
}

/// Handbook of Wool Knitting and Crochet, 1918, "Service Sock", its heel.
#[test]
fn a_heel_with_short_rows() {
    let flap: Vec<(String, String)> = (1..=25)
        .map(|number| {
            (format!("flap {number}"), format!("slp {}*30", if number % 2 == 1 { 'p' } else { 'k' }))
        })
        .collect();
    let turning = [
        "slp k*15 k2tog k turn",
        "slp p*2 p2tog p turn",
        "slp k*3 k2tog k turn",
        "slp p*4 p2tog p turn",
        "slp k*5 k2tog k turn",
        "slp p*6 p2tog p turn",
    ];
    let turning = turning.iter().zip(1..).map(|(ops, number)| (format!("turn {number}"), (*ops).to_owned()));
    let rows: Vec<(String, String)> = flap.into_iter().chain(turning).collect();
    let rows: Vec<(&str, &str)> = rows.iter().map(|(label, ops)| (label.as_str(), ops.as_str())).collect();
    let mut heel = piece(Worked::Flat, Side::Wrong, 31, &rows);
    heel.name = Some("Heel".to_owned());
    insta::assert_snapshot!(text(&heel), @"
    Heel

    Cast on 31 sts.
    Flap, row 1 (WS): Sl 1, purl to end.
    Flap, row 2 (RS): Sl 1, knit to end.
    Flap, rows 3–24: Repeat rows 1 and 2, 11 times.
    Flap, row 25 (WS): Sl 1, purl to end.
    Turn, row 1 (RS): Sl 1, k15, k2tog, k1, turn, leaving 12 sts unworked. [30 sts]
    Turn, row 2 (WS): Sl 1, p2, p2tog, p1, turn, leaving 24 sts unworked. [29 sts]
    Turn, row 3 (RS): Sl 1, k3, k2tog, k1, turn, leaving 22 sts unworked. [28 sts]
    Turn, row 4 (WS): Sl 1, p4, p2tog, p1, turn, leaving 20 sts unworked. [27 sts]
    Turn, row 5 (RS): Sl 1, k5, k2tog, k1, turn, leaving 18 sts unworked. [26 sts]
    Turn, row 6 (WS): Sl 1, p6, p2tog, p1, turn, leaving 16 sts unworked. [25 sts]
    ");
}

/// Handbook of Wool Knitting and Crochet, 1918, the border of a sleeveless sweater.
#[test]
fn a_basket_border_in_blocks() {
    let knit_first = ["k*5 p*5 k*5 p*5 k*5", "p*5 k*5 p*5 k*5 p*5"];
    let check: Vec<&str> = knit_first.repeat(3);
    let other: Vec<&str> = [knit_first[1], knit_first[0]].repeat(3);
    let rows: Vec<&str> = [&check[..], &other, &check, &other, &check].concat();
    let mut border = numbered(Worked::Flat, 25, &rows);
    border.multiple = Some(Multiple { of: 10, plus: 5 });
    insta::assert_snapshot!(text(&border), @"
    Cast on 25 sts (a multiple of 10, plus 5).
    Rows 1, 3 and 5 (RS): *K5, p5; repeat from * to last 5 sts, k5.
    Rows 2, 4 and 6 (WS): *P5, k5; repeat from * to last 5 sts, p5.
    Rows 7, 9 and 11 (RS): *P5, k5; repeat from * to last 5 sts, p5.
    Rows 8, 10 and 12 (WS): *K5, p5; repeat from * to last 5 sts, k5.
    Rows 13–24: Repeat rows 1–12.
    Rows 25–30: Repeat rows 1–6.
    Then again from the first row, as long as the pattern says.
    ");
}

/// Dillmont, Encyclopedia of Needlework, 1886, fig. 362, its first rounds.
#[test]
fn a_toe_in_the_round() {
    let decrease = |k: u32| format!("k*{k} k2tog k*4 skp k*{k} k*{k} k2tog k*4 skp k*{k}");
    let rounds = [
        decrease(8),
        "k*44".to_owned(),
        "k*44".to_owned(),
        decrease(7),
        "k*40".to_owned(),
        "k*40".to_owned(),
        decrease(6),
        "k*36".to_owned(),
    ];
    let rounds: Vec<&str> = rounds.iter().map(String::as_str).collect();
    let mut toe = numbered(Worked::Round, 48, &rounds);
    toe.needles = vec![12; 4];
    insta::assert_snapshot!(text(&toe), @"
    Cast on 48 sts. Divide over 4 needles: 12, 12, 12 and 12 sts. Join in the round.
    Round 1: *K8, k2tog, k4, skp, k8; repeat from * to end. [44 sts]
    Rounds 2 and 3: Knit.
    Round 4: *K7, k2tog, k4, skp, k7; repeat from * to end. [40 sts]
    Rounds 5 and 6: Knit.
    Round 7: *K6, k2tog, k4, skp, k6; repeat from * to end. [36 sts]
    Round 8: Knit.
    ");
}

/// After Lambert, My Knitting Book, 1843, "An Opera Cap", shortened.
#[test]
fn a_section_that_is_worked_again() {
    let division = |name: &str, left: usize| {
        let holes = (left - 2) / 2;
        [
            format!("p*{left}"),
            format!("k2tog k*{} k2tog", left - 4),
            format!("k*{}", left - 2),
            "yo k2tog ".repeat(holes),
        ]
        .into_iter()
        .zip(1..)
        .map(|(ops, number)| (format!("{name} division {number}"), ops))
        .collect::<Vec<_>>()
    };
    let ribs = [
        ("second division 1".to_owned(), "k*28".to_owned()),
        ("second division 2".to_owned(), "k p ".repeat(14)),
    ];
    let rows = [division("first", 30), ribs.to_vec(), division("third", 28)].concat();
    let rows: Vec<(&str, &str)> = rows.iter().map(|(label, ops)| (label.as_str(), ops.as_str())).collect();
    let cap = piece(Worked::Flat, Side::Wrong, 30, &rows);
    insta::assert_snapshot!(text(&cap), @"
    Cast on 30 sts.
    First division, row 1 (WS): Purl.
    First division, row 2 (RS): K2tog, knit to last 2 sts, k2tog. [28 sts]
    First division, row 3 (WS): Knit.
    First division, row 4 (RS): *Yo, k2tog; repeat from * to end.
    Second division, row 1 (WS): Knit. [28 sts]
    Second division, row 2 (RS): *K1, p1; repeat from * to end.
    Third division, rows 1–4: Repeat rows 1–4 of first division. [26 sts]
    ");
}

#[test]
fn shaping_by_a_pair_of_rows_is_repeated_with_its_last_count() {
    let rows: Vec<String> = (0..5)
        .flat_map(|step| {
            let left = 30 - step;
            [format!("k k2tog k*{}", left - 3), format!("k p*{}", left - 2)]
        })
        .collect();
    let rows: Vec<&str> = rows.iter().map(String::as_str).collect();
    insta::assert_snapshot!(text(&numbered(Worked::Flat, 30, &rows)), @"
    Cast on 30 sts.
    Row 1 (RS): K1, k2tog, knit to end. [29 sts]
    Row 2 (WS): K1, purl to end.
    Rows 3–10: Repeat rows 1 and 2, 4 times. [25 sts]
    ");
}

#[test]
fn names_stay_and_are_never_grouped() {
    let rows =
        [("every row", "k*9"), ("every row", "k*9"), ("", "k*9"), ("1", "k*9"), ("1", "k*9"), ("2", "k*9")];
    let written = write(&piece(Worked::Flat, Side::Right, 9, &rows), Terms::Us);
    let lines: Vec<String> = written.rows.iter().map(|row| row.line()).collect();
    let expected = [
        "Every row (RS): Knit.",
        "Every row (WS): Knit.",
        "Next row (RS): Knit.",
        "Row 1 (WS): Knit.",
        "Rows 1 and 2 (RS and WS): Knit.",
    ];
    assert_eq!(lines, expected);
    assert_eq!(written.rows[4].labels, ["1", "2"]);
    assert_eq!(written.rows[4].rows, [4, 5]);
}

#[test]
fn a_number_that_stands_twice_is_not_referred_to() {
    let pair = [("1", "k*9"), ("2", "k p*7 k"), ("3", "p k*8"), ("4", "k*2 p*7")];
    let rows = [pair, pair].concat();
    let written = write(&piece(Worked::Flat, Side::Right, 9, &rows), Terms::Us);
    assert!(written.rows.iter().all(|row| matches!(row.body, Body::Steps(_))));
    assert_eq!(written.rows.len(), 8);
}

#[test]
fn a_row_too_long_is_said_to_be() {
    let mut long = numbered(Worked::Flat, 5, &["k*5", "k*5"]);
    let stitch = Step::Work(loops::Op::K, Span::DETACHED);
    let steps = vec![Step::Times(u32::MAX, vec![stitch])];
    long.rows.push(Row { label: "3".to_owned(), side: Side::Right, steps, span: Span::DETACHED });
    insta::assert_snapshot!(text(&long), @"
    Cast on 5 sts.
    Rows 1 and 2 (RS and WS): Knit.
    Row 3 (RS): Too long to write out.
    Then again from the first row, as long as the pattern says.
    ");
}

#[test]
fn the_cast_on_line() {
    let mut plain = numbered(Worked::Flat, 1, &[]);
    let cases = [
        (1, None, "Cast on 1 st."),
        (20, Some((6, 2)), "Cast on 20 sts (a multiple of 6, plus 2)."),
        (20, Some((5, 0)), "Cast on 20 sts (a multiple of 5)."),
        (20, Some((1, 0)), "Cast on 20 sts (any number)."),
        (20, Some((0, 3)), "Cast on 20 sts."),
    ];
    for (cast_on, multiple, text) in cases {
        plain.cast_on = cast_on;
        plain.multiple = multiple.map(|(of, plus)| Multiple { of, plus });
        assert_eq!(write(&plain, Terms::Us).cast_on, text);
    }
    let mut round = numbered(Worked::Round, 48, &[]);
    round.needles = vec![16, 16, 16];
    let text = "Cast on 48 sts. Divide over 3 needles: 16, 16 and 16 sts. Join in the round.";
    assert_eq!(write(&round, Terms::Us).cast_on, text);
}

#[test]
fn abbreviations_are_those_of_the_text_and_of_their_own_explanations() {
    let keys = |rows: &[&str], cast_on, terms| {
        let used = abbreviations_used(&numbered(Worked::Flat, cast_on, rows), terms);
        used.into_iter().map(|(abbr, _)| abbr).collect::<Vec<_>>()
    };
    assert_eq!(keys(&["k*9", "p*9"], 9, Terms::Us), ["RS", "st(s)", "WS"]);
    let lace = ["k skp yo k*6", "bo*9"];
    assert_eq!(
        keys(&lace, 9, Terms::Us),
        ["bind off", "k", "kwise", "psso", "RS", "skp", "st(s)", "WS", "yo"]
    );
    assert_eq!(
        keys(&lace, 9, Terms::Uk),
        ["cast off", "k", "kwise", "psso", "RS", "skpo", "st(s)", "WS", "yo"]
    );
    assert_eq!(keys(&["p*2 c3/3f p"], 9, Terms::Us), ["3/3 LC", "cn", "p", "RS", "st(s)"]);
}
