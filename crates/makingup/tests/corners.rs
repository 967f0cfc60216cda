//! Mitred and pleated corners as a plan chooses them, worked in the model of the cloth: strips of several grounds, held
//! along a path with a corner. What is held in to ease a corner is tried in `properties.rs`.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod common;

use cloth::Gauge;
use loops::Piece;
use makingup::corner::{Corner, ShortRows, Treatment};
use makingup::edging::{EdgingPlan, Joining, plan};
use makingup::{FLAT, Flatness, Path, Plan, PlanFile, Point, Strip, Turned};
use proptest::prelude::*;
use proptest::test_runner::TestRunner;

/// What a strip is knitted in: its rows of so many stitches there and back, the first from the outer edge.
#[derive(Clone, Copy, Debug)]
struct Ground {
    there: fn(u32) -> String,
    back: fn(u32) -> String,
}

fn knit(stitches: u32) -> String {
    format!("k*{stitches}")
}

fn purl(stitches: u32) -> String {
    format!("p*{stitches}")
}

/// A hole in every second stitch. Its decreases all lean one way, so that it lies askew.
fn holes(stitches: u32) -> String {
    let odd = if stitches % 2 == 1 { " k" } else { "" };
    "yo k2tog ".repeat(stitches as usize / 2) + odd
}

const GROUNDS: [Ground; 3] = [
    Ground { there: knit, back: knit },
    Ground { there: knit, back: purl },
    Ground { there: holes, back: knit },
];

/// Stitches and rows to 10 cm.
const GAUGES: [(f64, f64); 3] = [(12.0, 16.0), (20.0, 28.0), (24.0, 33.0)];

/// The sharpest corner that a pleat is asked to turn.
const PLEATED: f64 = 95.0;

/// By how much a corner pulls at least with a third of what it needs.
const PULLED: f64 = 0.05;

/// A strip of a ground, and a corner.
#[derive(Clone, Copy, Debug)]
struct Case {
    ground: Ground,
    stitches: u32,
    per_10_cm: (f64, f64),
    degrees: f64,
}

impl Case {
    fn any() -> impl Strategy<Value = Case> {
        let strip = (prop::sample::select(GROUNDS.to_vec()), 9u32..17, prop::sample::select(GAUGES.to_vec()));
        (strip, 60.0f64..120.0).prop_map(|((ground, stitches, per_10_cm), degrees)| Case {
            ground,
            stitches,
            per_10_cm,
            degrees,
        })
    }

    fn piece(&self) -> Piece {
        let rows = [(self.ground.there)(self.stitches), (self.ground.back)(self.stitches)];
        common::flat("border", self.stitches, &[&rows[0], &rows[1]])
    }

    fn turn(&self) -> f64 {
        self.degrees.to_radians()
    }

    fn worked(&self) -> Worked {
        let (piece, gauge) = (self.piece(), Gauge::per_10_cm(self.per_10_cm.0, self.per_10_cm.1).unwrap());
        let mut strip = Strip::of(&piece, &gauge).unwrap();
        strip.turned = vec![Turned::of(&piece, &strip, &gauge, self.turn()).unwrap()];
        Worked { piece, gauge, strip, turn: self.turn() }
    }
}

/// The same as the model has it.
struct Worked {
    piece: Piece,
    gauge: Gauge,
    strip: Strip,
    turn: f64,
}

impl Worked {
    fn mitre_off(&self, short_rows: &ShortRows) -> f64 {
        self.mitred(short_rows).off()
    }

    fn mitred(&self, short_rows: &ShortRows) -> Flatness {
        Flatness::mitred(&self.piece, &self.strip, &self.gauge, self.turn, short_rows).unwrap()
    }

    fn pleated(&self, repeats: u32) -> Flatness {
        Flatness::pleated(&self.piece, &self.strip, &self.gauge, self.turn, repeats).unwrap()
    }

    /// The corner that a plan along two sides chooses, and the plan.
    fn chosen(&self, treatment: Treatment) -> (Corner, EdgingPlan) {
        let side = 200.0 * self.strip.repeat;
        let end = Point::new(side + side * self.turn.cos(), side * self.turn.sin());
        let path = Path::through(vec![Point::new(0.0, 0.0), Point::new(side, 0.0), end], false).unwrap();
        let plan = plan(&path, &self.strip, Some(treatment), Joining::Sewn, &[]).unwrap();
        let corner = plan.corners.iter().flatten().next().unwrap().clone();
        (corner, plan)
    }
}

/// A mitre that a plan chooses lies flat, or no pair of short rows more or fewer lies flatter and the plan says that it
/// does not. How much it is off.
fn mitre(worked: &Worked) -> Result<f64, TestCaseError> {
    let (corner, plan) = worked.chosen(Treatment::Mitre);
    let short_rows = corner.short_rows.unwrap();
    let off = worked.mitre_off(&short_rows);
    prop_assert_eq!(plan.flat, off <= FLAT, "{} told of {}", plan.strain, off);
    if off > FLAT {
        let (leaving, taking) = (short_rows.leaving.len() as u32, short_rows.taking.len() as u32);
        for (left, taken) in [(1, 0), (0, 1), (-1, 0), (0, -1)] {
            let pairs = leaving.checked_add_signed(left).zip(taking.checked_add_signed(taken));
            let Some((leaving, taking)) = pairs.filter(|(leaving, taking)| leaving + taking > 0) else {
                continue;
            };
            prop_assert!(worked.mitre_off(&ShortRows::in_pairs(&worked.strip, leaving, taking)) >= off);
        }
    }
    Ok(off)
}

/// The same of a pleat, by a repeat more or fewer.
fn pleat(worked: &Worked) -> Result<f64, TestCaseError> {
    let (corner, plan) = worked.chosen(Treatment::Pleat);
    let off = worked.pleated(corner.pleated).off();
    prop_assert_eq!(plan.flat, off <= FLAT, "{} told of {}", plan.strain, off);
    if off > FLAT {
        for repeats in [corner.pleated - 1, corner.pleated + 1].into_iter().filter(|repeats| *repeats > 0) {
            prop_assert!(worked.pleated(repeats).off() >= off, "{} rather than {off}", repeats);
        }
    }
    Ok(off)
}

/// About a third of these short rows, over as many stitches.
fn third_of(short_rows: &ShortRows) -> ShortRows {
    let third = |pairs: &[u32]| pairs.iter().skip(1).step_by(3).copied().collect();
    ShortRows { leaving: third(&short_rows.leaving), taking: third(&short_rows.taking) }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    /// What is chosen turns a strip of any ground round any corner; with a third of it the corner pulls by more
    /// than 5 %.
    #[test]
    fn chosen_corners_lie_flat_in_the_cloth(case in Case::any()) {
        let worked = case.worked();
        mitre(&worked)?;
        let pulled = worked.mitred(&third_of(&worked.strip.turned[0].short_rows)).strain;
        prop_assert!(pulled > PULLED, "{pulled} with a third of the short rows");
        if case.degrees <= PLEATED {
            pleat(&worked)?;
            let pulled = worked.pleated(worked.strip.turned[0].pleated / 3).strain;
            prop_assert!(pulled > PULLED, "{pulled} with a third of the pleat");
        }
    }
}

/// The same of 1000 corners, the pleats only of those that are not too sharp.
#[test]
#[ignore = "takes minutes: cargo test --release -p makingup --test corners -- --ignored --nocapture"]
fn a_thousand_chosen_corners_lie_flat_in_the_cloth() {
    let config = ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(1000) };
    let mut runner = TestRunner::new_with_rng(
        config,
        proptest::test_runner::TestRng::deterministic_rng(proptest::test_runner::RngAlgorithm::ChaCha),
    );
    let (mitres, pleats) = (std::cell::RefCell::new(Vec::new()), std::cell::RefCell::new(Vec::new()));
    let outcome = runner.run(&Case::any(), |case| {
        let worked = case.worked();
        mitres.borrow_mut().push(mitre(&worked)?);
        if case.degrees <= PLEATED {
            pleats.borrow_mut().push(pleat(&worked)?);
        }
        Ok(())
    });
    for (name, offs) in [("mitres", mitres.into_inner()), ("pleats", pleats.into_inner())] {
        let more = offs.iter().filter(|off| **off > FLAT).count();
        let most = offs.iter().copied().fold(0.0, f64::max);
        println!("{} {name}: {more} more than {FLAT} off, at most {most:.4}", offs.len());
    }
    outcome.unwrap();
}

/// The plan of a file works its corners in the model, and says how the short rows go on.
#[test]
fn a_plan_works_its_mitres_in_the_cloth() {
    let case = Case { ground: GROUNDS[2], stitches: 11, per_10_cm: (20.0, 28.0), degrees: 90.0 };
    let text = "[swatch]\nstitches = 20\nrows = 28\n[[piece]]\nname = \"border\"\n[edging]\npiece = \"border\"\n\
                corner = \"mitre\"\npath = [[0, 0], [60, 0], [60, 60]]\nclosed = false\n";
    let plan = Plan::of(&PlanFile::read(text).unwrap(), &[case.piece()]).unwrap();
    let corner = plan.edging.as_ref().unwrap().plan.corners.iter().flatten().next().unwrap();
    assert_eq!(corner.short_rows.as_ref(), Some(&case.worked().strip.turned[0].short_rows));
    assert!(corner.told.ends_with("; work them in pattern"), "{}", corner.told);
}

/// Points begin and end with few stitches: the short rows between two of them have no more, and are knitted.
#[test]
fn the_short_rows_between_points_have_the_stitches_that_are_there() {
    let (piece, gauge) = (common::points("points"), Gauge::per_10_cm(20.0, 28.0).unwrap());
    let strip = Strip::of(&piece, &gauge).unwrap();
    let turned = Turned::of(&piece, &strip, &gauge, std::f64::consts::FRAC_PI_2).unwrap();
    let longest = turned.short_rows.leaving.iter().chain(&turned.short_rows.taking).max();
    assert!(strip.at_corner < strip.stitches);
    assert!(longest < Some(&strip.at_corner), "{longest:?} of {}", strip.at_corner);
    assert!(!turned.in_pattern);
    assert!(turned.mitre.is_flat(), "{:?}", turned.mitre);
}
