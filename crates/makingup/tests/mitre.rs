//! Mitred corners in the model of the cloth: a strip of garter that is turned by its own short rows and held along a
//! path with a corner.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod common;

use cloth::{Energy, Fabric, Gauge, Mesh, Pin, Preconditioner, Settings, Vec3, minimise};
use makingup::corner::ShortRows;
use makingup::{FLAT, Strip};
use proptest::prelude::*;

/// The outer edge and the rows near a corner.
struct Lies {
    /// Its length between two rows, in stitches.
    step: f64,
    /// How much longer it is than its shadow.
    ruffle: f64,
    /// How much deeper full rows are than their shadows.
    cup: f64,
}

impl Lies {
    /// Strain, ruffle and cup beyond those of a straight strip.
    fn against(&self, straight: &Lies) -> [f64; 3] {
        [self.step / straight.step - 1.0, self.ruffle - straight.ruffle, self.cup - straight.cup]
    }
}

/// The rows of a wedge there and back: how many stitches each pair of them works.
fn wedge(stitches: u32, left_in_each: &[u32]) -> Vec<u32> {
    let mut worked = stitches;
    let mut there = Vec::new();
    for left in left_in_each {
        worked -= left;
        there.extend((worked > 0).then_some(worked));
    }
    let back = there.clone().into_iter().rev();
    there.into_iter().chain(back).collect()
}

/// How a strip lies that is straight, turns by its short rows, and is straight again.
fn lies(stitches: u32, left_in_each: &[u32], turn: f64, gauge: &Gauge, strip: &Strip) -> Lies {
    let side = 2 * (stitches as usize);
    let wedge = wedge(stitches, left_in_each);
    let mut rows = vec![format!("k*{stitches}"); side];
    for worked in &wedge {
        rows.push(format!("k*{worked} turn"));
        rows.push(format!("k*{worked}"));
    }
    rows.extend(vec![format!("k*{stitches}"); side]);
    let rows: Vec<&str> = rows.iter().map(String::as_str).collect();
    let piece = common::flat("strip", stitches, &rows);
    let fabric = Fabric { rows_per_stitch: gauge.rows_per_stitch(), ..Fabric::default() };
    let mesh = Mesh::of(&piece, &fabric).unwrap();
    let row = strip.row() / gauge.width();
    let mut start = mesh.start().to_vec();
    let mut pins = Vec::new();
    let direction = |angle: f64| Vec3::new(-angle.sin(), angle.cos(), 0.0);
    let (before, after) = (side, side + 2 * wedge.len());
    for (place, nodes) in mesh.rows(0).iter().enumerate() {
        let (along, angle) = if place <= before {
            ((place as f64 - before as f64 - 0.5) * row, 0.0)
        } else if place > after {
            ((place as f64 - after as f64 - 0.5) * row, turn)
        } else {
            (0.0, turn * (place - before) as f64 / (after - before + 1) as f64)
        };
        let (foot, outwards) =
            (direction(angle) * along, Vec3::new(direction(angle).y, -direction(angle).x, 0.0));
        let full = place <= before || place > after;
        for (index, &node) in nodes.iter().enumerate() {
            let out = (stitches as usize - nodes.len() + index) as f64;
            let mut at = foot + outwards * out;
            at.z = start[node as usize].z * 0.2 + 0.02 * (place as f64 * 1.3).sin();
            start[node as usize] = at;
            if full && index == 0 {
                pins.push(Pin { node, at: Vec3 { z: 0.0, ..at } });
            }
        }
    }
    let energy = Energy::new(&mesh, &fabric, &pins);
    let settings =
        Settings { tolerance: 1e-3, step_limit: 800, memory: 6, preconditioner: Preconditioner::Multigrid };
    let rest = minimise(&energy, &start, &settings);
    let at = |node: u32| rest.positions[node as usize];
    let near = side / 2..mesh.rows(0).len() - side / 2;
    let tips: Vec<Vec3> =
        mesh.rows(0)[near.clone()].iter().filter_map(|nodes| Some(at(*nodes.last()?))).collect();
    let full = mesh.rows(0)[near].iter().filter(|nodes| nodes.len() == stitches as usize);
    let across: Vec<Vec3> = full.map(|nodes| at(nodes[nodes.len() - 1]) - at(nodes[0])).collect();
    let shadow = |step: &Vec3| step.x.hypot(step.y);
    let steps: Vec<Vec3> = tips.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let length: f64 = steps.iter().map(|step| step.norm()).sum();
    Lies {
        step: length / steps.len() as f64,
        ruffle: length / steps.iter().map(shadow).sum::<f64>(),
        cup: across.iter().map(|step| step.norm()).sum::<f64>() / across.iter().map(shadow).sum::<f64>(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// With the short rows that are told, strain, ruffle and cup stay within 2 %; with a third of them the corner pulls.
    #[test]
    fn the_short_rows_of_a_mitre_lie_flat_in_the_cloth(
        stitches in 7u32..17,
        degrees in 45.0f64..120.0,
        gauge in prop::sample::select(vec![(12.0, 16.0), (20.0, 28.0), (24.0, 33.0)]),
    ) {
        let gauge = Gauge::per_10_cm(gauge.0, gauge.1).unwrap();
        let strip = Strip::of(&common::garter("garter", stitches, 2), &gauge).unwrap();
        let turn = degrees.to_radians();
        // In a narrow strip half a pair of rows is more than 2 %: what is asked for must come near whole pairs.
        let wanted = strip.depth * (turn / 2.0).tan() / (2.0 * strip.row());
        prop_assume!((wanted - wanted.round()).abs() <= 0.25);
        let straight = lies(stitches, &[], 0.0, &gauge, &strip);
        let short = ShortRows::of(&strip, turn);
        let lying = lies(stitches, &short.left_in_each, turn, &gauge, &strip);
        let [strain, ruffle, cup] = lying.against(&straight);
        prop_assert!(strain.abs() <= FLAT && ruffle <= FLAT && cup <= FLAT, "{strain} {ruffle} {cup}: {short:?}");
        // A third of them is not enough.
        let third: Vec<u32> = short.left_in_each.chunks(3).map(|pairs| pairs.iter().sum()).collect();
        let [strain, ..] = lies(stitches, &third, turn, &gauge, &strip).against(&straight);
        prop_assert!(strain > FLAT, "{strain} with {third:?}");
    }
}
