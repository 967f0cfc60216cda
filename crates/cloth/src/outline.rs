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
    let places = simplified(ring.len(), at);
    let edges: Vec<[f64; 2]> = (0..places.len())
        .map(|index| {
            let from = places[index];
            let to = places[(index + 1) % places.len()];
            let to = if to <= from { to + ring.len() } else { to };
            fitted(from, to, at)
        })
        .collect();
    places
        .iter()
        .enumerate()
        .map(|(index, &place)| {
            let before = edges[(index + edges.len() - 1) % edges.len()];
            let after = edges[index];
            let turn = f64::atan2(
                before[0] * after[1] - before[1] * after[0],
                before[0] * after[0] + before[1] * after[1],
            );
            Corner { node: ring[place], angle: 180.0 - turn.to_degrees() }
        })
        .collect()
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
