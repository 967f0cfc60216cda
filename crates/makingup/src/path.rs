//! Outlines and paths on a plane: sides, corners, and whether a path crosses itself.
//!
//! Lengths are centimetres, angles radians. A corner's angle is the exterior one: how far the path turns there,
//! positive to the left, so that the corners of a square, gone round anticlockwise, are a quarter turn each.

use serde::{Deserialize, Serialize};

use crate::Problem;

/// A point of the plane, in centimetres.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// Upwards.
    pub y: f64,
}

impl Point {
    /// The point at these coordinates.
    pub const fn new(x: f64, y: f64) -> Point {
        Point { x, y }
    }

    /// How far another point is.
    pub fn distance(self, other: Point) -> f64 {
        (other.x - self.x).hypot(other.y - self.y)
    }

    fn towards(self, other: Point) -> Point {
        Point::new(other.x - self.x, other.y - self.y)
    }

    fn cross(self, other: Point) -> f64 {
        self.x * other.y - self.y * other.x
    }

    fn dot(self, other: Point) -> f64 {
        self.x * other.x + self.y * other.y
    }
}

/// A path of straight sides, open or closed. A closed one runs anticlockwise; none crosses itself.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Path {
    points: Vec<Point>,
    closed: bool,
}

/// Sides shorter than this are none, in centimetres.
const SHORTEST: f64 = 0.1;

impl Path {
    /// A path through points.
    ///
    /// # Errors
    /// A [`Problem`] for too few points, sides without length, or a path that crosses itself.
    pub fn through(points: Vec<Point>, closed: bool) -> Result<Path, Problem> {
        let least = if closed { 3 } else { 2 };
        if points.len() < least || points.iter().any(|point| !(point.x.is_finite() && point.y.is_finite())) {
            return Err(Problem::new(
                format!("a path of {} points goes nowhere", points.len()),
                "give the corners in order, in centimetres, three at least for a closed path",
            ));
        }
        let mut path = Path { points, closed };
        if let Some(side) = (0..path.side_count()).find(|&side| path.side(side) < SHORTEST) {
            return Err(Problem::new(
                format!("side {} of the path has no length", side + 1),
                "leave out the corner that is given twice",
            ));
        }
        if let Some((one, other)) = path.crossing() {
            return Err(Problem::new(
                format!("the path crosses itself: side {} meets side {}", one + 1, other + 1),
                "give the corners in the order in which the edge runs, and measure the two sides again",
            ));
        }
        if closed && area(&path.points) < 0.0 {
            path.points.reverse();
        }
        Ok(path)
    }

    /// The points in order.
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// Whether the end is joined to the beginning.
    pub fn is_closed(&self) -> bool {
        self.closed
    }

    /// The number of sides.
    pub fn side_count(&self) -> usize {
        if self.closed { self.points.len() } else { self.points.len() - 1 }
    }

    /// The length of a side.
    pub fn side(&self, side: usize) -> f64 {
        self.at(side).distance(self.at(side + 1))
    }

    /// The length of all sides.
    pub fn length(&self) -> f64 {
        (0..self.side_count()).map(|side| self.side(side)).sum()
    }

    /// How far the path turns at the beginning of a side; `None` at the beginning of an open path.
    pub fn turn(&self, side: usize) -> Option<f64> {
        if !self.closed && (side == 0 || side >= self.side_count()) {
            return None;
        }
        let count = self.points.len();
        let before = self.at(side + count - 1).towards(self.at(side));
        let after = self.at(side).towards(self.at(side + 1));
        Some(before.cross(after).atan2(before.dot(after)))
    }

    /// Width and height of the whole.
    pub fn extent(&self) -> (f64, f64) {
        extent(&self.points)
    }

    fn at(&self, place: usize) -> Point {
        self.points[place % self.points.len()]
    }

    /// Two sides that meet where they should not.
    fn crossing(&self) -> Option<(usize, usize)> {
        let count = self.side_count();
        let pairs = (0..count).flat_map(|one| (one + 1..count).map(move |other| (one, other)));
        pairs.into_iter().find(|&(one, other)| {
            let next = other == one + 1 || (self.closed && one == 0 && other == count - 1);
            let sides = [self.at(one), self.at(one + 1), self.at(other), self.at(other + 1)];
            if next { folds_back(sides, other == one + 1) } else { meet(sides) }
        })
    }
}

/// Whether the second of two neighbouring sides runs back along the first.
fn folds_back([a, b, c, d]: [Point; 4], in_order: bool) -> bool {
    let (before, after) = if in_order { (a.towards(b), c.towards(d)) } else { (c.towards(d), a.towards(b)) };
    before.cross(after).abs() < 1e-9 && before.dot(after) < 0.0
}

/// Whether two stretches have a point in common.
fn meet([a, b, c, d]: [Point; 4]) -> bool {
    let side = |from: Point, to: Point, point: Point| from.towards(to).cross(from.towards(point));
    let (one, two) = (side(a, b, c), side(a, b, d));
    let (three, four) = (side(c, d, a), side(c, d, b));
    if one * two < 0.0 && three * four < 0.0 {
        return true;
    }
    let lies_on = |from: Point, to: Point, point: Point, side: f64| {
        side.abs() < 1e-9
            && (from.x.min(to.x) - 1e-9..=from.x.max(to.x) + 1e-9).contains(&point.x)
            && (from.y.min(to.y) - 1e-9..=from.y.max(to.y) + 1e-9).contains(&point.y)
    };
    lies_on(a, b, c, one) || lies_on(a, b, d, two) || lies_on(c, d, a, three) || lies_on(c, d, b, four)
}

/// The area within a ring of points, negative when it runs clockwise.
pub(crate) fn area(points: &[Point]) -> f64 {
    let count = points.len();
    (0..count).map(|place| points[place].cross(points[(place + 1) % count])).sum::<f64>() / 2.0
}

/// Width and height of points.
pub(crate) fn extent(points: &[Point]) -> (f64, f64) {
    let span = |values: &dyn Fn(&Point) -> f64| {
        let least = points.iter().map(values).fold(f64::INFINITY, f64::min);
        let most = points.iter().map(values).fold(f64::NEG_INFINITY, f64::max);
        if points.is_empty() { 0.0 } else { most - least }
    };
    (span(&|point| point.x), span(&|point| point.y))
}

/// The corners that are left of a ring when all that lies nearer to the simpler ring than `tolerance` is left out
/// (Ramer 1972, Douglas & Peucker 1973); places in the ring, in order.
pub(crate) fn simplified(ring: &[Point], tolerance: f64) -> Vec<usize> {
    let count = ring.len();
    let farthest = |from: usize| {
        (0..count)
            .max_by(|&a, &b| ring[from].distance(ring[a]).total_cmp(&ring[from].distance(ring[b])))
            .unwrap_or(0)
    };
    let one = farthest(0);
    let other = farthest(one);
    let (low, high) = (one.min(other), one.max(other));
    let mut kept = vec![low, high];
    let mut open = vec![(low, high), (high, low + count)];
    while let Some((from, to)) = open.pop() {
        let (a, b) = (ring[from % count], ring[to % count]);
        let length = a.distance(b).max(1e-9);
        let off = |place: usize| (a.towards(b).cross(a.towards(ring[place % count])) / length).abs();
        let Some(worst) = (from + 1..to).max_by(|&x, &y| off(x).total_cmp(&off(y))) else { continue };
        if off(worst) > tolerance {
            kept.push(worst % count);
            open.extend([(from, worst), (worst, to)]);
        }
    }
    kept.sort_unstable();
    kept.dedup();
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    fn path(points: &[(f64, f64)]) -> Result<Path, Problem> {
        Path::through(points.iter().map(|&(x, y)| Point::new(x, y)).collect(), true)
    }

    #[test]
    fn the_corners_of_a_square_are_quarter_turns_whichever_way_it_is_given() {
        for points in [
            [(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0)],
            [(0.0, 9.0), (9.0, 9.0), (9.0, 0.0), (0.0, 0.0)],
        ] {
            let square = path(&points).unwrap();
            for side in 0..4 {
                assert!((square.turn(side).unwrap() - std::f64::consts::FRAC_PI_2).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn crossings_are_found_and_touching_counts() {
        assert!(path(&[(0.0, 0.0), (9.0, 9.0), (9.0, 0.0), (0.0, 9.0)]).is_err(), "a bow tie");
        assert!(path(&[(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (4.0, 0.0)]).is_err(), "a corner on a side");
        assert!(path(&[(0.0, 0.0), (9.0, 0.0), (4.0, 0.0)]).is_err(), "there and back");
        assert!(
            path(&[(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (4.0, 4.0), (0.0, 9.0)]).is_ok(),
            "an inner corner"
        );
    }
}
