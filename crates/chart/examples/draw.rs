//! Draws a chart from rows in the tokens of files: `cargo run -p chart --example draw < rows.txt > chart.svg`.
//!
//! The first line gives the cast-on and `flat` or `round`; each further line is a row: its label, `R` or `W` for
//! the side, then the tokens as `loops` writes them.
//!
//! ```text
//! 8 flat
//! 1 R k*2 k2tog yo k*4
//! 2 W p*8
//! ```

use std::io::Read;
use std::process::ExitCode;

use chart::{Chart, Options, Style};
use loops::{Piece, Row, Side, Worked, parse_tokens};

fn main() -> ExitCode {
    let mut text = String::new();
    if let Err(error) = std::io::stdin().read_to_string(&mut text) {
        eprintln!("the rows cannot be read: {error}");
        return ExitCode::FAILURE;
    }
    let drawn =
        piece(&text).and_then(|piece| Chart::of(&piece, &Options::default()).map_err(|e| e.to_string()));
    match drawn {
        Ok(chart) => {
            eprint!("{chart}");
            print!("{}", chart.to_svg(&Style::default()));
            ExitCode::SUCCESS
        }
        Err(message) => {
            eprintln!("{message}");
            ExitCode::FAILURE
        }
    }
}

fn piece(text: &str) -> Result<Piece, String> {
    let mut lines = text.lines().filter(|line| !line.trim().is_empty());
    let head = lines.next().unwrap_or_default();
    let (cast_on, worked) =
        head.split_once(' ').ok_or("the first line is \"CAST-ON flat\" or \"CAST-ON round\"")?;
    let worked = if worked.trim() == "round" { Worked::Round } else { Worked::Flat };
    let cast_on = cast_on.parse().map_err(|_| format!("\"{cast_on}\" is no number of stitches"))?;
    let rows = lines.map(row).collect::<Result<_, _>>()?;
    Ok(Piece::of_rows(worked, cast_on, rows))
}

fn row(line: &str) -> Result<Row, String> {
    let mut parts = line.splitn(3, ' ');
    let (label, side, ops) = (parts.next(), parts.next(), parts.next().unwrap_or_default());
    let stitches = parse_tokens(ops).map_err(|error| error.to_string())?;
    let side = if side == Some("W") { Side::Wrong } else { Side::Right };
    Ok(Row::of(label.unwrap_or_default(), side, &stitches))
}
