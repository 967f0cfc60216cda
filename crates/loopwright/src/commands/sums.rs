//! `loopwright sums`.

use clap::{Subcommand, ValueEnum};
use makingup::gauge::Repeat;
use makingup::spacing::{Change, Ends};
use makingup::yarn_name::Count;
use makingup::{Flat, Length, Problem, Sum};

use crate::failure::Failure;
use crate::gauge::Gauge;
use crate::output::print;

/// Does the small sums: what to cast on, where to increase, when to shape.
///
/// Each is answered in a line or two. Lengths are written with their unit: "50 cm", "8 1/2 in".
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(subcommand)]
    sum: Asked,
}

#[derive(Debug, Subcommand)]
enum Asked {
    /// What to cast on for a width, in whole repeats
    CastOn {
        /// The width that is wanted
        width: Length,
        /// Stitches and rows of the pattern to 10 cm, such as 22x30
        #[arg(long, allow_hyphen_values = true)]
        gauge: Gauge,
        /// The multiple of the pattern and what is over, such as 12+1
        #[arg(long, value_parser = multiple, default_value = "1")]
        multiple: Repeat,
    },
    /// Increases or decreases spread evenly over a row
    Even {
        /// How many
        changes: u32,
        /// The stitches before them
        stitches: u32,
        /// Take stitches away instead of adding them
        #[arg(long)]
        decrease: bool,
        /// Where the row ends
        #[arg(long, value_enum, default_value_t = Worked::Row)]
        over: Worked,
    },
    /// Shapings spread along an edge
    Slope {
        /// How many
        shapings: u32,
        /// Over how many rows
        rows: u32,
        /// Shape on the wrong side too
        #[arg(long)]
        any_row: bool,
        /// Stitches and rows to 10 cm, to be told how far the edge leans
        #[arg(long, allow_hyphen_values = true)]
        gauge: Option<Gauge>,
    },
    /// Increases in a round that lies flat
    Flat {
        /// What it becomes
        #[arg(value_enum)]
        shape: Shape,
        /// Stitches and rows of the fabric to 10 cm, such as 22x30
        #[arg(long, allow_hyphen_values = true)]
        gauge: Gauge,
    },
    /// Stitches taken up along the ends of rows
    PickUp {
        /// How many rows
        rows: u32,
        /// Stitches and rows of the fabric to 10 cm, such as 22x30
        #[arg(long, required_unless_present = "rule", allow_hyphen_values = true)]
        gauge: Option<Gauge>,
        /// The same of the band, where it is another
        #[arg(long, value_name = "GAUGE", conflicts_with = "rule")]
        band: Option<Gauge>,
        /// Stitches in so many rows where the pattern tells them, such as 3/4
        #[arg(long, value_parser = rule, conflicts_with = "gauge")]
        rule: Option<(u32, u32)>,
    },
    /// An edging knitted onto live stitches, one of them joined every second row
    KnitOn {
        /// The live stitches
        stitches: u32,
        /// The rows of one repeat
        rows: u32,
    },
    /// The length of a yarn that is told by a spinner's number
    Yarn {
        /// The way of numbering
        #[arg(value_enum)]
        count: Numbering,
        /// The number of one thread
        number: f64,
        /// Threads plied together
        #[arg(default_value_t = 1)]
        plies: u32,
    },
    /// A cast-on for an edge that must stretch
    Stretch {
        /// The edge as it lies
        rest: Length,
        /// To what it must come
        to: Length,
    },
    /// The turn of a heel
    Heel {
        /// The stitches of the heel
        stitches: u32,
    },
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Shape {
    Circle,
    Square,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Numbering {
    /// Grams to 1000 m
    Tex,
    /// Metres to a gram
    Metric,
    /// Hanks of 840 yards to the pound
    Cotton,
    /// Hanks of 560 yards to the pound
    Worsted,
    /// Leas of 300 yards to the pound
    Linen,
    /// Yards to the pound
    YardsToPound,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Worked {
    Row,
    Round,
}

/// Does the sum.
pub fn run(args: &Args) -> Result<(), Failure> {
    let lines = args
        .sum
        .sum()
        .and_then(Sum::answer)
        .map_err(|Problem { message, help, .. }| Failure::Usage { message, help })?;
    print(&format!("{}\n", lines.join("\n")))?;
    Ok(())
}

impl Asked {
    fn sum(&self) -> Result<Sum, Problem> {
        Ok(match *self {
            Asked::CastOn { width, ref gauge, multiple } => {
                Sum::CastOn { width, repeat: multiple, gauge: cloth_gauge(gauge)? }
            }
            Asked::Even { changes, stitches, decrease, over } => Sum::Spread {
                changes,
                stitches,
                change: if decrease { Change::Decrease } else { Change::Increase },
                ends: match over {
                    Worked::Row => Ends::Half,
                    Worked::Round => Ends::Closed,
                },
            },
            Asked::Slope { shapings, rows, any_row, ref gauge } => Sum::Slope {
                shapings,
                rows,
                step: if any_row { 1 } else { 2 },
                gauge: gauge.as_ref().map(cloth_gauge).transpose()?,
            },
            Asked::Flat { shape, ref gauge } => Sum::Round {
                shape: match shape {
                    Shape::Circle => Flat::Circle,
                    Shape::Square => Flat::Square,
                },
                gauge: cloth_gauge(gauge)?,
            },
            Asked::PickUp { rows, rule: Some((each, of)), .. } => Sum::PickUpByRule { rows, each, of },
            Asked::PickUp { rows, gauge, band, rule: None } => {
                let gauge = gauge.unwrap_or_default();
                let band = band.unwrap_or(gauge);
                Sum::PickUp { rows, along: cloth_gauge(&gauge)?, band: cloth_gauge(&band)? }
            }
            Asked::KnitOn { stitches, rows } => Sum::KnitOn { stitches, rows },
            Asked::Yarn { count, number, plies } => Sum::YarnNumber { count: count.into(), number, plies },
            Asked::Stretch { rest, to } => Sum::Stretch { rest, to },
            Asked::Heel { stitches } => Sum::Heel { stitches },
        })
    }
}

impl From<Numbering> for Count {
    fn from(numbering: Numbering) -> Count {
        match numbering {
            Numbering::Tex => Count::Tex,
            Numbering::Metric => Count::Metric,
            Numbering::Cotton => Count::Cotton,
            Numbering::Worsted => Count::Worsted,
            Numbering::Linen => Count::Linen,
            Numbering::YardsToPound => Count::YardsToPound,
        }
    }
}

/// The gauge as sums take it.
///
/// # Errors
/// A [`Problem`] for a gauge that no yarn has.
pub fn cloth_gauge(gauge: &Gauge) -> Result<cloth::Gauge, Problem> {
    gauge
        .of_cloth()
        .map_err(|error| Problem::new(error.to_string(), "count the swatch again, over 10 cm each way"))
}

/// A multiple such as `12+1` or `12`.
fn multiple(text: &str) -> Result<Repeat, String> {
    let number =
        |text: &str| text.trim().parse().map_err(|_| format!("\"{text}\" is no multiple such as 12+1"));
    let (of, plus) = text.split_once('+').unwrap_or((text, "0"));
    Ok(Repeat { of: number(of)?, plus: number(plus)? })
}

/// A rule such as `3/4`: three stitches in four rows.
fn rule(text: &str) -> Result<(u32, u32), String> {
    let told = text
        .split_once('/')
        .and_then(|(each, of)| Some((each.trim().parse().ok()?, of.trim().parse().ok()?)));
    told.filter(|&(_, of)| of > 0).ok_or_else(|| format!("\"{text}\" is no rule such as 3/4"))
}
