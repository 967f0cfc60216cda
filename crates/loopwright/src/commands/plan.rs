//! `loopwright plan`.

use std::path::PathBuf;

use loops::Piece;
use makingup::{Plan, PlanFile, Schematic, Style};

use super::WEIGHED;
use crate::caution::cautions;
use crate::checked::Checked;
use crate::failure::Failure;
use crate::json;
use crate::output::{make_folder, print, write_file};
use crate::plan_text;
use crate::report;
use crate::request::ReadingArgs;
use crate::source::Source;

/// Plans the making up: sizes, joins, the edging and its corners, yarn, needles.
///
/// The file of the plan names the pieces of the pattern, how many of each there are, how they are laid out, and the
/// edging; docs/plan.md describes it. The sizes come from the swatch in it. With -o the folder gets a drawing with
/// measures (schematic.svg) and the plan for people and programs (plan.txt, plan.json).
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    text: ReadingArgs,
    /// The file of the plan
    plan: PathBuf,
    /// The folder for the drawing and the plan; it is made where it is missing
    #[arg(short, long, value_name = "FOLDER")]
    output: Option<PathBuf>,
    /// Print the plan as JSON
    #[arg(long)]
    json: bool,
}

/// Plans, writes and tells.
pub fn run(args: &Args) -> Result<(), Failure> {
    let checked = Checked::of(&args.text, WEIGHED)?;
    let plan = plan_of(&programs(&checked)?, &Source::load(&args.plan)?)?;
    let files = plan_files(&plan, &cautions(&checked.source.text))?;
    let [_, (_, text), (_, json)] = &files;
    let shown = String::from_utf8_lossy(if args.json { json } else { text });
    if let Some(folder) = &args.output {
        make_folder(folder)?;
        for (name, bytes) in &files {
            write_file(&folder.join(name), bytes)?;
        }
    }
    print(&shown)?;
    if let Some(warning) = report::warning(&checked) {
        anstream::eprintln!("{warning}");
    }
    Ok(())
}

/// The drawing, the plan for people, and that for programs, each with the name of its file.
///
/// # Errors
/// [`Failure::Json`] only if the plan holds a number that JSON has not.
pub fn plan_files(plan: &Plan, cautions: &[&'static str]) -> Result<[(&'static str, Vec<u8>); 3], Failure> {
    let json = format!("{}\n", serde_json::to_string_pretty(&json::plan(plan, cautions))?);
    Ok([
        ("schematic.svg", Schematic::of(plan, &Style::default()).to_svg().into_bytes()),
        ("plan.txt", plan_text::plan(plan, cautions).into_bytes()),
        ("plan.json", json.into_bytes()),
    ])
}

/// The programs of the pieces of a pattern.
///
/// # Errors
/// [`Failure`] when the pattern has no pieces.
pub fn programs(checked: &Checked) -> Result<Vec<Piece>, Failure> {
    Ok(checked.pieces()?.iter().map(|reading| reading.piece.clone()).collect())
}

/// The plan in the text of a file, for pieces.
///
/// # Errors
/// [`Failure`] when the plan cannot be made of them.
pub fn plan_of(pieces: &[Piece], source: &Source) -> Result<Plan, Failure> {
    plan_as_written(pieces, source).map(|(_, plan)| plan)
}

/// The same, with what is written in the file.
///
/// # Errors
/// [`Failure`] when the plan cannot be made of them.
pub fn plan_as_written(pieces: &[Piece], source: &Source) -> Result<(PlanFile, Plan), Failure> {
    PlanFile::read(&source.text)
        .and_then(|file| Plan::of(&file, pieces).map(|plan| (file, plan)))
        .map_err(|problem| Failure::Plan { file: source.name.clone(), problem })
}
