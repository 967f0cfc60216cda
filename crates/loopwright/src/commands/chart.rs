//! `loopwright chart`.

use std::path::PathBuf;

use super::WEIGHED;
use crate::charts::{chart_of, file_of, svg};
use crate::checked::{Checked, piece_name};
use crate::failure::Failure;
use crate::output::{print, write_file};
use crate::report;
use crate::request::ReadingArgs;

/// Draws a pattern as a chart.
///
/// The chart is an SVG drawing in the symbols of today, as seen from the right side, with its key. A pattern of
/// several pieces gives several drawings: with `-o rug.svg` they are rug-1.svg, rug-2.svg and so on.
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    text: ReadingArgs,
    /// The file to write; without it one chart goes to standard output
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

/// Reads and draws.
pub fn run(args: &Args) -> Result<(), Failure> {
    let checked = Checked::of(&args.text, WEIGHED)?;
    let drawings = drawings(&checked)?;
    match (&args.output, drawings.as_slice()) {
        (Some(path), drawings) => {
            for (index, drawing) in drawings.iter().enumerate() {
                let file = file_of(path, index, drawings.len());
                write_file(&file, drawing.as_bytes())?;
                anstream::eprintln!("{}", file.display());
            }
        }
        (None, [drawing]) => print(drawing)?,
        (None, several) => {
            return Err(Failure::Usage {
                message: format!(
                    "{}: there are {} pieces, and each has its own chart",
                    checked.source.name,
                    several.len()
                ),
                help: "name a file with -o; the charts are numbered after it".to_owned(),
            });
        }
    }
    if let Some(warning) = report::warning(&checked) {
        anstream::eprintln!("{warning}");
    }
    Ok(())
}

fn drawings(checked: &Checked) -> Result<Vec<String>, Failure> {
    let pieces = checked.pieces()?;
    let drawing = |index| {
        chart_of(pieces, index).map(|chart| svg(&chart)).map_err(|error| Failure::Chart {
            file: checked.source.name.clone(),
            piece: piece_name(pieces, index).unwrap_or_else(|| "the piece".to_owned()),
            error,
        })
    };
    (0..pieces.len()).map(drawing).collect()
}
