//! Rows: operations on one side, their wording on the other.

use loops::{Op, parse_tokens};
use wording::{Terms, Width, fold, sentence};

/// Reads tokens in which `(yo k2tog)*3` stands for three times over.
fn ops(text: &str) -> Vec<Op> {
    let tokens =
        |text| parse_tokens(text).expect("tokens of the tests are good").into_iter().map(|stitch| stitch.op);
    let mut parts = text.split('(');
    let mut ops: Vec<Op> = parts.next().into_iter().flat_map(tokens).collect();
    for part in parts {
        let (unit, rest) = part.split_once(")*").expect("brackets are closed and counted");
        let (times, rest) = rest.split_once(' ').unwrap_or((rest, ""));
        let unit: Vec<Op> = tokens(unit).collect();
        ops.extend(unit.repeat(times.parse().expect("a number follows")));
        ops.extend(tokens(rest));
    }
    ops
}

fn worded(tokens: &str, unworked: u32, terms: Terms) -> String {
    let ops = ops(tokens);
    let before = ops.iter().map(|op| op.takes()).sum::<u32>() + unworked;
    let phrase = fold(&ops, before, Width::Fixed);
    assert_eq!(phrase.expand(before), Some(ops), "{tokens}");
    sentence(&phrase, terms)
}

/// Rows that take the whole needle, in US terms.
const WHOLE_ROWS: &[(&str, &str)] = &[
    // Runs, whole rows, edges.
    ("k*20", "Knit"),
    ("p*20", "Purl"),
    ("k", "Knit"),
    ("bo*31", "Bind off all sts"),
    ("slp k*6", "Sl 1, knit to end"),
    ("slp p*29 k", "Sl 1, purl to last st, k1"),
    ("k*3 p*20 k*3", "K3, purl to last 3 sts, k3"),
    ("slp k*14 k2tog", "Sl 1, knit to last 2 sts, k2tog"),
    ("slp k*2 yo k2tog k*9", "Sl 1, k2, yo, k2tog, knit to end"),
    ("k*6 yo k2tog k", "K6, yo, k2tog, k1"),
    ("bo*7 k*4 yo k2tog k", "Bind off 7 sts, k4, yo, k2tog, k1"),
    ("k2tog*4", "K2tog 4 times"),
    ("k2tog*12", "*K2tog; repeat from * to end"),
    ("k ktbl*20 k", "K1, *k1 tbl; repeat from * to last st, k1"),
    ("drop*18 k", "Drop 18 sts, k1"),
    // Stars.
    ("k (k2tog yo)*8 k*3", "K1, *k2tog, yo; repeat from * to last 3 sts, k3"),
    ("(k*5 p*5)*8 k*5", "*K5, p5; repeat from * to last 5 sts, k5"),
    ("k*6 p*5 (k*5 p*5)*6 k*6", "K1, *k5, p5; repeat from * to last 6 sts, k6"),
    ("(k p)*3", "*K1, p1; repeat from * to end"),
    ("(k p)*2", "K1, p1, k1, p1"),
    ("(k*5 p*5)*2", "K5, p5, k5, p5"),
    ("(k yo k2tog k)*6", "*K1, yo, k2tog, k1; repeat from * to end"),
    ("k*2 (k yo k2tog k)*6 k*2", "K1, *k2, yo, k2tog; repeat from * to last 3 sts, k3"),
    (
        "k (k2tog*3 yo k yo k yo k yo k yo k yo k k2tog*3)*2 k",
        "K1, *k2tog 3 times, (yo, k1) 6 times, k2tog 3 times; repeat from * to last st, k1",
    ),
    ("k*8 k2tog k*4 skp k*8 k*8 k2tog k*4 skp k*8", "*K8, k2tog, k4, skp, k8; repeat from * to end"),
    ("k*2 (c3/3f)*9 k*2", "K2, *3/3 LC; repeat from * to last 2 sts, k2"),
    ("p*2 (c2/2b p*2)*5", "*P2, 2/2 RC; repeat from * to last 2 sts, p2"),
    ("(k1p1k1 p3tog)*6", "*K1-p1-k1 in next st, p3tog; repeat from * to end"),
    ("(slyo brk)*7", "*Sl1yo, brk; repeat from * to end"),
    ("(k2tog yo)*5 co*2", "*K2tog, yo; repeat from * to end, cast on 2 sts"),
    // Brackets.
    ("slp k*20 (yo k2tog)*3 k", "Sl 1, knit to last 7 sts, (yo, k2tog) 3 times, k1"),
    ("(yo k2tog)*3 k*20 (k2tog yo)*3", "(Yo, k2tog) 3 times, knit to last 6 sts, (k2tog, yo) 3 times"),
    ("(yo k2tog p)*2 k*12", "(Yo, k2tog, p1) 2 times, knit to end"),
    // Single operations where a number could be misread.
    ("k yo*2 k", "K1, (yo) 2 times, k1"),
    ("k yo2 k yo3 k", "K1, yo2, k1, yo3, k1"),
    ("k1p1*3 p1k1", "K1-p1 in each of next 3 sts, p1-k1 in next st"),
    ("slk slwyif*2 slwyib", "Sl 1 kwise, sl 2 wyif, sl 1 wyib"),
    ("hold*3 k take*3 pu*2", "Place 3 sts on holder, k1, knit 3 sts from holder, pick up and knit 2 sts"),
    ("k m1 kfb s1k2po", "K1, m1, kfb, s1k2po"),
    ("", "Work no sts"),
];

#[test]
fn whole_rows() {
    for (tokens, text) in WHOLE_ROWS {
        assert_eq!(worded(tokens, 0, Terms::Us), *text);
    }
}

#[test]
fn short_rows_say_what_they_leave() {
    let cases = [
        ("slp k*15 k2tog k turn", 12, "Sl 1, k15, k2tog, k1, turn, leaving 12 sts unworked"),
        ("k*20 turn", 1, "K20, turn, leaving 1 st unworked"),
        ("(k*2 p*2)*6 turn", 5, "*K2, p2; repeat from * to last 5 sts, turn, leaving 5 sts unworked"),
        ("k*5 turn", 0, "K5, turn"),
        ("k*5 turn p*3 turn", 2, "K5, turn, p3, turn, leaving 2 sts unworked"),
    ];
    for (tokens, unworked, text) in cases {
        assert_eq!(worded(tokens, unworked, Terms::Us), text);
    }
}

#[test]
fn a_piece_of_any_width_has_stars_where_a_number_would_be_as_short() {
    let cases = [
        ("(k p)*2", "K1, p1, k1, p1", "*K1, p1; repeat from * to end"),
        ("slp p3tog*7 k", "Sl 1, p3tog 7 times, k1", "Sl 1, *p3tog; repeat from * to last st, k1"),
        (
            "k*2 p*2 k*11 p*4 k*11 p*2 k*2",
            "K2, p2, k11, p4, k11, p2, k2",
            "K2, *p2, k11, p2; repeat from * to last 2 sts, k2",
        ),
    ];
    for (tokens, fixed, open) in cases {
        let ops = ops(tokens);
        let before = ops.iter().map(|op| op.takes()).sum();
        let worded = |width| sentence(&fold(&ops, before, width), Terms::Us);
        assert_eq!([worded(Width::Fixed), worded(Width::Open)], [fixed, open]);
    }
}

#[test]
fn british_terms_differ_where_the_craft_does() {
    let cases = [
        ("bo*31", "Cast off all sts"),
        ("k bo*3 skp", "K1, cast off 3 sts, skpo"),
        ("sk2p s2kp sp2p spp", "Sk2po, s2kpo, sp2po, sppo"),
        ("k (yo k2tog)*9", "K1, *yo, k2tog; repeat from * to end"),
    ];
    for (tokens, text) in cases {
        assert_eq!(worded(tokens, 0, Terms::Uk), text);
    }
}

#[test]
fn a_row_that_does_not_fit_its_needle_is_counted_out() {
    for before in [0, 5, 19, 22, 400] {
        let ops = ops("k (k2tog yo)*8 k*3");
        let phrase = fold(&ops, before, Width::Fixed);
        assert_eq!(sentence(&phrase, Terms::Us), "K1, (k2tog, yo) 8 times, k3");
        assert_eq!(phrase.expand(before), Some(ops));
    }
    assert_eq!(sentence(&fold(&[Op::K; 7], 9, Width::Fixed), Terms::Us), "K7");
}
