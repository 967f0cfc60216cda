//! Making up, step by step, in words.

use super::{EdgingOnPath, PiecePlan, Plan, SeamPlan};
use crate::corner::Treatment;
use crate::edging::Joining;
use crate::length::{Length, counted, decimal};

/// The steps in their order.
pub(super) fn steps(plan: &Plan) -> Vec<String> {
    let mut steps = vec![blocking(plan)];
    if let Some(block) = &plan.block {
        steps.push(laying_out(plan, block));
    }
    steps.extend(
        plan.seams.iter().filter(|seam| !seam.in_block || !seam.difference.ways.is_empty()).map(sewing),
    );
    for laid in &plan.laid {
        let name = &plan.pieces[laid.piece].name;
        let many = laid.places.len();
        steps.push(format!(
            "Lay a {name} over each of the {many} places that the schematic shows, right side up, and sew it down round \
             its edge with small stitches."
        ));
    }
    if let Some(edging) = &plan.edging {
        steps.extend(edging_steps(plan, edging));
    }
    steps.push("Darn in the ends on the wrong side, wash, and dry flat.".to_owned());
    steps
}

fn blocking(plan: &Plan) -> String {
    let edging = plan.edging.as_ref().map(|edging| edging.piece);
    let sizes = plan.pieces.iter().enumerate().filter(|(place, _)| Some(*place) != edging);
    let sizes: Vec<String> =
        sizes.map(|(_, piece)| format!("{} to {}", several(piece), piece.size())).collect();
    format!("Wash the pieces and pin them out damp: {}. Let them dry before they are sewn.", sizes.join("; "))
}

fn several(piece: &PiecePlan) -> String {
    if piece.count == 1 { format!("the {}", piece.name) } else { format!("each {}", piece.name) }
}

impl PiecePlan {
    /// Its size: "20.3 cm (8 in.) along each side", "7 cm (2¾ in.) across".
    pub fn size(&self) -> String {
        let (width, height) = (Length::cm(self.width), Length::cm(self.height));
        let mean = self.sides.iter().map(|side| side.length).sum::<f64>() / self.sides.len().max(1) as f64;
        let alike =
            self.sides.len() == 4 && self.sides.iter().all(|side| (side.length / mean - 1.0).abs() < 0.03);
        match self.shape {
            "disc" => format!("{width} across"),
            "tube" => format!("{} round and {height} high", Length::cm(2.0 * self.width)),
            _ if alike => format!("{} along each side", Length::cm(mean)),
            _ => format!("{width} by {height}"),
        }
    }
}

fn laying_out(plan: &Plan, block: &super::BlockPlan) -> String {
    let turned = block.cells.windows(2).any(|pair| pair[0].turn != pair[1].turn);
    let turn = if turned { "each turned as the schematic shows" } else { "all turned the same way" };
    let count: u32 = plan.seams.iter().filter(|seam| seam.in_block).map(|seam| seam.times).sum();
    format!(
        "Lay out the {} pieces in {} of {}, {turn}. Sew them edge to edge, corner to corner: first those of each row, \
         then row to row, {} in all; pin the crossings before you sew across them.",
        block.cells.len(),
        counted(block.rows as usize, "row", "rows"),
        block.columns,
        counted(count as usize, "seam", "seams")
    )
}

fn sewing(seam: &SeamPlan) -> String {
    let times = if seam.times > 1 { format!(", {} times", seam.times) } else { String::new() };
    let how = match seam.difference.ways.first() {
        Some(way) => format!(
            "They differ by {} cm ({} %): {}.",
            decimal(seam.difference.by),
            decimal(seam.difference.part * 100.0),
            way.what
        ),
        None => "They are as long as each other.".to_owned(),
    };
    format!("Sew {} to {}{times}. {how}", seam.one, seam.other)
}

fn edging_steps(plan: &Plan, edging: &EdgingOnPath) -> Vec<String> {
    let name = &plan.pieces[edging.piece].name;
    let mut steps = vec![working(name, edging)];
    steps.extend(corners(edging));
    steps.extend(putting_on(name, edging));
    steps
}

/// The repeats, all of them and along each side.
fn working(name: &str, edging: &EdgingOnPath) -> String {
    let sides: Vec<String> = edging.plan.sides.iter().map(|side| side.repeats.to_string()).collect();
    let ends = if edging.closed { ", bind off and join the ends" } else { ", and bind off" };
    let along = match (sides.len(), edging.plan.treatment) {
        (1, _) => String::new(),
        (_, Treatment::Eased) => {
            format!(
                " Counted from corner to corner, from the lower left one on, they are {}.",
                sides.join(", ")
            )
        }
        _ => format!(" They go along the sides, from the lower left corner on: {}.", sides.join(", ")),
    };
    let repeats = counted(edging.plan.repeats as usize, "repeat", "repeats");
    let rows = match edging.rows_once {
        0 => format!("{} rows", edging.plan.rows),
        once => {
            let before = counted(once as usize, "row that comes", "rows that come");
            format!("{} rows with the {before} once before the first", edging.plan.rows)
        }
    };
    format!("Work {repeats} of the {name}, {rows}{ends}.{along}")
}

/// Where the corners fall, and how each is turned.
fn corners(edging: &EdgingOnPath) -> Vec<String> {
    let corners = edging.plan.corners.iter().flatten().count();
    if corners == 0 {
        return Vec::new();
    }
    let mut told: Vec<&str> =
        edging.plan.corners.iter().flatten().map(|corner| corner.told.as_str()).collect();
    told.dedup();
    let word = if told.len() > 1 { "In turn" } else { "At each corner" };
    vec![
        format!(
            "Mark the repeat at which each of the {} falls: always between two of them, so that all are alike.",
            counted(corners, "corner", "corners")
        ),
        format!("{word}, {}.", told.join("; ")),
    ]
}

/// Sewing it on, or joining it as it is worked.
fn putting_on(name: &str, edging: &EdgingOnPath) -> Vec<String> {
    match edging.plan.joining {
        Joining::Sewn => vec![format!(
            "Pin the straight side of the {name} to the edge, {}, and sew it on from the right side.",
            ease(edging)
        )],
        Joining::KnittedOn => {
            let joins: Vec<&str> = edging.plan.sides.iter().filter_map(|side| side.join.as_deref()).collect();
            match joins.as_slice() {
                [join, others @ ..] if others.iter().all(|other| other == join) => {
                    vec![format!("Join it as you go: {join}.")]
                }
                joins => {
                    let sides = joins.iter().enumerate();
                    sides.map(|(side, join)| format!("Along side {}, {join}.", side + 1)).collect()
                }
            }
        }
    }
}

/// By how much the straight side is stretched or held in, where most.
fn ease(edging: &EdgingOnPath) -> String {
    let strains = edging.plan.sides.iter().map(|side| side.strain);
    match strains.fold(0.0, |most: f64, one| if one.abs() > most.abs() { one } else { most }) {
        strain if strain.abs() < 0.003 => "it lies to its length".to_owned(),
        strain if strain > 0.0 => format!("stretch it by up to {} %", decimal(strain * 100.0)),
        strain => format!("hold it in by up to {} %", decimal(-strain * 100.0)),
    }
}
