//! The outer edge of an edging along its path, repeat by repeat, fanned out at its corners.
//!
//! Between two corners lie whole repeats; what the corners take up is folded out about them as the cloth lies, half
//! for each side.

use crate::corner::Treatment;
use crate::{EdgingOnPath, Point};

/// The band of an edging.
pub(super) struct Band {
    /// The outer edge.
    pub outer: Vec<Point>,
    /// From the straight side to the outer edge, where one repeat follows another.
    pub seams: Vec<[Point; 2]>,
}

impl EdgingOnPath {
    /// The depth at a place of the repeat, from 0 to 1: the greatest of the rows that the place stands for, so that the
    /// drawing reaches as far as the points do.
    pub(super) fn depth_at(&self, place: f64) -> f64 {
        let (rows, places) = (self.profile.len(), self.places());
        let nth = (place * places as f64).round() as usize % places;
        let first = nth * rows / places;
        let stands_for = self.profile.get(first..((nth + 1) * rows / places).max(first + 1));
        let greatest = stands_for.into_iter().flatten().copied().reduce(f64::max);
        greatest.unwrap_or(self.depth)
    }

    /// Places drawn in one repeat: one for every second row, four at least.
    pub(super) fn places(&self) -> usize {
        (self.profile.len() / 2).clamp(4, 40)
    }
}

impl Band {
    pub(super) fn of(edging: &EdgingOnPath) -> Band {
        let mut band = Band { outer: Vec::new(), seams: Vec::new() };
        for side in 0..edging.plan.sides.len() {
            band.corner(edging, side);
            band.side(edging, side);
        }
        band
    }

    /// What stands at the beginning of a side besides the side's own repeats.
    fn corner(&mut self, edging: &EdgingOnPath, side: usize) {
        let Some(corner) = edging.plan.corners[side].as_ref() else { return };
        let from = edging.path[side];
        let outwards = normal(edging, side);
        let turn = corner.turn.to_radians();
        match edging.plan.treatment {
            Treatment::Eased => {}
            Treatment::Mitre => {
                let reach = edging.depth / (turn / 2.0).cos();
                let tip = moved(from, turned(outwards, -turn / 2.0), reach);
                self.outer.push(tip);
                self.seams.push([from, tip]);
            }
            Treatment::Pleat => {
                let in_repeat = edging.places();
                let count = corner.pleated as usize * in_repeat;
                for place in 0..count {
                    let share = place as f64 / count as f64;
                    let direction = turned(outwards, -turn * (1.0 - share));
                    let phase = (place % in_repeat) as f64 / in_repeat as f64;
                    self.outer.push(moved(from, direction, edging.depth_at(phase)));
                }
            }
        }
    }

    fn side(&mut self, edging: &EdgingOnPath, side: usize) {
        let plan = &edging.plan.sides[side];
        let eased = |corner: usize| {
            let corner = edging.plan.corners.get(corner % edging.plan.corners.len()).and_then(Option::as_ref);
            let corner = corner.filter(|_| edging.plan.treatment == Treatment::Eased);
            corner.map_or((0.0, 0.0), |corner| (corner.fullness / 2.0, corner.turn.to_radians()))
        };
        let last = !edging.closed && side + 1 == edging.plan.sides.len();
        let (begin, end) = (eased(side), if last { (0.0, 0.0) } else { eased(side + 1) });
        let zone = (edging.depth / 2.0).min(plan.length / 4.0);
        let whole = plan.length + begin.0 + end.0;
        let in_repeat = edging.places();
        let count = plan.repeats as usize * in_repeat;
        let (from, outwards) = (edging.path[side], normal(edging, side));
        let along = Point::new(-outwards.y, outwards.x);
        for place in 0..=count {
            let strip = whole * place as f64 / count.max(1) as f64;
            let left = whole - strip;
            // Along the path, and how far the strip is still turned towards the corner.
            let (at, turn) = if strip < zone + begin.0 {
                let share = strip / (zone + begin.0);
                (zone * share, -begin.1 / 2.0 * (1.0 - share))
            } else if left < zone + end.0 {
                let share = left / (zone + end.0);
                (plan.length - zone * share, end.1 / 2.0 * (1.0 - share))
            } else {
                (strip - begin.0, 0.0)
            };
            let foot = moved(from, along, at);
            let phase = (place % in_repeat) as f64 / in_repeat as f64;
            let outer = moved(foot, turned(outwards, turn), edging.depth_at(phase));
            if place % in_repeat == 0 {
                self.seams.push([foot, outer]);
            }
            self.outer.push(outer);
        }
    }
}

/// The direction away from the work at a side.
fn normal(edging: &EdgingOnPath, side: usize) -> Point {
    let (from, to) = (edging.path[side], edging.path[(side + 1) % edging.path.len()]);
    let length = from.distance(to).max(1e-9);
    Point::new((to.y - from.y) / length, -(to.x - from.x) / length)
}

fn turned(direction: Point, by: f64) -> Point {
    let (sine, cosine) = by.sin_cos();
    Point::new(direction.x * cosine - direction.y * sine, direction.x * sine + direction.y * cosine)
}

fn moved(from: Point, direction: Point, by: f64) -> Point {
    Point::new(from.x + direction.x * by, from.y + direction.y * by)
}
