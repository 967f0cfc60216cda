//! The edges of a piece as runs of nodes.

use super::Mesh;

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
            Edge::Left => rows.iter().filter_map(|row| row.first().copied()).collect(),
            Edge::Right => rows.iter().filter_map(|row| row.last().copied()).collect(),
        }
    }
}
