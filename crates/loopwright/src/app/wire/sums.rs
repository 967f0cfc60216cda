//! The small sums: what is asked, and what is answered.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{Gauge, Refusal, Worked};

/// A sum.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(tag = "sum", rename_all = "snake_case", deny_unknown_fields)]
pub enum Sum {
    /// What to cast on for a width, in whole repeats.
    CastOn {
        /// A length with its unit.
        width: String,
        /// Stitches of a repeat.
        of: u32,
        /// Stitches besides, once.
        plus: u32,
        gauge: Gauge,
    },
    /// Increases or decreases spread evenly over a row or a round.
    Even { changes: u32, stitches: u32, decrease: bool, worked: Worked },
    /// Shapings along an edge, in any row or in each second one.
    Slope { shapings: u32, rows: u32, any_row: bool, gauge: Option<Gauge> },
    /// Increases in a round that lies flat, a circle or a square.
    Flat { square: bool, gauge: Gauge },
    /// Stitches taken up along the ends of rows.
    PickUp { rows: u32, gauge: Gauge },
    /// The same by a rule such as three stitches in four rows.
    PickUpByRule { rows: u32, each: u32, of: u32 },
    /// An edging knitted onto live stitches, one of them joined every second row.
    KnitOn { stitches: u32, rows: u32 },
    /// How long a yarn is that is told by a spinner's number.
    YarnNumber { count: YarnCount, number: f64, plies: u32 },
    /// A cast-on for an edge that must stretch, both lengths with their unit.
    Stretch { rest: String, to: String },
    /// The turn of a heel.
    Heel { stitches: u32 },
}

/// A spinner's way to number yarn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum YarnCount {
    /// Grams to 1000 m.
    Tex,
    /// Metres to a gram.
    Metric,
    /// Hanks of 840 yards to the pound.
    Cotton,
    /// Hanks of 560 yards to the pound.
    Worsted,
    /// Leas of 300 yards to the pound.
    Linen,
    /// Yards to the pound.
    YardsToPound,
}

/// What comes out of a sum.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct SumAnswer {
    pub lines: Vec<String>,
    /// Why nothing does.
    pub problem: Option<Refusal>,
}
