//! The cloths of a reading: each piece relaxed, measured, and drawn.

use cloth::{
    Allowance, Drape, End, Estimate, Fabric, Facing, Measures, Mesh, Picture, PictureError, Rgb, Scene,
    Settings, State, Style, Yarn,
};
use loops::{Piece, Worked};
use reading::PieceReading;

use crate::failure::Failure;
use crate::gauge::Gauge;

/// Longest side in pixels of a picture that is printed some 10 cm wide.
const PAPER_PIXELS: u32 = 1200;

/// The share of a cloth that lies over itself from which it is told. Curled edges and cables come to a tenth.
const THROUGH_ITSELF: f64 = 0.15;

/// The plain fabric that the yarn and needles make: all sizes come from it.
#[derive(Clone, Copy, Debug)]
pub struct Basis {
    /// Stitches and rows of plain fabric.
    pub gauge: cloth::Gauge,
    /// The constants of the model, with the proportion of the gauge.
    pub fabric: Fabric,
}

impl Basis {
    /// The basis of a gauge given on the command line.
    ///
    /// # Errors
    /// [`Failure::Usage`] for a gauge that the model refuses.
    pub fn of(gauge: &Gauge) -> Result<Basis, Failure> {
        let gauge = gauge.of_cloth().map_err(|error| Failure::Usage {
            message: format!("--gauge: {error}"),
            help: "give the stitches and rows that a ruler of 10 cm covers on plain fabric, such as 22x30"
                .to_owned(),
        })?;
        let fabric = Fabric { rows_per_stitch: gauge.rows_per_stitch(), ..Fabric::default() };
        Ok(Basis { gauge, fabric })
    }
}

/// How a cloth lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lying {
    /// Off the needles.
    Free,
    /// Smoothed flat by hand.
    Smoothed,
    /// Pinned out to a width and a height in centimetres.
    Blocked(f64, f64),
}

/// One piece of cloth at rest.
pub struct Cloth {
    /// Its patches.
    pub mesh: Mesh,
    /// Its shape.
    pub drape: Drape,
    /// Its sizes.
    pub measures: Measures,
    /// Its yarn.
    pub yarn: Yarn,
    /// How it is worked.
    worked: Worked,
}

impl Cloth {
    /// Lets a piece come to rest.
    ///
    /// # Errors
    /// Why there is no cloth, in words.
    pub fn of(piece: &Piece, basis: &Basis, lying: Lying) -> Result<Cloth, String> {
        let mesh = Mesh::of(piece, &basis.fabric).map_err(|error| error.to_string())?;
        let width = basis.gauge.width();
        let state = match lying {
            Lying::Free => State::Free,
            Lying::Smoothed => State::Smoothed,
            Lying::Blocked(across, up) => State::Blocked { width: across / width, height: up / width },
        };
        let drape = Drape::of(&mesh, &basis.fabric, state, &Settings::default());
        let drape = drape.map_err(|error| error.to_string())?;
        let measures = Measures::of(&mesh, &drape, 0, &basis.gauge).ok_or("there is nothing to measure")?;
        let yarn = Yarn::of(&mesh, 0, &measures, &basis.gauge, &Allowance::default());
        Ok(Cloth { mesh, drape, measures, yarn, worked: piece.worked })
    }

    /// Its yarn laid out as seen from one side.
    ///
    /// # Errors
    /// [`PictureError`] when there is nothing to see.
    pub fn scene(&self, facing: Facing) -> Result<Scene, PictureError> {
        Scene::of(&self.mesh, &self.drape.positions, facing)
    }

    /// Whether it is worked in the round and no disc, so that it stands or hangs and is not laid out.
    pub fn is_tube(&self) -> bool {
        self.worked == Worked::Round && self.measures.across.is_none()
    }

    /// Its size in words, with errors.
    pub fn size(&self) -> String {
        if let Some(across) = self.measures.across {
            return format!("about {} across", length(across));
        }
        let along = if self.is_tube() { "round" } else { "wide" };
        format!(
            "about {} {along} at half height and {} high",
            length(self.measures.width),
            length(self.measures.height)
        )
    }

    /// Its yarn in words, with the error.
    pub fn metres(&self) -> String {
        let Estimate { value, error } = self.yarn.total;
        let places = usize::from(value < 20.0);
        format!("{value:.places$} ± {error:.places$} m")
    }

    /// What must be said of it: that the solver stopped early, or that the cloth lies through itself.
    pub fn caution(&self) -> Option<&'static str> {
        if self.drape.end != End::Settled {
            return Some("the cloth had not quite come to rest");
        }
        let through_itself = self.measures.overlap.is_some_and(|share| share > THROUGH_ITSELF);
        through_itself
            .then_some("it is too full to lie flat, and the model lays it through itself: expect ripples")
    }
}

fn length(estimate: Estimate) -> String {
    format!("{:.1} ± {:.1} cm", estimate.value, estimate.error)
}

/// The cloths of all pieces, smoothed flat, or why there is none.
pub fn cloths(pieces: &[PieceReading], basis: &Basis) -> Vec<Result<Cloth, String>> {
    pieces.iter().map(|piece| Cloth::of(&piece.piece, basis, Lying::Smoothed)).collect()
}

/// A picture of a cloth for paper.
///
/// # Errors
/// Why there is none, in words.
pub fn picture(cloth: &Cloth) -> Result<Picture, String> {
    let style = Style { pixels: PAPER_PIXELS, paper: Rgb(0xff, 0xff, 0xff), ..Style::default() };
    let picture = cloth.scene(Facing::Right).and_then(|scene| scene.to_picture(&style));
    picture.map_err(|error| error.to_string())
}

/// A picture within an SVG, which is what a booklet takes.
pub fn framed(picture: &Picture) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" width=\"{0}\" \
         height=\"{1}\" viewBox=\"0 0 {0} {1}\"><image width=\"{0}\" height=\"{1}\" \
         xlink:href=\"data:image/png;base64,{2}\"/></svg>",
        picture.width,
        picture.height,
        base64(&picture.png)
    )
}

/// Bytes as letters (RFC 4648, section 4).
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for group in bytes.chunks(3) {
        let three =
            group.iter().fold(0u32, |sum, byte| sum << 8 | u32::from(*byte)) << (8 * (3 - group.len()));
        for place in 0..4 {
            let letter = LETTERS[(three >> (18 - 6 * place) & 63) as usize];
            out.push(if place <= group.len() { char::from(letter) } else { '=' });
        }
    }
    out
}

/// The piece with its rows so many times over, those that set it up once, each on the side that then faces.
///
/// # Errors
/// Why its rows do not repeat, in words.
pub fn times_over(piece: &PieceReading, times: u32) -> Result<Piece, String> {
    rows_over(piece, piece.piece.repeat().rows(times as usize))
}

/// The piece with so many rows, those it has over and over but for the ones that set it up.
///
/// # Errors
/// Why its rows do not repeat, in words.
pub fn rows_over(piece: &PieceReading, count: usize) -> Result<Piece, String> {
    if piece.piece.rows.is_empty() {
        return Err("it has no rows".to_owned());
    }
    piece.piece.with_rows(count).map_err(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::base64;

    /// The examples of RFC 4648, section 10.
    #[test]
    fn bytes_become_letters() {
        for (bytes, letters) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(bytes.as_bytes()), letters);
        }
    }
}
