//! `loopwright plan`.

use std::path::PathBuf;

use loops::Piece;
use makingup::{Plan, PlanFile, Schematic, Style};

use super::WEIGHED;
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
    let plan = plan_of(&checked, &args.plan)?;
    let json = format!("{}\n", serde_json::to_string_pretty(&json::plan(&plan))?);
    let text = plan_text::plan(&plan);
    if let Some(folder) = &args.output {
        make_folder(folder)?;
        write_file(
            &folder.join("schematic.svg"),
            Schematic::of(&plan, &Style::default()).to_svg().as_bytes(),
        )?;
        write_file(&folder.join("plan.txt"), text.as_bytes())?;
        write_file(&folder.join("plan.json"), json.as_bytes())?;
    }
    print(if args.json { &json } else { &text })?;
    if let Some(warning) = report::warning(&checked) {
        anstream::eprintln!("{warning}");
    }
    Ok(())
}

/// The plan in a file, for the pieces of a pattern.
///
/// # Errors
/// [`Failure`] when the pattern has no pieces, or the plan cannot be made of them.
pub fn plan_of(checked: &Checked, file: &std::path::Path) -> Result<Plan, Failure> {
    let pieces: Vec<Piece> = checked.pieces()?.iter().map(|reading| reading.piece.clone()).collect();
    let source = Source::load(file)?;
    PlanFile::read(&source.text)
        .and_then(|text| Plan::of(&text, &pieces))
        .map_err(|problem| Failure::Plan { file: source.name, problem })
}
