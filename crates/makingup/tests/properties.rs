//! What always holds: repeats are whole, edges meet, gaps are even, corners lie flat.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod common;

use cloth::Gauge;
use makingup::edging::{Joining, plan};
use makingup::gauge::{Fit, Repeat, cast_on};
use makingup::slope::Schedule;
use makingup::spacing::{Change, Ends, spread};
use makingup::{FLAT, Flatness, Fullness, Length, Path, Plan, PlanFile, Point, Strip};
use proptest::prelude::*;

/// A convex polygon on a circle, with corners at these steps.
fn round_path(steps: &[f64], radius: f64) -> Path {
    let whole: f64 = steps.iter().sum();
    let mut angle = 0.0;
    let points = steps.iter().map(|step| {
        angle += step / whole * std::f64::consts::TAU;
        Point::new(radius * f64::cos(angle), radius * f64::sin(angle))
    });
    Path::through(points.collect(), true).unwrap()
}

proptest! {
    #[test]
    fn gaps_differ_by_one_and_come_to_the_row(stitches in 1u32..500, changes in 1u32..100, closed: bool, fewer: bool) {
        let (change, takes) = if fewer { (Change::Decrease, 2) } else { (Change::Increase, 0) };
        let ends = if closed { Ends::Closed } else { Ends::Half };
        let Ok(spread) = spread(stitches, changes, change, ends) else {
            prop_assert!(changes > stitches || changes * takes > stitches);
            return Ok(());
        };
        prop_assert_eq!(spread.gaps.iter().sum::<u32>() + changes * takes, stitches);
        let between = &spread.gaps[usize::from(!closed)..spread.gaps.len() - 1];
        if let (Some(least), Some(most)) = (between.iter().min(), between.iter().max()) {
            prop_assert!(most - least <= 1, "{:?}", spread.gaps);
        }
        if closed {
            prop_assert_eq!(spread.gaps.last(), Some(&0));
        }
    }

    #[test]
    fn schedules_have_all_their_rows_and_shapings(shapings in 1u32..60, rows in 1u32..400, step in 1u32..3) {
        if let Ok(schedule) = Schedule::of(shapings, rows, step) {
            prop_assert_eq!((schedule.shapings(), schedule.rows()), (shapings, rows));
            prop_assert!(schedule.stretches.iter().all(|stretch| stretch.every % step == 0));
        } else {
            prop_assert!(shapings > rows / step);
        }
    }

    #[test]
    fn cast_ons_are_whole_repeats_on_either_side(width in 5.0f64..200.0, of in 1u32..40, plus in 0u32..10) {
        let gauge = Gauge::per_10_cm(20.0, 28.0).unwrap();
        let repeat = Repeat { of, plus };
        for one in cast_on(Length::cm(width), &gauge, repeat) {
            prop_assert!(matches!(repeat.fit(one.stitches), Fit::Whole(count) if count == one.repeats));
            prop_assert!((one.width.in_cm() - width).abs() <= f64::from(of + plus) * gauge.width());
        }
    }

    /// Between two corners lie whole repeats, and strip and path have the same length within the strain told.
    #[test]
    fn repeats_are_whole_on_every_side(
        steps in prop::collection::vec(0.6f64..1.4, 3..8),
        radius in 20.0f64..120.0,
        repeat in 1.0f64..9.0,
        depth in 2.0f64..9.0,
    ) {
        let path = round_path(&steps, radius);
        let strip = Strip::measured(20, repeat, depth, 10).unwrap();
        let Ok(plan) = plan(&path, &strip, None, Joining::Sewn, &[]) else { return Ok(()) };
        prop_assert_eq!(plan.sides.len(), path.side_count());
        let shared = |place: usize| plan.corners[place % plan.corners.len()].as_ref().map_or(0.0, |corner| {
            if plan.treatment == makingup::corner::Treatment::Eased { corner.fullness / 2.0 } else { 0.0 }
        });
        let mut difference = 0.0;
        for (place, side) in plan.sides.iter().enumerate() {
            prop_assert!(side.repeats >= 1);
            let strip_length = f64::from(side.repeats) * repeat * (1.0 + side.strain);
            difference += strip_length - side.length - shared(place) - shared(place + 1);
        }
        // A corner between two sides has the mean of what they ask for: what one lacks the other has.
        prop_assert!(difference.abs() < 1e-6 * radius * steps.len() as f64, "{difference}");
        let pleated: u32 = plan.corners.iter().flatten().map(|corner| corner.pleated).sum();
        prop_assert_eq!(plan.repeats, pleated + plan.sides.iter().map(|side| side.repeats).sum::<u32>());
        prop_assert_eq!(plan.flat, plan.strain <= FLAT);
        prop_assert_eq!(plan.flat, plan.ways.is_empty());
        for corner in plan.corners.iter().flatten() {
            let geometry = corner.turn.to_radians() * depth;
            let share = corner.fullness / geometry;
            if plan.treatment == makingup::corner::Treatment::Eased {
                prop_assert!((0.949..1.051).contains(&share), "{share}");
            }
        }
    }

    /// Pieces laid in a block fill it, and every seam within is told with its number.
    #[test]
    fn edges_of_a_block_meet(columns in 1usize..6, rows in 1usize..6, turns in prop::collection::vec(0usize..4, 36)) {
        let lines: Vec<String> = (0..rows)
            .map(|row| {
                let cells = (0..columns).map(|column| format!("square@{}", turns[row * 6 + column] * 90));
                format!("\"{}\"", cells.collect::<Vec<_>>().join(" "))
            })
            .collect();
        let text = format!(
            "[swatch]\nstitches = 20\nrows = 28\n[[piece]]\nname = \"square\"\ncount = {}\n\
             size = {{ width = \"10 cm\", height = \"10 cm\" }}\n[block]\nrows = [{}]\n",
            columns * rows,
            lines.join(", ")
        );
        let plan = Plan::of(&PlanFile::read(&text).unwrap(), &[common::garter("square", 8, 16)]).unwrap();
        let seams: u32 = plan.seams.iter().map(|seam| seam.times).sum();
        prop_assert_eq!(seams as usize, rows * (columns - 1) + columns * (rows - 1));
        prop_assert!(plan.seams.iter().all(|seam| seam.difference.by < 1e-9));
        let block = plan.block.unwrap();
        prop_assert!((block.width - 10.0 * columns as f64).abs() < 1e-9);
        prop_assert!((block.height - 10.0 * rows as f64).abs() < 1e-9);
        prop_assert_eq!(block.outline.len(), 4);
    }
}

/// Edgings of several kinds, each with its fullness from the model, tried anew in the model round corners of other
/// angles: strain, ruffle and cup stay within 2 %.
#[test]
fn the_fullness_of_a_corner_lies_flat_in_the_cloth() {
    let lace = common::flat(
        "lace",
        14,
        &["k*4 yo k2tog k*3 yo k2tog k*3", "k*14", "k*3 yo k2tog k*4 yo k2tog k*3", "k*14"],
    );
    let kinds = [common::garter("garter", 8, 2), lace, common::points("points")];
    let (mut tried, mut none) = (0, 0);
    for (stitches, rows, degrees) in [(12.0, 16.0, 90.0_f64), (24.0, 33.0, 60.0), (20.0, 28.0, 120.0)] {
        let gauge = Gauge::per_10_cm(stitches, rows).unwrap();
        for piece in &kinds {
            let strip = Strip::of(piece, &gauge).unwrap();
            let turn = degrees.to_radians();
            let full = Fullness::of(piece, &strip, &gauge, turn).unwrap();
            if full.off > FLAT {
                none += 1;
                continue;
            }
            for share in [full.least, full.best, full.most] {
                let flatness = Flatness::of(piece, &gauge, turn, share * turn * strip.depth).unwrap();
                let name = piece.name.as_deref().unwrap();
                assert!(flatness.is_flat(), "{name}, {degrees}°, {share:.2}: {flatness:?}");
                tried += 1;
            }
            // None at all cups the work.
            let without = Flatness::of(piece, &gauge, turn, 0.0).unwrap();
            assert!(without.off() > full.off, "{:?}, {degrees}°: {without:?}", piece.name);
        }
    }
    assert!(tried >= 21 && none <= 2, "{tried} tried, {none} never flat");
}
