//! The edges of a piece as runs of nodes.

use std::collections::HashSet;

use super::{LEFT, Mesh, RIGHT};

/// One of the four edges of a flat piece, as seen from its right side.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Edge {
    /// Where it was cast on.
    CastOn,
    /// The last row.
    Top,
    /// The left ends of the rows.
    Left,
    /// The right ends of the rows.
    Right,
}

impl Mesh {
    /// The nodes of an edge of a piece: from left to right, or from the cast-on upwards.
    pub fn edge(&self, part: usize, edge: Edge) -> Vec<u32> {
        let rows = self.rows(part);
        match edge {
            Edge::CastOn => rows.first().cloned().unwrap_or_default(),
            Edge::Top => rows.last().cloned().unwrap_or_default(),
            Edge::Left => self.outer_ends(rows, LEFT),
            Edge::Right => self.outer_ends(rows, RIGHT),
        }
    }

    /// The ends of the rows on one side, without those where a short row turned within the cloth.
    fn outer_ends(&self, rows: &[Vec<u32>], side: usize) -> Vec<u32> {
        let mut turned: HashSet<u32> = HashSet::new();
        let mut ends = Vec::with_capacity(rows.len());
        for row in rows {
            let Some(&end) = (if side == LEFT { row.first() } else { row.last() }) else { continue };
            let feet = self.feet.of(end as usize);
            let foot = if side == LEFT { feet.first() } else { feet.last() };
            let within = foot.is_some_and(|&foot| match self.neighbour(foot as usize, side) {
                // What stands beyond its foot waits to be worked, unless it was bound off.
                Some(beyond) => !self.stitches[beyond].bound_off,
                None => turned.contains(&foot),
            });
            if within {
                turned.insert(end);
            } else {
                ends.push(end);
            }
        }
        ends
    }
}
