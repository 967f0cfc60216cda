//! From a swatch to numbers: what to cast on, what to pick up, which other sizes a repeat allows.
//!
//! A gauge here is [`cloth::Gauge`], of whatever fabric the swatch was knitted in.

use cloth::Gauge;

use crate::{Length, Problem};

/// A swatch as she measured it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Swatch {
    /// Stitches counted across `width`.
    pub stitches: f64,
    /// What they measure.
    pub width: Length,
    /// Rows counted along `height`.
    pub rows: f64,
    /// What they measure.
    pub height: Length,
}

impl Swatch {
    /// The gauge of the swatch.
    ///
    /// # Errors
    /// A [`Problem`] that says what to count or measure, for numbers that no swatch has.
    pub fn gauge(&self) -> Result<Gauge, Problem> {
        let counted = |count: f64, what: &str| {
            let sound = count.is_finite() && count > 0.0;
            sound.then_some(count).ok_or_else(|| {
                Problem::new(
                    format!("a swatch of {count} {what} has no gauge"),
                    format!("knit a swatch of 15 cm (6 in.) each way, wash it, and count the {what} in the middle 10 cm"),
                )
            })
        };
        let measured = |length: Length, way: &str| {
            (length.in_cm() > 0.0).then_some(length.in_cm()).ok_or_else(|| {
                Problem::new(
                    format!("the swatch has no {way}"),
                    format!("lay it flat, unstretched, and measure its {way} with a ruler"),
                )
            })
        };
        let stitches = counted(self.stitches, "stitches")? * 10.0 / measured(self.width, "width")?;
        let rows = counted(self.rows, "rows")? * 10.0 / measured(self.height, "height")?;
        Gauge::per_10_cm(stitches, rows).map_err(|_| {
            Problem::new(
                format!("{stitches:.0} stitches and {rows:.0} rows to 10 cm is no gauge of any yarn"),
                "count again, over the length that the plan names: stitches along a row, rows along a column",
            )
        })
    }
}

/// A pattern's multiple: stitches of one repeat, and those besides.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Repeat {
    /// Stitches of one repeat; at least one.
    pub of: u32,
    /// Stitches besides, once.
    pub plus: u32,
}

impl Repeat {
    /// Plain stitches, any number of them.
    pub const ANY: Repeat = Repeat { of: 1, plus: 0 };

    /// How a number of stitches divides.
    pub fn fit(self, stitches: u32) -> Fit {
        let of = self.of.max(1);
        let Some(over) = stitches.checked_sub(self.plus) else {
            return Fit::Between { fewer: None, more: self.plus + of };
        };
        let below = over / of;
        if over % of == 0 && below > 0 {
            return Fit::Whole(below);
        }
        Fit::Between {
            fewer: (below > 0).then_some(self.plus + below * of),
            more: self.plus + (below + 1) * of,
        }
    }
}

/// How a number of stitches divides into repeats.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fit {
    /// So many whole ones.
    Whole(u32),
    /// It does not; the next numbers that do.
    Between {
        /// The next smaller one, if there is any.
        fewer: Option<u32>,
        /// The next larger one.
        more: u32,
    },
}

/// A cast-on, and the width it gives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CastOn {
    /// Stitches.
    pub stitches: u32,
    /// Repeats in them.
    pub repeats: u32,
    /// Width they give.
    pub width: Length,
}

/// The cast-ons of whole repeats nearest to a width, the nearest first: one, or one on either side.
pub fn cast_on(width: Length, gauge: &Gauge, repeat: Repeat) -> Vec<CastOn> {
    let of = repeat.of.max(1);
    let wanted = (width.in_cm() / gauge.width()).round() as u32;
    let at = |stitches: u32| CastOn {
        stitches,
        repeats: stitches.saturating_sub(repeat.plus) / of,
        width: Length::cm(f64::from(stitches) * gauge.width()),
    };
    let mut found = match repeat.fit(wanted) {
        Fit::Whole(_) => vec![at(wanted)],
        Fit::Between { fewer, more } => fewer.into_iter().chain([more]).map(at).collect(),
    };
    let off = |one: &CastOn| (one.width.in_cm() - width.in_cm()).abs();
    found.sort_by(|one, other| off(one).total_cmp(&off(other)));
    found
}

/// Stitches taken up along the ends of rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PickUp {
    /// Stitches in all.
    pub stitches: u32,
    /// So many stitches …
    pub each: u32,
    /// … in so many rows: the nearest simple proportion.
    pub rows: u32,
}

/// The largest number of rows in a proportion that anyone can keep to.
const LONGEST_BEAT: u32 = 7;

/// Stitches of a band to take up along `rows` rows of a fabric, so that both lie as they want.
pub fn pick_up(rows: u32, along: &Gauge, band: &Gauge) -> PickUp {
    let ratio = along.height() / band.width();
    let (each, beat) = simple_ratio(ratio);
    PickUp { stitches: (f64::from(rows) * ratio).round() as u32, each, rows: beat }
}

/// Stitches taken up along `rows` rows by a rule such as three in four.
pub fn pick_up_by_rule(rows: u32, each: u32, in_rows: u32) -> u32 {
    (f64::from(rows) * f64::from(each) / f64::from(in_rows.max(1))).round() as u32
}

/// The fraction with the smallest denominator that is within two hundredths, or else the nearest one.
pub(crate) fn simple_ratio(ratio: f64) -> (u32, u32) {
    let near = |below: u32| ((ratio * f64::from(below)).round().max(1.0) as u32, below);
    let off = |(above, below): (u32, u32)| (f64::from(above) / f64::from(below) - ratio).abs();
    let all = (1..=LONGEST_BEAT).map(near);
    all.clone()
        .find(|&fraction| off(fraction) <= 0.02 * ratio)
        .or_else(|| all.min_by(|&one, &other| off(one).total_cmp(&off(other))))
        .unwrap_or((1, 1))
}

/// How to cast on where the edge must stretch.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Stretchy {
    /// The cast-on.
    pub cast_on: &'static str,
    /// Why it is enough.
    pub why: &'static str,
}

/// The cast-on for an edge that must come from its `rest` length to `full`; common practice, no published source.
pub fn stretchy_cast_on(rest: Length, full: Length) -> Stretchy {
    let stretch = full.in_cm() / rest.in_cm().max(0.1) - 1.0;
    if stretch < 0.15 {
        Stretchy { cast_on: "long-tail cast-on", why: "it gives as much as plain fabric does without strain" }
    } else if stretch < 0.4 {
        Stretchy {
            cast_on: "long-tail cast-on over two needles held together, or the knitted-on cast-on",
            why: "the wider loops at the edge give a third more than the usual ones",
        }
    } else {
        Stretchy {
            cast_on: "tubular cast-on in single rib, or a provisional one bound off loosely by sewing",
            why: "an edge without a straight strand along it gives as far as the rib itself",
        }
    }
}

/// The tail of a long-tail cast-on: three widths and a tenth over (a rule of many handbooks).
pub fn long_tail(width: Length) -> Length {
    Length::cm(width.in_cm() * 3.0 * 1.1)
}
