//! What an edging needs to turn a corner, and how it is worked.
//!
//! An edging of depth `d` that turns by `φ` needs more length at its outer edge than at the straight one:
//!
//! | treatment | more | shape of the corner |
//! |---|---|---|
//! | eased | `φ·d` | a round fan |
//! | mitred, or folded into a pleat | `2·d·tan(φ/2)` | a point |
//!
//! (plane geometry: a pleat that is whole at the straight side and open at the outer edge is a dart, whose two legs
//! meet in the line of a mitre; with no more than a fan asks for, such a corner stays stretched by up to 7 % in the
//! model of the cloth). To this the folds of a pleat add a little. How much of it an eased corner really wants, and how
//! many whole pairs of short rows or whole repeats lie flattest, is for the cloth to say, see [`crate::Fullness`] and
//! [`crate::Turned`].
//! At an inner corner the same is wanted less. Knows one corner at a time; how many repeats come of it is
//! [`crate::edging`]'s.

use serde::{Deserialize, Serialize};

use crate::Problem;
use crate::length::{Length, counted};
use crate::strip::Strip;

/// What the two folds of a pleat take up, in stitch widths: in the model of the cloth garter, plain and openwork all ask
/// for about as much more than the plane does.
const FOLDS: f64 = 0.75;

/// Stitches that the shortest rows of a mitre work: one alone has nothing beside it, so that it hung out as a tag.
const POINT: u32 = 2;

/// How a corner is turned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Treatment {
    /// The edging is held in as it is sewn or joined, so that its outer edge has enough.
    Eased,
    /// Short rows work a wedge, so that the edging itself turns.
    Mitre,
    /// Whole repeats are folded into a pleat at the straight side.
    Pleat,
}

impl Treatment {
    /// All of them, the simplest first.
    pub const ALL: [Treatment; 3] = [Treatment::Eased, Treatment::Mitre, Treatment::Pleat];

    /// What the outer edge needs more than the straight side to turn by `turn` radians, in the unit of the depth.
    pub fn fullness(self, turn: f64, depth: f64) -> f64 {
        match self {
            Treatment::Eased => turn * depth,
            Treatment::Mitre | Treatment::Pleat => 2.0 * depth * (turn / 2.0).tan(),
        }
    }

    /// The same for a strip in centimetres, with what the folds of a pleat take up.
    pub fn fullness_of(self, strip: &Strip, turn: f64) -> f64 {
        match self {
            Treatment::Eased => self.fullness(turn, strip.depth),
            Treatment::Mitre => self.fullness(turn, strip.depth_at_corner()),
            Treatment::Pleat => self.fullness(turn, strip.depth) + FOLDS * strip.stitch(),
        }
    }

    /// The whole repeats that come nearest to it, at least one.
    pub(crate) fn repeats(self, strip: &Strip, turn: f64) -> u32 {
        (self.fullness_of(strip, turn) / strip.repeat).round().max(1.0) as u32
    }
}

/// A corner with its treatment.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Corner {
    /// How far the path turns, in degrees; negative at an inner corner.
    pub turn: f64,
    /// What the outer edge needs more, in centimetres.
    pub fullness: f64,
    /// The same at half the depth.
    pub fullness_at_half_depth: f64,
    /// Rows that make it.
    pub rows: i64,
    /// Joins that these rows come to, where every second row is joined: the fullness in stitches.
    pub stitches: i64,
    /// Whole repeats folded away here.
    pub pleated: u32,
    /// The short rows, where it is mitred.
    pub short_rows: Option<ShortRows>,
    /// What to do.
    pub told: String,
}

/// The short rows of a mitre, turned rows there and back: some pairs leave stitches unworked, the others take them in
/// again.
///
/// Their outer ends lie along the outer edge, their inner ends on the line from the corner of the straight side to that
/// of the outer edge, which lies `d·tan(φ/2)` farther along. Rows that lie askew have come part of that way by themselves
/// on the one side and have as much more to go on the other, so that stitches are left in fewer pairs than they are
/// taken in, or in more.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ShortRows {
    /// Stitches worked in each pair that leaves some, from the outer edge, fewer and fewer.
    pub leaving: Vec<u32>,
    /// Stitches worked in each pair that takes some in again, more and more.
    pub taking: Vec<u32>,
}

impl ShortRows {
    /// The short rows that turn a strip by `turn` radians.
    pub fn of(strip: &Strip, turn: f64) -> ShortRows {
        let wedge = Treatment::Mitre.fullness_of(strip, turn.abs());
        let all = (wedge / (2.0 * strip.row())).round().max(1.0);
        // Round an inner corner the straight side is the longer one, and its end lies behind that of the outer edge.
        let slant = if turn < 0.0 { -strip.slant } else { strip.slant };
        let askew = (all / 2.0 * slant / (turn.abs() / 2.0).tan()).round();
        let pairs = ((all / 2.0).ceil() - askew).clamp(0.0, all);
        ShortRows::in_pairs(strip, pairs as u32, (all - pairs) as u32)
    }

    /// So many pairs that leave stitches, evenly, and so many that take them in again.
    pub fn in_pairs(strip: &Strip, leaving: u32, taking: u32) -> ShortRows {
        let (left, others) = (leaving, taking);
        let leaving = shrinking(strip.at_corner, left);
        // One pair fewer takes the same stitches in, but for the longest: left out at the shortest, openwork ruffled there.
        let taking = match leaving.get(1..) {
            Some(shorter) if others + 1 == left => shorter.to_vec(),
            _ => shrinking(strip.at_corner, others),
        };
        ShortRows { leaving, taking: taking.into_iter().rev().collect() }
    }

    /// Stitches worked in them.
    pub fn stitches(&self) -> u64 {
        2 * self.leaving.iter().chain(&self.taking).map(|&worked| u64::from(worked)).sum::<u64>()
    }

    /// The short rows in all.
    pub fn rows(&self) -> u32 {
        2 * (self.leaving.len() + self.taking.len()) as u32
    }
}

/// Stitches worked in each of some pairs of short rows that leave a strip evenly, from all but one or fewer to [`POINT`].
fn shrinking(stitches: u32, pairs: u32) -> Vec<u32> {
    let (all, point) = (f64::from(stitches), f64::from(POINT.min(stitches.saturating_sub(1).max(1))));
    let longest = (all * f64::from(pairs) / f64::from(pairs + 1)).min(all - 1.0).max(point);
    let step = (longest - point) / f64::from(pairs.saturating_sub(1).max(1));
    (0..pairs).map(|pair| (longest - step * f64::from(pair)).round() as u32).collect()
}

/// The corner in a treatment.
///
/// `eased` is the fullness that is held in, for an eased corner; `room` the length of the shorter of the two sides
/// that end here.
///
/// # Errors
/// A [`Problem`] when the treatment cannot turn such a corner.
pub fn corner(
    strip: &Strip,
    turn: f64,
    treatment: Treatment,
    eased: f64,
    room: f64,
) -> Result<Corner, Problem> {
    if turn.abs() > 0.95 * std::f64::consts::PI {
        return Err(Problem::new(
            "a corner of the path turns back on itself",
            "measure the two sides beside it again, or round it off",
        ));
    }
    let inner = turn < 0.0;
    if inner && treatment == Treatment::Pleat {
        return Err(Problem::new(
            "there is nothing to pleat at an inner corner, where the outer edge is the shorter one",
            "choose eased or mitre",
        ));
    }
    let fullness = if treatment == Treatment::Eased { eased } else { treatment.fullness_of(strip, turn) };
    let tried = strip.turned(turn);
    let pleated = match (treatment, tried) {
        (Treatment::Pleat, Some(tried)) => tried.pleated,
        (Treatment::Pleat, None) => treatment.repeats(strip, turn),
        _ => 0,
    };
    let short_rows = (treatment == Treatment::Mitre)
        .then(|| tried.map_or_else(|| ShortRows::of(strip, turn), |tried| tried.short_rows.clone()));
    let rows = match &short_rows {
        Some(short_rows) if !inner => short_rows.rows().into(),
        _ => (fullness / strip.row()).round() as i64,
    };
    let told = match treatment {
        Treatment::Eased => held_in(strip, fullness, rows, room),
        Treatment::Mitre => {
            let pattern = tried
                .map_or("", |tried| if tried.in_pattern { "; work them in pattern" } else { "; knit them" });
            let told = |short_rows| mitred(strip, short_rows, inner) + pattern;
            short_rows.as_ref().map_or_else(String::new, told)
        }
        Treatment::Pleat => {
            let deep = Length::cm(f64::from(pleated) * strip.repeat / 2.0);
            let repeats = counted(pleated as usize, "repeat", "repeats");
            format!(
                "work {repeats} more, fold them into one pleat {deep} deep on the wrong side of the straight edge, \
                 join both its ends to the corner, and let it open towards the points"
            )
        }
    };
    Ok(Corner {
        turn: turn.to_degrees(),
        fullness,
        fullness_at_half_depth: fullness / 2.0,
        rows,
        stitches: rows / 2,
        pleated,
        short_rows,
        told,
    })
}

/// How far from the corner fullness is held in, on each side: half the depth, or a quarter of a short side.
pub(crate) fn zone(strip: &Strip, room: f64) -> f64 {
    (strip.depth / 2.0).min(room / 4.0)
}

fn held_in(strip: &Strip, fullness: f64, rows: i64, room: f64) -> String {
    let reach = zone(strip, room);
    let (edge, held) = (Length::cm(2.0 * reach), Length::cm(2.0 * reach + fullness));
    if fullness < 0.0 {
        return format!(
            "stretch {held} of the edging over the {edge} round the corner, half on each side, so that its outer edge \
             is not in folds"
        );
    }
    format!(
        "hold {held} of the edging into the {edge} round the corner, half on each side: {} of fullness, {} rows",
        Length::cm(fullness),
        rows
    )
}

fn mitred(strip: &Strip, short_rows: &ShortRows, inner: bool) -> String {
    let ShortRows { leaving, taking } = short_rows;
    let (from, edge) = if inner { ("straight side", "outer edge") } else { ("outer edge", "straight side") };
    let over = |rows: &[u32]| {
        let list: Vec<String> = rows.iter().map(u32::to_string).collect();
        let pairs = counted(rows.len(), "pair", "pairs");
        format!("{pairs} of short rows over the {} stitches nearest the {from}", list.join(", "))
    };
    let fewer = strip.at_corner - leaving.first().unwrap_or(&strip.at_corner);
    let evenly = leaving.windows(2).all(|pair| pair[0] - pair[1] == fewer);
    let there = if evenly && fewer > 0 {
        let each = counted(fewer as usize, "stitch", "stitches");
        let pairs = counted(leaving.len(), "pair", "pairs");
        format!("{pairs} of short rows, leaving at the {edge} {each} more each time")
    } else {
        over(leaving)
    };
    let back = |same: &[u32]| taking.iter().rev().eq(same);
    match leaving.split_first() {
        None => format!("work {}", over(taking)),
        Some(_) if taking.is_empty() => format!("work {there}; then full rows again"),
        Some(_) if back(leaving) => {
            format!(
                "work {there}; then the same pairs again, the shortest first, taking the stitches in again"
            )
        }
        Some((_, shorter)) if back(shorter) => {
            format!(
                "work {there}; then all but the longest again, the shortest first, taking the stitches in again"
            )
        }
        Some(_) => format!("work {there}; then {}", over(taking)),
    }
}
