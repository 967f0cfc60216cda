//! The mesh of a coarser cloth: its groups as nodes, and the links between them.

use super::{COARSER, Coarse, Groups, Sizes};
use crate::grouped::Grouped;
use crate::mesh::{DOWN, Fold, LEFT, Link, LinkKind, Mesh, NONE, Part, RIGHT, UP};
use crate::{Fabric, Vec3};

/// The shortest rest of a link of the coarser cloth, in its stitches: groups of single stitches at the middle of a round
/// may have none to speak of.
const SHORTEST: f64 = 0.1;

/// Makes the coarser cloth of these groups.
pub(super) fn coarser(fine: &Mesh, sizes: &Sizes, groups: Groups<'_>, fabric: &Fabric) -> Coarse {
    let mut builder = Builder::new(fine, sizes, groups, fabric);
    builder.nodes();
    builder.courses();
    builder.wales();
    builder.shears();
    let off = builder.off();
    Coarse { mesh: builder.out, sizes: builder.out_sizes, group: builder.groups.of, off }
}

struct Builder<'a> {
    fine: &'a Mesh,
    sizes: &'a Sizes,
    fabric: &'a Fabric,
    groups: Groups<'a>,
    /// The stitches of each group in its lower and in its upper row, from left to right.
    members: [Grouped<u32>; 2],
    out: Mesh,
    out_sizes: Sizes,
}

impl<'a> Builder<'a> {
    fn new(fine: &'a Mesh, sizes: &'a Sizes, groups: Groups<'a>, fabric: &'a Fabric) -> Builder<'a> {
        let count = groups.count as usize;
        let part = &fine.parts[0];
        let members = [0, 1].map(|half| {
            let nodes = part.rows.iter().skip(half).step_by(2).flatten();
            let grouped = nodes.map(|&node| (groups.of[node as usize], node));
            Grouped::new(count, grouped.filter(|&(group, _)| group != NONE))
        });
        let first_of = |group| fine.stitches[members[0].of(group)[0] as usize];
        let out = Mesh {
            stitches: (0..count).map(first_of).collect(),
            links: Vec::new(),
            main: vec![[NONE; 4]; count],
            folds: vec![Fold::default(); count],
            feet: Grouped::default(),
            start: vec![Vec3::ZERO; count],
            triangles: Vec::new(),
            parts: vec![Part { first: 0, end: groups.count, rows: groups.rows.clone(), ..part.clone() }],
        };
        let out_sizes = Sizes { steps: vec![0.0; count], rises: vec![0.0; count] };
        Builder { fine, sizes, fabric, groups, members, out, out_sizes }
    }

    fn all(&self, group: usize) -> impl Iterator<Item = usize> + '_ {
        self.members.iter().flat_map(move |half| half.of(group)).map(|&node| node as usize)
    }

    /// Where each group starts, how wide it is and how it wants to fold: as much as its rows and columns together.
    fn nodes(&mut self) {
        for group in 0..self.out.len() {
            let (mut fold, mut middle, mut count) = (Fold::default(), Vec3::ZERO, 0.0);
            for node in self.all(group) {
                fold.course += self.fine.folds[node].course;
                fold.wale += self.fine.folds[node].wale;
                middle += self.fine.start[node];
                count += 1.0;
            }
            let each = COARSER / count;
            self.out.folds[group] = Fold { course: fold.course * each, wale: fold.wale * each };
            self.out.start[group] = middle * (1.0 / (count * COARSER));
            self.out.stitches[group].width = self.width(group);
        }
    }

    /// How wide a group is, in stitches of the coarser cloth: the mean of its two rows.
    fn width(&self, group: usize) -> f64 {
        let step = |node: usize| {
            let step = self.sizes.steps[node];
            if step > 0.0 { step } else { self.fine.stitches[node].width }
        };
        let rows = self.members.iter().filter(|row| !row.of(group).is_empty()).count();
        self.all(group).map(step).sum::<f64>() / (rows as f64 * COARSER)
    }

    fn link(&mut self, kind: LinkKind, [from, to]: [u32; 2], rest: f64, modulus: f64) -> u32 {
        let id = self.out.links.len() as u32;
        let rest = rest.max(SHORTEST);
        self.out.links.push(Link { from, to, rest, stiffness: modulus / rest, kind });
        id
    }

    fn courses(&mut self) {
        for row in self.groups.rows.clone() {
            let ahead = row.iter().skip(1).chain(row.first().filter(|_| row.len() > 2));
            for (&one, &other) in row.iter().zip(ahead) {
                if !self.beside(one, other) {
                    continue;
                }
                let width = |group: u32| self.out.stitches[group as usize].width;
                let rest = (width(one) + width(other)) / 2.0;
                let id = self.link(LinkKind::Course, [one, other], rest, self.fabric.stretch);
                self.out.main[one as usize][RIGHT] = id;
                self.out.main[other as usize][LEFT] = id;
                self.out_sizes.steps[other as usize] = rest;
            }
        }
    }

    /// Whether the last stitch of one group is the left neighbour of the first of the other, in either row.
    fn beside(&self, one: u32, other: u32) -> bool {
        self.members.iter().any(|row| match (row.of(one as usize), row.of(other as usize)) {
            ([.., last], [first, ..]) => self.fine.neighbours(*last as usize, *first as usize),
            _ => false,
        })
    }

    /// The groups that a group stands on, from left to right, each with how many of its stitches stand there.
    fn parents(&self, group: usize) -> Vec<(u32, f64)> {
        let mut parents: Vec<(u32, f64)> = Vec::new();
        for beneath in self.members[0].of(group).iter().filter_map(|&node| self.groups.beneath(node)) {
            match parents.iter_mut().find(|parent| parent.0 == beneath) {
                Some(parent) => parent.1 += 1.0,
                None => parents.push((beneath, 1.0)),
            }
        }
        parents
    }

    fn wales(&mut self) {
        let count = self.out.len();
        let parents: Vec<Vec<(u32, f64)>> = (0..count).map(|group| self.parents(group)).collect();
        let mut children: Vec<Vec<u32>> = vec![Vec::new(); count];
        for (group, parents) in parents.iter().enumerate() {
            parents.iter().for_each(|parent| children[parent.0 as usize].push(group as u32));
        }
        let mut straightest = vec![f64::MAX; count];
        for (group, under) in parents.iter().enumerate() {
            let below: Vec<u32> = under.iter().map(|parent| parent.0).collect();
            for &(parent, standing) in under {
                // The middle of several stands over the middle of what they stand on.
                let aside = match below.as_slice() {
                    [_] => self.aside(&children[parent as usize], group as u32),
                    _ => self.aside(&below, parent),
                };
                let rise = self.rise(parent as usize, group);
                let modulus = self.fabric.stretch * standing / COARSER;
                let id = self.link(LinkKind::Wale, [parent, group as u32], rise.hypot(aside), modulus);
                if self.out.main[group][DOWN] == NONE {
                    self.out.main[group][DOWN] = id;
                    self.out_sizes.rises[group] = rise;
                    if aside.abs() < straightest[parent as usize] {
                        straightest[parent as usize] = aside.abs();
                        self.out.main[parent as usize][UP] = id;
                    }
                }
            }
        }
    }

    /// How far one of some groups beside each other lies to the right of their middle.
    fn aside(&self, groups: &[u32], one: u32) -> f64 {
        let width = |group: &u32| self.out.stitches[*group as usize].width;
        let left = groups.iter().take_while(|&&group| group != one).map(width).sum::<f64>();
        left + width(&one) / 2.0 - groups.iter().map(width).sum::<f64>() / 2.0
    }

    /// How far the middle of a group stands above that of the one beneath, in stitches of the coarser cloth.
    fn rise(&self, beneath: usize, group: usize) -> f64 {
        let mean = |row: usize, group: usize| {
            let members = self.members[row].of(group);
            let sum: f64 = members.iter().map(|&node| self.sizes.rises[node as usize]).sum();
            sum / members.len().max(1) as f64
        };
        (mean(0, group) + (mean(1, group) + mean(1, beneath)) / 2.0) / COARSER
    }

    fn shears(&mut self) {
        for group in 0..self.out.len() {
            let Some(right) = self.out.neighbour(group, RIGHT) else { continue };
            let below = [group, right].map(|node| self.out.neighbour(node, DOWN));
            let [Some(under), Some(under_right)] = below else { continue };
            if self.out.neighbour(under, RIGHT) != Some(under_right) {
                continue;
            }
            let wide = [group, under].map(|node| self.out.links[self.out.main[node][RIGHT] as usize].rest);
            let high = [group, right].map(|node| self.out_sizes.rises[node]);
            let rest = f64::hypot((wide[0] + wide[1]) / 2.0, (high[0] + high[1]) / 2.0);
            for ends in [[under, right], [under_right, group]] {
                self.link(LinkKind::Shear, ends.map(|node| node as u32), rest, self.fabric.shear);
            }
        }
    }

    /// Where each node lies in its group, along the row and up.
    fn off(&self) -> Vec<[f64; 2]> {
        let mut off = vec![[0.0; 2]; self.fine.len()];
        for group in 0..self.out.len() {
            let [lower, upper] = [0, 1].map(|row| self.members[row].of(group));
            let heights = if upper.is_empty() { [0.0; 2] } else { [-0.25, 0.25] };
            for (members, up) in [lower, upper].into_iter().zip(heights) {
                for (place, &node) in members.iter().enumerate() {
                    off[node as usize] = [(place as f64 + 0.5) / members.len() as f64 - 0.5, up];
                }
            }
        }
        off
    }
}
