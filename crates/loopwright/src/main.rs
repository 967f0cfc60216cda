//! The program `loopwright`; everything it does is in the library.

use std::process::ExitCode;

use clap::Parser;
use loopwright::Cli;

fn main() -> ExitCode {
    match Cli::parse().run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            failure.tell();
            ExitCode::from(failure.exit_code())
        }
    }
}
