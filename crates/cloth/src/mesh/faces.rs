//! The patches between the nodes, as triangles.
//!
//! Two rows are closed like a zip: between two neighbours of the upper row lie the stitches from the rightmost
//! parent of the left one to the leftmost parent of the right one. A yarn over has no parent and leaves its hole
//! open at the top only, so that the surface has none; the hole is seen in the yarn. Crossings are sheet too, as if nothing crossed.

use std::collections::HashMap;

use crate::grouped::Grouped;

use super::{LinkKind, Mesh, NONE, RIGHT};

/// How many stitches a single patch may span at its foot; what is wider is a gap in the cloth.
const SPAN_LIMIT: usize = 8;

/// How many short rows one above another may end at one place.
const TURNS_LIMIT: usize = 200;

impl Mesh {
    pub(super) fn triangulate(&mut self) {
        self.feet = self.find_feet();
        let surface = Surface { rights: self.rights(), crossed: self.uncrossed() };
        let mut triangles = Vec::with_capacity(self.len() * 2);
        for node in 0..self.len() {
            self.gathered(node, &surface, &mut triangles);
            let Some(right) = surface.right(node) else { continue };
            let (Some(first), Some(last)) = (
                surface.foot(self.feet.of(node).last(), node),
                surface.foot(self.feet.of(right).first(), right),
            ) else {
                continue;
            };
            if !surface.zip(node, right, first, last, &mut triangles) {
                self.turn(&surface, (node, right), (first, last), &mut triangles);
            }
        }
        self.triangles = triangles;
    }

    /// The right neighbour of each node, across the middle of a crossing too.
    fn rights(&self) -> Vec<u32> {
        let mut rights = vec![NONE; self.len()];
        for link in self.links.iter().filter(|link| link.kind == LinkKind::Course) {
            rights[link.from as usize] = link.to;
        }
        rights
    }

    /// What the stitches of crossings would stand on if they did not cross: the surface is one sheet.
    fn uncrossed(&self) -> HashMap<usize, u32> {
        let mut crossed = HashMap::new();
        for (_, nodes) in self.crossings() {
            let mut feet: Vec<u32> =
                nodes.clone().filter_map(|node| self.feet.of(node).first().copied()).collect();
            feet.sort_unstable();
            // Those of one row are numbered as they were worked.
            let turned = feet.first().is_some_and(|&foot| {
                self.stitches[foot as usize].leftwards != self.stitches[nodes.start].leftwards
            });
            if turned {
                feet.reverse();
            }
            crossed.extend(nodes.zip(feet));
        }
        crossed
    }

    /// The nodes beneath each node, from left to right.
    fn find_feet(&self) -> Grouped<u32> {
        let beneath = self.links.iter().filter(|link| matches!(link.kind, LinkKind::Wale | LinkKind::Strand));
        let mut feet = Grouped::new(self.len(), beneath.map(|link| (link.to, link.from)));
        for node in 0..self.len() {
            let own = feet.of_mut(node);
            if let [one, other, ..] = own
                && self.neighbour(*other as usize, RIGHT) == Some(*one as usize)
            {
                own.reverse();
            }
        }
        feet
    }

    /// The triangles beside the turns of short rows, which the row above passes over: a fan from the stitch that
    /// waited to the ends of the short rows. The gap that a knitter sees there is in the yarn.
    fn turn(
        &self,
        surface: &Surface,
        (left, right): (usize, usize),
        (first, last): (usize, usize),
        triangles: &mut Vec<[u32; 3]>,
    ) {
        let down = |from: usize| {
            std::iter::successors(Some(from), |&node| self.feet.of(node).first().map(|&foot| foot as usize))
                .take(TURNS_LIMIT)
        };
        let mut push = |corners: [usize; 3]| triangles.push(corners.map(|node| node as u32));
        if let Some(height) = down(last).position(|end| surface.right(first) == Some(end)) {
            let ends: Vec<usize> = down(last).take(height + 1).collect();
            ends.windows(2).for_each(|pair| push([first, pair[1], pair[0]]));
            push([first, last, right]);
            push([first, right, left]);
        } else if let Some(height) = down(first).position(|end| surface.right(end) == Some(last)) {
            let ends: Vec<usize> = down(first).take(height + 1).collect();
            ends.windows(2).for_each(|pair| push([last, pair[0], pair[1]]));
            push([first, last, left]);
            push([last, right, left]);
        }
    }

    /// The triangles under a stitch that gathers several.
    fn gathered(&self, node: usize, surface: &Surface, triangles: &mut Vec<[u32; 3]>) {
        for pair in self.feet.of(node).windows(2) {
            if surface.right(pair[0] as usize) == Some(pair[1] as usize) {
                triangles.push([pair[0], pair[1], node as u32]);
            }
        }
    }
}

/// The net of the rows as one sheet.
struct Surface {
    rights: Vec<u32>,
    crossed: HashMap<usize, u32>,
}

impl Surface {
    fn right(&self, node: usize) -> Option<usize> {
        self.rights.get(node).filter(|&&right| right != NONE).map(|&right| right as usize)
    }

    fn foot(&self, own: Option<&u32>, node: usize) -> Option<usize> {
        self.crossed.get(&node).or(own).map(|&foot| foot as usize)
    }

    /// The triangles between two neighbours and the run of stitches beneath them; `false` where there is no run.
    fn zip(
        &self,
        left: usize,
        right: usize,
        first: usize,
        last: usize,
        triangles: &mut Vec<[u32; 3]>,
    ) -> bool {
        let mut run = vec![first];
        while run[run.len() - 1] != last {
            let Some(next) = self.right(run[run.len() - 1]) else { return false };
            if run.len() >= SPAN_LIMIT {
                return false;
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
        true
    }
}
