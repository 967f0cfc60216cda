//! `loopwright read`.

use super::WEIGHED;
use crate::checked::Checked;
use crate::failure::Failure;
use crate::output::print;
use crate::progress::Progress;
use crate::request::ReadingArgs;
use crate::{json, report};

/// Reads a pattern and shows what it says.
///
/// Shows the rows as they are worked, with the stitches before and after each, then what does not come out, what
/// was corrected, what could be read otherwise and what was not understood. Ends with 0 whatever faults the text
/// has.
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    text: ReadingArgs,
    /// Prints the reading as JSON
    #[arg(long)]
    json: bool,
}

/// Reads and shows.
pub fn run(args: &Args) -> Result<(), Failure> {
    let progress = Progress::of(1);
    progress.step("reading");
    let checked = Checked::of(&args.text, WEIGHED)?;
    drop(progress);
    if args.json {
        let json = serde_json::to_string_pretty(&json::reading(&checked))?;
        return Ok(print(&format!("{json}\n"))?);
    }
    Ok(print(&report::reading(&checked))?)
}
