//! The drawing of a plan: the whole with its edging, and each piece, with measures in centimetres and inches.
//!
//! ```text
//! ┌───────────────────┐
//! │  the whole        │   block, edging, what is laid over, outer and inner measures
//! ├──────┬──────┬─────┤
//! │ piece│ piece│edge │   each to a scale of its own
//! └──────┴──────┴─────┘
//! ```
//!
//! Sizes, weights and colours are in [`Style`], each with its reason. Drawn for a page as narrow as that of a small
//! booklet.

mod band;
mod canvas;
mod parts;
mod style;
mod whole;

use crate::Plan;

use self::canvas::Canvas;
pub use self::style::Style;

/// The drawing of a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Schematic {
    canvas: Canvas,
    title: String,
}

impl Schematic {
    /// Draws a plan.
    pub fn of(plan: &Plan, style: &Style) -> Schematic {
        let mut canvas = Canvas::new(style);
        let mut top = style.margin;
        if plan.block.is_some() || plan.edging.is_some() {
            top = whole::draw(&mut canvas, plan, style, top) + style.gap;
        }
        let bottom = parts::draw(&mut canvas, plan, style, top);
        canvas.close(bottom + style.margin);
        let title = plan.title.clone().unwrap_or_else(|| "the pieces".to_owned());
        Schematic { canvas, title }
    }

    /// Its width and height in SVG units.
    pub fn size(&self) -> (f64, f64) {
        self.canvas.size()
    }

    /// What it shows, for those who cannot see it.
    pub fn words(&self) -> String {
        format!("Schematic of {}, with measures", self.title)
    }

    /// The drawing as an SVG document.
    pub fn to_svg(&self) -> String {
        self.canvas.to_svg(&self.words())
    }
}
