//! The drawing of a plan.
use crate::Plan;
/// The drawing.
pub struct Schematic;
impl Schematic {
    /// Of a plan.
    pub fn of(_plan: &Plan) -> Schematic {
        Schematic
    }
    /// As SVG.
    pub fn to_svg(&self) -> String {
        String::new()
    }
}
