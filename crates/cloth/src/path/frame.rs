//! Where a stitch stands on the relaxed mesh, and how it is turned.

use super::YARN_RADIUS;
use super::shape::ShapePoint;
use crate::mesh::{DOWN, LEFT, RIGHT, UP};
use crate::{Mesh, Vec3};

/// The place of a node, the ways from it to its four sides, and out of the cloth.
pub(super) struct Frame {
    pub(super) here: Vec3,
    pub(super) left: Vec3,
    pub(super) right: Vec3,
    down: Vec3,
    up: Vec3,
    pub(super) out: Vec3,
}

/// The longest foot of a loop, in stitch widths: half the height of a plain stitch, and a little more.
const FOOT: f64 = 0.42;

impl Frame {
    pub(super) fn of(mesh: &Mesh, x: &[Vec3], node: usize) -> Frame {
        let here = x[node];
        let patch = &mesh.stitches[node];
        let half = |direction: usize| mesh.neighbour(node, direction).map(|far| (x[far] - here) * 0.5);
        let both = |one: Option<Vec3>, other: Option<Vec3>, alone: Vec3| match (one, other) {
            (Some(one), Some(other)) => (one, other),
            (Some(one), None) => (one, -one),
            (None, Some(other)) => (-other, other),
            (None, None) => (-alone, alone),
        };
        let (left, right) = both(half(LEFT), half(RIGHT), Vec3::new(patch.width / 2.0, 0.0, 0.0));
        let (down, mut up) = both(
            feet(mesh, x, node).map(|foot| (foot - here) * foot_share((foot - here).norm())),
            mesh.neighbour(node, UP)
                .map(|head| (x[head] - here) * (1.0 - foot_share((x[head] - here).norm()))),
            strand_up(mesh, x, node, patch.height / 2.0),
        );
        if mesh.neighbour(node, UP).is_none() {
            // Free loops stand upright on their row, however they came there.
            let along = (right - left).unit();
            let upright = (up - along * up.dot(along)).unit();
            up = if upright == Vec3::ZERO { up } else { upright * (patch.height / 2.0) };
        }
        let out = (right - left).cross(up - down).unit();
        Frame { here, left, right, down, up, out }
    }

    pub(super) fn place(&self, [across, height, out]: ShapePoint) -> Vec3 {
        let along = if across < 0.0 { self.left * (-2.0 * across) } else { self.right * (2.0 * across) };
        let above = (height - 0.5) * 2.0;
        let along_column = if above < 0.0 { self.down * -above } else { self.up * above };
        self.here + along + along_column + self.out * (out * 2.0 * YARN_RADIUS)
    }
}

/// How much of the way between a stitch and the one above belongs to the upper one: half, but its foot is no longer
/// than usual where a long loop is drawn up to it.
fn foot_share(distance: f64) -> f64 {
    f64::min(0.5, FOOT / distance.max(1e-9))
}

/// The middle of what a stitch was worked into.
fn feet(mesh: &Mesh, x: &[Vec3], node: usize) -> Option<Vec3> {
    mesh.neighbour(node, DOWN).map(|parent| {
        let parents = mesh.feet.of(node);
        let sum: Vec3 = parents.iter().map(|&parent| x[parent as usize]).sum();
        if parents.is_empty() { x[parent] } else { sum * (1.0 / parents.len() as f64) }
    })
}

/// The upward half of a stitch that neither stands on one nor carries one: as its neighbours stand.
fn strand_up(mesh: &Mesh, x: &[Vec3], node: usize, height: f64) -> Vec3 {
    let neighbours = [LEFT, RIGHT].into_iter().filter_map(|direction| mesh.neighbour(node, direction));
    let up = neighbours
        .filter_map(|near| mesh.neighbour(near, DOWN).map(|below| x[near] - x[below]))
        .sum::<Vec3>()
        .unit();
    if up == Vec3::ZERO { Vec3::new(0.0, height, 0.0) } else { up * height }
}
