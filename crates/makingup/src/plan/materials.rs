//! Yarn by colour, needles, tools, and cast-ons that stretch.

use std::collections::BTreeMap;

use cloth::{Gauge, Relaxation};

use super::pieces::{Made, no_piece};
use super::{
    BusyIn, EdgingOnPath, LaidPlan, NeedlePlan, SeamPlan, StretchPlan, ToolsNeeded, YarnJoin, YarnPlan,
};
use crate::edging::Joining;
use crate::file::{PlanFile, YarnText};
use crate::gauge::stretchy_cast_on;
use crate::length::INCH;
use crate::shape::Outline;
use crate::tools::Peak;
use crate::yarn_name::{YarnClass, YarnReading};
use crate::{Length, Needle, PlanEntry, Problem};

/// Sewing yarn in lengths of the seam (1½ to 2; common practice).
const SEWING: f64 = 2.0;
/// Side of the swatch, in centimetres.
const SWATCH: f64 = 15.0;
/// Share added for safety when the estimate is made from a swatch, and when the yarn's length is assumed; common
/// practice.
const ALLOWANCE: [f64; 2] = [0.1, 0.2];
/// Where neither plan nor gauge gives a yarn, in metres to 100 g: a worsted.
const USUAL: f64 = 200.0;

/// Metres of one colour.
#[derive(Default)]
struct Metres {
    in_pieces: f64,
    for_sewing: f64,
}

/// The yarns, in the order in which the plan names their colours.
pub(super) fn yarns(
    file: &PlanFile,
    made: &mut [Made<'_>],
    seams: &[SeamPlan],
    laid: &[LaidPlan],
    edging: Option<&EdgingOnPath>,
    gauge: &Gauge,
) -> Result<Vec<YarnPlan>, Problem> {
    check(&file.yarns)?;
    let mut colours: Vec<Option<String>> = Vec::new();
    let mut metres: BTreeMap<Option<String>, Metres> = BTreeMap::new();
    for one in made.iter_mut() {
        let by_colour = by_colour(one)?;
        for (colour, share) in by_colour {
            if !colours.contains(&colour) {
                colours.push(colour.clone());
            }
            metres.entry(colour).or_default().in_pieces += share * one.yarn_in_all();
        }
    }
    let mut sew = |colour: Option<String>, length: f64| {
        metres.entry(colour).or_default().for_sewing += SEWING * length / 100.0;
    };
    let main = colours.first().cloned().flatten();
    for seam in seams {
        sew(main.clone(), f64::from(seam.times) * seam.lengths[0].max(seam.lengths[1]));
    }
    for one in laid {
        let (width, height) = made[one.piece].shape.extent();
        let rim = if let Outline::Disc { diameter, .. } = made[one.piece].shape.outline {
            diameter * std::f64::consts::PI
        } else {
            2.0 * (width + height)
        };
        sew(made[one.piece].entry.colour.clone(), rim * one.places.len() as f64);
    }
    if let Some(edging) = edging.filter(|edging| edging.plan.joining == Joining::Sewn) {
        let length: f64 = edging.plan.sides.iter().map(|side| side.length).sum();
        sew(made[edging.piece].entry.colour.clone(), length);
    }
    let mut plans = Vec::new();
    for (place, colour) in colours.iter().enumerate() {
        let metres = metres.get(colour).map_or((0.0, 0.0), |metres| (metres.in_pieces, metres.for_sewing));
        let text = file.yarns.iter().find(|yarn| Some(&yarn.colour) == colour.as_ref());
        plans.push(yarn(colour, text, metres, place == 0, made, gauge));
    }
    Ok(plans)
}

fn check(yarns: &[YarnText]) -> Result<(), Problem> {
    for yarn in yarns {
        let metres = yarn.metres.is_none_or(|metres| (1.0..=10_000.0).contains(&metres));
        let ball = yarn.ball.is_finite() && yarn.ball > 0.0;
        if !(metres && ball) {
            let none = Problem::new(
                format!("the {} yarn has no length or no ball", yarn.colour),
                "take the metres in 100 g and the grams of a ball from its band; 1 to 10000 m, above 0 g",
            );
            return Err(none.of(PlanEntry::Yarn(yarn.colour.clone())));
        }
    }
    Ok(())
}

/// The colours of a piece with the share of its yarn; the rows in which they are joined are noted.
fn by_colour(one: &mut Made<'_>) -> Result<Vec<(Option<String>, f64)>, Problem> {
    if one.entry.rows.is_empty() {
        return Ok(vec![(one.entry.colour.clone(), 1.0)]);
    }
    let rows = one.piece.rows.len();
    let mut of_row = vec![one.entry.colour.clone(); rows];
    for (range, colour) in &one.entry.rows {
        let numbers = range_of(range, rows).ok_or_else(|| {
            let none = Problem::new(
                format!("\"{range}\" names no rows of it"),
                format!("write rows as \"1-12\" or \"13\", from 1 to {rows}"),
            );
            none.of(PlanEntry::Piece(one.entry.name.clone()))
        })?;
        of_row[numbers.0 - 1..numbers.1].fill(Some(colour.clone()));
    }
    let mut shares: Vec<(Option<String>, f64)> = Vec::new();
    let in_row = |row: usize| {
        // The cast-on goes with the first row.
        let cast_on = if row == 0 { one.in_rows.first().copied().unwrap_or(0.0) } else { 0.0 };
        one.times(row) * (one.in_rows.get(row + 1).copied().unwrap_or(0.0) + cast_on)
    };
    let metres: Vec<f64> = (0..rows).map(in_row).collect();
    let total: f64 = metres.iter().sum();
    for (row, colour) in of_row.iter().enumerate() {
        let share = if total > 0.0 { metres[row] / total } else { 1.0 / rows as f64 };
        match shares.iter_mut().find(|(known, _)| known == colour) {
            Some((_, sum)) => *sum += share,
            None => shares.push((colour.clone(), share)),
        }
        if row == 0 || of_row[row - 1] != *colour {
            let row = one.piece.rows[row].label.clone();
            one.joins.push(YarnJoin { row, colour: colour.clone(), why: "colour" });
        }
    }
    Ok(shares)
}

/// "3-7" or "3", within the rows of a piece.
fn range_of(text: &str, rows: usize) -> Option<(usize, usize)> {
    let (from, to) = text.split_once('-').unwrap_or((text, text));
    let (from, to) = (from.trim().parse().ok()?, to.trim().parse().ok()?);
    (1 <= from && from <= to && to <= rows).then_some((from, to))
}

fn yarn(
    colour: &Option<String>,
    text: Option<&YarnText>,
    (in_pieces, for_sewing): (f64, f64),
    first: bool,
    made: &mut [Made<'_>],
    gauge: &Gauge,
) -> YarnPlan {
    let classes = YarnClass::at(4.0 * INCH / gauge.width());
    let own = text.and_then(|text| text.metres);
    let metres_in_100_g = own.or_else(|| classes.last().map(|class| class.metres)).unwrap_or(USUAL);
    let allowance = ALLOWANCE[usize::from(own.is_none())];
    let for_swatch = if first { swatch_yarn(gauge) } else { 0.0 };
    let to_buy = (in_pieces + for_sewing + for_swatch) * (1.0 + allowance);
    let ball = text.map_or(50.0, |text| text.ball);
    let grams = to_buy * 100.0 / metres_in_100_g;
    let printed = text.and_then(|text| text.printed.clone());
    YarnPlan {
        colour: colour.clone(),
        reading: printed.as_deref().and_then(YarnReading::of),
        printed,
        classes_of_gauge: classes.iter().map(|class| class.number).collect(),
        in_pieces,
        for_sewing,
        for_swatch,
        allowance,
        to_buy,
        metres_in_100_g,
        metres_assumed: own.is_none(),
        grams,
        ball,
        balls: (grams / ball).ceil() as u32,
        ball_makes: ball_makes(colour, ball * metres_in_100_g / 100.0, made),
    }
}

/// What does not belong together: a yarn's old name and its gauge, and the needles and the yarn.
pub(super) fn warnings(yarns: &[YarnPlan], needles: &[NeedlePlan], made: &[Made<'_>]) -> Vec<String> {
    let mut told = misnamed(yarns);
    told.extend(needles.iter().flat_map(|needle| misfits(needle, yarns, made)));
    told
}

/// Yarns that do not belong on these needles, neither by their name nor by their gauge.
fn misfits(needle: &NeedlePlan, yarns: &[YarnPlan], made: &[Made<'_>]) -> Vec<String> {
    let Some(between) = needle.reading.between else { return Vec::new() };
    let has = |yarn: &&YarnPlan| {
        let worked = made.iter().filter(|one| needle.pieces.contains(&one.entry.name));
        worked.into_iter().any(|one| {
            one.entry.colour == yarn.colour
                || one.entry.rows.values().any(|colour| Some(colour) == yarn.colour.as_ref())
        })
    };
    let told = |yarn: &YarnPlan| {
        let classes = yarn.classes();
        let apart = !classes.is_empty() && !classes.iter().any(|class| class.goes_with(between));
        apart.then(|| {
            let least = classes.iter().map(|class| class.needles[0]).fold(f64::INFINITY, f64::min);
            let most = classes.iter().map(|class| class.needles[1]).fold(0.0, f64::max);
            let numbers: Vec<String> = classes.iter().map(|class| class.number.to_string()).collect();
            format!(
                "the needles {} are {}, but the {} yarn is of class {}, which is usually knitted on {least} to \
                 {most} mm: let a swatch decide, and suspect a misprint or another gauge in the needle's number",
                needle.called(),
                millimetres(between),
                yarn.colour.as_deref().unwrap_or("one"),
                numbers.join(" or "),
            )
        })
    };
    yarns.iter().filter(has).filter_map(told).collect()
}

fn millimetres([thinnest, thickest]: [f64; 2]) -> String {
    if thickest - thinnest < 0.05 {
        format!("{thinnest:.1} mm")
    } else {
        format!("{thinnest:.1} to {thickest:.1} mm")
    }
}

impl NeedlePlan {
    /// As printed, or else for what they are.
    fn called(&self) -> String {
        match &self.printed {
            Some(printed) => format!("\"{printed}\""),
            None => format!("for {}", self.pieces.join(" and ")),
        }
    }
}

impl YarnPlan {
    /// The classes that it may be of, by its old name or by its gauge.
    fn classes(&self) -> Vec<&'static YarnClass> {
        let named = self.reading.as_ref().map(|reading| reading.classes[0]..=reading.classes[1]);
        let by_name = |class: &u8| named.as_ref().is_some_and(|named| named.contains(class));
        let all = 0..=7;
        all.filter(|class| by_name(class) || self.classes_of_gauge.contains(class))
            .filter_map(YarnClass::of)
            .collect()
    }
}

/// Yarns whose gauge belongs to another class than their old name.
fn misnamed(yarns: &[YarnPlan]) -> Vec<String> {
    let apart = |yarn: &&YarnPlan| {
        let named = yarn.reading.as_ref().map(|reading| reading.classes[0]..=reading.classes[1]);
        let gauged = &yarn.classes_of_gauge;
        named.is_some_and(|named| !gauged.is_empty() && !gauged.iter().any(|class| named.contains(class)))
    };
    let told = |yarn: &YarnPlan| {
        let classes: Vec<String> = yarn.classes_of_gauge.iter().map(u8::to_string).collect();
        format!(
            "the {} yarn is printed as \"{}\", but its gauge is that of class {}: trust the swatch, and buy for the gauge",
            yarn.colour.as_deref().unwrap_or("one"),
            yarn.printed.as_deref().unwrap_or_default(),
            classes.join(" or ")
        )
    };
    yarns.iter().filter(apart).map(told).collect()
}

/// Metres in a square swatch.
fn swatch_yarn(gauge: &Gauge) -> f64 {
    let stitches = (SWATCH / gauge.width()) * (SWATCH / gauge.height());
    stitches * gauge.loop_length(Relaxation::Wet) / 100.0
}

/// How far a ball goes in the pieces of one colour; where one piece takes several, the rows of the joins are noted.
fn ball_makes(colour: &Option<String>, metres: f64, made: &mut [Made<'_>]) -> Vec<String> {
    let mut told = Vec::new();
    for one in made
        .iter_mut()
        .filter(|one| one.entry.colour == *colour && one.entry.rows.is_empty() && one.yarn > 0.0)
    {
        let name = &one.entry.name;
        let whole = (metres / one.yarn) as usize;
        if whole > 0 {
            told.push(format!("one ball makes {whole} × {name}"));
            continue;
        }
        let mut used = 0.0;
        for (row, own) in one.in_rows.iter().enumerate().skip(1) {
            used += own;
            if used > metres {
                used = *own;
                let row = one.piece.rows[row - 1].label.clone();
                one.joins.push(YarnJoin { row, colour: colour.clone(), why: "ball" });
            }
        }
        told.push(format!("one {name} takes {} balls", (one.yarn / metres).ceil()));
    }
    told
}

/// The needles with what their numbers mean.
pub(super) fn needles(file: &PlanFile, made: &[Made<'_>]) -> Result<Vec<NeedlePlan>, Problem> {
    let one = |text: &crate::file::NeedleText| {
        for name in &text.pieces {
            if !made.iter().any(|one| one.entry.name == *name) {
                return Err(no_piece(name, made));
            }
        }
        let reading = Needle::read(&text.number, text.gauge)?;
        Ok(NeedlePlan { printed: text.printed.clone(), pieces: text.pieces.clone(), reading })
    };
    let needles = file.needles.iter().enumerate();
    needles.map(|(place, text)| one(text).map_err(|problem| problem.of(PlanEntry::Needle(place)))).collect()
}

/// The tools of the piece that asks for most of each.
pub(super) fn tools(made: &[Made<'_>], gauge: &Gauge) -> ToolsNeeded {
    let most = |peak: fn(&crate::Tools) -> &Peak| {
        let busy = made.iter().map(|one| (one, peak(one.tools()))).filter(|(_, peak)| peak.count > 0);
        // The first of those with most.
        let busy = busy.reduce(|best, other| if other.1.count > best.1.count { other } else { best });
        busy.map(|(one, peak)| BusyIn { piece: one.entry.name.clone(), peak: peak.clone() })
    };
    let longest = made.iter().map(|one| one.tools().stitches.count).max().unwrap_or(0);
    ToolsNeeded {
        needles: made.iter().map(|one| one.tools().needles).max().unwrap_or(2),
        cable_needles: most(|tools| &tools.cable_needles),
        holders: most(|tools| &tools.holders),
        markers: most(|tools| &tools.markers),
        longest_row: f64::from(longest) * gauge.width(),
    }
}

/// Cast-ons for the edges that must stretch.
pub(super) fn stretches(file: &PlanFile, made: &[Made<'_>]) -> Result<Vec<StretchPlan>, Problem> {
    let one = |text: &crate::file::StretchText| {
        let (piece, side) = Made::side_called(file, made, &text.edge)?;
        let rest = Length::cm(made[piece].shape.sides[side].length);
        let to: Length = text.to.parse()?;
        Ok(StretchPlan {
            edge: text.edge.clone(),
            rest: rest.in_cm(),
            to: to.in_cm(),
            cast_on: stretchy_cast_on(rest, to),
        })
    };
    let stretches = file.stretches.iter().enumerate();
    let of = |place, problem: Problem| problem.of(PlanEntry::Stretch(place));
    stretches.map(|(place, text)| one(text).map_err(|problem| of(place, problem))).collect()
}
