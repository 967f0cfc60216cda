//! How much yarn the cloth eats.
//!
//! Yarn in a plain stitch follows from the gauge (Munden, see [`crate::Gauge`]), and every worked loop holds as much;
//! that in a yarn over or a float follows from how long its drawn way is against a plain loop's. Cast-on, bind-off, ends
//! and allowance are those of common practice, no published source.

use loops::Op;

use crate::measure::Estimate;
use crate::mesh::Part;
use crate::path::length_ratio;
use crate::{Gauge, Measures, Mesh, Relaxation};

/// What is added to the yarn in the stitches; the defaults are common practice, no published source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Allowance {
    /// Yarn for casting on, in widths of the cast-on edge: a long tail takes three and a tenth over.
    pub cast_on: f64,
    /// Yarn for binding off, in widths of what is bound off.
    pub bind_off: f64,
    /// Length of one end to darn in, in centimetres.
    pub end: f64,
    /// Number of ends.
    pub ends: u32,
    /// Share added for safety.
    pub safety: f64,
}

impl Default for Allowance {
    fn default() -> Allowance {
        Allowance { cast_on: 3.3, bind_off: 3.5, end: 20.0, ends: 2, safety: 0.1 }
    }
}

/// The yarn of one piece, in metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Yarn {
    /// In the stitches.
    pub worked: f64,
    /// In the cast-on.
    pub cast_on: f64,
    /// In the bind-off.
    pub bind_off: f64,
    /// In the ends.
    pub ends: f64,
    /// All of it, without anything added for safety.
    pub total: Estimate,
    /// What to buy.
    pub to_buy: f64,
}

/// A yarn without a sensible length to its weight.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("the yarn must have between 1 and 10000 m to 100 g, and a ball must weigh something")]
pub struct YarnError;

/// Spread of loop lengths between hands and yarns at one gauge (±10 %, common practice), as a standard error.
const HANDS: f64 = 0.07;

impl Yarn {
    /// The yarn of one piece of a mesh.
    pub fn of(mesh: &Mesh, part: usize, measures: &Measures, gauge: &Gauge, allowance: &Allowance) -> Yarn {
        let piece = mesh.parts.get(part).map_or(0..0, Part::nodes);
        let stitches = &mesh.stitches[piece];
        let loop_length = gauge.loop_length(Relaxation::Wet) / 100.0;
        let ratio = gauge.rows_per_stitch();
        // The cast-on has an amount of its own.
        let worked = stitches.iter().filter(|patch| patch.op != Op::Co);
        let worked = worked.map(|patch| length_ratio(patch, ratio)).sum::<f64>() * loop_length;
        let bound_off = stitches.iter().filter(|patch| patch.bound_off).count() as f64;
        let plain = |stitches: f64| stitches * gauge.width() / 100.0;
        let cast_on_edge = measures.edges[0].map_or(0.0, |edge| edge.value / 100.0);
        let cast_on = cast_on_edge * allowance.cast_on;
        let bind_off = plain(bound_off) * allowance.bind_off;
        let ends = allowance.end / 100.0 * f64::from(allowance.ends);
        let total = worked + cast_on + bind_off + ends;
        let error = total * (HANDS * HANDS + 4.0 * gauge.error() * gauge.error()).sqrt();
        Yarn {
            worked,
            cast_on,
            bind_off,
            ends,
            total: Estimate { value: total, error },
            to_buy: total * (1.0 + allowance.safety),
        }
    }

    /// Metres in the stitches of each row of a piece, the cast-on first; rows without stitches are left out.
    pub fn in_rows(mesh: &Mesh, part: usize, gauge: &Gauge) -> Vec<f64> {
        let loop_length = gauge.loop_length(Relaxation::Wet) / 100.0;
        let ratio = gauge.rows_per_stitch();
        let in_loop = |&node: &u32| length_ratio(&mesh.stitches[node as usize], ratio) * loop_length;
        mesh.rows(part).iter().map(|row| row.iter().map(in_loop).sum()).collect()
    }

    /// Weight in grams of what is used, and the whole balls to buy.
    ///
    /// # Errors
    /// [`YarnError`] for a yarn that is none.
    pub fn weigh(&self, metres_per_100_g: f64, ball_grams: f64) -> Result<(f64, u32), YarnError> {
        let sound =
            (1.0..=10_000.0).contains(&metres_per_100_g) && ball_grams.is_finite() && ball_grams > 0.0;
        if !sound {
            return Err(YarnError);
        }
        let grams = |metres: f64| metres * 100.0 / metres_per_100_g;
        Ok((grams(self.total.value), (grams(self.to_buy) / ball_grams).ceil() as u32))
    }
}
