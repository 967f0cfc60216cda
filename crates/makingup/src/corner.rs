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
//! model of the cloth). How much of it an eased corner really wants is for the cloth to say, see [`crate::Fullness`].
//! At an inner corner the same is wanted less. Knows one corner at a time; how many repeats come of it is
//! [`crate::edging`]'s.

use serde::{Deserialize, Serialize};

use crate::Problem;
use crate::length::{Length, counted};
use crate::strip::Strip;

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

/// The short rows of a mitre: some pairs leave stitches unworked, the others take them in again.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ShortRows {
    /// Turned rows there and back that leave stitches unworked.
    pub pairs: u32,
    /// Stitches left unworked more in each pair, at the straight side.
    pub left_in_each: Vec<u32>,
    /// How many of these pairs are worked again, the shortest first, to take the stitches in: all, or all but the first.
    pub taken_in: u32,
}

impl ShortRows {
    /// The short rows that turn a strip by `turn` radians.
    pub fn of(strip: &Strip, turn: f64) -> ShortRows {
        let wedge = Treatment::Mitre.fullness(turn.abs(), strip.depth);
        let all = (wedge / (2.0 * strip.row())).round().max(1.0) as u32;
        // An odd one counts half on each side. Left out at the longest pair it leaves the point of the wedge whole; left
        // out at the shortest, openwork ruffled there by up to 2.6 % in the model.
        let pairs = all.div_ceil(2);
        // The last pair still works some stitches. Of more pairs than stitches, some leave none more.
        let most = strip.stitches.saturating_sub(1);
        let left = |after: u32| ((2 * after * strip.stitches + pairs + 1) / (2 * (pairs + 1))).min(most);
        let left_in_each = (0..pairs).map(|pair| left(pair + 1) - left(pair)).collect();
        ShortRows { pairs, left_in_each, taken_in: all - pairs }
    }

    /// Stitches worked in them, in a strip that is so many stitches wide.
    pub fn stitches(&self, width: u32) -> u64 {
        let in_pairs = self.left_in_each.iter().scan(0, |left, more| {
            *left += more;
            Some(2 * u64::from(width.saturating_sub(*left)))
        });
        let in_pairs: Vec<u64> = in_pairs.collect();
        let again = &in_pairs[in_pairs.len().saturating_sub(self.taken_in as usize)..];
        in_pairs.iter().chain(again).sum()
    }

    /// The short rows in all.
    pub fn rows(&self) -> u32 {
        2 * (self.pairs + self.taken_in)
    }
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
    let fullness = if treatment == Treatment::Eased { eased } else { treatment.fullness(turn, strip.depth) };
    let rows = (fullness / strip.row()).round() as i64;
    let pleated =
        if treatment == Treatment::Pleat { (fullness / strip.repeat).round().max(1.0) as u32 } else { 0 };
    let short_rows = (treatment == Treatment::Mitre).then(|| ShortRows::of(strip, turn));
    let told = match treatment {
        Treatment::Eased => held_in(strip, fullness, rows, room),
        Treatment::Mitre => mitred(short_rows.as_ref(), inner),
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

fn mitred(short_rows: Option<&ShortRows>, inner: bool) -> String {
    let Some(short_rows) = short_rows else { return String::new() };
    let (pairs, left) = (short_rows.pairs, &short_rows.left_in_each);
    let even = left.windows(2).all(|pair| pair[0] == pair[1]);
    let each = match (left.first(), even) {
        (Some(&one), true) => counted(one as usize, "stitch", "stitches") + " more each time",
        _ => {
            let list: Vec<String> = left.iter().map(u32::to_string).collect();
            format!("{} stitches more in turn", list.join(", "))
        }
    };
    let edge = if inner { "outer edge" } else { "straight side" };
    let back = match short_rows.taken_in {
        0 => "then full rows again",
        same if same == pairs => {
            "then the same pairs again, the shortest first, taking the stitches in again"
        }
        _ => "then all but the longest again, the shortest first, taking the stitches in again",
    };
    let short = counted(pairs as usize, "pair", "pairs");
    format!("work {short} of short rows, leaving at the {edge} {each}; {back}")
}
