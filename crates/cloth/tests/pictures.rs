//! Pictures and meshes, looked into.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod common;

use cloth::{
    Drape, Fabric, Facing, Gauge, Mesh, PictureError, Scene, Settings, State, Style, glb, strands, yarn_glb,
};
use loops::{Piece, Worked};

fn draped(piece: &Piece) -> (Mesh, Drape) {
    let fabric = Fabric::default();
    let mesh = Mesh::of(piece, &fabric).unwrap();
    let drape = Drape::of(&mesh, &fabric, State::Free, &Settings::default()).unwrap();
    (mesh, drape)
}

struct Pixels {
    width: usize,
    height: usize,
    bytes: Vec<u8>,
}

fn picture(piece: &Piece, facing: Facing) -> Pixels {
    let (mesh, drape) = draped(piece);
    let style = Style { pixels: 400, ..Style::default() };
    let bytes = Scene::of(&mesh, &drape.positions, facing).unwrap().to_png(&style).unwrap();
    let mut reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
    let mut bytes = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut bytes).unwrap();
    Pixels { width: info.width as usize, height: info.height as usize, bytes }
}

impl Pixels {
    /// The share of the middle half where the paper is seen in full light.
    fn holes(&self) -> f64 {
        let (mut open, mut all) = (0, 0);
        for y in self.height / 4..self.height * 3 / 4 {
            for x in self.width / 4..self.width * 3 / 4 {
                let red = self.bytes[(y * self.width + x) * 3];
                open += usize::from(red > 0xd8);
                all += 1;
            }
        }
        open as f64 / all as f64
    }
}

fn lace() -> Piece {
    common::repeated(20, 20, &["k yo k2tog k*2", "p*5"])
}

#[test]
fn lace_has_holes_and_plain_fabric_has_none() {
    let (lace, plain) =
        (picture(&lace(), Facing::Right).holes(), picture(&common::plain(20, 20), Facing::Right).holes());
    assert!(lace > 0.02 && lace > 4.0 * plain, "{lace} of the lace is open, {plain} of plain fabric");
}

#[test]
fn the_sides_of_plain_fabric_look_different() {
    let [right, wrong] = [Facing::Right, Facing::Wrong].map(|facing| picture(&common::plain(16, 16), facing));
    assert_eq!((right.width, right.height), (wrong.width, wrong.height));
    assert!(right.bytes != wrong.bytes);
}

#[test]
fn the_light_can_be_moved() {
    let (mesh, drape) = draped(&common::rib(12, 12, 2, 2));
    let scene = Scene::of(&mesh, &drape.positions, Facing::Right).unwrap();
    let style = Style { pixels: 200, ..Style::default() };
    let other = Style { light: cloth::Vec3::new(0.8, -0.2, 0.6), ..style };
    assert!(scene.to_png(&style).unwrap() != scene.to_png(&other).unwrap());
    assert_eq!(scene.to_png(&style), scene.to_png(&style));
}

/// In a crossing with the spare needle before the work, the strands of the held stitches lie nearer to the eye
/// than those they cross, seen from the right side (the meaning of the word).
#[test]
fn cables_cross_the_right_way() {
    for (name, held_over) in [("c3/3f", true), ("c3/3b", false)] {
        let rows = (0..13).map(|row| match row {
            6 => format!("p*3 {name} p*3"),
            row if row % 2 == 0 => "p*3 k*6 p*3".to_owned(),
            _ => "k*3 p*6 k*3".to_owned(),
        });
        let (mesh, drape) = draped(&common::piece(Worked::Flat, 12, rows));
        let strands = strands(&mesh, &drape.positions);
        // On the right side the row is worked from right to left: the held stitches end at the left.
        let row = &mesh.rows(0)[7];
        let points = |columns: std::ops::Range<usize>| {
            row[columns].iter().flat_map(|&node| strands[node as usize].points.clone()).collect::<Vec<_>>()
        };
        let (held, worked) = (points(3..6), points(6..9));
        let (mut over, mut under) = (0, 0);
        for one in &held {
            for other in worked.iter().filter(|other| (other.x - one.x).hypot(other.y - one.y) < 0.1) {
                if one.z > other.z { over += 1 } else { under += 1 }
            }
        }
        assert!(over + under > 20, "{name}: they cross");
        let (most, least) = if held_over { (over, under) } else { (under, over) };
        assert!(most > 4 * least, "{name}: the held stitches are over {over} times, under {under} times");
    }
}

/// The yarn goes on without a break and without a kink where one stitch hands it to the next, and is broken off
/// nowhere but after the cast-on, whose end hangs.
#[test]
fn the_yarn_runs_smoothly_from_stitch_to_stitch() {
    for piece in [common::plain(12, 10), common::garter(12, 10), lace()] {
        let (mesh, drape) = draped(&piece);
        let strands = strands(&mesh, &drape.positions);
        let along = strands.windows(2).filter(|pair| pair[1].node == pair[0].node + 1);
        let (mut met, mut broken) = (0, 0);
        for pair in along.filter(|pair| mesh.patches()[pair[1].node as usize].op != loops::Op::Co) {
            let (one, other) = (&pair[0].points, &pair[1].points);
            let (last, first) = (one[one.len() - 1], other[0]);
            if (last - first).norm() > 1e-9 {
                broken += 1;
                continue;
            }
            met += 1;
            let (leaving, entering) = ((last - one[one.len() - 2]).unit(), (other[1] - first).unit());
            let bend = leaving.dot(entering);
            assert!(bend > 0.5, "a kink of {bend} after stitch {}", pair[0].node);
        }
        assert!(broken <= 1 && met > 100, "{met} met, {broken} did not");
    }
}

/// The cord of the cast-on is one yarn, also where decreases draw its loops up unevenly.
#[test]
fn the_tail_of_the_cast_on_is_one_yarn() {
    let (mesh, drape) = draped(&lace());
    let strands = strands(&mesh, &drape.positions);
    let cast_on = mesh.rows(0)[0].len();
    let tails = strands.iter().skip_while(|strand| strand.node != 0).skip(1);
    let tails: Vec<_> = tails.skip_while(|strand| strand.node != 0).take(cast_on).collect();
    assert_eq!(tails.len(), cast_on);
    for pair in tails.windows(2) {
        assert_eq!(pair[0].node + 1, pair[1].node);
        assert_eq!(pair[0].points.last(), pair[1].points.first());
    }
}

#[test]
fn the_drawing_is_sound_svg() {
    let (mesh, drape) = draped(&lace());
    let svg = Scene::of(&mesh, &drape.positions, Facing::Right).unwrap().to_svg(&Style::default()).unwrap();
    let document = roxmltree::Document::parse(&svg).unwrap();
    let paths = document.descendants().filter(|node| node.has_tag_name("path")).count();
    assert!(paths > 2 * mesh.len());
    assert!(!svg.contains("NaN"));
}

#[test]
fn too_large_a_drawing_is_refused() {
    let (mesh, drape) = draped(&common::plain(12, 8));
    let mut scene = Scene::of(&mesh, &drape.positions, Facing::Right).unwrap();
    let line = scene.lines[0].clone();
    scene.lines.resize(cloth::SVG_LIMIT + 1, line);
    assert!(matches!(scene.to_svg(&Style::default()), Err(PictureError::TooManyForSvg(_))));
}

/// glTF 2.0, section 4.4 (binary form): header, JSON chunk, binary chunk, lengths that agree.
#[test]
fn the_mesh_is_sound_gltf() {
    let (mesh, drape) = draped(&lace());
    let bytes = glb(&mesh, &drape.positions, &Gauge::per_10_cm(22.0, 30.0).unwrap(), &Style::default());
    let word = |at: usize| u32::from_le_bytes(bytes[at..at + 4].try_into().unwrap()) as usize;
    assert_eq!(&bytes[..4], b"glTF");
    assert_eq!((word(4), word(8)), (2, bytes.len()));
    let json_end = 20 + word(12);
    assert_eq!((&bytes[16..20], &bytes[json_end + 4..json_end + 8]), (&b"JSON"[..], &b"BIN\0"[..]));
    let json: serde_json::Value = serde_json::from_slice(&bytes[20..json_end]).unwrap();
    assert!(word(json_end) >= json["buffers"][0]["byteLength"].as_u64().unwrap() as usize);
    let accessors = json["accessors"].as_array().unwrap();
    assert_eq!(accessors[0]["count"], mesh.len());
    assert_eq!(accessors[4]["count"], mesh.triangles().len() * 3);
    assert_eq!(json["meshes"][0]["primitives"][0]["attributes"]["_STITCH"], 3);
    let stitches = json_end + 8 + json["bufferViews"][3]["byteOffset"].as_u64().unwrap() as usize;
    for (node, patch) in mesh.patches().iter().enumerate() {
        let told = f32::from_bits(word(stitches + 4 * node) as u32);
        assert_eq!(told, patch.operation.map_or(-1.0, |operation| operation as f32));
    }
    let end = json["bufferViews"]
        .as_array()
        .unwrap()
        .iter()
        .map(|view| view["byteOffset"].as_u64().unwrap() + view["byteLength"].as_u64().unwrap());
    assert_eq!(end.max(), json["buffers"][0]["byteLength"].as_u64());
    // At 22 stitches to 10 cm twenty stitches are about 9 cm wide.
    let least = accessors[0]["min"][0].as_f64().unwrap();
    let most = accessors[0]["max"][0].as_f64().unwrap();
    assert!((0.05..0.12).contains(&(most - least)), "{}", most - least);
}

/// The yarn for a 3D view: line segments that keep to the way of the yarn, each with its stitch.
#[test]
fn the_yarn_for_3d_views_is_the_way_of_the_yarn() {
    let (mesh, drape) = draped(&common::rib(20, 20, 2, 2));
    let gauge = Gauge::per_10_cm(20.0, 28.0).unwrap();
    let bytes = yarn_glb(&mesh, &drape.positions, &gauge, &Style::default());
    let word = |at: usize| u32::from_le_bytes(bytes[at..at + 4].try_into().unwrap());
    let number = |at: usize| f64::from(f32::from_bits(word(at)));
    let json_end = 20 + word(12) as usize;
    let json: serde_json::Value = serde_json::from_slice(&bytes[20..json_end]).unwrap();
    assert_eq!(json["meshes"][0]["primitives"][0]["mode"], 1);
    let view =
        |place: usize| json_end + 8 + json["bufferViews"][place]["byteOffset"].as_u64().unwrap() as usize;
    let count = |place: usize| json["accessors"][place]["count"].as_u64().unwrap() as usize;
    let (points, ends) = (count(0), count(2));
    let at = |point: usize| [0, 4, 8].map(|axis| number(view(0) + 12 * point + axis));
    let mut drawn = 0.0;
    for segment in 0..ends / 2 {
        let [one, other] = [0, 4].map(|end| word(view(2) + 8 * segment + end) as usize);
        assert!(one < points && other < points);
        assert_eq!(number(view(1) + 4 * one), number(view(1) + 4 * other), "a segment is of one stitch");
        let (from, to) = (at(one), at(other));
        drawn += (0..3).map(|axis| (to[axis] - from[axis]).powi(2)).sum::<f64>().sqrt();
    }
    let whole: f64 = strands(&mesh, &drape.positions)
        .iter()
        .flat_map(|strand| strand.points.windows(2))
        .map(|pair| (pair[1] - pair[0]).norm())
        .sum();
    // A stitch is 5 mm wide; with half of the points a little length is lost round the bends.
    let part = drawn / (whole * 0.005);
    assert!((0.97..=1.0).contains(&part), "{part} of the yarn is drawn");
}
