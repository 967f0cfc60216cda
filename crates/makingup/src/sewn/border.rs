//! An edging sewn round a block, its corners eased.
//!
//! ```text
//!    taken         taken        along a side the rows lie as the plan has them; next to a corner the fullness is
//!   ├─────┼───────┼─────┤       held in, and there the edging fans out before it comes to rest
//!   corner   side   corner
//! ```

use cloth::{Edge, Fabric, Gauge, Mesh, Seam, Vec3};
use loops::Piece;

use super::APART;
use crate::Problem;
use crate::corner::{Treatment, zone};
use crate::plan::EdgingOnPath;
use crate::strip::Strip;

/// Why an edging is not shown.
pub(super) const LEFT_OUT: &str =
    "the edging: only one with eased corners round a block without empty places is drawn";

/// A stitch on the outer edge of the block.
pub(super) struct Rim {
    /// The piece on the table.
    pub(super) place: usize,
    /// Its stitch.
    pub(super) node: u32,
    /// Where that lies.
    pub(super) at: Vec3,
}

/// An edging that runs round a block.
pub(super) struct Run<'a> {
    pub(super) edging: &'a EdgingOnPath,
    pub(super) strip: &'a Strip,
    pub(super) piece: &'a Piece,
    pub(super) gauge: Gauge,
}

/// One side of the block in the direction in which the edging runs.
struct Way<'a> {
    rim: Vec<&'a Rim>,
    /// Rows of the edging along it.
    rows: f64,
    /// What is held in at its beginning and at its end, in stitch widths.
    fullness: [f64; 2],
}

/// Where one row of the edging is sewn on.
struct Foot<'a> {
    rim: &'a Rim,
    /// The way out from there.
    outwards: Vec3,
}

impl Run<'_> {
    /// Whether this kind is drawn.
    pub(super) fn is_shown(&self) -> bool {
        self.edging.plan.treatment == Treatment::Eased && self.edging.path.len() == 4
    }

    /// The edging laid round the sides of a block, anticlockwise from the bottom, as the piece at `place`, and its
    /// seams.
    pub(super) fn round(
        &self,
        sides: &[Vec<Rim>; 4],
        place: usize,
        fabric: &Fabric,
    ) -> Result<(Mesh, Vec<Seam>), Problem> {
        let refused = |why: String| Problem::new(why, "give the rows of one repeat of the edging");
        let long = self.piece.repeated(self.edging.plan.repeats.max(1));
        let long = long.map_err(|error| refused(error.to_string()))?;
        let mesh = Mesh::of(&long, fabric).map_err(|error| refused(error.to_string()))?;
        let ways = self.ways(sides);
        let all: f64 = ways.iter().map(|way| way.rows).sum();
        let rows = mesh.rows(0);
        let mut start = mesh.start().to_vec();
        let mut seams: Vec<Seam> = Vec::new();
        for (number, row) in rows.iter().enumerate() {
            let Some(foot) = self.foot(&ways, (number as f64 + 0.5) * all / rows.len() as f64) else {
                continue;
            };
            let outwards = row.iter().enumerate().map(|(index, &node)| match self.strip.straight {
                Edge::Left => (index, node),
                _ => (row.len() - 1 - index, node),
            });
            for (index, node) in outwards {
                let z = start[node as usize].z;
                start[node as usize] = foot.rim.at + foot.outwards * (APART + index as f64);
                start[node as usize].z = z;
                if index == 0 {
                    sew(&mut seams, place, node, foot.rim);
                }
            }
        }
        if let [first, .., last] = rows {
            seams.push(Seam { one: (place, last.clone()), other: (place, first.clone()) });
        }
        Ok((mesh.starting(start), seams))
    }

    /// The sides as the edging meets them: anticlockwise where its straight side is at the left, else the other way.
    fn ways<'a>(&self, sides: &'a [Vec<Rim>; 4]) -> Vec<Way<'a>> {
        let plan = &self.edging.plan;
        let held = |corner: usize| {
            plan.corners[corner % 4].as_ref().map_or(0.0, |corner| corner.fullness / self.gauge.width())
        };
        let mut ways: Vec<Way> = (0..4)
            .map(|side| Way {
                rim: sides[self.facing(side)].iter().collect(),
                rows: f64::from(plan.sides[side].repeats * self.strip.rows),
                fullness: [held(side), held(side + 1)],
            })
            .collect();
        if self.strip.straight != Edge::Left {
            ways.reverse();
            for way in &mut ways {
                way.rim.reverse();
                way.fullness.reverse();
            }
        }
        ways
    }

    /// Which side of the block a side of the path is: bottom 0, right 1, top 2, left 3.
    fn facing(&self, side: usize) -> usize {
        let (from, to) = (self.edging.path[side], self.edging.path[(side + 1) % 4]);
        let (x, y) = (to.x - from.x, to.y - from.y);
        match x.abs() > y.abs() {
            true if x > 0.0 => 0,
            true => 2,
            false if y > 0.0 => 1,
            false => 3,
        }
    }

    /// Where a row is sewn on, so many rows from the beginning.
    fn foot<'a>(&self, ways: &[Way<'a>], rows: f64) -> Option<Foot<'a>> {
        let row = self.strip.row() / self.gauge.width();
        let mut left = rows;
        let way = ways.iter().find(|way| {
            let here = left < way.rows;
            left -= if here { 0.0 } else { way.rows };
            here
        })?;
        let (first, last) = (way.rim.first()?, way.rim.last()?);
        let along = (last.at - first.at).unit();
        let (length, here) = (way.rows * row, left * row);
        let zone = zone(self.strip, f64::INFINITY) / self.gauge.width();
        let held = way.fullness.map(|fullness| fullness / 2.0);
        let taken = held.map(|held| zone + held);
        let on_side = if here < taken[0] {
            here * zone / taken[0]
        } else if length - here < taken[1] {
            length - held[0] - held[1] - (length - here) * zone / taken[1]
        } else {
            here - held[0]
        };
        let share = on_side / (length - held[0] - held[1]);
        let rim = way.rim[((share * way.rim.len() as f64) as usize).min(way.rim.len() - 1)];
        // A quarter turn is shared by the two sides of a corner.
        let fan = |far: f64, taken: f64| (1.0 - far / taken).max(0.0) * std::f64::consts::FRAC_PI_4;
        let turn = fan(length - here, taken[1]) - fan(here, taken[0]);
        let side = if self.strip.straight == Edge::Left { 1.0 } else { -1.0 };
        let out = Vec3::new(along.y, -along.x, 0.0) * side;
        let (sin, cos) = (turn * side).sin_cos();
        Some(Foot { rim, outwards: Vec3::new(cos * out.x - sin * out.y, sin * out.x + cos * out.y, 0.0) })
    }
}

fn sew(seams: &mut Vec<Seam>, place: usize, node: u32, rim: &Rim) {
    match seams.last_mut() {
        Some(seam) if seam.other.0 == rim.place => {
            seam.one.1.push(node);
            seam.other.1.push(rim.node);
        }
        _ => seams.push(Seam { one: (place, vec![node]), other: (rim.place, vec![rim.node]) }),
    }
}
