//! Whether an edging lies flat round a corner, asked of the model of the cloth.
//!
//! ```text
//!         outer edge, free
//!      .─────────────╮
//!      │ edging      │      its straight side is held along the path, as sewing does, with the fullness
//!      ├──────────┐  │      held in next to the corner; all else comes to rest
//!        work     │  │
//! ```
//!
//! The same strip along a straight path is the measure: an outer edge that is longer round the corner is stretched
//! there, one that is shorter is pressed together, and what leaves the plane ruffles or stands up as a cup.

use cloth::{Edge, Energy, Fabric, Gauge, Mesh, Pin, Preconditioner, Settings, Vec3, minimise};
use loops::Piece;

use crate::Problem;
use crate::corner::zone;
use crate::strip::Strip;

/// How an edging lies round a corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flatness {
    /// By how much the outer edge is stretched (above 0) or pressed together (below), as a part of its length.
    pub strain: f64,
    /// How much longer it is than its shadow on the table, beyond what it is along a straight side.
    pub ruffle: f64,
    /// How much deeper the edging is than its shadow, beyond what it is along a straight side: it stands up.
    pub cup: f64,
}

/// Strain, ruffle and cup with which a knitted edge still lies flat.
pub const FLAT: f64 = 0.02;

/// The fullness with which an eased corner lies flat, in parts of turn times depth.
///
/// Plane geometry asks for 1 at the outermost edge. Cloth is wider than a line and gives, openwork and points most:
/// knitters take half to two thirds for those (common practice), and the model of the cloth agrees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fullness {
    /// The least that lies flat.
    pub least: f64,
    /// What leaves the outer edge as long as it is along a straight side.
    pub best: f64,
    /// The most.
    pub most: f64,
    /// Strain, ruffle or cup that is left with the best, whichever is more; above [`FLAT`] no fullness lies flat.
    pub off: f64,
}

impl Fullness {
    /// What plane geometry asks for.
    pub const GEOMETRY: Fullness = Fullness { least: 0.95, best: 1.0, most: 1.05, off: 0.0 };
}

/// Looser than for sizes: strains of 2 % are asked for, and each corner is tried a dozen times.
const SETTLED: Settings =
    Settings { tolerance: 1e-3, step_limit: 400, memory: 6, preconditioner: Preconditioner::Multigrid };
/// How often an end that does not lie flat is brought nearer to the best.
const HALVINGS: usize = 3;
/// Depths of edging on each side of the corner that are knitted in the model.
const REACH: f64 = 2.0;
/// Shares of turn times depth that are tried for what lies flat; straight lines between them.
const TRIED: [f64; 6] = [0.3, 0.5, 0.7, 0.9, 1.1, 1.3];

impl Flatness {
    /// An edging that turns by `turn` radians with so many centimetres of `fullness` held in next to the corner.
    ///
    /// # Errors
    /// A [`Problem`] when the cloth cannot be worked out.
    pub fn of(piece: &Piece, gauge: &Gauge, turn: f64, fullness: f64) -> Result<Flatness, Problem> {
        Flatness::of_strip(piece, &Strip::of(piece, gauge)?, gauge, turn, fullness)
    }

    fn of_strip(
        piece: &Piece,
        strip: &Strip,
        gauge: &Gauge,
        turn: f64,
        fullness: f64,
    ) -> Result<Flatness, Problem> {
        let length = 2.0 * REACH * strip.depth + fullness;
        let times = ((length / strip.repeat).ceil() as u32).max(2);
        let refused = |why: String| Problem::new(why, "give the rows of one repeat of the edging");
        let long = piece.repeated(times).map_err(|error| refused(error.to_string()))?;
        let fabric = Fabric { rows_per_stitch: gauge.rows_per_stitch(), ..Fabric::default() };
        let mesh = Mesh::of(&long, &fabric).map_err(|error| refused(error.to_string()))?;
        let held = Held {
            mesh: &mesh,
            fabric: &fabric,
            strip,
            unit: gauge.width(),
            round_corner: strip.depth + fullness / 2.0,
        };
        let [straight, corner] =
            [(0.0, 0.0), (turn, fullness)].map(|(turn, fullness)| held.outer_edge(turn, fullness));
        Ok(Flatness {
            strain: corner.length / straight.length - 1.0,
            ruffle: corner.length / corner.shadow - straight.length / straight.shadow,
            cup: corner.depth / corner.depth_shadow - straight.depth / straight.depth_shadow,
        })
    }

    /// Whether none is above [`FLAT`].
    pub fn is_flat(&self) -> bool {
        self.off() <= FLAT
    }

    /// Strain, ruffle or cup, whichever is more.
    pub fn off(&self) -> f64 {
        self.strain.abs().max(self.ruffle).max(self.cup)
    }
}

impl Fullness {
    /// The fullness with which an edging lies flat round a corner of `turn` radians, in the model of the cloth.
    ///
    /// Where none lies flat, the flattest is given with what it is off by.
    ///
    /// # Errors
    /// A [`Problem`] when the cloth cannot be worked out.
    pub fn of(piece: &Piece, strip: &Strip, gauge: &Gauge, turn: f64) -> Result<Fullness, Problem> {
        let lies = |share: f64| Flatness::of_strip(piece, strip, gauge, turn, share * turn * strip.depth);
        let mut tried = Vec::with_capacity(TRIED.len());
        for share in TRIED {
            tried.push((share, lies(share)?));
        }
        // Strain falls with fullness, ruffle rises; a margin is left for what lies between those tried.
        let margin = 0.75 * FLAT;
        let crossing = |value: fn(&Flatness) -> f64, level: f64| {
            tried.windows(2).find_map(|pair| {
                let (from, to) = (value(&pair[0].1) - level, value(&pair[1].1) - level);
                (from * to <= 0.0 && from != to)
                    .then(|| pair[0].0 + (pair[1].0 - pair[0].0) * from / (from - to))
            })
        };
        let (first, last) = (TRIED[0], TRIED[TRIED.len() - 1]);
        let strain: fn(&Flatness) -> f64 = |flatness| flatness.strain;
        let least = crossing(strain, margin).unwrap_or(first);
        let ruffles = crossing(|flatness| flatness.ruffle, margin).unwrap_or(last);
        let most = crossing(strain, -margin).unwrap_or(last).min(ruffles);
        // Cloth may fold one way or another between the shares that were tried: what is found is tried itself.
        for share in [crossing(strain, 0.0), Some(f64::midpoint(least, most))].into_iter().flatten() {
            tried.push((share, lies(share)?));
        }
        let flattest = tried.iter().min_by(|(_, one), (_, other)| one.off().total_cmp(&other.off()));
        let Some(&(best, flatness)) = flattest else { return Ok(Fullness::GEOMETRY) };
        let off = flatness.off();
        if off > FLAT {
            return Ok(Fullness { least: best, best, most: best, off });
        }
        let towards = |mut end: f64| -> Result<f64, Problem> {
            for _ in 0..HALVINGS {
                if lies(end)?.is_flat() {
                    return Ok(end);
                }
                end = f64::midpoint(end, best);
            }
            Ok(best)
        };
        Ok(Fullness { least: towards(least.min(best))?, best, most: towards(most.max(best))?, off })
    }
}

struct Held<'a> {
    mesh: &'a Mesh,
    fabric: &'a Fabric,
    strip: &'a Strip,
    unit: f64,
    /// How far from the middle the outer edge is measured, in centimetres along the strip.
    round_corner: f64,
}

/// The outer edge between the ends of what the corner takes up, and its shadow.
struct OuterEdge {
    length: f64,
    shadow: f64,
    /// From the straight side to the outer edge, the sum of all rows, and its shadow.
    depth: f64,
    depth_shadow: f64,
}

impl Held<'_> {
    fn outer_edge(&self, turn: f64, fullness: f64) -> OuterEdge {
        let rows = self.mesh.rows(0);
        let row = self.strip.row() / self.unit;
        let (fullness, zone) = (fullness / self.unit, zone(self.strip, f64::INFINITY) / self.unit);
        let middle = (rows.len() as f64 - 1.0) / 2.0;
        let left_is_straight = self.strip.straight == Edge::Left;
        let side = if left_is_straight { 1.0 } else { -1.0 };
        let mut start = self.mesh.start().to_vec();
        let mut pins = Vec::new();
        for (place, nodes) in rows.iter().enumerate() {
            let along = (place as f64 - middle) * row;
            let (foot, direction) = foot(along, turn, fullness, zone);
            for (index, &node) in nodes.iter().enumerate() {
                let place_out = if left_is_straight { index } else { nodes.len() - 1 - index };
                // Sewn on at its edge.
                let out = place_out as f64 + 0.5;
                let outwards = Vec3::new(direction.y, -direction.x, 0.0);
                let mut at = foot + outwards * out;
                at.x *= side;
                at.z = start[node as usize].z * 0.2 + 0.02 * (place as f64 * 1.3).sin();
                start[node as usize] = at;
                if place_out == 0 {
                    pins.push(Pin { node, at: Vec3 { z: 0.0, ..at } });
                }
            }
        }
        let energy = Energy::new(self.mesh, self.fabric, &pins);
        let rest = minimise(&energy, &start, &SETTLED);
        let here = rows.iter().enumerate();
        let here =
            here.filter(|(place, _)| ((*place as f64 - middle) * row).abs() <= self.round_corner / self.unit);
        let ends: Vec<[Vec3; 2]> = here
            .filter_map(|(_, nodes)| Some([*nodes.first()?, *nodes.last()?]))
            .map(|[first, last]| if left_is_straight { [first, last] } else { [last, first] })
            .map(|ends| ends.map(|node| rest.positions[node as usize]))
            .collect();
        let shadow = |step: Vec3| step.x.hypot(step.y);
        let steps = || ends.windows(2).map(|pair| pair[1][1] - pair[0][1]);
        let across = || ends.iter().map(|[foot, tip]| *tip - *foot);
        OuterEdge {
            length: steps().map(|step| step.norm()).sum(),
            shadow: steps().map(shadow).sum(),
            depth: across().map(|step| step.norm()).sum(),
            depth_shadow: across().map(shadow).sum(),
        }
    }
}

/// Where the straight side of a row is held, and which way the path runs there; the corner is at the origin.
fn foot(along: f64, turn: f64, fullness: f64, zone: f64) -> (Vec3, Vec3) {
    let taken = zone + fullness / 2.0;
    let on_path =
        if along.abs() <= taken { along * zone / taken } else { along - fullness / 2.0 * along.signum() };
    let direction = |angle: f64| Vec3::new(-angle.sin(), angle.cos(), 0.0);
    let runs = if on_path <= 0.0 { direction(0.0) } else { direction(turn) };
    // Before it rests, the strip fans out evenly over what is taken up.
    let share = ((along / taken).clamp(-1.0, 1.0) + 1.0) / 2.0;
    (runs * on_path, direction(turn * share))
}
