//! `loopwright write`.

use super::WEIGHED;
use crate::checked::{Checked, piece_name};
use crate::failure::Failure;
use crate::output::print;
use crate::report;
use crate::request::{Country, ReadingArgs};
use wording::Terms;

/// Writes a pattern in the terms of today.
///
/// Repeats are folded, like rows stand together, wrong-side rows are written as they are worked, and the stitches
/// at the end of a row are told where they change.
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    text: ReadingArgs,
    /// The country whose terms are used
    #[arg(long, value_enum, default_value_t)]
    terms: Country,
}

/// Reads and writes.
pub fn run(args: &Args) -> Result<(), Failure> {
    let checked = Checked::of(&args.text, WEIGHED)?;
    print(&rows(&checked, args.terms.into())?)?;
    if let Some(warning) = report::warning(&checked) {
        anstream::eprintln!("{warning}");
    }
    Ok(())
}

/// The rows of every piece as plain text.
pub fn rows(checked: &Checked, terms: Terms) -> Result<String, Failure> {
    let pieces = checked.pieces()?;
    let written = pieces.iter().enumerate().map(|(index, piece)| {
        let mut written = wording::write(&piece.piece, terms);
        written.name = piece_name(pieces, index);
        written.to_text()
    });
    Ok(written.collect::<Vec<_>>().join("\n"))
}
