//! `loopwright mend`.

use crate::checked::Checked;
use crate::failure::Failure;
use crate::output::print;
use crate::progress::Progress;
use crate::request::ReadingArgs;
use crate::{json, report};

/// Searches for the misprint that keeps a pattern from coming out.
///
/// Shows the corrections of the printed words that would make the arithmetic come out, best first, each with what
/// speaks for it.
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    text: ReadingArgs,
    /// How many corrections to show
    #[arg(long, value_name = "K", default_value_t = 3, value_parser = clap::value_parser!(u8).range(1..=50))]
    top: u8,
    /// Prints the corrections as JSON
    #[arg(long)]
    json: bool,
}

/// Searches and shows.
pub fn run(args: &Args) -> Result<(), Failure> {
    let top = usize::from(args.top);
    let progress = Progress::of(1);
    progress.step("mending");
    let checked = Checked::of(&args.text, top)?;
    drop(progress);
    if args.json {
        let json = serde_json::to_string_pretty(&json::mending(&checked, top))?;
        return Ok(print(&format!("{json}\n"))?);
    }
    Ok(print(&report::mending(&checked, top))?)
}
