//! The way of the yarn through the cloth, stitch by stitch in the order of working.
//!
//! One yarn goes through all stitches of a row and, at its end, on to the next row; each stitch owns the part from
//! the middle between it and the one before to the middle between it and the one after, and the parts meet
//! smoothly. Edges have yarn of their own: the tail of the cast-on winds about the feet of the first loops, and a
//! bind-off lays a chain along the edge.

mod crossing;
mod frame;
mod shape;

use std::collections::HashMap;

use loops::Op;

use self::crossing::{crossing_depths, level_crossings, shift};
use self::frame::Frame;
use self::shape::{CAST_ON_TAIL, CHAIN, ShapePoint, outline_of};
use crate::mesh::{DOWN, LEFT, RIGHT, UP};
use crate::{Mesh, Patch, Vec3};

pub(crate) use self::shape::length_ratio;

/// Radius of the yarn in widths of a plain stitch, which says how far strands that cross lie from each other. Yarn of
/// 230 m to 100 g at 22 stitches to 10 cm is about 0.118 cm thick, a quarter of the stitch, where it is pressed; it is
/// thicker where it is not.
pub const YARN_RADIUS: f64 = 0.175;

/// Radius in which the yarn is drawn. Washed wool blooms, so that a plain fabric lets hardly any light through; much
/// more than this and neighbours run into each other.
pub const DRAWN_RADIUS: f64 = 0.195;

/// Points between two points of a loop's shape.
const FINENESS: usize = 4;

/// The longest way that the yarn goes from the last stitch of a row to the first of the next without being counted
/// as broken off, in stitch widths.
const TURN: f64 = 2.5;

/// How far the yarn stands out beyond the edge where it turns from one row to the next, in stitch widths.
const TURN_BULGE: f64 = 0.12;

/// The points at the foot of a yarn over's arch on one side.
const ARCH_DOWN: usize = 3;

/// The yarn of one stitch as a line of points, in widths of a plain stitch.
#[derive(Clone, Debug, PartialEq)]
pub struct Strand {
    /// The node it belongs to.
    pub node: u32,
    /// Its middle line, in the order of working.
    pub points: Vec<Vec3>,
}

/// The yarn of every stitch of a relaxed mesh, in the order of working, then that of the edges.
///
/// A stitch slipped at the beginning of a row has no yarn of its own: the yarn goes on to the next.
pub fn strands(mesh: &Mesh, positions: &[Vec3]) -> Vec<Strand> {
    let mut frames: Vec<Frame> = (0..mesh.len()).map(|node| Frame::of(mesh, positions, node)).collect();
    level_crossings(mesh, &mut frames);
    let depths = crossing_depths(mesh, positions, &frames);
    let mut lines: Vec<Vec<Vec3>> = (0..mesh.len()).map(|node| way(mesh, node, &frames, &depths)).collect();
    let order: Vec<usize> = (0..mesh.len()).filter(|&node| !lines[node].is_empty()).collect();
    let joined: Vec<bool> =
        order.windows(2).map(|pair| meet(mesh, &frames, &mut lines, pair[0], pair[1])).collect();
    let mut strands: Vec<Strand> = order
        .iter()
        .enumerate()
        .map(|(place, &node)| {
            let before = place.checked_sub(1).filter(|&before| joined[before]).map(|before| order[before]);
            let after = joined.get(place).filter(|&&joined| joined).map(|_| order[place + 1]);
            let last_but_one = before.and_then(|node| lines[node].iter().rev().nth(1).copied());
            let second = after.and_then(|node| lines[node].get(1).copied());
            Strand { node: node as u32, points: smooth(&lines[node], last_but_one, second) }
        })
        .collect();
    strands.extend(edges(mesh, &frames));
    strands
}

/// The last of the slipped stitches that the loop of a node is drawn up through; the node itself if there is none.
fn drawn_up_to(mesh: &Mesh, node: usize) -> usize {
    let mut top = node;
    while let Some(child) = mesh.neighbour(top, UP) {
        if !mesh.stitches[child].slipped {
            break;
        }
        top = child;
    }
    top
}

/// The points that the yarn of a node goes through, in the order of working.
fn way(mesh: &Mesh, node: usize, frames: &[Frame], depths: &[f64]) -> Vec<Vec3> {
    let patch = &mesh.stitches[node];
    if patch.let_fall || patch.slipped && begins_row(mesh, node) {
        return Vec::new();
    }
    let top = drawn_up_to(mesh, node);
    let child = mesh.neighbour(top, UP).map(|child| &mesh.stitches[child]);
    let above = child.map_or(1.0, |child| if child.face == 0 { 1.0 } else { f64::from(child.face) });
    let (own, next) = shift(mesh, node, depths);
    let place = |[x, y, z]: ShapePoint| {
        let along = y.clamp(0.0, 1.0);
        let frame = &frames[if y > 0.75 && !patch.slipped { top } else { node }];
        frame.place([x, y, z + own * (1.0 - along) + next * along])
    };
    let mut points: Vec<Vec3> = outline_of(patch, above).into_iter().map(place).collect();
    if patch.leftwards {
        points.reverse();
    }
    // A yarn over that ends its row does not come down again: the yarn goes on from over it.
    if patch.row_end && patch.face == 0 && !patch.closed {
        points.truncate(points.len().saturating_sub(ARCH_DOWN));
    }
    points
}

/// Whether a stitch was the first of its row, where the yarn hangs beside it.
fn begins_row(mesh: &Mesh, node: usize) -> bool {
    node == 0 || mesh.neighbour(node, DOWN).is_some_and(|parent| parent + 1 == node)
}

/// Lets the yarn of two stitches that follow each other meet; `false` where it was broken off between them.
fn meet(mesh: &Mesh, frames: &[Frame], lines: &mut [Vec<Vec3>], one: usize, other: usize) -> bool {
    let (Some(&from), Some(&to)) = (lines[one].last(), lines[other].first()) else { return false };
    let mut middle = from.towards(to, 0.5);
    if !mesh.neighbours(one, other) {
        let begins_piece = mesh.parts.iter().any(|part| part.first as usize == other);
        if begins_piece || (to - from).norm() > TURN {
            return false;
        }
        let turns = mesh.stitches[one].row_end && other == one + 1 && !mesh.stitches[one].closed;
        if turns {
            let beyond = if mesh.stitches[one].leftwards { frames[one].left } else { frames[one].right };
            middle += beyond.unit() * TURN_BULGE;
        }
    }
    if let Some(last) = lines[one].last_mut() {
        *last = middle;
    }
    if let Some(first) = lines[other].first_mut() {
        *first = middle;
    }
    true
}

/// The yarn along edges: the tail of the cast-on, and the chains of what was bound off.
fn edges(mesh: &Mesh, frames: &[Frame]) -> Vec<Strand> {
    let along = |node: usize, shape: &[ShapePoint], mirrored: bool| -> Vec<Vec3> {
        let sign = if mirrored { -1.0 } else { 1.0 };
        shape.iter().map(|&[x, y, z]| frames[node].place([sign * x, y, z])).collect()
    };
    let nodes = |of: fn(&Patch) -> bool| (0..mesh.len()).filter(move |&node| of(&mesh.stitches[node]));
    let tails = nodes(|patch| patch.op == Op::Co).map(|node| (node, along(node, &CAST_ON_TAIL, false)));
    let chains = nodes(|patch| patch.bound_off)
        .map(|node| (node, smooth(&along(node, &CHAIN, !mesh.stitches[node].leftwards), None, None)));
    let chains = chains.map(|(node, points)| Strand { node: node as u32, points });
    tied(mesh, &tails.collect::<Vec<_>>()).into_iter().chain(chains).collect()
}

/// The parts of the cast-on's tail as strands that meet: what is worked into the loops draws them up unevenly.
fn tied(mesh: &Mesh, tails: &[(usize, Vec<Vec3>)]) -> Vec<Strand> {
    let place: HashMap<usize, usize> =
        tails.iter().enumerate().map(|(place, tail)| (tail.0, place)).collect();
    let beside = |tail: usize, direction| place.get(&mesh.neighbour(tails[tail].0, direction)?);
    let points = |tail: usize| &tails[tail].1;
    let tie = |tail: usize| {
        let mut line = points(tail).clone();
        let (left, right) = (beside(tail, LEFT), beside(tail, RIGHT));
        if let (Some(&left), Some(first)) = (left, line.first_mut())
            && let Some(&end) = points(left).last()
        {
            *first = first.towards(end, 0.5);
        }
        if let (Some(&right), Some(last)) = (right, line.last_mut())
            && let Some(&begin) = points(right).first()
        {
            *last = last.towards(begin, 0.5);
        }
        let before = left.and_then(|&left| points(left).iter().rev().nth(1).copied());
        let after = right.and_then(|&right| points(right).get(1).copied());
        Strand { node: tails[tail].0 as u32, points: smooth(&line, before, after) }
    };
    (0..tails.len()).map(tie).collect()
}

/// A smooth line through the points (Catmull and Rom's spline), with the points before and after them if it goes
/// on there.
fn smooth(points: &[Vec3], before: Option<Vec3>, after: Option<Vec3>) -> Vec<Vec3> {
    let (Some(&first), Some(&last)) = (points.first(), points.last()) else { return Vec::new() };
    let at = |place: isize| match usize::try_from(place) {
        Err(_) => before.unwrap_or(first),
        Ok(place) => points.get(place).copied().unwrap_or(after.unwrap_or(last)),
    };
    let mut line = Vec::with_capacity(points.len() * FINENESS);
    for place in 0..points.len() as isize - 1 {
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
