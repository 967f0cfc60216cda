//! Lines, shapes, words and measures on a drawing, as SVG elements. Knows nothing of plans.

use std::fmt::Write;

use super::style::Style;
use crate::{Length, Point};

/// A drawing in the making.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Canvas {
    body: String,
    height: f64,
    style: Style,
}

/// Where centimetres lie on the drawing: `y` grows upwards in the plan, downwards here.
#[derive(Clone, Copy, Debug)]
pub(super) struct View {
    /// Where the origin of the plan lies.
    pub x: f64,
    pub y: f64,
    /// Units to a centimetre.
    pub scale: f64,
}

impl View {
    pub(super) fn at(&self, point: Point) -> Point {
        Point::new(self.x + point.x * self.scale, self.y - point.y * self.scale)
    }
}

/// How a shape is filled and drawn.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pen<'a> {
    pub fill: &'a str,
    pub stroke: &'a str,
    pub width: f64,
}

impl Canvas {
    pub(super) fn new(style: &Style) -> Canvas {
        Canvas { body: String::new(), height: 0.0, style: style.clone() }
    }

    pub(super) fn size(&self) -> (f64, f64) {
        (self.style.width, self.height)
    }

    pub(super) fn close(&mut self, height: f64) {
        self.height = height;
    }

    /// A path through rings of points, each closed; inner rings are left open.
    pub(super) fn rings(&mut self, rings: &[Vec<Point>], pen: Pen<'_>) {
        let mut d = String::new();
        for ring in rings {
            for (place, point) in ring.iter().enumerate() {
                let letter = if place == 0 { 'M' } else { 'L' };
                let _ = write!(d, "{letter}{} {}", short(point.x), short(point.y));
            }
            d.push('Z');
        }
        self.path(&d, pen);
    }

    /// A path in SVG's own words.
    pub(super) fn path(&mut self, d: &str, pen: Pen<'_>) {
        let Pen { fill, stroke, width } = pen;
        self.push(&format!(
            "<path d=\"{d}\" fill=\"{fill}\" fill-rule=\"evenodd\" stroke=\"{stroke}\" stroke-width=\"{width}\" \
             stroke-linejoin=\"round\" stroke-linecap=\"round\"/>"
        ));
    }

    pub(super) fn line(&mut self, from: Point, to: Point, stroke: &str, width: f64) {
        self.push(&format!(
            "<path d=\"M{} {}L{} {}\" fill=\"none\" stroke=\"{stroke}\" stroke-width=\"{width}\" \
             stroke-linecap=\"round\"/>",
            short(from.x),
            short(from.y),
            short(to.x),
            short(to.y)
        ));
    }

    pub(super) fn circle(&mut self, middle: Point, radius: f64, pen: Pen<'_>) {
        let Pen { fill, stroke, width } = pen;
        self.push(&format!(
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{fill}\" stroke=\"{stroke}\" stroke-width=\"{width}\"/>",
            short(middle.x),
            short(middle.y),
            short(radius)
        ));
    }

    /// Words about their place, turned by so many degrees clockwise.
    pub(super) fn words(&mut self, at: Point, words: &str, look: Look<'_>, turn: f64) {
        let place = format!("x=\"{}\" y=\"{}\"", short(at.x), short(at.y));
        let turn = if turn == 0.0 {
            String::new()
        } else {
            format!(" transform=\"rotate({turn} {} {})\"", short(at.x), short(at.y))
        };
        let style = if look.italic { " font-style=\"italic\"" } else { "" };
        let mut escaped = String::with_capacity(words.len());
        for letter in words.chars().filter(|letter| !letter.is_control()) {
            match letter {
                '<' => escaped.push_str("&lt;"),
                '>' => escaped.push_str("&gt;"),
                '&' => escaped.push_str("&amp;"),
                letter => escaped.push(letter),
            }
        }
        self.push(&format!(
            "<text {place} text-anchor=\"middle\"{turn}{style} font-size=\"{}\" fill=\"{}\">{escaped}</text>",
            look.size, look.fill
        ));
    }

    /// A measure along a side: a line `away` from it, ended by slanting strokes, its length in both units on it.
    ///
    /// The side runs from `from` to `to` with the figure at its left hand, seen with `y` downwards.
    pub(super) fn measure(&mut self, from: Point, to: Point, away: f64, length: Length) {
        let (soft, hair, tick) = (self.style.soft_ink.clone(), self.style.hair, self.style.tick);
        let long = from.distance(to).max(1e-9);
        let (along, out) = (
            Point::new((to.x - from.x) / long, (to.y - from.y) / long),
            Point::new(-(to.y - from.y) / long, (to.x - from.x) / long),
        );
        let moved = |point: Point, by: f64| Point::new(point.x + out.x * by, point.y + out.y * by);
        let ends = [moved(from, away), moved(to, away)];
        for (side, end) in [from, to].into_iter().zip(ends) {
            self.line(moved(side, 4.0_f64.min(away)), moved(end, tick), &soft, hair);
            let slant = Point::new((along.x + out.x) * tick * 0.7, (along.y + out.y) * tick * 0.7);
            self.line(
                Point::new(end.x - slant.x, end.y - slant.y),
                Point::new(end.x + slant.x, end.y + slant.y),
                &soft,
                hair * 2.0,
            );
        }
        let turn = along.y.atan2(along.x).to_degrees();
        // Words are read from below or from the right.
        let turn = if turn.abs() > 90.5 { turn + 180.0 } else { turn };
        let turn = if (turn - 90.0).abs() < 0.5 { -90.0 } else { turn };
        let words = length.to_string();
        let size = self.style.small_font_size;
        let room = words.chars().count() as f64 * size * 0.46 + 8.0;
        let middle = Point::new((ends[0].x + ends[1].x) / 2.0, (ends[0].y + ends[1].y) / 2.0);
        let look = Look { size, fill: &soft, italic: false };
        if long > room + 16.0 {
            let half = room / 2.0;
            let at = |by: f64| Point::new(middle.x + along.x * by, middle.y + along.y * by);
            self.line(ends[0], at(-half), &soft, hair);
            self.line(at(half), ends[1], &soft, hair);
            self.words(baseline(middle, turn, size * 0.32), &words, look, turn);
        } else if turn == -90.0 && long < room * 0.8 {
            // Too short for words along it: both units stand beside it, one over the other.
            self.line(ends[0], ends[1], &soft, hair);
            let (metric, inches) = words.split_once(" (").unwrap_or((&words, ""));
            let beside = moved(middle, 4.0 + size * 1.5);
            self.words(Point::new(beside.x, beside.y - size * 0.2), metric, look, 0.0);
            self.words(Point::new(beside.x, beside.y + size), inches.trim_end_matches(')'), look, 0.0);
        } else {
            self.line(ends[0], ends[1], &soft, hair);
            self.words(baseline(moved(middle, size * 0.95), turn, size * 0.32), &words, look, turn);
        }
    }

    /// The drawing as a document.
    pub(super) fn to_svg(&self, words: &str) -> String {
        let (width, height) = self.size();
        let Style { font_family, ink, paper, .. } = &self.style;
        let words = words.replace('&', "&amp;").replace('<', "&lt;");
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{0}\" viewBox=\"0 0 {width} {0}\" \
             font-family=\"{font_family}\" fill=\"{ink}\" role=\"img\">\n<title>{words}</title>\n\
             <rect width=\"{width}\" height=\"{0}\" fill=\"{paper}\"/>\n{1}</svg>\n",
            short(height),
            self.body
        )
    }

    fn push(&mut self, element: &str) {
        self.body.push_str(element);
        self.body.push('\n');
    }
}

/// How words look.
#[derive(Clone, Copy, Debug)]
pub(super) struct Look<'a> {
    pub size: f64,
    pub fill: &'a str,
    pub italic: bool,
}

/// A place moved down by the half height of letters, in the direction in which they stand.
fn baseline(at: Point, turn: f64, by: f64) -> Point {
    let (sine, cosine) = turn.to_radians().sin_cos();
    Point::new(at.x - sine * by, at.y + cosine * by)
}

/// Two decimals at most: a hundredth of a unit is not seen, and the file stays small.
fn short(value: f64) -> f64 {
    let rounded = (value * 100.0).round() / 100.0;
    if rounded == 0.0 { 0.0 } else { rounded }
}
