//! Shaping along rows: a slope by every k-th row, the angle that comes of it, flat rounds, the turn of a heel.

use crate::Problem;

/// One stretch of a schedule: `times` shapings, each in the last of `every` rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// Rows from one shaping to the next, the shaped row counted.
    pub every: u32,
    /// Shapings.
    pub times: u32,
}

/// Shapings over a number of rows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Schedule {
    /// In the order of working: the shorter stretches first.
    pub stretches: Vec<Stretch>,
    /// Rows without shaping after the last.
    pub plain_after: u32,
}

impl Schedule {
    /// Spreads shapings over rows; `step` is 1 where any row may shape, 2 where only right-side rows do.
    ///
    /// # Errors
    /// A [`Problem`] when there are more shapings than rows that may shape.
    pub fn of(shapings: u32, rows: u32, step: u32) -> Result<Schedule, Problem> {
        let step = step.max(1);
        let slots = rows / step;
        if shapings == 0 || shapings > slots {
            return Err(Problem::new(
                format!("{shapings} shapings do not fit {rows} rows, of which {slots} may shape"),
                "shape in every row, shape more than one stitch at a time, or work more rows",
            ));
        }
        let (short, longer) = (slots / shapings, slots % shapings);
        let stretches = [
            Stretch { every: short * step, times: shapings - longer },
            Stretch { every: (short + 1) * step, times: longer },
        ];
        let stretches = stretches.into_iter().filter(|stretch| stretch.times > 0).collect();
        Ok(Schedule { stretches, plain_after: rows - slots * step })
    }

    /// Rows in all.
    pub fn rows(&self) -> u32 {
        self.stretches.iter().map(|stretch| stretch.every * stretch.times).sum::<u32>() + self.plain_after
    }

    /// Shapings in all.
    pub fn shapings(&self) -> u32 {
        self.stretches.iter().map(|stretch| stretch.times).sum()
    }
}

/// "every 6th row 13 times, then every 8th row 7 times".
impl std::fmt::Display for Schedule {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let part = |stretch: &Stretch| match stretch.every {
            1 => format!("every row {} times", stretch.times),
            every => format!("every {} row {} times", ordinal(every), stretch.times),
        };
        f.write_str(&self.stretches.iter().map(part).collect::<Vec<_>>().join(", then "))?;
        if self.plain_after > 0 { write!(f, ", then {} plain", self.plain_after) } else { Ok(()) }
    }
}

/// "1st", "2nd", "13th".
pub(crate) fn ordinal(number: u32) -> String {
    let ending = match (number % 10, number % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{number}{ending}")
}

/// The angle in degrees between the two edges of a piece that gains `stitches` at each edge every `rows` rows, of a
/// fabric with so many rows to a stitch width: trigonometry.
pub fn apex_angle(rows_per_stitch: f64, stitches: f64, rows: f64) -> f64 {
    2.0 * (stitches * rows_per_stitch / rows).atan().to_degrees()
}

/// Increases a round that keep a circle flat: the rim grows by 2π row heights.
pub fn flat_circle(rows_per_stitch: f64) -> f64 {
    std::f64::consts::TAU / rows_per_stitch
}

/// Increases a round that keep a square flat: each of eight half sides grows by a row height.
pub fn flat_square(rows_per_stitch: f64) -> f64 {
    8.0 / rows_per_stitch
}

/// A heel turned by short rows that take two together across the gap.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HeelTurn {
    /// Stitches of the heel.
    pub stitches: u32,
    /// Worked in the first row before the decrease, a slipped one counted.
    pub first: u32,
    /// Worked in the second row before the decrease, so that the turn is symmetrical.
    pub second: u32,
    /// Rows of the turn.
    pub rows: u32,
    /// Stitches left.
    pub left: u32,
}

impl HeelTurn {
    /// The turn of a heel.
    ///
    /// # Errors
    /// A [`Problem`] when the first row does not reach beyond the middle, or beyond the heel.
    pub fn of(stitches: u32, first: u32) -> Result<HeelTurn, Problem> {
        let second = (2 * i64::from(first)) - i64::from(stitches) + 2;
        if second < 2 || first + 3 > stitches {
            return Err(Problem::new(
                format!("a heel of {stitches} stitches cannot be turned by working {first} first"),
                "work half of the heel and two stitches over before the first decrease",
            ));
        }
        Ok(HeelTurn { stitches, first, second: second as u32, rows: stitches - first, left: first })
    }
}
