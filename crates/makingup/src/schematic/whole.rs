//! The whole thing: the block, its edging, what is laid over it, and its measures.

use super::band::Band;
use super::canvas::{Canvas, Look, Pen, View};
use super::style::{Style, tint};
use crate::corner::Treatment;
use crate::path::extent;
use crate::{BlockPlan, CellPlan, EdgingOnPath, Length, PiecePlan, Plan, Point};

/// Draws the whole below `top`; gives where it ends.
pub(super) fn draw(canvas: &mut Canvas, plan: &Plan, style: &Style, top: f64) -> f64 {
    let band = plan.edging.as_ref().map(Band::of);
    let path = plan.edging.as_ref().map(|edging| edging.path.clone());
    let inner = plan.block.as_ref().map(|block| block.outline.clone()).or(path).unwrap_or_default();
    let mut all = inner.clone();
    all.extend(band.iter().flat_map(|band| band.outer.iter().copied()));
    let low =
        |values: fn(&Point) -> f64, points: &[Point]| points.iter().map(values).fold(f64::INFINITY, f64::min);
    let (left, bottom) = (low(|point| point.x, &all), low(|point| point.y, &all));
    let (width, height) = extent(&all);
    let tiers = if band.is_some() { 2.0 } else { 1.0 };
    let room = style.offset * tiers + 8.0;
    let scale =
        ((style.width - 2.0 * style.margin - 2.0 * room) / width).min((style.whole_height - room) / height);
    let x = (style.width - width * scale) / 2.0;
    let view = View { x: x - left * scale, y: top + (height + bottom) * scale, scale };
    if let (Some(band), Some(edging)) = (&band, &plan.edging) {
        draw_band(canvas, plan, style, view, band, edging);
    }
    match &plan.block {
        Some(block) => draw_block(canvas, plan, style, view, block),
        None => {
            let ring = inner.iter().map(|&point| view.at(point)).collect();
            canvas.rings(&[ring], Pen { fill: "none", stroke: &style.ink, width: style.outline });
        }
    }
    for laid in &plan.laid {
        let piece = &plan.pieces[laid.piece];
        for &place in &laid.places {
            draw_laid(canvas, style, view, piece, place);
        }
    }
    if let Some(edging) = &plan.edging {
        label_sides(canvas, style, view, edging);
    }
    measures(canvas, style, view, &inner, &all, band.is_some());
    let mut end = top + height * scale + room + style.small_font_size;
    let line = style.width - 2.0 * style.margin;
    for words in legend(plan).iter().flat_map(|words| broken(words, style.small_font_size, line)) {
        let look = Look { size: style.small_font_size, fill: &style.soft_ink, italic: true };
        canvas.words(Point::new(style.width / 2.0, end), &words, look, 0.0);
        end += style.small_font_size * 1.35;
    }
    end
}

fn draw_band(
    canvas: &mut Canvas,
    plan: &Plan,
    style: &Style,
    view: View,
    band: &Band,
    edging: &EdgingOnPath,
) {
    let fill = tint(plan.pieces[edging.piece].colour.as_deref());
    let outer: Vec<Point> = band.outer.iter().map(|&point| view.at(point)).collect();
    let inner: Vec<Point> = edging.path.iter().map(|&point| view.at(point)).collect();
    let pen = Pen { fill, stroke: &style.ink, width: style.outline };
    if edging.closed {
        canvas.rings(&[outer, inner], pen);
    } else {
        let ring = outer.into_iter().chain(inner.into_iter().rev()).collect();
        canvas.rings(&[ring], pen);
    }
    for [foot, tip] in &band.seams {
        let (foot, tip) = (view.at(*foot), view.at(*tip));
        let share = 0.3;
        let to = Point::new(foot.x + (tip.x - foot.x) * share, foot.y + (tip.y - foot.y) * share);
        canvas.line(foot, to, &style.ink, style.hair);
    }
}

fn draw_block(canvas: &mut Canvas, plan: &Plan, style: &Style, view: View, block: &BlockPlan) {
    for cell in &block.cells {
        let piece = &plan.pieces[cell.piece];
        let corners = corners(cell).map(|point| view.at(point));
        let pen = Pen { fill: tint(piece.colour.as_deref()), stroke: &style.ink, width: style.line };
        canvas.rings(&[corners.to_vec()], pen);
        mark(canvas, style, corners, cell, piece.from_corner);
    }
    let outline = block.outline.iter().map(|&point| view.at(point)).collect();
    canvas.rings(&[outline], Pen { fill: "none", stroke: &style.ink, width: style.outline });
}

/// The corners of a place, anticlockwise from the lower left.
fn corners(cell: &CellPlan) -> [Point; 4] {
    let CellPlan { x, y, width, height, .. } = *cell;
    [(x, y), (x + width, y), (x + width, y + height), (x, y + height)].map(|(x, y)| Point::new(x, y))
}

/// Shows where a piece is begun and which way it grows: a leaf from its corner, or an arrow from its edge.
fn mark(canvas: &mut Canvas, style: &Style, corners: [Point; 4], cell: &CellPlan, from_corner: bool) {
    let turn = (cell.turn / 90) as usize;
    let [first, second, across] = [0, 1, 2].map(|place| corners[(place + turn) % 4]);
    let between = |from: Point, to: Point, share: f64| {
        Point::new(from.x + (to.x - from.x) * share, from.y + (to.y - from.y) * share)
    };
    if from_corner {
        leaf(canvas, style, between(first, across, 0.06), between(first, across, 0.4));
        return;
    }
    let foot = between(first, second, 0.5);
    let middle = between(first, across, 0.5);
    let (from, to) = (between(foot, middle, 0.3), between(foot, middle, 1.1));
    arrow(canvas, style, from, to);
}

/// A leaf between two points.
pub(super) fn leaf(canvas: &mut Canvas, style: &Style, from: Point, to: Point) {
    let (dx, dy) = (to.x - from.x, to.y - from.y);
    let side = |along: f64, out: f64| (from.x + dx * along - dy * out, from.y + dy * along + dx * out);
    let ((ax, ay), (bx, by)) = (side(0.45, 0.3), side(0.8, 0.16));
    let ((cx, cy), (ex, ey)) = (side(0.45, -0.3), side(0.8, -0.16));
    let d = format!(
        "M{:.2} {:.2}C{ax:.2} {ay:.2} {bx:.2} {by:.2} {:.2} {:.2}C{ex:.2} {ey:.2} {cx:.2} {cy:.2} {:.2} {:.2}Z\
         M{:.2} {:.2}L{:.2} {:.2}",
        from.x,
        from.y,
        to.x,
        to.y,
        from.x,
        from.y,
        from.x,
        from.y,
        from.x + dx * 0.75,
        from.y + dy * 0.75
    );
    canvas.path(&d, Pen { fill: "none", stroke: &style.accent, width: style.line });
}

/// An arrow between two points.
pub(super) fn arrow(canvas: &mut Canvas, style: &Style, from: Point, to: Point) {
    let long = from.distance(to).max(1e-9);
    let (dx, dy) = ((to.x - from.x) / long, (to.y - from.y) / long);
    let head = 5.0_f64.min(long * 0.4);
    let barb = |out: f64| (to.x - dx * head - dy * out, to.y - dy * head + dx * out);
    let ((ax, ay), (bx, by)) = (barb(head * 0.5), barb(-head * 0.5));
    let d = format!(
        "M{:.2} {:.2}L{:.2} {:.2}M{ax:.2} {ay:.2}L{:.2} {:.2}L{bx:.2} {by:.2}",
        from.x, from.y, to.x, to.y, to.x, to.y
    );
    canvas.path(&d, Pen { fill: "none", stroke: &style.accent, width: style.line });
}

fn draw_laid(canvas: &mut Canvas, style: &Style, view: View, piece: &PiecePlan, place: Point) {
    let pen = Pen { fill: tint(piece.colour.as_deref()), stroke: &style.ink, width: style.line };
    let middle = view.at(place);
    if piece.shape == "disc" {
        let radius = piece.width / 2.0 * view.scale;
        canvas.circle(middle, radius, pen);
        canvas.circle(middle, radius * 0.62, Pen { fill: "none", width: style.hair, ..pen });
        return;
    }
    let (half, up) = (piece.width / 2.0, piece.height / 2.0);
    let ring = [(-half, -up), (half, -up), (half, up), (-half, up)];
    let ring = ring.iter().map(|&(x, y)| view.at(Point::new(place.x + x, place.y + y)));
    canvas.rings(&[ring.collect()], pen);
}

/// The number of repeats along each side, in the band where there is room for words.
fn label_sides(canvas: &mut Canvas, style: &Style, view: View, edging: &EdgingOnPath) {
    let look = Look { size: style.small_font_size, fill: &style.ink, italic: false };
    if edging.depth * view.scale < style.small_font_size * 1.6 {
        return;
    }
    for (side, plan) in edging.plan.sides.iter().enumerate() {
        let (from, to) = (view.at(edging.path[side]), view.at(edging.path[(side + 1) % edging.path.len()]));
        let long = from.distance(to).max(1e-9);
        let words = format!("{} repeats", plan.repeats);
        if long < words.len() as f64 * look.size * 0.55 {
            continue;
        }
        let out = edging.depth * 0.58 * view.scale;
        let (ox, oy) = (-(to.y - from.y) / long, (to.x - from.x) / long);
        let middle = Point::new((from.x + to.x) / 2.0 + ox * out, (from.y + to.y) / 2.0 + oy * out);
        let turn = (to.y - from.y).atan2(to.x - from.x).to_degrees();
        let turn = if turn.abs() > 90.5 { turn + 180.0 } else { turn };
        let turn = if (turn - 90.0).abs() < 0.5 { -90.0 } else { turn };
        let (sine, cosine) = turn.to_radians().sin_cos();
        let by = look.size * 0.32;
        canvas.words(Point::new(middle.x - sine * by, middle.y + cosine * by), &words, look, turn);
    }
}

/// Width of a letter in its size, on the average, in slanted words.
const LETTER: f64 = 0.4;

/// Words in lines of this width.
fn broken(words: &str, size: f64, width: f64) -> Vec<String> {
    let most = (width / (size * LETTER)) as usize;
    let mut lines: Vec<String> = Vec::new();
    for word in words.split(' ') {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= most => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// What the marks mean.
fn legend(plan: &Plan) -> Vec<String> {
    let mut words = Vec::new();
    let in_block = |from_corner: bool| {
        let mut cells = plan.block.iter().flat_map(|block| &block.cells);
        cells.any(|cell| plan.pieces[cell.piece].from_corner == from_corner)
    };
    if in_block(true) {
        words.push("A leaf grows from the corner in which a piece is begun.".to_owned());
    }
    if in_block(false) {
        words.push("An arrow runs from the edge at which a piece is cast on.".to_owned());
    }
    if plan.pieces.len() > 1 {
        words.push("Below, each piece is drawn to a scale of its own.".to_owned());
    }
    let corners = plan.edging.iter().flat_map(|edging| edging.plan.corners.iter().flatten());
    let full = corners.map(|corner| corner.fullness).fold(0.0, f64::max);
    let how = plan.edging.as_ref().map(|edging| match edging.plan.treatment {
        Treatment::Eased => "held in",
        Treatment::Mitre => "worked as short rows",
        Treatment::Pleat => "folded into a pleat",
    });
    if let (Some(how), true) = (how, full > 0.0) {
        words.push(format!("Corners fall between two repeats; {} are {how} at each.", Length::cm(full)));
    }
    words
}

/// Width and height, of the work at the inner tier and with its edging at the outer one.
fn measures(canvas: &mut Canvas, style: &Style, view: View, inner: &[Point], all: &[Point], edged: bool) {
    let bounds = |points: &[Point]| {
        let fold = |of: fn(&Point) -> f64| {
            let values = points.iter().map(of);
            (values.clone().fold(f64::INFINITY, f64::min), values.fold(f64::NEG_INFINITY, f64::max))
        };
        (fold(|point| point.x), fold(|point| point.y))
    };
    let ((left, _), (low, _)) = bounds(all);
    let whole = extent(all);
    let mut tier = |points: &[Point], away: f64, outermost: bool| {
        let ((x0, x1), (y0, y1)) = bounds(points);
        // A side that is none, or that the outermost tier measures as well, needs no line.
        let shown = |length: f64, outer: f64| length > 0.1 && (outermost || outer - length > 0.1);
        if shown(x1 - x0, whole.0) {
            let [from, to] = [view.at(Point::new(x0, low)), view.at(Point::new(x1, low))];
            canvas.measure(from, to, away, Length::cm(x1 - x0));
        }
        if shown(y1 - y0, whole.1) {
            let [from, to] = [view.at(Point::new(left, y1)), view.at(Point::new(left, y0))];
            canvas.measure(from, to, away, Length::cm(y1 - y0));
        }
    };
    tier(inner, style.offset - 5.0, !edged);
    if edged {
        tier(all, 2.0 * style.offset - 5.0, true);
    }
}
