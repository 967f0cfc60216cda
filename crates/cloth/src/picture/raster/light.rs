//! The light on what is seen.
//!
//! Light comes from one direction and, weaker, from everywhere; hollows are darkened by how much higher their
//! surroundings stand, and the grooves between the plies of the yarn are drawn.

use rayon::prelude::*;

use super::{OVERSAMPLING, PAPER, Page, Rod, Samples};
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
const PAPER_SHADE: f32 = 0.45;

/// Plies of the yarn.
const PLIES: f32 = 3.0;

/// How much of a ply's lean is along the yarn, against that about it.
const LEAN: f32 = 0.5;

/// How much the fibres differ in brightness.
const FIBRE: f32 = 0.05;

/// The light of a picture, made ready.
struct Lamp {
    light: [f32; 3],
    paper: [f32; 3],
    yarn: [f32; 3],
    ambient: f32,
    twist: f32,
    groove: f32,
    /// Radius of the yarn in fine pixels, and the size of one in stitch widths.
    radius: f32,
    pixel: f32,
}

impl Lamp {
    fn of(style: &Style, page: &Page) -> Lamp {
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
            radius: page.radius,
            pixel: 1.0 / page.scale as f32,
        }
    }
}

/// Lights the samples and averages them to pixels.
pub(super) fn shade(samples: &Samples, rods: &[Rod], page: &Page, style: &Style) -> Vec<u8> {
    let width = page.width as usize;
    let fine_width = page.fine_width() as usize;
    let lamp = Lamp::of(style, page);
    let hollows = hollows(samples, page);
    let mut pixels = vec![0u8; width * page.height as usize * 3];
    pixels.par_chunks_mut(width * 3).enumerate().for_each(|(y, row)| {
        for (x, pixel) in row.chunks_mut(3).enumerate() {
            let (fx, fy) = (x * OVERSAMPLING as usize, y * OVERSAMPLING as usize);
            let hidden = hollows[y * width + x] * style.hollow as f32;
            let first = fy * fine_width + fx;
            let fine =
                [first, first + 1, first + fine_width, first + fine_width + 1].map(|at| samples.rods[at]);
            let colour = |rod: u32, x: f32, y: f32| match rods.get(rod as usize) {
                None => lamp.paper.map(|channel| channel * (1.0 - PAPER_SHADE * hidden)),
                Some(rod) => lamp.on(rod, fx as f32 + x, fy as f32 + y, hidden),
            };
            // Within one bend of the yarn the light changes little, and its middle will do.
            let (least, most) = (fine.into_iter().fold(PAPER, u32::min), fine.into_iter().fold(0, u32::max));
            let value = if most - least <= 1 {
                colour(fine[0], 1.0, 1.0)
            } else {
                let each = [(0.5, 0.5), (1.5, 0.5), (0.5, 1.5), (1.5, 1.5)];
                let colours = [0, 1, 2, 3].map(|place| colour(fine[place], each[place].0, each[place].1));
                [0, 1, 2].map(|channel| colours.iter().map(|colour| colour[channel]).sum::<f32>() / 4.0)
            };
            for (pixel, value) in pixel.iter_mut().zip(value) {
                *pixel = (value + 0.5).clamp(0.0, 255.0) as u8;
            }
        }
    });
    pixels
}

impl Lamp {
    /// The colour of a rod's surface at a place on the page.
    fn on(&self, rod: &Rod, x: f32, y: f32, hidden: f32) -> [f32; 3] {
        let (t, ox, oy) = rod.nearest(x, y, rod.per_length());
        let rise = (self.radius * self.radius - ox * ox - oy * oy).max(0.0).sqrt();
        let [begin, end] = rod.directions;
        let direction = unit([0, 1, 2].map(|axis| begin[axis] + (end[axis] - begin[axis]) * t));
        let raw = [ox, oy, rise];
        let along = dot(raw, direction);
        let round = unit([0, 1, 2].map(|axis| raw[axis] - direction[axis] * along));
        let length = rod.before + rod.length * t + along * self.pixel;
        let ply = self.ply(round, direction, length);
        let normal = unit([0, 1, 2].map(|axis| round[axis] + ply.tilt[axis] * self.groove));
        // Wool is rough and lets light through: its shades are softer than those of a hard surface.
        let lit = (dot(normal, self.light) * 0.7 + 0.3).max(0.0);
        let rim = (1.0 - round[2]) * (1.0 - round[2]) * 0.12;
        let brightness = (self.ambient + (1.0 - self.ambient) * lit * 1.25 + rim)
            * (1.0 - self.groove * 0.5 * ply.deep)
            * (1.0 + FIBRE * ply.fibre)
            * (1.0 - hidden);
        // Shadows cool, lights warm.
        let warmth = [0.03, 0.0, -0.03];
        [0, 1, 2]
            .map(|channel| self.yarn[channel] * brightness * (1.0 + warmth[channel] * (brightness - 0.5)))
    }

    /// What the plies, which wind about the middle, make of a place on the yarn.
    fn ply(&self, round: [f32; 3], direction: [f32; 3], length: f32) -> Ply {
        // Where the yarn runs to or from the eye, there is no beside, and the plies fade.
        let flat = (direction[0] * direction[0] + direction[1] * direction[1]).sqrt().max(1e-6);
        let beside = (round[0] * direction[1] - round[1] * direction[0]) / flat;
        // The arc sine of what is beside, in turns, within a hundredth.
        let turns = 0.25 * beside * (0.637 + 0.363 * beside * beside);
        // A whole turn more keeps the phase positive, where a whole number is what is cut off.
        let phase = length * self.twist + turns * PLIES + PLIES;
        let number = phase as i32;
        let across = (phase - number as f32) * 2.0 - 1.0;
        let about = cross(direction, round);
        // The plies are round themselves: each leans away from its own middle, mostly about the yarn.
        let tilt = [0, 1, 2].map(|axis| (direction[axis] * LEAN - about[axis]) * across * flat);
        // Fibres run with the ply, a few beside each other, and change slowly along it.
        let place = (across + 1.0) * 4.0;
        let thread = number * 8 + place as i32;
        let (at, between) = (length as i32, length - length as i32 as f32);
        let fibre = noise(thread, at) * (1.0 - between) + noise(thread, at + 1) * between;
        Ply { tilt, deep: across * across * across * across * flat, fibre: fibre * flat }
    }
}

/// A place on the yarn as its plies have it.
struct Ply {
    /// How the surface leans there.
    tilt: [f32; 3],
    /// How deep in the groove between two plies it is, 0 to 1.
    deep: f32,
    /// How much lighter or darker the fibres there are, -1 to 1.
    fibre: f32,
}

/// A number from -1 to 1 that looks like chance and is always the same.
fn noise(one: i32, other: i32) -> f32 {
    let mixed = (one as u32).wrapping_mul(0x9e37_79b9) ^ (other as u32).wrapping_mul(0x85eb_ca6b);
    let mixed = (mixed ^ mixed >> 15).wrapping_mul(0x2c1b_3c6d);
    ((mixed ^ mixed >> 12) & 0xffff) as f32 / 32768.0 - 1.0
}

/// How much of the sky above each pixel its surroundings hide, 0 to 1. Hollows change slowly: one look round serves
/// the whole pixel.
fn hollows(samples: &Samples, page: &Page) -> Vec<f32> {
    let (width, height) = (page.width as usize, page.height as usize);
    let step = OVERSAMPLING as usize;
    let mut heights = vec![0.0; width * height];
    heights.par_chunks_mut(width).enumerate().for_each(|(y, coarse)| {
        let fine = samples.heights[y * step * width * step..].iter().step_by(step);
        coarse.iter_mut().zip(fine).for_each(|(coarse, fine)| *coarse = *fine);
    });
    let looks = looks(page.radius / OVERSAMPLING as f32);
    let mut hidden = vec![0.0; width * height];
    hidden.par_chunks_mut(width).enumerate().for_each(|(y, hidden)| {
        let here = &heights[y * width..(y + 1) * width];
        for &(dx, dy, per_distance, weight) in &looks {
            let Some(there) = y.checked_add_signed(dy).filter(|&y| y < height) else { continue };
            let there = &heights[there * width..(there + 1) * width];
            let (first, end) = ((-dx).max(0) as usize, width.saturating_sub(dx.max(0) as usize));
            if first >= end {
                continue;
            }
            let there = &there[first.wrapping_add_signed(dx)..end.wrapping_add_signed(dx)];
            for ((hidden, here), there) in hidden[first..end].iter_mut().zip(&here[first..end]).zip(there) {
                // The angle to the top of what stands there, as a part of a right angle, flat ones left out.
                let slope = ((there - here) * per_distance - 0.25).max(0.0);
                *hidden += weight * slope / (1.0 + slope);
            }
        }
    });
    hidden
}

/// Where to look from a pixel: steps along x and y, one over the distance in fine pixels, and how much it counts.
fn looks(radius: f32) -> Vec<(isize, isize, f32, f32)> {
    let looks = REACHES.iter().flat_map(|&(reach, weight)| {
        let distance = (reach * radius).max(1.0);
        ROSE.iter().map(move |&(dx, dy)| {
            let (dx, dy) = ((dx * distance).round() as isize, (dy * distance).round() as isize);
            (dx, dy, 1.0 / (distance * OVERSAMPLING as f32), weight / ROSE.len() as f32)
        })
    });
    looks.collect()
}

fn cross(one: [f32; 3], other: [f32; 3]) -> [f32; 3] {
    [
        one[1] * other[2] - one[2] * other[1],
        one[2] * other[0] - one[0] * other[2],
        one[0] * other[1] - one[1] * other[0],
    ]
}

fn dot(one: [f32; 3], other: [f32; 3]) -> f32 {
    one[0] * other[0] + one[1] * other[1] + one[2] * other[2]
}

fn unit(vector: [f32; 3]) -> [f32; 3] {
    let scale = 1.0 / dot(vector, vector).sqrt().max(1e-9);
    vector.map(|value| value * scale)
}
