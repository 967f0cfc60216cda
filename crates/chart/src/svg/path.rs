//! Path data, short and the same on every machine.
//!
//! Points are rounded to hundredths once and then told relative to each other, so that roundings do not add up.

use std::fmt::Write as _;

use crate::glyph::Point;

/// The `d` of a path.
#[derive(Default)]
pub(crate) struct Path {
    d: String,
    at: (i64, i64),
}

impl Path {
    pub(crate) fn is_empty(&self) -> bool {
        self.d.is_empty()
    }

    pub(crate) fn data(&self) -> &str {
        &self.d
    }

    pub(crate) fn move_to(&mut self, to: Point) {
        self.at = hundredths(to);
        let (x, y) = self.at;
        self.command('M', &[x, y]);
    }

    pub(crate) fn line_to(&mut self, to: Point) {
        let (x, y) = self.step(to);
        match (x, y) {
            (_, 0) => self.command('h', &[x]),
            (0, _) => self.command('v', &[y]),
            _ => self.command('l', &[x, y]),
        }
        self.at = hundredths(to);
    }

    pub(crate) fn curve_to(&mut self, [one, two, to]: [Point; 3]) {
        let ((a, b), (c, d), (e, f)) = (self.step(one), self.step(two), self.step(to));
        self.command('c', &[a, b, c, d, e, f]);
        self.at = hundredths(to);
    }

    pub(crate) fn lines(&mut self, points: &[Point]) {
        if let Some((first, rest)) = points.split_first() {
            self.move_to(*first);
            rest.iter().for_each(|point| self.line_to(*point));
        }
    }

    pub(crate) fn close(&mut self) {
        self.d.push('z');
    }

    pub(crate) fn circle(&mut self, (x, y): Point, radius: f32) {
        self.move_to((x - radius, y));
        let (r, _) = hundredths((radius, 0.0));
        for across in [2 * r, -2 * r] {
            self.command('a', &[r, r, 0, 100, 0, across, 0]);
        }
        self.close();
    }

    fn step(&self, to: Point) -> (i64, i64) {
        let to = hundredths(to);
        (to.0 - self.at.0, to.1 - self.at.1)
    }

    fn command(&mut self, letter: char, numbers: &[i64]) {
        self.d.push(letter);
        for (place, &value) in numbers.iter().enumerate() {
            if place > 0 && value >= 0 {
                self.d.push(' ');
            }
            write_hundredths(&mut self.d, value);
        }
    }
}

/// A length as text, in at most two decimals.
pub(crate) fn number(value: f32) -> String {
    let mut out = String::new();
    write_hundredths(&mut out, hundredths((value, 0.0)).0);
    out
}

fn hundredths((x, y): Point) -> (i64, i64) {
    ((x * 100.0).round() as i64, (y * 100.0).round() as i64)
}

fn write_hundredths(out: &mut String, value: i64) {
    let sign = if value < 0 { "-" } else { "" };
    let (whole, part) = (value.unsigned_abs() / 100, value.unsigned_abs() % 100);
    let _ = match part {
        0 => write!(out, "{sign}{whole}"),
        tens if tens.is_multiple_of(10) => write!(out, "{sign}{whole}.{}", tens / 10),
        _ => write!(out, "{sign}{whole}.{part:02}"),
    };
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        let cases = [(1.0, "1"), (-0.5, "-0.5"), (2.05, "2.05"), (0.004, "0"), (-12.345, "-12.35")];
        for (value, text) in cases {
            assert_eq!(number(value), text);
        }
    }

    #[test]
    fn a_path_is_told_in_steps() {
        let mut path = Path::default();
        path.lines(&[(1.0, 2.0), (3.0, 2.0), (2.5, 4.0)]);
        path.close();
        assert_eq!(path.data(), "M1 2h2l-0.5 2z");
    }
}
