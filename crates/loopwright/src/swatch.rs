//! A swatch as she measured it, from the command line to the plain fabric it stands for.

use std::str::FromStr;

use cloth::{Fabric, Swatch};

use crate::checked::Checked;
use crate::cloths::{Basis, rows_over, times_over};
use crate::failure::Failure;

/// `14x12`, a piece of the pattern as it stands, or `40x48=14x12`, so many stitches and rows of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    stitches: Option<(u32, u32)>,
    width: f64,
    height: f64,
}

/// No swatch is larger, in stitches or rows.
const MOST: u32 = 1000;

impl FromStr for Measured {
    type Err = String;

    fn from_str(text: &str) -> Result<Measured, String> {
        let wrong = || {
            "a swatch is WIDTHxHEIGHT in centimetres, or STITCHESxROWS=WIDTHxHEIGHT, such as 40x48=14.5x12"
                .to_owned()
        };
        let (knitted, size) = match text.split_once('=') {
            Some((knitted, size)) => (Some(knitted), size),
            None => (None, text),
        };
        let (width, height) = pair(size).ok_or_else(wrong)?;
        let is_size = |cm: f64| (0.5..=1000.0).contains(&cm);
        let stitches = match knitted.map(pair::<u32>) {
            None => None,
            Some(Some((stitches, rows))) if (1..=MOST).contains(&stitches) && (1..=MOST).contains(&rows) => {
                Some((stitches, rows))
            }
            Some(_) => return Err(wrong()),
        };
        if is_size(width) && is_size(height) {
            Ok(Measured { stitches, width, height })
        } else {
            Err(wrong())
        }
    }
}

/// Two numbers with a cross between.
fn pair<T: FromStr>(text: &str) -> Option<(T, T)> {
    let (one, other) = text.split_once(['x', 'X', '×'])?;
    Some((one.trim().parse().ok()?, other.trim().parse().ok()?))
}

impl Measured {
    /// The plain fabric that the swatch stands for: its first piece is knitted in the model and held against her
    /// ruler.
    ///
    /// # Errors
    /// [`Failure::Usage`] when the pattern cannot be worked so, or no yarn gives such a swatch.
    pub fn basis(&self, checked: &Checked, times: u32) -> Result<Basis, Failure> {
        let failed = |message: String| Failure::Usage {
            message: format!("--swatch: {message}"),
            help:
                "measure a swatch of the first piece of the text, and give its stitches and rows before the ="
                    .to_owned(),
        };
        let piece = match self.stitches {
            None => times_over(&checked.pieces()?[0], times),
            Some((stitches, rows)) => {
                let reading = checked.read_on(stitches);
                let piece = reading.pieces.first();
                let piece =
                    piece.filter(|piece| piece.piece.cast_on == stitches && piece.worked.faults.is_empty());
                let piece = piece
                    .ok_or_else(|| failed(format!("the text is not worked over {stitches} stitches")))?;
                rows_over(piece, rows as usize)
            }
        };
        let swatch = Swatch { piece: piece.map_err(failed)?, width: self.width, height: self.height };
        let (gauge, fabric) =
            swatch.calibrate(&Fabric::default()).map_err(|error| failed(error.to_string()))?;
        Ok(Basis { gauge, fabric })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_swatch_is_read_and_nonsense_refused() {
        let measured = |stitches, width, height| Ok(Measured { stitches, width, height });
        assert_eq!("14x12.5".parse(), measured(None, 14.0, 12.5));
        assert_eq!("40 x 48 = 14 × 12".parse(), measured(Some((40, 48)), 14.0, 12.0));
        for text in
            ["", "14", "14x", "0x3", "NaNx3", "40x48=", "40x=1x1", "0x4=1x1", "4.5x4=9x9", "9999x1=9x9"]
        {
            assert!(text.parse::<Measured>().is_err(), "{text}");
        }
    }
}
