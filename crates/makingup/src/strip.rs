//! An edging as a strip: how long one repeat is, and how deep.
//!
//! ```text
//!   /\    /\    /\     outer edge, free
//!  /  \  /  \  /  \    depth: from the straight side to the outer edge, row by row
//! ───────────────────  straight side, sewn or knitted to the work
//! |  repeat  |
//! ```

use cloth::{Edge, Gauge, State, Vec3, Yarn};
use loops::{Piece, Side};

use crate::Problem;
use crate::flat::Fullness;
use crate::shape::Knitted;
use crate::turned::Turned;

/// An edging worked the short way.
#[derive(Clone, Debug, PartialEq)]
pub struct Strip {
    /// Rows of one repeat.
    pub rows: u32,
    /// Rows that are worked once, before the first repeat.
    pub once: u32,
    /// Length of one repeat along the straight side, in centimetres.
    pub repeat: f64,
    /// Mean depth at right angles to the straight side, in centimetres: what has to lie flat round a corner.
    pub depth: f64,
    /// Depth at the points, in centimetres.
    pub points: f64,
    /// How far the outer end of a row lies ahead of its end at the straight side, the way the edging is worked, in parts
    /// of the depth: openwork whose decreases all lean one way lies askew.
    pub slant: f64,
    /// The depth of each row of one repeat, in centimetres: the shape of its outer edge.
    pub profile: Vec<f64>,
    /// Stitches of the mean row.
    pub stitches: u32,
    /// Stitches on the needle between two repeats, where corners fall.
    pub at_corner: u32,
    /// The edge of the cloth that is the straight side.
    pub straight: Edge,
    /// The fullness with which its eased corners lie flat.
    pub full: Fullness,
    /// Its corners that were worked in the model; others are mitred and pleated as the plane has them.
    pub turned: Vec<Turned>,
    /// Yarn in one repeat, in metres; nothing where it is not known.
    pub yarn: f64,
}

/// Repeats that are knitted in the model; the outer ones are left out, because ends draw in.
const REPEATS: u32 = 4;
/// Rows that the shortest strip in the model has.
const ROWS: u32 = 40;
/// An edging of more rows to the repeat is knitted in the model this often only.
const FEWEST: u32 = 3;

impl Strip {
    /// An edging whose repeat and depth were measured.
    ///
    /// # Errors
    /// A [`Problem`] for measures that are none.
    pub fn measured(rows: u32, repeat: f64, depth: f64, stitches: u32) -> Result<Strip, Problem> {
        let sound = |value: f64| value.is_finite() && value > 0.0;
        if rows == 0 || stitches == 0 || !sound(repeat) || !sound(depth) {
            return Err(Problem::new(
                "the edging has no repeat or no depth",
                "knit three repeats, pin them out, and measure one along the straight side, and from there to the points",
            ));
        }
        Ok(Strip {
            rows,
            once: 0,
            repeat,
            depth,
            points: depth,
            slant: 0.0,
            profile: vec![depth; rows as usize],
            stitches,
            at_corner: stitches,
            straight: Edge::Left,
            full: Fullness::GEOMETRY,
            turned: Vec::new(),
            yarn: 0.0,
        })
    }

    /// An edging as the model of the cloth has it.
    ///
    /// # Errors
    /// A [`Problem`] when its rows do not repeat, or the cloth cannot be worked out.
    pub fn of(piece: &Piece, gauge: &Gauge) -> Result<Strip, Problem> {
        let repeat = piece.repeat();
        let rows = repeat.again as u32;
        let times = REPEATS.max(ROWS.div_ceil(rows.max(1))).min(FEWEST.max(400 / rows.max(1)));
        let long = piece.repeated(times).map_err(|error| {
            Problem::new(
                error.to_string(),
                "give the rows of one repeat, which ends with as many stitches as it begins with",
            )
        })?;
        // Sewn on, a strip does not curl.
        let cloth = Knitted::of(&long, gauge, State::Smoothed)?;
        let at = |node: u32| cloth.drape.positions[node as usize];
        let middle = repeat.rows(1)..repeat.rows(times as usize - 1);
        let chord = |edge: Edge| {
            let nodes = cloth.mesh.edge(0, edge);
            mean(middle.clone().filter_map(|row| {
                let (from, to) = (nodes.get(row)?, nodes.get(row + rows as usize)?);
                Some((at(*to) - at(*from)).norm())
            }))
        };
        let edges = [Edge::Left, Edge::Right].map(|edge| {
            let nodes: Vec<Vec3> = cloth.mesh.edge(0, edge).into_iter().map(at).collect();
            (roughness(&nodes), edge)
        });
        let straight = if edges[0].0 <= edges[1].0 { edges[0].1 } else { edges[1].1 };
        let nodes = cloth.mesh.edge(0, straight);
        let runs = match nodes.get(middle.clone()).unwrap_or(&nodes) {
            [first, .., last] => (at(*last) - at(*first)).unit(),
            _ => Vec3::new(0.0, 1.0, 0.0),
        };
        let rows_across = cloth.mesh.rows(0).iter().skip(middle.start + 1).take(middle.len());
        let across: Vec<Across> = rows_across
            .filter_map(|row| {
                let ends = [*row.first()?, *row.last()?].map(at);
                let out = if straight == Edge::Left { ends[1] - ends[0] } else { ends[0] - ends[1] };
                Some(Across::of(out, runs, row.len()))
            })
            .collect();
        let depths: Vec<f64> = across.iter().map(|row| row.depth).collect();
        let depth = mean(depths.iter().copied());
        let in_rows = Yarn::in_rows(&cloth.mesh, 0, gauge);
        let in_rows = in_rows.get(middle.start + 1..middle.end + 1).unwrap_or(&[]);
        let counts = loops::work(piece).rows.into_iter().skip(repeat.once).map(|row| f64::from(row.after));
        Ok(Strip {
            rows,
            once: repeat.once as u32,
            repeat: chord(straight) * gauge.width(),
            depth: depth * gauge.width(),
            points: depths.iter().copied().fold(0.0, f64::max) * gauge.width(),
            slant: mean(across.iter().map(|row| row.ahead)) / depth,
            profile: depths[..(rows as usize).min(depths.len())]
                .iter()
                .map(|depth| depth * gauge.width())
                .collect(),
            stitches: mean(counts).round() as u32,
            at_corner: stitches_before(&long, corner_after(&long, repeat.once, straight)),
            straight,
            full: Fullness::GEOMETRY,
            turned: Vec::new(),
            yarn: in_rows.iter().sum::<f64>() / f64::from(times - 2),
        })
    }

    /// Height of a row along the straight side, in centimetres.
    pub fn row(&self) -> f64 {
        self.repeat / f64::from(self.rows.max(1))
    }

    /// Width of a stitch, in centimetres.
    pub fn stitch(&self) -> f64 {
        self.depth / f64::from(self.stitches.max(1))
    }

    /// Depth between two repeats, where corners fall, in centimetres.
    pub fn depth_at_corner(&self) -> f64 {
        self.stitch() * f64::from(self.at_corner)
    }

    /// The corner of `turn` radians as it was worked in the model, if it was.
    pub fn turned(&self, turn: f64) -> Option<&Turned> {
        self.turned.iter().find(|tried| (tried.turn - turn).abs() < 1e-6)
    }
}

/// The side that faces in rows that are worked away from the outer edge.
pub(crate) fn outer_side(straight: Edge) -> Side {
    // Rows that show the right side run from the right edge to the left one.
    if straight == Edge::Left { Side::Right } else { Side::Wrong }
}

/// Rows before a corner that falls after so many: short rows begin at the outer edge, and it may take a row more to come
/// there.
pub(crate) fn corner_after(piece: &Piece, rows: usize, straight: Edge) -> usize {
    rows + usize::from(piece.rows.get(rows).is_some_and(|row| row.side != outer_side(straight)))
}

/// Stitches on the needle after so many rows.
pub(crate) fn stitches_before(piece: &Piece, rows: usize) -> u32 {
    let begun = Piece { rows: piece.rows[..rows].to_vec(), ..piece.clone() };
    loops::work(&begun).rows.last().map_or(piece.cast_on, |row| row.after)
}

/// One row from the straight side to the outer edge, in stitch widths.
struct Across {
    /// At right angles to the straight side, from edge to edge of the cloth.
    depth: f64,
    /// Along it, the way the strip is worked.
    ahead: f64,
}

impl Across {
    /// Of the way `out` from the middle of its first stitch to that of its last, along a side that runs so.
    fn of(out: Vec3, runs: Vec3, stitches: usize) -> Across {
        let ahead = out.dot(runs);
        let between = (out - runs * ahead).norm();
        if stitches < 2 {
            return Across { depth: 1.0, ahead: 0.0 };
        }
        // Half a stitch more at both ends.
        let edges = stitches as f64 / (stitches as f64 - 1.0);
        Across { depth: between * edges, ahead: ahead * edges }
    }
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0), |(sum, count), value| (sum + value, count + 1));
    sum / f64::from(count.max(1))
}

/// How much longer a line is than the straight way between its ends.
fn roughness(line: &[Vec3]) -> f64 {
    let (Some(&first), Some(&last)) = (line.first(), line.last()) else { return f64::INFINITY };
    let long: f64 = line.windows(2).map(|pair| (pair[1] - pair[0]).norm()).sum();
    long / (last - first).norm().max(1e-9)
}
