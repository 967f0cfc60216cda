//! Old names of yarns as classes of today, and the counts of spinners.
//!
//! The table with its sources is `data/yarns.toml`.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use crate::Problem;

/// A class of the Craft Yarn Council.
#[derive(Clone, Debug, PartialEq, Deserialize)]
pub struct YarnClass {
    /// 0 (lace) to 7 (jumbo).
    pub number: u8,
    /// Its usual name.
    pub name: String,
    /// Stitches of plain fabric to 4 inches, fewest and most: Craft Yarn Council, Standard Yarn Weight System.
    pub stitches: [u32; 2],
    /// Needles that it is usually knitted on, in millimetres: from the same table.
    pub needles: [f64; 2],
    /// Metres in 100 g to start an estimate from, for wool, ±15 %: the middle of published tables.
    pub metres: f64,
}

/// How far a name can be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Sureness {
    /// The books themselves give a gauge.
    Good,
    /// The books equate it with others.
    Medium,
    /// Hearsay: swatch before buying.
    Low,
}

/// An old name, read.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct YarnReading {
    /// The thinnest and the thickest class that it may be.
    pub classes: [u8; 2],
    /// How far to trust it.
    pub sure: Sureness,
    /// Where it comes from.
    pub source: &'static str,
}

#[derive(Deserialize)]
struct Table {
    class: Vec<YarnClass>,
    yarn: Vec<Entry>,
}

#[derive(Deserialize)]
struct Entry {
    names: Vec<String>,
    classes: [u8; 2],
    sure: Sureness,
    source: String,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    toml::from_str(include_str!("../data/yarns.toml")).expect("the table of yarns is tested")
});

impl YarnReading {
    /// Reads an old name; `None` for one that the table has not.
    pub fn of(name: &str) -> Option<YarnReading> {
        let words = normal(name);
        let named = TABLE.yarn.iter().flat_map(|entry| entry.names.iter().map(move |name| (entry, name)));
        let found = named.filter(|(_, name)| words.contains(&format!(" {name} ")));
        let (entry, _) = found.max_by_key(|(_, name)| name.len())?;
        Some(YarnReading { classes: entry.classes, sure: entry.sure, source: &entry.source })
    }
}

/// Lower case, figures for number words, hyphens before thread, ply and fold, spaces at both ends.
fn normal(name: &str) -> String {
    const NUMBERS: [(&str, &str); 9] = [
        ("single", "1"),
        ("two", "2"),
        ("three", "3"),
        ("four", "4"),
        ("five", "5"),
        ("six", "6"),
        ("eight", "8"),
        ("ten", "10"),
        ("twelve", "12"),
    ];
    let plain: String =
        name.to_lowercase().chars().map(|c| if c.is_alphanumeric() || c == '\'' { c } else { ' ' }).collect();
    let mut words: Vec<String> = Vec::new();
    for word in plain.split_whitespace() {
        let strand = ["thread", "ply", "fold"]
            .into_iter()
            .find(|strand| word.ends_with(strand) || word == format!("{strand}ed"));
        match (strand, words.last_mut()) {
            (Some(strand), Some(last)) if word == strand || word.starts_with(strand) => {
                if let Some((_, figure)) = NUMBERS.iter().find(|(number, _)| number == last) {
                    *last = (*figure).to_owned();
                }
                last.push('-');
                last.push_str(strand);
            }
            (Some(strand), _) => {
                let number = word.trim_end_matches(strand);
                let figure =
                    NUMBERS.iter().find(|(name, _)| *name == number).map_or(number, |(_, figure)| figure);
                words.push(format!("{figure}-{strand}"));
            }
            (None, _) => words.push(word.to_owned()),
        }
    }
    format!(" {} ", words.join(" "))
}

/// By how much a tight hand or a loose one takes thicker or thinner needles, in millimetres: a size or two (common
/// practice).
const HAND: f64 = 0.5;

impl YarnClass {
    /// A class by its number.
    pub fn of(number: u8) -> Option<&'static YarnClass> {
        TABLE.class.iter().find(|class| class.number == number)
    }

    /// Whether needles between two diameters belong to this yarn. The table is a guide, and lace is worked on needles
    /// as thick as its holes ask for.
    pub fn goes_with(&self, [thinnest, thickest]: [f64; 2]) -> bool {
        let [least, most] = self.needles;
        let is_lace = self.number == 0;
        thickest >= least - HAND && (is_lace || thinnest <= most + HAND)
    }

    /// The classes that are knitted at so many stitches of plain fabric to 4 inches; two where they overlap.
    pub fn at(stitches_to_4_inches: f64) -> Vec<&'static YarnClass> {
        let rounded = stitches_to_4_inches.round() as u32;
        TABLE
            .class
            .iter()
            .filter(|class| (class.stitches[0]..=class.stitches[1]).contains(&rounded))
            .collect()
    }
}

/// A spinner's way to number yarn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Count {
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
    /// Metres to 100 g, as bands of balls tell it.
    MetresTo100G,
    /// Yards to the pound.
    YardsToPound,
}

/// Grams of a pound, and metres of a yard; exact.
const POUND: f64 = 453.592_37;
const YARD: f64 = 0.9144;

impl Count {
    /// Grams to 1000 m of a yarn of so many plies of this number each.
    ///
    /// # Errors
    /// A [`Problem`] for a number that is not positive.
    pub fn tex(self, number: f64, plies: u32) -> Result<f64, Problem> {
        if !(number.is_finite() && number > 0.0) || plies == 0 {
            return Err(Problem::new(
                format!("a yarn of number {number} in {plies} plies has no weight"),
                "take the metres and grams from its band, or weigh 10 m of it",
            ));
        }
        let pound_of = |yards: f64| 1000.0 * POUND / (yards * YARD);
        let single = match self {
            Count::Tex => number,
            Count::Metric => 1000.0 / number,
            Count::Cotton => pound_of(840.0) / number,
            Count::Worsted => pound_of(560.0) / number,
            Count::Linen => pound_of(300.0) / number,
            Count::MetresTo100G => 100_000.0 / number,
            Count::YardsToPound => pound_of(1.0) / number,
        };
        Ok(single * f64::from(plies))
    }
}

/// Metres in 100 g of a yarn of so many tex.
pub fn metres_to_100_g(tex: f64) -> f64 {
    100_000.0 / tex
}
