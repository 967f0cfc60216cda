//! The mesh: one patch a stitch, linked to its neighbours.
//!
//! ```text
//!        up
//!         |            a node is the middle of a stitch's patch
//! left ── i ── right   course links run along the row, left to right
//!         |            wale links run along the column, upwards
//!        down          shear links cross the patches between four nodes; contacts span the channels of ribs
//! ```
//!
//! Everything is seen from the right side of the cloth, whichever way the rows were worked. Lengths are in
//! widths of a plain stitch.
//!
//! Knows which patches touch, how far apart they rest and how they want to fold. Knows nothing of forces: that
//! is [`crate::Energy`].
//!
//! Invariants: a link joins two different nodes; a rest length is positive; a node's four main links are links of
//! that node, `left` and `down` ending in it, `right` and `up` beginning in it.

mod build;
mod coarse;
mod contact;
mod edges;
mod faces;
mod join;
mod pick_up;
mod start;

use std::ops::Range;

use loops::{Cross, Op, StitchId, TooManyStitches};

use crate::Vec3;
use crate::grouped::Grouped;

pub(crate) use self::coarse::Sizes;
pub use self::edges::Edge;
pub use self::join::Seam;

/// How many patches one mesh may hold; a bedspread has about 200,000.
pub const PATCH_LIMIT: usize = 500_000;

/// No link in this direction.
pub(crate) const NONE: u32 = u32::MAX;

/// The places of the main links of a node.
pub(crate) const LEFT: usize = 0;
pub(crate) const RIGHT: usize = 1;
pub(crate) const DOWN: usize = 2;
pub(crate) const UP: usize = 3;

/// What a link is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum LinkKind {
    /// Between neighbours along a row.
    Course,
    /// From a stitch to one that was worked into it.
    Wale,
    /// Across the patch between four stitches.
    Shear,
    /// From a stitch beneath to a strand that hangs between two others.
    Strand,
    /// Across a seam.
    Seam,
    /// Between the two columns on both sides of a channel of the other face, which cannot lie closer than side by
    /// side. It holds apart what comes nearer than its rest, and does not pull.
    Contact,
}

/// Two patches that pull at each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Link {
    /// The node it starts at: the left one, or the lower one.
    pub from: u32,
    /// The node it ends at.
    pub to: u32,
    /// Its length at rest.
    pub rest: f64,
    /// Energy of stretching it by its own length, twice.
    pub stiffness: f64,
    /// What it is.
    pub kind: LinkKind,
}

/// How a patch wants to fold.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Fold {
    /// Along the row, in radians, positive towards the wrong side.
    pub course: f64,
    /// Along the column, in radians, positive towards the right side.
    pub wale: f64,
}

/// The whole mesh.
#[derive(Clone, Debug)]
pub struct Mesh {
    /// The stitch of each node, and which of the joined pieces it belongs to.
    pub(crate) stitches: Vec<Patch>,
    pub(crate) links: Vec<Link>,
    /// The left, right, lower and upper link of each node.
    pub(crate) main: Vec<[u32; 4]>,
    pub(crate) folds: Vec<Fold>,
    /// The nodes that each node was worked into, from left to right, or hangs above.
    pub(crate) feet: Grouped<u32>,
    /// Where the nodes start from: laid out by rows, folds and draw-in guessed.
    pub(crate) start: Vec<Vec3>,
    /// The patches between the nodes, each a triangle seen anticlockwise from the right side.
    pub(crate) triangles: Vec<[u32; 3]>,
    /// The pieces that were joined, each with its range of nodes.
    pub(crate) parts: Vec<Part>,
}

/// What a node stands for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Patch {
    /// The stitch in the graph of its piece.
    pub stitch: StitchId,
    /// What made it.
    pub op: Op,
    /// The place of that among the operations of its piece, from 0 in working order; `None` for the cast-on.
    pub operation: Option<u32>,
    /// Plain 1, purl -1, a strand 0, as the right side of the cloth shows it.
    pub face: i8,
    /// Whether the loop is turned about itself.
    pub twisted: bool,
    /// Whether it was passed over in its row.
    pub slipped: bool,
    /// Whether the yarn that passes a slipped stitch by lies before it, seen from the right side.
    pub float_before: bool,
    /// Whether the yarn was laid over it when it was slipped, and both are one unit.
    pub laid_over: bool,
    /// Whether its row was worked from right to left, seen from the right side.
    pub leftwards: bool,
    /// Whether it was the last that was made in its row.
    pub row_end: bool,
    /// Before the others in a crossing 1, behind them -1, else 0.
    pub layer: i8,
    /// Width at rest.
    pub width: f64,
    /// Height at rest, above the stitch beneath.
    pub height: f64,
    /// Whether it was laid over the needle only to be let fall: its yarn lengthens the stitch beside it.
    pub let_fall: bool,
    /// Whether the patch lies in a round or a row that closes on itself.
    pub closed: bool,
    /// Whether the stitch was bound off, so that an edge lies above it.
    pub bound_off: bool,
}

/// One of the joined pieces.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Part {
    pub(crate) first: u32,
    pub(crate) end: u32,
    /// The nodes of each row, from left to right, the cast-on first; only rows that have any, and without turns of
    /// the yarn that were let fall.
    pub(crate) rows: Vec<Vec<u32>>,
    /// Whether it lies on a table; a tube stands.
    pub(crate) lies: bool,
    /// Whether it starts as a disc that is too full for a plane all over.
    pub(crate) too_full: bool,
    /// How high the table is beneath it, in stitch widths: what is laid over another piece lies on that.
    pub(crate) table: f64,
}

impl Part {
    /// Its nodes.
    pub(crate) fn nodes(&self) -> Range<usize> {
        self.first as usize..self.end as usize
    }
}

/// Why there is no mesh.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum MeshError {
    /// The piece has no stitches, or no rows but the cast-on.
    #[error("there is no cloth: the piece has no worked rows")]
    Empty,
    /// Too many stitches to relax in reasonable time.
    #[error("the piece has {0} stitches; the cloth is computed for up to {PATCH_LIMIT}")]
    TooMany(usize),
    /// The graph could not be made at all.
    #[error(transparent)]
    Graph(#[from] TooManyStitches),
    /// Stitches hang together in several parts.
    #[error("the cloth falls into {0} parts that nothing holds together")]
    Disconnected(usize),
    /// A constant of the fabric is not a number, or not positive.
    #[error("the {0} of the fabric must be a positive number")]
    Constant(&'static str),
}

impl Mesh {
    /// The number of patches.
    pub fn len(&self) -> usize {
        self.stitches.len()
    }

    /// Whether there is no patch; never for a mesh that was made.
    pub fn is_empty(&self) -> bool {
        self.stitches.is_empty()
    }

    /// The patches; a node is a place in this list.
    pub fn patches(&self) -> &[Patch] {
        &self.stitches
    }

    /// The links.
    pub fn links(&self) -> &[Link] {
        &self.links
    }

    /// How each node wants to fold.
    pub fn folds(&self) -> &[Fold] {
        &self.folds
    }

    /// The left, right, lower and upper link of a node.
    pub fn main_links(&self, node: u32) -> Option<[Option<u32>; 4]> {
        self.main.get(node as usize).map(|main| main.map(|link| (link != NONE).then_some(link)))
    }

    /// Where the nodes start from.
    pub fn start(&self) -> &[Vec3] {
        &self.start
    }

    /// The patches between the nodes as triangles of nodes, anticlockwise as seen from the right side.
    pub fn triangles(&self) -> &[[u32; 3]] {
        &self.triangles
    }

    /// The nodes of each row of a piece, from left to right, the cast-on first.
    pub fn rows(&self, part: usize) -> &[Vec<u32>] {
        self.parts.get(part).map_or(&[], |part| &part.rows)
    }

    /// The number of joined pieces.
    pub fn part_count(&self) -> usize {
        self.parts.len()
    }

    /// Whether this is one piece that starts as a disc too full for a plane.
    pub(crate) fn too_full(&self) -> bool {
        matches!(self.parts.as_slice(), [part] if part.too_full)
    }

    /// The neighbour of a node beyond one of its main links.
    pub(crate) fn neighbour(&self, node: usize, direction: usize) -> Option<usize> {
        let link = self.links.get(self.main[node][direction] as usize)?;
        let far = if direction == LEFT || direction == DOWN { link.from } else { link.to };
        Some(far as usize)
    }

    /// The crossings, each with its nodes: those of the group that was worked first, then those that were held.
    pub(crate) fn crossings(&self) -> impl Iterator<Item = (Cross, Range<usize>)> + '_ {
        let mut node = 0;
        std::iter::from_fn(move || {
            while let Some(patch) = self.stitches.get(node) {
                if let Op::Cross(cross) = patch.op {
                    let nodes = node..(node + cross.width() as usize).min(self.len());
                    node = nodes.end;
                    return Some((cross, nodes));
                }
                node += 1;
            }
            None
        })
    }

    /// Whether two nodes are next to each other along a row.
    pub(crate) fn neighbours(&self, one: usize, other: usize) -> bool {
        self.neighbour(one, LEFT) == Some(other) || self.neighbour(one, RIGHT) == Some(other)
    }

    /// Tries what must hold of every mesh.
    ///
    /// # Errors
    /// A sentence naming the first link or node that is wrong.
    pub fn check(&self) -> Result<(), String> {
        let count = self.len();
        for (index, link) in self.links.iter().enumerate() {
            let sound = link.from != link.to
                && (link.from.max(link.to) as usize) < count
                && link.rest.is_finite()
                && link.rest > 0.0
                && link.stiffness.is_finite()
                && link.stiffness > 0.0;
            if !sound {
                return Err(format!("link {index} is unsound: {link:?}"));
            }
        }
        for (node, main) in self.main.iter().enumerate() {
            for (direction, &link) in main.iter().enumerate() {
                if link == NONE {
                    continue;
                }
                let link = &self.links[link as usize];
                let own = if direction == LEFT || direction == DOWN { link.to } else { link.from };
                if own as usize != node {
                    return Err(format!("node {node} holds a link of node {own}"));
                }
            }
        }
        Ok(())
    }
}
