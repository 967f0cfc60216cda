//! Lengths with their units, and numbers in words as a knitter writes them.

use std::fmt;
use std::str::FromStr;

use crate::Problem;

/// Centimetres of an inch; exact.
pub const INCH: f64 = 2.54;

/// A length in centimetres: never negative, always a number.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Length(f64);

impl Length {
    /// So many centimetres; what is negative or no number counts as nothing.
    pub fn cm(cm: f64) -> Length {
        Length(if cm.is_finite() { cm.max(0.0) } else { 0.0 })
    }

    /// In centimetres.
    pub fn in_cm(self) -> f64 {
        self.0
    }

    /// In inches.
    pub fn in_inches(self) -> f64 {
        self.0 / INCH
    }
}

/// In both units: "20.3 cm (8 in.)".
impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} cm ({} in.)", decimal(self.0), inches(self.in_inches()))
    }
}

/// Reads "20 cm", "8 in", "8 1/2 inches", "60 mm", "1.5 m", "1 yd".
impl FromStr for Length {
    type Err = Problem;

    fn from_str(text: &str) -> Result<Length, Problem> {
        let wrong = || {
            Problem::new(
                format!("\"{text}\" is no length"),
                "write a number above 0 with its unit: 20 cm, 8 in, 8 1/2 in, 60 mm, 1.5 m or 1 yd",
            )
        };
        let text = text.trim();
        let split = text.find(|c: char| c.is_alphabetic() || c == '"').ok_or_else(wrong)?;
        let (number, unit) = text.split_at(split);
        let centimetres = match unit.trim().trim_end_matches('.').to_lowercase().as_str() {
            "cm" => 1.0,
            "mm" => 0.1,
            "m" => 100.0,
            "in" | "inch" | "inches" | "\"" => INCH,
            "ft" | "foot" | "feet" => 12.0 * INCH,
            "yd" | "yard" | "yards" => 36.0 * INCH,
            _ => return Err(wrong()),
        };
        let length = number_of(number).ok_or_else(wrong)? * centimetres;
        if length > 0.0 && length < 100_000.0 { Ok(Length(length)) } else { Err(wrong()) }
    }
}

/// A number with a fraction: "8", "8.5", "1/2", "8 1/2", "8½".
pub(crate) fn number_of(text: &str) -> Option<f64> {
    let spelt = text.replace('¼', " 1/4").replace('½', " 1/2").replace('¾', " 3/4");
    let parts: Vec<&str> = spelt.split_whitespace().collect();
    match parts.as_slice() {
        [one] => fraction(one),
        [whole, part] if part.contains('/') => Some(fraction(whole)? + fraction(part)?),
        _ => None,
    }
}

fn fraction(text: &str) -> Option<f64> {
    let plain = |text: &str| text.parse::<f64>().ok().filter(|number| number.is_finite());
    match text.split_once('/') {
        Some((above, below)) => Some(plain(above)? / plain(below).filter(|below| *below != 0.0)?),
        None => plain(text),
    }
}

/// With one decimal, and none where it is nought.
pub fn decimal(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

/// To the quarter of an inch below twenty, to the half above: "8", "8¼", "23½".
pub fn inches(value: f64) -> String {
    let step = if value < 20.0 { 4.0 } else { 2.0 };
    let rounded = (value * step).round() / step;
    let part = match ((rounded.fract() * 4.0).round() as u8) % 4 {
        1 => "¼",
        2 => "½",
        3 => "¾",
        _ => "",
    };
    let whole = rounded.trunc();
    if whole == 0.0 && !part.is_empty() { part.to_owned() } else { format!("{whole}{part}") }
}

/// "1 stitch", "3 stitches".
pub(crate) fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_read_in_the_ways_they_are_written() {
        for (text, cm) in [
            ("20 cm", 20.0),
            ("8in", 20.32),
            ("8 1/2 in.", 21.59),
            ("3½ inches", 8.89),
            ("60mm", 6.0),
            ("1 yd", 91.44),
        ] {
            let length: Length = text.parse().unwrap();
            assert!((length.in_cm() - cm).abs() < 1e-9, "{text}");
        }
        for text in ["", "8", "0 cm", "-3 cm", "cm", "NaN cm", "1/0 in", "8 stone"] {
            assert!(text.parse::<Length>().is_err(), "{text}");
        }
    }

    #[test]
    fn lengths_are_told_in_both_units() {
        assert_eq!(Length::cm(20.32).to_string(), "20.3 cm (8 in.)");
        assert_eq!(Length::cm(1.27).to_string(), "1.3 cm (½ in.)");
        assert_eq!(Length::cm(61.0).to_string(), "61 cm (24 in.)");
    }
}
