//! The pieces of a plan sewn together, as one cloth.
//!
//! Every piece comes to rest by itself first; then they are laid where the block has them, or beside each other where
//! only joins are told, sewn along the edges that meet, and come to rest once more. Pieces laid over the block lie a
//! thickness of cloth above it, hemmed down along their rims; the edging runs round it. Knows nothing of how seams are
//! worked: edges are eased evenly.

mod border;
mod over;

use cloth::{Drape, Edge, Fabric, Gauge, Mesh, Seam, Settings, State, Vec3};
use loops::Piece;

use crate::block::Block;
use crate::file::PlanFile;
use crate::plan::{LaidPlan, Made, block_of, edging_and_strip, gauge_of, laid_of, made_of};
use crate::shape::{Knitted, Outline, Shape};
use crate::{PlanEntry, Point, Problem};

/// What is left free between two pieces before they are sewn, in stitch widths: the seam's own length.
const APART: f64 = 1.0;

/// Pieces sewn together.
pub struct Sewn {
    /// All of their patches.
    pub mesh: Mesh,
    /// The shape they come to rest in.
    pub drape: Drape,
    /// The gauge of the plan.
    pub gauge: Gauge,
    /// How many pieces there are.
    pub pieces: usize,
    /// How many seams.
    pub seams: usize,
    /// What of the plan is not shown, and why.
    pub left_out: Vec<String>,
}

impl Sewn {
    /// Sews the pieces of a pattern together as a plan says.
    ///
    /// # Errors
    /// A [`Problem`] where the plan is wrong, joins nothing, or the cloth cannot be worked out.
    pub fn of(file: &PlanFile, pattern: &[Piece]) -> Result<Sewn, Problem> {
        let gauge = gauge_of(file)?;
        let fabric = Fabric { rows_per_stitch: gauge.rows_per_stitch(), ..Fabric::default() };
        let made = made_of(file, pattern, &gauge)?;
        let knitted = made.iter().map(|one| {
            Knitted::of(one.piece, &gauge, State::Free)
                .map_err(|problem| problem.of(PlanEntry::Piece(one.entry.name.clone())))
        });
        let knitted = knitted.collect::<Result<Vec<Knitted>, Problem>>()?;
        let mut table = Table {
            made: &made,
            knitted: &knitted,
            lying: Vec::new(),
            seams: Vec::new(),
            lines: Lines::default(),
        };
        let block = block_of(file, &made)?;
        if let Some(block) = &block {
            table.lay_block(block)?;
        }
        table.join_all(file)?;
        if table.seams.is_empty() {
            return Err(Problem::new(
                "the plan sews nothing together",
                "lay pieces side by side, or tell which of their edges meet",
            ));
        }
        let ground = table.lying.len();
        table.lay_over(&laid_of(file, &made, block.as_ref())?);
        let mut meshes = table.meshes();
        let mut seams = table.seams.clone();
        for place in ground..meshes.len() {
            seams.extend(over::hem(&meshes, place, ground));
        }
        let sides =
            block.as_ref().and_then(|block| table.block_sides(block, &meshes).transpose()).transpose()?;
        let mut left_out = Vec::new();
        if let Some((edging, strip)) = edging_and_strip(file, &made, block.as_ref())? {
            let run = border::Run { edging: &edging, strip: &strip, piece: made[edging.piece].piece, gauge };
            match sides.filter(|_| file.edging.as_ref().is_some_and(|text| text.path.is_none())) {
                Some(sides) if run.is_shown() => {
                    let (mesh, seam) = run.round(&sides, meshes.len(), &fabric)?;
                    meshes.push(mesh);
                    seams.extend(seam);
                }
                _ => left_out.push(border::LEFT_OUT.to_owned()),
            }
        }
        let refused = |why: String| Problem::new(why, "sew fewer or smaller pieces in the plan");
        let mesh = Mesh::join(&meshes, &seams, &fabric).map_err(|error| refused(error.to_string()))?;
        let drape = Drape::of(&mesh, &fabric, State::Free, &Settings::default());
        let drape = drape.map_err(|error| refused(error.to_string()))?;
        Ok(Sewn { mesh, drape, gauge, pieces: meshes.len(), seams: table.seams.len(), left_out })
    }

    /// Width and height of what it lies on, in centimetres.
    pub fn extent(&self) -> (f64, f64) {
        let (width, height) = extent(&self.drape.positions);
        (width * self.gauge.width(), height * self.gauge.width())
    }
}

/// A piece on the table.
struct Lying {
    piece: usize,
    turn: f64,
    middle: Point,
    /// Whether it lies over others.
    over: bool,
}

/// Where the lines between the places of a block lie, in the plan in centimetres and on the table in stitch widths.
#[derive(Default)]
struct Lines {
    across: Vec<(f64, f64)>,
    up: Vec<(f64, f64)>,
}

impl Lines {
    /// Where a point of the plan lies on the table.
    fn at(&self, point: Point) -> Point {
        Point::new(between(&self.across, point.x), between(&self.up, point.y))
    }
}

/// What belongs to a value between values that are known.
fn between(known: &[(f64, f64)], value: f64) -> f64 {
    let pair = known.windows(2).find(|pair| value <= pair[1].0);
    match pair.or_else(|| known.windows(2).last()) {
        Some(&[(from, low), (to, high)]) => low + (value - from) / (to - from) * (high - low),
        _ => value,
    }
}

/// The pieces while they are laid out.
struct Table<'a> {
    made: &'a [Made<'a>],
    knitted: &'a [Knitted],
    lying: Vec<Lying>,
    seams: Vec<Seam>,
    lines: Lines,
}

impl Table<'_> {
    /// Joins the edges that the plan names.
    fn join_all(&mut self, file: &PlanFile) -> Result<(), Problem> {
        for (place, join) in file.joins.iter().enumerate() {
            let of_join = |problem: Problem| problem.of(PlanEntry::Join(place));
            let side = |text| Made::side_called(file, self.made, text).map_err(of_join);
            let (one, other) = (side(&join.one)?, side(&join.other)?);
            self.join(one, other).map_err(of_join)?;
        }
        Ok(())
    }

    /// Lays pieces over those that lie there.
    fn lay_over(&mut self, laid: &[LaidPlan]) {
        for one in laid {
            for &place in &one.places {
                let middle = self.lines.at(place);
                self.lying.push(Lying { piece: one.piece, turn: 0.0, middle, over: true });
            }
        }
    }

    /// Lays the pieces of a block, and sews each to its neighbours.
    fn lay_block(&mut self, block: &Block) -> Result<(), Problem> {
        let cells: Vec<_> = block.cells().collect();
        let turned: Result<Vec<(f64, f64, f64)>, Problem> = cells
            .iter()
            .map(|(_, cell)| {
                let turn = self.upright(cell.piece)? + cell.turn as f64 * std::f64::consts::FRAC_PI_2;
                let (width, height) = extent(&rotated(&self.knitted[cell.piece].drape.positions, turn));
                Ok((turn, width, height))
            })
            .collect();
        let turned = turned?;
        let mean = |count: usize, place: fn((usize, usize)) -> usize, size: fn(&(f64, f64, f64)) -> f64| {
            (0..count)
                .map(|wanted| {
                    let own = cells.iter().zip(&turned).filter(|((at, _), _)| place(*at) == wanted);
                    let sizes: Vec<f64> = own.map(|(_, turned)| size(turned) + APART).collect();
                    sizes.iter().sum::<f64>() / sizes.len().max(1) as f64
                })
                .collect::<Vec<f64>>()
        };
        let widths = mean(block.widths.len(), |at| at.1, |turned| turned.1);
        let heights = mean(block.heights.len(), |at| at.0, |turned| turned.2);
        let middle = |sizes: &[f64], place: usize| sizes[..place].iter().sum::<f64>() + sizes[place] / 2.0;
        for (((row, column), cell), (turn, ..)) in cells.iter().zip(&turned) {
            let middle = Point::new(middle(&widths, *column), middle(&heights, *row));
            self.lying.push(Lying { piece: cell.piece, turn: *turn, middle, over: false });
        }
        let line = |planned: &[f64], lying: &[f64]| -> Vec<(f64, f64)> {
            let sum = |sizes: &[f64], place: usize| sizes[..place].iter().sum::<f64>();
            (0..=planned.len()).map(|place| (sum(planned, place), sum(lying, place))).collect()
        };
        self.lines = Lines { across: line(&block.widths, &widths), up: line(&block.heights, &heights) };
        for (place, ((row, column), cell)) in cells.iter().enumerate() {
            for (at, facing, beside) in [(1, 3, (*row, column + 1)), (2, 0, (row + 1, *column))] {
                let Some(other) = cells.iter().position(|(at, _)| *at == beside) else { continue };
                let sides = (cell.side_at(at), cells[other].1.side_at(facing));
                self.seam((place, sides.0), (other, sides.1))?;
            }
        }
        Ok(())
    }

    /// Sews two edges together, each of the first such piece on the table, which is laid there if none is.
    fn join(&mut self, one: (usize, usize), other: (usize, usize)) -> Result<(), Problem> {
        if one.0 == other.0 {
            return Err(Problem::new(
                "the cloth of a piece sewn to itself is not shown",
                "leave that seam out of the plan for the drawing",
            ));
        }
        let places = [one.0, other.0].map(|piece| self.on_table(piece));
        self.seam((places[0], one.1), (places[1], other.1))
    }

    fn on_table(&mut self, piece: usize) -> usize {
        if let Some(place) = self.lying.iter().position(|lying| lying.piece == piece) {
            return place;
        }
        let (width, height) = extent(&self.knitted[piece].drape.positions);
        let right = self.lying.iter().map(|lying| {
            let (width, _) = extent(&rotated(&self.knitted[lying.piece].drape.positions, lying.turn));
            lying.middle.x + width / 2.0 + APART
        });
        let left = right.fold(0.0, f64::max);
        let middle = Point::new(left + width / 2.0, height / 2.0);
        self.lying.push(Lying { piece, turn: 0.0, middle, over: false });
        self.lying.len() - 1
    }

    /// A seam between sides of two pieces on the table. Sides run anticlockwise, so that they meet head to foot.
    fn seam(&mut self, one: (usize, usize), other: (usize, usize)) -> Result<(), Problem> {
        let nodes = |(place, side): (usize, usize)| self.side(self.lying[place].piece, side);
        let (from, mut to) = (nodes(one)?, nodes(other)?);
        to.reverse();
        self.seams.push(Seam { one: (one.0, from), other: (other.0, to) });
        Ok(())
    }

    /// The nodes along a side, anticlockwise.
    fn side(&self, piece: usize, side: usize) -> Result<Vec<u32>, Problem> {
        let (one, mesh) = (&self.made[piece], &self.knitted[piece].mesh);
        side_of(&one.shape, mesh, side).ok_or_else(|| {
            Problem::new(
                format!("the cloth along {} of {} is not known", one.shape.side_name(side), one.entry.name),
                "only pieces with four sides are sewn in the drawing; leave it out of the plan",
            )
        })
    }

    /// By how much a piece is turned so that its first side lies at the bottom.
    fn upright(&self, piece: usize) -> Result<f64, Problem> {
        let side = self.side(piece, 0)?;
        let shape = &self.knitted[piece].drape.positions;
        let (Some(&from), Some(&to)) = (side.first(), side.last()) else { return Ok(0.0) };
        let along = shape[to as usize] - shape[from as usize];
        Ok(-f64::atan2(along.y, along.x))
    }

    /// The meshes of all pieces where they lie.
    fn meshes(&self) -> Vec<Mesh> {
        let laid = self.lying.iter().map(|lying| {
            let Knitted { mesh, drape, .. } = &self.knitted[lying.piece];
            let middle = |height| Vec3::new(lying.middle.x, lying.middle.y, height);
            match lying.over {
                true => {
                    let shape = over::set_down(mesh, &drape.positions);
                    mesh.clone().laid(&shape, lying.turn, middle(over::HEIGHT))
                }
                false => mesh.clone().laid(&drape.positions, lying.turn, middle(0.0)),
            }
        });
        laid.collect()
    }

    /// The outer edge of a block whose places are all filled, anticlockwise from the bottom.
    fn block_sides(&self, block: &Block, meshes: &[Mesh]) -> Result<Option<[Vec<border::Rim>; 4]>, Problem> {
        if block.rows.iter().flatten().any(Option::is_none) {
            return Ok(None);
        }
        let (rows, columns) = (block.rows.len(), block.widths.len());
        let cells: Vec<_> = block.cells().collect();
        let mut sides = [const { Vec::new() }; 4];
        for (at, side) in sides.iter_mut().enumerate() {
            let places: Vec<(usize, usize)> = match at {
                0 => (0..columns).map(|column| (0, column)).collect(),
                1 => (0..rows).map(|row| (row, columns - 1)).collect(),
                2 => (0..columns).rev().map(|column| (rows - 1, column)).collect(),
                _ => (0..rows).rev().map(|row| (row, 0)).collect(),
            };
            for wanted in places {
                let Some(place) = cells.iter().position(|(at, _)| *at == wanted) else { continue };
                let nodes = self.side(self.lying[place].piece, cells[place].1.side_at(at))?;
                side.extend(nodes.into_iter().map(|node| border::Rim {
                    place,
                    node,
                    at: meshes[place].start()[node as usize],
                }));
            }
        }
        Ok(Some(sides))
    }
}

/// The nodes along one of four sides, anticlockwise; those of a piece begun in a corner are halves of its row ends.
fn side_of(shape: &Shape, mesh: &Mesh, side: usize) -> Option<Vec<u32>> {
    if !matches!(shape.outline, Outline::Polygon(_)) || shape.sides.len() != 4 {
        return None;
    }
    if !shape.from_corner {
        let (edge, back) =
            [(Edge::CastOn, false), (Edge::Right, false), (Edge::Top, true), (Edge::Left, true)][side];
        let mut nodes = mesh.edge(0, edge);
        if back {
            nodes.reverse();
        }
        return Some(nodes);
    }
    let widest = mesh.rows(0).iter().max_by_key(|row| row.len())?;
    let (edge, corner) = match side {
        0 | 1 => (Edge::Right, *widest.last()?),
        _ => (Edge::Left, *widest.first()?),
    };
    let ends = mesh.edge(0, edge);
    let middle = ends.iter().position(|&node| node == corner)?;
    Some(match side {
        0 => ends[..=middle].to_vec(),
        1 => ends[middle..].to_vec(),
        2 => ends[middle..].iter().rev().copied().collect(),
        _ => ends[..=middle].iter().rev().copied().collect(),
    })
}

fn rotated(shape: &[Vec3], turn: f64) -> Vec<Vec3> {
    let (sin, cos) = turn.sin_cos();
    shape.iter().map(|p| Vec3::new(cos * p.x - sin * p.y, sin * p.x + cos * p.y, p.z)).collect()
}

fn extent(shape: &[Vec3]) -> (f64, f64) {
    let points: Vec<Point> = shape.iter().map(|point| Point::new(point.x, point.y)).collect();
    crate::path::extent(&points)
}
