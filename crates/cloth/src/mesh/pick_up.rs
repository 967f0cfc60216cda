//! Stitches picked up along an edge.

use loops::{Op, Side, StitchId};

use super::build::{Builder, id_of, left_to_right};
use super::{DOWN, LEFT, LinkKind, NONE, RIGHT};

impl Builder<'_> {
    /// Fastens runs of picked-up stitches to the edge beside them, spread evenly over it.
    pub(super) fn picked_up(&mut self) {
        for index in 1..self.graph.rows().len() {
            let row = &self.graph.rows()[index];
            let made: Vec<usize> = row.stitches().map(StitchId::index).collect();
            let picks = |node: &usize| self.mesh.stitches[*node].op == Op::Pu;
            let runs: Vec<(usize, usize)> = {
                let mut runs = Vec::new();
                let mut at = 0;
                for run in made.chunk_by(|a, b| picks(a) == picks(b)) {
                    if picks(&run[0]) {
                        runs.push((at, at + run.len()));
                    }
                    at += run.len();
                }
                runs
            };
            for (first, end) in runs {
                self.pick_up_run(row.side, &made, first, end);
            }
        }
    }

    fn pick_up_run(&mut self, side: Side, made: &[usize], first: usize, end: usize) {
        // After live stitches she goes down the edge at their end, before live stitches up the one at theirs.
        let (beside, downwards) = match (first.checked_sub(1).map(|at| made[at]), made.get(end)) {
            (Some(before), _) => (before, true),
            (None, Some(&after)) => (after, false),
            (None, None) => return,
        };
        let Some(&below) = self.graph.parents(id_of(beside)).first() else { return };
        let at_left = (side == Side::Right) == downwards;
        let mut edge = self.edge_below(below, at_left);
        let wanted = ((end - first) as f64 * self.fabric.rows_per_stitch).round() as usize;
        edge.truncate(wanted.max(1));
        if !downwards {
            edge.reverse();
        }
        for (place, node) in made[first..end].iter().enumerate() {
            let along = (place as f64 + 0.5) / (end - first) as f64 * edge.len() as f64;
            let Some(&on_edge) = edge.get(along as usize) else { return };
            let rest = self.mesh.stitches[*node].height;
            let id = self.link(LinkKind::Wale, on_edge, *node, rest, self.fabric.stretch);
            self.mesh.main[*node][DOWN] = id;
        }
    }

    /// The end stitches of the rows from that of `top` downwards.
    fn edge_below(&self, top: StitchId, at_left: bool) -> Vec<usize> {
        let row = self.graph.stitches()[top.index()].row.index();
        let ends = self.graph.rows()[..=row].iter().rev().filter_map(|row| {
            let nodes = left_to_right(row);
            let end = if at_left { nodes.first() } else { nodes.last() };
            end.map(|&node| node as usize)
        });
        let open = if at_left { LEFT } else { RIGHT };
        ends.filter(|&node| self.mesh.main[node][open] == NONE).collect()
    }
}
