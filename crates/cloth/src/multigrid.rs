//! A preconditioner: one cycle over coarser and coarser nets of springs.
//!
//! Pulling one end of a wide piece moves the other end only when the pull has travelled through every stitch
//! between. On a net of a quarter of the nodes it travels twice as far a step, and so on, so that one cycle
//! carries it across the piece. The nets are made by merging nodes with their firmest neighbours, twice a level;
//! the cycle smooths by damped Jacobi steps before and after, and is symmetric and positive, as the solver needs.
//!
//! The nets are made in double precision; the cycle runs in single, since it only guides.
//!
//! It knows the springs, the pins and the bed, not the folds. The bed holds z alone: counted for x and y too, it
//! made every wide move in the plane seem far too stiff, and the number of steps grew with the size of the piece.
//! Known bad case: a smooth bulge out of the plane is much softer than the springs say; the solver learns that from
//! its own steps.

use crate::Vec3;
use crate::energy::{Energy, map};
use crate::grouped::Grouped;
use crate::vector::Vec3f;

/// Nets of this size or less are smoothed until they are all but solved.
const COARSEST: usize = 40;

/// Smoothing steps on the coarsest net.
const COARSE_STEPS: usize = 40;

/// Damping of a smoothing step. Above 1 the steps could grow; less is slower.
const DAMPING: f64 = 0.65;

/// What a correction from a coarser net is multiplied by: merged nodes move as one, which makes the coarser net
/// too stiff, up to twice for smooth fields. More than 2 could overshoot.
const OVERCORRECTION: f64 = 1.6;

/// The nets, finest first.
#[derive(Clone, Debug)]
pub struct Multigrid {
    levels: Vec<Level>,
}

/// A net of springs while the levels are made.
struct Net {
    /// The node at the far end of each spring, and its stiffness.
    springs: Grouped<(u32, f64)>,
    diagonal: Vec<Holding>,
}

/// A net as the cycle runs over it.
#[derive(Clone, Debug)]
struct Level {
    springs: Grouped<(u32, f32)>,
    diagonal: Vec<Scale>,
    /// One over the diagonal, damped: what a smoothing step multiplies by.
    damped: Vec<Scale>,
    /// The node of the next net that each node is merged into, and the nodes merged into each of those.
    coarse: Vec<u32>,
    members: Grouped<u32>,
}

/// What a vector is multiplied by: within the plane, and out of it.
#[derive(Clone, Copy, Debug)]
struct Scale {
    plane: f32,
    out: f32,
}

impl Scale {
    fn times(self, vector: Vec3f) -> Vec3f {
        Vec3f { x: self.plane * vector.x, y: self.plane * vector.y, z: self.out * vector.z }
    }
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
    levels: Vec<[Vec<Vec3f>; 4]>,
}

impl Multigrid {
    /// The nets of an energy's springs.
    pub fn new(energy: &Energy) -> Multigrid {
        let held: Vec<Holding> = energy.held().map(|held| held.plus(LOOSE)).collect();
        let springs: Vec<(u32, u32, f64)> = energy.springs().collect();
        let mut net = Net::new(&held, &springs);
        let mut levels = Vec::new();
        while net.len() > COARSEST {
            let (coarse, next) = net.merge();
            // Two cycles over each coarser net cost no more than one over this one only if the nets shrink fast.
            if next.len() * 2 > net.len() {
                break;
            }
            levels.push(Level::of(&net, coarse, next.len()));
            net = next;
        }
        levels.push(Level::of(&net, Vec::new(), 0));
        Multigrid { levels }
    }

    /// Puts in the place of forces about the displacements that answer to them.
    pub fn apply(&self, field: &mut [Vec3], scratch: &mut CycleScratch) {
        scratch.levels.resize_with(self.levels.len(), Default::default);
        for (depth, (level, room)) in self.levels.iter().zip(&mut scratch.levels).enumerate() {
            // The finest net is cycled over once and needs no fourth field.
            let fields = if depth == 0 { 3 } else { 4 };
            for field in &mut room[..fields] {
                field.resize(level.len(), Vec3f::ZERO);
            }
        }
        map(&mut scratch.levels[0][0], |node, _| field[node].into());
        self.cycle(0, &mut scratch.levels);
        let answer = &scratch.levels[0][1];
        map(field, |node, _| answer[node].wide());
    }

    /// Cycles twice over a coarser net: once leaves it too stiff against wide moves.
    fn solve(&self, depth: usize, rooms: &mut [[Vec<Vec3f>; 4]]) {
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
    fn cycle(&self, depth: usize, rooms: &mut [[Vec<Vec3f>; 4]]) {
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
        map(x, |node, x| x + correction[level.coarse[node] as usize] * OVERCORRECTION as f32);
        level.smooth(rhs, x, spare);
        std::mem::swap(x, spare);
    }
}

impl Level {
    fn of(net: &Net, coarse: Vec<u32>, coarse_count: usize) -> Level {
        let merged = coarse.iter().zip(0..).map(|(&coarse, node)| (coarse, node));
        let members = Grouped::new(coarse_count, merged);
        let scale = |of: fn(f64) -> f64| {
            let scale = |held: &Holding| Scale { plane: of(held.plane) as f32, out: of(held.out) as f32 };
            net.diagonal.iter().map(scale).collect()
        };
        Level {
            springs: net.springs.map(|&(far, weight)| (far, weight as f32)),
            diagonal: scale(|stiffness| stiffness),
            damped: scale(|stiffness| DAMPING / stiffness),
            coarse,
            members,
        }
    }

    fn len(&self) -> usize {
        self.diagonal.len()
    }

    /// The first smoothing step, from nothing.
    fn start(&self, rhs: &[Vec3f], x: &mut [Vec3f]) {
        map(x, |node, _| self.damped[node].times(rhs[node]));
    }

    fn residual_at(&self, node: usize, rhs: &[Vec3f], x: &[Vec3f]) -> Vec3f {
        let mut pull = Vec3f::ZERO;
        for &(far, weight) in self.springs.of(node) {
            pull = pull + x[far as usize] * weight;
        }
        let held = self.diagonal[node].times(x[node]);
        let rhs = rhs[node];
        Vec3f {
            x: rhs.x - held.x + pull.x,
            y: rhs.y - held.y + pull.y,
            z: rhs.z - held.z + pull.z * OUT as f32,
        }
    }

    fn residual(&self, rhs: &[Vec3f], x: &[Vec3f], out: &mut [Vec3f]) {
        map(out, |node, _| self.residual_at(node, rhs, x));
    }

    fn smooth(&self, rhs: &[Vec3f], x: &[Vec3f], out: &mut [Vec3f]) {
        map(out, |node, _| x[node] + self.damped[node].times(self.residual_at(node, rhs, x)));
    }

    fn restrict(&self, fine: &[Vec3f], coarse: &mut [Vec3f]) {
        map(coarse, |node, _| {
            self.members.of(node).iter().fold(Vec3f::ZERO, |sum, &member| sum + fine[member as usize])
        });
    }
}

impl Net {
    fn new(held: &[Holding], springs: &[(u32, u32, f64)]) -> Net {
        let both = |&(one, other, weight): &(u32, u32, f64)| [(one, (other, weight)), (other, (one, weight))];
        let mut diagonal = held.to_vec();
        for &(one, other, stiffness) in springs {
            for node in [one, other] {
                diagonal[node as usize] = diagonal[node as usize].plus(stiffness);
            }
        }
        Net { springs: Grouped::new(held.len(), springs.iter().flat_map(both)), diagonal }
    }

    fn len(&self) -> usize {
        self.diagonal.len()
    }

    fn row(&self, node: usize) -> impl Iterator<Item = (u32, f64)> + '_ {
        self.springs.of(node).iter().copied()
    }

    /// Merges nodes in two rounds of pairs; gives the new number of each node, and the next net.
    fn merge(&self) -> (Vec<u32>, Net) {
        let pairs = self.pair();
        let (held, springs) = self.condense(&pairs);
        let between = Net::new(&held, &springs);
        let again = between.pair();
        let (held, springs) = between.condense(&again);
        let coarse = pairs.iter().map(|&pair| again[pair as usize]).collect();
        (coarse, Net::new(&held, &springs))
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
        let mut springs = Vec::with_capacity(self.springs.total() / 2);
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
