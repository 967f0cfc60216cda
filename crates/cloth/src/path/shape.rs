//! The shapes of loops, each in its own frame.
//!
//! ```text
//!          ( head )          x from the left to the right neighbour, -0.5 to 0.5; y from the foot at 0 to the top at
//!         /        \         1, where the next stitch begins; the head reaches beyond that and is held by the feet
//!        |          |        of the next; z out of the cloth towards the right side, in thicknesses of the yarn
//!   ____/            \____
//!  joint  foot  foot   joint
//! ```
//!
//! A plain loop comes from behind, its legs lie in front and its head goes behind the legs of a plain loop above;
//! a purl loop is the same seen from behind. The shape is that of the loop models of plain fabric (F. T. Peirce,
//! *Text. Res. J.* 17, 1947; G. A. V. Leaf & A. Glaskin, *J. Text. Inst.* 46, 1955, from memory), drawn by hand
//! through few points; it serves for pictures and for how much longer or shorter one kind of loop is than another.

use loops::Op;

use super::{YARN_RADIUS, smooth};
use crate::{Patch, Vec3};

/// One point of a loop's shape: along x, y and z as drawn above.
pub(super) type ShapePoint = [f64; 3];

/// The left half of a loop that is worked, from its joint to the top of its head. Legs that meet at the foot and
/// spread upwards make the V of plain fabric.
const LOOP: [ShapePoint; 6] = [
    [-0.50, 0.00, -0.60],
    [-0.30, -0.02, -0.62],
    [-0.13, 0.16, -0.15],
    [-0.22, 0.58, 0.62],
    [-0.35, 0.98, 0.35],
    [-0.20, 1.24, 0.0],
];

/// The top of the head.
const HEAD: ShapePoint = [0.0, 1.31, 0.0];

/// The left half of a strand that only lies over the needle.
const ARCH: [ShapePoint; 5] =
    [[-0.50, 0.05, -0.3], [-0.47, 0.30, 0.0], [-0.43, 0.75, 0.1], [-0.33, 1.10, 0.0], [-0.16, 1.27, 0.0]];

/// How far the head of a loop lies behind the legs of a plain one above it.
const HEAD_DEPTH: f64 = 0.45;

/// How far before or behind the cloth the yarn passes a slipped stitch by.
const FLOAT_DEPTH: f64 = 1.3;

/// The tail of the cast-on under one loop: it winds about the yarn between the loops, so that the edge is a cord.
pub(super) const CAST_ON_TAIL: [ShapePoint; 5] = [
    [-0.50, -0.02, -0.55],
    [-0.36, -0.22, 0.1],
    [-0.05, -0.12, 0.75],
    [0.28, 0.1, 0.5],
    [0.50, -0.02, -0.55],
];

/// A link of the chain that a bind-off lays along the edge, from the loop it comes out of to the next one's left.
pub(super) const CHAIN: [ShapePoint; 7] = [
    [0.42, 1.02, -0.2],
    [0.12, 0.92, 0.75],
    [-0.40, 0.96, 0.95],
    [-0.66, 1.12, 0.35],
    [-0.40, 1.30, 0.95],
    [0.12, 1.30, 0.75],
    [0.42, 1.16, -0.2],
];

/// Length of the yarn in a loop of this kind, as a part of that in a plain one.
///
/// A loop holds what was drawn about the needle, and keeps it however wide or high it then comes to lie: the cloth takes
/// its size from the loop, not the loop from the cloth (Munden). So all worked loops are alike. What is only laid over
/// the needle has no feet, and a slipped stitch counts its float alone; both are measured in the frame of a plain
/// stitch.
pub(crate) fn length_ratio(patch: &Patch, rows_per_stitch: f64) -> f64 {
    if patch.face != 0 && !patch.slipped {
        return 1.0;
    }
    let plain = Patch { op: Op::K, face: 1, slipped: false, laid_over: false, twisted: false, ..*patch };
    shape_length(patch, rows_per_stitch) / shape_length(&plain, rows_per_stitch)
}

fn shape_length(patch: &Patch, rows_per_stitch: f64) -> f64 {
    let at = |[x, y, z]: ShapePoint| Vec3::new(x, y / rows_per_stitch, z * YARN_RADIUS * 2.0);
    let points: Vec<Vec3> = outline_of(patch, 1.0).into_iter().map(at).collect();
    smooth(&points, None, None).windows(2).map(|pair| (pair[1] - pair[0]).norm()).sum()
}

/// The shape of a kind of loop under one that shows the face `above`, from left to right.
pub(super) fn outline_of(patch: &Patch, above: f64) -> Vec<ShapePoint> {
    if patch.slipped && !patch.laid_over {
        return float(patch);
    }
    let hangs = patch.face == 0 || patch.laid_over;
    let half: &[ShapePoint] = if hangs { &ARCH } else { &LOOP };
    let face = if hangs { 1.0 } else { f64::from(patch.face) };
    let head = -HEAD_DEPTH * above;
    let mut left: Vec<ShapePoint> = half.iter().map(|&[x, y, z]| [x, y, z * face]).collect();
    if let Some(last) = left.last_mut() {
        last[2] += head * 0.8;
    }
    let mut right: Vec<ShapePoint> = left.iter().rev().map(|&[x, y, z]| [-x, y, z]).collect();
    if patch.twisted && !hangs {
        cross_feet(&mut left, &mut right, face);
    }
    left.push([HEAD[0], HEAD[1], head]);
    left.append(&mut right);
    left
}

/// The yarn that passes a slipped stitch by, behind it or before it.
fn float(patch: &Patch) -> Vec<ShapePoint> {
    let depth = if patch.float_before { FLOAT_DEPTH } else { -FLOAT_DEPTH };
    vec![[-0.5, 0.0, 0.0], [-0.25, 0.05, depth], [0.25, 0.05, depth], [0.5, 0.0, 0.0]]
}

/// Crosses the legs of a twisted loop above its feet, the right one in front.
fn cross_feet(left: &mut [ShapePoint], right: &mut [ShapePoint], face: f64) {
    let last = right.len() - 3;
    if let Some(foot) = left.get_mut(2) {
        *foot = [0.10, 0.22, foot[2] - 0.2 * face];
    }
    if let Some(foot) = right.get_mut(last) {
        *foot = [-0.10, 0.22, foot[2] + 0.5 * face];
    }
}
