//! The way of the yarn through each stitch.
//!
//! ```text
//!          ( head )          a loop in its own frame: x from its left to its right neighbour, -0.5 to 0.5,
//!         /        \         y from its foot at 0 to its top at 1, where the next stitch begins; its head reaches
//!        |          |        beyond that and is held by the feet of the next; z out of the cloth towards the
//!   ____/            \____   right side, in thicknesses of the yarn
//!  joint  foot  foot   joint
//! ```
//!
//! A plain loop comes from behind, its legs lie in front and its head goes behind the legs of a plain loop above;
//! a purl loop is the same seen from behind. The shape is that of the loop models of plain fabric (F. T. Peirce,
//! *Text. Res. J.* 17, 1947; G. A. V. Leaf & A. Glaskin, *J. Text. Inst.* 46, 1955, from memory), drawn by hand
//! through few points; it serves for pictures and for how much longer or shorter one kind of loop is than another.

use loops::Op;

use crate::mesh::{DOWN, LEFT, RIGHT, UP};
use crate::{Mesh, Patch, Vec3};

/// Radius of the yarn in widths of a plain stitch. Yarn of 230 m to 100 g at 22 stitches to 10 cm is about 0.118 cm
/// thick, a quarter of the stitch; pictures look like cloth when it is drawn a little fuller.
pub const YARN_RADIUS: f64 = 0.17;

/// Points between two points of a loop's shape.
const FINENESS: usize = 4;

/// The yarn of one stitch as a line of points, in widths of a plain stitch.
#[derive(Clone, Debug, PartialEq)]
pub struct Strand {
    /// The node it belongs to.
    pub node: u32,
    /// Its middle line, from left to right.
    pub points: Vec<Vec3>,
}

/// One point of a loop's shape: along x, y and z as drawn above.
type ShapePoint = [f64; 3];

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

/// How far the stitches of a crossing stand before and behind each other.
const CROSSING_DEPTH: f64 = 1.3;

/// The yarn of every stitch of a relaxed mesh.
pub fn strands(mesh: &Mesh, positions: &[Vec3]) -> Vec<Strand> {
    let mut frames: Vec<Frame> = (0..mesh.len()).map(|node| Frame::of(mesh, positions, node)).collect();
    level_crossings(mesh, &mut frames);
    let depths = crossing_depths(mesh, positions, &frames);
    let shapes: Vec<Vec<ShapePoint>> = (0..mesh.len()).map(|node| shape(mesh, node, &depths)).collect();
    let place = |node: usize, at: ShapePoint| frames[node].place(at);
    (0..mesh.len())
        .map(|node| {
            let mut points: Vec<Vec3> = shapes[node].iter().map(|&at| place(node, at)).collect();
            // Neighbours meet half-way between where each would end.
            if let (Some(left), Some(first)) = (mesh.neighbour(node, LEFT), points.first_mut()) {
                let theirs = shapes[left].last().map(|&at| place(left, at));
                *first = theirs.map_or(*first, |theirs| first.towards(theirs, 0.5));
            }
            if let (Some(right), Some(last)) = (mesh.neighbour(node, RIGHT), points.last_mut()) {
                let theirs = shapes[right].first().map(|&at| place(right, at));
                *last = theirs.map_or(*last, |theirs| last.towards(theirs, 0.5));
            }
            Strand { node: node as u32, points: smooth(&points) }
        })
        .collect()
}

/// Turns the stitches of a crossing, and those beneath them, to one direction, so that what lies over stays over.
fn level_crossings(mesh: &Mesh, frames: &mut [Frame]) {
    let crossed = |node: usize| {
        let above = mesh.neighbour(node, UP).map_or(0, |child| mesh.stitches[child].layer);
        mesh.stitches[node].layer != 0 || above != 0
    };
    let mut node = 0;
    while node < mesh.len() {
        if !crossed(node) {
            node += 1;
            continue;
        }
        let mut end = node + 1;
        while end < mesh.len() && crossed(end) && mesh.neighbours(end, end - 1) {
            end += 1;
        }
        let out = frames[node..end].iter().map(|frame| frame.out).sum::<Vec3>().unit();
        for frame in &mut frames[node..end] {
            frame.out = out;
        }
        node = end;
    }
}

/// How far each stitch of a crossing is drawn before or behind its place, in thicknesses of the yarn: at least
/// [`CROSSING_DEPTH`], and more where the shape of the mesh would have them the other way about.
fn crossing_depths(mesh: &Mesh, x: &[Vec3], frames: &[Frame]) -> Vec<f64> {
    let mut depths = vec![0.0; mesh.len()];
    let mut node = 0;
    while node < mesh.len() {
        let Op::Cross(cross) = mesh.stitches[node].op else {
            node += 1;
            continue;
        };
        // The loops of one operation follow each other.
        let group = node..(node + cross.width() as usize).min(mesh.len());
        let level = |layer: i8| {
            let own = group.clone().filter(|&node| mesh.stitches[node].layer == layer);
            let levels = own.filter_map(|node| {
                let parent = mesh.neighbour(node, DOWN)?;
                Some((x[node] + x[parent]).dot(frames[node].out) / 2.0)
            });
            let levels: Vec<f64> = levels.collect();
            levels.iter().sum::<f64>() / levels.len().max(1) as f64
        };
        let short = (level(-1) - level(1)).max(0.0) / (2.0 * YARN_RADIUS);
        for node in group.clone() {
            depths[node] = CROSSING_DEPTH + short;
        }
        node = group.end;
    }
    depths
}

/// Length of the yarn in a loop of this kind, as a part of that in a plain one.
///
/// Taken from the shapes in a plain frame of these proportions; a slipped stitch counts its float alone.
pub(crate) fn length_ratio(patch: &Patch, rows_per_stitch: f64) -> f64 {
    let own = shape_length(&outline_of(patch, 1.0), patch.width, 1.0 / rows_per_stitch);
    let plain = Patch { op: Op::K, face: 1, slipped: false, layer: 0, twisted: false, width: 1.0, ..*patch };
    own / shape_length(&outline_of(&plain, 1.0), 1.0, 1.0 / rows_per_stitch)
}

fn shape_length(shape: &[ShapePoint], width: f64, height: f64) -> f64 {
    let at = |[x, y, z]: ShapePoint| Vec3::new(x * width, y * height, z * YARN_RADIUS * 2.0);
    let line = smooth(&shape.iter().map(|&point| at(point)).collect::<Vec<_>>());
    line.windows(2).map(|pair| (pair[1] - pair[0]).norm()).sum()
}

/// The shape of a node's yarn, its head and its place in a crossing fitted to what is worked into it.
fn shape(mesh: &Mesh, node: usize, depths: &[f64]) -> Vec<ShapePoint> {
    let patch = &mesh.stitches[node];
    let child = mesh.neighbour(node, UP).map(|child| &mesh.stitches[child]);
    let above = child.map_or(1.0, |child| if child.face == 0 { 1.0 } else { f64::from(child.face) });
    let mut shape = outline_of(patch, above);
    let own = f64::from(patch.layer) * depths[node];
    let next =
        mesh.neighbour(node, UP).map_or(0.0, |child| f64::from(mesh.stitches[child].layer) * depths[child]);
    for point in &mut shape {
        let y = point[1].clamp(0.0, 1.0);
        point[2] += own * (1.0 - y) + next * y;
    }
    shape
}

/// The shape of a kind of loop under one that shows the face `above`.
fn outline_of(patch: &Patch, above: f64) -> Vec<ShapePoint> {
    if patch.slipped {
        return float(patch);
    }
    let hangs = patch.face == 0;
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
    let depth = if patch.float_before { 1.3 } else { -1.3 };
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

/// Where a node stands and how it is turned.
struct Frame {
    here: Vec3,
    left: Vec3,
    right: Vec3,
    down: Vec3,
    up: Vec3,
    out: Vec3,
}

impl Frame {
    fn of(mesh: &Mesh, x: &[Vec3], node: usize) -> Frame {
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
            feet(mesh, x, node).map(|foot| (foot - here) * 0.5),
            half(UP),
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

    fn place(&self, [across, height, out]: ShapePoint) -> Vec3 {
        let along = if across < 0.0 { self.left * (-2.0 * across) } else { self.right * (2.0 * across) };
        let above = (height - 0.5) * 2.0;
        let along_column = if above < 0.0 { self.down * -above } else { self.up * above };
        self.here + along + along_column + self.out * (out * 2.0 * YARN_RADIUS)
    }
}

/// The middle of what a stitch was worked into.
fn feet(mesh: &Mesh, x: &[Vec3], node: usize) -> Option<Vec3> {
    mesh.neighbour(node, DOWN).map(|parent| {
        let parents = &mesh.feet[node];
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

/// A smooth line through the points (Catmull and Rom's spline).
fn smooth(points: &[Vec3]) -> Vec<Vec3> {
    let Some(&last) = points.last() else { return Vec::new() };
    let at = |place: usize| points[place.clamp(1, points.len()) - 1];
    let mut line = Vec::with_capacity(points.len() * FINENESS);
    for place in 1..points.len() {
        let (before, from, to, after) = (at(place - 1), at(place), at(place + 1), at(place + 2));
        for step in 0..FINENESS {
            let t = step as f64 / FINENESS as f64;
            let tangent_from = (to - before) * 0.5;
            let tangent_to = (after - from) * 0.5;
            let (t2, t3) = (t * t, t * t * t);
            line.push(
                from * (2.0 * t3 - 3.0 * t2 + 1.0)
                    + tangent_from * (t3 - 2.0 * t2 + t)
                    + to * (3.0 * t2 - 2.0 * t3)
                    + tangent_to * (t3 - t2),
            );
        }
    }
    line.push(last);
    line
}
