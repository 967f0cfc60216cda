//! Each piece by itself, with its measures, its number and the edges that are joined.

use super::canvas::{Canvas, Look, Pen, View};
use super::style::{Style, tint};
use super::whole::{arrow, leaf};
use crate::path::extent;
use crate::{EdgingOnPath, Length, PiecePlan, Plan, Point};

/// Draws the pieces below `top`; gives where they end.
pub(super) fn draw(canvas: &mut Canvas, plan: &Plan, style: &Style, top: f64) -> f64 {
    let columns = style.columns.min(plan.pieces.len()).max(1);
    let width = (style.width - 2.0 * style.margin) / columns as f64;
    let line = style.font_size * 1.3;
    let height = style.piece_height + style.offset + 3.6 * line + style.gap * 0.5;
    for (place, piece) in plan.pieces.iter().enumerate() {
        let left = style.margin + width * (place % columns) as f64;
        let tile =
            Tile { left, top: top + height * (place / columns) as f64, width, height: style.piece_height };
        let edging = plan.edging.as_ref().filter(|edging| edging.piece == place);
        match edging {
            Some(edging) => draw_edging(canvas, style, tile, piece, edging),
            None => draw_piece(canvas, style, tile, piece, &letters(plan, &piece.name)),
        }
        caption(canvas, style, tile, piece, edging);
    }
    top + height * plan.pieces.len().div_ceil(columns) as f64 - style.gap * 0.5
}

/// The room of one piece.
#[derive(Clone, Copy)]
struct Tile {
    left: f64,
    top: f64,
    width: f64,
    height: f64,
}

impl Tile {
    /// A view that shows a width and height in the room, standing on its floor.
    fn view(self, style: &Style, width: f64, height: f64) -> View {
        let across = self.width - 2.2 * style.offset - 14.0;
        let scale = (across / width.max(1e-9)).min(self.height / height.max(1e-9));
        View { x: self.left + (self.width - width * scale) / 2.0 + 6.0, y: self.top + self.height, scale }
    }
}

/// The letters of the sides of a piece that are joined outside the block.
fn letters(plan: &Plan, name: &str) -> Vec<(String, char)> {
    let joins = plan.seams.iter().filter(|seam| !seam.in_block);
    let lettered = joins.zip('A'..='Z');
    let sides = lettered.flat_map(|(seam, letter)| [(&seam.one, letter), (&seam.other, letter)]);
    sides
        .filter_map(|(side, letter)| {
            let side = side.strip_prefix(name)?.strip_prefix(' ')?;
            Some((side.to_owned(), letter))
        })
        .collect()
}

fn draw_piece(canvas: &mut Canvas, style: &Style, tile: Tile, piece: &PiecePlan, letters: &[(String, char)]) {
    let pen = Pen { fill: tint(piece.colour.as_deref()), stroke: &style.ink, width: style.outline };
    if piece.shape == "disc" {
        let view = tile.view(style, piece.width, piece.height.max(piece.width));
        let radius = piece.width / 2.0;
        let middle = view.at(Point::new(radius, radius));
        canvas.circle(middle, radius * view.scale, pen);
        canvas.circle(middle, radius * 0.62 * view.scale, Pen { fill: "none", width: style.hair, ..pen });
        let [from, to] = [view.at(Point::new(0.0, 0.0)), view.at(Point::new(piece.width, 0.0))];
        canvas.measure(from, to, style.offset - 5.0, Length::cm(piece.width));
        return;
    }
    let ring = ring_of(piece);
    let (width, height) = extent(&ring);
    let view = tile.view(style, width, height);
    let drawn: Vec<Point> = ring.iter().map(|&point| view.at(point)).collect();
    canvas.rings(std::slice::from_ref(&drawn), pen);
    let middle = Point::new(
        drawn.iter().map(|point| point.x).sum::<f64>() / drawn.len() as f64,
        drawn.iter().map(|point| point.y).sum::<f64>() / drawn.len() as f64,
    );
    if piece.from_corner {
        let towards = |share: f64| {
            let from = drawn[0];
            Point::new(from.x + (middle.x - from.x) * share, from.y + (middle.y - from.y) * share)
        };
        leaf(canvas, style, towards(0.12), towards(0.8));
    } else {
        let foot = Point::new((drawn[0].x + drawn[1].x) / 2.0, (drawn[0].y + drawn[1].y) / 2.0);
        let up = |share: f64| {
            Point::new(foot.x + (middle.x - foot.x) * share, foot.y + (middle.y - foot.y) * share)
        };
        arrow(canvas, style, up(0.3), up(1.1));
    }
    for (side, letter) in letters {
        let Some(place) = piece.sides.iter().position(|known| known.name == *side) else { continue };
        let (from, to) = (drawn[place % drawn.len()], drawn[(place + 1) % drawn.len()]);
        let at = Point::new((from.x + to.x) / 2.0, (from.y + to.y) / 2.0);
        let inwards = Point::new(
            at.x + (middle.x - at.x) * 0.22,
            at.y + (middle.y - at.y) * 0.22 + style.font_size * 0.35,
        );
        let look = Look { size: style.font_size, fill: &style.accent, italic: true };
        canvas.words(inwards, &letter.to_string(), look, 0.0);
    }
    measures(canvas, style, piece, view, &ring, &drawn);
}

/// The bottom and the height of a piece; the top as well where it is another.
fn measures(
    canvas: &mut Canvas,
    style: &Style,
    piece: &PiecePlan,
    view: View,
    ring: &[Point],
    drawn: &[Point],
) {
    let away = style.offset - 5.0;
    let (width, height) = extent(ring);
    if piece.shape == "polygon" && (ring[1].y - ring[0].y).abs() < 0.02 * height {
        canvas.measure(drawn[0], drawn[1], away, Length::cm(ring[0].distance(ring[1])));
    } else {
        canvas.measure(
            view.at(Point::new(0.0, 0.0)),
            view.at(Point::new(width, 0.0)),
            away,
            Length::cm(width),
        );
    }
    let [high, low] = [view.at(Point::new(0.0, height)), view.at(Point::new(0.0, 0.0))];
    canvas.measure(high, low, away, Length::cm(height));
    let top = ring.len() == 4 && (ring[2].y - ring[3].y).abs() < 0.02 * height;
    let (across, below) = (ring[2].distance(ring[3]), ring[0].distance(ring[1]));
    if top && (across / below - 1.0).abs() > 0.03 {
        canvas.measure(drawn[2], drawn[3], away * 0.8, Length::cm(across));
    }
}

/// The outline with its first side along the ground and its least corner in the origin.
fn ring_of(piece: &PiecePlan) -> Vec<Point> {
    if piece.shape != "polygon" || piece.outline.len() < 3 {
        let (width, height) = (piece.width, piece.height);
        return [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)]
            .map(|(x, y)| Point::new(x, y))
            .to_vec();
    }
    let (from, to) = (piece.outline[0], piece.outline[1]);
    let angle = (to.y - from.y).atan2(to.x - from.x);
    let (sine, cosine) = (-angle).sin_cos();
    let turned = piece
        .outline
        .iter()
        .map(|point| Point::new(point.x * cosine - point.y * sine, point.x * sine + point.y * cosine));
    let turned: Vec<Point> = turned.collect();
    let least = |of: fn(&Point) -> f64| turned.iter().map(of).fold(f64::INFINITY, f64::min);
    let (left, low) = (least(|point| point.x), least(|point| point.y));
    turned.iter().map(|point| Point::new(point.x - left, point.y - low)).collect()
}

/// Three repeats of the edging as they are worked, the straight side along the ground.
fn draw_edging(canvas: &mut Canvas, style: &Style, tile: Tile, piece: &PiecePlan, edging: &EdgingOnPath) {
    const SHOWN: usize = 3;
    let width = edging.repeat * SHOWN as f64;
    let view = tile.view(style, width, edging.points);
    let places = edging.places();
    let top = (0..SHOWN * places).map(|place| {
        let phase = (place % places) as f64 / places as f64;
        Point::new(width * (1.0 - place as f64 / (SHOWN * places) as f64), edging.depth_at(phase))
    });
    let mut ring = vec![Point::new(0.0, 0.0), Point::new(width, 0.0)];
    ring.extend(top);
    ring.push(Point::new(0.0, edging.depth_at(0.0)));
    let drawn = ring.iter().map(|&point| view.at(point)).collect();
    canvas.rings(
        &[drawn],
        Pen { fill: tint(piece.colour.as_deref()), stroke: &style.ink, width: style.outline },
    );
    for repeat in 1..SHOWN {
        let x = repeat as f64 * edging.repeat;
        canvas.line(
            view.at(Point::new(x, 0.0)),
            view.at(Point::new(x, edging.depth_at(0.0))),
            &style.ink,
            style.hair,
        );
    }
    let away = style.offset - 5.0;
    let [from, to] = [view.at(Point::new(0.0, 0.0)), view.at(Point::new(edging.repeat, 0.0))];
    canvas.measure(from, to, away, Length::cm(edging.repeat));
    let [high, low] = [view.at(Point::new(0.0, edging.points)), view.at(Point::new(0.0, 0.0))];
    canvas.measure(high, low, away, Length::cm(edging.points));
}

/// The name of a piece, how many there are, and what it is made of.
fn caption(canvas: &mut Canvas, style: &Style, tile: Tile, piece: &PiecePlan, edging: Option<&EdgingOnPath>) {
    let middle = tile.left + tile.width / 2.0 + 6.0;
    let line = style.font_size * 1.3;
    let first = tile.top + tile.height + style.offset + 1.7 * line;
    let (many, worked) = match edging {
        Some(edging) => {
            (format!("{} repeats", edging.plan.repeats), format!("{} rows each", edging.rows_in_repeat))
        }
        None => (
            format!("{}", piece.count),
            format!(
                "cast on {}, {} {}",
                piece.cast_on,
                piece.rows,
                if piece.shape == "polygon" { "rows" } else { "rounds" }
            ),
        ),
    };
    let colour = piece.colour.as_deref().map_or_else(String::new, |colour| format!(", {colour}"));
    let name = Look { size: style.font_size, fill: &style.ink, italic: false };
    let soft = Look { size: style.small_font_size, fill: &style.soft_ink, italic: true };
    canvas.words(Point::new(middle, first), &format!("{many} × {}", piece.name), name, 0.0);
    canvas.words(Point::new(middle, first + line), &format!("{worked}{colour}"), soft, 0.0);
}
