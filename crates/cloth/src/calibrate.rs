//! The gauge of plain fabric from a swatch of any stitch.
//!
//! The swatch is knitted in the model first; the ratio of her ruler to the model's gives the size of a plain
//! stitch, and so the loop length that all other parts are worked with. Folds depend a little on how tall a stitch
//! is, so the proportion is corrected and the model knitted again, a few times.

use crate::gauge::GaugeError;
use crate::mesh::MeshError;
use crate::solve::Settings;
use crate::{Drape, Fabric, Gauge, Measures, Mesh, State};

/// A swatch as she measured it.
#[derive(Clone, Debug, PartialEq)]
pub struct Swatch {
    /// What was knitted.
    pub piece: loops::Piece,
    /// Width in centimetres, at half height, not stretched.
    pub width: f64,
    /// Height in centimetres, cast-on to top.
    pub height: f64,
}

/// Why a swatch gives no gauge.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SwatchError {
    /// There is no cloth in the model.
    #[error(transparent)]
    Mesh(#[from] MeshError),
    /// The measures are no lengths, or far from what any yarn gives.
    #[error("the swatch measures {width} by {height} cm, which gives no possible gauge")]
    Size {
        /// Width in centimetres.
        width: f64,
        /// Height in centimetres.
        height: f64,
    },
}

/// Rounds of correction. The second changes the proportion by under 1 %, the third by under 0.1 %.
const ROUNDS: usize = 3;

/// What a ruler on soft cloth errs by, in centimetres.
const RULER: f64 = 0.2;

impl Swatch {
    /// The gauge of plain fabric in this yarn on these needles, and the fabric with its proportion.
    ///
    /// # Errors
    /// [`SwatchError`] when the swatch cannot be knitted or its measures give no gauge.
    pub fn calibrate(&self, fabric: &Fabric) -> Result<(Gauge, Fabric), SwatchError> {
        let size = SwatchError::Size { width: self.width, height: self.height };
        let mut fabric = *fabric;
        let mut gauge = None;
        for _ in 0..ROUNDS {
            let mesh = Mesh::of(&self.piece, &fabric)?;
            let unit = Gauge::per_10_cm(10.0, 10.0 * fabric.rows_per_stitch).map_err(|_| size.clone())?;
            let drape =
                Drape::of(&mesh, &fabric, State::Free, &Settings::default()).map_err(|_| size.clone())?;
            let Some(model) = Measures::of(&mesh, &drape, 0, &unit) else { return Err(size) };
            let width = self.width / model.width.value;
            let height = self.height / model.height.value / fabric.rows_per_stitch;
            let found: Result<Gauge, GaugeError> = Gauge::per_10_cm(10.0 / width, 10.0 / height);
            let found = found.map_err(|_| size.clone())?;
            fabric.rows_per_stitch = found.rows_per_stitch();
            gauge = Some(found);
        }
        let error = (RULER / self.width).hypot(RULER / self.height) / std::f64::consts::SQRT_2;
        gauge.map(|gauge| (gauge.with_error(error), fabric)).ok_or(size)
    }
}
