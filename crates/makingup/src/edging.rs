//! An edging along a path: whole repeats on each side, and corners that lie flat.
//!
//! A corner always falls between two repeats, so that all corners fall at the same place of the motif. What an eased
//! corner needs belongs half to each of its sides: between two corners there is then a whole number of repeats for
//!
//! ```text
//! length of the side + (fullness of both corners) / 2
//! ```
//!
//! A corner lies flat with anything between a least and a most of fullness ([`crate::Fullness`]); within that, the
//! fullness is chosen so that repeats come out whole. What is left over is the strain with which the edging lies along
//! the side. A mitre or a pleat makes its corner itself; the repeats are for the side alone.

use serde::Serialize;

use crate::corner::{Corner, ShortRows, Treatment, corner};
use crate::flat::FLAT;
use crate::gauge::simple_ratio;
use crate::length::{Length, counted};
use crate::shape::Along;
use crate::spacing::{Change, Ends, spread};
use crate::strip::Strip;
use crate::{Path, Problem};

/// How the edging is put on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Joining {
    /// Knitted by itself and sewn on.
    #[default]
    Sewn,
    /// Each second row takes a stitch of the work in.
    KnittedOn,
}

/// An edging planned along a path.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EdgingPlan {
    /// How the corners are turned.
    pub treatment: Treatment,
    /// How it is put on.
    pub joining: Joining,
    /// The sides in order.
    pub sides: Vec<EdgingSide>,
    /// The corners, each at the beginning of the side of the same place; of an open path the first has none.
    pub corners: Vec<Option<Corner>>,
    /// Repeats in all, pleats counted, mitres not.
    pub repeats: u32,
    /// Rows in all: those before the first repeat, the repeats, and the short rows.
    pub rows: u32,
    /// The largest strain, in parts of the length.
    pub strain: f64,
    /// Whether the outer edge lies flat: no strain above [`FLAT`].
    pub flat: bool,
    /// What would help where it is not; empty where it is.
    pub ways: Vec<String>,
}

/// The edging along one side.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EdgingSide {
    /// Of the path, in centimetres.
    pub length: f64,
    /// Whole repeats between its corners.
    pub repeats: u32,
    /// By how much they are stretched (above 0) or held in (below) to fit, in parts of the length.
    pub strain: f64,
    /// How they are joined, where they are knitted on.
    pub join: Option<String>,
}

/// What a side of the path is made of, where it is known.
pub type Units = Option<Along>;

/// Plans an edging.
///
/// With no treatment asked for, the first of [`Treatment::ALL`] that lies flat is taken, or the one with the least
/// strain. `units` are the stitches or rows along each side.
///
/// # Errors
/// A [`Problem`] when the edging is deeper than the work, or cannot turn a corner.
pub fn plan(
    path: &Path,
    strip: &Strip,
    treatment: Option<Treatment>,
    joining: Joining,
    units: &[Units],
) -> Result<EdgingPlan, Problem> {
    check_depth(path, strip)?;
    let asked = treatment.map_or(Treatment::ALL.to_vec(), |one| vec![one]);
    let mut plans = Vec::new();
    let mut refused = None;
    for treatment in asked {
        match with(path, strip, treatment, joining, units) {
            Ok(plan) => plans.push(plan),
            Err(problem) => refused = refused.or(Some(problem)),
        }
    }
    let flat = plans.iter().position(|plan| plan.flat);
    let least = || (0..plans.len()).min_by(|&a, &b| plans[a].strain.total_cmp(&plans[b].strain));
    match flat.or_else(least) {
        Some(best) => Ok(plans.swap_remove(best)),
        None => Err(refused.unwrap_or_else(|| Problem::new("the path has no sides", "give its corners"))),
    }
}

/// An edging must leave room for the work, and sides beside an inner corner for the edging.
fn check_depth(path: &Path, strip: &Strip) -> Result<(), Problem> {
    let help = "measure the depth from the straight side to the points, and the sides of the work with the same ruler";
    let (width, height) = path.extent();
    let least = if path.is_closed() { width.min(height) } else { f64::INFINITY };
    if strip.points >= least {
        return Err(Problem::new(
            format!(
                "the edging is {} deep, deeper than the work, which is {} across",
                Length::cm(strip.points),
                Length::cm(least)
            ),
            help,
        ));
    }
    for side in 0..path.side_count() {
        let turn = path.turn(side).unwrap_or(0.0);
        let before = path.side((side + path.side_count() - 1) % path.side_count());
        let room = path.side(side).min(before);
        if turn < 0.0 && strip.points * (turn.abs() / 2.0).tan() >= room {
            return Err(Problem::new(
                format!(
                    "the edging does not fit the inner corner at side {}: it is deeper than there is room",
                    side + 1
                ),
                help,
            ));
        }
    }
    Ok(())
}

/// The edging with its corners turned in one way.
fn with(
    path: &Path,
    strip: &Strip,
    treatment: Treatment,
    joining: Joining,
    units: &[Units],
) -> Result<EdgingPlan, Problem> {
    let laid = laid(path, strip, treatment);
    let corners = corners(path, strip, treatment, &laid)?;
    let sides = sides(path, strip, joining, units, &laid);
    let turned = corners.iter().flatten();
    let short: u32 =
        turned.clone().filter_map(|corner| corner.short_rows.as_ref()).map(ShortRows::rows).sum();
    let repeats = sides.iter().map(|side| side.repeats).chain(turned.map(|corner| corner.pleated)).sum();
    let strains = Strains::of(strip, treatment, &sides, &corners);
    Ok(EdgingPlan {
        treatment,
        joining,
        sides,
        corners,
        repeats,
        rows: strip.once + repeats * strip.rows + short,
        strain: strains.worst(),
        flat: strains.worst() <= FLAT,
        ways: ways(strip, treatment, &strains),
    })
}

/// The angle by which a path turns where a side begins; 0 where it goes straight on.
fn turn(path: &Path, side: usize) -> f64 {
    path.turn(side).filter(|turn| turn.abs() > 1e-6).unwrap_or(0.0)
}

/// The repeats along each side.
fn laid(path: &Path, strip: &Strip, treatment: Treatment) -> Vec<Laid> {
    let count = path.side_count();
    let is_end = |side: usize| !path.is_closed() && side + 1 == count;
    let end = |side: usize| if is_end(side) { 0.0 } else { turn(path, (side + 1) % count) };
    let one = |side: usize| match treatment {
        Treatment::Eased => Laid::eased(strip, path.side(side), turn(path, side), end(side)),
        Treatment::Mitre | Treatment::Pleat => Laid::straight(strip, path.side(side)),
    };
    (0..count).map(one).collect()
}

/// The corner at the beginning of each side, where there is one.
fn corners(
    path: &Path,
    strip: &Strip,
    treatment: Treatment,
    laid: &[Laid],
) -> Result<Vec<Option<Corner>>, Problem> {
    let count = laid.len();
    let at = |side: usize| {
        let before = (side + count - 1) % count;
        let turn = Some(turn(path, side)).filter(|turn| *turn != 0.0)?;
        let eased = turn * strip.depth * f64::midpoint(laid[before].share, laid[side].share);
        let room = path.side(side).min(path.side(before));
        Some(corner(strip, turn, treatment, eased, room))
    };
    (0..count).map(|side| at(side).transpose()).collect()
}

/// The sides, with how they are joined.
fn sides(path: &Path, strip: &Strip, joining: Joining, units: &[Units], laid: &[Laid]) -> Vec<EdgingSide> {
    let one = |(side, laid): (usize, &Laid)| {
        let extra = (laid.extra / strip.row() / 2.0).round() as i64;
        let join = (joining == Joining::KnittedOn)
            .then(|| joined(laid.repeats * strip.rows / 2, extra, units.get(side).copied().flatten()));
        EdgingSide { length: path.side(side), repeats: laid.repeats, strain: laid.strain, join }
    };
    laid.iter().enumerate().map(one).collect()
}

/// The largest strains, in parts of the length.
struct Strains {
    /// Along the sides: above 0 where it is stretched, below where it is held in.
    side: f64,
    /// Round the corners.
    corner: f64,
}

impl Strains {
    fn of(strip: &Strip, treatment: Treatment, sides: &[EdgingSide], corners: &[Option<Corner>]) -> Strains {
        let side = sides.iter().map(|side| side.strain);
        let side = side.max_by(|one, other| one.abs().total_cmp(&other.abs())).unwrap_or(0.0);
        // A corner that no fullness lays flat spoils what the sides have.
        let off = strip.full.off;
        let is_judged_by_it = match treatment {
            Treatment::Eased => true,
            Treatment::Mitre => false,
            Treatment::Pleat => strip.turned.is_empty(),
        };
        let unable = if is_judged_by_it && off > FLAT { off } else { 0.0 };
        Strains { side, corner: corner_strains(corners, strip).fold(unable, f64::max) }
    }

    fn worst(&self) -> f64 {
        self.side.abs().max(self.corner)
    }
}

/// Repeats laid along one side.
struct Laid {
    repeats: u32,
    /// What its corners take of the strip, in centimetres.
    extra: f64,
    /// Fullness of its corners in parts of turn times depth.
    share: f64,
    strain: f64,
}

impl Laid {
    /// A side whose corners make themselves.
    fn straight(strip: &Strip, length: f64) -> Laid {
        let repeats = (length / strip.repeat).round().max(1.0) as u32;
        Laid { repeats, extra: 0.0, share: 0.0, strain: length / (f64::from(repeats) * strip.repeat) - 1.0 }
    }

    /// A side between two eased corners: the number of repeats with the least strain, of equal ones that whose
    /// fullness is nearest to the best.
    fn eased(strip: &Strip, length: f64, begin: f64, end: f64) -> Laid {
        let whole = (begin + end) / 2.0 * strip.depth;
        let full = strip.full;
        let (least, most) = (whole * full.least, whole * full.most);
        let (low, high) = (least.min(most), least.max(most));
        let at = |repeats: u32| {
            let strip_length = f64::from(repeats) * strip.repeat;
            let extra = (strip_length - length).clamp(low, high);
            let share = if whole.abs() > 1e-9 { extra / whole } else { full.best };
            Laid { repeats, extra, share, strain: (length + extra) / strip_length - 1.0 }
        };
        let fewest = ((length + low) / strip.repeat).floor().max(1.0) as u32;
        let greatest = ((length + high) / strip.repeat).ceil().max(1.0) as u32;
        let worth = |laid: &Laid| ((laid.strain.abs() * 1e4).round(), (laid.share - full.best).abs());
        let found = (fewest..=greatest).map(at).min_by(|one, other| {
            let ((a, b), (c, d)) = (worth(one), worth(other));
            a.total_cmp(&c).then(b.total_cmp(&d))
        });
        found.unwrap_or_else(|| Laid::straight(strip, length))
    }
}

/// By how much mitres and pleats are off: in the model where they were worked there; elsewhere how far whole repeats, and
/// whole pairs of short rows, are from the fullness, spread over the outer edge round the corner.
fn corner_strains(corners: &[Option<Corner>], strip: &Strip) -> impl Iterator<Item = f64> {
    corners.iter().flatten().filter_map(|corner| {
        let tried = strip.turned(corner.turn.to_radians());
        let there = match &corner.short_rows {
            Some(short_rows) => f64::from(short_rows.rows()) * strip.row(),
            None if corner.pleated > 0 => f64::from(corner.pleated) * strip.repeat,
            None => return None,
        };
        if let Some(tried) = tried {
            let lies = if corner.short_rows.is_some() { tried.mitre } else { tried.pleat };
            return Some(lies.off());
        }
        Some(((corner.fullness.abs() - there) / (there + 2.0 * strip.depth)).abs())
    })
}

/// What would help where the edging does not lie flat, for what is worst first.
fn ways(strip: &Strip, treatment: Treatment, strains: &Strains) -> Vec<String> {
    let (side, corner) = (strains.side.abs(), strains.corner);
    let refit = if side > FLAT { refit(strip, strains.side) } else { Vec::new() };
    let turn = if side.max(corner) > FLAT { vec![turn_otherwise(treatment)] } else { Vec::new() };
    if corner > side { [turn, refit].concat() } else { [refit, turn].concat() }
}

fn turn_otherwise(treatment: Treatment) -> String {
    let others = Treatment::ALL.into_iter().filter(|other| *other != treatment);
    let names = others.map(|other| match other {
        Treatment::Eased => "ease them",
        Treatment::Mitre => "mitre them by short rows",
        Treatment::Pleat => "pleat them",
    });
    format!("turn the corners another way: {}", names.collect::<Vec<_>>().join(", or "))
}

/// What would make a repeat fit a side along which it is strained.
fn refit(strip: &Strip, strain: f64) -> Vec<String> {
    let repeat = strip.repeat * (1.0 + strain);
    let direction = if strain > 0.0 { "looser" } else { "tighter" };
    let rows = (strain * f64::from(strip.rows)).round() as i64;
    let mut ways = vec![format!(
        "knit the edging a little {direction}, so that its repeat measures {repeat:.2} cm in place of {:.2} cm",
        strip.repeat
    )];
    if rows != 0 && rows % 2 == 0 {
        let word = if rows > 0 { "more" } else { "fewer" };
        ways.push(format!(
            "work {} {word} in each repeat",
            counted(rows.unsigned_abs() as usize, "row", "rows")
        ));
    }
    ways
}

/// How `joins` joins of every second row, `extra` of them for the corners, meet the stitches or rows of a side.
fn joined(joins: u32, extra: i64, units: Units) -> String {
    let plain = (i64::from(joins) - extra).max(1) as u32;
    let corners = match extra {
        0 => String::new(),
        1.. => format!(", and {extra} joins more into the stitches next to the corners"),
        _ => format!(", and {} stitches taken two and two next to the corners", extra.abs()),
    };
    match units {
        Some(Along::Stitches(stitches)) => format!("{}{corners}", joined_to(stitches, plain)),
        Some(Along::Rows(rows) | Along::Slant(rows)) => {
            let (each, beat) = simple_ratio(f64::from(plain) / f64::from(rows.max(1)));
            format!(
                "take up {plain} stitches along the {rows} rows, about {each} in {beat}, and join one every second row{corners}"
            )
        }
        None => format!("take up {plain} stitches along the side, and join one every second row{corners}"),
    }
}

/// How joins meet live stitches: one to one, some stitches twice, or some two at once.
fn joined_to(stitches: u32, joins: u32) -> String {
    let told = |count: u32, how: &str| {
        let places = spread(stitches, count, Change::Increase, Ends::Half);
        let every = places.map_or(0, |spread| spread.gaps.iter().copied().max().unwrap_or(0));
        format!(
            "join every second row to one of the {stitches} stitches, {how}, evenly apart, about every {every}"
        )
    };
    match i64::from(joins) - i64::from(stitches) {
        0 => format!("join every second row to one of the {stitches} stitches"),
        more @ 1.. => told(more as u32, &format!("{more} of them twice")),
        fewer => told(fewer.unsigned_abs() as u32, &format!("two at once {} times", fewer.abs())),
    }
}

/// Whole repeats along live stitches, one stitch joined every second row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct JoinFit {
    /// Whole repeats that the stitches hold.
    pub repeats: u32,
    /// Stitches over: join so many two at once.
    pub over: u32,
    /// Stitches to find for one repeat more; 0 where none are over.
    pub to_find: u32,
}

/// Repeats of `rows` rows along `stitches` live stitches.
///
/// # Errors
/// A [`Problem`] for a repeat of less than two rows.
pub fn repeats_along(stitches: u32, rows: u32) -> Result<JoinFit, Problem> {
    let joins = rows / 2;
    if joins == 0 {
        return Err(Problem::new(
            "a repeat of less than two rows joins no stitch",
            "count the rows of one repeat",
        ));
    }
    let over = stitches % joins;
    Ok(JoinFit { repeats: stitches / joins, over, to_find: if over == 0 { 0 } else { joins - over } })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_worst_is_answered_first() {
        let strip = Strip::measured(10, 2.5, 8.0, 12).expect("sound measures");
        let first = |side, corner| {
            let ways = ways(&strip, Treatment::Pleat, &Strains { side, corner });
            ways.into_iter().next().map(|way| way.split(',').next().unwrap_or_default().to_owned())
        };
        let looser = "knit the edging a little looser";
        let otherwise = "turn the corners another way: ease them";
        assert_eq!(first(0.08, 0.03).as_deref(), Some(looser));
        assert_eq!(first(0.03, 0.08).as_deref(), Some(otherwise));
        assert_eq!(first(0.01, 0.08).as_deref(), Some(otherwise));
        assert_eq!(first(0.01, 0.0), None);
    }
}
