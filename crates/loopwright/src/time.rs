//! How long the work takes, and when: by a pace, a log, a plan.

use std::ops::RangeInclusive;
use std::path::Path;

use along::{Days, Logged, Pace, Span, Task, order, row_stitches};
use jiff::civil::{Date, DateTime};
use loops::{Piece, work};
use makingup::{Plan, PlanEntry, PlanFile, Problem};

use crate::failure::Failure;
use crate::source::Source;

/// Stitches a minute where nothing is known: an unhurried hand. From memory, no published source.
const ASSUMED: f64 = 25.0;

/// Time for every task.
pub struct Time {
    /// The pace.
    pub pace: Timed,
    /// The tasks in order.
    pub tasks: Vec<TaskTime>,
}

/// A pace, and where it is from.
#[derive(Clone, Copy)]
pub enum Timed {
    /// From her log.
    Measured(Pace),
    /// From the command line.
    Told(Pace),
    /// From nothing.
    Assumed(Pace),
}

/// Stitches a minute that hands can work.
pub const PACES: RangeInclusive<f64> = 1.0..=200.0;
/// Hours that can be worked in a day.
pub const HOURS_A_DAY: RangeInclusive<f64> = 0.05..=24.0;

/// What a plan says of the time.
pub struct Planned {
    /// The first day.
    pub start: Option<Date>,
    /// Hours a day.
    pub hours: f64,
    /// Stitches a minute.
    pub pace: Option<f64>,
}

/// Time for one task.
pub struct TaskTime {
    /// What it is called.
    pub name: String,
    /// Its stitches.
    pub stitches: u64,
    /// Minutes at the usual, the fast and the slow pace.
    pub minutes: [f64; 3],
    /// Its days, where they are asked for.
    pub days: Option<Span>,
}

/// A file of progress.
pub struct Log {
    name: String,
    entries: Vec<Logged>,
}

impl Time {
    /// The time for tasks in the order in which they can be done.
    ///
    /// # Errors
    /// A usage failure where the work would take more than ten years of days.
    pub fn of(tasks: &[Task], pace: Timed, days: Option<(Date, f64)>) -> Result<Time, Failure> {
        let minutes = |task: &Task| pace.pace().minutes(task.stitches);
        let order = order(tasks).map_err(|circle| Failure::Usage {
            message: format!("{} pieces of the plan wait for each other", circle.0.len()),
            help: "put the edging on pieces other than itself".to_owned(),
        })?;
        let ordered: Vec<&Task> = order.iter().map(|&index| &tasks[index]).collect();
        let spans =
            days.map(|(start, hours)| spans(&ordered, start, hours, |task| minutes(task)[0])).transpose()?;
        let timed = ordered.iter().enumerate().map(|(place, task)| TaskTime {
            name: task.name.clone(),
            stitches: task.stitches,
            minutes: minutes(task),
            days: spans.as_ref().map(|spans| spans[place]),
        });
        Ok(Time { pace, tasks: timed.collect() })
    }

    /// One task a piece.
    pub fn tasks(pieces: &[Piece]) -> Vec<Task> {
        let stitches =
            |piece: &Piece| u64::from(piece.cast_on) + work(piece).rows.iter().map(row_stitches).sum::<u64>();
        let name = |piece: &Piece| piece.name.clone().unwrap_or_else(|| "The piece".to_owned());
        pieces
            .iter()
            .map(|piece| Task { name: name(piece), stitches: stitches(piece), after: Vec::new() })
            .collect()
    }

    /// One task for all pieces of a kind of the plan, and one for the edging, which comes last.
    pub fn tasks_of_plan(plan: &Plan) -> Vec<Task> {
        let edging = plan.edging.as_ref();
        let is_edging = |index: usize| edging.is_some_and(|edging| edging.piece == index);
        let others: Vec<usize> = (0..plan.pieces.len()).filter(|&index| !is_edging(index)).collect();
        let task = |(index, piece): (usize, &makingup::PiecePlan)| {
            let times = piece.count;
            let of = if is_edging(index) { "repeats of " } else { "" };
            Task {
                name: if times == 1 { piece.name.clone() } else { format!("{times} × {of}{}", piece.name) },
                stitches: piece.stitches_in_all(),
                after: if is_edging(index) { others.clone() } else { Vec::new() },
            }
        };
        plan.pieces.iter().enumerate().map(task).collect()
    }
}

impl Default for Planned {
    fn default() -> Planned {
        Planned { start: None, hours: 1.0, pace: None }
    }
}

impl Planned {
    /// What the file of a plan says.
    ///
    /// # Errors
    /// [`Failure`] for a day that is none, and for hours or a pace that nobody has.
    pub fn of(file: &PlanFile) -> Result<Planned, Failure> {
        let Some(time) = &file.time else { return Ok(Planned::default()) };
        let wrong = |message: String, help: &str| Failure::Plan {
            file: "the plan".to_owned(),
            problem: Problem::new(message, help).of(PlanEntry::Time),
        };
        let start = time.start.as_ref().map(|day| {
            day.parse().map_err(|_| wrong(format!("\"{day}\" is no day"), "write it such as \"2026-12-01\""))
        });
        let hours = time.hours.unwrap_or(1.0);
        if !HOURS_A_DAY.contains(&hours) {
            return Err(wrong(
                format!("nobody knits {hours} hours a day"),
                "give a number up to 24, such as 1.5",
            ));
        }
        if let Some(pace) = time.pace.filter(|pace| !PACES.contains(pace)) {
            return Err(wrong(
                format!("nobody works {pace} stitches a minute"),
                "give a number from 1 to 200, such as 25",
            ));
        }
        Ok(Planned { start: start.transpose()?, hours, pace: time.pace })
    }
}

fn spans(
    tasks: &[&Task],
    start: Date,
    hours: f64,
    minutes: impl Fn(&Task) -> f64,
) -> Result<Vec<Span>, Failure> {
    let days = Days { start, minutes: hours * 60.0, rest: Vec::new() };
    let minutes: Vec<f64> = tasks.iter().map(|task| minutes(task)).collect();
    days.of(&minutes).ok_or_else(|| Failure::Usage {
        message: format!("at {hours} hours a day this takes more than ten years"),
        help: "give more hours a day".to_owned(),
    })
}

impl Timed {
    /// The pace where nothing is known.
    pub fn assumed() -> Timed {
        Timed::Assumed(Pace::told(ASSUMED))
    }

    /// The pace itself.
    pub fn pace(self) -> Pace {
        match self {
            Timed::Measured(pace) | Timed::Told(pace) | Timed::Assumed(pace) => pace,
        }
    }
}

/// Reads a file of progress: in each line the rows done and when.
///
/// # Errors
/// [`Failure`] when the file cannot be read, or a line is something else.
pub fn log_of(path: &Path) -> Result<Log, Failure> {
    let source = Source::load(path)?;
    let lines = source.text.lines().enumerate().filter(|(_, line)| !line.trim().is_empty());
    let entries = lines.map(|(number, line)| {
        entry(line).ok_or_else(|| Failure::Usage {
            message: format!("{}:{}: \"{}\" is no row with its time", source.name, number + 1, line.trim()),
            help: "write the rows done and when, such as `12 2026-03-01 20:15`".to_owned(),
        })
    });
    Ok(Log { entries: entries.collect::<Result<_, _>>()?, name: source.name.clone() })
}

fn entry(line: &str) -> Option<Logged> {
    let (rows, at) = line.trim().split_once(char::is_whitespace)?;
    let at: DateTime = at.trim().parse().ok()?;
    let seconds = at.duration_since(DateTime::constant(2000, 1, 1, 0, 0, 0, 0)).as_secs();
    Some(Logged { rows: rows.parse().ok()?, at: seconds })
}

impl Log {
    /// The pace that the log tells of.
    ///
    /// # Errors
    /// A usage failure where it is of several pieces, or too short.
    pub fn pace(&self, pieces: &[Piece]) -> Result<Pace, Failure> {
        let [piece] = pieces else {
            return Err(Failure::Usage {
                message: format!("{}: a log is of one piece", self.name),
                help: "say which one with --piece".to_owned(),
            });
        };
        measured(&self.entries, piece).ok_or_else(|| Failure::Usage {
            message: format!("{}: the log is too short to tell a pace by", self.name),
            help: "note the rows done at four moments or more, in order".to_owned(),
        })
    }
}

/// The pace of a log of one piece, where it is long enough; rows beyond the last are those of another time through.
pub fn measured(log: &[Logged], piece: &Piece) -> Option<Pace> {
    let all: Vec<u64> = work(piece).rows.iter().map(row_stitches).collect();
    let most = log.iter().map(|entry| entry.rows).max().unwrap_or(0).min(100_000);
    let again = all[piece.repeat().once.min(all.len())..].iter().cycle();
    let stitches: Vec<u64> = all.iter().chain(again).copied().take(most).collect();
    Pace::measured(log, &stitches)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_of_a_log() {
        let first = entry("12 2026-03-01 20:15").map(|entry| (entry.rows, entry.at));
        let later = entry(" 13  2026-03-01T20:17:30 ").map(|entry| (entry.rows, entry.at));
        assert_eq!(later.map(|(rows, at)| (rows, at - first.map_or(0, |(_, at)| at))), Some((13, 150)));
        assert_eq!(first.map(|(rows, _)| rows), Some(12));
        for line in ["12", "twelve 2026-03-01 20:15", "12 2026-13-01 20:15", "12 soon"] {
            assert_eq!(entry(line), None, "{line}");
        }
    }
}
