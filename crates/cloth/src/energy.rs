//! The energy of a mesh in a given shape, and its gradient.
//!
//! ```text
//! stretch, shear   k/2 · (length - rest)² / rest                        for every link but contacts
//! contact          k/2 · min(0, length - rest)² / rest                  for every contact
//! folding          B · (1 - cos(θ - θ₀)) up to a constant               at every node, along row and column
//!                  with cos θ = a·b and sin θ = det(b, a, v)            a, b unit links ahead and behind,
//!                                                                       v the mean unit link across
//! weight           bed/2 · (z - table)²                                 where the piece lies on a table
//! overturning      overturn/2 · min(0, s)²                              there, with s the area that the mean unit
//!                                                                       links along row and column span as seen
//!                                                                       from above, negative from beneath
//! pins             k/2 · distance²                                      at pinned nodes
//! ```
//!
//! All terms are smooth except where a link has no length, and those of folding depend on directions alone, so
//! that a fold does not stretch what it folds.
//!
//! The gradient is computed in gather form: links first write their directions, nodes then write what their
//! folds ask of the four links beside them, links turn that into a force, and each node sums the forces of its
//! own links in a fixed order. Nothing is added from two threads, and sums are taken over blocks of fixed length
//! in order, so that the result has the same bits whatever the number of threads.

use rayon::prelude::*;

use crate::grouped::Grouped;
use crate::mesh::{DOWN, LEFT, NONE, RIGHT, UP};
use crate::multigrid::Holding;
use crate::{Fabric, Link, LinkKind, Mesh, Vec3};

/// Nodes or links that one thread takes at a time.
///
/// Sums are taken within blocks first, so that changing this changes the last bits of an energy.
pub(crate) const BLOCK: usize = 1024;

/// Below this many nodes threads cost more than they bring.
pub(crate) const PARALLEL_FROM: usize = 6000;

/// Marks that a link of a node ends there rather than begins.
const ENDS: u32 = 1 << 31;

/// A node held to a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pin {
    /// The node.
    pub node: u32,
    /// Where it is held.
    pub at: Vec3,
}

/// The energy of one mesh.
#[derive(Clone, Debug)]
pub struct Energy {
    ends: Vec<[u32; 2]>,
    rest: Vec<f64>,
    stiffness: Vec<f64>,
    /// Whether a link is a main link of its lower or left node, and of its other one.
    main_of: Vec<[bool; 2]>,
    /// The link is a course link, so that it is left and right rather than up and down.
    course: Vec<bool>,
    /// The link is a contact, which only pushes.
    contact: Vec<bool>,
    main: Vec<[u32; 4]>,
    /// Cosine and sine of the rest folds along row and column.
    folds: Vec<[f64; 4]>,
    bend: f64,
    /// The links of each node, marked where they end there.
    incident: Grouped<u32>,
    bed: Vec<f64>,
    table: Vec<f64>,
    overturn: f64,
    /// Where each node is held; empty where none is.
    pins: Vec<Option<Vec3>>,
    pin_stiffness: f64,
}

/// Room for computing an energy again and again.
#[derive(Clone, Debug, Default)]
pub struct Scratch {
    direction: Vec<Vec3>,
    length: Vec<f64>,
    asked: Vec<[Vec3; 4]>,
}

impl Energy {
    /// The energy of a mesh with some nodes pinned; pins of nodes that are not there are left out.
    pub fn new(mesh: &Mesh, fabric: &Fabric, pins: &[Pin]) -> Energy {
        let count = mesh.len();
        let fold =
            |fold: &crate::Fold| [fold.course.cos(), fold.course.sin(), fold.wale.cos(), fold.wale.sin()];
        let main_of = mesh.links.iter().enumerate().map(|(id, link)| {
            let (lower, upper) = if link.kind == LinkKind::Course { (RIGHT, LEFT) } else { (UP, DOWN) };
            [
                mesh.main[link.from as usize][lower] == id as u32,
                mesh.main[link.to as usize][upper] == id as u32,
            ]
        });
        let mut pinned = vec![None; if pins.is_empty() { 0 } else { count }];
        for pin in pins {
            if let Some(place) = pinned.get_mut(pin.node as usize) {
                *place = Some(pin.at);
            }
        }
        let (mut bed, mut table) = (vec![0.0; count], vec![0.0; count]);
        for part in &mesh.parts {
            bed[part.nodes()].fill(if part.lies { fabric.bed } else { 0.0 });
            table[part.nodes()].fill(part.table);
        }
        Energy {
            ends: mesh.links.iter().map(|link| [link.from, link.to]).collect(),
            rest: mesh.links.iter().map(|link| link.rest).collect(),
            stiffness: mesh.links.iter().map(|link| link.stiffness).collect(),
            main_of: main_of.collect(),
            course: mesh.links.iter().map(|link| link.kind == LinkKind::Course).collect(),
            contact: mesh.links.iter().map(|link| link.kind == LinkKind::Contact).collect(),
            main: mesh.main.clone(),
            folds: mesh.folds.iter().map(fold).collect(),
            bend: fabric.bend,
            incident: incidence(mesh),
            bed,
            table,
            overturn: fabric.overturn,
            pins: pinned,
            pin_stiffness: fabric.stretch * 10.0,
        }
    }

    /// The energy with some nodes held to the table as firmly as this; see [`Fabric::bed`].
    pub(crate) fn pressed(mut self, nodes: &[usize], bed: f64) -> Energy {
        for &node in nodes {
            // What stands on no table is not pressed.
            if self.bed[node] > 0.0 {
                self.bed[node] = bed;
            }
        }
        self
    }

    /// The number of nodes.
    pub fn len(&self) -> usize {
        self.main.len()
    }

    /// Whether there is no node.
    pub fn is_empty(&self) -> bool {
        self.main.is_empty()
    }

    /// The energy at `x`, with its gradient written to `gradient`; both have one entry a node.
    pub fn evaluate(&self, x: &[Vec3], gradient: &mut [Vec3], scratch: &mut Scratch) -> f64 {
        let parallel = self.len() >= PARALLEL_FROM;
        let (nodes, links) = (self.len(), self.ends.len());
        scratch.direction.resize(links, Vec3::ZERO);
        scratch.length.resize(links, 0.0);
        scratch.asked.resize(nodes, [Vec3::ZERO; 4]);
        let Scratch { direction, length, asked } = scratch;
        self.directions(parallel, x, direction, length);
        let folding = blocks(parallel, asked, |at, asked| {
            let mut sum = 0.0;
            for (offset, asked) in asked.iter_mut().enumerate() {
                sum += self.fold(at + offset, direction, asked);
            }
            sum
        });
        // From here on the force stands where the direction stood.
        let stretching = blocks(parallel, direction, |at, direction| {
            let mut sum = 0.0;
            for (offset, direction) in direction.iter_mut().enumerate() {
                let (energy, force) = self.pull(at + offset, *direction, length[at + offset], asked);
                sum += energy;
                *direction = force;
            }
            sum
        });
        let force = &*direction;
        let holding = blocks(parallel, gradient, |at, gradient| {
            let mut sum = 0.0;
            for (offset, gradient) in gradient.iter_mut().enumerate() {
                sum += self.gather(at + offset, x, force, gradient);
            }
            sum
        });
        folding + stretching + holding
    }

    /// Writes the unit direction and the length of every link.
    fn directions(&self, parallel: bool, x: &[Vec3], direction: &mut [Vec3], length: &mut [f64]) {
        blocks2(parallel, direction, length, |at, direction, length| {
            for (offset, (direction, length)) in direction.iter_mut().zip(length).enumerate() {
                let [from, to] = self.ends[at + offset];
                let along = x[to as usize] - x[from as usize];
                // A link without length has no direction; any small length gives it a harmless one.
                *length = along.norm().max(1e-9);
                *direction = along * (1.0 / *length);
            }
        });
    }

    /// The energy of folding at a node, and its derivative by the directions of the four main links.
    fn fold(&self, node: usize, direction: &[Vec3], asked: &mut [Vec3; 4]) -> f64 {
        *asked = [Vec3::ZERO; 4];
        let main = &self.main[node];
        let link = |place: usize| {
            let link = main[place];
            (link != NONE).then(|| direction[link as usize])
        };
        let (left, right, down, up) = (link(LEFT), link(RIGHT), link(DOWN), link(UP));
        let [cos_course, sin_course, cos_wale, sin_wale] = self.folds[node];
        let mut energy = 0.0;
        if let (Some(behind), Some(ahead)) = (left, right) {
            let (across, share) = mean(down, up);
            let turn = hinge(behind, ahead, across, cos_course * self.bend, sin_course * self.bend);
            energy += turn.energy;
            asked[LEFT] += turn.behind;
            asked[RIGHT] += turn.ahead;
            asked[DOWN] += turn.across * share;
            asked[UP] += turn.across * share;
        }
        if let (Some(behind), Some(ahead)) = (down, up) {
            // Upwards the plain fold is to the front, which is the other way about its own axis.
            let (across, share) = mean(left, right);
            let turn = hinge(behind, ahead, across, cos_wale * self.bend, sin_wale * self.bend);
            energy += turn.energy;
            asked[DOWN] += turn.behind;
            asked[UP] += turn.ahead;
            asked[LEFT] += turn.across * share;
            asked[RIGHT] += turn.across * share;
        }
        if self.bed[node] > 0.0 {
            energy += self.wrong_side_up([left, right, down, up], asked);
        }
        energy
    }

    /// The energy of a stitch that lies wrong side up on a table, given the directions of its main links, and what that
    /// asks of them.
    fn wrong_side_up(&self, [left, right, down, up]: [Option<Vec3>; 4], asked: &mut [Vec3; 4]) -> f64 {
        let ((along, course_share), (upward, wale_share)) = (mean(left, right), mean(down, up));
        let span = along.x * upward.y - along.y * upward.x;
        if span >= 0.0 {
            return 0.0;
        }
        let along_course = Vec3::new(upward.y, -upward.x, 0.0) * (self.overturn * span * course_share);
        let along_wale = Vec3::new(-along.y, along.x, 0.0) * (self.overturn * span * wale_share);
        asked[LEFT] += along_course;
        asked[RIGHT] += along_course;
        asked[DOWN] += along_wale;
        asked[UP] += along_wale;
        0.5 * self.overturn * span * span
    }

    /// The energy of a link, and the force with which its length and the folds beside it act on its upper end.
    fn pull(&self, link: usize, direction: Vec3, length: f64, asked: &[[Vec3; 4]]) -> (f64, Vec3) {
        let [from, to] = self.ends[link];
        let [main_from, main_to] = self.main_of[link];
        let (lower, upper) = if self.course[link] { (RIGHT, LEFT) } else { (UP, DOWN) };
        let mut turning = Vec3::ZERO;
        if main_from {
            turning += asked[from as usize][lower];
        }
        if main_to {
            turning += asked[to as usize][upper];
        }
        let excess = length - self.rest[link];
        if self.contact[link] && excess > 0.0 {
            return (0.0, Vec3::ZERO);
        }
        let across = (turning - direction * turning.dot(direction)) * (1.0 / length);
        let force = direction * (self.stiffness[link] * excess) + across;
        (0.5 * self.stiffness[link] * excess * excess, force)
    }

    /// The energy of weight and pin at a node, and the whole gradient there.
    fn gather(&self, node: usize, x: &[Vec3], force: &[Vec3], gradient: &mut Vec3) -> f64 {
        let mut sum = Vec3::ZERO;
        for &entry in self.incident.of(node) {
            let force = force[(entry & !ENDS) as usize];
            if entry & ENDS == 0 {
                sum -= force;
            } else {
                sum += force;
            }
        }
        let here = x[node];
        let above = here.z - self.table[node];
        sum.z += self.bed[node] * above;
        let mut energy = 0.5 * self.bed[node] * above * above;
        if let Some(Some(pin)) = self.pins.get(node) {
            let off = here - *pin;
            sum += off * self.pin_stiffness;
            energy += 0.5 * self.pin_stiffness * off.dot(off);
        }
        *gradient = sum;
        energy
    }

    /// How far the ends of a link go against each other where the nodes move along `direction`, at most.
    pub(crate) fn longest_pull(&self, direction: &[Vec3]) -> f64 {
        let apart = |&[from, to]: &[u32; 2]| {
            let apart = direction[to as usize] - direction[from as usize];
            apart.dot(apart)
        };
        self.ends.par_iter().with_min_len(BLOCK).map(apart).reduce(|| 0.0, f64::max).sqrt()
    }

    /// The links between nodes with their stiffness against being pulled apart, for a preconditioner.
    pub(crate) fn springs(&self) -> impl Iterator<Item = (u32, u32, f64)> + '_ {
        let pulls = (0..self.ends.len()).filter(|&link| !self.contact[link]);
        pulls.map(|link| (self.ends[link][0], self.ends[link][1], self.stiffness[link]))
    }

    /// How firmly each node is held to a place of its own, for a preconditioner.
    pub(crate) fn held(&self) -> impl Iterator<Item = Holding> + '_ {
        self.bed.iter().enumerate().map(|(node, bed)| {
            let pinned = self.pins.get(node).is_some_and(Option::is_some);
            let pin = if pinned { self.pin_stiffness } else { 0.0 };
            Holding { plane: pin, out: bed + pin }
        })
    }
}

/// One fold and its derivatives.
struct Turn {
    energy: f64,
    behind: Vec3,
    ahead: Vec3,
    across: Vec3,
}

/// `c·(1 - b·a) - s·det(b, a, v)` for the unit links `b` behind and `a` ahead and the direction `v` across.
fn hinge(behind: Vec3, ahead: Vec3, across: Vec3, cos: f64, sin: f64) -> Turn {
    let ahead_across = ahead.cross(across);
    let energy = cos * (1.0 - behind.dot(ahead)) - sin * behind.dot(ahead_across);
    Turn {
        energy,
        behind: -(ahead * cos + ahead_across * sin),
        ahead: -(behind * cos + across.cross(behind) * sin),
        across: -(behind.cross(ahead) * sin),
    }
}

/// The mean of the directions that are there, and the share of each in it.
fn mean(one: Option<Vec3>, other: Option<Vec3>) -> (Vec3, f64) {
    match (one, other) {
        (Some(one), Some(other)) => ((one + other) * 0.5, 0.5),
        (Some(only), None) | (None, Some(only)) => (only, 1.0),
        (None, None) => (Vec3::ZERO, 0.0),
    }
}

/// The links of every node, in order of the links.
fn incidence(mesh: &Mesh) -> Grouped<u32> {
    let both = |(id, link): (usize, &Link)| [(link.from, id as u32), (link.to, id as u32 | ENDS)];
    Grouped::new(mesh.len(), mesh.links.iter().enumerate().flat_map(both))
}

/// Runs over blocks of a slice, given the place of each block, and sums what comes out in order.
pub(crate) fn blocks<T: Send>(
    parallel: bool,
    values: &mut [T],
    work: impl Fn(usize, &mut [T]) -> f64 + Sync,
) -> f64 {
    let work = |(index, block): (usize, &mut [T])| work(index * BLOCK, block);
    if parallel {
        let sums: Vec<f64> = values.par_chunks_mut(BLOCK).enumerate().map(work).collect();
        sums.into_iter().sum()
    } else {
        values.chunks_mut(BLOCK).enumerate().map(work).sum()
    }
}

/// The same over two slices of one length.
fn blocks2<T: Send, U: Send>(
    parallel: bool,
    one: &mut [T],
    other: &mut [U],
    work: impl Fn(usize, &mut [T], &mut [U]) + Sync,
) {
    let work = |(index, (one, other)): (usize, (&mut [T], &mut [U]))| work(index * BLOCK, one, other);
    if parallel {
        one.par_chunks_mut(BLOCK).zip(other.par_chunks_mut(BLOCK)).enumerate().for_each(work);
    } else {
        one.chunks_mut(BLOCK).zip(other.chunks_mut(BLOCK)).enumerate().for_each(work);
    }
}

/// The scalar product of two fields of vectors, summed over blocks in order.
pub(crate) fn dot(one: &[Vec3], other: &[Vec3]) -> f64 {
    sum(one.len(), |node| one[node].dot(other[node]))
}

/// The sum of what comes of each of `count` nodes, over blocks in order.
pub(crate) fn sum(count: usize, value: impl Fn(usize) -> f64 + Sync) -> f64 {
    let block =
        |index: usize| -> f64 { (index * BLOCK..usize::min((index + 1) * BLOCK, count)).map(&value).sum() };
    let blocks = count.div_ceil(BLOCK);
    if count >= PARALLEL_FROM {
        let sums: Vec<f64> = (0..blocks).into_par_iter().map(block).collect();
        sums.into_iter().sum()
    } else {
        (0..blocks).map(block).sum()
    }
}

/// Puts in the place of each vector of a field what comes of its node and it.
pub(crate) fn map<T: Copy + Send>(field: &mut [T], value: impl Fn(usize, T) -> T + Sync) {
    let parallel = field.len() >= PARALLEL_FROM;
    blocks(parallel, field, |at, field| {
        for (offset, vector) in field.iter_mut().enumerate() {
            *vector = value(at + offset, *vector);
        }
        0.0
    });
}
