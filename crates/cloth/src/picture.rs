//! Still pictures of the cloth: its yarn as tubes, seen from straight before.
//!
//! Two steps: [`Scene::of`] lays the yarn out on the page as positioned lines, which can be looked at as numbers;
//! [`Scene::to_png`] and [`Scene::to_svg`] draw them. Nothing here knows why the cloth lies as it does.

mod raster;
mod style;
mod svg;

use crate::path::{DRAWN_RADIUS, strands};
use crate::vector::extent;
use crate::{Mesh, Vec3};

pub use self::raster::Picture;
pub use self::style::{Rgb, Style};

/// The side of the cloth that is looked at.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Facing {
    /// The right side.
    #[default]
    Right,
    /// The wrong side.
    Wrong,
}

/// Stitches that a picture as SVG may show; it has several lines for each.
pub const SVG_LIMIT: usize = 12_000;

/// Why there is no picture.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PictureError {
    /// There is nothing to see.
    #[error("there is no yarn to draw")]
    Empty,
    /// A drawing as SVG would be too large to open.
    #[error(
        "{0} stitches are too many for an SVG drawing, which shows up to {SVG_LIMIT}; a PNG has room for them"
    )]
    TooManyForSvg(usize),
    /// The bytes could not be packed.
    #[error("the picture could not be packed: {0}")]
    Packing(String),
}

/// Yarn laid out to be drawn.
///
/// The eye looks along -z; x is to the right, y up, in widths of a plain stitch.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    /// The middle lines of the yarn.
    pub lines: Vec<Vec<Vec3>>,
    /// Radius of the yarn.
    pub radius: f64,
    /// Least and greatest corner of all that is drawn.
    pub bounds: [Vec3; 2],
}

/// Room between cloths that are shown beside each other, in stitch widths.
const BETWEEN: f64 = 3.0;

impl Scene {
    /// Several cloths beside each other, from left to right, standing on one line.
    ///
    /// # Errors
    /// [`PictureError::Empty`] where there is none.
    pub fn beside(scenes: Vec<Scene>) -> Result<Scene, PictureError> {
        let mut scenes = scenes.into_iter();
        let mut all = scenes.next().ok_or(PictureError::Empty)?;
        for scene in scenes {
            let [low, high] = &mut all.bounds;
            let shift = Vec3::new(high.x + BETWEEN - scene.bounds[0].x, low.y - scene.bounds[0].y, 0.0);
            let [own_low, own_high] = scene.bounds.map(|corner| corner + shift);
            all.lines.extend(
                scene
                    .lines
                    .into_iter()
                    .map(|line| line.into_iter().map(|point| point + shift).collect::<Vec<_>>()),
            );
            *low = Vec3::new(low.x, low.y, low.z.min(own_low.z));
            *high = Vec3::new(own_high.x, high.y.max(own_high.y), high.z.max(own_high.z));
        }
        Ok(all)
    }

    /// The yarn of a relaxed mesh as seen from one side.
    ///
    /// # Errors
    /// [`PictureError::Empty`] when there is no yarn, or none at a place that is a number.
    pub fn of(mesh: &Mesh, positions: &[Vec3], facing: Facing) -> Result<Scene, PictureError> {
        let seen = |point: Vec3| match facing {
            Facing::Right => point,
            Facing::Wrong => Vec3::new(-point.x, point.y, -point.z),
        };
        let lines = strands(mesh, positions).into_iter().map(|strand| strand.points);
        let lines: Vec<Vec<Vec3>> =
            lines.map(|points| points.into_iter().map(seen).collect::<Vec<_>>()).collect();
        let [x, y, z] = [|p: &Vec3| p.x, |p: &Vec3| p.y, |p: &Vec3| p.z]
            .map(|axis: fn(&Vec3) -> f64| extent(lines.iter().flatten().map(axis)));
        let bounds = [Vec3::new(x.0, y.0, z.0), Vec3::new(x.1, y.1, z.1)];
        let size = bounds[1] - bounds[0];
        let sound = size.x.is_finite() && size.y.is_finite() && size.x >= 0.0 && size.y >= 0.0;
        if lines.is_empty() || !sound {
            return Err(PictureError::Empty);
        }
        Ok(Scene { lines, radius: DRAWN_RADIUS, bounds })
    }
}
