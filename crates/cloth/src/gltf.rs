//! The cloth as a compact mesh for a 3D view: glTF 2.0, binary form (Khronos Group; ISO/IEC 12113:2022).
//!
//! One file with one node: the surface of the cloth as triangles, with normals and a colour by face. Lengths are in
//! metres, as the standard asks; y is up. Every vertex is the middle of a stitch; its `_STITCH` is the place of the
//! operation that made it, from 0 in working order, or -1 where none did, as in the cast-on.
//!
//! The yarn is a file of its own: its middle line as line segments, with the same `_STITCH` at every point; the node's
//! `extras` tell the radius and the colour in which it is to be drawn.

use std::fmt::Write as _;

use crate::{DRAWN_RADIUS, Gauge, Mesh, Rgb, Style, Vec3, strands};

/// `glTF` in little-endian bytes.
const MAGIC: u32 = 0x4654_6C67;
const VERSION: u32 = 2;
const JSON_CHUNK: u32 = 0x4E4F_534A;
const BINARY_CHUNK: u32 = 0x004E_4942;

/// The most segments of a yarn that is sent with half of its points; above it every fourth serves.
const FINE_SEGMENTS: usize = 150_000;

/// The way of the yarn through the relaxed mesh as a `.glb` file of line segments.
pub fn yarn_glb(mesh: &Mesh, positions: &[Vec3], gauge: &Gauge, style: &Style) -> Vec<u8> {
    let metres = gauge.width() / 100.0;
    let strands = strands(mesh, positions);
    let points: usize = strands.iter().map(|strand| strand.points.len()).sum();
    let stride = if points / 2 <= FINE_SEGMENTS { 2 } else { 4 };
    let (mut places, mut stitches, mut ends) = (Vec::new(), Vec::new(), Vec::new());
    let mut bounds = [[f32::MAX; 3], [f32::MIN; 3]];
    let mut count = 0u32;
    for strand in &strands {
        let Some((last, others)) = strand.points.split_last() else { continue };
        let stitch = stitch_of(mesh, strand.node);
        for (order, point) in others.iter().step_by(stride).chain([last]).enumerate() {
            push_point(&mut places, *point * metres, &mut bounds);
            stitches.extend(stitch.to_le_bytes());
            if order > 0 {
                ends.extend((count - 1).to_le_bytes());
                ends.extend(count.to_le_bytes());
            }
            count += 1;
        }
    }
    let json = describe_yarn(count as usize, ends.len() / 4, bounds, DRAWN_RADIUS * metres, style.yarn);
    pack(json.into_bytes(), [places, stitches, ends].concat())
}

/// The place of the operation that made a node; the standard allows no whole numbers of 32 bits here, and these have
/// 24 bits that are exact.
fn stitch_of(mesh: &Mesh, node: u32) -> f32 {
    mesh.patches()[node as usize].operation.map_or(-1.0, |operation| operation as f32)
}

fn push_point(binary: &mut Vec<u8>, point: Vec3, [low, high]: &mut [[f32; 3]; 2]) {
    for (axis, value) in [point.x, point.y, point.z].into_iter().enumerate() {
        let value = value as f32;
        low[axis] = low[axis].min(value);
        high[axis] = high[axis].max(value);
        binary.extend(value.to_le_bytes());
    }
}

/// The relaxed mesh as a `.glb` file.
pub fn glb(mesh: &Mesh, positions: &[Vec3], gauge: &Gauge, style: &Style) -> Vec<u8> {
    let metres = gauge.width() / 100.0;
    let count = mesh.len();
    let mut binary = Vec::with_capacity(count * 32 + mesh.triangles().len() * 12);
    let mut bounds = [[f32::MAX; 3], [f32::MIN; 3]];
    for &point in positions {
        push_point(&mut binary, point * metres, &mut bounds);
    }
    for normal in normals(mesh, positions) {
        for value in [normal.x, normal.y, normal.z] {
            binary.extend((value as f32).to_le_bytes());
        }
    }
    for patch in mesh.patches() {
        // The bars of a purl lie in each other's shade.
        let light = if patch.face < 0 { 0.86 } else { 1.0 };
        let Rgb(red, green, blue) = style.yarn;
        binary.extend([red, green, blue].map(|channel| (f64::from(channel) * light) as u8));
        binary.push(255);
    }
    for node in 0..count as u32 {
        binary.extend(stitch_of(mesh, node).to_le_bytes());
    }
    for node in mesh.triangles().iter().flatten() {
        binary.extend(node.to_le_bytes());
    }
    let json = describe(count, mesh.triangles().len() * 3, bounds, binary.len());
    pack(json.into_bytes(), binary)
}

/// A unit normal for every node, towards the right side.
fn normals(mesh: &Mesh, x: &[Vec3]) -> Vec<Vec3> {
    let mut normals = vec![Vec3::ZERO; mesh.len()];
    for corners in mesh.triangles() {
        let [a, b, c] = corners.map(|node| x[node as usize]);
        let normal = (b - a).cross(c - a);
        for &node in corners {
            normals[node as usize] += normal;
        }
    }
    normals
        .into_iter()
        .map(|normal| if normal.norm() > 0.0 { normal.unit() } else { Vec3::new(0.0, 0.0, 1.0) })
        .collect()
}

fn describe_yarn(
    points: usize,
    indices: usize,
    [low, high]: [[f32; 3]; 2],
    radius: f64,
    Rgb(red, green, blue): Rgb,
) -> String {
    let list = |values: [f32; 3]| values.map(|value| value.to_string()).join(",");
    let (stitch, index, length) = (points * 12, points * 16, points * 16 + indices * 4);
    let mut json = String::from(
        r#"{"asset":{"version":"2.0","generator":"Loopwright"},"scene":0,"scenes":[{"nodes":[0]}],"#,
    );
    let _ = write!(
        json,
        r#""nodes":[{{"mesh":0,"name":"yarn","extras":{{"radius":{radius},"colour":[{red},{green},{blue}]}}}}],"meshes":[{{"primitives":[{{"mode":1,"attributes":{{"POSITION":0,"_STITCH":1}},"indices":2}}]}}],"#,
    );
    let _ = write!(
        json,
        r#""accessors":[{{"bufferView":0,"componentType":5126,"count":{points},"type":"VEC3","min":[{}],"max":[{}]}},{{"bufferView":1,"componentType":5126,"count":{points},"type":"SCALAR"}},{{"bufferView":2,"componentType":5125,"count":{indices},"type":"SCALAR"}}],"#,
        list(low),
        list(high)
    );
    let _ = write!(
        json,
        r#""bufferViews":[{{"buffer":0,"byteOffset":0,"byteLength":{stitch},"target":34962}},{{"buffer":0,"byteOffset":{stitch},"byteLength":{},"target":34962}},{{"buffer":0,"byteOffset":{index},"byteLength":{},"target":34963}}],"buffers":[{{"byteLength":{length}}}]}}"#,
        points * 4,
        indices * 4
    );
    json
}

fn describe(nodes: usize, indices: usize, [low, high]: [[f32; 3]; 2], length: usize) -> String {
    let (normal, colour, stitch, index) = (nodes * 12, nodes * 24, nodes * 28, nodes * 32);
    let list = |values: [f32; 3]| values.map(|value| value.to_string()).join(",");
    let mut json = String::from(
        r#"{"asset":{"version":"2.0","generator":"Loopwright"},"scene":0,"scenes":[{"nodes":[0]}],"nodes":[{"mesh":0,"name":"cloth"}],"materials":[{"doubleSided":true,"pbrMetallicRoughness":{"metallicFactor":0,"roughnessFactor":1}}],"meshes":[{"primitives":[{"attributes":{"POSITION":0,"NORMAL":1,"COLOR_0":2,"_STITCH":3},"indices":4,"material":0}]}],"#,
    );
    let _ = write!(
        json,
        r#""accessors":[{{"bufferView":0,"componentType":5126,"count":{nodes},"type":"VEC3","min":[{}],"max":[{}]}},{{"bufferView":1,"componentType":5126,"count":{nodes},"type":"VEC3"}},{{"bufferView":2,"componentType":5121,"normalized":true,"count":{nodes},"type":"VEC4"}},{{"bufferView":3,"componentType":5126,"count":{nodes},"type":"SCALAR"}},{{"bufferView":4,"componentType":5125,"count":{indices},"type":"SCALAR"}}],"#,
        list(low),
        list(high)
    );
    let _ = write!(
        json,
        r#""bufferViews":[{{"buffer":0,"byteOffset":0,"byteLength":{normal},"target":34962}},{{"buffer":0,"byteOffset":{normal},"byteLength":{normal},"target":34962}},{{"buffer":0,"byteOffset":{colour},"byteLength":{},"target":34962}},{{"buffer":0,"byteOffset":{stitch},"byteLength":{},"target":34962}},{{"buffer":0,"byteOffset":{index},"byteLength":{},"target":34963}}],"buffers":[{{"byteLength":{length}}}]}}"#,
        nodes * 4,
        nodes * 4,
        indices * 4
    );
    json
}

/// Packs both parts, each padded to four bytes.
fn pack(mut json: Vec<u8>, mut binary: Vec<u8>) -> Vec<u8> {
    json.resize(json.len().next_multiple_of(4), b' ');
    binary.resize(binary.len().next_multiple_of(4), 0);
    let length = 12 + 8 + json.len() + 8 + binary.len();
    let mut out = Vec::with_capacity(length);
    for word in [MAGIC, VERSION, length as u32, json.len() as u32, JSON_CHUNK] {
        out.extend(word.to_le_bytes());
    }
    out.extend(json);
    for word in [binary.len() as u32, BINARY_CHUNK] {
        out.extend(word.to_le_bytes());
    }
    out.extend(binary);
    out
}
