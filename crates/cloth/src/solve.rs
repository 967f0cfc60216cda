//! Finds the shape of least energy: L-BFGS with a preconditioner.
//!
//! Every step goes downhill: its length is halved until the energy has fallen by a share of what the slope
//! promises (Nocedal & Wright, *Numerical Optimization*, 2nd ed., algorithms 3.1 and 7.4, from memory). It stops
//! when what pulls at the stitches is small, or after a limit of steps, and says which.
//!
//! The large shape comes first and the small one after it: each step is preconditioned by a cycle from the
//! coarsest net to the finest, so that no wave of correction has to travel stitch by stitch.

use crate::Vec3;
use crate::energy::{Energy, Scratch, dot, map};
use crate::memory::Memory;
use crate::multigrid::{CycleScratch, Multigrid};

/// How the directions of the steps are preconditioned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Preconditioner {
    /// Not at all.
    None,
    /// By a cycle over coarser nets of springs.
    Multigrid,
}

/// When to stop, and how to go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Root mean square of the force on a stitch below which the shape counts as settled, in the stiffness of a
    /// stitch times its width. At 5e-4 sizes are within 0.4 % of their limit, mostly within 0.1 %; a circle too full for
    /// a plane takes twice as many steps to 1e-4, for ripples that slide along each other and measure alike.
    pub tolerance: f64,
    /// Steps after which it stops anyway.
    pub step_limit: usize,
    /// Earlier steps that are remembered. More than 10 hardly helps, each costs 24 bytes a stitch; at most 16.
    pub memory: usize,
    /// How the steps are preconditioned.
    pub preconditioner: Preconditioner,
}

impl Default for Settings {
    fn default() -> Settings {
        Settings { tolerance: 5e-4, step_limit: 1500, memory: 6, preconditioner: Preconditioner::Multigrid }
    }
}

/// How the search ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum End {
    /// The forces are small.
    Settled,
    /// The limit of steps was reached.
    StepLimit,
    /// No step makes the energy fall any more, within rounding.
    Flat,
}

/// A shape and how it was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// Where the nodes lie.
    pub positions: Vec<Vec3>,
    /// The energy at the start and after each step.
    pub energies: Vec<f64>,
    /// Root mean square of the force on a node.
    pub residual: f64,
    /// Why it stopped.
    pub end: End,
}

/// Share of the promised fall that a step must bring.
const ARMIJO: f64 = 1e-4;

/// Halvings of one step before the search gives up.
const HALVINGS: usize = 30;

/// The longest way that the ends of any link may go against each other in one step, in stitch widths: links must not
/// jump through each other. How far they go together is free: a wide rib draws in by half in a few steps.
const REACH: f64 = 0.5;

/// How many times as far, or as little, as the preconditioner says a step may go where the last steps say so. Four takes
/// as many steps and scatters more.
const WIDEST: f64 = 2.0;

/// Finds a shape of least energy from a start.
pub fn minimise(energy: &Energy, start: &[Vec3], settings: &Settings) -> Solution {
    Search::new(energy, start, settings).run()
}

struct Search<'a> {
    energy: &'a Energy,
    settings: &'a Settings,
    multigrid: Option<Multigrid>,
    cycle: CycleScratch,
    scratch: Scratch,
    x: Vec<Vec3>,
    gradient: Vec<Vec3>,
    memory: Memory,
}

impl<'a> Search<'a> {
    fn new(energy: &'a Energy, start: &[Vec3], settings: &'a Settings) -> Search<'a> {
        let (multigrid, widest) = match settings.preconditioner {
            Preconditioner::None => (None, None),
            Preconditioner::Multigrid => (Some(Multigrid::new(energy)), Some(WIDEST)),
        };
        Search {
            energy,
            settings,
            multigrid,
            cycle: CycleScratch::default(),
            scratch: Scratch::default(),
            x: start.to_vec(),
            gradient: vec![Vec3::ZERO; start.len()],
            memory: Memory::new(settings.memory, widest),
        }
    }

    fn run(mut self) -> Solution {
        let count = self.x.len();
        let mut value = self.energy.evaluate(&self.x, &mut self.gradient, &mut self.scratch);
        let mut energies = vec![value];
        let mut direction = vec![Vec3::ZERO; count];
        let (mut x, mut gradient) = (self.x.clone(), self.gradient.clone());
        let end = loop {
            if self.residual() <= self.settings.tolerance {
                break End::Settled;
            }
            if energies.len() > self.settings.step_limit {
                break End::StepLimit;
            }
            let slope = self.aim(&mut direction);
            match self.step(value, slope, &direction, &mut x, &mut gradient) {
                Some(lower) => {
                    value = lower;
                    energies.push(value);
                    self.memory.push([&x, &self.x], [&gradient, &self.gradient]);
                    std::mem::swap(&mut self.x, &mut x);
                    std::mem::swap(&mut self.gradient, &mut gradient);
                }
                // What was learned may mislead; go straight downhill once before giving up.
                None if !self.memory.is_empty() => self.memory.clear(),
                None => break End::Flat,
            }
        };
        Solution { residual: self.residual(), positions: self.x, energies, end }
    }

    fn residual(&self) -> f64 {
        (dot(&self.gradient, &self.gradient) / self.x.len().max(1) as f64).sqrt()
    }

    /// Writes the direction of the next step and gives the slope along it, which is negative.
    fn aim(&mut self, direction: &mut [Vec3]) -> f64 {
        let slope = self.memory.aim(&self.gradient, direction, |forces| {
            if let Some(multigrid) = &self.multigrid {
                multigrid.apply(forces, &mut self.cycle);
            }
        });
        if slope < 0.0 {
            return slope;
        }
        // Rounding can turn the direction; the gradient never errs.
        self.memory.clear();
        map(direction, |node, _| -self.gradient[node]);
        dot(direction, &self.gradient)
    }

    /// Goes along a direction until the energy has fallen enough; gives the new energy.
    fn step(
        &mut self,
        value: f64,
        slope: f64,
        direction: &[Vec3],
        x: &mut [Vec3],
        gradient: &mut [Vec3],
    ) -> Option<f64> {
        let longest = self.energy.longest_pull(direction);
        let mut length = f64::min(1.0, REACH / longest);
        for _ in 0..HALVINGS {
            map(x, |node, _| self.x[node] + direction[node] * length);
            let next = self.energy.evaluate(x, gradient, &mut self.scratch);
            if next < value && next <= value + ARMIJO * length * slope {
                return Some(next);
            }
            length *= 0.5;
        }
        None
    }
}
