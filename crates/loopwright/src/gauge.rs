//! The size of a piece at a gauge: stitches over stitches, rows over rows.
//!
//! A plain division, which is what a knitter does on paper. It knows nothing of how ribs draw in or lace spreads.

use std::fmt;
use std::str::FromStr;

use loops::Worked;
use reading::PieceReading;

/// Stitches and rows to 10 cm (4 in.).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gauge {
    stitches: f64,
    rows: f64,
}

/// The length that a gauge is counted over, in cm.
const SWATCH: f64 = 10.0;
/// Centimetres of an inch.
const INCH: f64 = 2.54;
/// No yarn is so fine, and none so thick that it gives less than one.
const MOST: f64 = 200.0;

/// A middling yarn on middling needles, where no gauge is told.
impl Default for Gauge {
    fn default() -> Gauge {
        Gauge { stitches: 22.0, rows: 30.0 }
    }
}

impl FromStr for Gauge {
    type Err = String;

    fn from_str(text: &str) -> Result<Gauge, String> {
        let wrong = || {
            format!(
                "a gauge is STITCHESxROWS to 10 cm, such as 22x30, each from 1 to {MOST}; \
                 count them in the middle of a washed swatch"
            )
        };
        let number = |text: &str| text.trim().parse::<f64>().map_err(|_| wrong());
        let (stitches, rows) = text.split_once(['x', 'X', '×', '/']).ok_or_else(wrong)?;
        Gauge::new(number(stitches)?, number(rows)?).ok_or_else(wrong)
    }
}

impl Gauge {
    /// A gauge, if there can be such a one.
    pub fn new(stitches: f64, rows: f64) -> Option<Gauge> {
        let is_sound = |count: &f64| (1.0..=MOST).contains(count);
        (is_sound(&stitches) && is_sound(&rows)).then_some(Gauge { stitches, rows })
    }
}

impl fmt::Display for Gauge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} stitches and {} rows to 10 cm (4 in.)", self.stitches, self.rows)
    }
}

/// How large a piece is, in cm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Size {
    width: f64,
    height: f64,
    worked: Worked,
    widest: u32,
    rows: usize,
}

impl Gauge {
    /// The gauge as the model of the cloth takes it.
    ///
    /// # Errors
    /// [`cloth::GaugeError`] for a gauge that the model refuses.
    pub fn of_cloth(&self) -> Result<cloth::Gauge, cloth::GaugeError> {
        cloth::Gauge::per_10_cm(self.stitches, self.rows)
    }

    /// The size of a piece where it is widest.
    pub fn size_of(&self, piece: &PieceReading) -> Size {
        let rows = &piece.worked.rows;
        let widest = rows.iter().map(|row| row.after).chain([piece.piece.cast_on]).max().unwrap_or(0);
        Size {
            width: f64::from(widest) / self.stitches * SWATCH,
            height: rows.len() as f64 / self.rows * SWATCH,
            worked: piece.piece.worked,
            widest,
            rows: rows.len(),
        }
    }
}

impl fmt::Display for Size {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (across, word) =
            if self.worked == Worked::Round { ("round", "rounds") } else { ("wide", "rows") };
        let (width, height) = (length(self.width), length(self.height));
        write!(
            f,
            "about {width} {across} where it is widest ({} sts), {height} high ({} {word})",
            self.widest, self.rows
        )
    }
}

fn length(cm: f64) -> String {
    format!("{:.1} cm ({:.1} in.)", cm, cm / INCH)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gauge_is_read_in_the_ways_it_is_written() {
        for text in ["22x30", "22X30", "22 × 30", "22/30", "22.0 x 30.0"] {
            assert_eq!(text.parse(), Ok(Gauge { stitches: 22.0, rows: 30.0 }), "{text}");
        }
        for text in ["", "22", "0x30", "22x", "x", "22x-3", "NaNxNaN", "infx3", "22x900"] {
            assert!(text.parse::<Gauge>().is_err(), "{text}");
        }
    }
}
