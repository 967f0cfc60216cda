//! The edging of a plan, and its path.

use cloth::Gauge;
use loops::Piece;

use super::EdgingOnPath;
use super::pieces::{Made, no_piece};
use super::seams::named;
use crate::block::Block;
use crate::corner::Treatment;
use crate::edging::{self, Units};
use crate::file::{EdgingText, PlanFile};
use crate::flat::Fullness;
use crate::length::decimal;
use crate::strip::Strip;
use crate::turned::Turned;
use crate::{Length, Path, PlanEntry, Point, Problem};

/// The edging, where the plan has one; its piece is counted by repeats from here on.
pub(super) fn edging(
    file: &PlanFile,
    made: &mut [Made<'_>],
    block: Option<&Block>,
) -> Result<Option<EdgingOnPath>, Problem> {
    let Some((edging, strip)) = edging_and_strip(file, made, block)? else { return Ok(None) };
    made[edging.piece].by_repeats(&edging, &strip);
    Ok(Some(edging))
}

/// The edging, where the plan has one, with the strip that it is.
pub(crate) fn edging_and_strip(
    file: &PlanFile,
    made: &[Made<'_>],
    block: Option<&Block>,
) -> Result<Option<(EdgingOnPath, Strip)>, Problem> {
    let Some(text) = &file.edging else { return Ok(None) };
    one(file, text, made, block).map(Some).map_err(|problem| problem.of(PlanEntry::Edging))
}

fn one(
    file: &PlanFile,
    text: &EdgingText,
    made: &[Made<'_>],
    block: Option<&Block>,
) -> Result<(EdgingOnPath, Strip), Problem> {
    let piece = made
        .iter()
        .position(|one| one.entry.name == text.piece)
        .ok_or_else(|| no_piece(&text.piece, made))?;
    let (path, units) = path_of(text, made, block)?;
    let mut strip = strip_of(file, text, &made[piece], &path)?;
    let mut plan = edging::plan(&path, &strip, text.corner, text.joined, &units)?;
    let eases = plan.treatment == Treatment::Eased && (plan.flat || text.corner.is_some());
    if !eases && text.repeat.is_none() && text.depth.is_none() {
        strip.turned = turned(made[piece].piece, &strip, &super::gauge_of(file)?, &path);
        plan = edging::plan(&path, &strip, text.corner, text.joined, &units)?;
    }
    let edging = EdgingOnPath {
        piece,
        path: path.points().to_vec(),
        closed: path.is_closed(),
        repeat: strip.repeat,
        depth: strip.depth,
        points: strip.points,
        profile: strip.profile.clone(),
        rows_in_repeat: strip.rows,
        rows_once: strip.once,
        plan,
    };
    Ok((edging, strip))
}

fn path_of(
    text: &EdgingText,
    made: &[Made<'_>],
    block: Option<&Block>,
) -> Result<(Path, Vec<Units>), Problem> {
    if let Some(points) = &text.path {
        let path = Path::through(points.iter().map(|[x, y]| Point::new(*x, *y)).collect(), text.closed)?;
        return Ok((path, Vec::new()));
    }
    let block = block.ok_or_else(|| {
        Problem::new(
            "there is no path for it",
            "lay pieces side by side, or give the corners of a path of its own, in centimetres",
        )
    })?;
    let path = block.outline()?;
    let units = if path.side_count() == 4 { block.units(&named(made)).to_vec() } else { Vec::new() };
    Ok((path, units))
}

/// The strip as the cloth has it, with what she measured put in its place.
fn strip_of(file: &PlanFile, text: &EdgingText, made: &Made<'_>, path: &Path) -> Result<Strip, Problem> {
    let gauge = super::gauge_of(file)?;
    let cloth = Strip::of(made.piece, &gauge)?;
    let length = |text: &Option<String>| -> Result<Option<f64>, Problem> {
        text.as_ref().map(|text| text.parse().map(Length::in_cm)).transpose()
    };
    let (repeat, depth) = (length(&text.repeat)?, length(&text.depth)?);
    // The sharpest corner is the hardest to lay flat.
    let sharpest = (0..path.side_count()).filter_map(|side| path.turn(side)).fold(0.0, f64::max);
    let full = if sharpest > 1e-6 { Fullness::of(made.piece, &cloth, &gauge, sharpest)? } else { cloth.full };
    let scale = depth.map_or(1.0, |depth| depth / cloth.points);
    Ok(Strip {
        repeat: repeat.unwrap_or(cloth.repeat),
        points: cloth.points * scale,
        profile: cloth.profile.iter().map(|depth| depth * scale).collect(),
        depth: cloth.depth * scale,
        full,
        ..cloth
    })
}

/// The outer corners of a path, each angle once, mitred and pleated in the model; one that cannot be worked there stays as
/// the plane has it.
fn turned(piece: &Piece, strip: &Strip, gauge: &Gauge, path: &Path) -> Vec<Turned> {
    let mut tried: Vec<Turned> = Vec::new();
    for turn in (0..path.side_count()).filter_map(|side| path.turn(side)).filter(|turn| *turn > 1e-6) {
        if tried.iter().all(|one| (one.turn - turn).abs() >= 1e-6) {
            tried.extend(Turned::of(piece, strip, gauge, turn));
        }
    }
    tried
}

/// An edging that does not lie flat.
pub(super) fn warnings(edging: Option<&EdgingOnPath>) -> Vec<String> {
    let Some(edging) = edging.filter(|edging| !edging.plan.flat) else { return Vec::new() };
    let plan = &edging.plan;
    let place = if plan.sides.iter().any(|side| side.strain.abs() >= plan.strain) {
        "along one side"
    } else {
        "at a corner"
    };
    vec![format!(
        "the edging would be strained by {} % {place} and not lie flat: {}",
        decimal(edging.plan.strain * 100.0),
        edging.plan.ways.join("; or ")
    )]
}
