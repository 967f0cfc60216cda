//! What the search remembers of its last steps, and the direction that they suggest.
//!
//! L-BFGS goes through its memory twice for each direction (Nocedal & Wright, *Numerical Optimization*, 2nd ed.,
//! algorithm 7.4, from memory), and each time asks for the product of a remembered field with one that the field before
//! it has just changed. The products among the remembered fields are kept here, so that those with the changed field
//! follow from those with the unchanged one: four passes over the stitches do what takes four for each step otherwise.
//! None of these products costs a pass of its own: that of an older move with a newer change of the gradient is the
//! difference of its products with the two gradients.
//!
//! The fields are kept in single precision: they guide, and what is accepted is judged by the energy.
//!
//! Invariant: a remembered move goes uphill along its own change of the gradient, or the directions would not go
//! downhill.

use std::collections::VecDeque;

use rayon::prelude::*;

use crate::Vec3;
use crate::energy::{BLOCK, PARALLEL_FROM, blocks, dot, map, sum};
use crate::vector::Vec3f;

/// The last steps, oldest first.
#[derive(Debug, Default)]
pub(crate) struct Memory {
    steps: VecDeque<Step>,
    limit: usize,
}

/// The most steps that may be remembered.
const MOST: usize = 16;

/// A number for each remembered step.
type Each = [f64; MOST];

#[derive(Debug, Default)]
struct Step {
    moved: Vec<Vec3f>,
    changed: Vec<Vec3f>,
    /// The product of the move with its own change of the gradient, then with those of the steps after it.
    products: Vec<f64>,
    /// The product of the move with the gradient last seen.
    along: f64,
}

impl Memory {
    pub(crate) fn new(limit: usize) -> Memory {
        Memory { steps: VecDeque::new(), limit: limit.min(MOST) }
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.steps.is_empty()
    }

    pub(crate) fn clear(&mut self) {
        self.steps.clear();
    }

    /// Remembers a step, given the places and the gradients after and before it, unless it went the wrong way along
    /// its change.
    pub(crate) fn push(&mut self, places: [&[Vec3]; 2], gradients: [&[Vec3]; 2]) {
        let full = self.steps.len() >= self.limit;
        let mut step = full.then(|| self.steps.pop_front()).flatten().unwrap_or_default();
        step.moved.resize(places[0].len(), Vec3f::ZERO);
        step.changed.resize(places[0].len(), Vec3f::ZERO);
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
        let weights = self.weights();
        direction.copy_from_slice(gradient);
        self.add(direction, |step| &step.changed, &weights.map(|weight| -weight));
        precondition(direction);
        let corrections = self.corrections(&weights, &self.along(direction, |step| &step.changed));
        self.add(direction, |step| &step.moved, &corrections);
        map(direction, |_, vector| -vector);
        dot(direction, gradient)
    }

    /// How the displacements that answer to forces are scaled where nothing else is known.
    pub(crate) fn scale(&self) -> f64 {
        self.steps.back().map_or(1.0, |last| {
            let change = |node: usize| last.changed[node].wide();
            last.products[0] / sum(last.changed.len(), |node| change(node).dot(change(node)))
        })
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
        let block = |(index, block): (usize, &[Vec3])| {
            let mut sums = [0.0; MOST];
            for (sum, step) in sums.iter_mut().zip(&self.steps) {
                let remembered = &of(step)[index * BLOCK..][..block.len()];
                *sum = block.iter().zip(remembered).map(|(one, other)| one.dot(other.wide())).sum();
            }
            sums
        };
        if field.len() >= PARALLEL_FROM {
            let sums: Vec<Each> = field.par_chunks(BLOCK).enumerate().map(block).collect();
            add_up(sums.into_iter())
        } else {
            add_up(field.chunks(BLOCK).enumerate().map(block))
        }
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

fn add_up(blocks: impl Iterator<Item = Each>) -> Each {
    let mut sums = [0.0; MOST];
    for block in blocks {
        for (sum, part) in sums.iter_mut().zip(block) {
            *sum += part;
        }
    }
    sums
}
