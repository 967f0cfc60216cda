//! The small sums of a knitter, each answered in a line or two: what to cast on, where to increase, when to shape.
//!
//! Numbers go in and words come out; the arithmetic is that of [`crate::gauge`], [`crate::spacing`] and
//! [`crate::slope`].

use cloth::Gauge;

use crate::edging::{JoinFit, repeats_along};
use crate::gauge::{
    CastOn, Repeat, cast_on, long_tail, pick_up, pick_up_by_rule, simple_ratio, stretchy_cast_on,
};
use crate::length::{counted, decimal};
use crate::slope::{HeelTurn, Schedule, apex_angle, flat_circle, flat_square};
use crate::spacing::{Change, Ends, spread};
use crate::yarn_name::{Count, metres_to_100_g};
use crate::{Length, Problem};

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub enum Sum {
    /// What to cast on for a width, in whole repeats: the numbers on either side are other sizes.
    CastOn {
        /// The width that is wanted.
        width: Length,
        /// The multiple of the pattern.
        repeat: Repeat,
        /// The gauge of the pattern.
        gauge: Gauge,
    },
    /// Increases or decreases spread evenly over a row.
    Spread {
        /// How many.
        changes: u32,
        /// The stitches before them.
        stitches: u32,
        /// Which of the two.
        change: Change,
        /// A row or a round.
        ends: Ends,
    },
    /// Shapings along an edge.
    Slope {
        /// How many.
        shapings: u32,
        /// Over how many rows.
        rows: u32,
        /// 1 where any row may shape, 2 where only right-side rows do.
        step: u32,
        /// The gauge, where it is known: then the slope is told, too.
        gauge: Option<Gauge>,
    },
    /// Increases in a round that lies flat, worked from its middle.
    Round {
        /// A circle or a square.
        shape: Flat,
        /// The gauge of the fabric.
        gauge: Gauge,
    },
    /// Stitches taken up along the ends of rows.
    PickUp {
        /// The rows.
        rows: u32,
        /// The gauge of the fabric.
        along: Gauge,
        /// The gauge of the band.
        band: Gauge,
    },
    /// The same by a rule such as three in four, as patterns print it.
    PickUpByRule {
        /// The rows.
        rows: u32,
        /// So many stitches …
        each: u32,
        /// … in so many rows.
        of: u32,
    },
    /// An edging knitted onto live stitches, one of them joined every second row.
    KnitOn {
        /// The live stitches.
        stitches: u32,
        /// The rows of one repeat.
        rows: u32,
    },
    /// How long a yarn is that is told by a spinner's number.
    YarnNumber {
        /// The way of numbering.
        count: Count,
        /// The number of one thread.
        number: f64,
        /// Threads plied together.
        plies: u32,
    },
    /// A cast-on for an edge that must stretch.
    Stretch {
        /// The edge as it lies.
        rest: Length,
        /// To what it must come.
        to: Length,
    },
    /// The turn of a heel, two stitches beyond the middle.
    Heel {
        /// The stitches of the heel.
        stitches: u32,
    },
}

/// What a round worked from its middle becomes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flat {
    /// Increases spread over the round.
    Circle,
    /// Increases at four corners.
    Square,
}

/// No needle holds more, and no piece has more rows.
const MOST: u32 = 20_000;

impl Sum {
    /// The answer, a line each.
    ///
    /// # Errors
    /// A [`Problem`] where the sum does not come out, with what to change.
    pub fn answer(self) -> Result<Vec<String>, Problem> {
        self.within_reason()?;
        match self {
            Sum::CastOn { width, repeat, gauge } => Ok(cast_ons(width, repeat, &gauge)),
            Sum::Spread { changes, stitches, change, ends } => {
                let row = spread(stitches, changes, change, ends)?;
                Ok(vec![format!("{row}: {}", stitches_of(row.after))])
            }
            Sum::Slope { shapings, rows, step, gauge } => {
                let schedule = Schedule::of(shapings, rows, step)?;
                let leans = gauge.map(|gauge| lean(shapings, rows, &gauge));
                Ok([format!("Shape {schedule}: {rows} rows.")].into_iter().chain(leans).collect())
            }
            Sum::Round { shape, gauge } => Ok(vec![flat(shape, &gauge)]),
            Sum::PickUp { rows, along, band } => {
                let taken = pick_up(rows, &along, &band);
                let rate = if taken.each == taken.rows {
                    "one in every row".to_owned()
                } else {
                    format!("{} in every {}", taken.each, counted(taken.rows as usize, "row", "rows"))
                };
                Ok(vec![format!("Take up {}: {rate}.", stitches_of(taken.stitches))])
            }
            Sum::PickUpByRule { rows, each, of } => {
                Ok(vec![format!("Take up {}.", stitches_of(pick_up_by_rule(rows, each, of)))])
            }
            Sum::KnitOn { stitches, rows } => Ok(vec![knitted_on(repeats_along(stitches, rows)?)]),
            Sum::YarnNumber { count, number, plies } => {
                let tex = count.tex(number, plies)?;
                Ok(vec![format!("About {:.0} m in 100 g ({tex:.0} tex).", metres_to_100_g(tex))])
            }
            Sum::Stretch { rest, to } => {
                let told = stretchy_cast_on(rest, to);
                Ok(vec![format!("A {}: {}.", told.cast_on, told.why)])
            }
            Sum::Heel { stitches } => Ok(heel(HeelTurn::of(stitches, stitches / 2 + 2)?)),
        }
    }

    /// Refuses numbers beyond any needle.
    fn within_reason(self) -> Result<(), Problem> {
        let numbers = match self {
            Sum::CastOn { width, repeat, gauge } => {
                [repeat.of, repeat.plus, (width.in_cm() / gauge.width()) as u32]
            }
            Sum::Spread { changes, stitches, .. } => [changes, stitches, 0],
            Sum::Slope { shapings, rows, .. } => [shapings, rows, 0],
            Sum::PickUp { rows, .. } => [rows, 0, 0],
            Sum::PickUpByRule { rows, each, of } => [rows, each, of],
            Sum::KnitOn { stitches, rows } => [stitches, rows, 0],
            Sum::YarnNumber { plies, .. } => [plies, 0, 0],
            Sum::Round { .. } | Sum::Stretch { .. } => [0; 3],
            Sum::Heel { stitches } => [stitches, 0, 0],
        };
        let most = numbers.into_iter().max().unwrap_or(0);
        if most <= MOST {
            return Ok(());
        }
        Err(Problem::new(
            format!("{most} is more than any needle holds"),
            format!("give numbers up to {MOST}"),
        ))
    }
}

fn stitches_of(count: u32) -> String {
    counted(count as usize, "stitch", "stitches")
}

fn cast_ons(width: Length, repeat: Repeat, gauge: &Gauge) -> Vec<String> {
    let one = |found: &CastOn| {
        let repeats = counted(found.repeats as usize, "repeat", "repeats");
        let over = if repeat.plus > 0 { format!(" and {} over", repeat.plus) } else { String::new() };
        let division = if repeat.of > 1 { format!(", {repeats}{over}") } else { String::new() };
        format!("{}{division}: {}", stitches_of(found.stitches), found.width)
    };
    let mut lines: Vec<String> = cast_on(width, gauge, repeat).iter().map(one).collect();
    lines.push(format!("For a long-tail cast-on leave a tail of {}.", long_tail(width)));
    lines
}

/// Whole repeats, and what is done about the stitches that are over.
fn knitted_on(JoinFit { repeats, over, to_find }: JoinFit) -> String {
    let whole = counted(repeats as usize, "repeat", "repeats");
    if over == 0 {
        return format!("Exactly {whole}, a stitch joined every second row.");
    }
    format!(
        "{whole} and {} over: join so many two at once, evenly apart, or find {} for one repeat more.",
        stitches_of(over),
        stitches_of(to_find)
    )
}

/// How far an edge leans that is shaped by one stitch at a time.
fn lean(shapings: u32, rows: u32, gauge: &Gauge) -> String {
    let both = apex_angle(rows_per_stitch(gauge), f64::from(shapings), f64::from(rows));
    format!("By one stitch at a time the edge leans {:.0}° from upright.", both / 2.0)
}

/// Increases a round, and how they may be worked: those of a square at its corners, eight at a time.
fn flat(shape: Flat, gauge: &Gauge) -> String {
    let rounds = |rounds: u32| counted(rounds as usize, "round", "rounds");
    let (name, a_round) = match shape {
        Flat::Circle => ("circle", flat_circle(rows_per_stitch(gauge))),
        Flat::Square => ("square", flat_square(rows_per_stitch(gauge))),
    };
    let how = match shape {
        Flat::Circle => {
            let (increases, of) = simple_ratio(a_round);
            format!("{increases} in every {}", rounds(of))
        }
        Flat::Square => {
            let (times, of) = simple_ratio(a_round / 8.0);
            format!("8, two at each corner, in {times} of every {}", rounds(of))
        }
    };
    format!("A {name} lies flat with {} stitches more a round: {how}.", decimal(a_round))
}

fn rows_per_stitch(gauge: &Gauge) -> f64 {
    gauge.width() / gauge.height()
}

/// The first two rows in full, and what the others do.
fn heel(turn: HeelTurn) -> Vec<String> {
    vec![
        format!("Row 1: k{}, skpo, k1, turn.", turn.first),
        format!("Row 2: sl 1, p{}, p2tog, p1, turn.", turn.second - 1),
        format!(
            "Then in every row slip 1, work to the stitch before the gap, take two together over the gap, work 1 more \
             while there is one, and turn: {} rows in all, {} left.",
            turn.rows,
            stitches_of(turn.left)
        ),
    ]
}
