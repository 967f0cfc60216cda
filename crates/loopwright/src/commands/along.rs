//! `loopwright along`.

use std::ops::RangeInclusive;
use std::path::PathBuf;

use along::{AlongPiece, Found, Observed, Pace, Shows, page};
use jiff::civil::Date;
use loops::{Piece, Side};

use super::WEIGHED;
use super::plan::{plan_as_written, programs};
use crate::along_text;
use crate::checked::{Checked, piece_name};
use crate::failure::Failure;
use crate::json;
use crate::output::{print, write_file};
use crate::report;
use crate::request::{Country, ReadingArgs};
use crate::source::Source;
use crate::time::{HOURS_A_DAY, PACES, Planned, Time, Timed, log_of};

/// Works a pattern along with you, row by row.
///
/// Prints each row with its stitches before and after, and where a lifeline is worth it. With -o it writes one HTML
/// file for the phone that works without a network. With --row and --found it names the likeliest slips behind a wrong
/// count; with what you see of the work (--on-needle, --shows, --ridges, ...) it finds the row again after ripping back.
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    text: ReadingArgs,
    /// The country whose terms are used
    #[arg(long, value_enum, default_value_t)]
    terms: Country,
    /// Only this piece, counted from 1
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    piece: Option<u32>,
    /// The rows worked so many times over
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=1000))]
    times: u32,
    /// Write the page for the phone into this file
    #[arg(short, long, value_name = "FILE", conflicts_with_all = ["json", "Wrong", "Seen"])]
    output: Option<PathBuf>,
    /// Print the rows as JSON
    #[arg(long, conflicts_with_all = ["Wrong", "Seen"])]
    json: bool,
    #[command(flatten)]
    wrong: Wrong,
    #[command(flatten)]
    seen: Seen,
    #[command(flatten)]
    time: TimeArgs,
}

/// A count that is wrong.
#[derive(Debug, clap::Args)]
#[group(id = "Wrong", multiple = true, conflicts_with = "Seen")]
#[command(next_help_heading = "Count wrong?")]
struct Wrong {
    /// The row after which you counted, by its label or its place
    #[arg(long, value_name = "ROW", requires = "found")]
    row: Option<String>,
    /// The stitches that you found in hand; those that wait behind a turn are not counted
    #[arg(long, value_name = "N", requires = "row", value_parser = stitches, allow_negative_numbers = true)]
    found: Option<u32>,
    /// The stitch of the row from which it looks wrong, counted from where the row began; 0 if it looks right
    #[arg(long, value_name = "N", requires = "row")]
    wrong_from: Option<u32>,
    /// The same for the row before
    #[arg(long, value_name = "N", requires = "row")]
    before_wrong_from: Option<u32>,
    /// Yarn overs that lie on the needles, one that is wound twice counted once
    #[arg(long, value_name = "N", requires = "row")]
    yarn_overs: Option<u32>,
    /// Places of the row where two stitches or more lie together in one
    #[arg(long, value_name = "N", requires = "row")]
    together: Option<u32>,
    /// Holes of the row before, counted below the needles
    #[arg(long, value_name = "N", requires = "row")]
    holes_below: Option<u32>,
    /// Whether a loose loop hangs below the needles, or a ladder runs down
    #[arg(long, value_enum, value_name = "yes|no", requires = "row")]
    loose_loop: Option<YesNo>,
}

/// What is seen after ripping back.
#[derive(Debug, clap::Args)]
#[group(id = "Seen", multiple = true)]
#[command(next_help_heading = "Ripped back? Hold the stitches in the left hand, the yarn at the tip")]
struct Seen {
    /// Stitches on the needle
    #[arg(long, value_name = "N")]
    on_needle: Option<u32>,
    /// What the stitches right under the needle show you
    #[arg(long, value_enum)]
    shows: Option<ShowsArg>,
    /// The side that faces you
    #[arg(long, value_enum)]
    side: Option<SideArg>,
    /// Ridges from the cast-on up, on the side that faces you
    #[arg(long, value_name = "N")]
    ridges: Option<u32>,
    /// Rows with holes from the cast-on up
    #[arg(long, value_name = "N")]
    hole_rows: Option<u32>,
    /// Rows above the topmost holes, up to the needle
    #[arg(long, value_name = "N")]
    above_holes: Option<u32>,
    /// The stitch of that row with the first hole, counted from the tip
    #[arg(long, value_name = "N")]
    hole_at: Option<u32>,
    /// Rows with crossings from the cast-on up
    #[arg(long, value_name = "N")]
    cross_rows: Option<u32>,
    /// Rows above the topmost crossing, up to the needle
    #[arg(long, value_name = "N")]
    above_crossing: Option<u32>,
    /// Rows from the cast-on up, counted stitch over stitch
    #[arg(long, value_name = "N")]
    height: Option<u32>,
    /// The row you were in before you ripped back, by its label or its place
    #[arg(long, value_name = "ROW")]
    was_in: Option<String>,
}

/// How fast, and when.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Time")]
struct TimeArgs {
    /// Stitches a minute [default: those of the plan, or 25]
    #[arg(long, value_name = "N", value_parser = pace, conflicts_with = "log")]
    pace: Option<f64>,
    /// A file of your progress to measure the pace by: in each line the rows done and when, "12 2026-03-01 20:15"
    #[arg(long, value_name = "FILE")]
    log: Option<PathBuf>,
    /// The file of a plan, for how many there are of each piece and for the edging
    #[arg(long, value_name = "FILE")]
    plan: Option<PathBuf>,
    /// The first day, for days; a date like 2026-03-01 [default: that of the plan]
    #[arg(long, value_name = "DATE")]
    start: Option<Date>,
    /// Hours a day [default: those of the plan, or 1]
    #[arg(long, value_name = "N", value_parser = hours)]
    hours_a_day: Option<f64>,
}

#[derive(Clone, Copy, Debug, clap::ValueEnum)]
enum ShowsArg {
    /// All or nearly all smooth
    Plain,
    /// All or nearly all bars
    Purl,
    /// Some of each
    Mixed,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum YesNo {
    Yes,
    No,
}

#[derive(Clone, Copy, Debug, clap::ValueEnum)]
enum SideArg {
    /// The right side
    Right,
    /// The wrong side
    Wrong,
}

fn stitches(text: &str) -> Result<u32, String> {
    text.parse().map_err(|_| "stitches are counted in whole numbers, such as 24; none are 0".to_owned())
}

fn pace(text: &str) -> Result<f64, String> {
    between(text, PACES, "stitches a minute are a number from 1 to 200, such as 25")
}

fn hours(text: &str) -> Result<f64, String> {
    between(text, HOURS_A_DAY, "hours a day are a number up to 24, such as 1.5")
}

fn between(text: &str, within: RangeInclusive<f64>, message: &str) -> Result<f64, String> {
    text.parse().ok().filter(|number| within.contains(number)).ok_or_else(|| message.to_owned())
}

/// Works along, finds the place or the slip, or writes the page.
pub fn run(args: &Args) -> Result<(), Failure> {
    let checked = Checked::of(&args.text, WEIGHED)?;
    let pieces = pieces(&checked, args)?;
    if let Some(path) = &args.output {
        write_file(path, page(&title(&checked), &pieces, args.terms.into(), &[]).as_bytes())?;
        anstream::eprintln!("{}", path.display());
    } else {
        print(&told(&checked, &pieces, args)?)?;
    }
    if let Some(warning) = report::warning(&checked) {
        anstream::eprintln!("{warning}");
    }
    Ok(())
}

/// The pieces that are asked for, named, their rows as often as asked for.
fn pieces(checked: &Checked, args: &Args) -> Result<Vec<Piece>, Failure> {
    let readings = checked.pieces()?;
    let all = (0..readings.len()).map(|index| {
        let piece = if args.times == 1 {
            readings[index].piece.clone()
        } else {
            readings[index].piece.repeated(args.times).map_err(|error| Failure::Usage {
                message: format!("--times {}: {error}", args.times),
                help: "leave --times out, or take one piece whose rows can follow themselves with --piece"
                    .to_owned(),
            })?
        };
        Ok(Piece { name: piece_name(readings, index), ..piece })
    });
    match args.piece {
        None => all.collect(),
        Some(number) => {
            let mut all = all;
            let one = all.nth(number as usize - 1).ok_or_else(|| Failure::Usage {
                message: format!(
                    "--piece {number}: {} has {} in it",
                    checked.source.name,
                    along_text::counted(readings.len(), "piece")
                ),
                help: format!("give a number from 1 to {}", readings.len()),
            })?;
            Ok(vec![one?])
        }
    }
}

/// What the page is called: the name of the text's file, without its ending.
fn title(checked: &Checked) -> String {
    let name = std::path::Path::new(&checked.source.name).file_stem().unwrap_or_default().to_string_lossy();
    name.replace(['-', '_'], " ")
}

fn told(checked: &Checked, pieces: &[Piece], args: &Args) -> Result<String, Failure> {
    let along: Vec<AlongPiece> =
        pieces.iter().map(|piece| AlongPiece::of(piece, args.terms.into())).collect();
    if args.json {
        return Ok(format!("{}\n", serde_json::to_string_pretty(&json::along(&along))?));
    }
    if let (Some(row), Some(count)) = (&args.wrong.row, args.wrong.found) {
        let (piece, along) = one_piece(pieces, &along)?;
        let found = args.wrong.found(row_of(along, row)?, count);
        return Ok(along_text::slips(&loops::work(piece), along, &found));
    }
    if let Some(observed) = args.seen.observed() {
        let (_, along) = one_piece(pieces, &along)?;
        let was_in = args.seen.was_in.as_ref().map(|row| row_of(along, row)).transpose()?;
        let observed = Observed { at_most: was_in, ..observed };
        return Ok(along_text::places(along, &observed));
    }
    let time = time_of(checked, pieces, &args.time)?;
    Ok(along_text::rows(pieces, &along) + &along_text::time(&time))
}

fn time_of(checked: &Checked, pieces: &[Piece], args: &TimeArgs) -> Result<Time, Failure> {
    let log = args.log.as_ref().map(|path| log_of(path)).transpose()?;
    let (planned, tasks) = match &args.plan {
        Some(file) => {
            let (written, plan) = plan_as_written(&programs(checked)?, &Source::load(file)?)?;
            (Planned::of(&written)?, Time::tasks_of_plan(&plan))
        }
        None => (Planned::default(), Time::tasks(pieces)),
    };
    let pace = match (&log, args.pace.or(planned.pace)) {
        (Some(log), _) => Timed::Measured(log.pace(pieces)?),
        (None, Some(pace)) => Timed::Told(Pace::told(pace)),
        (None, None) => Timed::assumed(),
    };
    let hours = args.hours_a_day.unwrap_or(planned.hours);
    Time::of(&tasks, pace, args.start.or(planned.start).map(|start| (start, hours)))
}

fn one_piece<'a>(
    pieces: &'a [Piece],
    along: &'a [AlongPiece],
) -> Result<(&'a Piece, &'a AlongPiece), Failure> {
    match (pieces, along) {
        ([piece], [along]) => Ok((piece, along)),
        _ => Err(Failure::Usage {
            message: format!(
                "there are {}, and each has its own rows",
                along_text::counted(pieces.len(), "piece")
            ),
            help: "say which one with --piece".to_owned(),
        }),
    }
}

/// A row by its label, or else by its place.
fn row_of(piece: &AlongPiece, text: &str) -> Result<usize, Failure> {
    let text = text.trim();
    let mut labelled = (0..piece.rows.len()).filter(|&row| piece.rows[row].label.eq_ignore_ascii_case(text));
    let by_label = match (labelled.next(), labelled.next()) {
        (Some(one), None) => Some(one),
        _ => None,
    };
    let by_place = || text.parse::<usize>().ok()?.checked_sub(1).filter(|&row| row < piece.rows.len());
    by_label.or_else(by_place).ok_or_else(|| Failure::Usage {
        message: format!("there is no row \"{text}\""),
        help: match piece.rows.as_slice() {
            [] => "the piece has no rows".to_owned(),
            [first, .., last] => {
                format!(
                    "rows are labelled from \"{}\" to \"{}\"; `loopwright along` lists them",
                    first.label, last.label
                )
            }
            [only] => format!("the only row is \"{}\"", only.label),
        },
    })
}

impl Wrong {
    /// What she found after a row.
    fn found(&self, row: usize, count: u32) -> Found {
        Found {
            row,
            count,
            here: along::Seen {
                off: self.wrong_from.into(),
                yarn_overs: self.yarn_overs,
                together: self.together,
            },
            before: along::Seen {
                off: self.before_wrong_from.into(),
                yarn_overs: self.holes_below,
                together: None,
            },
            loose_loop: self.loose_loop.map(|said| said == YesNo::Yes),
        }
    }
}

impl Seen {
    /// What was said, if anything was.
    fn observed(&self) -> Option<Observed> {
        let observed = Observed {
            count: self.on_needle,
            shows: self.shows.map(|shows| match shows {
                ShowsArg::Plain => Shows::Plain,
                ShowsArg::Purl => Shows::Purl,
                ShowsArg::Mixed => Shows::Mixed,
            }),
            side: self.side.map(|side| match side {
                SideArg::Right => Side::Right,
                SideArg::Wrong => Side::Wrong,
            }),
            ridges: self.ridges,
            hole_rows: self.hole_rows,
            above_holes: self.above_holes,
            hole_at: self.hole_at,
            cross_rows: self.cross_rows,
            above_crosses: self.above_crossing,
            height: self.height,
            at_most: None,
        };
        (observed != Observed::default() || self.was_in.is_some()).then_some(observed)
    }
}
