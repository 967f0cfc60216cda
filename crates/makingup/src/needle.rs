//! Needle numbers of all times as diameters, with the uncertainty said.
//!
//! The tables and their sources are `data/needles.toml`. A number is never converted without the gauge it was
//! counted on: before 1884 every maker had one of his own.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use crate::Problem;
use crate::length::{INCH, number_of};

/// The gauge that a number was counted on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum NeedleGauge {
    /// Millimetres.
    Millimetres,
    /// The Imperial wire gauge of 1884.
    Wire,
    /// British numbers of the 20th century.
    British,
    /// US numbers of today.
    Us,
    /// Japanese numbers.
    Japan,
    /// Lambert's "Standard Filière" of 1843.
    Filiere,
    /// British numbers before 1884, the gauge not named.
    OldBritish,
    /// German numbers, which run the other way.
    German,
    /// Inches round the needle.
    Girth,
}

/// A needle number, read.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Needle {
    /// The likeliest diameter in millimetres, where any is known.
    pub millimetres: Option<f64>,
    /// The thinnest and the thickest that it may be.
    pub between: Option<[f64; 2]>,
    /// The sizes sold today that come nearest, in millimetres.
    pub sold: Vec<f64>,
    /// Their old British numbers, where they have one.
    pub british: Vec<String>,
    /// Their US numbers, where they have one.
    pub us: Vec<String>,
    /// The nearest Japanese numbers, two where both are as near.
    pub japan: Vec<u8>,
    /// What to know before trusting it.
    pub note: Option<&'static str>,
    /// Where the size comes from.
    pub source: &'static str,
}

#[derive(Deserialize)]
struct Tables {
    wire: Wire,
    metric: Metric,
    japan: Japan,
    filiere: Filiere,
    german: German,
}

#[derive(Deserialize)]
struct Wire {
    source: String,
    sizes: Vec<(String, f64)>,
}

#[derive(Deserialize)]
struct Metric {
    source: String,
    sizes: Vec<Size>,
}

#[derive(Deserialize)]
struct Size {
    mm: f64,
    british: Option<String>,
    us: Option<String>,
}

#[derive(Deserialize)]
struct Japan {
    source: String,
    first: f64,
    step: f64,
    last: u8,
}

#[derive(Deserialize)]
struct Filiere {
    source: String,
    ratios: Vec<f64>,
    anchor: usize,
    least: f64,
    likely: f64,
    most: f64,
}

#[derive(Deserialize)]
struct German {
    source: String,
}

static TABLES: LazyLock<Tables> = LazyLock::new(|| {
    toml::from_str(include_str!("../data/needles.toml")).expect("the table of needles is tested")
});

/// Needles that there are, in millimetres.
const THICKNESS: std::ops::RangeInclusive<f64> = 0.3..=60.0;

/// The thickness of a needle told by the inches round it, in millimetres.
fn girth(text: &str) -> Option<f64> {
    let inches = text.trim_end_matches(['"', '.']).trim_end_matches("inches").trim_end_matches("inch");
    let round = number_of(inches.trim_end_matches("in").trim())?;
    Some(round * INCH * 10.0 / std::f64::consts::PI).filter(|size| THICKNESS.contains(size))
}

impl Needle {
    /// Reads a number as counted on a gauge.
    ///
    /// # Errors
    /// A [`Problem`] for a number that the gauge has not.
    pub fn read(number: &str, gauge: NeedleGauge) -> Result<Needle, Problem> {
        let number = number.trim().trim_start_matches("No.").trim_start_matches("no.").trim();
        let unknown = || {
            Problem::new(
                format!("there is no needle \"{number}\" on this gauge"),
                "measure the needle in millimetres, or name the gauge that the number was counted on",
            )
        };
        let tables = &*TABLES;
        match gauge {
            NeedleGauge::Millimetres => {
                let size = number.trim_end_matches("mm").trim();
                let size = number_of(size).filter(|mm| THICKNESS.contains(mm)).ok_or_else(unknown)?;
                Ok(exactly(size, &tables.metric.source, None))
            }
            NeedleGauge::Wire => {
                let size = wire(number).ok_or_else(unknown)?;
                Ok(exactly(size, &tables.wire.source, None))
            }
            NeedleGauge::British => british(number).ok_or_else(unknown),
            NeedleGauge::Us => {
                let plain = number.replace(" 1/2", "½");
                let size = |size: &&Size| size.us.as_deref() == Some(plain.as_str());
                let size = tables.metric.sizes.iter().find(size).ok_or_else(unknown)?;
                Ok(exactly(size.mm, &tables.metric.source, Some(MAKERS_DIFFER)))
            }
            NeedleGauge::Japan => {
                let number: u8 = number.trim_end_matches('号').parse().map_err(|_| unknown())?;
                if number > tables.japan.last {
                    return Err(unknown());
                }
                let size = tables.japan.first + tables.japan.step * f64::from(number);
                Ok(exactly(size, &tables.japan.source, None))
            }
            NeedleGauge::Filiere => filiere(number).ok_or_else(unknown),
            NeedleGauge::OldBritish => old_british(number).ok_or_else(unknown),
            NeedleGauge::German => Ok(Needle {
                note: Some("German numbers run the other way: No. 1 is the thinnest. Let a swatch decide"),
                source: &tables.german.source,
                ..Needle::unknown()
            }),
            NeedleGauge::Girth => Ok(exactly(girth(number).ok_or_else(unknown)?, "girth divided by π", None)),
        }
    }

    fn unknown() -> Needle {
        Needle {
            millimetres: None,
            between: None,
            sold: Vec::new(),
            british: Vec::new(),
            us: Vec::new(),
            japan: Vec::new(),
            note: None,
            source: "",
        }
    }
}

const MAKERS_DIFFER: &str = "makers of US sizes differ by 0.1 to 0.25 mm";
const OWN_GAUGE: &str = "the number belongs to the author's own gauge, not to the wire gauge of 1884";
const NO_GAUGE: &str =
    "before 1884 every maker had a gauge of his own, and the pattern names none: the range spans those known";

/// A needle of a known diameter.
fn exactly(mm: f64, source: &'static str, note: Option<&'static str>) -> Needle {
    between(mm, mm, mm, source, note)
}

/// A needle that may be anything between two diameters.
fn between(least: f64, likely: f64, most: f64, source: &'static str, note: Option<&'static str>) -> Needle {
    let sizes = nearest(TABLES.metric.sizes.iter(), |size| (size.mm - likely).abs());
    Needle {
        millimetres: Some(likely),
        between: Some([least, most]),
        sold: sizes.iter().map(|size| size.mm).collect(),
        british: sizes.iter().filter_map(|size| size.british.clone()).collect(),
        us: sizes.iter().filter_map(|size| size.us.clone()).collect(),
        japan: japanese(likely),
        note,
        source,
    }
}

/// The Japanese numbers nearest to a diameter; none where the scale ends.
fn japanese(mm: f64) -> Vec<u8> {
    let japan = &TABLES.japan;
    let off = |number: &u8| (japan.first + japan.step * f64::from(*number) - mm).abs();
    let within =
        (japan.first - japan.step..=japan.first + japan.step * f64::from(japan.last + 1)).contains(&mm);
    if within { nearest(0..=japan.last, off) } else { Vec::new() }
}

/// What is nearest, and all that is as near within a thousandth.
fn nearest<T>(all: impl Iterator<Item = T> + Clone, off: impl Fn(&T) -> f64) -> Vec<T> {
    let least = all.clone().map(|one| off(&one)).fold(f64::INFINITY, f64::min);
    all.filter(|one| off(one) < least + 1e-3).collect()
}

/// The diameter of a number of the wire gauge; 000 and 3/0 are the same.
fn wire(number: &str) -> Option<f64> {
    let noughts = number.strip_suffix("/0").and_then(|count| count.parse::<usize>().ok());
    let written = noughts.filter(|count| (1..=3).contains(count)).map(|count| "0".repeat(count));
    let number = written.as_deref().unwrap_or(number);
    let sizes = &TABLES.wire.sizes;
    sizes.iter().find(|(name, _)| name == number).map(|(_, inches)| inches * INCH * 10.0)
}

/// A British number: the label of today, and the wire it was drawn as.
fn british(number: &str) -> Option<Needle> {
    let size = TABLES.metric.sizes.iter().find(|size| size.british.as_deref() == Some(number))?;
    let drawn = wire(number)?;
    let note = "an old needle may measure what the wire gauge says rather than what is sold under its number";
    let mut needle =
        between(drawn.min(size.mm), size.mm, drawn.max(size.mm), &TABLES.metric.source, Some(note));
    needle.sold = vec![size.mm];
    Some(needle)
}

fn filiere(number: &str) -> Option<Needle> {
    let table = &TABLES.filiere;
    let place: usize = number.parse().ok()?;
    let at = |place: usize| table.ratios.get(place.checked_sub(1)?).copied();
    let ratio = at(place)? / at(table.anchor)?;
    let [least, likely, most] = [table.least, table.likely, table.most].map(|anchor| anchor * ratio);
    Some(between(least, likely, most, &table.source, Some(OWN_GAUGE)))
}

/// A number before 1884 on a gauge that is not named: whatever the filière or the later wire gauge makes of it.
fn old_british(number: &str) -> Option<Needle> {
    let own = filiere(number);
    let wire = wire(number);
    let (least, most) = match (own.as_ref().and_then(|own| own.between), wire) {
        (Some([least, most]), Some(wire)) => (least.min(wire), most.max(wire)),
        (Some([least, most]), None) => (least, most),
        (None, wire) => (wire?, wire?),
    };
    Some(between(least, f64::midpoint(least, most), most, &TABLES.filiere.source, Some(NO_GAUGE)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_steps_of_the_wire_gauge_are_even_within_stretches() {
        // A self-check of the standard: equal steps between these numbers.
        for (from, to, step) in [(6, 10, 0.016), (10, 14, 0.012), (14, 19, 0.008), (19, 23, 0.004)] {
            for number in from..to {
                let inches = |number: i32| wire(&number.to_string()).unwrap() / (INCH * 10.0);
                assert!((inches(number) - inches(number + 1) - step).abs() < 1e-9, "{number}");
            }
        }
    }
}
