//! What a stitch is made of: the constants of the model, each with its unit and its reason.
//!
//! Lengths are counted in widths of a plain stitch, energies in the stiffness of one stitch against stretching,
//! so that the constants hold for every yarn; [`crate::Gauge`] gives the centimetres.
//!
//! The constants of the folds and of the sizes are fitted: they are those with which the common fabrics come out
//! as their published proportions say (garter two rows to a stitch width; single rib about 30 % and double rib
//! 35 to 50 % narrower than plain, D. J. Spencer, *Knitting Technology*, ch. 7, from memory, and common
//! practice). What is made of several faces is predicted from them.

use loops::{ClothStitch, Face, Op, Slip};

/// The constants of the model.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fabric {
    /// Rows of plain fabric that are as tall as a stitch is wide. Munden's constants for wet-relaxed wool, 5.3
    /// and 4.1 (*J. Text. Inst.* 50, 1959, from memory), give 1.29; the rule of hand-knitters is 4/3.
    pub rows_per_stitch: f64,
    /// Stiffness along rows and columns; the unit of all others.
    pub stretch: f64,
    /// Stiffness along the diagonals of a patch. Knitted cloth gives way to shear several times more easily
    /// than to stretching; more of it makes bias edges straighter and slower to settle.
    pub shear: f64,
    /// Stiffness of a strand that only hangs between its neighbours, such as a yarn over.
    pub strand: f64,
    /// Energy of a right angle's fold between two stitches. More makes the folds firmer against stretching and
    /// the curl of plain edges wider.
    pub bend: f64,
    /// Fold of one plain stitch towards its back along the row, in radians: the curl of the sides.
    pub curl_course: f64,
    /// Fold of one plain stitch towards its front along the column, in radians: the curl of the ends.
    pub curl_wale: f64,
    /// What is added to the fold along the row of a stitch beside one of the other face: what makes ribs.
    pub rib: f64,
    /// What is added to the fold along the column of a stitch above or below one of the other face: what makes
    /// the ridges of garter.
    pub ridge: f64,
    /// Height of the step from a stitch to one of the other face above it, as a part of the plain height. With
    /// the fold it makes garter two rows to a stitch width; alone it makes moss stitch shorter than plain.
    pub change_height: f64,
    /// Width of such a stitch, as a part of the plain width.
    pub change_width: f64,
    /// Weight of the cloth where it lies on a table, as the stiffness of a soft bed that holds it to a plane.
    /// More of it flattens the curl; ribs and ridges are too low to feel it.
    pub bed: f64,
    /// Energy of a stitch that lies wrong side up where the cloth lies on a table, twice. On a soft bed alone ripples
    /// run together into folds that lie over themselves, through cloth that the model does not see, as those of a
    /// sheet afloat do; the table's friction and the hand that lays the cloth out keep it spread. From 0.1 a garter
    /// circle of 75,000 stitches stays spread; three times as much takes half as many steps again. Ribs, ridges
    /// and curled edges have no such stitch and do not feel it.
    pub overturn: f64,
}

impl Default for Fabric {
    fn default() -> Fabric {
        Fabric {
            rows_per_stitch: 4.0 / 3.0,
            stretch: 1.0,
            shear: 0.25,
            strand: 0.2,
            bend: 0.1,
            curl_course: 0.3,
            curl_wale: 0.3,
            rib: 1.2,
            ridge: 0.96,
            change_height: 0.85,
            change_width: 1.03,
            bed: 0.006,
            overturn: 0.3,
        }
    }
}

impl Fabric {
    /// Height of a plain stitch in widths of it.
    pub fn plain_height(&self) -> f64 {
        1.0 / self.rows_per_stitch
    }
}

/// Width of a stitch at rest, as a part of the plain width, leaving its neighbours aside.
///
/// A yarn over has as much yarn as a stitch and lies open, so that it takes more room (-10 to +10 % for lace off the
/// needles, from memory). Twisted stitches make a fabric 5 to 15 % narrower (from memory). A slipped stitch is spanned
/// by a strand shorter than a worked loop's foot: linen stitch, half slipped, is 15 to 30 % narrower, mosaics 0 to 15 %
/// (from memory; fitted to the middle of the first). With the yarn laid over, the two loops push each other apart:
/// brioche is 30 to 50 % wider than single rib (from memory; fitted).
pub(crate) fn width_of(stitch: &ClothStitch) -> f64 {
    match (stitch.slipped, stitch.op) {
        (Some(Slip::YarnOver), _) => 1.35,
        (Some(_), _) => 0.6,
        (None, Op::Yo2 | Op::Yo3) => 0.8,
        (None, Op::Yo) => 1.15,
        (None, Op::Brk | Op::Brp) => 1.3,
        _ if stitch.twisted => 0.9,
        _ => 1.0,
    }
}

/// Height that a stitch adds above the one it stands on, as a part of the plain height.
///
/// A slipped stitch adds none of its own: the loop of the row below is drawn up, and gives a little. A row of
/// slipped stitches packs the rows by 1.3 to 2, and two worked rows of brioche are one that is seen (from memory).
pub(crate) fn height_of(stitch: &ClothStitch) -> f64 {
    match stitch.slipped {
        Some(Slip::YarnOver) => 0.2,
        Some(_) => 0.5,
        None => 1.0,
    }
}

/// The sign of a face: plain 1, purl -1, a strand 0.
pub(crate) fn sign_of(face: Face) -> f64 {
    match face {
        Face::Plain => 1.0,
        Face::Purl => -1.0,
        Face::Open => 0.0,
    }
}

/// How much of the way across a crossing lies in the crossing row itself. The rest lies in the rows before and
/// after it, where the two groups already stand over each other, as the columns of a cable bend gently. All-over
/// cables come out 15 to 30 % narrower than plain (common practice).
pub(crate) const CROSSING_LEAN: f64 = 0.5;

/// Height of a row, in stitch widths, for each turn of the yarn about the needle that it lets fall (from memory).
pub(crate) const LENGTH_LET_FALL: f64 = 1.0;
