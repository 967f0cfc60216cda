//! The cloth at rest: which state it is in, and the shape it takes there.

use std::borrow::Cow;
use std::collections::HashSet;

use crate::mesh::{DOWN, LEFT, NONE, RIGHT, UP};
use crate::solve::{End, Settings, Solution, minimise};
use crate::vector::extent;
use crate::{Energy, Fabric, Mesh, Pin, Vec3, nested};

/// How the cloth lies.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum State {
    /// Off the needles, lying on a table, or standing if it is a tube.
    #[default]
    Free,
    /// Smoothed flat on a table along its edges, as one lays a piece out to look at it: they do not curl, while ribs stay
    /// drawn in and what rises from its ground still does.
    Smoothed,
    /// Pinned out along its edges to a size, in widths of a plain stitch. A tube is not pinned.
    Blocked {
        /// From the leftmost to the rightmost edge.
        width: f64,
        /// From the lowest to the highest edge.
        height: f64,
    },
}

/// How a cloth is smoothed: so many stitches in from its edges are held to the table so firmly (see [`Fabric::bed`]),
/// first lightly, then firmly. Plain edges lie flat then, and double rib is under 3 % wider than off the needles. Held
/// firmly at once, farther in, or all over, a motif that rises is crumpled.
const SMOOTHING: [(usize, f64); 2] = [(3, 0.05), (3, 0.2)];

/// A cloth at rest.
#[derive(Clone, Debug, PartialEq)]
pub struct Drape {
    /// Where the nodes of the mesh lie, in widths of a plain stitch.
    pub positions: Vec<Vec3>,
    /// The energy at the start and after each step of the solver.
    pub energies: Vec<f64>,
    /// Root mean square of the force on a stitch, in its stiffness times its width.
    pub residual: f64,
    /// How the search for the shape ended.
    pub end: End,
}

/// A size to block to that is none.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("the size to block to must be a positive width and height")]
pub struct BlockError;

impl Drape {
    /// Lets a mesh come to rest.
    ///
    /// # Errors
    /// [`BlockError`] for a size that is not positive.
    pub fn of(mesh: &Mesh, fabric: &Fabric, state: State, settings: &Settings) -> Result<Drape, BlockError> {
        let (start, pins) = match state {
            State::Free | State::Smoothed => {
                let full = nested::start(mesh, fabric, settings);
                (full.map_or(Cow::Borrowed(mesh.start()), Cow::Owned), Vec::new())
            }
            State::Blocked { width, height } => {
                let (start, pins) = pinned_out(mesh, width, height)?;
                (Cow::Owned(start), pins)
            }
        };
        let energy = Energy::new(mesh, fabric, &pins);
        if state != State::Smoothed {
            return Ok(minimise(&energy, &start, settings).into());
        }
        let [lightly, firmly] =
            SMOOTHING.map(|(band, bed)| energy.clone().pressed(&along_edges(mesh, band), bed));
        let start = minimise(&lightly, &start, settings).positions;
        Ok(minimise(&firmly, &start, settings).into())
    }
}

impl From<Solution> for Drape {
    fn from(solution: Solution) -> Drape {
        let Solution { positions, energies, residual, end } = solution;
        Drape { positions, energies, residual, end }
    }
}

/// The start stretched to a size, and its edges pinned there.
fn pinned_out(mesh: &Mesh, width: f64, height: f64) -> Result<(Vec<Vec3>, Vec<Pin>), BlockError> {
    let sound = |size: f64| size.is_finite() && size > 0.0;
    if !sound(width) || !sound(height) {
        return Err(BlockError);
    }
    let lies: HashSet<u32> =
        mesh.parts.iter().filter(|part| part.lies).flat_map(|part| part.first..part.end).collect();
    let flat = || lies.iter().map(|&node| mesh.start[node as usize]);
    let (left, right) = extent(flat().map(|point| point.x));
    let (low, high) = extent(flat().map(|point| point.y));
    let scale = |size: f64, least: f64, most: f64| if most > least { size / (most - least) } else { 1.0 };
    let (across, up) = (scale(width, left, right), scale(height, low, high));
    let stretched = |point: Vec3| Vec3::new(point.x * across, point.y * up, point.z);
    let start = mesh
        .start
        .iter()
        .enumerate()
        .map(|(node, &point)| if lies.contains(&(node as u32)) { stretched(point) } else { point });
    let start: Vec<Vec3> = start.collect();
    let pins = (0..mesh.len()).filter(|&node| lies.contains(&(node as u32)) && on_edge(mesh, node));
    let pins = pins.map(|node| Pin { node: node as u32, at: Vec3 { z: 0.0, ..start[node] } }).collect();
    Ok((start, pins))
}

/// The nodes of a band along the edges, so many stitches wide.
fn along_edges(mesh: &Mesh, band: usize) -> Vec<usize> {
    let mut near: Vec<usize> = (0..mesh.len()).filter(|&node| on_edge(mesh, node)).collect();
    let mut seen: HashSet<usize> = near.iter().copied().collect();
    let mut from = 0;
    for _ in 1..band {
        let end = near.len();
        for place in from..end {
            let beside = [LEFT, RIGHT, DOWN, UP].map(|direction| mesh.neighbour(near[place], direction));
            near.extend(beside.into_iter().flatten().filter(|&node| seen.insert(node)));
        }
        from = end;
    }
    near
}

/// Whether an edge of the cloth runs along a node. The middle of a round's beginning is none.
fn on_edge(mesh: &Mesh, node: usize) -> bool {
    let main = mesh.main[node];
    let hangs = mesh.stitches[node].face == 0;
    let begun_in_the_middle = mesh.parts.iter().any(|part| {
        part.rows.first().is_some_and(|row| row.contains(&(node as u32)) && mesh.stitches[node].closed)
    });
    let open = |direction: usize| main[direction] == NONE;
    open(LEFT) || open(RIGHT) || open(UP) || (open(DOWN) && !hangs && !begun_in_the_middle)
}
