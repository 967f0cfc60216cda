//! The light on what is seen.
//!
//! Light comes from one direction and, weaker, from everywhere; hollows are darkened by how much higher their
//! surroundings stand, and the grooves between the plies of the yarn are drawn.

use rayon::prelude::*;

use super::{OVERSAMPLING, Page, Rod, Samples};
use crate::picture::{Rgb, Style};

/// A step aslant of length one, along each axis.
const SLANT: f32 = std::f32::consts::FRAC_1_SQRT_2;

/// Directions in which the surroundings of a pixel are looked at.
const ROSE: [(f32, f32); 8] = [
    (1.0, 0.0),
    (SLANT, SLANT),
    (0.0, 1.0),
    (-SLANT, SLANT),
    (-1.0, 0.0),
    (-SLANT, -SLANT),
    (0.0, -1.0),
    (SLANT, -SLANT),
];

/// How far away the surroundings are looked at, in radii of the yarn, and how much each distance counts.
const REACHES: [(f32, f32); 3] = [(0.6, 0.4), (1.5, 0.35), (3.5, 0.25)];

/// How much of the paper's brightness a hollow takes, against that of the yarn.
const PAPER_SHADE: f32 = 0.55;

/// The light of a picture, made ready.
struct Lamp {
    light: [f32; 3],
    paper: [f32; 3],
    yarn: [f32; 3],
    ambient: f32,
    twist: f32,
    groove: f32,
}

impl Lamp {
    fn of(style: &Style) -> Lamp {
        let light = style.light.unit();
        let channels = |Rgb(red, green, blue): Rgb| [red, green, blue].map(f32::from);
        Lamp {
            // On the page y runs downwards.
            light: [light.x, -light.y, light.z].map(|value| value as f32),
            paper: channels(style.paper),
            yarn: channels(style.yarn),
            ambient: style.ambient as f32,
            twist: style.twist as f32,
            groove: style.groove as f32,
        }
    }
}

/// Lights the samples and averages them to pixels.
pub(super) fn shade(samples: &Samples, rods: &[Rod], page: &Page, style: &Style) -> Vec<u8> {
    let width = page.width as usize;
    let fine_width = page.fine_width() as usize;
    let lamp = Lamp::of(style);
    let surroundings = Surroundings::of(page);
    let mut pixels = vec![0u8; width * page.height as usize * 3];
    pixels.par_chunks_mut(width * 3).enumerate().for_each(|(y, row)| {
        for (x, pixel) in row.chunks_mut(3).enumerate() {
            // Hollows change slowly: one look round serves the whole pixel.
            let (fx, fy) = (x * OVERSAMPLING as usize, y * OVERSAMPLING as usize);
            let hidden = surroundings.hidden(samples, page, fx, fy) * style.hollow as f32;
            let mut sum = [0.0; 3];
            for fine in 0..OVERSAMPLING * OVERSAMPLING {
                let (fx, fy) = (fx + (fine % OVERSAMPLING) as usize, fy + (fine / OVERSAMPLING) as usize);
                let rod = samples.rods[fy * fine_width + fx];
                let colour = match rods.get(rod as usize) {
                    None => lamp.paper.map(|channel| channel * (1.0 - PAPER_SHADE * hidden)),
                    Some(rod) => lamp.on(rod, fx as f32 + 0.5, fy as f32 + 0.5, page.radius, hidden),
                };
                for (sum, colour) in sum.iter_mut().zip(colour) {
                    *sum += colour;
                }
            }
            for (pixel, sum) in pixel.iter_mut().zip(sum) {
                let value = sum / (OVERSAMPLING * OVERSAMPLING) as f32;
                *pixel = (value + 0.5).clamp(0.0, 255.0) as u8;
            }
        }
    });
    pixels
}

impl Lamp {
    /// The colour of a rod's surface at a place on the page.
    fn on(&self, rod: &Rod, x: f32, y: f32, radius: f32, hidden: f32) -> [f32; 3] {
        let (t, ox, oy) = rod.nearest(x, y, rod.per_length());
        let rise = (radius * radius - ox * ox - oy * oy).max(0.0).sqrt();
        let [begin, end] = rod.directions;
        let direction = unit([0, 1, 2].map(|axis| begin[axis] + (end[axis] - begin[axis]) * t));
        let raw = [ox, oy, rise];
        let along = dot(raw, direction);
        let normal = unit([0, 1, 2].map(|axis| raw[axis] - direction[axis] * along));
        // Wool is rough and lets light through: its shades are softer than those of a hard surface.
        let lit = (dot(normal, self.light) * 0.7 + 0.3).max(0.0);
        let rim = (1.0 - normal[2]) * (1.0 - normal[2]) * 0.12;
        let groove = self.groove(normal, direction, rod.before + rod.length * t);
        let brightness = (self.ambient + (1.0 - self.ambient) * lit * 1.25 + rim)
            * (1.0 - self.groove * groove)
            * (1.0 - hidden);
        // Shadows cool, lights warm.
        let warmth = [0.03, 0.0, -0.03];
        [0, 1, 2]
            .map(|channel| self.yarn[channel] * brightness * (1.0 + warmth[channel] * (brightness - 0.5)))
    }

    /// How deep in the groove between plies a place on the yarn is, 0 to 1: plies wind about the middle.
    fn groove(&self, normal: [f32; 3], direction: [f32; 3], length: f32) -> f32 {
        let flat = (direction[0] * direction[0] + direction[1] * direction[1]).sqrt().max(1e-6);
        let beside = (normal[0] * direction[1] - normal[1] * direction[0]) / flat;
        // The arc sine of what is beside, in turns, within a hundredth.
        let turns = 0.25 * beside * (0.637 + 0.363 * beside * beside);
        let phase = length * self.twist + turns * 2.0;
        let from_middle = (phase - phase.floor() - 0.5).abs() * 2.0;
        from_middle * from_middle * from_middle
    }
}

/// Where to look from a pixel to see what stands about it.
struct Surroundings {
    /// Steps in fine pixels along x and y, one over the distance, and how much it counts.
    steps: Vec<(isize, isize, f32, f32)>,
}

impl Surroundings {
    fn of(page: &Page) -> Surroundings {
        let steps = REACHES.iter().flat_map(|&(reach, weight)| {
            let distance = (reach * page.radius).max(1.0);
            ROSE.iter().map(move |&(dx, dy)| {
                let (dx, dy) = ((dx * distance).round() as isize, (dy * distance).round() as isize);
                (dx, dy, 1.0 / distance, weight / ROSE.len() as f32)
            })
        });
        Surroundings { steps: steps.collect() }
    }

    /// How much of the sky above a place its surroundings hide, 0 to 1.
    fn hidden(&self, samples: &Samples, page: &Page, x: usize, y: usize) -> f32 {
        let (width, height) = (page.fine_width() as usize, page.fine_height() as usize);
        let here = samples.heights[y * width + x];
        let mut sum = 0.0;
        for &(dx, dy, per_distance, weight) in &self.steps {
            let (Some(sx), Some(sy)) = (x.checked_add_signed(dx), y.checked_add_signed(dy)) else { continue };
            if sx >= width || sy >= height {
                continue;
            }
            // The angle to the top of what stands there, as a part of a right angle, flat ones left out.
            let slope = ((samples.heights[sy * width + sx] - here) * per_distance - 0.25).max(0.0);
            sum += weight * slope / (1.0 + slope);
        }
        sum
    }
}

fn dot(one: [f32; 3], other: [f32; 3]) -> f32 {
    one[0] * other[0] + one[1] * other[1] + one[2] * other[2]
}

fn unit(vector: [f32; 3]) -> [f32; 3] {
    let scale = 1.0 / dot(vector, vector).sqrt().max(1e-9);
    vector.map(|value| value * scale)
}
