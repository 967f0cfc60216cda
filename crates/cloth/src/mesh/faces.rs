//! The patches between the nodes, as triangles.
//!
//! Two rows are closed like a zip: between two neighbours of the upper row lie the stitches from the rightmost
//! parent of the left one to the leftmost parent of the right one. A yarn over has no parent and leaves its hole
//! open at the top only, so that the surface has none; the hole is seen in the yarn.

use super::{Feet, LinkKind, Mesh, RIGHT};

/// How many stitches a single patch may span at its foot; what is wider is a gap in the cloth.
const SPAN_LIMIT: usize = 8;

impl Mesh {
    pub(super) fn triangulate(&mut self) {
        self.feet = self.find_feet();
        let mut triangles = Vec::with_capacity(self.len() * 2);
        for node in 0..self.len() {
            self.gathered(node, &mut triangles);
            let Some(right) = self.neighbour(node, RIGHT) else { continue };
            let (Some(&first), Some(&last)) = (self.feet.of(node).last(), self.feet.of(right).first()) else {
                continue;
            };
            self.zip(node, right, first as usize, last as usize, &mut triangles);
        }
        self.triangles = triangles;
    }

    /// The nodes beneath each node, from left to right.
    fn find_feet(&self) -> Feet {
        let beneath =
            || self.links.iter().filter(|link| matches!(link.kind, LinkKind::Wale | LinkKind::Strand));
        let mut first = vec![0u32; self.len() + 1];
        for link in beneath() {
            first[link.to as usize + 1] += 1;
        }
        for node in 0..self.len() {
            first[node + 1] += first[node];
        }
        let mut next = first.clone();
        let mut nodes = vec![0; first[self.len()] as usize];
        for link in beneath() {
            nodes[next[link.to as usize] as usize] = link.from;
            next[link.to as usize] += 1;
        }
        for node in 0..self.len() {
            let own = &mut nodes[first[node] as usize..first[node + 1] as usize];
            if let [one, other, ..] = own
                && self.neighbour(*other as usize, RIGHT) == Some(*one as usize)
            {
                own.reverse();
            }
        }
        Feet { first, nodes }
    }

    /// The triangles under a stitch that gathers several.
    fn gathered(&self, node: usize, triangles: &mut Vec<[u32; 3]>) {
        for pair in self.feet.of(node).windows(2) {
            if self.neighbour(pair[0] as usize, RIGHT) == Some(pair[1] as usize) {
                triangles.push([pair[0], pair[1], node as u32]);
            }
        }
    }

    /// The triangles between two neighbours and the run of stitches beneath them.
    fn zip(&self, left: usize, right: usize, first: usize, last: usize, triangles: &mut Vec<[u32; 3]>) {
        let mut run = vec![first];
        while run[run.len() - 1] != last {
            let Some(next) = self.neighbour(run[run.len() - 1], RIGHT) else { return };
            if run.len() >= SPAN_LIMIT {
                return;
            }
            run.push(next);
        }
        let middle = run.len() / 2;
        let mut push = |a: usize, b: usize, c: usize| triangles.push([a as u32, b as u32, c as u32]);
        for pair in run[..=middle.min(run.len() - 1)].windows(2) {
            push(pair[0], pair[1], left);
        }
        push(run[middle], right, left);
        for pair in run[middle..].windows(2) {
            push(pair[0], pair[1], right);
        }
    }
}
