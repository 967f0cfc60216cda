//! Sewing pieces together.

use super::{Link, LinkKind, Mesh, MeshError, NONE, PATCH_LIMIT};
use crate::grouped::Grouped;
use crate::vector::extent;
use crate::{Fabric, Vec3};

/// A seam from a run of nodes along an edge of one piece to one of another, each counted in its own piece and in the
/// order in which they meet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Seam {
    /// A piece and its nodes.
    pub one: (usize, Vec<u32>),
    /// The other piece and its nodes.
    pub other: (usize, Vec<u32>),
}

/// The two half patches at the edges, between which a seam runs.
const HALF_PATCHES: f64 = 1.0;

impl Mesh {
    /// The mesh laid out in another shape, such as the one it has come to rest in, turned anticlockwise in the plane
    /// of the table and moved so that its middle lies at `middle`; above the table, it lies on what is beneath it.
    #[must_use]
    pub fn laid(mut self, shape: &[Vec3], turn: f64, middle: Vec3) -> Mesh {
        let (sin, cos) = turn.sin_cos();
        let turned: Vec<Vec3> =
            shape.iter().map(|p| Vec3::new(cos * p.x - sin * p.y, sin * p.x + cos * p.y, p.z)).collect();
        let middle_of = |axis: fn(&Vec3) -> f64| {
            let (least, most) = extent(turned.iter().map(axis));
            (least + most) / 2.0
        };
        let shift = middle - Vec3::new(middle_of(|p| p.x), middle_of(|p| p.y), 0.0);
        for part in &mut self.parts {
            part.table = middle.z;
            part.lies |= middle.z > 0.0;
        }
        self.starting(turned.into_iter().map(|point| point + shift).collect())
    }

    /// The mesh starting from these places, one for each node; what is missing keeps its own.
    #[must_use]
    pub fn starting(mut self, mut places: Vec<Vec3>) -> Mesh {
        places.truncate(self.len());
        places.extend_from_slice(&self.start[places.len()..]);
        self.start = places;
        self.parts.iter_mut().for_each(|part| part.too_full = false);
        self
    }

    /// Several pieces sewn together along seams, each where it lies; see [`Mesh::laid`].
    ///
    /// A seam spreads both edges evenly over each other, as a needlewoman eases them: the longer one is held in.
    ///
    /// # Errors
    /// [`MeshError`] when there is nothing, too much, or the seams leave parts apart.
    pub fn join(pieces: &[Mesh], seams: &[Seam], fabric: &Fabric) -> Result<Mesh, MeshError> {
        let count: usize = pieces.iter().map(Mesh::len).sum();
        if count == 0 {
            return Err(MeshError::Empty);
        }
        if count > PATCH_LIMIT {
            return Err(MeshError::TooMany(count));
        }
        let mut joined = Mesh {
            stitches: Vec::with_capacity(count),
            links: Vec::new(),
            main: Vec::with_capacity(count),
            folds: Vec::with_capacity(count),
            feet: Grouped::default(),
            start: Vec::with_capacity(count),
            triangles: Vec::new(),
            parts: Vec::new(),
        };
        let mut firsts = Vec::with_capacity(pieces.len());
        for piece in pieces {
            firsts.push(joined.len() as u32);
            joined.append(piece);
        }
        for seam in seams {
            joined.sew(seam, &firsts, fabric);
        }
        match super::build::components(&joined) {
            1 => Ok(joined),
            parts => Err(MeshError::Disconnected(parts)),
        }
    }

    fn append(&mut self, piece: &Mesh) {
        let (nodes, links) = (self.len() as u32, self.links.len() as u32);
        self.stitches.extend_from_slice(&piece.stitches);
        self.folds.extend_from_slice(&piece.folds);
        self.feet.append(&piece.feet, |node| node + nodes);
        self.start.extend_from_slice(&piece.start);
        self.links.extend(piece.links.iter().map(|link| Link {
            from: link.from + nodes,
            to: link.to + nodes,
            ..*link
        }));
        let moved = |link: u32| if link == NONE { NONE } else { link + links };
        self.main.extend(piece.main.iter().map(|main| main.map(moved)));
        self.triangles.extend(piece.triangles.iter().map(|corners| corners.map(|node| node + nodes)));
        self.parts.extend(piece.parts.iter().cloned().map(|mut part| {
            part.first += nodes;
            part.end += nodes;
            for node in part.rows.iter_mut().flatten() {
                *node += nodes;
            }
            part
        }));
    }

    fn sew(&mut self, seam: &Seam, firsts: &[u32], fabric: &Fabric) {
        let all = self.len() as u32;
        let placed = |(piece, nodes): &(usize, Vec<u32>)| -> Vec<u32> {
            let first = firsts.get(*piece).copied().unwrap_or(all);
            nodes.iter().map(|node| node + first).filter(|&node| node < all).collect()
        };
        let (one, other) = (placed(&seam.one), placed(&seam.other));
        let stitches = one.len().max(other.len());
        let at = |edge: &[u32], place: usize| {
            edge.get((place * edge.len()).checked_div(stitches).unwrap_or(0)).copied()
        };
        let pairs: Vec<(u32, u32)> =
            (0..stitches).filter_map(|place| at(&one, place).zip(at(&other, place))).collect();
        for &(from, to) in &pairs {
            self.sew_link(from, to, HALF_PATCHES, fabric.stretch);
        }
        // A seam holds the edges against sliding along each other, as the cloth beside it does.
        for pair in pairs.windows(2) {
            let [(from, to), (next_from, next_to)] = [pair[0], pair[1]];
            let step = (self.start[next_to as usize] - self.start[to as usize]).norm();
            if step > 0.0 {
                self.sew_link(from, next_to, HALF_PATCHES.hypot(step), fabric.shear);
                self.sew_link(next_from, to, HALF_PATCHES.hypot(step), fabric.shear);
            }
        }
    }

    fn sew_link(&mut self, from: u32, to: u32, rest: f64, modulus: f64) {
        if from != to {
            self.links.push(Link { from, to, rest, stiffness: modulus / rest, kind: LinkKind::Seam });
        }
    }
}
