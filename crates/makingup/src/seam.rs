//! Edges that meet: by how much they differ, and the ways out, the smallest change first.

use cloth::Gauge;
use serde::Serialize;

use crate::gauge::{Fit, Repeat};
use crate::length::{counted, decimal};
use crate::shape::Along;

/// An edge as a seam sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EdgeOf<'a> {
    /// What to call it.
    pub name: &'a str,
    /// In centimetres.
    pub length: f64,
    /// What it is made of.
    pub along: Along,
    /// What its stitches or rows come in.
    pub repeat: Repeat,
}

/// A way to make two edges meet.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WayOut {
    /// What kind of change it is.
    pub kind: WayKind,
    /// What to do.
    pub what: String,
    /// How much is changed, as a part of the edge.
    pub change: f64,
    /// What the edges still differ by, in centimetres.
    pub left: f64,
}

/// The kinds of change.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum WayKind {
    /// Holding in the longer edge while sewing.
    Easing,
    /// Pinning out damp.
    Blocking,
    /// A needle size up or down.
    Needle,
    /// Stitches or whole repeats more or fewer.
    Stitches,
    /// Rows or whole repeats in height more or fewer.
    Rows,
}

/// Two edges of a seam.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Difference {
    /// The longer less the shorter, in centimetres.
    pub by: f64,
    /// The same as a part of the longer.
    pub part: f64,
    /// The ways out, the smallest change first; none where the edges agree.
    pub ways: Vec<WayOut>,
}

/// Edges that differ by less than this part agree: a ruler on cloth is no surer.
const AGREE: f64 = 0.005;
/// How far wool can be blocked (wet-blocked plain fabric gives 0 to 5 %; common practice).
const BLOCKED: f64 = 0.03;
/// What one needle size changes a stitch by; common practice, no published source.
const NEEDLE_SIZE: f64 = 0.04;
/// More sizes than this make another fabric.
const MOST_SIZES: f64 = 2.0;

/// Compares two edges; `ease` is the part by which a seam may be held in.
pub fn compare(one: &EdgeOf<'_>, other: &EdgeOf<'_>, gauge: &Gauge, ease: f64) -> Difference {
    let (long, short) = if one.length >= other.length { (one, other) } else { (other, one) };
    let by = long.length - short.length;
    let part = by / long.length.max(1e-9);
    let mut ways = Vec::new();
    if part > AGREE {
        ways.extend(easing(long, short, part, ease));
        ways.extend(blocking(short, by, part));
        ways.extend(needle(long, short, part));
        ways.extend(worked(short, by, gauge, true));
        ways.extend(worked(long, by, gauge, false));
        // A change that leaves much of the difference is worth less: what is left has to be eased as well.
        let weight = |way: &WayOut| way.change + way.left / long.length;
        ways.sort_by(|one, other| weight(one).total_cmp(&weight(other)));
    }
    Difference { by, part, ways }
}

fn easing(long: &EdgeOf<'_>, short: &EdgeOf<'_>, part: f64, ease: f64) -> Option<WayOut> {
    // Half of it is held in at the one, half given at the other.
    (part <= ease).then(|| WayOut {
        kind: WayKind::Easing,
        what: format!(
            "ease {} into {} while sewing: {:.1} %, pinned at both ends and in the middle first",
            long.name,
            short.name,
            part * 100.0
        ),
        change: part / 2.0,
        left: 0.0,
    })
}

fn blocking(short: &EdgeOf<'_>, by: f64, part: f64) -> Option<WayOut> {
    (part <= BLOCKED).then(|| WayOut {
        kind: WayKind::Blocking,
        what: format!("pin {} out {} cm longer while damp (wool; not acrylic)", short.name, decimal(by)),
        change: part,
        left: 0.0,
    })
}

fn needle(long: &EdgeOf<'_>, short: &EdgeOf<'_>, part: f64) -> Option<WayOut> {
    let sizes = (part / NEEDLE_SIZE).round();
    if !(1.0..=MOST_SIZES).contains(&sizes) {
        return None;
    }
    let how = if sizes > 1.0 { "two sizes" } else { "one size" };
    Some(WayOut {
        kind: WayKind::Needle,
        what: format!(
            "knit the piece of {} on needles {how} larger, or that of {} {how} smaller; swatch, for a size is about 4 %",
            short.name, long.name
        ),
        change: sizes * NEEDLE_SIZE,
        left: (part - sizes * NEEDLE_SIZE).abs() * long.length,
    })
}

/// Stitches or rows more in the shorter edge, or fewer in the longer.
fn worked(edge: &EdgeOf<'_>, by: f64, gauge: &Gauge, more: bool) -> Option<WayOut> {
    let (count, unit, kind) = match edge.along {
        Along::Stitches(count) => (count, gauge.width(), WayKind::Stitches),
        Along::Rows(count) => (count, gauge.height(), WayKind::Rows),
        Along::Slant(_) => return None,
    };
    let each = if count > 0 { edge.length / f64::from(count) } else { unit };
    // Rows come in pairs, so that the piece ends on the side it ended on.
    let repeat = match kind {
        WayKind::Rows if edge.repeat.of == 1 => Repeat { of: 2, plus: count % 2 },
        _ => edge.repeat,
    };
    let wanted = (by / each).round() as u32;
    let target = if more { count.checked_add(wanted)? } else { count.checked_sub(wanted)? };
    let reached = match repeat.fit(target) {
        Fit::Whole(_) => target,
        Fit::Between { fewer: Some(fewer), more } if target - fewer <= more - target => fewer,
        Fit::Between { more, .. } => more,
    };
    let changed = reached.abs_diff(count);
    if changed == 0 || (reached > count) != more {
        return None;
    }
    let unit = if kind == WayKind::Stitches { ["stitch", "stitches"] } else { ["row", "rows"] };
    let repeats = match (changed / repeat.of.max(1), repeat.of) {
        (count, of) if of > 2 => format!(", {}", counted(count as usize, "repeat", "repeats")),
        _ => String::new(),
    };
    let word = if more { "more" } else { "fewer" };
    Some(WayOut {
        kind,
        what: format!(
            "work {} {word} along {}{repeats}: {reached} in all",
            counted(changed as usize, unit[0], unit[1]),
            edge.name
        ),
        change: f64::from(changed) / f64::from(count.max(1)),
        left: (by - f64::from(changed) * each).abs(),
    })
}
