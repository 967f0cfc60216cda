//! The making up of a project: what follows from its plan, and how long it takes at her own pace.
//!
//! Knows the programs of the pieces, the text of the plan and her moves at the needles; nothing of HTTP.

use along::{Logged, Pace};
use loops::{Piece, Repeat};
use makingup::{PieceEntry, Plan, PlanFile, Problem, Schematic, Style, SwatchText};
use shelf::{Move, Project};

use crate::app::alike::alike;
use crate::app::wire::{PaceFrom, PlanLine, PlanMade, PlanPart, PlanSection, PlanTask, PlanTime};
use crate::caution::cautions;
use crate::failure::Failure;
use crate::plan_text::{self, Part, UNDER};
use crate::time::{Planned, Time, Timed, measured};

/// Everything that follows from a plan, and the names of the sides of its pieces.
///
/// # Errors
/// [`Failure`] with what the plan lacks.
pub fn made(
    pieces: &[Piece],
    text: &str,
    project: &Project,
    moves: &[Move],
) -> Result<(PlanMade, Vec<Vec<String>>), Failure> {
    let (file, plan) = plan_of_project(pieces, project)?;
    let planned = Planned::of(&file)?;
    let pace = match (pace(pieces, moves), planned.pace) {
        (Some(measured), _) => Timed::Measured(measured),
        (None, Some(told)) => Timed::Told(Pace::told(told)),
        (None, None) => Timed::assumed(),
    };
    let days = planned.start.map(|start| (start, planned.hours));
    let time = Time::of(&Time::tasks_of_plan(&plan), pace, days)?;
    let sides = plan.pieces.iter().map(|piece| piece.sides.iter().map(|side| side.name.clone()).collect());
    let made = PlanMade {
        title: plan.title.clone(),
        gauge: plan_text::gauge(&plan),
        size: plan_text::size(&plan),
        schematic: Schematic::of(&plan, &Style::default()).to_svg(),
        narrow_schematic: Schematic::of(&plan, &Style::narrow()).to_svg(),
        sections: sections(&plan, &cautions(text)),
        time: timed(&time),
    };
    Ok((made, sides.collect()))
}

/// The plan of a project, at its gauge where the plan has no swatch of its own.
///
/// # Errors
/// [`Failure`] with what the plan lacks.
pub fn plan_of_project(pieces: &[Piece], project: &Project) -> Result<(PlanFile, Plan), Failure> {
    let file = file_of(project);
    file.and_then(|file| Plan::of(&file, pieces).map(|plan| (file, plan))).map_err(of_project)
}

/// The names of those sides where nothing else follows from the plan; none where the pieces have no shape yet.
pub fn sides(pieces: &[Piece], project: &Project) -> Vec<Vec<String>> {
    file_of(project).and_then(|file| file.sides(pieces)).unwrap_or_default()
}

fn file_of(project: &Project) -> Result<PlanFile, Problem> {
    let gauge = project.gauge.map(|gauge| SwatchText::to_10_cm(gauge.stitches, gauge.rows));
    let file = PlanFile::read(&project.plan)?;
    let swatch = file.swatch.clone().or(gauge).ok_or_else(no_gauge)?;
    Ok(PlanFile { swatch: Some(swatch), ..file })
}

/// The text of a plan to begin with: one of each piece.
///
/// # Errors
/// [`Failure`] if it cannot be written.
pub fn beginning(pieces: &[Piece]) -> Result<String, Failure> {
    let one_of_each = PlanFile { pieces: PieceEntry::one_of_each(pieces), ..PlanFile::default() };
    one_of_each.written("").map_err(of_project)
}

fn no_gauge() -> Problem {
    // The fields of the gauge stand above the form: it is no part of the plan.
    Problem::new(
        "there is no gauge yet, and without one there are no sizes",
        "knit 15 cm (6 in.) of plain fabric as a swatch, wash it, count the stitches and rows in the middle 10 cm, and \
         fill in the gauge",
    )
}

/// The plan of a project is no file.
fn of_project(problem: Problem) -> Failure {
    Failure::Plan { file: "the plan".to_owned(), problem }
}

/// Her pace, from the piece at which she was seen most.
fn pace(pieces: &[Piece], moves: &[Move]) -> Option<Pace> {
    let log = |index: usize| rows_done(moves, index, pieces[index].repeat());
    let longest = (0..pieces.len()).max_by_key(|&index| log(index).len())?;
    measured(&log(longest), &pieces[longest])
}

/// When the rows of a piece were done: the first moment at each row.
fn rows_done(moves: &[Move], piece: usize, repeat: Repeat) -> Vec<Logged> {
    let of_piece = moves.iter().filter(|made| made.to.piece as usize == piece && made.to.row > 0);
    let logged = of_piece.map(|made| Logged {
        rows: repeat.place(made.to.time.saturating_sub(1) as usize, made.to.row as usize - 1),
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
        kind: section.part.into(),
        lines: section.lines.into_iter().map(line).collect(),
    };
    plan_text::sections(plan, cautions).into_iter().map(section).collect()
}

alike!(Part => PlanPart: Pieces, Tools, Yarn, Stretches, Differences, MakingUp, Warnings, Cautions);

fn timed(time: &Time) -> PlanTime {
    PlanTime {
        pace: time.pace.pace().usual,
        from: match time.pace {
            Timed::Measured(_) => PaceFrom::Needles,
            Timed::Told(_) => PaceFrom::Plan,
            Timed::Assumed(_) => PaceFrom::Guess,
        },
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
        let repeat = Repeat { once: 2, again: 6 };
        let rows: Vec<_> = rows_done(&moves, 0, repeat).iter().map(|entry| (entry.rows, entry.at)).collect();
        assert_eq!(rows, [(0, 2), (1, 60)]);
        let again: Vec<_> =
            rows_done(&[moved(0, 3, 4, 5)], 0, repeat).iter().map(|entry| entry.rows).collect();
        assert_eq!(again, [15], "two rows once, six in each of two times, three in the third but one");
    }
}
