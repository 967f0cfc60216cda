//! The energy and its gradient.

mod common;

use cloth::{Energy, Fabric, Mesh, Pin, Scratch, Vec3};
use loops::{Piece, Worked};

/// A piece with something of everything.
fn mixed() -> Piece {
    let rows = [
        "k*2 yo k2tog p*2 c2/2f k*2",
        "p*4 k*2 p*6",
        "kfb k yo k3tog slwyif k m1 k*4 bo",
        "p*5 k*3 p*4",
        "k*3 co*2 k*3 drop k*5",
        "p*13",
    ];
    common::piece(Worked::Flat, 12, rows.map(str::to_owned))
}

#[test]
fn the_gradient_is_the_slope_of_the_energy() {
    let fabric = Fabric::default();
    let mesh = Mesh::of(&mixed(), &fabric).unwrap();
    mesh.check().unwrap();
    let pins = [Pin { node: 3, at: Vec3::new(0.5, 0.2, -0.1) }];
    let energy = Energy::new(&mesh, &fabric, &pins);
    // As it starts, and squeezed so that ribs touch.
    for squeezed in [1.0, 0.3] {
        let shaken = |(i, p): (usize, &Vec3)| {
            let shake = |k: f64| 0.2 * (k * (i as f64 + 1.0)).sin();
            Vec3::new(p.x * squeezed, p.y, p.z) + Vec3::new(shake(1.3), shake(2.1), shake(3.7))
        };
        let x: Vec<Vec3> = mesh.start().iter().enumerate().map(shaken).collect();
        assert_slope(&energy, &x);
    }
}

/// Holds the gradient against differences of the energy.
fn assert_slope(energy: &Energy, x: &[Vec3]) {
    let (mut gradient, mut spare) = (vec![Vec3::ZERO; x.len()], vec![Vec3::ZERO; x.len()]);
    let mut scratch = Scratch::default();
    energy.evaluate(x, &mut gradient, &mut scratch);
    let step = 1e-6;
    for node in 0..x.len() {
        for (axis, own) in [
            (Vec3::new(1.0, 0.0, 0.0), gradient[node].x),
            (Vec3::new(0.0, 1.0, 0.0), gradient[node].y),
            (Vec3::new(0.0, 0.0, 1.0), gradient[node].z),
        ] {
            let mut at = |by: f64| {
                let mut moved = x.to_vec();
                moved[node] += axis * by;
                energy.evaluate(&moved, &mut spare, &mut scratch)
            };
            let slope = (at(step) - at(-step)) / (2.0 * step);
            assert!((slope - own).abs() < 1e-6 * (1.0 + slope.abs()), "node {node}: {slope} is not {own}");
        }
    }
}
