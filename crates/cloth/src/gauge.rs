//! Gauge and loop length.
//!
//! In a relaxed plain fabric the size of a stitch follows from the yarn in its loop alone: courses and wales a
//! centimetre are a constant divided by the loop length (D. L. Munden, "The geometry and dimensional properties of
//! plain-knit fabrics", *J. Text. Inst.* 50 (1959) T448; J. J. F. Knapton and others, *Text. Res. J.* 38 (1968)
//! 999; the constants from memory).

/// How far a fabric has come to rest.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Relaxation {
    /// Lain at rest off the needles.
    Dry,
    /// Soaked and dried flat, unstretched.
    #[default]
    Wet,
    /// Washed with tumbling.
    Full,
}

impl Relaxation {
    /// Courses a centimetre times the loop length in centimetres.
    pub fn courses(self) -> f64 {
        match self {
            Relaxation::Dry => 5.0,
            Relaxation::Wet => 5.3,
            Relaxation::Full => 5.5,
        }
    }

    /// Wales a centimetre times the loop length in centimetres.
    pub fn wales(self) -> f64 {
        match self {
            Relaxation::Dry => 3.8,
            Relaxation::Wet => 4.1,
            Relaxation::Full => 4.2,
        }
    }

    /// Stitches a square centimetre times the square of the loop length, as printed; rounded there, so that it is
    /// not quite the product of the others.
    pub fn stitches(self) -> f64 {
        match self {
            Relaxation::Dry => 19.0,
            Relaxation::Wet => 21.6,
            Relaxation::Full => 23.1,
        }
    }
}

/// The size of one stitch of plain fabric.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gauge {
    width: f64,
    height: f64,
    error: f64,
}

/// A gauge that no yarn can have.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("a gauge is two numbers, stitches and rows to 10 cm, each between 1 and 300")]
pub struct GaugeError;

/// Spread of Munden's constants between yarns (from memory).
const CONSTANT_SPREAD: f64 = 0.04;

impl Gauge {
    /// So many stitches and rows of plain fabric to 10 cm.
    ///
    /// # Errors
    /// [`GaugeError`] for numbers outside 1 to 300, or none.
    pub fn per_10_cm(stitches: f64, rows: f64) -> Result<Gauge, GaugeError> {
        // Negated, so that what is not a number is refused too.
        if !((1.0..=300.0).contains(&stitches) && (1.0..=300.0).contains(&rows)) {
            return Err(GaugeError);
        }
        // Half a stitch in ten centimetres is what a ruler shows.
        let error = (0.5 / stitches).hypot(0.5 / rows) / std::f64::consts::SQRT_2;
        Ok(Gauge { width: 10.0 / stitches, height: 10.0 / rows, error })
    }

    /// The plain fabric that loops of this length in centimetres make.
    ///
    /// # Errors
    /// [`GaugeError`] for a length that gives no possible gauge.
    pub fn of_loop_length(length: f64, relaxation: Relaxation) -> Result<Gauge, GaugeError> {
        let gauge =
            Gauge::per_10_cm(10.0 * relaxation.wales() / length, 10.0 * relaxation.courses() / length)?;
        Ok(Gauge { error: CONSTANT_SPREAD, ..gauge })
    }

    /// The same gauge known with another relative error.
    pub(crate) fn with_error(self, error: f64) -> Gauge {
        Gauge { error, ..self }
    }

    /// Width of a stitch in centimetres.
    pub fn width(&self) -> f64 {
        self.width
    }

    /// Height of a row in centimetres.
    pub fn height(&self) -> f64 {
        self.height
    }

    /// Relative error of both.
    pub fn error(&self) -> f64 {
        self.error
    }

    /// Rows that are as tall as a stitch is wide.
    pub fn rows_per_stitch(&self) -> f64 {
        self.width / self.height
    }

    /// Yarn in one plain stitch, in centimetres, within about 10 % for hand-knitting.
    pub fn loop_length(&self, relaxation: Relaxation) -> f64 {
        (relaxation.stitches() * self.width * self.height).sqrt()
    }
}
