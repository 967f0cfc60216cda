//! The mesh of every kind of stitch, and programs that have no cloth.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod common;

use cloth::{
    Drape, Edge, End, Fabric, Gauge, LinkKind, Measures, Mesh, MeshError, Seam, Settings, State, Swatch,
    SwatchError, Vec3,
};
use loops::{Piece, Row, Side, Step, Worked};
use span::Span;

fn mesh(piece: &Piece) -> Mesh {
    let mesh = Mesh::of(piece, &Fabric::default()).unwrap();
    assert_eq!(mesh.check(), Ok(()));
    mesh
}

fn flat(cast_on: u32, rows: &[&str]) -> Mesh {
    mesh(&common::piece(Worked::Flat, cast_on, rows.iter().map(|row| (*row).to_owned())))
}

fn count(mesh: &Mesh, kind: LinkKind) -> usize {
    mesh.links().iter().filter(|link| link.kind == kind).count()
}

#[test]
fn a_field_of_stitches_is_a_net() {
    let mesh = flat(4, &["k*4", "p*4"]);
    assert_eq!(mesh.len(), 12);
    let kinds = [LinkKind::Course, LinkKind::Wale, LinkKind::Shear];
    assert_eq!(kinds.map(|kind| count(&mesh, kind)), [9, 8, 12]);
    assert_eq!(mesh.triangles().len(), 12);
}

#[test]
fn rows_are_seen_from_the_right_side() {
    let mesh = flat(3, &["k*3", "p*3"]);
    for row in mesh.rows(0) {
        let x: Vec<f64> = row.iter().map(|&node| mesh.start()[node as usize].x).collect();
        assert!(x.windows(2).all(|pair| pair[0] < pair[1]), "{x:?}");
    }
    assert!(mesh.patches().iter().all(|patch| patch.face == 1));
}

/// Each operation with what it links: parents, and strands beneath.
#[test]
fn increases_and_decreases_of_any_arity() {
    for (cast_on, row, wales, strands) in [
        (5, "k k2tog k*2", 5, 0),
        (5, "k sk2p k", 5, 0),
        (7, "k k5tog k", 7, 0),
        (3, "k kfb k", 4, 0),
        (3, "k k1p1k1p1k1 k", 7, 0),
        (4, "k*2 yo k*2", 4, 2),
        (4, "k*2 yo2 k*2", 4, 2),
        (4, "k*2 m1 k*2", 4, 2),
        (4, "k slwyif k slwyib", 4, 0),
        (6, "k c2/2f k", 6, 0),
        (5, "k s1k2po k", 5, 0),
    ] {
        let mesh = flat(cast_on, &[row]);
        assert_eq!((count(&mesh, LinkKind::Wale), count(&mesh, LinkKind::Strand)), (wales, strands), "{row}");
    }
}

/// Turns of the yarn that the next row lets fall make the stitches beside them taller by about a stitch width each
/// (from memory), and part nothing.
#[test]
fn turns_let_fall_lengthen_the_loops_beside_them() {
    let long = flat(4, &["k*4", "k yo2 k yo2 k yo2 k", "p drop*2 p drop*2 p drop*2 p", "k*4"]);
    let short = flat(4, &["k*4", "k*4", "p*4", "k*4"]);
    for place in [0, 1, 2] {
        let height = |mesh: &Mesh| mesh.patches()[mesh.rows(0)[3][place] as usize].height;
        assert!((height(&long) - height(&short) - 2.0).abs() < 1e-9);
    }
    assert_eq!(long.rows(0).iter().map(Vec::len).collect::<Vec<_>>(), [4; 5]);
    let fallen = long.patches().iter().filter(|patch| patch.let_fall).count();
    assert_eq!(fallen, 6);
}

/// Many loose ends at one stitch make poor nets: the solver must not cycle over ever more of them.
#[test]
fn a_field_of_turns_let_fall_settles() {
    let (over, fall) = ("k yo3 ".repeat(40), "k drop*3 ".repeat(40));
    let rows: Vec<&str> =
        (0..24).map(|row| if row % 2 == 0 { over.as_str() } else { fall.as_str() }).collect();
    let drape = Drape::of(&flat(40, &rows), &Fabric::default(), State::Free, &Settings::default()).unwrap();
    assert_eq!(drape.end, End::Settled);
}

#[test]
fn a_bind_off_in_the_middle_parts_the_rows_above_it() {
    let mesh = flat(9, &["k*3 bo*3 k*3", "p*6"]);
    let rows = mesh.rows(0);
    // Six stitches to a row, but one link less than five.
    for row in &rows[1..2] {
        let links = row.iter().filter(|&&node| mesh.main_links(node).unwrap()[1].is_some()).count();
        assert_eq!((row.len(), links), (6, 4));
    }
}

#[test]
fn rounds_are_closed_and_rows_are_not() {
    let round = mesh(&common::piece(Worked::Round, 8, ["k*8".to_owned(), "k*8".to_owned()]));
    assert_eq!(count(&round, LinkKind::Course), 24);
    assert_eq!(count(&flat(8, &["k*8", "p*8"]), LinkKind::Course), 21);
}

#[test]
fn short_rows_holders_and_picked_up_edges_hold_together() {
    flat(10, &["k*6 turn", "p*3 turn", "k*7", "p*10"]);
    flat(8, &["k*2 hold*2 k*4", "p*6", "k*2 take*2 k*4", "p*8"]);
    let flap = flat(6, &["k*6", "k*6", "k*6", "k*6", "k*6 pu*2"]);
    let picked: Vec<u32> =
        (0..flap.len() as u32).filter(|&n| flap.patches()[n as usize].op == loops::Op::Pu).collect();
    assert!(picked.iter().all(|&node| flap.main_links(node).unwrap()[2].is_some()));
}

fn at_rest(mesh: &Mesh) -> Drape {
    Drape::of(mesh, &Fabric::default(), State::Free, &Settings::default()).unwrap()
}

fn measured(mesh: &Mesh) -> Measures {
    Measures::of(mesh, &at_rest(mesh), 0, &Gauge::per_10_cm(10.0, 40.0 / 3.0).unwrap()).unwrap()
}

/// Two shoulders of ten rows, worked one after the other on a back of twenty, stand beside each other.
#[test]
fn rows_beside_each_other_are_one_height() {
    let back = (0..20).map(|row| if row % 2 == 0 { "k*30" } else { "p*30" });
    let first = std::iter::once("k*15 hold*15").chain(["p*15", "k*15"].repeat(4)).chain(["bo*15"]);
    let second = std::iter::once("take*15").chain(["p*15", "k*15"].repeat(4)).chain(["p*15"]);
    let rows: Vec<&str> = back.chain(first).chain(second).collect();
    let height = measured(&flat(30, &rows)).height.value;
    assert!((height / (30.0 * 0.75) - 1.0).abs() < 0.03, "30 rows are {height} high");
}

/// The edges of the surface that belong to one triangle only, joined to rings.
fn rims(mesh: &Mesh) -> usize {
    let mut sides: std::collections::HashMap<(u32, u32), i32> = std::collections::HashMap::new();
    for [a, b, c] in mesh.triangles().iter().copied() {
        for (from, to) in [(a, b), (b, c), (c, a)] {
            *sides.entry((from.min(to), from.max(to))).or_default() += 1;
        }
    }
    let mut root: Vec<usize> = (0..mesh.len()).collect();
    fn find(root: &mut [usize], node: usize) -> usize {
        if root[node] != node {
            root[node] = find(root, root[node]);
        }
        root[node]
    }
    let mut on_rim = std::collections::HashSet::new();
    for (&(from, to), _) in sides.iter().filter(|(_, count)| **count == 1) {
        let (one, other) = (find(&mut root, from as usize), find(&mut root, to as usize));
        root[one] = other;
        on_rim.extend([from as usize, to as usize]);
    }
    on_rim.into_iter().map(|node| find(&mut root, node)).collect::<std::collections::HashSet<_>>().len()
}

/// The surface that a 3D view shows has an edge all round and no holes: a tube two edges.
#[test]
fn the_surface_has_no_holes() {
    let tall = |motif: &str, back: &str| -> Mesh { mesh(&common::repeated(20, 12, &[motif, back])) };
    for (motif, back) in [
        ("k", "p"),
        ("k yo k2tog k*2", "p"),
        ("k*2 yo sk2p yo k*5", "p"),
        ("kfb k2tog k*2", "p"),
        ("k*3 c2/2f k*3", "p"),
        ("k*2 slwyif", "p"),
        ("k yo2 k2tog k2tog k", "p*3 k p*2"),
    ] {
        assert_eq!(rims(&tall(motif, back)), 1, "{motif}");
    }
    assert_eq!(rims(&mesh(&common::corner_square(20))), 1);
    // Short rows at the right and at the left.
    assert_eq!(rims(&flat(16, &["k*16", "k*16", "k*8 turn", "k*8 turn", "k*16", "k*16"])), 1);
    assert_eq!(rims(&flat(16, &["k*16", "k*8 turn", "k*8 turn", "k*16", "k*16"])), 1);
    let tube = mesh(&common::piece(Worked::Round, 12, (0..6).map(|_| "k*12".to_owned())));
    assert_eq!(rims(&tube), 2);
}

/// Rows worked over one half only make that side longer, by their own height.
#[test]
fn short_rows_make_a_wedge() {
    let mut rows = vec!["k*16"; 8];
    // Eight pairs of short rows over the right half, which the right-side rows begin with.
    for _ in 0..8 {
        rows.extend(["k*8 turn", "k*8 turn"]);
    }
    rows.extend(["k*16"; 8]);
    let [_, _, left, right] = measured(&flat(16, &rows)).edges.map(|edge| edge.unwrap().value);
    // Garter: two rows to a stitch width, so 16 rows are 8 cm.
    assert!((right - left - 8.0).abs() < 1.2, "left {left}, right {right}");
}

#[test]
fn a_round_piece_stands_as_a_tube() {
    let rows = (0..24).map(|_| "k*2 p*2 ".repeat(10));
    let mesh = mesh(&common::piece(Worked::Round, 40, rows));
    let (drape, measures) = (at_rest(&mesh), measured(&mesh));
    assert_eq!((measures.relief, measures.corners.len()), (None, 0));
    assert!(measures.edges[2].is_none() && measures.edges[3].is_none(), "a tube has no sides");
    let middle = &mesh.rows(0)[12];
    let radii: Vec<f64> =
        middle.iter().map(|&node| drape.positions[node as usize]).map(|at| at.x.hypot(at.z)).collect();
    let mean = radii.iter().sum::<f64>() / radii.len() as f64;
    assert!(radii.iter().all(|radius| (radius / mean - 1.0).abs() < 0.35), "{radii:?}");
    // All round it is as wide as its ribs draw in.
    assert!((measures.width.value / (std::f64::consts::TAU * mean) - 1.0).abs() < 0.1);
}

/// Stitches picked up along a side lie at that side, one row beside it, evenly spread.
#[test]
fn picked_up_stitches_lie_along_the_edge() {
    let mut rows = vec!["k*8"; 16];
    rows.push("k*8 pu*8");
    let mesh = flat(8, &rows);
    let drape = at_rest(&mesh);
    let at = |node: u32| drape.positions[node as usize];
    let picked: Vec<u32> =
        (0..mesh.len() as u32).filter(|&n| mesh.patches()[n as usize].op == loops::Op::Pu).collect();
    assert_eq!(picked.len(), 8);
    for &node in &picked {
        let link = mesh.main_links(node).unwrap()[2].unwrap();
        let link = mesh.links()[link as usize];
        assert!(((at(link.to) - at(link.from)).norm() - link.rest).abs() < 0.4);
    }
    let feet: Vec<u32> =
        picked.iter().map(|&n| mesh.links()[mesh.main_links(n).unwrap()[2].unwrap() as usize].from).collect();
    // One in two rows: no foot is taken twice.
    assert_eq!(feet.iter().collect::<std::collections::HashSet<_>>().len(), 8);
}

/// Stitches that rest on a holder while rows are worked, and are then worked in their place, are shorter than what
/// lies beside them: they draw it into folds.
#[test]
fn held_groups_pull_the_cloth_out_of_its_plane() {
    let plain = |rows: usize| (0..rows).map(|row| if row % 2 == 0 { "k*18" } else { "p*18" });
    let mut rows: Vec<&str> = plain(6).collect();
    rows.extend(["k*7 hold*4 k*7", "p*14", "k*14", "p*14", "k*14", "p*14", "k*7 take*4 k*7", "p*18"]);
    rows.extend(plain(6));
    let held = flat(18, &rows);
    let even = flat(18, &plain(20).collect::<Vec<_>>());
    let depth = |mesh: &Mesh| {
        let drape = at_rest(mesh);
        let rows = mesh.rows(0);
        let middle = rows[rows.len() / 2].iter().map(|&node| drape.positions[node as usize].z);
        // The middle of the piece, off its curling sides.
        let middle: Vec<f64> = middle.collect::<Vec<_>>()[4..10].to_vec();
        middle.iter().fold(0.0f64, |most, z| most.max(z.abs()))
    };
    assert!(depth(&held) > depth(&even) + 0.3, "{} against {}", depth(&held), depth(&even));
}

/// The yarn that passes slipped stitches by is drawn before or behind them, and draws the cloth in.
#[test]
fn floats_draw_in_and_lie_where_the_yarn_was() {
    let rows = (0..20).map(|row| if row % 2 == 0 { "k slwyif".to_owned() } else { "p".to_owned() });
    let rows = rows.map(|motif| common::spread(&motif, 20));
    let mesh = mesh(&common::piece(Worked::Flat, 20, rows));
    let drape = at_rest(&mesh);
    let strands = cloth::strands(&mesh, &drape.positions);
    let (mut before, mut all) = (0, 0);
    for strand in &strands {
        let node = strand.node as usize;
        if mesh.patches()[node].slipped && strand.points.len() > 3 {
            let middle = strand.points[strand.points.len() / 2];
            all += 1;
            before += usize::from(middle.z > drape.positions[node].z);
        }
    }
    assert!(all > 50 && before * 10 > all * 9, "{before} of {all} lie before the cloth");
    assert!(measured(&mesh).draw_in < 0.95);
}

#[test]
fn seams_join_pieces_and_pull_them_together() {
    let fabric = Fabric::default();
    let square = flat(12, &["k*12"; 24]);
    let seam = Seam { one: (0, square.edge(0, Edge::Right)), other: (1, square.edge(0, Edge::Left)) };
    let laid = |x: f64| square.clone().laid(square.start(), 0.0, Vec3::new(x, 0.0, 0.0));
    let joined = Mesh::join(&[laid(0.0), laid(13.0)], &[seam], &fabric).unwrap();
    assert_eq!(joined.check(), Ok(()));
    assert_eq!((joined.part_count(), joined.len()), (2, 2 * square.len()));
    let drape = Drape::of(&joined, &fabric, State::Free, &Settings::default()).unwrap();
    let sewn = joined.links().iter().filter(|link| link.kind == LinkKind::Seam);
    for link in sewn {
        let along = drape.positions[link.to as usize] - drape.positions[link.from as usize];
        assert!((along.norm() - link.rest).abs() < 0.3);
    }
    assert!(matches!(Mesh::join(&[square.clone(), square], &[], &fabric), Err(MeshError::Disconnected(2))));
    assert!(matches!(Mesh::join(&[], &[], &fabric), Err(MeshError::Empty)));
}

#[test]
fn a_blocked_piece_has_the_size_it_is_pinned_to() {
    let fabric = Fabric::default();
    let mesh = flat(20, &["k*20"; 20]);
    let state = State::Blocked { width: 25.0, height: 15.0 };
    let drape = Drape::of(&mesh, &fabric, state, &Settings::default()).unwrap();
    let width = drape.positions.iter().map(|p| p.x).fold(f64::MIN, f64::max)
        - drape.positions.iter().map(|p| p.x).fold(f64::MAX, f64::min);
    assert!((width / 25.0 - 1.0).abs() < 0.03, "{width}");
    for (width, height) in [(0.0, 3.0), (f64::NAN, 3.0), (3.0, -1.0), (f64::INFINITY, 1.0)] {
        assert!(Drape::of(&mesh, &fabric, State::Blocked { width, height }, &Settings::default()).is_err());
    }
}

#[test]
fn what_has_no_cloth_is_refused_in_words() {
    let of = |piece: &Piece| Mesh::of(piece, &Fabric::default()).map(|mesh| mesh.len());
    assert_eq!(of(&common::piece(Worked::Flat, 0, [])), Err(MeshError::Empty));
    assert_eq!(of(&common::piece(Worked::Flat, 20, [])), Err(MeshError::Empty));
    assert_eq!(of(&common::piece(Worked::Flat, 3, ["bo*3".to_owned()])), Err(MeshError::Empty));
    // Ten million stitches: refused by the graph, or by the mesh.
    let long = |rows: usize| {
        let row = |index| Row {
            label: String::new(),
            side: if index % 2 == 0 { Side::Right } else { Side::Wrong },
            steps: vec![Step::Times(10_000, vec![Step::Work(loops::Op::K, Span::DETACHED)])],
            span: Span::DETACHED,
        };
        Piece { rows: (0..rows).map(row).collect(), ..common::piece(Worked::Flat, 10_000, []) }
    };
    assert!(matches!(of(&long(1000)), Err(MeshError::Graph(_))));
    assert_eq!(of(&long(60)), Err(MeshError::TooMany(610_000)));
    // Cast on anew over nothing, with the old stitches let fall: two cloths.
    let apart =
        common::piece(Worked::Flat, 4, ["k*4".to_owned(), "drop*4 co*4".to_owned(), "k*4".to_owned()]);
    assert_eq!(of(&apart), Err(MeshError::Disconnected(2)));
    for wrong in [f64::NAN, 0.0, -1.0, f64::INFINITY] {
        let fabric = Fabric { rows_per_stitch: wrong, ..Fabric::default() };
        assert!(matches!(Mesh::of(&common::plain(4, 4), &fabric), Err(MeshError::Constant(_))));
    }
}

#[test]
fn a_hundred_stitches_out_of_one_are_drawn_all_the_same() {
    let rows = ["k1p1k1p1k1", "k1p1k1p1k1 k1p1k1p1k1 k1p1k1p1k1 k1p1k1p1k1 k1p1k1p1k1", "kfb*25", "kfb*50"];
    let mesh = flat(1, &rows);
    let drape = Drape::of(&mesh, &Fabric::default(), State::Free, &Settings::default()).unwrap();
    assert!(drape.end != End::Flat && drape.positions.iter().all(|p| p.norm().is_finite()));
    // More stitches than there is anything to work them into.
    flat(1, &["k*100", "k*100"]);
}

#[test]
fn gauges_and_swatches_that_cannot_be_are_refused() {
    for (stitches, rows) in [(f64::NAN, 30.0), (0.0, 30.0), (22.0, f64::INFINITY), (22.0, -3.0), (1e9, 30.0)]
    {
        assert!(Gauge::per_10_cm(stitches, rows).is_err());
    }
    for (width, height) in [(0.0, 10.0), (f64::NAN, 10.0), (1e9, 1e9), (10.0, -1.0)] {
        let swatch = Swatch { piece: common::plain(10, 10), width, height };
        assert!(matches!(swatch.calibrate(&Fabric::default()), Err(SwatchError::Size { .. })));
    }
}
