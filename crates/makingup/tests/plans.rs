//! Whole plans: tools at the same time, edges that differ, joins of yarn, and the drawing.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod common;

use cloth::Vec3;
use loops::Worked;
use makingup::{PieceEntry, Plan, PlanFile, Schematic, Sewn, Style, Tools};

const SWATCH: &str = "[swatch]\nstitches = 20\nrows = 28\n";

fn plan(text: &str, pieces: &[loops::Piece]) -> Plan {
    Plan::of(&PlanFile::read(&format!("{SWATCH}{text}")).unwrap(), pieces).unwrap()
}

/// By following the loops: two groups wait at once after row 3, one of them is never taken back.
#[test]
fn tools_in_use_at_the_same_time() {
    let rows = ["k hold*2 k*7", "p*8", "k*4 hold*2 k*2", "p*6", "k take*2 k*5", "p*8"];
    let tools = Tools::of(&common::flat("cables", 10, &rows));
    assert_eq!((tools.cable_needles.count, tools.cable_needles.row.as_deref()), (1, Some("1")));
    assert_eq!((tools.holders.count, tools.holders.row.as_deref()), (1, Some("3")));
    let tools = Tools::of(&common::flat("cables", 8, &["k*8", "p*8", "c2/2f c2/2b", "p*8"]));
    assert_eq!((tools.cable_needles.count, tools.cable_needles.row.as_deref()), (1, Some("3")));
    assert_eq!((tools.needles, tools.stitches.count), (2, 8));
    let mut round = common::piece("round", Worked::Round, 24, &["k*24"]);
    round.needles = vec![8, 8, 8];
    assert_eq!(Tools::of(&round).needles, 4);
}

#[test]
fn edges_that_differ_have_ways_out_the_smallest_change_first() {
    let text = "[[piece]]\nname = \"front\"\nsize = \"gauge\"\n[[piece]]\nname = \"back\"\nsize = \"gauge\"\n\
                [[join]]\none = \"front right\"\nother = \"back left\"\n";
    let plan = plan(text, &[common::plain("front", 30, 56), common::plain("back", 30, 58)]);
    let difference = &plan.seams[0].difference;
    assert!((difference.by - 2.0 / 2.8).abs() < 1e-9, "two rows at 28 to 10 cm");
    let kinds: Vec<String> = difference.ways.iter().map(|way| format!("{:?}", way.kind)).collect();
    assert_eq!(kinds[0], "Easing", "half of the difference on each side is the least change");
    assert!(kinds.contains(&"Rows".to_owned()));
    let weights: Vec<f64> = difference.ways.iter().map(|way| way.change + way.left / 20.0).collect();
    assert!(weights.windows(2).all(|pair| pair[0] <= pair[1] + 0.005), "{weights:?}");
    let rows = difference.ways.iter().filter(|way| format!("{:?}", way.kind) == "Rows");
    assert!(rows.into_iter().all(|way| way.left < 1e-9), "two rows more or fewer leave nothing");
}

/// A brim of 40 stitches at 20 to 10 cm lies 20 cm wide; the thresholds are common practice.
#[test]
fn an_edge_that_must_stretch_is_cast_on_so_that_it_can() {
    for (to, cast_on) in
        [("22 cm", "long-tail"), ("26 cm", "two needles held together"), ("30 cm", "tubular")]
    {
        let text = format!(
            "[[piece]]\nname = \"cap\"\nsize = \"gauge\"\n[[stretch]]\nedge = \"cap bottom\"\nto = \"{to}\"\n"
        );
        let plan = plan(&text, &[common::plain("cap", 40, 56)]);
        assert!((plan.stretches[0].rest - 20.0).abs() < 1e-9);
        assert!(plan.stretches[0].cast_on.cast_on.contains(cast_on), "{to}: {:?}", plan.stretches[0]);
    }
}

#[test]
fn colours_are_joined_where_they_change_and_balls_where_they_end() {
    let pieces = [common::plain("scarf", 20, 40)];
    let striped =
        plan("[[piece]]\nname = \"scarf\"\ncolour = \"grey\"\nrows = { \"11-20\" = \"red\" }\n", &pieces);
    let joins: Vec<(&str, &str)> = striped.pieces[0]
        .joins
        .iter()
        .map(|join| (join.row.as_str(), join.colour.as_deref().unwrap()))
        .collect();
    assert_eq!(joins, [("1", "grey"), ("11", "red"), ("21", "grey")]);
    let share = |colour: &str| {
        let yarn = striped.yarns.iter().find(|yarn| yarn.colour.as_deref() == Some(colour)).unwrap();
        yarn.in_pieces / striped.pieces[0].yarn
    };
    assert!((share("grey") + share("red") - 1.0).abs() < 1e-9);
    assert!((share("red") - 10.0 / 41.0).abs() < 0.02, "ten of the 41 rows with the cast-on");
    let small = "[[piece]]\nname = \"scarf\"\ncolour = \"grey\"\n[[yarn]]\ncolour = \"grey\"\nmetres = 100\nball = 5\n";
    let small = plan(small, &pieces);
    let metres = small.pieces[0].yarn;
    let joins = small.pieces[0].joins.len() as f64;
    assert!(joins >= (metres / 5.0).floor() - 1.0 && joins <= metres / 5.0, "{joins} joins for {metres} m");
}

/// An edging of four rows to the repeat, with two rows before the first that are worked once.
fn begun_border(cast_on: u32) -> loops::Piece {
    loops::Piece { once: 2, ..common::garter("border", cast_on, 6) }
}

/// Against the edging worked from beginning to end.
#[test]
fn what_an_edging_has_once_is_counted_once() {
    let border = begun_border(6);
    for corner in ["eased", "mitre"] {
        let text = format!(
            "[[piece]]\nname = \"square\"\n[[piece]]\nname = \"border\"\n[block]\nrows = [\"square\"]\n\
             [edging]\npiece = \"border\"\ncorner = \"{corner}\"\n"
        );
        let plan = plan(&text, &[common::garter("square", 24, 48), border.clone()]);
        let edging = &plan.edging.as_ref().unwrap().plan;
        let rows = 2 + 4 * edging.repeats;
        let worked = border.with_rows(rows as usize).unwrap();
        let straight = loops::ClothGraph::work(&worked).unwrap().stitches().len() as u64;
        // By hand: both rows of each pair work the same stitches.
        let (mut short_stitches, mut short_rows) = (0, 0);
        for short in edging.corners.iter().flatten().filter_map(|corner| corner.short_rows.as_ref()) {
            for worked in short.leaving.iter().chain(&short.taking) {
                short_stitches += 2 * u64::from(*worked);
                short_rows += 2;
            }
        }
        assert_eq!(short_stitches > 0, corner == "mitre");
        assert_eq!(edging.rows, rows + short_rows);
        let piece = &plan.pieces[1];
        assert_eq!(piece.stitches_in_all(), straight + short_stitches);
        assert_eq!((piece.stitches, piece.count), (24, edging.repeats));
        assert_eq!(piece.once.rows, 2 + short_rows);
        let all = piece.yarn * f64::from(piece.count) + piece.once.yarn;
        let yarn = &plan.yarns[0];
        assert!((all + plan.pieces[0].yarn - yarn.in_pieces).abs() < 1e-9);
        assert!(plan.making_up.iter().any(|step| step.contains("2 rows that come once before the first")));
    }
}

#[test]
fn a_colour_of_rows_that_an_edging_has_once_is_counted_once() {
    let text = "[[piece]]\nname = \"square\"\ncolour = \"grey\"\n\
        [[piece]]\nname = \"border\"\ncolour = \"red\"\nrows = { \"1-2\" = \"blue\" }\n\
        [block]\nrows = [\"square\"]\n[edging]\npiece = \"border\"\ncorner = \"eased\"\n";
    let plan = plan(text, &[common::garter("square", 24, 48), begun_border(6)]);
    let metres = |colour: &str| {
        plan.yarns.iter().find(|yarn| yarn.colour.as_deref() == Some(colour)).unwrap().in_pieces
    };
    let repeats = f64::from(plan.edging.as_ref().unwrap().plan.repeats);
    // Three rows with the cast-on against four in each repeat.
    let share = 3.0 / (3.0 + 4.0 * repeats);
    let found = metres("blue") / (metres("blue") + metres("red"));
    assert!((found / share - 1.0).abs() < 0.15, "{found} of which {share} were expected");
}

/// A yarn amount by plain division: 110 × 150 stitches at 22 × 30 to 10 cm take 298.5 m (loop length by Munden's
/// relation with 21.6, *J. Text. Inst.* 50, 1959, T448, from memory).
#[test]
fn yarn_of_plain_fabric() {
    let text = "[swatch]\nstitches = 22\nrows = 30\n[[piece]]\nname = \"cloth\"\nsize = \"gauge\"\n";
    let plan = Plan::of(&PlanFile::read(text).unwrap(), &[common::plain("cloth", 110, 150)]).unwrap();
    let piece = &plan.pieces[0];
    assert_eq!(piece.stitches, 110 * 151);
    assert!((piece.width - 50.0).abs() < 1e-9 && (piece.height - 50.0).abs() < 1e-9);
    // Its cast-on takes 3.3 widths, its ends 40 cm; the rest is in the stitches.
    assert!((piece.yarn - 0.4 - 3.3 * 0.5 - 298.5).abs() < 0.02 * 298.5, "{}", piece.yarn);
}

#[test]
fn the_drawing_is_sound_svg_with_measures_in_both_units() {
    let pieces = [common::garter("square", 20, 40), common::points("border")];
    let text = "title = \"Squares & <points>\"\n";
    let text = format!(
        "{text}{SWATCH}[[piece]]\nname = \"square\"\ncount = 3\ncolour = \"blue\"\n\
         size = {{ width = \"20 cm\", height = \"20 cm\" }}\n[[piece]]\nname = \"border\"\n\
         [block]\nrows = [\"square .\", \"square square@90\"]\n[edging]\npiece = \"border\"\n"
    );
    let plan = Plan::of(&PlanFile::read(&text).unwrap(), &pieces).unwrap();
    let edging = plan.edging.as_ref().unwrap();
    assert_eq!(edging.plan.sides.len(), 6);
    let turns: Vec<f64> = edging.plan.corners.iter().flatten().map(|corner| corner.turn.round()).collect();
    assert_eq!(turns.iter().sum::<f64>(), 360.0);
    assert!(turns.contains(&-90.0), "the inner corner of the L");
    let svg = Schematic::of(&plan, &Style::default()).to_svg();
    let document = roxmltree::Document::parse(&svg).unwrap();
    let words: Vec<&str> = document.descendants().filter_map(|node| node.text()).collect();
    assert!(words.contains(&"40 cm (15¾ in.)") && words.contains(&"3 × square"), "{words:?}");
    assert!(!svg.contains("NaN") && !svg.contains("inf"));
    assert_eq!(svg, Schematic::of(&plan, &Style::default()).to_svg());
}

/// Eight decreases every second round in plain fabric of 20 by 28 lie nearly flat, by counts; ten rounds more do not.
#[test]
fn a_round_that_does_not_lie_flat_is_said_to() {
    let decreasing = |stitches: u32| {
        vec![format!("k*{}", stitches + 8), format!("k*{} k2tog ", stitches / 8 - 1).repeat(8)]
    };
    let close = [40, 32, 24, 16].into_iter().flat_map(decreasing);
    let close: Vec<String> = close.chain(["k*16".to_owned(), "k2tog*8".to_owned()]).collect();
    let told = |rounds: &[String]| {
        let rows: Vec<&str> = rounds.iter().map(String::as_str).collect();
        let piece = common::piece("round", Worked::Round, 48, &rows);
        plan("[[piece]]\nname = \"round\"\nsize = \"gauge\"\n", &[piece]).warnings
    };
    assert_eq!(told(&close), Vec::<String>::new());
    let tall: Vec<String> = vec!["k*48".to_owned(); 10].into_iter().chain(close).collect();
    let told = told(&tall);
    assert!(told.len() == 1 && told[0].contains("stands up in the middle"), "{told:?}");
}

/// A yarn whose old name is of another class than its gauge.
#[test]
fn a_name_that_disagrees_with_the_gauge_is_said_to() {
    let yarn = |printed: &str| {
        let text = format!(
            "[[piece]]\nname = \"scarf\"\ncolour = \"grey\"\n[[yarn]]\ncolour = \"grey\"\nprinted = \"{printed}\"\n"
        );
        plan(&text, &[common::plain("scarf", 20, 40)]).warnings
    };
    let told = yarn("eight-thread fleecy");
    assert!(told.iter().all(|one| !one.contains("trust the swatch")), "20 stitches are of class 4: {told:?}");
    let told = yarn("Shetland wool");
    assert!(told.iter().any(|one| one.contains("trust the swatch")), "{told:?}");
}

/// Four garter squares in a block: each sewn to two others, one of them turned, and the whole twice as wide and high.
#[test]
fn the_pieces_of_a_block_are_sewn_into_one_cloth() {
    let text = "[[piece]]\nname = \"square\"\n[block]\nrows = [\"square square@180\", \"square square\"]\n";
    let file = PlanFile::read(&format!("{SWATCH}{text}")).unwrap();
    let pieces = [common::garter("square", 20, 40)];
    let sewn = Sewn::of(&file, &pieces).unwrap();
    assert_eq!((sewn.pieces, sewn.seams, sewn.mesh.part_count()), (4, 4, 4));
    let (width, height) = sewn.extent();
    let one = Plan::of(&file, &pieces).unwrap();
    for (whole, part) in [(width, one.pieces[0].width), (height, one.pieces[0].height)] {
        assert!((whole / (2.0 * part) - 1.0).abs() < 0.06, "{whole} of twice {part}");
    }
    let place = |node: u32| sewn.drape.positions[node as usize];
    let seam = sewn.mesh.links().iter().filter(|link| link.kind == cloth::LinkKind::Seam);
    for link in seam {
        let length = (place(link.to) - place(link.from)).norm();
        assert!((length / link.rest - 1.0).abs() < 0.5, "a seam of {} is {length} long", link.rest);
    }
}

/// Whether a place lies on a triangle, seen from above, further in than its outermost tenth.
fn lies_on(at: Vec3, [a, b, c]: [Vec3; 3]) -> bool {
    let area = |a: Vec3, b: Vec3, c: Vec3| (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
    let whole = area(a, b, c);
    [area(a, b, at), area(b, c, at), area(c, a, at)].into_iter().all(|part| part / whole > 0.1)
}

/// The share of the stitches of one piece that lie on another, seen from above, and the heights of those above it.
fn overlap(sewn: &Sewn, [one, other]: [usize; 2]) -> (f64, Vec<f64>) {
    let at = |node: u32| sewn.drape.positions[node as usize];
    let nodes = |piece: usize| -> Vec<u32> { sewn.mesh.rows(piece).iter().flatten().copied().collect() };
    let others: std::collections::HashSet<u32> = nodes(other).into_iter().collect();
    let ground: Vec<[Vec3; 3]> = sewn
        .mesh
        .triangles()
        .iter()
        .filter(|corners| others.contains(&corners[0]))
        .map(|corners| corners.map(at))
        .collect();
    let own = nodes(one);
    let above = own.iter().filter_map(|&node| {
        let beneath = ground.iter().find(|&&corners| lies_on(at(node), corners))?;
        Some(at(node).z - beneath.iter().map(|corner| corner.z).sum::<f64>() / 3.0)
    });
    let above: Vec<f64> = above.collect();
    (above.len() as f64 / own.len() as f64, above)
}

/// Pieces sewn side by side lie side by side, an edging round them lies outside of them, corners and all, and what is
/// laid over them lies on them.
#[test]
fn neighbours_lie_side_by_side_and_what_is_laid_over_lies_on_top() {
    let text = "[[piece]]\nname = \"square\"\n[[piece]]\nname = \"patch\"\n[[piece]]\nname = \"border\"\n\
        [block]\nrows = [\"square square\", \"square square\"]\n\
        [[laid]]\npiece = \"patch\"\non = \"crossings\"\n\
        [edging]\npiece = \"border\"\ncorner = \"eased\"\n";
    let file = PlanFile::read(&format!("{SWATCH}{text}")).unwrap();
    let pieces =
        [common::garter("square", 24, 48), common::garter("patch", 12, 24), common::garter("border", 6, 4)];
    let sewn = Sewn::of(&file, &pieces).unwrap();
    assert_eq!((sewn.pieces, sewn.left_out.len()), (6, 0));
    let (patch, border) = (4, 5);
    for one in 0..4 {
        for other in (0..4).chain([border]).filter(|other| *other != one) {
            let (share, _) = overlap(&sewn, [one, other]);
            assert!(share < 0.01, "{share} of piece {one} lies on piece {other}");
        }
        let (_, above) = overlap(&sewn, [patch, one]);
        let higher = above.iter().filter(|height| **height > 0.0).count();
        assert!(above.len() > 5 && higher as f64 > 0.9 * above.len() as f64, "{above:?}");
    }
    // The border adds its depth on all sides, as the plan says.
    let planned = Plan::of(&file, &pieces).unwrap().finished.unwrap();
    let (width, height) = sewn.extent();
    for (lies, planned) in [(width, planned[0]), (height, planned[1])] {
        assert!((lies / planned - 1.0).abs() < 0.08, "{lies} cm where the plan says {planned}");
    }
}

/// A small crown worked from its rim is set down on it over the crossing, its right side up.
#[test]
fn a_round_laid_over_stands_on_its_rim() {
    let text = "[[piece]]\nname = \"square\"\n[[piece]]\nname = \"crown\"\n\
        [block]\nrows = [\"square square\", \"square square\"]\n[[laid]]\npiece = \"crown\"\non = \"crossings\"\n";
    let file = PlanFile::read(&format!("{SWATCH}{text}")).unwrap();
    let rounds: Vec<String> = (2..=6)
        .rev()
        .flat_map(|wedge| {
            [format!("k*{}", wedge * 5), format!("k*{} k2tog ", wedge - 2).replace("k*0 ", "").repeat(5)]
        })
        .collect();
    let rounds: Vec<&str> = rounds.iter().map(String::as_str).collect();
    let crown = common::piece("crown", Worked::Round, 30, &rounds);
    let sewn = Sewn::of(&file, &[common::garter("square", 24, 48), crown]).unwrap();
    let middle = |row: &[u32]| {
        row.iter().map(|&node| sewn.drape.positions[node as usize]).sum::<Vec3>() * (1.0 / row.len() as f64)
    };
    let rows = sewn.mesh.rows(4);
    let (rim, top) = (middle(&rows[0]), middle(&rows[rows.len() - 1]));
    assert!((rim.x - top.x).hypot(rim.y - top.y) < 2.0, "{rim:?} under {top:?}");
    assert!(top.z > rim.z && rim.z > 0.0, "{rim:?} under {top:?}");
}

/// An edging that is not drawn is told.
#[test]
fn an_edging_that_is_not_drawn_is_told() {
    let text = "[[piece]]\nname = \"square\"\n[[piece]]\nname = \"border\"\n\
        [block]\nrows = [\"square square\", \"square .\"]\n[edging]\npiece = \"border\"\n";
    let file = PlanFile::read(&format!("{SWATCH}{text}")).unwrap();
    let sewn = Sewn::of(&file, &[common::garter("square", 20, 40), common::garter("border", 6, 4)]).unwrap();
    assert_eq!((sewn.pieces, sewn.left_out.len()), (3, 1));
}

#[test]
fn a_plan_that_sews_nothing_is_refused() {
    let of = |text: &str| {
        let file = PlanFile::read(&format!("{SWATCH}[[piece]]\nname = \"square\"\n{text}")).unwrap();
        Sewn::of(&file, &[common::garter("square", 10, 20)]).map(|_| ()).unwrap_err().message
    };
    assert!(of("").contains("sews nothing"));
    assert!(of("[[join]]\none = \"square left\"\nother = \"square right\"\n").contains("sewn to itself"));
}

/// Needles that the yarn is not knitted on; a number on a gauge that is not known says nothing.
#[test]
fn needles_that_do_not_belong_to_the_yarn_are_said_to() {
    let told = |printed: &str, needle: &str| {
        let text = format!(
            "[[piece]]\nname = \"scarf\"\ncolour = \"grey\"\n[[yarn]]\ncolour = \"grey\"\nprinted = \"{printed}\"\n\
             [[needle]]\npieces = [\"scarf\"]\n{needle}\n"
        );
        let told = plan(&text, &[common::plain("scarf", 20, 40)]).warnings;
        told.into_iter().filter(|one| one.contains("suspect a misprint")).collect::<Vec<_>>()
    };
    // 20 stitches to 10 cm are of class 4, on 4.5 to 5.5 mm.
    let none = Vec::<String>::new();
    assert_eq!(told("knitting worsted", "number = \"5\"\ngauge = \"millimetres\""), none);
    assert_eq!(told("knitting worsted", "number = \"4\"\ngauge = \"millimetres\""), none);
    let thin = told("knitting worsted", "number = \"14\"\ngauge = \"british\"");
    assert!(thin.len() == 1 && thin[0].contains("class 4"), "{thin:?}");
    let thick = told("knitting worsted", "printed = \"No. 000\"\nnumber = \"000\"\ngauge = \"british\"");
    assert!(thick.len() == 1 && thick[0].contains("\"No. 000\""), "{thick:?}");
    // Before 1884 a number is a range, and only what lies wholly apart is told.
    assert_eq!(told("knitting worsted", "number = \"6\"\ngauge = \"old-british\""), none);
    assert_eq!(told("knitting worsted", "number = \"20\"\ngauge = \"old-british\"").len(), 1);
    assert_eq!(told("knitting worsted", "number = \"20\"\ngauge = \"german\""), none);
    // Lace is worked on needles as thick as its holes ask for.
    assert_eq!(told("ice wool", "number = \"6\"\ngauge = \"millimetres\""), none);
}

#[test]
fn a_plan_begins_with_short_names_that_still_tell_the_pieces_apart() {
    let called =
        |name: Option<&str>| loops::Piece { name: name.map(str::to_owned), ..common::garter("", 4, 2) };
    let pattern = [
        called(Some("THE IVY SQUARE, for a rug.")),
        called(Some("The ivy square")),
        called(None),
        called(Some("Border")),
    ];
    let entries = PieceEntry::one_of_each(&pattern);
    let told: Vec<_> = entries.iter().map(|entry| (entry.name.as_str(), entry.place_in(&pattern))).collect();
    assert_eq!(
        told,
        [("ivy square", Some(0)), ("piece 2", Some(1)), ("piece 3", Some(2)), ("border", Some(3))]
    );
}
