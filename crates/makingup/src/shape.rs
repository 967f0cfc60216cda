//! The shape of a piece: from its measures, from a gauge, or from the model of the cloth.
//!
//! ```text
//!          2 top            corner 0 is where the piece was cast on, at the left;
//!       3────────2          sides follow anticlockwise, side 0 beginning in corner 0.
//! 3 left│        │1 right   A square begun in its corner has it as corner 0.
//!       0────────1
//!        0 bottom
//! ```

use cloth::{Drape, Fabric, Gauge, Measures, Mesh, Settings, State};
use loops::{Piece, Worked};

use crate::path::{area, extent, simplified};
use crate::{Length, Point, Problem};

/// The shape of a finished piece.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    /// What it looks like on a table.
    pub outline: Outline,
    /// Its sides in order; none of a disc.
    pub sides: Vec<Side>,
    /// Whether it was begun in a corner and ends in the one across.
    pub from_corner: bool,
    /// Relative standard error of the lengths.
    pub error: f64,
}

/// What a piece looks like on a table.
#[derive(Clone, Debug, PartialEq)]
pub enum Outline {
    /// A polygon, anticlockwise from corner 0.
    Polygon(Vec<Point>),
    /// A round that closes in the middle.
    Disc {
        /// As it lies on a table, flat or pressed flat.
        diameter: f64,
        /// By how much it is longer from rim to middle than a flat round of its rim, in parts: above 0 it stands up in
        /// the middle, below 0 its rim waves.
        rise: f64,
    },
    /// A tube, laid flat: half its round, and its height.
    Tube(f64, f64),
}

/// One side of a piece.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Side {
    /// In centimetres.
    pub length: f64,
    /// What it is made of.
    pub along: Along,
}

/// What a side is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Along {
    /// So many stitches side by side.
    Stitches(u32),
    /// The ends of so many rows.
    Rows(u32),
    /// Neither: it slants, by this many rows.
    Slant(u32),
}

/// Where a size comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sizing {
    /// She measured it, or wants it so.
    Given(Length, Length),
    /// Stitches and rows at the gauge.
    Gauge,
    /// The model of the cloth.
    Cloth,
}

/// How far an outline may bend before it has one more corner, as a part of its size.
const BEND: f64 = 0.06;
/// An end of at most this part of the widest row is a corner.
const TIP: f64 = 0.25;
/// Counts within this part of each other make a rectangle.
const EVEN: f64 = 0.1;
/// What a ruler on soft cloth errs by.
const MEASURED: f64 = 0.02;

impl Shape {
    /// The shape of a piece.
    ///
    /// # Errors
    /// A [`Problem`] when it has no rows, or the cloth cannot be worked out.
    pub fn of(piece: &Piece, gauge: &Gauge, sizing: Sizing) -> Result<Shape, Problem> {
        let knitted =
            (sizing == Sizing::Cloth).then(|| Knitted::of(piece, gauge, State::Free)).transpose()?;
        Shape::with(piece, gauge, sizing, knitted.as_ref())
    }

    /// The shape of a piece whose cloth is at hand; at the gauge alone where it is not.
    pub(crate) fn with(
        piece: &Piece,
        gauge: &Gauge,
        sizing: Sizing,
        knitted: Option<&Knitted>,
    ) -> Result<Shape, Problem> {
        let counts = Counts::of(piece)?;
        match sizing {
            Sizing::Given(width, height) => {
                Ok(counts.in_frame(&counts.planned(gauge), width.in_cm(), height.in_cm()))
            }
            Sizing::Gauge => Ok(counts.planned(gauge)),
            Sizing::Cloth => {
                Ok(knitted.map_or_else(|| counts.planned(gauge), |cloth| counts.draped(cloth, gauge)))
            }
        }
    }

    /// Width and height of what it looks like.
    pub fn extent(&self) -> (f64, f64) {
        match &self.outline {
            Outline::Polygon(points) => extent(points),
            Outline::Disc { diameter, .. } => (*diameter, *diameter),
            Outline::Tube(half, height) => (*half, *height),
        }
    }

    /// The name of a side.
    pub fn side_name(&self, side: usize) -> String {
        match (self.sides.len(), side) {
            (4, 0..4) => ["bottom", "right", "top", "left"][side].to_owned(),
            _ => format!("side {}", side + 1),
        }
    }

    /// The side of a name.
    pub fn side_named(&self, name: &str) -> Option<usize> {
        (0..self.sides.len()).find(|&side| self.side_name(side) == name.trim())
    }
}

/// The stitches of a piece, row by row.
struct Counts {
    worked: Worked,
    cast_on: u32,
    rows: Vec<u32>,
}

impl Counts {
    fn of(piece: &Piece) -> Result<Counts, Problem> {
        let rows: Vec<u32> = loops::work(piece).rows.iter().map(|row| row.after).collect();
        let cast_on = if piece.cast_on == 0 { rows.first().copied().unwrap_or(0) } else { piece.cast_on };
        if rows.is_empty() || cast_on == 0 {
            return Err(Problem::new(
                "it has no rows to measure",
                "give the part of the pattern that holds its rows",
            ));
        }
        Ok(Counts { worked: piece.worked, cast_on, rows })
    }

    fn widest(&self) -> u32 {
        self.rows.iter().copied().chain([self.cast_on]).max().unwrap_or(0)
    }

    fn last(&self) -> u32 {
        self.rows.last().copied().unwrap_or(0)
    }

    /// Whether the counts stay as they are.
    fn even(&self) -> bool {
        let least = self.rows.iter().copied().chain([self.cast_on]).min().unwrap_or(0);
        f64::from(self.widest() - least) <= EVEN * f64::from(self.widest())
    }

    /// The middle of the widest rows of a flat piece that begins and ends in a corner, such as a square knitted from
    /// corner to corner. Stitches that come and go within it, as those of a leaf do, make no corners.
    fn widest_row_from_corner_to_corner(&self) -> Option<usize> {
        let widest = self.widest();
        let narrow = |count: u32| f64::from(count) <= f64::from(widest) * TIP;
        let wide: Vec<usize> = (0..self.rows.len()).filter(|&row| self.rows[row] == widest).collect();
        let tip_to_tip = narrow(self.cast_on) && narrow(self.last()) && wide.len() * 3 < self.rows.len();
        let middle = wide.first().zip(wide.last()).map(|(first, last)| usize::midpoint(*first, *last) + 1);
        middle.filter(|_| tip_to_tip && self.worked == Worked::Flat)
    }

    /// Whether a round is drawn together at one end, so that it lies flat or makes a crown.
    fn closes(&self) -> bool {
        let (few, many) = (self.last().min(self.cast_on), self.widest());
        f64::from(few) < f64::from(many) / 3.0
    }

    /// Stitches over stitches, rows over rows.
    fn planned(&self, gauge: &Gauge) -> Shape {
        let height = self.rows.len() as f64 * gauge.height();
        let width = |stitches: u32| f64::from(stitches) * gauge.width();
        if self.worked == Worked::Round {
            return self.round(width(self.widest()), height, gauge.error());
        }
        if let Some(widest) = self.widest_row_from_corner_to_corner() {
            let (half, y) = (width(self.widest()) / 2.0, widest as f64 * gauge.height());
            let ring = [(0.0, 0.0), (half, y), (0.0, height), (-half, y)];
            return self.polygon(ring.map(|(x, y)| Point::new(x, y)).to_vec(), gauge.error());
        }
        let mut profile = vec![(width(self.cast_on) / 2.0, 0.0)];
        let rows = self.rows.iter().enumerate();
        profile.extend(rows.map(|(row, &count)| (width(count) / 2.0, (row + 1) as f64 * gauge.height())));
        let left = profile.iter().rev().map(|&(half, y)| Point::new(-half, y));
        let mut ring = vec![Point::new(-profile[0].0, 0.0)];
        ring.extend(profile.iter().map(|&(half, y)| Point::new(half, y)));
        ring.extend(left.take(profile.len() - 1));
        let (across, up) = extent(&ring);
        let corners = simplified(&ring, BEND * across.hypot(up));
        self.polygon(corners.iter().map(|&place| ring[place]).collect(), gauge.error())
    }

    /// A shape stretched to a width and height.
    fn in_frame(&self, shape: &Shape, width: f64, height: f64) -> Shape {
        match &shape.outline {
            // The measures of a square knitted from corner to corner are those of its sides.
            Outline::Polygon(_) if self.widest_row_from_corner_to_corner().is_some() => {
                let ring = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)];
                self.polygon(ring.map(|(x, y)| Point::new(x, y)).to_vec(), MEASURED)
            }
            Outline::Polygon(points) => {
                let (across, up) = extent(points);
                let ring =
                    points.iter().map(|point| Point::new(point.x * width / across, point.y * height / up));
                self.polygon(ring.collect(), MEASURED)
            }
            Outline::Disc { rise, .. } => Shape {
                outline: Outline::Disc { diameter: width, rise: *rise },
                sides: Vec::new(),
                from_corner: false,
                error: MEASURED,
            },
            Outline::Tube(..) => self.tube(width, height, MEASURED),
        }
    }

    /// The shape that the cloth comes to rest in.
    fn draped(&self, cloth: &Knitted, gauge: &Gauge) -> Shape {
        let measures = &cloth.measures;
        let (width, height) = (measures.width.value, measures.height.value);
        let error = measures.width.error / width.max(1e-9);
        if self.worked == Worked::Round {
            let rim = measures.edges[usize::from(self.cast_on < self.last())];
            let round = if self.closes() { rim.map_or(width, |rim| rim.value) } else { width };
            return self.round(round, height, error);
        }
        // The outline by counts, made as wide and as high as the cloth has come to rest; it is pinned out flat later.
        let across = measures.draw_in;
        let up = height / (self.rows.len() as f64 * gauge.height());
        let planned = self.planned(gauge);
        let Outline::Polygon(ring) = planned.outline else { return planned };
        let ring = ring.iter().map(|point| Point::new(point.x * across, point.y * up));
        self.polygon(ring.collect(), error)
    }

    fn round(&self, round: f64, height: f64, error: f64) -> Shape {
        if self.closes() {
            // Flat when the radius is as long as the rim asks; else the smaller of both, as it lies on a table.
            let flat = round / std::f64::consts::PI;
            let rise = if flat > 0.0 { 2.0 * height / flat - 1.0 } else { 0.0 };
            let outline = Outline::Disc { diameter: flat.min(2.0 * height), rise };
            return Shape { outline, sides: Vec::new(), from_corner: false, error };
        }
        self.tube(round / 2.0, height, error)
    }

    fn tube(&self, half: f64, height: f64, error: f64) -> Shape {
        let side = |count| Side { length: 2.0 * half, along: Along::Stitches(count) };
        Shape {
            outline: Outline::Tube(half, height),
            sides: vec![side(self.cast_on), side(self.last())],
            from_corner: false,
            error,
        }
    }

    fn polygon(&self, ring: Vec<Point>, error: f64) -> Shape {
        debug_assert!(area(&ring) > 0.0);
        let count = ring.len();
        let rows = self.rows.len() as u32;
        let tall = extent(&ring).1.max(1e-9);
        let from_corner = self.widest_row_from_corner_to_corner().is_some();
        let sides = (0..count).map(|place| {
            let (from, to) = (ring[place], ring[(place + 1) % count]);
            let share = ((to.y - from.y) / tall).abs();
            let along = match (count == 4 && self.even(), place) {
                (true, 0) => Along::Stitches(self.cast_on),
                (true, 2) => Along::Stitches(self.last()),
                (true, _) => Along::Rows(rows),
                (false, _) if from_corner => Along::Slant(rows / 2),
                (false, 0) if share < 0.1 => Along::Stitches(self.cast_on),
                (false, _) if share < 0.1 => Along::Stitches(self.last()),
                (false, _) => Along::Slant((share * f64::from(rows)).round() as u32),
            };
            Side { length: from.distance(to), along }
        });
        Shape { sides: sides.collect(), outline: Outline::Polygon(ring), from_corner, error }
    }
}

/// A piece in the model of the cloth.
pub(crate) struct Knitted {
    pub(crate) mesh: Mesh,
    pub(crate) drape: Drape,
    pub(crate) measures: Measures,
}

impl Knitted {
    pub(crate) fn of(piece: &Piece, gauge: &Gauge, state: State) -> Result<Knitted, Problem> {
        let refused = |why: String| Problem::new(why, "give its size in the plan, as width and height");
        let fabric = Fabric { rows_per_stitch: gauge.rows_per_stitch(), ..Fabric::default() };
        let mesh = Mesh::of(piece, &fabric).map_err(|error| refused(error.to_string()))?;
        let drape = Drape::of(&mesh, &fabric, state, &Settings::default());
        let drape = drape.map_err(|error| refused(error.to_string()))?;
        let measures = Measures::of(&mesh, &drape, 0, gauge);
        let measures = measures.ok_or_else(|| refused("there is nothing to measure".to_owned()))?;
        Ok(Knitted { mesh, drape, measures })
    }
}
