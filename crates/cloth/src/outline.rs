//! The corners of a flat piece.
//!
//! The outline is simplified until no point of it lies farther from the simpler one than a share of its size
//! (Ramer 1972, Douglas & Peucker 1973); what turns is left. The angle at a corner is that between the straight
//! lines that fit the edges on both sides best.

use crate::{Edge, Mesh, Vec3};

/// How far an edge may bend before it counts as two, as a share of the outline's diameter.
const TOLERANCE: f64 = 0.06;

/// A corner of the outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corner {
    /// The node nearest to it.
    pub node: u32,
    /// The angle inside the cloth, in degrees.
    pub angle: f64,
}

/// The corners of a piece, from its lowest one anticlockwise.
pub(crate) fn corners(mesh: &Mesh, x: &[Vec3], part: usize) -> Vec<Corner> {
    let ring = ring(mesh, part);
    if ring.len() < 8 {
        return Vec::new();
    }
    let at = |place: usize| {
        let point = x[ring[place % ring.len()] as usize];
        [point.x, point.y]
    };
    of_outline(ring.len(), at).into_iter().map(|(place, angle)| Corner { node: ring[place], angle }).collect()
}

/// The places of the corners of a closed line of `count` points that runs anticlockwise, in order, with their angles.
fn of_outline(count: usize, at: impl Fn(usize) -> [f64; 2]) -> Vec<(usize, f64)> {
    let places = simplified(count, &at);
    let edge = |(index, &from): (usize, &usize)| {
        let to = places[(index + 1) % places.len()];
        fitted(from, if to <= from { to + count } else { to }, &at)
    };
    let edges: Vec<[f64; 2]> = places.iter().enumerate().map(edge).collect();
    let corner = |(index, &place): (usize, &usize)| {
        let (before, after) = (edges[(index + edges.len() - 1) % edges.len()], edges[index]);
        let turn = f64::atan2(
            before[0] * after[1] - before[1] * after[0],
            before[0] * after[0] + before[1] * after[1],
        );
        (place, 180.0 - turn.to_degrees())
    };
    places.iter().enumerate().map(corner).collect()
}

/// The nodes round a flat piece, anticlockwise from the left end of the cast-on, each once.
fn ring(mesh: &Mesh, part: usize) -> Vec<u32> {
    let up = mesh.edge(part, Edge::Right);
    let mut back = mesh.edge(part, Edge::Top);
    let mut down = mesh.edge(part, Edge::Left);
    back.reverse();
    down.reverse();
    let mut ring: Vec<u32> = mesh.edge(part, Edge::CastOn);
    for node in up.into_iter().chain(back).chain(down) {
        if ring.last() != Some(&node) {
            ring.push(node);
        }
    }
    while ring.len() > 1 && ring.first() == ring.last() {
        ring.pop();
    }
    ring
}

/// The places that are left of a closed line of `count` points, in order.
fn simplified(count: usize, at: impl Fn(usize) -> [f64; 2]) -> Vec<usize> {
    let distance = |one: usize, other: usize| {
        let ([ax, ay], [bx, by]) = (at(one), at(other));
        f64::hypot(bx - ax, by - ay)
    };
    let farthest = |from: usize| {
        (0..count)
            .fold(from, |best, place| if distance(from, place) > distance(from, best) { place } else { best })
    };
    let one = farthest(0);
    let other = farthest(one);
    let limit = TOLERANCE * distance(one, other);
    let (low, high) = (one.min(other), one.max(other));
    let mut kept = vec![low, high];
    let mut open = vec![(low, high), (high, low + count)];
    while let Some((from, to)) = open.pop() {
        let ([ax, ay], [bx, by]) = (at(from), at(to));
        let length = f64::hypot(bx - ax, by - ay).max(1e-9);
        let off = |place: usize| {
            let [px, py] = at(place);
            ((bx - ax) * (py - ay) - (by - ay) * (px - ax)).abs() / length
        };
        let Some(worst) = (from + 1..to).max_by(|a, b| off(*a).total_cmp(&off(*b))) else { continue };
        if off(worst) > limit {
            kept.push(worst % count);
            open.extend([(from, worst), (worst, to)]);
        }
    }
    kept.sort_unstable();
    kept
}

/// The direction of the straight line that fits the points between two corners, its ends left out.
fn fitted(from: usize, to: usize, at: impl Fn(usize) -> [f64; 2]) -> [f64; 2] {
    let margin = (to - from) / 8;
    let points: Vec<[f64; 2]> = (from + margin..=to - margin).map(&at).collect();
    let count = points.len() as f64;
    let mean = [0, 1].map(|axis| points.iter().map(|point| point[axis]).sum::<f64>() / count);
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for point in &points {
        let (dx, dy) = (point[0] - mean[0], point[1] - mean[1]);
        xx += dx * dx;
        xy += dx * dy;
        yy += dy * dy;
    }
    let angle = 0.5 * f64::atan2(2.0 * xy, xx - yy);
    let ([ax, ay], [bx, by]) = (at(from), at(to));
    let along = (bx - ax) * angle.cos() + (by - ay) * angle.sin();
    let sign = if along < 0.0 { -1.0 } else { 1.0 };
    [angle.cos() * sign, angle.sin() * sign]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square of `side` stitches that stands on a corner, its corners rounded so far along its sides, and every point
    /// off by up to a third of a stitch; the outline begins beside a corner.
    fn square(side: usize, round: f64) -> Vec<[f64; 2]> {
        let length = side as f64;
        let mut noise = 1u32;
        let mut off = || {
            noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (f64::from(noise >> 8) / f64::from(1 << 24) - 0.5) * 2.0 / 3.0
        };
        let mut points = Vec::new();
        for edge in 0..4 {
            for step in 0..side {
                let (mut along, mut inward) = (step as f64 + 0.3, 0.0);
                let near = |way: f64| if way < round { round - way } else { 0.0 };
                // The arc of a circle that touches both sides: half of it lies on this side of the corner's middle.
                let (back, ahead) = (near(along), near(length - along));
                let turn = (back - ahead) / f64::max(round, 1e-9) * std::f64::consts::FRAC_PI_4;
                if turn != 0.0 {
                    along = if back > 0.0 {
                        round - round * turn.sin()
                    } else {
                        length - round - round * turn.sin()
                    };
                    inward = round - round * turn.cos();
                }
                let [x, y] = match edge {
                    0 => [along, inward],
                    1 => [length - inward, along],
                    2 => [length - along, length - inward],
                    _ => [inward, length - along],
                };
                let (x, y) = (x + off(), y + off());
                points.push([(x - y) * 0.5f64.sqrt(), (x + y) * 0.5f64.sqrt()]);
            }
        }
        points
    }

    #[test]
    fn a_square_has_right_angles_however_round_its_corners() {
        for (side, round) in [(30, 0.0), (60, 0.0), (60, 6.0), (60, 12.0), (160, 30.0)] {
            let points = square(side, round);
            let corners = of_outline(points.len(), |place| points[place % points.len()]);
            assert_eq!(corners.len(), 4, "{side} {round}: {corners:?}");
            for (_, angle) in corners {
                assert!((angle - 90.0).abs() < 1.0, "{side} {round}: {angle}");
            }
        }
    }
}
