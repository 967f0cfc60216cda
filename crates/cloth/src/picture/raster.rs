//! Draws a scene as pixels.
//!
//! Every piece of yarn is a round rod. First each rod writes the height of its surface to the pixels under it, and
//! the highest is kept with the rod it belongs to; what is hidden costs no more than that. Then [`light`] reckons
//! the slope of the surface and its light for what is seen. Everything is drawn at twice the size and averaged
//! down.

mod light;

use rayon::prelude::*;

use super::{PictureError, Scene, Style};
use crate::Vec3;

/// Pixels drawn for one, each way.
const OVERSAMPLING: u32 = 2;

/// Rows of pixels drawn by one thread at a time.
const BAND: usize = 32;

/// How far a rod may leave the bend it stands for, in fine pixels: shorter rods would be drawn over each other many
/// times.
const SAG: f64 = 0.35;

/// The radius of the tightest bends of a loop, in stitch widths.
const BEND: f64 = 0.25;

/// Pixels reckoned at once.
const LANES: usize = 8;

/// No rod: the paper.
const PAPER: u32 = u32::MAX;

/// A straight rod on the page, in fine pixels.
struct Rod {
    from: [f32; 3],
    along: [f32; 3],
    /// Directions of the yarn at both ends, so that the light runs smoothly round bends.
    directions: [[f32; 3]; 2],
    /// Length of yarn before it and in it, in stitch widths.
    before: f32,
    length: f32,
}

/// What is seen: for each fine pixel the height of the surface, and the rod it belongs to.
struct Samples {
    heights: Vec<f32>,
    rods: Vec<u32>,
}

/// A picture with its size in pixels.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// As PNG.
    pub png: Vec<u8>,
    /// Width in pixels.
    pub width: u32,
    /// Height in pixels.
    pub height: u32,
}

impl Scene {
    /// The picture as PNG.
    ///
    /// # Errors
    /// [`PictureError::Packing`] when the bytes could not be packed.
    pub fn to_png(&self, style: &Style) -> Result<Vec<u8>, PictureError> {
        self.to_picture(style).map(|picture| picture.png)
    }

    /// The picture as PNG, with its size.
    ///
    /// # Errors
    /// [`PictureError::Packing`] when the bytes could not be packed.
    pub fn to_picture(&self, style: &Style) -> Result<Picture, PictureError> {
        let page = Page::of(self, style);
        let rods = self.rods(&page);
        let samples = self.sample(&page, &rods);
        let pixels = light::shade(&samples, &rods, &page, style);
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, page.width, page.height);
        encoder.set_color(png::ColorType::Rgb);
        encoder.set_depth(png::BitDepth::Eight);
        encoder.set_compression(png::Compression::Fast);
        let packing = |error: png::EncodingError| PictureError::Packing(error.to_string());
        let mut writer = encoder.write_header().map_err(packing)?;
        writer.write_image_data(&pixels).map_err(packing)?;
        writer.finish().map_err(packing)?;
        Ok(Picture { png: bytes, width: page.width, height: page.height })
    }

    /// Draws all rods; bands of rows are independent of each other.
    fn sample(&self, page: &Page, rods: &[Rod]) -> Samples {
        let width = page.fine_width() as usize;
        let bands = (page.fine_height() as usize).div_ceil(BAND);
        let mut of_band: Vec<Vec<u32>> = vec![Vec::new(); bands];
        for (index, rod) in rods.iter().enumerate() {
            let (low, high) = rod.span(1);
            let first = (low - page.radius).max(0.0) as usize / BAND;
            let last = ((high + page.radius).max(0.0) as usize / BAND).min(bands.saturating_sub(1));
            for band in of_band.iter_mut().take(last + 1).skip(first) {
                band.push(index as u32);
            }
        }
        let ground = self.bounds[0].z * page.scale - f64::from(page.radius);
        let count = width * page.fine_height() as usize;
        // Filled by the threads, each its band: so much fresh memory takes a while to come by.
        let (mut heights, mut owners) = (vec![0.0f32; count], vec![0u32; count]);
        let rows = heights.par_chunks_mut(width * BAND).zip(owners.par_chunks_mut(width * BAND));
        rows.enumerate().for_each(|(band, (heights, owners))| {
            heights.fill(ground as f32);
            owners.fill(PAPER);
            for &rod in &of_band[band] {
                rods[rod as usize].draw(rod, heights, owners, width, band * BAND, page.radius);
            }
        });
        Samples { heights, rods: owners }
    }

    fn rods(&self, page: &Page) -> Vec<Rod> {
        let mut rods = Vec::new();
        let mut before = 0.0;
        let least = (8.0 * BEND * SAG / page.scale).sqrt();
        for line in &self.lines {
            let points = thinned(line, least);
            let tangent = |place: usize| {
                let (low, high) = (place.saturating_sub(1), (place + 1).min(points.len() - 1));
                page.turn((points[high] - points[low]).unit())
            };
            for place in 1..points.len() {
                let (from, to) = (points[place - 1], points[place]);
                let length = (to - from).norm() as f32;
                rods.push(Rod {
                    from: page.place(from),
                    along: page.turn((to - from) * page.scale),
                    directions: [tangent(place - 1), tangent(place)],
                    before,
                    length,
                });
                before += length;
            }
        }
        rods
    }
}

/// A line without the points that lie closer than `least` to the one before; its ends stay.
fn thinned(line: &[Vec3], least: f64) -> Vec<Vec3> {
    let mut points: Vec<Vec3> = Vec::with_capacity(line.len());
    let Some((&last, others)) = line.split_last() else { return points };
    for &point in others {
        let far = |from: &Vec3| (point - *from).norm() >= least;
        if points.last().is_none_or(far) {
            points.push(point);
        }
    }
    if points.len() > 1 && points.last().is_some_and(|point| (last - *point).norm() < least * 0.5) {
        points.pop();
    }
    points.push(last);
    points
}

impl Rod {
    /// Least and greatest place along an axis.
    fn span(&self, axis: usize) -> (f32, f32) {
        let (from, to) = (self.from[axis], self.from[axis] + self.along[axis]);
        (from.min(to), from.max(to))
    }

    /// How far along the rod a place on the page is, 0 to 1, and how far beside its middle line.
    fn nearest(&self, x: f32, y: f32, per_length: f32) -> (f32, f32, f32) {
        let (dx, dy) = (x - self.from[0], y - self.from[1]);
        let t = ((dx * self.along[0] + dy * self.along[1]) * per_length).clamp(0.0, 1.0);
        (t, dx - self.along[0] * t, dy - self.along[1] * t)
    }

    /// One over the square of the length as seen on the page.
    fn per_length(&self) -> f32 {
        1.0 / (self.along[0] * self.along[0] + self.along[1] * self.along[1]).max(1e-6)
    }

    fn draw(&self, own: u32, heights: &mut [f32], owners: &mut [u32], width: usize, top: usize, radius: f32) {
        let rows = heights.len() / width;
        let per_length = self.per_length();
        let (low, high) = self.span(1);
        let (left, right) = self.span(0);
        let first = ((low - radius).max(0.0) as usize).max(top) - top;
        let last = (((high + radius).max(0.0) as usize + 1).max(top) - top).min(rows);
        for row in first..last {
            let y = (row + top) as f32 + 0.5;
            // No part of the rod in this row is farther out than this.
            let beyond = (low - y).max(y - high).max(0.0);
            let reach = (radius * radius - beyond * beyond).max(0.0).sqrt();
            if reach == 0.0 {
                continue;
            }
            let from = (left - reach).max(0.0) as usize;
            let to = ((right + reach).max(0.0) as usize + 1).min(width);
            let range = row * width + from..row * width + to.max(from);
            let (heights, owners) = (&mut heights[range.clone()], &mut owners[range]);
            let mut x = from as f32 + 0.5;
            let (heights, heights_left) = heights.as_chunks_mut::<LANES>();
            let (owners, owners_left) = owners.as_chunks_mut::<LANES>();
            for (heights, owners) in heights.iter_mut().zip(owners) {
                self.cover(own, x, y, heights, owners, radius, per_length);
                x += LANES as f32;
            }
            for (height, owner) in heights_left.iter_mut().zip(owners_left) {
                let (one, other) = (std::array::from_mut(height), std::array::from_mut(owner));
                self.cover(own, x, y, one, other, radius, per_length);
                x += 1.0;
            }
        }
    }

    /// Covers a few neighbouring pixels, without branches, so that they are reckoned at once.
    #[expect(clippy::too_many_arguments, reason = "the innermost loop, which keeps all of them at hand")]
    #[inline(always)]
    fn cover<const N: usize>(
        &self,
        own: u32,
        x: f32,
        y: f32,
        heights: &mut [f32; N],
        owners: &mut [u32; N],
        radius: f32,
        per_length: f32,
    ) {
        let (dy, square) = (y - self.from[1], radius * radius);
        let along_y = dy * self.along[1];
        for lane in 0..N {
            let dx = x + lane as f32 - self.from[0];
            let t = ((dx * self.along[0] + along_y) * per_length).clamp(0.0, 1.0);
            let (ox, oy) = (dx - self.along[0] * t, dy - self.along[1] * t);
            let left = square - (ox * ox + oy * oy);
            let here = self.from[2] + self.along[2] * t + left.max(0.0).sqrt();
            let seen = (left > 0.0) & (here > heights[lane]);
            let mask = u32::from(seen).wrapping_neg();
            heights[lane] = f32::from_bits(here.to_bits() & mask | heights[lane].to_bits() & !mask);
            owners[lane] = own & mask | owners[lane] & !mask;
        }
    }
}

/// The page in pixels; y runs downwards.
struct Page {
    width: u32,
    height: u32,
    /// Fine pixels to a stitch width.
    scale: f64,
    /// Radius of the yarn in fine pixels.
    radius: f32,
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
        let scale = per_stitch * f64::from(OVERSAMPLING);
        Page {
            width: (across * per_stitch).ceil().max(1.0) as u32,
            height: (up * per_stitch).ceil().max(1.0) as u32,
            scale,
            radius: (scene.radius * scale) as f32,
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

    fn place(&self, point: Vec3) -> [f32; 3] {
        let (x, y) = (point.x - self.left, self.top - point.y);
        [x * self.scale, y * self.scale, point.z * self.scale].map(|value| value as f32)
    }

    /// A direction as it stands on the page.
    fn turn(&self, direction: Vec3) -> [f32; 3] {
        [direction.x as f32, -direction.y as f32, direction.z as f32]
    }
}
