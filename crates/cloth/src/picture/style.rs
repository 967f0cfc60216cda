//! How pictures look: one table of named defaults.

use crate::Vec3;

/// A colour as red, green and blue.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rgb(pub u8, pub u8, pub u8);

/// The looks of a picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Style {
    /// Longest side of a PNG in pixels. More shows the yarn's twist on larger pieces.
    pub pixels: u32,
    /// The most pixels a stitch is given, so that a small swatch is not blown up.
    pub stitch_pixels: f64,
    /// Room left round the cloth, in stitch widths.
    pub margin: f64,
    /// The paper.
    pub paper: Rgb,
    /// The yarn in full light: undyed wool dipped in weak indigo, dark enough to stand off the paper.
    pub yarn: Rgb,
    /// Where the light comes from; not below the paper. From the upper left, as engravers have it.
    pub light: Vec3,
    /// Light that comes from everywhere, 0 to 1. Less makes the relief harsher.
    pub ambient: f64,
    /// Turns of the plies along one stitch width of yarn.
    pub twist: f64,
    /// How round each ply stands out of the yarn, 0 to 1: its sides turn from the light, and the grooves are darker.
    pub groove: f64,
    /// How much hollows darken, 0 to 1.
    pub hollow: f64,
}

impl Default for Style {
    fn default() -> Style {
        Style {
            pixels: 1800,
            stitch_pixels: 40.0,
            margin: 1.2,
            paper: Rgb(0xf5, 0xf0, 0xe4),
            yarn: Rgb(0xb4, 0xc0, 0xc1),
            light: Vec3::new(-0.45, 0.6, 0.75),
            ambient: 0.44,
            twist: 1.4,
            groove: 0.5,
            hollow: 0.6,
        }
    }
}
