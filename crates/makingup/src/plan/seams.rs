//! The block of a plan, the edges that meet, and what is laid over.

use cloth::Gauge;

use super::pieces::{Made, no_piece};
use super::{BlockPlan, CellPlan, LaidPlan, SeamPlan};
use crate::block::{Block, Meeting};
use crate::file::{LaidOn, PlanFile};
use crate::length::decimal;
use crate::seam::{EdgeOf, compare};
use crate::shape::Shape;
use crate::{PlanEntry, Point, Problem};

/// The block, where the plan has one.
pub(crate) fn block(file: &PlanFile, made: &[Made<'_>]) -> Result<Option<Block>, Problem> {
    let Some(text) = &file.block else { return Ok(None) };
    Block::read(&text.rows, &named(made)).map(Some).map_err(|problem| problem.of(PlanEntry::Block))
}

/// Names and shapes, as a block takes them.
pub(super) fn named(made: &[Made<'_>]) -> Vec<(String, Shape)> {
    made.iter().map(|one| (one.entry.name.clone(), one.shape.clone())).collect()
}

/// The block as the plan tells it.
pub(super) fn block_plan(block: &Block) -> Result<BlockPlan, Problem> {
    let cells = block.cells().map(|(place, cell)| {
        let [x, y, width, height] = block.frame(place);
        CellPlan { piece: cell.piece, turn: cell.turn as u32 * 90, x, y, width, height }
    });
    Ok(BlockPlan {
        cells: cells.collect(),
        outline: block.outline()?.points().to_vec(),
        columns: block.widths.len() as u32,
        rows: block.heights.len() as u32,
        width: block.widths.iter().sum(),
        height: block.heights.iter().sum(),
    })
}

/// All edges that meet.
pub(super) fn seams(
    file: &PlanFile,
    made: &[Made<'_>],
    block: Option<&Block>,
    gauge: &Gauge,
) -> Result<Vec<SeamPlan>, Problem> {
    let ease = file.ease / 100.0;
    let in_block = block.map(Block::meetings).unwrap_or_default();
    let mut seams: Vec<SeamPlan> =
        in_block.iter().map(|meeting| seam(meeting, made, gauge, ease, true)).collect();
    for (place, join) in file.joins.iter().enumerate() {
        let side =
            |text| Made::side_called(file, made, text).map_err(|problem| problem.of(PlanEntry::Join(place)));
        let meeting =
            Meeting { one: side(&join.one)?, other: side(&join.other)?, times: join.times.unwrap_or(1) };
        seams.push(seam(&meeting, made, gauge, ease, false));
    }
    Ok(seams)
}

fn seam(meeting: &Meeting, made: &[Made<'_>], gauge: &Gauge, ease: f64, in_block: bool) -> SeamPlan {
    let names = [meeting.one, meeting.other]
        .map(|(piece, side)| format!("{} {}", made[piece].entry.name, made[piece].shape.side_name(side)));
    let edge = |(piece, side): (usize, usize), name| {
        let side = made[piece].shape.sides[side];
        EdgeOf { name, length: side.length, along: side.along, repeat: made[piece].repeat() }
    };
    let (one, other) = (edge(meeting.one, &names[0]), edge(meeting.other, &names[1]));
    let difference = compare(&one, &other, gauge, ease);
    let lengths = [one.length, other.length];
    let [one, other] = names;
    SeamPlan { one, other, times: meeting.times, lengths, in_block, difference }
}

/// What is laid over the block.
pub(crate) fn laid(
    file: &PlanFile,
    made: &[Made<'_>],
    block: Option<&Block>,
) -> Result<Vec<LaidPlan>, Problem> {
    let one = |text: &crate::file::LaidText| {
        let block = block.ok_or_else(|| {
            Problem::new("there are no pieces side by side to lay it on", "lay pieces side by side first")
        })?;
        let piece = made
            .iter()
            .position(|one| one.entry.name == text.piece)
            .ok_or_else(|| no_piece(&text.piece, made))?;
        let middle = |place| {
            let [x, y, width, height] = block.frame(place);
            Point::new(x + width / 2.0, y + height / 2.0)
        };
        let places: Vec<Point> = match text.on {
            LaidOn::Crossings => block.crossings(),
            LaidOn::Middles => block.cells().map(|(place, _)| middle(place)).collect(),
        };
        if places.is_empty() {
            return Err(Problem::new(
                "nowhere do four pieces meet",
                "lay it in the middle of each piece, or lay out two rows of two at least",
            ));
        }
        Ok(LaidPlan { piece, places })
    };
    let laid = file.laid.iter().enumerate();
    laid.map(|(place, text)| one(text).map_err(|problem| problem.of(PlanEntry::Laid(place)))).collect()
}

/// Seams whose edges differ.
pub(super) fn warnings(seams: &[SeamPlan]) -> Vec<String> {
    let differ = seams.iter().filter(|seam| !seam.difference.ways.is_empty());
    differ
        .map(|seam| {
            format!(
                "{} and {} differ by {} cm ({} %): {}",
                seam.one,
                seam.other,
                decimal(seam.difference.by),
                decimal(seam.difference.part * 100.0),
                seam.difference.ways[0].what
            )
        })
        .collect()
}
