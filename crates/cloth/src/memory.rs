//! What the search remembers of its last steps, and the direction that they suggest.
//!
//! L-BFGS goes through its memory twice for each direction (Nocedal & Wright, *Numerical Optimization*, 2nd ed.,
//! algorithm 7.4, from memory), and each time asks for the product of a remembered field with one that the field before
//! it has just changed. The products among the remembered fields are kept here, so that those with the changed field
//! follow from those with the unchanged one: four passes over the stitches do what takes four for each step otherwise.
//! None of these products costs a pass of its own: that of an older move with a newer change of the gradient is the
//! difference of its products with the two gradients.
//!
//! The preconditioner answers to the gradient alone, once a step. It is linear, so that its answer to a change of the
//! gradient is the change of its answers, and what it would answer to the gradient as the first loop leaves it follows.
//! How far it errs on the whole is learned from the last steps too (see [`Pace`]).
//!
//! The fields are kept in single precision: they guide, and what is accepted is judged by the energy.
//!
//! Invariant: a remembered move goes uphill along its own change of the gradient, or the directions would not go
//! downhill.

use std::collections::VecDeque;
use std::ops::Range;

use rayon::prelude::*;

use crate::Vec3;
use crate::energy::{BLOCK, PARALLEL_FROM, blocks, dot, map, sum};
use crate::vector::Vec3f;

/// The last steps, oldest first.
#[derive(Debug, Default)]
pub(crate) struct Memory {
    steps: VecDeque<Step>,
    limit: usize,
    /// The preconditioner's answer to the gradient last seen.
    answer: Vec<Vec3f>,
    pace: Pace,
    /// How many times as far, or as little, the pace may go as the preconditioner says; without one, as the steps say.
    widest: Option<f64>,
}

/// The most steps that may be remembered.
const MOST: usize = 16;

/// A number for each remembered step.
type Each = [f64; MOST];

#[derive(Debug, Default)]
struct Step {
    moved: Vec<Vec3f>,
    changed: Vec<Vec3f>,
    /// The preconditioner's answer to the change; empty until the next gradient is met.
    answered: Vec<Vec3f>,
    /// The product of the move with its own change of the gradient, then with those of the steps after it.
    products: Vec<f64>,
    /// The product of the move with the gradient last seen.
    along: f64,
}

/// What the preconditioner's answers are multiplied by, in the plane and out of it.
///
/// A step that went so far for such a change of the gradient says how far the answer to that change should have gone
/// (the shorter of the two lengths of Barzilai & Borwein, measured by the preconditioner; from memory). Ripples and
/// crossings give way more easily in the plane than the springs say, twice as easily where they have room, flat cloth
/// does not; which it is shows only in the search. With it cables settle in three fifths of the steps at best, circles
/// by doubling in six to nine tenths.
#[derive(Clone, Copy, Debug)]
struct Pace {
    plane: f64,
    out: f64,
}

impl Default for Pace {
    fn default() -> Pace {
        Pace { plane: 1.0, out: 1.0 }
    }
}

impl Pace {
    fn times(self, vector: Vec3) -> Vec3 {
        Vec3::new(self.plane * vector.x, self.plane * vector.y, self.out * vector.z)
    }

    /// Learns from a step; halfway where a preconditioner says nearly enough, since single steps scatter. A step that went
    /// against its change says nothing.
    fn learn(&mut self, step: &Step, widest: Option<f64>) {
        let [moved, moved_out, answered, answered_out] = sums(step.moved.len(), |node| {
            let [moved, changed, answered] =
                [&step.moved, &step.changed, &step.answered].map(|field| field[node].wide());
            let out = [moved.z * changed.z, answered.z * changed.z];
            [moved.dot(changed) - out[0], out[0], answered.dot(changed) - out[1], out[1]]
        });
        for (pace, moved, answered) in
            [(&mut self.plane, moved, answered), (&mut self.out, moved_out, answered_out)]
        {
            if moved > 0.0 && answered > 0.0 {
                let told = moved / answered;
                *pace = widest.map_or(told, |widest| (*pace * told.clamp(1.0 / widest, widest)).sqrt());
            }
        }
    }
}

impl Memory {
    pub(crate) fn new(limit: usize, widest: Option<f64>) -> Memory {
        Memory { limit: limit.min(MOST), widest, ..Memory::default() }
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.steps.is_empty()
    }

    pub(crate) fn clear(&mut self) {
        self.steps.clear();
        self.pace = Pace::default();
    }

    /// Remembers a step, given the places and the gradients after and before it, unless it went the wrong way along
    /// its change.
    pub(crate) fn push(&mut self, places: [&[Vec3]; 2], gradients: [&[Vec3]; 2]) {
        let full = self.steps.len() >= self.limit;
        let mut step = full.then(|| self.steps.pop_front()).flatten().unwrap_or_default();
        step.moved.resize(places[0].len(), Vec3f::ZERO);
        step.changed.resize(places[0].len(), Vec3f::ZERO);
        step.answered.clear();
        difference(&mut step.moved, places);
        difference(&mut step.changed, gradients);
        let product = |one: &[Vec3f], other: &[Vec3f]| -> f64 {
            sum(one.len(), |node| one[node].wide().dot(other[node].wide()))
        };
        let curvature = product(&step.moved, &step.changed);
        let size = product(&step.moved, &step.moved) * product(&step.changed, &step.changed);
        if self.limit > 0 && curvature > 1e-8 * size.sqrt() {
            step.products.clear();
            step.products.push(curvature);
            self.steps.push_back(step);
        }
    }

    /// Writes the direction of the next step, and gives the slope of the energy along it.
    ///
    /// `precondition` puts displacements in the place of forces.
    pub(crate) fn aim(
        &mut self,
        gradient: &[Vec3],
        direction: &mut [Vec3],
        precondition: impl FnOnce(&mut [Vec3]),
    ) -> f64 {
        self.meet(gradient);
        direction.copy_from_slice(gradient);
        precondition(direction);
        self.learn(direction);
        let weights = self.weights();
        self.add(direction, |step| &step.answered, &weights.map(|weight| -weight));
        let pace = self.pace;
        map(direction, |_, vector| pace.times(vector));
        let corrections = self.corrections(&weights, &self.along(direction, |step| &step.changed));
        self.add(direction, |step| &step.moved, &corrections);
        map(direction, |_, vector| -vector);
        dot(direction, gradient)
    }

    /// Takes the preconditioner's answer to a new gradient, and with it that to the last change.
    fn learn(&mut self, answer: &[Vec3]) {
        if let Some(newest) = self.steps.back_mut().filter(|newest| newest.answered.is_empty()) {
            newest.answered.resize(answer.len(), Vec3f::ZERO);
            let before = &self.answer;
            map(&mut newest.answered, |node, _| (answer[node] - before[node].wide()).into());
            self.pace.learn(newest, self.widest);
        }
        self.answer.resize(answer.len(), Vec3f::ZERO);
        map(&mut self.answer, |node, _| answer[node].into());
    }

    /// Takes the products of the moves with a new gradient, and completes those with the last change of it.
    fn meet(&mut self, gradient: &[Vec3]) {
        let along = self.along(gradient, |step| &step.moved);
        let newest = self.steps.len();
        for (place, (step, along)) in self.steps.iter_mut().zip(along).enumerate() {
            if step.products.len() < newest - place {
                step.products.push(along - step.along);
            }
            step.along = along;
        }
    }

    /// The products of one field of every step with another field.
    fn along(&self, field: &[Vec3], of: impl Fn(&Step) -> &Vec<Vec3f> + Sync) -> Each {
        block_sums(field.len(), |nodes| {
            let mut sums = [0.0; MOST];
            for (sum, step) in sums.iter_mut().zip(&self.steps) {
                let remembered = of(step)[nodes.clone()].iter();
                *sum = field[nodes.clone()]
                    .iter()
                    .zip(remembered)
                    .map(|(one, other)| one.dot(other.wide()))
                    .sum();
            }
            sums
        })
    }

    /// Adds a multiple of one field of every step to another field.
    fn add(&self, field: &mut [Vec3], of: impl Fn(&Step) -> &Vec<Vec3f> + Sync, weights: &Each) {
        let parallel = field.len() >= PARALLEL_FROM;
        blocks(parallel, field, |at, block| {
            for (weight, step) in weights.iter().zip(&self.steps) {
                let remembered = &of(step)[at..][..block.len()];
                for (vector, remembered) in block.iter_mut().zip(remembered) {
                    *vector += remembered.wide() * *weight;
                }
            }
            0.0
        });
    }

    /// What of each change is taken from the gradient: the first loop, from the newest step to the oldest.
    fn weights(&self) -> Each {
        let mut weights = [0.0; MOST];
        for (place, step) in self.steps.iter().enumerate().rev() {
            let newer = step.products.iter().enumerate().skip(1);
            let taken: f64 = newer.map(|(later, product)| weights[place + later] * product).sum();
            weights[place] = (step.along - taken) / step.products[0];
        }
        weights
    }

    /// What of each move is added to the displacements: the second loop, from the oldest step to the newest.
    fn corrections(&self, weights: &Each, along: &Each) -> Each {
        let mut corrections = [0.0; MOST];
        for place in 0..self.steps.len() {
            let older = (0..place)
                .map(|earlier| corrections[earlier] * self.steps[earlier].products[place - earlier]);
            let back = (along[place] + older.sum::<f64>()) / self.steps[place].products[0];
            corrections[place] = weights[place] - back;
        }
        corrections
    }
}

fn difference(out: &mut [Vec3f], [one, other]: [&[Vec3]; 2]) {
    let parallel = out.len() >= PARALLEL_FROM;
    blocks(parallel, out, |at, out| {
        for (offset, out) in out.iter_mut().enumerate() {
            *out = (one[at + offset] - other[at + offset]).into();
        }
        0.0
    });
}

/// The sums of what comes of each node.
fn sums<const N: usize>(count: usize, values: impl Fn(usize) -> [f64; N] + Sync) -> [f64; N] {
    block_sums(count, |nodes| add_up(nodes.map(&values)))
}

/// The sums of what comes of blocks of nodes, in order.
fn block_sums<const N: usize>(count: usize, block: impl Fn(Range<usize>) -> [f64; N] + Sync) -> [f64; N] {
    let block = |index: usize| block(index * BLOCK..usize::min((index + 1) * BLOCK, count));
    let blocks = count.div_ceil(BLOCK);
    if count >= PARALLEL_FROM {
        let sums: Vec<[f64; N]> = (0..blocks).into_par_iter().map(block).collect();
        add_up(sums.into_iter())
    } else {
        add_up((0..blocks).map(block))
    }
}

fn add_up<const N: usize>(parts: impl Iterator<Item = [f64; N]>) -> [f64; N] {
    let mut sums = [0.0; N];
    for part in parts {
        for (sum, part) in sums.iter_mut().zip(part) {
            *sum += part;
        }
    }
    sums
}
