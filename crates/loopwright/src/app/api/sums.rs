//! The small sums.

use axum::Json;
use makingup::gauge::Repeat;
use makingup::spacing::{Change, Ends};
use makingup::yarn_name::Count;
use makingup::{Flat, Length, Problem, Sum};

use crate::app::body;
use crate::app::wire::{self, SumAnswer, YarnCount};
use crate::commands::sums::cloth_gauge;
use crate::gauge::Gauge;

/// Does a sum.
#[utoipa::path(post, path = "/api/sums", request_body = wire::Sum, responses(
    (status = 200, body = SumAnswer),
))]
pub async fn sums(body::Json(asked): body::Json<wire::Sum>) -> Json<SumAnswer> {
    Json(match sum(&asked).and_then(Sum::answer) {
        Ok(lines) => SumAnswer { lines, problem: None },
        Err(problem) => SumAnswer { lines: Vec::new(), problem: Some(problem.into()) },
    })
}

fn sum(asked: &wire::Sum) -> Result<Sum, Problem> {
    Ok(match *asked {
        wire::Sum::CastOn { ref width, of, plus, gauge } => {
            Sum::CastOn { width: width.parse()?, repeat: Repeat { of, plus }, gauge: gauge_of(gauge)? }
        }
        wire::Sum::Even { changes, stitches, decrease, worked } => Sum::Spread {
            changes,
            stitches,
            change: if decrease { Change::Decrease } else { Change::Increase },
            ends: match worked {
                wire::Worked::Flat => Ends::Half,
                wire::Worked::Round => Ends::Closed,
            },
        },
        wire::Sum::Slope { shapings, rows, any_row, gauge } => Sum::Slope {
            shapings,
            rows,
            step: if any_row { 1 } else { 2 },
            gauge: gauge.map(gauge_of).transpose()?,
        },
        wire::Sum::Flat { square, gauge } => {
            Sum::Round { shape: if square { Flat::Square } else { Flat::Circle }, gauge: gauge_of(gauge)? }
        }
        wire::Sum::PickUp { rows, gauge } => {
            let gauge = gauge_of(gauge)?;
            Sum::PickUp { rows, along: gauge, band: gauge }
        }
        wire::Sum::PickUpByRule { rows, each, of } => Sum::PickUpByRule { rows, each, of },
        wire::Sum::KnitOn { stitches, rows } => Sum::KnitOn { stitches, rows },
        wire::Sum::YarnNumber { count, number, plies } => {
            let count = match count {
                YarnCount::Tex => Count::Tex,
                YarnCount::Metric => Count::Metric,
                YarnCount::Cotton => Count::Cotton,
                YarnCount::Worsted => Count::Worsted,
                YarnCount::Linen => Count::Linen,
                YarnCount::YardsToPound => Count::YardsToPound,
            };
            Sum::YarnNumber { count, number, plies }
        }
        wire::Sum::Stretch { ref rest, ref to } => {
            Sum::Stretch { rest: rest.parse::<Length>()?, to: to.parse()? }
        }
        wire::Sum::Heel { stitches } => Sum::Heel { stitches },
    })
}

fn gauge_of(gauge: wire::Gauge) -> Result<cloth::Gauge, Problem> {
    let told = Gauge::new(gauge.stitches, gauge.rows);
    let none = || Problem::new("that is no gauge of any yarn", "count the swatch again, over 10 cm each way");
    cloth_gauge(&told.ok_or_else(none)?)
}
