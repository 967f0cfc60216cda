//! The command line: which commands there are.

use clap::{Parser, Subcommand};

use crate::commands::{along, chart, drape, mend, open, plan, read, revive, sums, write};
use crate::failure::Failure;

/// Brings printed knitting patterns of 1830 to 1920 back to life.
///
/// Reads the text of an old pattern, works every stitch, finds the misprint where the arithmetic does not come
/// out, and writes the pattern anew: present-day rows, charts, a picture of the
/// cloth and a booklet.
#[derive(Debug, Parser)]
#[command(name = "loopwright", version, arg_required_else_help = true)]
pub struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Read(read::Args),
    Mend(mend::Args),
    Write(write::Args),
    Chart(chart::Args),
    Drape(drape::Args),
    Plan(plan::Args),
    Sums(sums::Args),
    Along(along::Args),
    Revive(revive::Args),
    Open(open::Args),
}

impl Cli {
    /// Does what the command asks.
    ///
    /// # Errors
    /// [`Failure`] with the message, the way out and the exit code.
    pub fn run(&self) -> Result<(), Failure> {
        let done = match &self.command {
            Command::Read(args) => read::run(args),
            Command::Mend(args) => mend::run(args),
            Command::Write(args) => write::run(args),
            Command::Chart(args) => chart::run(args),
            Command::Drape(args) => drape::run(args),
            Command::Plan(args) => plan::run(args),
            Command::Sums(args) => sums::run(args),
            Command::Along(args) => along::run(args),
            Command::Revive(args) => revive::run(args),
            Command::Open(args) => open::run(args),
        };
        done.or_else(Failure::forgive_closed_pipe)
    }
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    #[test]
    fn the_command_line_is_sound() {
        super::Cli::command().debug_assert();
    }
}
