//! Where the nodes start from: rows laid one above another, their folds guessed.
//!
//! A fold guessed from the faces of a stitch and its neighbours alone already narrows ribs and shortens garter, so
//! that the solver starts with about the right size everywhere; it would take hundreds of steps to carry such a
//! change across a wide piece.
//!
//! Flat work lies in a plane; rounds lie on a surface of revolution whose radius follows the counts.

use std::f64::consts::TAU;
use std::ops::Range;

use loops::Cross;

use super::{DOWN, LEFT, Mesh, RIGHT, UP};
use crate::Vec3;
use crate::fabric::CROSSING_LEAN;

/// How much of a guessed direction or height is carried from one stitch to the next. Less forgets sooner, so
/// that an error in the guess stays where it arose; folds repeat every few stitches.
const CARRY: f64 = 0.8;

/// How much of a guessed size is carried from one row or column to the next: neighbours may differ in size by
/// little, or the errors of the guess add up to a tear across a wide piece.
const SPREAD: f64 = 0.95;

/// How far before or behind the plane the stitches of a crossing start, in stitch widths.
const PARTING: f64 = 0.6;

/// How much of its way a round piece must go outwards, or inwards if it is begun at the rim, to count as a disc, which is
/// laid on a table, rather than a tube or a cap, which stands. Circles knitted by a rule come out between 0.6 and 1, the
/// steepest crowns of caps at half.
const DISC: f64 = 0.55;

impl Mesh {
    pub(super) fn lay_out(&mut self) {
        let count = self.len();
        self.start = vec![Vec3::ZERO; count];
        let rows = self.parts.first().map(|part| part.rows.clone()).unwrap_or_default();
        let rises = self.rises(&rows);
        let rises = self.parted(rises);
        let steps = self.steps(&rows);
        let closed = rows.iter().filter(|row| row.iter().any(|&n| self.stitches[n as usize].closed)).count();
        if closed * 2 > rows.len() {
            self.lay_rounds(&rows, &rises, &steps);
        } else {
            self.lay_rows(&rows, &rises, &steps);
        }
        self.overlap();
        // Turns that were let fall stand in no row; they lie with the stitch they are tied to.
        for link in &self.links {
            if self.stitches[link.to as usize].let_fall {
                self.start[link.to as usize] = self.start[link.from as usize];
            }
        }
    }

    /// Sets the groups of each crossing over each other, in its row and in the row beneath.
    fn overlap(&mut self) {
        let crossings: Vec<(Cross, Range<usize>)> = self.crossings().collect();
        for (cross, nodes) in crossings {
            let parted = nodes.start + cross.worked as usize;
            let (worked, held): (Vec<usize>, Vec<usize>) = nodes.partition(|&node| node < parted);
            let beneath = |group: &[usize]| -> Vec<usize> {
                group.iter().filter_map(|&node| self.neighbour(node, DOWN)).collect()
            };
            let rows = [(beneath(&worked), beneath(&held)), (worked, held)];
            for (one, other) in rows {
                self.draw_together(&one, &other);
            }
        }
    }

    fn draw_together(&mut self, one: &[usize], other: &[usize]) {
        let middle = |group: &[usize]| {
            let sum: Vec3 = group.iter().map(|&node| self.start[node]).sum();
            sum * (1.0 / group.len().max(1) as f64)
        };
        let apart = (middle(other) - middle(one)) * (1.0 - CROSSING_LEAN);
        let all = (one.len() + other.len()).max(1) as f64;
        for &node in one {
            self.start[node] += apart * (other.len() as f64 / all);
        }
        for &node in other {
            self.start[node] -= apart * (one.len() as f64 / all);
        }
    }

    /// The fold of a node less that of its neighbours on both sides: zero where a whole field folds alike, which
    /// in a plane it cannot.
    fn lone_fold(&self, node: usize, one: usize, other: usize) -> f64 {
        let fold = |node: usize| if one == LEFT { self.folds[node].course } else { self.folds[node].wale };
        let own = fold(node);
        let side = |direction| self.neighbour(node, direction).map_or(own, fold);
        (own - (side(one) + side(other)) / 2.0) / 2.0
    }

    /// How each node stands above its parent: along the cloth, and out of it.
    ///
    /// What the columns guess each for itself is blended along the rows, as the steps are along the columns.
    pub(super) fn rises(&self, rows: &[Vec<u32>]) -> Vec<(f64, f64)> {
        let mut headings = vec![0.0; self.len()];
        let mut depths = vec![0.0; self.len()];
        let mut guessed: Vec<f64> = self.stitches.iter().map(|patch| patch.height).collect();
        // Parents come before their children.
        for node in 0..self.len() {
            let Some(parent) = self.neighbour(node, DOWN) else { continue };
            let heading = CARRY * headings[parent] + self.lone_fold(parent, DOWN, UP);
            headings[node] = heading;
            depths[node] = CARRY * depths[parent] + guessed[node] * f64::sin(heading);
            guessed[node] *= f64::cos(heading);
        }
        let mut blended = vec![0.0; self.len()];
        for row in rows {
            let mut carry = |nodes: &mut dyn Iterator<Item = u32>| {
                let mut last = None;
                for node in nodes {
                    let own = guessed[node as usize];
                    let value = last.map_or(own, |last| SPREAD * last + (1.0 - SPREAD) * own);
                    blended[node as usize] += value / 2.0;
                    last = Some(value);
                }
            };
            carry(&mut row.iter().copied());
            carry(&mut row.iter().rev().copied());
        }
        blended.into_iter().zip(depths).collect()
    }

    /// Sets the stitches of a crossing, and those they come from, before and behind each other. The shape has as
    /// little energy the one way as the other; which it is the needle has said.
    fn parted(&self, mut rises: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
        for node in 0..self.len() {
            let layer = f64::from(self.stitches[node].layer);
            if layer != 0.0 {
                rises[node].1 += layer * PARTING;
                if let Some(parent) = self.neighbour(node, DOWN) {
                    rises[parent].1 += layer * PARTING;
                }
            }
        }
        rises
    }

    /// The distance along the row from each node's left neighbour to it, folds guessed.
    ///
    /// What the rows guess each for itself is blended along the columns, because a row cannot be narrower than
    /// those it is knitted to.
    pub(super) fn steps(&self, rows: &[Vec<u32>]) -> Vec<f64> {
        let mut guessed = vec![0.0; self.len()];
        for row in rows {
            let mut heading = 0.0;
            for &node in row {
                let node = node as usize;
                if let Some(link) = self.links.get(self.main[node][LEFT] as usize) {
                    guessed[node] = link.rest * f64::cos(heading);
                }
                heading = CARRY * heading + self.lone_fold(node, LEFT, RIGHT);
            }
        }
        let mut from_below = guessed.clone();
        let mut from_above = guessed.clone();
        for node in 0..self.len() {
            self.blend(&mut from_below, node, DOWN);
        }
        for node in (0..self.len()).rev() {
            self.blend(&mut from_above, node, UP);
        }
        from_below.iter().zip(&from_above).map(|(below, above)| (below + above) / 2.0).collect()
    }

    /// Carries the step of the row beneath or above over to a node, where both neighbours stand on neighbours.
    fn blend(&self, steps: &mut [f64], node: usize, direction: usize) {
        let beyond = self.neighbour(node, direction);
        let left = self.neighbour(node, LEFT).and_then(|left| self.neighbour(left, direction));
        if let (Some(beyond), Some(left)) = (beyond, left)
            && self.neighbour(beyond, LEFT) == Some(left)
        {
            steps[node] = SPREAD * steps[beyond] + (1.0 - SPREAD) * steps[node];
        }
    }

    /// The places along a row, from its left end, and the depths there.
    fn along(&self, row: &[u32], steps: &[f64]) -> (Vec<f64>, Vec<f64>) {
        let (mut x, mut z, mut heading) = (0.0, 0.0, 0.0);
        let mut places = Vec::with_capacity(row.len());
        let mut depths = Vec::with_capacity(row.len());
        for (order, &node) in row.iter().enumerate() {
            let node = node as usize;
            if order > 0 {
                let before = row[order - 1] as usize;
                let step = steps[node];
                let step = if step > 0.0 { step } else { self.bridge(before, node) };
                x += step;
                z = CARRY * z - f64::sin(heading);
            }
            places.push(x);
            depths.push(z);
            heading = CARRY * heading + self.lone_fold(node, LEFT, RIGHT);
        }
        (places, depths)
    }

    /// The distance of two neighbours in a row that no link joins: that of the stitches beneath.
    fn bridge(&self, left: usize, right: usize) -> f64 {
        match (self.neighbour(left, DOWN), self.neighbour(right, DOWN)) {
            (Some(left), Some(right)) => (self.start[right].x - self.start[left].x).max(1.0),
            _ => 1.0,
        }
    }

    fn lay_rows(&mut self, rows: &[Vec<u32>], rises: &[(f64, f64)], steps: &[f64]) {
        for row in rows {
            let (places, depths) = self.along(row, steps);
            let below: Vec<Option<Vec3>> = row
                .iter()
                .map(|&node| self.neighbour(node as usize, DOWN).map(|parent| self.start[parent]))
                .collect();
            let shifts = below.iter().zip(&places).filter_map(|(below, x)| below.map(|below| below.x - x));
            let (sum, count) = shifts.fold((0.0, 0.0), |(sum, count), shift| (sum + shift, count + 1.0));
            let shift = if count > 0.0 { sum / count } else { -places.last().copied().unwrap_or(0.0) / 2.0 };
            let base = fill(&below.iter().map(|below| below.map(|below| below.y)).collect::<Vec<_>>());
            for (order, &node) in row.iter().enumerate() {
                let (rise, out) = rises[node as usize];
                let rise = if below.iter().all(Option::is_none) { 0.0 } else { rise };
                self.start[node as usize] =
                    Vec3::new(places[order] + shift, base[order] + rise, depths[order] + out);
            }
        }
    }

    fn lay_rounds(&mut self, rows: &[Vec<u32>], rises: &[(f64, f64)], steps: &[f64]) {
        let (rings, disc) = self.rings(rows, rises, steps);
        let innermost = rings.last().map_or(0.0, |ring| ring.radius + ring.travelled);
        let mut angles = vec![0.0; self.len()];
        for (row, ring) in rows.iter().zip(&rings) {
            let (places, depths) = self.along(row, steps);
            let whole_turn = TAU / ring.girth;
            let turned = row.iter().zip(&places).filter_map(|(&node, place)| {
                let parent = self.neighbour(node as usize, DOWN)?;
                Some(angles[parent] - place * whole_turn)
            });
            let shift = mean_angle(turned).unwrap_or(0.0);
            for (order, &node) in row.iter().enumerate() {
                let angle = places[order] * whole_turn + shift;
                angles[node as usize] = angle;
                let depth = depths[order] + rises[node as usize].1;
                self.start[node as usize] = match disc {
                    Some(Disc::Outwards) => {
                        Vec3::new(ring.travelled * angle.sin(), ring.travelled * angle.cos(), depth)
                    }
                    Some(Disc::Inwards) => {
                        let out = innermost - ring.travelled;
                        Vec3::new(out * angle.sin(), -out * angle.cos(), depth)
                    }
                    None => {
                        let out = ring.radius + depth;
                        Vec3::new(out * angle.sin(), ring.height, out * angle.cos())
                    }
                };
            }
        }
        for part in self.parts.iter_mut().filter(|_| disc.is_some()) {
            part.lies = true;
            part.too_full = disc == Some(Disc::Outwards) && too_full(&rings);
        }
    }

    /// The ring that each round lies in, and the disc that they make, if they do; it lies with its right side up.
    fn rings(&self, rows: &[Vec<u32>], rises: &[(f64, f64)], steps: &[f64]) -> (Vec<Ring>, Option<Disc>) {
        let mut rings: Vec<Ring> = Vec::with_capacity(rows.len());
        for row in rows {
            let (places, _) = self.along(row, steps);
            let closing = row.first().map_or(0.0, |&first| steps[first as usize]);
            let closing = if closing > 0.0 { closing } else { 1.0 };
            let girth = (places.last().copied().unwrap_or(0.0) + closing).max(1.0);
            let slope = mean(row.iter().map(|&node| rises[node as usize].0));
            let wanted = girth / TAU;
            rings.push(match rings.last() {
                None => Ring { girth, radius: wanted, height: 0.0, travelled: wanted },
                Some(last) => {
                    let change = (wanted - last.radius).clamp(-slope, slope);
                    let up = (slope * slope - change * change).max(0.0).sqrt();
                    Ring {
                        girth,
                        radius: last.radius + change,
                        height: last.height + up,
                        travelled: last.travelled + slope,
                    }
                }
            });
        }
        let disc = match rings.as_slice() {
            [first, .., last] => {
                let (wider, way) = (last.radius - first.radius, last.travelled - first.travelled);
                let way_of = if wider > 0.0 { Disc::Outwards } else { Disc::Inwards };
                (wider.abs() > way * DISC).then_some(way_of)
            }
            _ => None,
        };
        (rings, disc)
    }
}

/// A piece in rounds that lies flat.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Disc {
    /// Begun in the middle.
    Outwards,
    /// Begun at the rim.
    Inwards,
}

/// Where a round lies on its surface of revolution.
struct Ring {
    /// Length of the round.
    girth: f64,
    /// Distance from the axis.
    radius: f64,
    /// Along the axis.
    height: f64,
    /// Distance from the axis along the cloth; the radius if it lies flat.
    travelled: f64,
}

/// Whether a disc grows by a third faster than a plane has room for, and nine tenths of it lie in rounds that are too long
/// by a sixth. Circles by doubling are so by turns only; less full ones keep their ripples, and settle as soon from the
/// guess.
fn too_full(rings: &[Ring]) -> bool {
    let [first, .., last] = rings else { return false };
    let grows = last.girth - first.girth > (last.travelled - first.travelled) * TAU * 4.0 / 3.0;
    let long = |long: bool| -> f64 {
        let rings = rings.iter().filter(|ring| (ring.girth * 6.0 > ring.travelled * TAU * 7.0) == long);
        rings.map(|ring| ring.girth).sum()
    };
    grows && long(true) > long(false) * 9.0
}

/// Fills what is not known from what is known nearest before it, else after it.
fn fill(values: &[Option<f64>]) -> Vec<f64> {
    let first = values.iter().find_map(|value| *value).unwrap_or(0.0);
    values
        .iter()
        .scan(first, |last, value| {
            *last = value.unwrap_or(*last);
            Some(*last)
        })
        .collect()
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0.0), |(sum, count), value| (sum + value, count + 1.0));
    if count > 0.0 { sum / count } else { 0.0 }
}

fn mean_angle(angles: impl Iterator<Item = f64>) -> Option<f64> {
    let (x, y, any) = angles.fold((0.0, 0.0, false), |(x, y, _), a| (x + a.cos(), y + a.sin(), true));
    any.then(|| f64::atan2(y, x))
}
