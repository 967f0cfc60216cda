//! The making up of a project: what follows from its plan, and how long it takes at her own pace.
//!
//! Knows the programs of the pieces, the text of the plan and her moves at the needles; nothing of HTTP.

use std::fmt::Write as _;

use along::{Logged, Pace};
use jiff::civil::Date;
use loops::Piece;
use makingup::{Plan, Schematic, Style, SwatchText};
use shelf::{Move, Project};

use crate::app::wire::{PlanLine, PlanMade, PlanPart, PlanSection, PlanTask, PlanTime};
use crate::caution::cautions;
use crate::commands::plan::plan_at;
use crate::failure::Failure;
use crate::plan_text::{self, Part, UNDER};
use crate::source::Source;
use crate::time::{Time, Timed, measured};

/// Everything that follows from a plan.
///
/// # Errors
/// [`Failure`] with what the plan lacks.
pub fn made(
    pieces: &[Piece],
    text: &str,
    project: &Project,
    moves: &[Move],
    days: Option<(Date, f64)>,
) -> Result<PlanMade, Failure> {
    let plan = plan_of_project(pieces, project)?;
    let pace = pace(pieces, moves).map_or_else(Timed::assumed, Timed::Measured);
    let time = Time::of(&Time::tasks_of_plan(&plan), pace, days)?;
    Ok(PlanMade {
        title: plan.title.clone(),
        gauge: plan_text::gauge(&plan),
        size: plan_text::size(&plan),
        schematic: Schematic::of(&plan, &Style::default()).to_svg(),
        sections: sections(&plan, &cautions(text)),
        time: timed(&time),
    })
}

/// The plan of a project, at its gauge where the plan has no swatch of its own.
///
/// # Errors
/// [`Failure`] with what the plan lacks.
pub fn plan_of_project(pieces: &[Piece], project: &Project) -> Result<Plan, Failure> {
    let swatch = project.gauge.map(|gauge| SwatchText::to_10_cm(gauge.stitches, gauge.rows));
    plan_at(pieces, &Source::of_text("the plan", &project.plan), swatch)
}

/// A plan to begin with: one of each piece.
pub fn beginning(pieces: &[Piece]) -> String {
    let mut out = String::new();
    for (place, piece) in (1..).zip(pieces) {
        let name = piece.name.clone().unwrap_or_else(|| "piece".to_owned());
        let name: String =
            name.chars().filter(|letter| !letter.is_control() && !['"', '\\'].contains(letter)).collect();
        let _ = writeln!(out, "[[piece]]\nname = \"{name}\"\nof = {place}\ncount = 1\n");
    }
    out
}

/// Her pace, from the piece at which she was seen most.
fn pace(pieces: &[Piece], moves: &[Move]) -> Option<Pace> {
    let log = |index: usize| rows_done(moves, index, pieces[index].rows.len());
    let longest = (0..pieces.len()).max_by_key(|&index| log(index).len())?;
    measured(&log(longest), &pieces[longest])
}

/// When the rows of a piece were done: the first moment at each row.
fn rows_done(moves: &[Move], piece: usize, rows: usize) -> Vec<Logged> {
    let of_piece = moves.iter().filter(|made| made.to.piece as usize == piece && made.to.row > 0);
    let logged = of_piece.map(|made| Logged {
        rows: (made.to.time.saturating_sub(1) as usize).saturating_mul(rows) + made.to.row as usize - 1,
        at: made.at.millis() / 1000,
    });
    let mut log: Vec<Logged> = Vec::new();
    for entry in logged {
        if log.last().is_none_or(|last| last.rows != entry.rows) {
            log.push(entry);
        }
    }
    log
}

fn sections(plan: &Plan, cautions: &[&str]) -> Vec<PlanSection> {
    let line = |line: String| match line.strip_prefix(UNDER) {
        Some(under) => PlanLine { text: under.to_owned(), under: true },
        None => PlanLine { text: line, under: false },
    };
    let section = |section: plan_text::Section| PlanSection {
        kind: part(section.part),
        lines: section.lines.into_iter().map(line).collect(),
    };
    plan_text::sections(plan, cautions).into_iter().map(section).collect()
}

fn part(part: Part) -> PlanPart {
    match part {
        Part::Pieces => PlanPart::Pieces,
        Part::Tools => PlanPart::Tools,
        Part::Yarn => PlanPart::Yarn,
        Part::Stretches => PlanPart::Stretches,
        Part::Differences => PlanPart::Differences,
        Part::MakingUp => PlanPart::MakingUp,
        Part::Warnings => PlanPart::Warnings,
        Part::Cautions => PlanPart::Cautions,
    }
}

fn timed(time: &Time) -> PlanTime {
    PlanTime {
        pace: time.pace.pace().usual,
        measured: matches!(time.pace, Timed::Measured(_)),
        tasks: time
            .tasks
            .iter()
            .map(|task| PlanTask {
                name: task.name.clone(),
                stitches: task.stitches,
                minutes: task.minutes.into(),
                days: task.days.map(|days| (days.first.to_string(), days.last.to_string())),
            })
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use shelf::{Place, Timestamp};

    use super::*;

    fn moved(piece: u32, time: u32, row: u32, seconds: i64) -> Move {
        let to = Place { piece, time, row, stitch: 0 };
        Move { to, at: Timestamp::from_millis(seconds * 1000) }
    }

    #[test]
    fn moves_within_a_row_and_in_other_pieces_are_no_rows_done() {
        let moves =
            [moved(0, 1, 0, 1), moved(0, 1, 1, 2), moved(0, 1, 1, 9), moved(1, 1, 5, 10), moved(0, 1, 2, 60)];
        let rows: Vec<_> = rows_done(&moves, 0, 8).iter().map(|entry| (entry.rows, entry.at)).collect();
        assert_eq!(rows, [(0, 2), (1, 60)]);
        let again: Vec<_> = rows_done(&[moved(0, 3, 1, 5)], 0, 8).iter().map(|entry| entry.rows).collect();
        assert_eq!(again, [16]);
    }
}
