//! Stitches that cross: which way they are turned, and how far they stand before and behind each other.

use super::YARN_RADIUS;
use super::frame::Frame;
use crate::mesh::{DOWN, UP};
use crate::{Mesh, Vec3};

/// How far the stitches of a crossing stand before and behind each other, in thicknesses of the yarn.
const CROSSING_DEPTH: f64 = 1.3;

/// Turns the stitches of a crossing, and those beneath them, to one direction, so that what lies over stays over.
pub(super) fn level_crossings(mesh: &Mesh, frames: &mut [Frame]) {
    for (_, group) in mesh.crossings() {
        let beneath: Vec<usize> = group.clone().filter_map(|node| mesh.neighbour(node, DOWN)).collect();
        let all = || group.clone().chain(beneath.iter().copied());
        let out = all().map(|node| frames[node].out).sum::<Vec3>().unit();
        if out != Vec3::ZERO {
            for node in all() {
                frames[node].out = out;
            }
        }
    }
}

/// How far each stitch of a crossing is drawn before or behind its place, in thicknesses of the yarn: at least
/// [`CROSSING_DEPTH`], and more where the shape of the mesh would have them the other way about.
pub(super) fn crossing_depths(mesh: &Mesh, x: &[Vec3], frames: &[Frame]) -> Vec<f64> {
    let mut depths = vec![0.0; mesh.len()];
    for (_, group) in mesh.crossings() {
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
        depths[group].fill(CROSSING_DEPTH + short);
    }
    depths
}

/// Shifts between before and behind along a loop: its foot by its own place in a crossing, its head by that of
/// the loop that is drawn through it.
pub(super) fn shift(mesh: &Mesh, node: usize, depths: &[f64]) -> (f64, f64) {
    let own = f64::from(mesh.stitches[node].layer) * depths[node];
    let next =
        mesh.neighbour(node, UP).map_or(0.0, |child| f64::from(mesh.stitches[child].layer) * depths[child]);
    (own, next)
}
