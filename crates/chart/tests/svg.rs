//! The drawn chart: well-formed, told in words, and small.

mod common;

use chart::{Chart, Options, Style, words};
use common::chart;
use loops::{Op, Piece, Row, Side, Stitch, Worked};
use roxmltree::{Document, Node};
use span::Span;

fn texts<'a>(svg: &'a Document, name: &str) -> Vec<&'a str> {
    let named = svg.descendants().filter(|node| node.has_tag_name(("http://www.w3.org/2000/svg", name)));
    named.filter_map(|node| node.text()).collect()
}

fn groups<'a>(svg: &'a Document) -> Vec<Node<'a, 'a>> {
    svg.descendants().filter(|node| node.has_tag_name(("http://www.w3.org/2000/svg", "g"))).collect()
}

#[test]
fn title_labels_counts_and_key_are_told_as_text() {
    let mut lace = chart(4, Worked::Flat, "1 R k yo k*3\n2 W p2tog p*3");
    lace.name = Some("Edge & <corner>".to_owned());
    let svg = lace.to_svg(&Style::default());
    let svg = Document::parse(&svg).unwrap();
    assert_eq!(texts(&svg, "title")[0], "Chart: Edge & <corner>");
    assert!(texts(&svg, "desc")[0].starts_with("5 columns and 2 rows"), "{:?}", texts(&svg, "desc"));
    let told = texts(&svg, "text");
    for text in ["1", "2", "5 sts", "4 sts", "knit", "wrong side: purl", "yarn over"] {
        assert!(told.contains(&text), "{text} in {told:?}");
    }
}

#[test]
fn row_labels_stand_where_the_row_starts() {
    let svg = chart(3, Worked::Flat, "11 R k*3\n12 W p*3").to_svg(&Style::default());
    let svg = Document::parse(&svg).unwrap();
    let x = |label: &str| {
        let node = svg.descendants().find(|node| node.is_element() && node.text() == Some(label)).unwrap();
        node.attribute("x").unwrap().parse::<f32>().unwrap()
    };
    assert!(x("12") < x("11"));
}

#[test]
fn every_operation_is_drawn_and_told_on_both_sides() {
    for &op in Op::NAMED {
        for side in [Side::Right, Side::Wrong] {
            let stitch = Stitch { op, span: Span::DETACHED };
            let needed = (op.takes() as usize).max(1);
            let knit = vec![Stitch { op: Op::K, span: Span::DETACHED }; needed];
            let piece = Piece::of_rows(
                Worked::Flat,
                needed as u32,
                vec![Row::of("1", Side::Right, &knit), Row::of("2", side, &[stitch])],
            );
            let chart = Chart::of(&piece, &Options::WHOLE).unwrap();
            let key = chart.key_svg(2000.0, &Style { key_column: 2000.0, ..Style::default() });
            assert!(key.contains(&words(op)), "{op} on the {side:?} side has no words in the key:\n{key}");
        }
    }
}

#[test]
fn equal_symbols_share_one_path() {
    let svg = chart(6, Worked::Flat, "1 R yo k2tog yo k2tog yo k2tog")
        .to_svg(&Style { with_key: false, ..Style::default() });
    let svg = Document::parse(&svg).unwrap();
    assert_eq!(groups(&svg).len(), 2, "one for the yarn overs, one for the decreases");
}

#[test]
fn the_strand_behind_is_broken_and_the_one_in_front_is_not() {
    let lengths = |token: &str| -> Vec<f32> {
        let svg = chart(6, Worked::Flat, &format!("1 R {token}"))
            .to_svg(&Style { with_key: false, ..Style::default() });
        let svg = Document::parse(&svg).unwrap();
        let paths = groups(&svg)[0].children().filter_map(|node| node.attribute("d")).map(str::to_owned);
        paths.map(|d| first_step_across(&d)).collect()
    };
    for token in ["c3/3f", "c3/3b", "c2/4f"] {
        let lengths = lengths(token);
        assert_eq!(lengths.len(), 2);
        assert!(lengths[0] < lengths[1], "{token}: {lengths:?}");
    }
}

/// How far the first line of a path goes sideways: `M0 0l-12.5 8` gives 12.5.
fn first_step_across(d: &str) -> f32 {
    let (_, step) = d.split_once('l').expect("a slanting line");
    let across = step.trim_start_matches('-').split([' ', '-', 'M']).next();
    across.and_then(|across| across.parse().ok()).expect("a number")
}

#[test]
fn a_large_chart_stays_small() {
    let ops = ["k k2tog yo k p", "p k yo ssk k", "k*2 c1/1f p"];
    let rows: String =
        (0..120).map(|row| format!("{row} R {}\n", format!("{} ", ops[row % 3]).repeat(40))).collect();
    let piece = common::piece(200, Worked::Round, &rows);
    let svg = Chart::of(&piece, &Options::WHOLE).unwrap().to_svg(&Style::default());
    assert!(svg.len() < 900_000, "{} bytes", svg.len());
}

/// The numbers of the squares of a row, from left to right.
fn squares(svg: &str, row: usize) -> Vec<String> {
    let svg = Document::parse(svg).expect("a drawing");
    let is_of = |node: &Node<'_, '_>| {
        node.attribute("data-row").is_some_and(|rows| rows.split(' ').any(|one| one == row.to_string()))
    };
    let place = |node: Node<'_, '_>| {
        let x: f32 = node.attribute("x").and_then(|x| x.parse().ok()).expect("a place");
        (x, node.attribute("data-stitch").expect("stitches").to_owned())
    };
    let mut found: Vec<(f32, String)> = svg.descendants().filter(is_of).map(place).collect();
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    found.into_iter().map(|(_, stitch)| stitch).collect()
}

#[test]
fn squares_say_which_stitches_they_stand_for() {
    let lace = chart(4, Worked::Flat, "1 R k yo k*3\n2 W p2tog p*3");
    let style = Style { with_squares: true, ..Style::default() };
    let svg = lace.to_svg(&style);
    assert_eq!(squares(&svg, 0), ["4", "3", "2", "1", "0"], "a right-side row starts at the right");
    assert_eq!(squares(&svg, 1).first().map(String::as_str), Some("0"), "a wrong-side row at the left");
    let behind = lace.from_wrong_side().to_svg(&style);
    assert_eq!(squares(&behind, 0), ["0", "1", "2", "3", "4"]);
    assert!(squares(&lace.to_svg(&Style::default()), 0).is_empty());
}

#[test]
fn a_folded_square_stands_for_a_stitch_of_every_repeat() {
    let rows = format!("1 R k*2 {}k*2\n2 W p*44", "k2tog yo k*2 ".repeat(10));
    let lace = chart(44, Worked::Flat, &rows);
    let repeat = lace.repeat.unwrap();
    assert!(repeat.folded && repeat.times > 2);
    let svg = lace.to_svg(&Style { with_squares: true, ..Style::default() });
    let mut told: Vec<usize> =
        squares(&svg, 0).iter().flat_map(|list| list.split(' ')).map(|one| one.parse().unwrap()).collect();
    told.sort_unstable();
    assert_eq!(told, (0..44).collect::<Vec<_>>());
}

#[test]
fn the_wrong_side_is_the_mirror_of_the_right_one() {
    let lace = chart(6, Worked::Flat, "1 R k2tog yo k*2 p*2\n2 W p*6\n3 R c1/2f k*3");
    let behind = lace.from_wrong_side();
    assert_eq!(behind.seen, Side::Wrong);
    for row in 0..3 {
        assert_eq!(behind.worked(row), lace.worked(row), "row {row} is worked alike");
    }
    assert_eq!(behind.rows[0].cells[0].symbol, chart::Symbol::of(Op::K2tog, Side::Wrong));
    assert_eq!(
        behind.rows[1].cells[0].symbol,
        chart::Symbol::Front(Op::P),
        "a purl row seen as it is worked"
    );
    let key = behind.key_svg(400.0, &Style::default());
    assert!(key.contains("right side: "), "{key}");
}

#[test]
fn a_symbol_can_stand_alone() {
    for &op in Op::NAMED {
        let svg = chart::symbol_svg(op, &Style::default());
        let svg = Document::parse(&svg).unwrap();
        assert_eq!(texts(&svg, "title")[0], words(op));
    }
}
