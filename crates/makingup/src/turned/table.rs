//! The table on which a corner is tried: an edging sewn on along a path with one corner, and how its outer edge lies.
//!
//! The edging is held at its straight side, half a stitch from the middles of its first stitches, starts laid out as it
//! is meant to lie, and is pressed where it would curl or hang open. Both its ends are held as well, because it goes on
//! there: left free, ends fan out wherever the outer edge would be longer by itself, and what was taken for a straight
//! edge was up to 5 % longer than that of a long one. The outer edge is measured from ridge to ridge, that is over two
//! rows, as a tape lies along it, and held against that of the same rows worked full along a straight path.

use std::ops::Range;

use cloth::{Edge, Energy, Fabric, Gauge, Mesh, Pin, Preconditioner, Settings, Vec3, minimise};
use loops::Piece;

use super::rows::{Cornered, repeated};
use crate::corner::ShortRows;
use crate::{FLAT, Flatness, Problem, Strip};

/// How firmly pressed cloth is held to the table; see [`cloth::Fabric::bed`]. What lies flat by itself is not pressed.
const PRESSED: f64 = 0.1;

/// Stitches at the outer edge over which a pleat is laid open before it is pressed: folded up to the edge, its point
/// stood out as an ear.
const LAID_OPEN: f64 = 4.0;

/// Rows on each side of a corner, for each stitch of the depth; the outer half only holds the ends away.
const REACH: u32 = 2;

/// As for eased corners, but that a pleat takes longer to open.
const SETTLED: Settings =
    Settings { tolerance: 1e-3, step_limit: 800, memory: 6, preconditioner: Preconditioner::Multigrid };

/// An edging, ready to be laid round corners.
pub(super) struct Table<'a> {
    piece: &'a Piece,
    strip: &'a Strip,
    fabric: Fabric,
    /// Height of a row and width of a stitch, in stitches of plain fabric.
    row: f64,
    stitch: f64,
    /// Repeats before and after the corner.
    repeats: u32,
    /// The edging with room for a mitre.
    cornered: Cornered,
}

/// Where a stitch starts from; the straight side is at the left of what runs upwards.
struct Put {
    at: Vec3,
    /// Held there, if it is one of the straight side.
    held: bool,
    /// With its right side up 1, turned over -1.
    face: f64,
}

/// The outer edge and the rows near a corner.
struct Lies {
    edge: f64,
    edge_shadow: f64,
    /// From the straight side to the outer edge, the sum of all full rows.
    depth: f64,
    depth_shadow: f64,
}

impl Lies {
    fn against(&self, straight: &Lies) -> Flatness {
        Flatness {
            strain: self.edge / straight.edge - 1.0,
            ruffle: self.edge / self.edge_shadow - straight.edge / straight.edge_shadow,
            cup: self.depth / self.depth_shadow - straight.depth / straight.depth_shadow,
        }
    }
}

fn along(angle: f64) -> Vec3 {
    Vec3::new(-angle.sin(), angle.cos(), 0.0)
}

/// Out of the work, where the path runs along `angle`.
fn outwards(angle: f64) -> Vec3 {
    Vec3::new(angle.cos(), angle.sin(), 0.0)
}

impl<'a> Table<'a> {
    pub(super) fn of(piece: &'a Piece, strip: &'a Strip, gauge: &Gauge) -> Result<Table<'a>, Problem> {
        let fabric = Fabric { rows_per_stitch: gauge.rows_per_stitch(), ..Fabric::default() };
        let (row, stitch) = (strip.row() / gauge.width(), strip.stitch() / gauge.width());
        let repeats = (REACH * strip.stitches).div_ceil(strip.rows.max(1)).max(1);
        let cornered = Cornered::of(piece, repeats, strip.straight)?;
        let mut table = Table { piece, strip, fabric, row, stitch, repeats, cornered };
        let straight = table.straight(0)?;
        let (curl, ripple) = (straight.depth / straight.depth_shadow, straight.edge / straight.edge_shadow);
        if curl.max(ripple) - 1.0 > FLAT {
            table.fabric.bed = PRESSED;
        }
        Ok(table)
    }

    /// Whether the short rows go on in pattern.
    pub(super) fn in_pattern(&self) -> bool {
        self.cornered.in_pattern
    }

    /// How a mitre of these short rows lies.
    pub(super) fn mitred(&self, short_rows: &ShortRows, turn: f64) -> Result<Flatness, Problem> {
        let cornered = &self.cornered;
        let pairs = short_rows.leaving.iter().chain(&short_rows.taking).copied();
        let (before, after) = (cornered.before, cornered.before + short_rows.rows() as usize);
        let point = before + 2 * short_rows.leaving.len();
        let is_full = |place: usize| place <= before || place > after;
        let short = |place: usize| (!is_full(place)).then_some(cornered.stitches);
        let piece = cornered.with_short_rows(pairs);
        let corner = self.lies(&piece, &self.fabric, &self.near(before, after), short, |place, out| {
            let (from, angle) = if place <= point { (before, 0.0) } else { (after, turn) };
            let way = (place as f64 - from as f64 - 0.5) * self.row;
            Put { at: self.on_side(angle, way, out), held: is_full(place), face: 1.0 }
        })?;
        Ok(corner.against(&self.straight(short_rows.rows() as usize / 2)?))
    }

    /// How the edging lies along a straight path, with so many pairs of full rows where a corner would have short ones.
    fn straight(&self, pairs: usize) -> Result<Lies, Problem> {
        let before = self.cornered.before;
        let near = self.near(before, before + 2 * pairs);
        self.lies(
            &self.cornered.with_full_rows(pairs),
            &self.fabric,
            &near,
            |_| None,
            |place, out| {
                let way = (place as f64 - before as f64 - 0.5) * self.row;
                Put { at: self.on_side(0.0, way, out), held: true, face: 1.0 }
            },
        )
    }

    /// How a pleat of so many repeats lies.
    ///
    /// The pleat is a dart: both ends of its root are joined to the corner, it is folded to the wrong side of one side
    /// of the path, narrows to nothing where it is laid open towards the outer edge, and is pressed. What lies wrong side
    /// up has been folded so.
    pub(super) fn pleated(&self, repeats: u32, turn: f64) -> Result<Flatness, Problem> {
        let piece = repeated(self.piece, 2 * self.repeats + repeats)?;
        let (from, to) = (self.repeats as usize, (self.repeats + repeats) as usize);
        let [before, after] = [from, to].map(|times| self.piece.repeat().rows(times));
        let middle = (before + after) as f64 / 2.0;
        let fullness = (after - before) as f64 * self.row;
        let fabric = Fabric { overturn: 0.0, bed: PRESSED, ..self.fabric };
        let near = self.near(before, after);
        let way = |place: usize| (place as f64 - middle) * self.row;
        let corner = self.lies(
            &piece,
            &fabric,
            &near,
            |_| None,
            |place, out| self.folded(way(place), out, fullness, turn),
        )?;
        let straight = self.lies(
            &piece,
            &fabric,
            &near,
            |_| None,
            |place, out| Put { at: self.on_side(0.0, way(place), out), held: true, face: 1.0 },
        )?;
        Ok(corner.against(&straight))
    }

    /// Where a stitch of a pleat is put, so far along the strip from its middle and so many stitches out.
    fn folded(&self, way: f64, out: f64, fullness: f64, turn: f64) -> Put {
        let reach = (f64::from(self.strip.stitches) - LAID_OPEN).max(1.0);
        let flat = self.on_side(0.0, way, out);
        let folded = fullness / 2.0 * (1.0 - out / reach).max(0.0);
        let angle = if flat.y < 0.0 { 0.0 } else { turn };
        if flat.y.abs() >= folded {
            let root = flat.y - fullness / 2.0 * flat.y.signum();
            let held = way.abs() >= fullness / 2.0;
            return Put { at: along(angle) * root + outwards(angle) * flat.x, held, face: 1.0 };
        }
        // Turned over about the line from the corner to the outer edge.
        let lying = along(0.0) * (fullness / 2.0 - flat.y.abs()) + outwards(0.0) * flat.x;
        let line = outwards(turn / 2.0);
        let over = line * (2.0 * lying.dot(line)) - lying;
        let (under, face) = if flat.y < 0.0 { (-0.5, -1.0) } else { (-1.0, 1.0) };
        Put { at: over + Vec3::new(0.0, 0.0, under), held: false, face }
    }

    /// The place in a strip that runs along `angle`, so far along from its corner and so many stitches out.
    fn on_side(&self, angle: f64, way: f64, out: f64) -> Vec3 {
        let out = out * self.stitch;
        outwards(angle) * out + along(angle) * (way + self.strip.slant * out)
    }

    /// The rows that are looked at: those of the corner, and as many on each side as the edging has stitches.
    fn near(&self, before: usize, after: usize) -> Range<usize> {
        let beside = self.strip.stitches as usize;
        before.saturating_sub(beside)..after + beside + 1
    }

    /// Lets a piece come to rest from where its stitches are put, those at the straight side held where they are said to
    /// be: `put` is told the row and how far out the stitch is. `short` tells of a row that leaves some unworked how many
    /// a full one would have.
    fn lies(
        &self,
        piece: &Piece,
        fabric: &Fabric,
        near: &Range<usize>,
        short: impl Fn(usize) -> Option<u32>,
        put: impl Fn(usize, f64) -> Put,
    ) -> Result<Lies, Problem> {
        let refused = |why: String| Problem::new(why, "give the rows of one repeat of the edging");
        let mesh = Mesh::of(piece, fabric).map_err(|error| refused(error.to_string()))?;
        let rows: Vec<Vec<u32>> =
            mesh.rows(0).iter().map(|row| self.outwards_from_straight_side(row)).collect();
        let side = if self.strip.straight == Edge::Left { 1.0 } else { -1.0 };
        let mut start = mesh.start().to_vec();
        let mut pins = Vec::new();
        let ends = [0, rows.len() - 1];
        for (place, nodes) in rows.iter().enumerate() {
            let left = short(place).map_or(0, |full| (full as usize).saturating_sub(nodes.len()));
            for (index, &node) in nodes.iter().enumerate() {
                let Put { mut at, held, face } = put(place, (left + index) as f64 + 0.5);
                at.x *= side;
                if (held && index == 0) || ends.contains(&place) {
                    pins.push(Pin { node, at });
                }
                at.z += face * start[node as usize].z * 0.2 + 0.02 * (place as f64 * 1.3).sin();
                start[node as usize] = at;
            }
        }
        let rest = minimise(&Energy::new(&mesh, fabric, &pins), &start, &SETTLED);
        let at = |node: u32| rest.positions[node as usize];
        let near = near.start.min(rows.len())..near.end.min(rows.len());
        let tips: Vec<Vec3> =
            rows[near.clone()].iter().filter_map(|nodes| Some(at(*nodes.last()?))).collect();
        let steps: Vec<Vec3> = tips.windows(3).map(|rows| rows[2] - rows[0]).collect();
        let full = near.filter(|&place| short(place).is_none());
        let across: Vec<Vec3> =
            full.filter_map(|place| Some(at(*rows[place].last()?) - at(*rows[place].first()?))).collect();
        let length = |of: &[Vec3]| of.iter().map(|step| step.norm()).sum::<f64>();
        let shadow = |of: &[Vec3]| of.iter().map(|step| step.x.hypot(step.y)).sum::<f64>();
        Ok(Lies {
            edge: length(&steps),
            edge_shadow: shadow(&steps),
            depth: length(&across),
            depth_shadow: shadow(&across),
        })
    }

    /// The stitches of a row from the straight side to the outer edge.
    fn outwards_from_straight_side(&self, row: &[u32]) -> Vec<u32> {
        let mut row = row.to_vec();
        if self.strip.straight != Edge::Left {
            row.reverse();
        }
        row
    }
}
