//! What must not change the cloth, and what must always hold.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod common;

use cloth::{Drape, Energy, Fabric, Gauge, Look, Measures, Mesh, Settings, State, Vec3, minimise};
use loops::{Cross, Op, Piece, Step};
use proptest::prelude::*;

fn gauge() -> Gauge {
    Gauge::per_10_cm(10.0, 40.0 / 3.0).unwrap()
}

fn measured(piece: &Piece) -> Measures {
    let fabric = Fabric::default();
    let mesh = Mesh::of(piece, &fabric).unwrap();
    let drape = Drape::of(&mesh, &fabric, State::Free, &Settings::default()).unwrap();
    Measures::of(&mesh, &drape, 0, &gauge()).unwrap()
}

fn same(one: f64, other: f64) -> bool {
    (one / other - 1.0).abs() < 0.01
}

const LACE: [&str; 4] = ["k*3 k2tog yo k yo ssk k*2", "p*10", "k*2 k2tog yo k*3 yo ssk k", "p*10"];

#[test]
fn energy_falls_at_every_step() {
    for piece in [
        common::plain(30, 30),
        common::rib(30, 30, 2, 2),
        common::corner_square(30),
        common::repeated(40, 40, &LACE),
        common::growing_circle(18, 2, 30),
    ] {
        let fabric = Fabric::default();
        let mesh = Mesh::of(&piece, &fabric).unwrap();
        let drape = Drape::of(&mesh, &fabric, State::Free, &Settings::default()).unwrap();
        assert!(drape.energies.windows(2).all(|pair| pair[1] < pair[0]));
        assert!(drape.energies.len() > 5);
    }
}

/// Coarser cloths find the way for a disc too full for a plane: it settles in few steps of its own, at no more energy than
/// from the guess, and to the same size.
#[test]
fn a_ruffle_starts_where_coarser_cloths_have_come_to() {
    let fabric = Fabric::default();
    for more in [18, 27] {
        let mesh = Mesh::of(&common::growing_circle(more, 2, 32), &fabric).unwrap();
        let drape = Drape::of(&mesh, &fabric, State::Free, &Settings::default()).unwrap();
        let guessed = minimise(&Energy::new(&mesh, &fabric, &[]), mesh.start(), &Settings::default());
        let energy = |energies: &[f64]| energies[energies.len() - 1];
        assert!(drape.energies.len() * 2 < guessed.energies.len(), "{} steps", drape.energies.len());
        assert!(energy(&drape.energies) < energy(&guessed.energies) * 1.01);
        let across = |drape: &Drape| Measures::of(&mesh, drape, 0, &gauge()).unwrap().across.unwrap().value;
        let guessed = Drape { positions: guessed.positions, ..drape.clone() };
        assert!(same(across(&drape), across(&guessed)));
    }
}

/// A start that was given is kept: the coarser cloths serve the guess alone.
#[test]
fn a_shape_at_rest_stays_at_rest() {
    let fabric = Fabric::default();
    let mesh = Mesh::of(&common::growing_circle(18, 2, 30), &fabric).unwrap();
    let drape = Drape::of(&mesh, &fabric, State::Free, &Settings::default()).unwrap();
    let again = mesh.starting(drape.positions.clone());
    let again = Drape::of(&again, &fabric, State::Free, &Settings::default()).unwrap();
    assert_eq!(again.positions, drape.positions);
}

/// The common fabrics, of so many stitches and rows, with their names.
fn fabrics(stitches: u32, rows: usize) -> [(&'static str, Piece); 5] {
    [
        ("plain", common::plain(stitches, rows)),
        ("rib", common::rib(stitches, rows, 2, 2)),
        ("garter", common::garter(stitches, rows)),
        ("cables", common::cables(stitches, rows)),
        ("lace", common::repeated(stitches, rows, &LACE)),
    ]
}

#[track_caller]
fn assert_alike(one: &Measures, other: &Measures, times: f64, what: &str) {
    let lengths = |of: &Measures| [of.width.value, of.height.value, of.area.value.sqrt()];
    for (one, other) in lengths(one).into_iter().zip(lengths(other)) {
        assert!(same(one * times, other), "{what}: {one} times {times} against {other}");
    }
}

#[test]
fn a_quarter_turn_changes_no_measure() {
    for (what, piece) in fabrics(40, 40) {
        let fabric = Fabric::default();
        let mesh = Mesh::of(&piece, &fabric).unwrap();
        let energy = Energy::new(&mesh, &fabric, &[]);
        let turned: Vec<Vec3> = mesh.start().iter().map(|p| Vec3::new(-p.y, p.x, p.z)).collect();
        let [straight, turned] = [mesh.start(), &turned].map(|start| {
            let found = minimise(&energy, start, &Settings::default());
            let drape = Drape {
                positions: found.positions,
                energies: found.energies,
                residual: found.residual,
                end: found.end,
            };
            Measures::of(&mesh, &drape, 0, &gauge()).unwrap()
        });
        assert_alike(&straight, &turned, 1.0, what);
    }
}

/// The operation that leans and crosses the other way.
fn mirrored(op: Op) -> Op {
    match op {
        Op::K2tog => Op::Ssk,
        Op::Ssk => Op::K2tog,
        Op::Cross(cross) => Op::Cross(Cross {
            held: cross.worked,
            worked: cross.held,
            front: !cross.front,
            held_purl: cross.worked_purl,
            worked_purl: cross.held_purl,
        }),
        other => other,
    }
}

#[test]
fn mirror_images_measure_alike() {
    for (what, piece) in fabrics(40, 40) {
        let mut image = piece.clone();
        for row in &mut image.rows {
            row.steps.reverse();
            for step in &mut row.steps {
                if let Step::Work(op, _) = step {
                    *op = mirrored(*op);
                }
            }
        }
        assert!(["plain", "garter"].contains(&what) || image.rows != piece.rows, "{what} is turned about");
        assert_alike(&measured(&piece), &measured(&image), 1.0, what);
    }
}

/// Twice the stitches and rows at the same gauge are twice the size. The edges are the same breadth in both; their
/// share is within 1 % from 80 stitches on.
#[test]
fn twice_the_mesh_is_twice_the_size() {
    for ((what, small), (_, large)) in fabrics(80, 80).into_iter().zip(fabrics(160, 160)) {
        assert_alike(&measured(&small), &measured(&large), 2.0, what);
    }
}

#[test]
fn any_number_of_threads_gives_the_same_bits() {
    let fabric = Fabric::default();
    let settings = Settings { step_limit: 12, ..Settings::default() };
    for piece in [common::rib(100, 80, 1, 1), common::growing_circle(18, 2, 80)] {
        let mesh = Mesh::of(&piece, &fabric).unwrap();
        let with = |threads: usize| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            pool.install(|| Drape::of(&mesh, &fabric, State::Free, &settings).unwrap())
        };
        let one = with(1);
        for threads in [2, 3] {
            assert_eq!(one, with(threads));
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    /// Whatever is on the needles: the mesh is sound or is refused in words, and the cloth stays finite.
    #[test]
    fn any_program_has_a_sound_cloth_or_is_refused(
        cast_on in 0u32..20,
        round in any::<bool>(),
        rows in prop::collection::vec(prop::collection::vec(0..Op::NAMED.len() + 2, 0..14), 0..10),
    ) {
        let crossings = ["c2/2f", "c1/2b(p,k)"].map(|name| name.parse::<Op>().unwrap());
        let tokens = rows.iter().map(|row| {
            let name = |&op: &usize| {
                Op::NAMED.get(op).copied().unwrap_or(crossings[op % 2]).to_string()
            };
            row.iter().map(name).collect::<Vec<_>>().join(" ")
        });
        let worked = if round { loops::Worked::Round } else { loops::Worked::Flat };
        let piece = common::piece(worked, cast_on, tokens);
        let fabric = Fabric::default();
        match Mesh::of(&piece, &fabric) {
            Ok(mesh) => {
                prop_assert_eq!(mesh.check(), Ok(()));
                let settings = Settings { step_limit: 60, ..Settings::default() };
                let drape = Drape::of(&mesh, &fabric, State::Free, &settings).unwrap();
                let finite = |p: &Vec3| p.x.is_finite() && p.y.is_finite() && p.z.is_finite();
                prop_assert!(drape.positions.iter().all(finite));
                prop_assert!(drape.energies.windows(2).all(|pair| pair[1] < pair[0]));
            }
            Err(error) => prop_assert!(!error.to_string().is_empty()),
        }
    }
}

/// A glance prefers the even cloth to one whose decreases were put in the wrong place, and what mirrors itself to what
/// does not; a piece without cloth is passed over.
#[test]
fn a_glance_prefers_the_even_cloth() {
    let even = common::repeated(24, 24, &["k*4 k2tog yo k*6", "p*12"]);
    let mut odd = even.clone();
    odd.rows[10].steps.swap(5, 17);
    odd.rows[14].steps.rotate_left(5);
    let cost = |piece: &Piece| Look::of(piece).unwrap().cost();
    assert!(cost(&odd) > cost(&even), "{} against {}", cost(&odd), cost(&even));
    let nothing = common::piece(loops::Worked::Flat, 0, []);
    assert_eq!(Look::of(&nothing), None);
    assert_eq!(Look::against([&nothing, &even].into_iter()), cost(&even));
    assert_eq!(Look::against([&nothing].into_iter()), 0.0);
}
