//! A preconditioner: one cycle over coarser and coarser nets of springs.
//!
//! Pulling one end of a wide piece moves the other end only when the pull has travelled through every stitch
//! between. On a net of a quarter of the nodes it travels twice as far a step, and so on, so that one cycle
//! carries it across the piece. The nets are made by merging nodes with their firmest neighbours, twice a level;
//! the cycle smooths by damped Jacobi steps before and after, and is symmetric and positive, as the solver needs.
//!
//! It knows the springs, the pins and the bed, not the folds. The bed holds z alone: counted for x and y too, it
//! made every wide move in the plane seem far too stiff, and the number of steps grew with the size of the piece.
//! Known bad case: a smooth bulge out of the plane is much softer than the springs say; the solver learns that from
//! its own steps.

use rayon::prelude::*;

use crate::Vec3;
use crate::energy::{Energy, map};

/// Nets of this size or less are smoothed until they are all but solved.
const COARSEST: usize = 40;

/// Smoothing steps on the coarsest net.
const COARSE_STEPS: usize = 40;

/// Damping of a smoothing step. Above 1 the steps could grow; less is slower.
const DAMPING: f64 = 0.65;

/// What a correction from a coarser net is multiplied by: merged nodes move as one, which makes the coarser net
/// too stiff, up to twice for smooth fields. More than 2 could overshoot.
const OVERCORRECTION: f64 = 1.6;

/// Below this many nodes threads cost more than they bring.
const PARALLEL_FROM: usize = 6000;

/// The nets, finest first.
#[derive(Clone, Debug)]
pub struct Multigrid {
    levels: Vec<Level>,
}

#[derive(Clone, Debug)]
struct Level {
    first: Vec<u32>,
    far: Vec<u32>,
    weight: Vec<f64>,
    diagonal: Vec<Holding>,
    /// The node of the next net that each node is merged into, and the nodes merged into each of those.
    coarse: Vec<u32>,
    members_first: Vec<u32>,
    members: Vec<u32>,
}

/// How firmly something is held: within the plane, and out of it.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Holding {
    pub(crate) plane: f64,
    pub(crate) out: f64,
}

impl Holding {
    /// With springs of this stiffness added.
    fn plus(self, spring: f64) -> Holding {
        Holding { plane: self.plane + spring, out: self.out + spring * OUT }
    }

    fn times(self, vector: Vec3) -> Vec3 {
        Vec3::new(self.plane * vector.x, self.plane * vector.y, self.out * vector.z)
    }

    fn divide(self, vector: Vec3) -> Vec3 {
        let plane = 1.0 / self.plane;
        Vec3::new(vector.x * plane, vector.y * plane, vector.z / self.out)
    }
}

/// A free piece has no place of its own; a little holding keeps every net solvable. It must stay small against what
/// the springs of the widest piece say to a move of the whole width, about ten over the square of the stitches
/// across.
const LOOSE: f64 = 1e-6;

/// How stiff the net is out of the plane against within it. A bulge is held by folding alone, which the springs do not
/// know; much less than this makes ribs, whose springs stand up, settle slowly.
const OUT: f64 = 0.5;

/// Room for one cycle.
#[derive(Clone, Debug, Default)]
pub struct CycleScratch {
    levels: Vec<[Vec<Vec3>; 4]>,
}

impl Multigrid {
    /// The nets of an energy's springs.
    pub fn new(energy: &Energy) -> Multigrid {
        let held: Vec<Holding> = energy.held().map(|held| held.plus(LOOSE)).collect();
        let springs: Vec<(u32, u32, f64)> = energy.springs().collect();
        let mut levels = vec![Level::new(&held, &springs)];
        while let Some(level) = levels.last_mut() {
            if level.len() <= COARSEST {
                break;
            }
            let (held, springs) = level.merge();
            // Two cycles over each coarser net cost no more than one over this one only if the nets shrink fast.
            if held.len() * 2 > level.len() {
                break;
            }
            let next = Level::new(&held, &springs);
            levels.push(next);
        }
        Multigrid { levels }
    }

    /// Puts in the place of forces about the displacements that answer to them.
    pub fn apply(&self, field: &mut [Vec3], scratch: &mut CycleScratch) {
        scratch.levels.resize_with(self.levels.len(), Default::default);
        for (depth, (level, room)) in self.levels.iter().zip(&mut scratch.levels).enumerate() {
            // The finest net is cycled over once and needs no fourth field.
            let fields = if depth == 0 { 3 } else { 4 };
            for field in &mut room[..fields] {
                field.resize(level.len(), Vec3::ZERO);
            }
        }
        scratch.levels[0][0].copy_from_slice(field);
        self.cycle(0, &mut scratch.levels);
        field.copy_from_slice(&scratch.levels[0][1]);
    }

    /// Cycles twice over a coarser net: once leaves it too stiff against wide moves.
    fn solve(&self, depth: usize, rooms: &mut [[Vec<Vec3>; 4]]) {
        self.cycle(depth, rooms);
        if rooms.len() < 2 {
            return;
        }
        let level = &self.levels[depth];
        let [rhs, x, spare, first] = &mut rooms[0];
        level.residual(rhs, x, spare);
        std::mem::swap(rhs, spare);
        std::mem::swap(x, first);
        self.cycle(depth, rooms);
        let [_, x, _, first] = &mut rooms[0];
        map(x, |node, x| x + first[node]);
    }

    /// Solves level `depth` for the right side in the first field of its room, into the second.
    fn cycle(&self, depth: usize, rooms: &mut [[Vec<Vec3>; 4]]) {
        let level = &self.levels[depth];
        let Some(([rhs, x, spare, _], deeper)) = rooms.split_first_mut() else { return };
        level.start(rhs, x);
        if deeper.is_empty() {
            for _ in 0..COARSE_STEPS {
                level.smooth(rhs, x, spare);
                std::mem::swap(x, spare);
            }
            return;
        }
        level.residual(rhs, x, spare);
        level.restrict(spare, &mut deeper[0][0]);
        self.solve(depth + 1, deeper);
        let correction = &deeper[0][1];
        map(x, |node, x| x + correction[level.coarse[node] as usize] * OVERCORRECTION);
        level.smooth(rhs, x, spare);
        std::mem::swap(x, spare);
    }
}

impl Level {
    fn new(held: &[Holding], springs: &[(u32, u32, f64)]) -> Level {
        let mut first = vec![0u32; held.len() + 1];
        for &(one, other, _) in springs {
            first[one as usize + 1] += 1;
            first[other as usize + 1] += 1;
        }
        for node in 0..held.len() {
            first[node + 1] += first[node];
        }
        let mut next = first.clone();
        let (mut far, mut weight) = (vec![0; springs.len() * 2], vec![0.0; springs.len() * 2]);
        let mut diagonal = held.to_vec();
        for &(one, other, stiffness) in springs {
            for (near, other) in [(one, other), (other, one)] {
                let place = next[near as usize] as usize;
                far[place] = other;
                weight[place] = stiffness;
                next[near as usize] += 1;
                diagonal[near as usize] = diagonal[near as usize].plus(stiffness);
            }
        }
        Level {
            first,
            far,
            weight,
            diagonal,
            coarse: Vec::new(),
            members_first: Vec::new(),
            members: Vec::new(),
        }
    }

    fn len(&self) -> usize {
        self.diagonal.len()
    }

    fn row(&self, node: usize) -> impl Iterator<Item = (u32, f64)> + '_ {
        let range = self.first[node] as usize..self.first[node + 1] as usize;
        self.far[range.clone()].iter().copied().zip(self.weight[range].iter().copied())
    }

    /// The first smoothing step, from nothing.
    fn start(&self, rhs: &[Vec3], x: &mut [Vec3]) {
        map(x, |node, _| self.diagonal[node].divide(rhs[node]) * DAMPING);
    }

    fn residual_at(&self, node: usize, rhs: &[Vec3], x: &[Vec3]) -> Vec3 {
        let mut sum = rhs[node] - self.diagonal[node].times(x[node]);
        for (far, weight) in self.row(node) {
            let far = x[far as usize];
            sum += Vec3::new(far.x * weight, far.y * weight, far.z * weight * OUT);
        }
        sum
    }

    fn residual(&self, rhs: &[Vec3], x: &[Vec3], out: &mut [Vec3]) {
        map(out, |node, _| self.residual_at(node, rhs, x));
    }

    fn smooth(&self, rhs: &[Vec3], x: &[Vec3], out: &mut [Vec3]) {
        map(out, |node, _| x[node] + self.diagonal[node].divide(self.residual_at(node, rhs, x)) * DAMPING);
    }

    fn restrict(&self, fine: &[Vec3], coarse: &mut [Vec3]) {
        let gather = |node: usize| -> Vec3 {
            let range = self.members_first[node] as usize..self.members_first[node + 1] as usize;
            self.members[range].iter().map(|&member| fine[member as usize]).sum()
        };
        if coarse.len() >= PARALLEL_FROM {
            coarse.par_iter_mut().with_min_len(1024).enumerate().for_each(|(node, sum)| *sum = gather(node));
        } else {
            coarse.iter_mut().enumerate().for_each(|(node, sum)| *sum = gather(node));
        }
    }

    /// Merges nodes in two rounds of pairs; gives the holdings and springs of the next net.
    fn merge(&mut self) -> (Vec<Holding>, Vec<(u32, u32, f64)>) {
        let pairs = self.pair();
        let (held, springs) = self.condense(&pairs);
        let between = Level::new(&held, &springs);
        let again = between.pair();
        let (held, springs) = between.condense(&again);
        self.coarse = pairs.iter().map(|&pair| again[pair as usize]).collect();
        let mut first = vec![0u32; held.len() + 1];
        for &coarse in &self.coarse {
            first[coarse as usize + 1] += 1;
        }
        for node in 0..held.len() {
            first[node + 1] += first[node];
        }
        let mut next = first.clone();
        self.members = vec![0; self.len()];
        for (node, &coarse) in self.coarse.iter().enumerate() {
            self.members[next[coarse as usize] as usize] = node as u32;
            next[coarse as usize] += 1;
        }
        self.members_first = first;
        (held, springs)
    }

    /// Pairs each node with its firmest unpaired neighbour, or adds it to a pair; gives the number of each node's pair.
    fn pair(&self) -> Vec<u32> {
        const FREE: u32 = u32::MAX;
        let mut pairs = vec![FREE; self.len()];
        let mut count = 0;
        for node in 0..self.len() {
            if pairs[node] != FREE {
                continue;
            }
            let firmest = |free: bool| {
                let others = self.row(node).filter(|&(far, _)| far as usize != node);
                let others = others.filter(|&(far, _)| (pairs[far as usize] == FREE) == free);
                others.max_by(|(_, one), (_, other)| one.total_cmp(other)).map(|(far, _)| far as usize)
            };
            match (firmest(true), firmest(false)) {
                (Some(far), _) => {
                    pairs[node] = count;
                    pairs[far] = count;
                    count += 1;
                }
                // Among paired ones only, it goes with the firmest: a star would be left in single nodes.
                (None, Some(far)) => pairs[node] = pairs[far],
                (None, None) => {
                    pairs[node] = count;
                    count += 1;
                }
            }
        }
        pairs
    }

    /// The holdings and springs between merged nodes.
    fn condense(&self, merged: &[u32]) -> (Vec<Holding>, Vec<(u32, u32, f64)>) {
        let count = merged.iter().max().map_or(0, |most| *most as usize + 1);
        let mut held = vec![Holding::default(); count];
        let mut springs = Vec::with_capacity(self.far.len() / 2);
        for node in 0..self.len() {
            let own = merged[node];
            let pulls: f64 = self.row(node).map(|(_, weight)| weight).sum();
            let holding = self.diagonal[node].plus(-pulls);
            let sum = &mut held[own as usize];
            *sum = Holding { plane: sum.plane + holding.plane, out: sum.out + holding.out };
            for (far, weight) in self.row(node) {
                let other = merged[far as usize];
                if own < other {
                    springs.push((own, other, weight));
                }
            }
        }
        springs.sort_unstable_by_key(|&(one, other, _)| (one, other));
        springs.dedup_by(|next, kept| {
            let same = (next.0, next.1) == (kept.0, kept.1);
            if same {
                kept.2 += next.2;
            }
            same
        });
        (held, springs)
    }
}
