//! Draws a scene as lines.
//!
//! Yarn that lies higher is drawn later; each short piece is a light line on a darker and wider one, so that where
//! it crosses another its edges part them.

use std::fmt::Write as _;

use super::{PictureError, Rgb, SVG_LIMIT, Scene, Style};
use crate::Vec3;

/// Points of a line that make one piece: short enough to lie at one height.
const PIECE: usize = 5;

/// Pixels to a stitch width.
const SCALE: f64 = 16.0;

impl Scene {
    /// The picture as SVG.
    ///
    /// # Errors
    /// [`PictureError::TooManyForSvg`] beyond [`SVG_LIMIT`] stitches.
    pub fn to_svg(&self, style: &Style) -> Result<String, PictureError> {
        if self.lines.len() > SVG_LIMIT {
            return Err(PictureError::TooManyForSvg(self.lines.len()));
        }
        let room = style.margin + self.radius;
        let [low, high] = self.bounds;
        let (width, height) = ((high.x - low.x + 2.0 * room) * SCALE, (high.y - low.y + 2.0 * room) * SCALE);
        let place = |point: Vec3| ((point.x - low.x + room) * SCALE, (high.y + room - point.y) * SCALE);
        let mut pieces = self.pieces();
        pieces.sort_by(|(one, _), (other, _)| one.total_cmp(other));
        let mut out = String::new();
        let _ = write!(
            out,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.0}\" height=\"{height:.0}\" viewBox=\"0 0 \
             {width:.1} {height:.1}\" role=\"img\"><title>The cloth</title>\
             <rect width=\"100%\" height=\"100%\" fill=\"{}\"/>\
             <g fill=\"none\" stroke-linecap=\"round\" stroke-linejoin=\"round\">",
            hex(style.paper, 1.0)
        );
        let depth = (high.z - low.z).max(1e-9);
        for (z, points) in pieces {
            let points: Vec<(f64, f64)> = points.iter().map(|&point| place(point)).collect();
            // What lies deeper gets less light.
            let light = 0.78 + 0.22 * (z - low.z) / depth;
            draw_piece(&mut out, &points, self.radius * 2.0 * SCALE, light, style);
        }
        out.push_str("</g></svg>\n");
        Ok(out)
    }

    /// The lines in short pieces, each with its mean height.
    fn pieces(&self) -> Vec<(f64, &[Vec3])> {
        let mut pieces = Vec::new();
        for line in &self.lines {
            let mut from = 0;
            while from + 1 < line.len() {
                let to = (from + PIECE).min(line.len() - 1);
                let points = &line[from..=to];
                let z = points.iter().map(|point| point.z).sum::<f64>() / points.len() as f64;
                pieces.push((z, points));
                from = to;
            }
        }
        pieces
    }
}

/// Draws one piece of yarn, so many pixels thick: a light line on a darker and wider one.
fn draw_piece(out: &mut String, points: &[(f64, f64)], thick: f64, light: f64, style: &Style) {
    let mut path = String::new();
    for (index, (x, y)) in points.iter().enumerate() {
        let _ = write!(path, "{}{x:.1} {y:.1}", if index == 0 { "M" } else { "L" });
    }
    let _ = write!(
        out,
        "<path d=\"{path}\" stroke=\"{}\" stroke-width=\"{thick:.1}\"/>\
         <path d=\"{path}\" stroke=\"{}\" stroke-width=\"{:.1}\"/>",
        hex(style.yarn, light * 0.55),
        hex(style.yarn, light * 1.1),
        thick * 0.72
    );
}

/// A colour in so much light, 1 being full.
fn hex(Rgb(red, green, blue): Rgb, light: f64) -> String {
    let [red, green, blue] =
        [red, green, blue].map(|value| (f64::from(value) * light).clamp(0.0, 255.0) as u8);
    format!("#{red:02x}{green:02x}{blue:02x}")
}
