//! A plan as text for people.

use std::fmt::Write;

use makingup::{BusyIn, Length, NeedlePlan, Once, PiecePlan, Plan, YarnPlan, decimal};

use crate::remark::capital;
use crate::report::counted;

/// A part of a plan. Lines that say more about the one before begin with [`UNDER`].
pub struct Section {
    /// What it is about.
    pub part: Part,
    /// What is said.
    pub lines: Vec<String>,
}

/// What a part of a plan is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// Sizes, stitches and yarn of each piece.
    Pieces,
    /// Needles, cable needles, holders, markers.
    Tools,
    /// What to buy.
    Yarn,
    /// Edges that must stretch.
    Stretches,
    /// Edges that differ, and the ways out.
    Differences,
    /// The steps of making up.
    MakingUp,
    /// What to look at first.
    Warnings,
    /// What belongs to the thing.
    Cautions,
}

/// What lines begin with that say more about the one before.
pub const UNDER: &str = "   ";

impl Part {
    fn head(self) -> &'static str {
        match self {
            Part::Pieces => "Pieces",
            Part::Tools => "Needles and tools",
            Part::Yarn => "Yarn",
            Part::Stretches => "Edges that stretch",
            Part::Differences => "Edges that differ",
            Part::MakingUp => "Making up",
            Part::Warnings => "Look at this first",
            Part::Cautions => "Care and caution",
        }
    }
}

/// The whole plan, with the cautions that belong to the thing.
pub fn plan(plan: &Plan, cautions: &[&str]) -> String {
    let mut out = String::new();
    if let Some(title) = &plan.title {
        out.push_str(&format!("{title}\n\n"));
    }
    line(&mut out, &format!("Gauge: {}", gauge(plan)));
    if let Some(size) = size(plan) {
        line(&mut out, &format!("Finished size: {size}"));
    }
    for Section { part, lines } in sections(plan, cautions) {
        line(&mut out, &format!("\n{}", part.head()));
        for (place, one) in lines.iter().enumerate() {
            let number = if part == Part::MakingUp { format!("{}. ", place + 1) } else { String::new() };
            line(&mut out, &format!("  {number}{one}"));
        }
    }
    out
}

/// The parts of the plan of which there is anything to say.
pub fn sections(plan: &Plan, cautions: &[&str]) -> Vec<Section> {
    let stretches = plan.stretches.iter().map(|stretch| {
        format!(
            "{}, from {} to {}: {}; {}",
            stretch.edge,
            Length::cm(stretch.rest),
            Length::cm(stretch.to),
            stretch.cast_on.cast_on,
            stretch.cast_on.why
        )
    });
    let parts = [
        (Part::Pieces, pieces(plan)),
        (Part::Tools, tools(plan)),
        (Part::Yarn, plan.yarns.iter().flat_map(yarn).collect()),
        (Part::Stretches, stretches.collect()),
        (Part::Differences, differences(plan)),
        (Part::MakingUp, plan.making_up.clone()),
        (Part::Warnings, plan.warnings.iter().map(|one| sentence(one)).collect()),
        (Part::Cautions, cautions.iter().map(|one| (*one).to_owned()).collect()),
    ];
    let told = parts.into_iter().filter(|(_, lines): &(_, Vec<String>)| !lines.is_empty());
    told.map(|(part, lines)| Section { part, lines }).collect()
}

/// How large the thing will be.
pub fn size(plan: &Plan) -> Option<String> {
    plan.finished.map(|[width, height]| format!("{} by {}", Length::cm(width), Length::cm(height)))
}

/// The gauge of the swatch.
pub fn gauge(plan: &Plan) -> String {
    let (stitches, rows) = (decimal(plan.gauge.stitches), decimal(plan.gauge.rows));
    format!("{stitches} stitches and {rows} rows of plain fabric to 10 cm (4 in.)")
}

/// The yarn of a colour: what to buy first, then what else is to be said.
pub fn yarn(yarn: &YarnPlan) -> Vec<String> {
    let colour = yarn.colour.as_deref().unwrap_or("yarn");
    let classes: Vec<String> = yarn.classes_of_gauge.iter().map(u8::to_string).collect();
    let class = match classes.is_empty() {
        true => String::new(),
        false => format!(" of class {}", classes.join(" or ")),
    };
    let assumed = if yarn.metres_assumed { ", the usual length of the class" } else { "" };
    let mut lines = vec![format!(
        "{colour}: {:.0} m{class}, {:.0} g: buy {} of {} g ({} m to 100 g{assumed})",
        yarn.to_buy,
        yarn.grams,
        counted(yarn.balls as usize, "ball"),
        decimal(yarn.ball),
        decimal(yarn.metres_in_100_g)
    )];
    lines.push(format!("{UNDER}{}", sum(yarn)));
    if let Some(printed) = &yarn.printed {
        let today = yarn.reading.as_ref().map_or_else(
            || "a name that no table has; let the gauge decide".to_owned(),
            |reading| {
                let [thin, thick] = reading.classes;
                let class =
                    if thin == thick { format!("class {thin}") } else { format!("class {thin} to {thick}") };
                let sure = format!("{:?}", reading.sure).to_lowercase();
                format!("{class} today; evidence {sure} ({})", reading.source)
            },
        );
        lines.push(format!("{UNDER}printed as \"{printed}\": {today}"));
    }
    lines.extend(yarn.ball_makes.iter().map(|made| format!("{UNDER}{made}")));
    lines
}

/// What the length to buy is made of.
fn sum(yarn: &YarnPlan) -> String {
    let parts = [
        (yarn.in_pieces, "in the pieces"),
        (yarn.for_sewing, "for sewing"),
        (yarn.for_swatch, "for the swatch"),
    ];
    let told: Vec<String> = parts
        .iter()
        .filter(|(metres, _)| *metres >= 0.5)
        .map(|(metres, what)| format!("{metres:.0} m {what}"))
        .collect();
    format!("{}, and {:.0} % over", told.join(", "), yarn.allowance * 100.0)
}

/// A pair of needles in the terms of today.
pub fn needle(needle: &NeedlePlan) -> String {
    let reading = &needle.reading;
    let size = match (reading.millimetres, reading.between) {
        (Some(likely), Some([least, most])) if most - least > 0.05 => {
            format!("about {} mm, anything from {least:.1} to {most:.1} mm", decimal(likely))
        }
        (Some(size), _) => format!("{} mm", (size * 100.0).round() / 100.0),
        (None, _) => "of no known size".to_owned(),
    };
    let sold: Vec<String> = reading.sold.iter().map(|mm| format!("{mm} mm")).collect();
    let mut told = size;
    if !sold.is_empty() {
        write!(told, "; sold as {}", sold.join(" or ")).unwrap_or_default();
    }
    for (scale, numbers) in [("US", &reading.us), ("old UK", &reading.british)] {
        if !numbers.is_empty() {
            write!(told, ", {scale} {}", numbers.join(" or ")).unwrap_or_default();
        }
    }
    let japan: Vec<String> = reading.japan.iter().map(u8::to_string).collect();
    if !japan.is_empty() {
        write!(told, ", Japan {}", japan.join(" or ")).unwrap_or_default();
    }
    told
}

fn pieces(plan: &Plan) -> Vec<String> {
    let edging = plan.edging.as_ref();
    let one = |(place, piece): (usize, &PiecePlan)| {
        let error = format!("± {:.0} %", piece.error * 100.0);
        let (many, size) = match edging.filter(|edging| edging.piece == place) {
            Some(edging) => (
                format!("{} repeats", piece.count),
                format!(
                    "{} deep at the points, one repeat {} long",
                    Length::cm(edging.points),
                    Length::cm(edging.repeat)
                ),
            ),
            None => (format!("{}", piece.count), piece.size()),
        };
        let joins: Vec<String> = piece
            .joins
            .iter()
            .map(|join| match (&join.colour, join.why) {
                (Some(colour), "colour") => format!("{colour} from row {}", join.row),
                _ => format!("a new ball in row {}", join.row),
            })
            .collect();
        let joins = if joins.is_empty() { String::new() } else { format!("; {}", joins.join(", ")) };
        format!(
            "{many} × {}: {size} ({error}); {} stitches, {:.1} m of yarn each{}{joins}",
            piece.name,
            piece.stitches,
            piece.yarn,
            once(piece)
        )
    };
    plan.pieces.iter().enumerate().map(one).collect()
}

/// What is worked once for all repeats of an edging.
fn once(piece: &PiecePlan) -> String {
    let Once { stitches, rows, yarn } = piece.once;
    let what = if rows == 0 { "the cast-on" } else { "the cast-on and the rows that are worked once" };
    if stitches == 0 { String::new() } else { format!(", and {stitches} stitches, {yarn:.1} m in {what}") }
}

fn tools(plan: &Plan) -> Vec<String> {
    let mut lines: Vec<String> = plan
        .needles
        .iter()
        .flat_map(|one| {
            let pieces = if one.pieces.is_empty() {
                String::new()
            } else {
                format!(" for the {}", one.pieces.join(", the "))
            };
            let printed = one.printed.as_deref().unwrap_or("needles");
            let note = one.reading.note.map(|note| format!("{UNDER}{note}"));
            std::iter::once(format!("{printed}{pieces}: {}", needle(one))).chain(note)
        })
        .collect();
    let tools = &plan.tools;
    lines.push(format!(
        "{} needles at once at most; the longest row is {} of plain fabric",
        tools.needles,
        Length::cm(tools.longest_row)
    ));
    let busy = |one: &Option<BusyIn>, what: &str| {
        one.as_ref().map(|one| {
            let row = one.peak.row.as_deref().map_or_else(String::new, |row| format!(", row {row}"));
            format!("{what}: {} at once ({}{row})", one.peak.count, one.piece)
        })
    };
    lines.extend(busy(&tools.cable_needles, "cable needles"));
    lines.extend(busy(&tools.holders, "stitch holders"));
    lines.extend(busy(&tools.markers, "markers between repeats"));
    lines
}

fn differences(plan: &Plan) -> Vec<String> {
    let differ = plan.seams.iter().filter(|seam| !seam.difference.ways.is_empty());
    differ
        .flat_map(|seam| {
            let head = format!(
                "{} ({}) and {} ({}): {} cm, {} %",
                seam.one,
                Length::cm(seam.lengths[0]),
                seam.other,
                Length::cm(seam.lengths[1]),
                decimal(seam.difference.by),
                decimal(seam.difference.part * 100.0)
            );
            let ways = seam
                .difference
                .ways
                .iter()
                .map(|way| format!("{UNDER}{} (leaves {} cm)", way.what, decimal(way.left)));
            std::iter::once(head).chain(ways).collect::<Vec<_>>()
        })
        .collect()
}

fn sentence(text: &str) -> String {
    format!("{}.", capital(text))
}

fn line(out: &mut String, text: &str) {
    out.push_str(text);
    out.push('\n');
}
