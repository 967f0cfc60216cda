//! All occurrences of one symbol as a few paths: strokes, dots, and the strands of a crossing.
//!
//! ```text
//! c2/2f   \\//      the two held at the right go to the left in front, unbroken;
//!         /\\/      the other two pass behind and are broken
//! ```

use std::fmt::Write as _;

use loops::{Cross, Op};

use super::escape;
use super::path::{Path, number};
use crate::glyph::{Mark, Point, marks};
use crate::style::Style;
use crate::symbol::Symbol;

/// White between a strand and the upper and lower edge of its row, in rows.
const STRAND_INSET: f32 = 0.06;
/// White between a strand and the strand beside it, in columns.
const STRAND_GAP: f32 = 0.1;
/// Share of the visible edge of a strand behind that is drawn, so that it stops short of the one in front.
const STRAND_SEEN: f32 = 0.9;
/// Radius of the dot of a purled strand, in rows.
const STRAND_DOT: f32 = 0.09;

/// One symbol, wherever it stands.
pub(super) struct Strokes<'a> {
    style: &'a Style,
    marks: Vec<Mark>,
    columns: usize,
    lines: Path,
    dots: Path,
    strands: [Strand; 2],
}

/// One group of stitches of a crossing.
#[derive(Default)]
struct Strand {
    /// Columns from the left to its left edge, at its foot and at its top, and how many it has.
    foot: f32,
    top: f32,
    columns: f32,
    /// Columns of the strand that passes in front of it; none for the one in front.
    hidden_by: f32,
    /// Whether it has a ground of its own: purled, or in front of one that is.
    tint: Option<Tint>,
    ground: Path,
    edges: Path,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Tint {
    Purl,
    Paper,
}

impl<'a> Strokes<'a> {
    pub(super) fn new(symbol: Symbol, style: &'a Style) -> Strokes<'a> {
        let strands = match symbol.shape() {
            Some(Op::Cross(cross)) => strands(cross),
            _ => Default::default(),
        };
        let columns = symbol.shape().map_or(1, crate::flow::columns_of).max(1);
        let (lines, dots) = (Path::default(), Path::default());
        Strokes { style, marks: marks(symbol), columns, lines, dots, strands }
    }

    /// Draws the symbol with the upper left corner of its first column at a point.
    pub(super) fn add(&mut self, x: f32, y: f32, mirrored: bool) {
        let (width, height) = (self.style.cell_width, self.style.cell_height);
        let unit = width.min(height);
        let one = self.columns == 1;
        let at = |(px, py): Point| {
            let px = if mirrored { self.columns as f32 - px } else { px };
            if one {
                (x + width / 2.0 + (px - 0.5) * unit, y + height / 2.0 + (py - 0.5) * unit)
            } else {
                (x + px * width, y + py * height)
            }
        };
        for mark in &self.marks {
            match mark {
                Mark::Line(points) => {
                    self.lines.lines(&points.iter().map(|&point| at(point)).collect::<Vec<_>>());
                }
                Mark::Curve(start, pieces) => {
                    self.lines.move_to(at(*start));
                    pieces.iter().for_each(|piece| self.lines.curve_to(piece.map(at)));
                }
                Mark::Ring(middle, radius) => self.lines.circle(at(*middle), radius * unit),
                Mark::Dot(middle, radius) => self.dots.circle(at(*middle), radius * unit),
            }
        }
        for strand in self.strands.iter_mut().filter(|strand| strand.columns > 0.0) {
            strand.add(x, y, self.style, &mut self.dots);
        }
    }

    /// Writes what was drawn as a group; `words` is told to whoever points at it.
    pub(super) fn write(&self, out: &mut String, words: &str) {
        if self.lines.is_empty() && self.dots.is_empty() && self.strands[0].edges.is_empty() {
            return;
        }
        out.push_str("<g>");
        if !words.is_empty() {
            let _ = write!(out, "<title>{}</title>", escape(words));
        }
        for strand in &self.strands {
            let ground = match (strand.tint, self.style.paper.as_str()) {
                (None, _) => None,
                (Some(Tint::Purl), _) => Some(self.style.purl_strand.as_str()),
                // The strand in front must hide the one behind even where the page shows through.
                (Some(Tint::Paper), "none") => Some("#ffffff"),
                (Some(Tint::Paper), paper) => Some(paper),
            };
            if let Some(ground) = ground {
                let _ = write!(out, "<path d=\"{}\" fill=\"{}\"/>", strand.ground.data(), escape(ground));
            }
            self.write_lines(out, &strand.edges);
        }
        self.write_lines(out, &self.lines);
        if !self.dots.is_empty() {
            let _ = write!(out, "<path d=\"{}\" fill=\"{}\"/>", self.dots.data(), escape(&self.style.ink));
        }
        out.push_str("</g>\n");
    }

    fn write_lines(&self, out: &mut String, lines: &Path) {
        if lines.is_empty() {
            return;
        }
        let _ = write!(
            out,
            "<path d=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\" stroke-linecap=\"round\" \
             stroke-linejoin=\"round\"/>",
            lines.data(),
            escape(&self.style.ink),
            number(self.style.symbol_stroke)
        );
    }
}

/// The strands of a crossing as seen from the right side, the one behind first.
///
/// The held stitches are the first of the row, so that they start at the right and end at the left.
fn strands(cross: Cross) -> [Strand; 2] {
    let (held, worked) = (f32::from(cross.held), f32::from(cross.worked));
    let held_strand = Strand { foot: worked, columns: held, ..Strand::default() };
    let worked_strand = Strand { top: held, columns: worked, ..Strand::default() };
    let ((mut back, back_purl), (mut front, front_purl)) = if cross.front {
        ((worked_strand, cross.worked_purl), (held_strand, cross.held_purl))
    } else {
        ((held_strand, cross.held_purl), (worked_strand, cross.worked_purl))
    };
    back.hidden_by = front.columns;
    back.tint = back_purl.then_some(Tint::Purl);
    front.tint = if front_purl { Some(Tint::Purl) } else { back_purl.then_some(Tint::Paper) };
    [back, front]
}

impl Strand {
    fn add(&mut self, x: f32, y: f32, style: &Style, dots: &mut Path) {
        let at = |(px, py): Point| (x + px * style.cell_width, y + py * style.cell_height);
        let corners = [self.left(0.0), self.left(1.0), self.right(1.0), self.right(0.0)];
        self.ground.lines(&corners.map(at));
        self.ground.close();
        for (from, to) in self.visible_edges() {
            self.edges.lines(&[at(from), at(to)]);
        }
        if self.tint == Some(Tint::Purl) {
            dots.circle(at(self.middle_of_what_is_seen()), STRAND_DOT * style.cell_height);
        }
    }

    /// The point of the left edge that is `up` of the way from the foot to the top.
    fn left(&self, up: f32) -> Point {
        let height = 1.0 - 2.0 * STRAND_INSET;
        (self.foot + (self.top - self.foot) * up + STRAND_GAP, 1.0 - STRAND_INSET - height * up)
    }

    fn right(&self, up: f32) -> Point {
        let (x, y) = self.left(up);
        (x + self.columns - 2.0 * STRAND_GAP, y)
    }

    /// How far up the outer edge is seen before it passes behind the other strand; all the way where none is
    /// in front. The edges of strands `b` behind and `f` in front meet at `b / (b + f)`.
    fn seen(&self) -> f32 {
        self.columns / (self.columns + self.hidden_by)
    }

    /// Both edges of a strand in front; of one behind the outer edges, broken off short of the strand in front.
    fn visible_edges(&self) -> [(Point, Point); 2] {
        if self.hidden_by == 0.0 {
            return [(self.left(0.0), self.left(1.0)), (self.right(0.0), self.right(1.0))];
        }
        let short = self.seen() * STRAND_SEEN;
        if self.foot > self.top {
            [(self.right(0.0), self.right(short)), (self.left(1.0), self.left(1.0 - short))]
        } else {
            [(self.left(0.0), self.left(short)), (self.right(1.0), self.right(1.0 - short))]
        }
    }

    /// The middle of the strand, or of the corner of it that is seen below the strand in front.
    fn middle_of_what_is_seen(&self) -> Point {
        let ((left, bottom), (right, _)) = (self.left(0.0), self.right(0.0));
        if self.hidden_by == 0.0 {
            let ((a, y), (b, _)) = (self.left(0.5), self.right(0.5));
            return ((a + b) / 2.0, y);
        }
        let (tip, top) = if self.foot > self.top { self.right(self.seen()) } else { self.left(self.seen()) };
        ((left + right + tip) / 3.0, (2.0 * bottom + top) / 3.0)
    }
}
