//! Worked examples with their answers and where these come from.
//!
//! Where a source says "derived", the answer is arithmetic or plane geometry done apart from the program.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use cloth::Gauge;
use makingup::corner::{ShortRows, Treatment};
use makingup::edging::{Joining, plan, repeats_along};
use makingup::gauge::{Fit, Repeat, cast_on, long_tail, pick_up, pick_up_by_rule};
use makingup::slope::{HeelTurn, Schedule, Stretch, apex_angle, flat_circle, flat_square};
use makingup::spacing::{Change, Ends, spread};
use makingup::yarn_name::{Count, YarnClass, YarnReading, metres_to_100_g};
use makingup::{Along, Length, Needle, NeedleGauge, Path, Point, Strip, Swatch};

fn near(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value} is not {expected} ± {within}");
}

fn needle(number: &str, gauge: NeedleGauge) -> Needle {
    Needle::read(number, gauge).unwrap()
}

/// Imperial wire gauge, Order in Council of 23 August 1883 (engineeringtoolbox.com, simetric.co.uk): inch × 25.4.
#[test]
fn the_wire_gauge() {
    for (number, mm) in
        [("8", 4.064), ("13", 2.337), ("22", 0.711), ("000", 9.449), ("3/0", 9.449), ("24", 0.559)]
    {
        near(needle(number, NeedleGauge::Wire).millimetres.unwrap(), mm, 0.001);
    }
    assert!(Needle::read("99", NeedleGauge::Wire).is_err());
}

/// Conversion tables of three needle sellers and teachers that agree (named in `data/needles.toml`).
#[test]
fn old_british_numbers_today() {
    for (number, mm, us) in [("8", 4.0, "6"), ("10", 3.25, "3"), ("14", 2.0, "0"), ("000", 10.0, "15")] {
        let needle = needle(number, NeedleGauge::British);
        assert_eq!((needle.sold, needle.us), (vec![mm], vec![us.to_owned()]), "{number}");
    }
    let two = needle("2", NeedleGauge::British);
    assert!(two.us.is_empty() && two.sold == [7.0]);
}

/// 2.1 mm + 0.3 mm × No., for 0 to 15 (keitoyajp.com).
#[test]
fn japanese_numbers() {
    near(needle("7", NeedleGauge::Japan).millimetres.unwrap(), 4.2, 1e-9);
    near(needle("15", NeedleGauge::Japan).millimetres.unwrap(), 6.6, 1e-9);
    assert!(Needle::read("16", NeedleGauge::Japan).is_err());
    assert_eq!(needle("3.75", NeedleGauge::Millimetres).japan, [5, 6]);
}

/// Girths in Lambert, *My Knitting Book*, 1843 (Baby's hood; Frileuse), divided by π.
#[test]
fn pins_told_by_their_girth() {
    near(needle("1 inch", NeedleGauge::Girth).millimetres.unwrap(), 8.09, 0.01);
    near(needle("1 3/4 inches", NeedleGauge::Girth).millimetres.unwrap(), 14.15, 0.01);
}

/// Lambert's filière measured on its engraving; Beeton 1870, § 287, on German numbers.
#[test]
fn numbers_of_another_gauge_are_flagged() {
    let lambert = needle("22", NeedleGauge::Filiere);
    let [least, most] = lambert.between.unwrap();
    near(least, 1.4, 0.01);
    near(most, 1.9, 0.01);
    assert!(lambert.note.is_some());
    let german = needle("1", NeedleGauge::German);
    assert!(german.millimetres.is_none() && german.note.unwrap().contains("thinnest"));
}

/// Craft Yarn Council, Standard Yarn Weight System: classes 2 and 3 overlap at 23 and 24.
#[test]
fn yarn_classes_by_gauge() {
    let classes =
        |stitches: f64| YarnClass::at(stitches).iter().map(|class| class.number).collect::<Vec<_>>();
    for (stitches, expected) in [
        (22.0, vec![3]),
        (24.0, vec![2, 3]),
        (28.0, vec![1]),
        (20.0, vec![4]),
        (12.0, vec![5]),
        (11.0, vec![6]),
        (6.0, vec![7]),
        (22.0 * 1.016, vec![3]),
    ] {
        assert_eq!(classes(stitches), expected, "{stitches}");
    }
}

/// Constants from 1 lb = 453.59237 g and 1 yd = 0.9144 m; rounded ones in textilelearner.blogspot.com.
#[test]
fn counts_of_spinners() {
    near(Count::Cotton.tex(10.0, 1).unwrap(), 59.05, 0.06);
    near(1000.0 / Count::Cotton.tex(10.0, 1).unwrap(), 16.93, 0.02);
    near(Count::Worsted.tex(8.0, 4).unwrap(), 442.9, 0.4);
    near(metres_to_100_g(Count::Worsted.tex(8.0, 4).unwrap()), 225.8, 0.2);
    near(Count::Metric.tex(24.0, 2).unwrap(), 83.3, 0.1);
    near(metres_to_100_g(Count::Metric.tex(24.0, 2).unwrap()), 1200.0, 1.2);
    near(Count::MetresTo100G.tex(230.0, 1).unwrap(), 434.8, 0.4);
    near(Count::Cotton.tex(1.0, 1).unwrap(), 590.54, 0.06);
    near(Count::Worsted.tex(1.0, 1).unwrap(), 885.81, 0.09);
    assert!(Count::Tex.tex(0.0, 1).is_err() && Count::Tex.tex(5.0, 0).is_err());
}

/// Equations in Lambert 1843 and Mee 1846; *Handbook of Wool Knitting and Crochet*, 1918.
#[test]
fn old_names_of_yarns() {
    let classes = |name: &str| YarnReading::of(name).map(|reading| reading.classes);
    assert_eq!(classes("Two ounces of double German wool"), classes("three-thread fleecy, white"));
    assert_eq!(classes("eight-thread Zephyr fleecy"), classes("double Berlin wool"));
    assert_eq!(classes("3 hanks of fourfold Germantown zephyr"), Some([4, 4]));
    assert_eq!(classes("spun moonlight"), None);
}

/// A rule of many handbooks: three times the width and a tenth over.
#[test]
fn the_tail_of_a_long_tail_cast_on() {
    near(long_tail("12 in".parse().unwrap()).in_inches(), 39.6, 0.1);
}

/// Derived: trigonometry. Garter at two rows to a stitch gives a right angle (common practice).
#[test]
fn angles_of_shaped_edges() {
    for (ratio, stitches, rows, angle) in [
        (2.0, 1.0, 2.0, 90.0),
        (1.75, 1.0, 2.0, 82.4),
        (7.0 / 3.0, 1.0, 2.0, 98.8),
        (4.0 / 3.0, 1.0, 2.0, 67.4),
        (2.0, 1.0, 1.0, 126.9),
    ] {
        near(apex_angle(ratio, stitches, rows), angle, 0.1);
    }
    near(flat_circle(2.0), std::f64::consts::PI, 0.01);
    near(flat_circle(4.0 / 3.0), 4.71, 0.01);
    near(flat_square(2.0), 4.0, 1e-9);
    near(flat_square(4.0 / 3.0), 6.0, 1e-9);
}

/// Derived: plane geometry, for an edging 8 cm deep and for one of depth 1.
#[test]
fn fullness_of_corners() {
    let right = std::f64::consts::FRAC_PI_2;
    near(Treatment::Eased.fullness(right, 8.0), 12.57, 0.01);
    near(Treatment::Mitre.fullness(right, 8.0), 16.0, 1e-9);
    near(4.0 * Treatment::Eased.fullness(right, 8.0), 50.27, 0.01);
    near(4.0 * Treatment::Mitre.fullness(right, 8.0), 64.0, 1e-6);
    let sharp = 2.0 * std::f64::consts::FRAC_PI_3;
    near(Treatment::Eased.fullness(sharp, 1.0), 2.094, 0.001);
    near(Treatment::Mitre.fullness(sharp, 1.0), 3.464, 0.001);
    near(Treatment::Eased.fullness(right, 8.0) / 4.0, std::f64::consts::PI, 0.01);
}

/// Derived: the outer edges of a mitre of depth 12 meet 12 beyond the corner; rows that have come half as far ahead by
/// themselves have 6 to go before it and 18 after.
#[test]
fn short_rows_follow_rows_that_lie_askew() {
    let right = std::f64::consts::FRAC_PI_2;
    let strip = Strip::measured(2, 1.0, 12.0, 12).unwrap();
    let pairs = |slant: f64, turn: f64| {
        let ShortRows { leaving, taking } = ShortRows::of(&Strip { slant, ..strip.clone() }, turn);
        assert!(
            leaving.windows(2).all(|pair| pair[0] >= pair[1])
                && taking.windows(2).all(|pair| pair[0] <= pair[1])
        );
        assert!(leaving.iter().chain(&taking).all(|worked| (2..12).contains(worked)));
        (leaving.len(), taking.len())
    };
    assert_eq!(pairs(0.0, right), (12, 12));
    assert_eq!(pairs(0.5, right), (6, 18));
    assert_eq!(pairs(-0.5, right), (18, 6));
    assert_eq!(pairs(0.5, -right), (18, 6));
    assert_eq!(pairs(1.5, right), (0, 24));
    let straight = ShortRows::of(&strip, right);
    assert!(straight.taking.iter().rev().eq(&straight.leaving), "{straight:?}");
}

/// Derived; one stitch for two rows of edging: J. Furlong, technique series of a British magazine.
#[test]
fn an_edging_along_live_stitches() {
    let fit = repeats_along(200, 10).unwrap();
    assert_eq!((fit.repeats, fit.over, fit.to_find), (40, 0, 0));
    let fit = repeats_along(203, 10).unwrap();
    assert_eq!((fit.repeats, fit.over, fit.to_find), (40, 3, 2));
    assert!(repeats_along(200, 1).is_err());
}

/// Derived: 40 repeats of 10 rows along each side of 200 stitches, a stitch joined every second row, are 160 round a square
/// whose corners make themselves; an eased corner takes a quarter turn of the depth more, divided among its sides.
#[test]
fn an_edging_round_a_square() {
    let strip = Strip::measured(10, 2.5, 8.0, 12).unwrap();
    let corners = [(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)];
    let square = Path::through(corners.map(|(x, y)| Point::new(x, y)).to_vec(), true).unwrap();
    let live = [Some(Along::Stitches(200)); 4];
    let planned = |treatment| plan(&square, &strip, Some(treatment), Joining::KnittedOn, &live).unwrap();
    let mitred = planned(Treatment::Mitre);
    assert_eq!(mitred.repeats, 160);
    for side in &mitred.sides {
        let told = side.join.as_deref();
        assert_eq!((side.repeats, told), (40, Some("join every second row to one of the 200 stitches")));
    }
    let eased = planned(Treatment::Eased);
    let more = 4.0 * std::f64::consts::FRAC_PI_2 * 8.0 / 2.5;
    let within = f64::from(eased.repeats - 160);
    assert!((0.5 * more..=1.05 * more).contains(&within), "{within} repeats more, of {more} at most");
    assert!(eased.sides.windows(2).all(|pair| pair[0].repeats == pair[1].repeats));
}

/// Shapings of *Handbook of Wool Knitting and Crochet*, 1918: a costume from 100 stitches to 76, one each end every 8th
/// row, in 96 rows; a sleeve from 97 to 73 the same way, done by row 96; a mitten's thumb from 1 to 21, two every 3rd round.
#[test]
fn shapings_of_1918() {
    let every = |shapings, rows| Schedule::of(shapings, rows, 1).unwrap().stretches;
    assert_eq!(every((100 - 76) / 2, 96), [Stretch { every: 8, times: 12 }]);
    assert_eq!(every((97 - 73) / 2, 96), [Stretch { every: 8, times: 12 }]);
    assert_eq!(every((21 - 1) / 2, 30), [Stretch { every: 3, times: 10 }]);
}

/// Three in four along plain rows, one in two along garter: common practice, no published source. The band: derived.
#[test]
fn stitches_taken_up_along_rows() {
    assert_eq!((pick_up_by_rule(60, 3, 4), pick_up_by_rule(60, 1, 2)), (45, 30));
    assert_eq!((pick_up_by_rule(100, 2, 3), pick_up_by_rule(100, 3, 4)), (67, 75));
    let along = Gauge::per_10_cm(21.0, 28.0).unwrap();
    let band = Gauge::per_10_cm(24.0, 32.0).unwrap();
    assert_eq!(pick_up(120, &along, &band).stitches, 103);
    let same = Gauge::per_10_cm(18.0, 24.0).unwrap();
    let found = pick_up(60, &same, &same);
    assert_eq!((found.stitches, found.each, found.rows), (45, 3, 4));
}

/// Derived; a heel of 31 stitches: Service sock in *Handbook of Wool Knitting and Crochet*, 1918.
#[test]
fn turns_of_heels() {
    let turn = |stitches, first| HeelTurn::of(stitches, first).unwrap();
    assert_eq!((turn(31, 16).second, turn(31, 16).left), (3, 16));
    assert_eq!((turn(32, 18).second, turn(32, 18).rows, turn(32, 18).left), (6, 14, 18));
    for (heel, left) in [(24, 14), (28, 16), (36, 20), (40, 22)] {
        assert_eq!(turn(heel, heel / 2 + 2).left, left);
    }
    assert!(HeelTurn::of(30, 10).is_err() && HeelTurn::of(30, 29).is_err());
}

/// Derived: arithmetic.
#[test]
fn changes_spread_evenly() {
    let told = |stitches, changes, change, ends| spread(stitches, changes, change, ends).unwrap();
    let seven = told(50, 7, Change::Increase, Ends::Half);
    assert_eq!((seven.to_string().as_str(), seven.after), ("k4, (m1, k7) 6 times, m1, k4", 57));
    let nine = told(90, 9, Change::Decrease, Ends::Closed);
    assert_eq!((nine.to_string().as_str(), nine.after), ("(k8, k2tog) 9 times", 81));
    let eight = told(100, 8, Change::Decrease, Ends::Closed);
    let gaps = |of: u32| eight.gaps.iter().filter(|gap| **gap == of).count();
    assert_eq!((eight.after, gaps(10), gaps(11)), (92, 4, 4));
    assert!(spread(3, 2, Change::Decrease, Ends::Half).is_err());
}

/// Derived: arithmetic; 97 to 73 stitches over 120 rows is a sleeve of the *Handbook* of 1918, spread evenly.
#[test]
fn shapings_over_rows() {
    let sleeve = Schedule::of(12, 120, 1).unwrap();
    assert_eq!(sleeve.stretches, [Stretch { every: 10, times: 12 }]);
    let even = Schedule::of(20, 134, 2).unwrap();
    assert_eq!(even.to_string(), "every 6th row 13 times, then every 8th row 7 times");
    assert_eq!((even.rows(), even.shapings()), (134, 20));
    assert!(Schedule::of(70, 134, 2).is_err());
    let two = Schedule {
        stretches: vec![Stretch { every: 6, times: 5 }, Stretch { every: 4, times: 3 }],
        plain_after: 0,
    };
    assert_eq!((60 - 2 * two.shapings(), two.rows()), (44, 42));
}

/// Derived: arithmetic.
#[test]
fn repeats_and_widths() {
    let rib = Repeat { of: 4, plus: 0 };
    assert_eq!(rib.fit(136), Fit::Whole(34));
    assert_eq!(rib.fit(110), Fit::Between { fewer: Some(108), more: 112 });
    let gauge = Gauge::per_10_cm(22.0, 30.0).unwrap();
    let found = cast_on(Length::cm(60.0), &gauge, Repeat { of: 18, plus: 2 });
    assert_eq!(found.iter().map(|one| one.stitches).collect::<Vec<_>>(), [128, 146]);
    near(found[0].width.in_cm(), 58.2, 0.05);
    near(found[1].width.in_cm(), 66.4, 0.05);
}

/// *Handbook of Wool Knitting and Crochet*, 1918: 48 stitches of garter measure 11 inches, 50 rows 6 inches.
#[test]
fn a_swatch_in_inches() {
    let swatch = Swatch {
        stitches: 48.0,
        width: "11 in".parse().unwrap(),
        rows: 50.0,
        height: "6 in".parse().unwrap(),
    };
    near(swatch.gauge().unwrap().rows_per_stitch(), 1.91, 0.01);
}
