//! What the cloth measures.
//!
//! A ruler laid on cloth bridges its ribs and ridges; so the lines along which lengths are taken are smoothed
//! over a few stitches first. Each length counts half a stitch beyond the middle of the stitches at its ends.

use std::ops::Range;

use crate::mesh::{DOWN, RIGHT, UP};
use crate::outline::{Corner, corners};
use crate::overlap::overlap;
use crate::{Drape, Edge, End, Gauge, Mesh, Vec3};

/// A length, an angle or an area with its error: two times in three the true value lies within.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The value.
    pub value: f64,
    /// The standard error, in the same unit.
    pub error: f64,
}

/// Everything measured on one piece, in centimetres.
#[derive(Clone, Debug, PartialEq)]
pub struct Measures {
    /// Along the rows about half height; of a tube all round.
    pub width: Estimate,
    /// Up the columns from the cast-on to the top, where the piece is wide.
    pub height: Estimate,
    /// From rim to rim through the middle, of a piece in rounds that lies on a table.
    pub across: Option<Estimate>,
    /// Along the cast-on, the top, the left and the right edge; of a tube none at its sides.
    pub edges: [Option<Estimate>; 4],
    /// Of the surface, in square centimetres, ribs and ridges smoothed by nothing.
    pub area: Estimate,
    /// Corners of the outline, from the lowest anticlockwise.
    pub corners: Vec<Corner>,
    /// Root mean square distance of the cloth from the plane it lies in; none for a tube.
    pub relief: Option<Estimate>,
    /// The share of it that lies over itself, seen from above: some hundredths where edges curl or cables cross, up to a
    /// half in a ruffle, where the cloth has passed through itself; none for a tube.
    pub overlap: Option<f64>,
    /// Width of a row in plain stitches of the same loop length: 0.7 means drawn in by 30 %.
    pub draw_in: f64,
    /// Root mean square of the relative stretch between neighbours: how unevenly the stitches are strained.
    pub unevenness: f64,
}

/// Spread of the model for stitches other than plain ones: the published first guesses span about this.
const STITCH_SPREAD: f64 = 0.08;

/// Added where the solver stopped before the shape had settled.
const UNSETTLED: f64 = 0.03;

/// Passes of smoothing along a line; eight even out what repeats within eight stitches.
const PASSES: usize = 8;

/// The most columns in a bundle along which the height is taken; cables repeat within about so many.
const BUNDLE: usize = 16;

/// Rows about half height over which the width is averaged: crossings draw single rows in that a ruler bridges.
const BAND: usize = 8;

impl Measures {
    /// Measures one piece of a relaxed mesh.
    ///
    /// `part` is the place of the piece among those joined, 0 for a piece of its own; `None` when there is no
    /// such piece.
    pub fn of(mesh: &Mesh, drape: &Drape, part: usize, gauge: &Gauge) -> Option<Measures> {
        let piece = mesh.parts.get(part)?;
        let x = &drape.positions;
        let spread = spread(mesh, part, drape, gauge);
        let length =
            |value: f64| Estimate { value: value * gauge.width(), error: value * gauge.width() * spread };
        let (width, plain) = width(mesh, x, &piece.rows);
        let area = area(mesh, x, part) * gauge.width() * gauge.width();
        Some(Measures {
            width: length(width),
            height: length(height(mesh, x, part)),
            across: (piece.lies && is_tube(mesh, part)).then(|| length(across(mesh, x, &piece.rows))),
            edges: edges(mesh, x, part).map(|edge| edge.map(length)),
            area: Estimate { value: area, error: 2.0 * area * spread },
            corners: if is_tube(mesh, part) { Vec::new() } else { corners(mesh, x, part) },
            relief: piece.lies.then(|| length(relief(&x[piece.nodes()]))),
            overlap: piece.lies.then(|| overlap(mesh, x, piece)),
            draw_in: width / plain,
            unevenness: unevenness(mesh, x, piece.nodes()),
        })
    }
}

/// The relative error of a length.
fn spread(mesh: &Mesh, part: usize, drape: &Drape, gauge: &Gauge) -> f64 {
    let piece = &mesh.parts[part];
    let own = &mesh.stitches[piece.nodes()];
    let folds = &mesh.folds[piece.nodes()];
    // A stitch among its like is as sure as the gauge is; one that folds or leans is as sure as the model.
    let plain = own.iter().zip(folds).filter(|(patch, fold)| {
        patch.face != 0 && patch.layer == 0 && fold.course.abs() < 0.6 && fold.wale.abs() < 0.6
    });
    let other = 1.0 - plain.count() as f64 / own.len().max(1) as f64;
    let solver = if drape.end == End::Settled { 0.005 } else { UNSETTLED };
    (gauge.error().powi(2) + (STITCH_SPREAD * other).powi(2) + f64::powi(solver, 2)).sqrt()
}

fn is_tube(mesh: &Mesh, part: usize) -> bool {
    let rows = &mesh.parts[part].rows;
    rows[rows.len() / 2].iter().any(|&node| mesh.stitches[node as usize].closed)
}

/// The length along a row: between the outer edges of its end stitches, or all round.
pub(crate) fn row_length(mesh: &Mesh, x: &[Vec3], row: &[u32]) -> f64 {
    let (Some(&first), Some(&last)) = (row.first(), row.last()) else { return 0.0 };
    let closed = mesh.neighbour(last as usize, RIGHT) == Some(first as usize) && row.len() > 2;
    let points: Vec<Vec3> = row.iter().map(|&node| x[node as usize]).collect();
    let ends = if closed {
        0.0
    } else {
        (mesh.stitches[first as usize].width + mesh.stitches[last as usize].width) / 2.0
    };
    let along = smoothed_length(&points, closed);
    // Half a stitch at each end is drawn in as much as those between.
    let whole = (points.len() - 1) as f64;
    let drawn_in = if whole > 0.0 { (along / whole).min(1.2) } else { 1.0 };
    along + ends * drawn_in
}

/// The mean length of the rows about half height, and the mean number of their stitches.
fn width(mesh: &Mesh, x: &[Vec3], rows: &[Vec<u32>]) -> (f64, f64) {
    let middle = rows.len() / 2;
    let band = &rows[middle.saturating_sub(BAND / 2)..(middle + BAND / 2).min(rows.len())];
    let count = band.len().max(1) as f64;
    let lengths: f64 = band.iter().map(|row| row_length(mesh, x, row)).sum();
    let stitches: f64 = band.iter().map(|row| row.len() as f64).sum();
    (lengths / count, stitches / count)
}

/// As many rows as are worked one above another, at the mean height that they have along three bundles of columns, or
/// those of them that go up about as far as the longest.
///
/// The bundles begin in a row that is about as wide as the piece, and go up and down from there: where a piece grows from
/// a few stitches at both ends, the columns that stand on those run along its edges, not up its middle. A ruler laid up
/// the cloth does not follow a column that winds through a cable; so each line runs up the middle of neighbouring columns.
fn height(mesh: &Mesh, x: &[Vec3], part: usize) -> f64 {
    let rows = &mesh.parts[part].rows;
    let levels = levels(mesh, rows);
    let widest = rows.iter().map(Vec::len).max().unwrap_or(0);
    let Some(wide) = rows.iter().find(|row| row.len() * 10 >= widest * 9) else { return 0.0 };
    // Of a round the bundle is narrow enough to be straight.
    let share = if wide.iter().any(|&node| mesh.stitches[node as usize].closed) { 8 } else { 4 };
    let breadth = (wide.len() / share).clamp(1, BUNDLE);
    let bundles = [1, 2, 3].iter().filter_map(|quarter| {
        let from = (wide.len() * quarter / 4).saturating_sub(breadth / 2);
        wide.get(from..(from + breadth).min(wide.len()))
    });
    let mut bundles: Vec<(f64, f64)> = bundles.map(|through| bundle(mesh, x, &levels, through)).collect();
    let longest = bundles.iter().fold(0.0, |longest, &(_, span)| f64::max(longest, span));
    bundles.retain(|&(_, span)| span >= longest * 0.9);
    let (length, span) = bundles.iter().fold((0.0, 0.0), |sum, one| (sum.0 + one.0, sum.1 + one.1));
    let worked = levels.iter().max().map_or(0.0, |&level| f64::from(level));
    // The last row is as high as those beneath it; the cast-on is an edge and adds no row of its own.
    if span > 0.0 { length / span * worked } else { mesh.stitches[wide[0] as usize].height }
}

/// How many rows lie beneath each node, at most: rows worked one after another beside each other count once.
fn levels(mesh: &Mesh, rows: &[Vec<u32>]) -> Vec<u32> {
    let mut levels = vec![0; mesh.len()];
    for row in rows {
        let beneath = row.iter().filter_map(|&node| mesh.neighbour(node as usize, DOWN));
        let level = beneath.map(|node| levels[node] + 1).max().unwrap_or(0);
        row.iter().for_each(|&node| levels[node as usize] = level);
    }
    levels
}

/// The length up the middle of the longest of the columns through these stitches, and the rows that it goes up.
fn bundle(mesh: &Mesh, x: &[Vec3], levels: &[u32], through: &[u32]) -> (f64, f64) {
    let column = |node: &u32| -> Vec<usize> {
        let along = |direction| {
            std::iter::successors(Some(*node as usize), move |&node| mesh.neighbour(node, direction))
        };
        let mut column: Vec<usize> = along(DOWN).collect();
        column.reverse();
        column.extend(along(UP).skip(1));
        column
    };
    let ends = |column: &[usize]| [column[0], column[column.len() - 1]].map(|node| levels[node]);
    let mut columns: Vec<Vec<usize>> = through.iter().map(column).collect();
    let Some(longest) = columns.iter().max_by_key(|column| column.len()).cloned() else { return (0.0, 0.0) };
    let [low, high] = ends(&longest);
    columns.retain(|column| column.len() == longest.len() && ends(column) == [low, high]);
    let middle = |row: usize| -> Vec3 {
        columns.iter().map(|column| x[column[row]]).sum::<Vec3>() * (1.0 / columns.len() as f64)
    };
    let line: Vec<Vec3> = (0..longest.len()).map(middle).collect();
    (smoothed_length(&line, false), f64::from(high.saturating_sub(low)))
}

/// Twice the mean distance of the outermost stitches from their middle, and half a stitch beyond on both sides.
fn across(mesh: &Mesh, x: &[Vec3], rows: &[Vec<u32>]) -> f64 {
    let reach = |row: &Vec<u32>| {
        let share = 1.0 / row.len() as f64;
        let middle = row.iter().map(|&node| x[node as usize]).sum::<Vec3>() * share;
        let far = row.iter().map(|&node| (x[node as usize] - middle).norm()).sum::<f64>() * share;
        2.0 * far + mesh.stitches[row[0] as usize].height
    };
    rows.first().into_iter().chain(rows.last()).map(reach).fold(0.0, f64::max)
}

fn edges(mesh: &Mesh, x: &[Vec3], part: usize) -> [Option<f64>; 4] {
    let side = |edge| {
        let nodes = mesh.edge(part, edge);
        let points: Vec<Vec3> = nodes.iter().map(|&node| x[node as usize]).collect();
        (!is_tube(mesh, part)).then(|| smoothed_length(&points, false))
    };
    [
        Some(row_length(mesh, x, &mesh.edge(part, Edge::CastOn))),
        Some(row_length(mesh, x, &mesh.edge(part, Edge::Top))),
        side(Edge::Left),
        side(Edge::Right),
    ]
}

/// The length of a line after smoothing; the ends of an open one stay.
pub(crate) fn smoothed_length(points: &[Vec3], closed: bool) -> f64 {
    let count = points.len();
    if count < 2 {
        return 0.0;
    }
    let mut line = points.to_vec();
    for _ in 0..PASSES {
        let before = line.clone();
        let at = |place: usize| before[place % count];
        let range = if closed { 0..count } else { 1..count - 1 };
        for place in range {
            line[place] = (at(place + count - 1) + at(place) * 2.0 + at(place + 1)) * 0.25;
        }
    }
    let open: f64 = line.windows(2).map(|pair| (pair[1] - pair[0]).norm()).sum();
    if closed { open + (line[0] - line[count - 1]).norm() } else { open }
}

fn area(mesh: &Mesh, x: &[Vec3], part: usize) -> f64 {
    let piece = &mesh.parts[part];
    let own = mesh.triangles.iter().filter(|corners| piece.nodes().contains(&(corners[0] as usize)));
    own.map(|&[a, b, c]| {
        let [a, b, c] = [a, b, c].map(|node| x[node as usize]);
        (b - a).cross(c - a).norm() / 2.0
    })
    .sum()
}

/// Root mean square distance from the mean height above the table.
fn relief(x: &[Vec3]) -> f64 {
    let mean = x.iter().map(|point| point.z).sum::<f64>() / x.len().max(1) as f64;
    root_mean_square(x.iter().map(|point| point.z - mean))
}

/// Root mean square of the relative stretch of the links to the right of these nodes and beneath them.
pub(crate) fn unevenness(mesh: &Mesh, x: &[Vec3], nodes: Range<usize>) -> f64 {
    let links = nodes.flat_map(|node| [RIGHT, DOWN].map(|direction| mesh.main[node][direction]));
    root_mean_square(links.filter_map(|link| mesh.links.get(link as usize)).map(|link| {
        let length = (x[link.to as usize] - x[link.from as usize]).norm();
        length / link.rest - 1.0
    }))
}

/// The root of the mean square; of nothing it is zero.
pub(crate) fn root_mean_square(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0.0), |(sum, count), value| (sum + value * value, count + 1.0));
    f64::sqrt(sum / f64::max(count, 1.0))
}
