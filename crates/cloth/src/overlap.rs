//! How much of a cloth lies over itself.
//!
//! The model lets cloth pass through itself (see the head of the crate). Where there is more of it than a plane has room
//! for, as in a ruffle, it ends in layers that no real cloth could come to; this tells by how much. The shadow of the
//! cloth on its table is counted in small squares, and held against the shadows of its patches.

use crate::mesh::Part;
use crate::vector::extent;
use crate::{Mesh, Vec3};

/// Side of a square, in stitch widths: a patch has some dozen of them.
const SQUARE: f64 = 0.25;

/// The most squares; of a longer piece they are larger.
const MOST: f64 = 4e6;

/// The share of a piece's shadow that falls where another part of it throws its own; 0 where nothing lies over itself,
/// 1/2 where all of it lies in two layers.
pub(crate) fn overlap(mesh: &Mesh, x: &[Vec3], piece: &Part) -> f64 {
    let own = mesh.triangles.iter().filter(|corners| piece.nodes().contains(&(corners[0] as usize)));
    let flat = own.map(|corners| corners.map(|node| [x[node as usize].x, x[node as usize].y]));
    let patches: Vec<[[f64; 2]; 3]> = flat.collect();
    let axis = |axis: usize| extent(patches.iter().flatten().map(|corner| corner[axis]));
    let ((left, right), (low, high)) = (axis(0), axis(1));
    let square = ((right - left) * (high - low) / MOST).sqrt().max(SQUARE);
    let across = ((right - left) / square) as usize + 1;
    let up = ((high - low) / square) as usize + 1;
    let mut shadow = vec![false; across.saturating_mul(up).min(2 * MOST as usize)];
    for patch in &patches {
        let placed = patch.map(|[x, y]| [(x - left) / square, (y - low) / square]);
        cover(placed, across, &mut shadow);
    }
    let seen = shadow.iter().filter(|covered| **covered).count() as f64 * square * square;
    let all: f64 = patches.iter().map(|&patch| doubled(patch).abs() / 2.0).sum();
    if all > 0.0 { (1.0 - seen / all).max(0.0) } else { 0.0 }
}

/// Marks the squares whose middle lies within a triangle.
fn cover(patch: [[f64; 2]; 3], across: usize, shadow: &mut [bool]) {
    let turn = doubled(patch);
    let (left, right) = extent(patch.iter().map(|corner| corner[0]));
    let (low, high) = extent(patch.iter().map(|corner| corner[1]));
    for row in low as usize..=high as usize {
        for column in left as usize..=(right as usize).min(across - 1) {
            let middle = [column as f64 + 0.5, row as f64 + 0.5];
            let [a, b, c] = patch;
            let inside = [[a, b, middle], [b, c, middle], [c, a, middle]];
            if inside.into_iter().all(|part| doubled(part) * turn >= 0.0)
                && let Some(square) = shadow.get_mut(row * across + column)
            {
                *square = true;
            }
        }
    }
}

/// Twice the area of a triangle, negative where its corners run clockwise.
fn doubled([a, b, c]: [[f64; 2]; 3]) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}
