//! A coarser cloth that stands for a piece: every second row, every second stitch, each twice as large.
//!
//! Groups of about two by two stitches follow the columns: what is worked into a group belongs to the one above it, and
//! where four stitches or more stand on one group they are divided. The coarser cloth is as wide and as high as the
//! start guesses, folds counted in, so that ribs and ridges need no folds of their own in it; what rolls it, it keeps.
//! It can be made coarser again.

mod links;

use super::{DOWN, LEFT, Mesh, NONE, RIGHT, UP};
use crate::{Fabric, Vec3};

/// How many times as wide as a stitch is one of the coarser cloth.
const COARSER: f64 = 2.0;

/// So many stitches that stand on one group make more than one.
const DIVIDED: usize = 4;

/// Fewer groups make no round.
const ROUND: usize = 3;

/// What a piece measures once its folds are guessed.
pub(crate) struct Sizes {
    /// From the left neighbour of each node to it; 0 where it has none.
    steps: Vec<f64>,
    /// From the node beneath each to it, along the cloth.
    rises: Vec<f64>,
}

/// A coarser cloth, its lengths in widths of its own stitches, and where the finer one lies in it.
pub(crate) struct Coarse {
    pub(crate) mesh: Mesh,
    pub(crate) sizes: Sizes,
    /// The node of the coarser cloth that each finer node belongs to.
    group: Vec<u32>,
    /// How far each finer node lies from the middle of its group, along the row and up, in stitches of the coarser cloth.
    off: Vec<[f64; 2]>,
}

impl Fabric {
    /// The fabric of a coarser cloth of the same stuff, in its own stitches: as firm against stretching and shear, limper
    /// and heavier by the square of their width.
    pub(crate) fn coarser(&self) -> Fabric {
        let square = COARSER * COARSER;
        Fabric { bend: self.bend / square, bed: self.bed * square, ..*self }
    }
}

impl Mesh {
    /// The sizes that the start guesses of a piece.
    pub(crate) fn guessed_sizes(&self) -> Sizes {
        let rows = &self.parts[0].rows;
        let rises = self.rises(rows).into_iter().map(|(along, _)| along);
        Sizes { steps: self.steps(rows), rises: rises.collect() }
    }

    /// The coarser cloth of a piece.
    pub(crate) fn coarser(&self, sizes: &Sizes, fabric: &Fabric) -> Coarse {
        links::coarser(self, sizes, Groups::of(self), fabric)
    }
}

/// Which group each node belongs to.
struct Groups<'a> {
    mesh: &'a Mesh,
    of: Vec<u32>,
    /// The groups of each row of the coarser cloth, from left to right.
    rows: Vec<Vec<u32>>,
    count: u32,
}

impl Groups<'_> {
    fn of(mesh: &Mesh) -> Groups<'_> {
        let mut groups = Groups { mesh, of: vec![NONE; mesh.len()], rows: Vec::new(), count: 0 };
        for pair in mesh.parts[0].rows.chunks(2) {
            groups.divide(&pair[0]);
            if let Some(above) = pair.get(1) {
                groups.follow(above);
            }
        }
        groups.adopt();
        groups
    }

    /// The group of the stitch that a node stands on.
    fn beneath(&self, node: u32) -> Option<u32> {
        let group = self.of[self.mesh.neighbour(node as usize, DOWN)?];
        (group != NONE).then_some(group)
    }

    /// Divides a row into groups that stand on those beneath.
    fn divide(&mut self, row: &[u32]) {
        let runs = self.runs(row);
        let parts = |run: &[u32]| if run.len() < DIVIDED { 1 } else { run.len() / 2 };
        let closed = row.iter().any(|&node| self.mesh.stitches[node as usize].closed);
        let few = closed && runs.iter().map(|run| parts(run)).sum::<usize>() < ROUND;
        let mut made = Vec::new();
        for run in &runs {
            let parts = if few { run.len() } else { parts(run) };
            for part in 0..parts {
                for &node in &run[run.len() * part / parts..run.len() * (part + 1) / parts] {
                    self.of[node as usize] = self.count;
                }
                made.push(self.count);
                self.count += 1;
            }
        }
        self.rows.push(made);
    }

    /// The stitches of a row, in order, by the group that they stand on. A single one takes the next ones to it, and one
    /// that stands on nothing goes with the one before it.
    fn runs(&self, row: &[u32]) -> Vec<Vec<u32>> {
        let mut runs: Vec<(Option<u32>, Vec<u32>)> = Vec::new();
        for &node in row {
            let beneath = self.beneath(node);
            match runs.last_mut() {
                Some((under, run)) if beneath.is_none() || *under == beneath || run.len() == 1 => {
                    *under = under.or(beneath);
                    run.push(node);
                }
                _ => runs.push((beneath, vec![node])),
            }
        }
        runs.into_iter().map(|(_, run)| run).collect()
    }

    /// Gives the nodes of a row to the groups beneath them.
    fn follow(&mut self, row: &[u32]) {
        let mut last = row.iter().find_map(|&node| self.beneath(node));
        for &node in row {
            last = self.beneath(node).or(last);
            self.of[node as usize] = last.unwrap_or(NONE);
        }
    }

    /// Gives nodes that stand in no row to the group of what they are tied to, or else to the first.
    fn adopt(&mut self) {
        for link in &self.mesh.links {
            let [from, to] = [link.from as usize, link.to as usize];
            match (self.of[from], self.of[to]) {
                (NONE, group) => self.of[from] = group,
                (group, NONE) => self.of[to] = group,
                _ => (),
            }
        }
        self.of.iter_mut().filter(|group| **group == NONE).for_each(|group| *group = 0);
    }
}

impl Coarse {
    /// Where the finer nodes lie when the coarser ones lie so, each as far out of the cloth as `lifted` says.
    pub(crate) fn refined(&self, x: &[Vec3], lifted: impl Fn(usize) -> f64) -> Vec<Vec3> {
        let refined = |node: usize| {
            let group = self.group[node] as usize;
            let (course, wale) = (self.ways(x, group, [LEFT, RIGHT]), self.ways(x, group, [DOWN, UP]));
            let [right, up] = self.off[node];
            let place =
                x[group] + course[usize::from(right > 0.0)] * right + wale[usize::from(up > 0.0)] * up;
            let out = course[0].cross(wale[0]).unit();
            place * COARSER + out * lifted(node)
        };
        (0..self.group.len()).map(refined).collect()
    }

    /// The ways from the neighbour behind to a node, and from it to the neighbour ahead; one stands for the other where
    /// there is none.
    fn ways(&self, x: &[Vec3], node: usize, [behind, ahead]: [usize; 2]) -> [Vec3; 2] {
        let before = self.mesh.neighbour(node, behind).map(|behind| x[node] - x[behind]);
        let after = self.mesh.neighbour(node, ahead).map(|ahead| x[ahead] - x[node]);
        [before.or(after), after.or(before)].map(|way| way.unwrap_or(Vec3::ZERO))
    }
}

#[cfg(test)]
mod tests {
    use loops::{Piece, Side, Worked};

    use crate::{Fabric, Mesh};

    fn mesh(worked: Worked, cast_on: u32, rows: impl Iterator<Item = String>) -> Mesh {
        let piece = Piece::of_tokens(worked, Side::Right, cast_on, rows).expect("known tokens");
        Mesh::of(&piece, &Fabric::default()).expect("a piece with rows")
    }

    fn ruffle() -> Mesh {
        let round = |round: u32| match round {
            0 => "k*18".to_owned(),
            _ => vec![format!("k*{round} m1"); 18].join(" "),
        };
        mesh(Worked::Round, 18, (0..24).map(round))
    }

    /// Again and again, the coarser cloth is sound, has about a quarter of the stitches, and asks for as much room.
    #[test]
    fn a_coarser_cloth_is_as_large() {
        let flat =
            mesh(Worked::Flat, 40, (0..40).map(|row| if row % 2 == 0 { "k*40" } else { "p*40" }.to_owned()));
        for (what, mut fine) in [("flat", flat), ("ruffle", ruffle())] {
            let (mut fabric, mut sizes) = (Fabric::default(), fine.guessed_sizes());
            for _ in 0..2 {
                let coarse = fine.coarser(&sizes, &fabric);
                coarse.mesh.check().expect(what);
                let share = fine.len() as f64 / coarse.mesh.len() as f64;
                assert!((3.5..4.6).contains(&share), "{what}: {share} stitches in one");
                let girth = |mesh: &Mesh, row: f64| {
                    let rows = mesh.rows(0);
                    let row = &rows[(row * rows.len() as f64) as usize];
                    row.iter().map(|&node| mesh.stitches[node as usize].width).sum::<f64>()
                };
                let wide = girth(&coarse.mesh, 0.5) * 2.0 / girth(&fine, 0.5);
                assert!((0.9..1.1).contains(&wide), "{what}: {wide} times as wide");
                (fine, sizes, fabric) = (coarse.mesh, coarse.sizes, fabric.coarser());
            }
        }
    }

    /// What the finer cloth is laid out from the coarser one's own start lies where it started, to half a stitch or so.
    #[test]
    fn refining_undoes_coarsening() {
        let fine = mesh(Worked::Flat, 40, (0..40).map(|_| "k*40".to_owned()));
        let coarse = fine.coarser(&fine.guessed_sizes(), &Fabric::default());
        let refined = coarse.refined(coarse.mesh.start(), |node| fine.start()[node].z);
        for (one, other) in refined.iter().zip(fine.start()) {
            assert!((*one - *other).norm() < 0.6, "{one:?} for {other:?}");
        }
    }
}
