//! Draws a scene as pixels.
//!
//! Every piece of yarn is a round rod; for each pixel under it the height and the slope of its surface are known
//! in closed form, and the nearest rod is kept. Light is then reckoned from the slopes, and hollows are darkened by
//! how much higher their surroundings stand. Everything is drawn at twice the size and averaged down.

use rayon::prelude::*;

use super::{PictureError, Rgb, Scene, Style};
use crate::Vec3;

/// Pixels drawn for one, each way.
const OVERSAMPLING: u32 = 2;

/// Rows of pixels drawn by one thread at a time.
const BAND: usize = 32;

/// A step aslant of length one, along each axis.
const SLANT: f64 = std::f64::consts::FRAC_1_SQRT_2;

/// Directions in which the surroundings of a pixel are looked at.
const ROSE: [(f64, f64); 8] = [
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
const REACHES: [(f64, f64); 3] = [(0.6, 0.4), (1.5, 0.35), (3.5, 0.25)];

/// What lies under one pixel.
#[derive(Clone, Copy)]
struct Sample {
    height: f32,
    /// Slope of the surface, as the x and y of its normal; none over paper.
    normal: [f32; 2],
    /// Darkness of the groove between plies.
    groove: f32,
    yarn: bool,
}

/// A straight rod on the page.
struct Rod {
    from: Vec3,
    to: Vec3,
    /// Length of yarn before it, in stitch widths.
    along: f64,
}

impl Scene {
    /// The picture as PNG, and its width and height in pixels.
    ///
    /// # Errors
    /// [`PictureError::Packing`] when the bytes could not be packed.
    pub fn to_png(&self, style: &Style) -> Result<Vec<u8>, PictureError> {
        let page = Page::of(self, style);
        let samples = self.sample(&page, style);
        let pixels = shade(&samples, &page, self, style);
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, page.width, page.height);
        encoder.set_color(png::ColorType::Rgb);
        encoder.set_depth(png::BitDepth::Eight);
        let packing = |error: png::EncodingError| PictureError::Packing(error.to_string());
        let mut writer = encoder.write_header().map_err(packing)?;
        writer.write_image_data(&pixels).map_err(packing)?;
        writer.finish().map_err(packing)?;
        Ok(bytes)
    }

    /// Draws all rods; bands of rows are independent of each other.
    fn sample(&self, page: &Page, style: &Style) -> Vec<Sample> {
        let rods = self.rods(page);
        let radius = self.radius * page.scale;
        let fine_width = page.fine_width() as usize;
        let bands = (page.fine_height() as usize).div_ceil(BAND);
        let mut of_band: Vec<Vec<u32>> = vec![Vec::new(); bands];
        for (index, rod) in rods.iter().enumerate() {
            let (low, high) = (rod.from.y.min(rod.to.y) - radius, rod.from.y.max(rod.to.y) + radius);
            let first = (low.max(0.0) as usize) / BAND;
            let last = (high.max(0.0) as usize / BAND).min(bands.saturating_sub(1));
            for band in of_band.iter_mut().take(last + 1).skip(first) {
                band.push(index as u32);
            }
        }
        let ground = self.bounds[0].z * page.scale - radius;
        let paper = Sample { height: ground as f32, normal: [0.0; 2], groove: 0.0, yarn: false };
        let mut samples = vec![paper; fine_width * page.fine_height() as usize];
        samples.par_chunks_mut(fine_width * BAND).enumerate().for_each(|(band, samples)| {
            for &rod in &of_band[band] {
                rods[rod as usize].draw(samples, fine_width, band * BAND, radius, page, style);
            }
        });
        samples
    }

    fn rods(&self, page: &Page) -> Vec<Rod> {
        let mut rods = Vec::new();
        for line in &self.lines {
            let mut along = 0.0;
            for pair in line.windows(2) {
                let (from, to) = (page.place(pair[0]), page.place(pair[1]));
                rods.push(Rod { from, to, along });
                along += (pair[1] - pair[0]).norm();
            }
        }
        rods
    }
}

impl Rod {
    fn draw(
        &self,
        samples: &mut [Sample],
        width: usize,
        top: usize,
        radius: f64,
        page: &Page,
        style: &Style,
    ) {
        let rows = samples.len() / width;
        let span = |a: f64, b: f64, most: usize| {
            let low = (a.min(b) - radius).floor().max(0.0) as usize;
            let high = ((a.max(b) + radius).ceil().max(0.0) as usize + 1).min(most);
            low..high
        };
        let along = self.to - self.from;
        let flat = (along.x * along.x + along.y * along.y).max(1e-9);
        let direction = along.unit();
        for y in span(self.from.y - top as f64, self.to.y - top as f64, rows) {
            for x in span(self.from.x, self.to.x, width) {
                let (px, py) = (x as f64 + 0.5, (y + top) as f64 + 0.5);
                let (dx, dy) = (px - self.from.x, py - self.from.y);
                let t = ((dx * along.x + dy * along.y) / flat).clamp(0.0, 1.0);
                let (ox, oy) = (dx - along.x * t, dy - along.y * t);
                let off = ox * ox + oy * oy;
                if off >= radius * radius {
                    continue;
                }
                let rise = (radius * radius - off).sqrt();
                let height = self.from.z + along.z * t + rise;
                let sample = &mut samples[y * width + x];
                if f64::from(sample.height) >= height {
                    continue;
                }
                let mut normal = Vec3::new(ox, oy, rise) * (1.0 / radius);
                normal = (normal - direction * normal.dot(direction)).unit();
                let length = self.along + along.norm() * t / page.scale;
                let groove = groove(normal, direction, length, style);
                *sample = Sample {
                    height: height as f32,
                    normal: [normal.x as f32, normal.y as f32],
                    groove: groove as f32,
                    yarn: true,
                };
            }
        }
    }
}

/// How deep in the groove between plies a place on the yarn is, 0 to 1: plies wind about the middle.
fn groove(normal: Vec3, direction: Vec3, length: f64, style: &Style) -> f64 {
    let side = direction.cross(Vec3::new(0.0, 0.0, 1.0)).unit();
    let angle = f64::atan2(normal.dot(side), normal.z) / std::f64::consts::TAU;
    let phase = (length * style.twist + angle * 2.0).rem_euclid(1.0);
    let from_middle = (phase - 0.5).abs() * 2.0;
    from_middle.powi(3)
}

/// The page in pixels; y runs downwards.
struct Page {
    width: u32,
    height: u32,
    /// Fine pixels to a stitch width.
    scale: f64,
    left: f64,
    top: f64,
}

impl Page {
    fn of(scene: &Scene, style: &Style) -> Page {
        let room = style.margin + scene.radius;
        let size = scene.bounds[1] - scene.bounds[0];
        let (across, up) = (size.x + 2.0 * room, size.y + 2.0 * room);
        let pixels = f64::from(style.pixels.clamp(16, 8000));
        let per_stitch = (pixels / across.max(up)).min(style.stitch_pixels.max(1.0));
        Page {
            width: (across * per_stitch).ceil().max(1.0) as u32,
            height: (up * per_stitch).ceil().max(1.0) as u32,
            scale: per_stitch * f64::from(OVERSAMPLING),
            left: scene.bounds[0].x - room,
            top: scene.bounds[1].y + room,
        }
    }

    fn fine_width(&self) -> u32 {
        self.width * OVERSAMPLING
    }

    fn fine_height(&self) -> u32 {
        self.height * OVERSAMPLING
    }

    fn place(&self, point: Vec3) -> Vec3 {
        Vec3::new((point.x - self.left) * self.scale, (self.top - point.y) * self.scale, point.z * self.scale)
    }
}

/// Lights the samples and averages them to pixels.
fn shade(samples: &[Sample], page: &Page, scene: &Scene, style: &Style) -> Vec<u8> {
    let width = page.width as usize;
    let mut pixels = vec![0u8; width * page.height as usize * 3];
    let light = style.light.unit();
    // On the page y runs downwards.
    let light = Vec3::new(light.x, -light.y, light.z);
    pixels.par_chunks_mut(width * 3).enumerate().for_each(|(y, row)| {
        for (x, pixel) in row.chunks_mut(3).enumerate() {
            let mut sum = [0.0; 3];
            // Hollows change slowly: one look round serves the whole pixel.
            let (fx, fy) = (x * OVERSAMPLING as usize, y * OVERSAMPLING as usize);
            let hidden = hidden(samples, page, scene.radius * page.scale, fx, fy) * style.hollow;
            for fine in 0..OVERSAMPLING * OVERSAMPLING {
                let fx = x * OVERSAMPLING as usize + (fine % OVERSAMPLING) as usize;
                let fy = y * OVERSAMPLING as usize + (fine / OVERSAMPLING) as usize;
                let sample = samples[fy * page.fine_width() as usize + fx];
                let colour = colour(sample, style, light, hidden);
                for (sum, colour) in sum.iter_mut().zip(colour) {
                    *sum += colour;
                }
            }
            for (pixel, sum) in pixel.iter_mut().zip(sum) {
                let value = sum / f64::from(OVERSAMPLING * OVERSAMPLING);
                *pixel = value.clamp(0.0, 255.0).round() as u8;
            }
        }
    });
    pixels
}

fn colour(sample: Sample, style: &Style, light: Vec3, hidden: f64) -> [f64; 3] {
    let channels = |Rgb(red, green, blue): Rgb| [red, green, blue].map(f64::from);
    if !sample.yarn {
        return channels(style.paper).map(|channel| channel * (1.0 - 0.55 * hidden));
    }
    let [nx, ny] = sample.normal.map(f64::from);
    let normal = Vec3::new(nx, ny, (1.0 - nx * nx - ny * ny).max(0.0).sqrt());
    // Wool is rough and lets light through: its shades are softer than those of a hard surface.
    let lit = (normal.dot(light) * 0.7 + 0.3).max(0.0);
    let rim = (1.0 - normal.z).powi(2) * 0.12;
    let brightness = (style.ambient + (1.0 - style.ambient) * lit * 1.25 + rim)
        * (1.0 - style.groove * f64::from(sample.groove))
        * (1.0 - hidden);
    let warmth = [1.03, 1.0, 0.97];
    let mut out = channels(style.yarn);
    for (channel, warm) in out.iter_mut().zip(warmth) {
        // Shadows cool, lights warm.
        *channel *= brightness * (1.0 + (warm - 1.0) * (brightness - 0.5));
    }
    out
}

/// How much of the sky above a place its surroundings hide, 0 to 1.
fn hidden(samples: &[Sample], page: &Page, radius: f64, x: usize, y: usize) -> f64 {
    let (width, height) = (page.fine_width() as usize, page.fine_height() as usize);
    let here = f64::from(samples[y * width + x].height);
    let mut sum = 0.0;
    for (reach, weight) in REACHES {
        let distance = reach * radius;
        for (dx, dy) in ROSE {
            let (sx, sy) = (x as f64 + dx * distance, y as f64 + dy * distance);
            if sx < 0.0 || sy < 0.0 || sx >= width as f64 || sy >= height as f64 {
                continue;
            }
            let there = f64::from(samples[sy as usize * width + sx as usize].height);
            // The angle to the top of what stands there, as a part of a right angle, flat ones left out.
            let slope = ((there - here) / distance - 0.25).max(0.0);
            sum += weight * slope / (1.0 + slope);
        }
    }
    sum / ROSE.len() as f64
}
