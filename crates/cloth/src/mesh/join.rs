//! Sewing pieces together.

use super::{Edge, Feet, Link, LinkKind, Mesh, MeshError, NONE, PATCH_LIMIT};
use crate::{Fabric, Vec3};

/// A seam from an edge of one piece to an edge of another, or of the same, both read in their own direction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Seam {
    /// A piece and its edge.
    pub one: (usize, Edge),
    /// The other piece and its edge.
    pub other: (usize, Edge),
    /// Whether the second edge runs the other way.
    pub reversed: bool,
}

impl Mesh {
    /// Several pieces side by side, sewn together along seams.
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
            feet: Feet::none(),
            start: Vec::with_capacity(count),
            triangles: Vec::new(),
            parts: Vec::new(),
        };
        let mut place = 0.0;
        for piece in pieces {
            joined.append(piece, &mut place);
        }
        for seam in seams {
            joined.sew(seam, fabric);
        }
        match super::build::components(&joined) {
            1 => Ok(joined),
            parts => Err(MeshError::Disconnected(parts)),
        }
    }

    /// Appends a piece to the right of those already there.
    fn append(&mut self, piece: &Mesh, place: &mut f64) {
        let (nodes, links) = (self.len() as u32, self.links.len() as u32);
        let least = piece.start.iter().map(|point| point.x).fold(f64::INFINITY, f64::min);
        let most = piece.start.iter().map(|point| point.x).fold(f64::NEG_INFINITY, f64::max);
        let shift = Vec3::new(*place - least, 0.0, 0.0);
        *place += most - least + 1.0;
        self.stitches.extend_from_slice(&piece.stitches);
        self.folds.extend_from_slice(&piece.folds);
        self.feet.append(&piece.feet, nodes);
        self.start.extend(piece.start.iter().map(|&point| point + shift));
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

    fn sew(&mut self, seam: &Seam, fabric: &Fabric) {
        let one = self.edge(seam.one.0, seam.one.1);
        let mut other = self.edge(seam.other.0, seam.other.1);
        if seam.reversed {
            other.reverse();
        }
        let stitches = one.len().max(other.len());
        let at = |edge: &[u32], place: usize| {
            edge.get((place * edge.len()).checked_div(stitches).unwrap_or(0)).copied()
        };
        for place in 0..stitches {
            let (Some(from), Some(to)) = (at(&one, place), at(&other, place)) else { continue };
            if from == to {
                continue;
            }
            // The two half patches at the edges.
            let rest = 1.0;
            let stiffness = fabric.stretch / rest;
            self.links.push(Link { from, to, rest, stiffness, kind: LinkKind::Seam });
        }
    }
}
