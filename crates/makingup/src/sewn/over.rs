//! Pieces laid over others: hemmed down along their rims, each stitch to the one beneath it.
//!
//! A round that stood as a cap is set down on its wider end.

use cloth::{Edge, Mesh, Seam, Vec3};

/// How far a piece lies above what it is laid on: a thickness of cloth, in stitch widths.
pub(super) const HEIGHT: f64 = 1.0;

/// The seams of the piece at `place` to the first `ground` pieces, on which it lies.
pub(super) fn hem(meshes: &[Mesh], place: usize, ground: usize) -> Vec<Seam> {
    let over = &meshes[place];
    let mut seams: Vec<Seam> = Vec::new();
    for node in rim(over) {
        let above = over.start()[node as usize];
        let beneath = meshes[..ground].iter().enumerate().flat_map(|(piece, mesh)| {
            let far = move |at: &Vec3| (at.x - above.x).hypot(at.y - above.y);
            mesh.start().iter().enumerate().map(move |(node, at)| (far(at), piece, node as u32))
        });
        let Some((_, piece, under)) = beneath.min_by(|one, other| one.0.total_cmp(&other.0)) else {
            continue;
        };
        match seams.last_mut() {
            Some(seam) if seam.other.0 == piece => {
                seam.one.1.push(node);
                seam.other.1.push(under);
            }
            _ => seams.push(Seam { one: (place, vec![node]), other: (piece, vec![under]) }),
        }
    }
    seams
}

/// The shape in which a piece is laid over others: as it lies, or its wider end down and its right side up.
pub(super) fn set_down(mesh: &Mesh, shape: &[Vec3]) -> Vec<Vec3> {
    let (low, high) = extent(shape.iter().map(|at| at.y));
    let (back, front) = extent(shape.iter().map(|at| at.z));
    let stands = is_round(mesh) && front - back > (high - low) / 2.0;
    match wider_end(mesh) {
        _ if !stands => shape.to_vec(),
        Edge::Top => shape.iter().map(|at| Vec3::new(at.x, at.z, high - at.y)).collect(),
        _ => shape.iter().map(|at| Vec3::new(at.x, -at.z, at.y - low)).collect(),
    }
}

fn extent(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), value| (least.min(value), most.max(value)))
}

fn is_round(mesh: &Mesh) -> bool {
    let rows = mesh.rows(0);
    rows.get(rows.len() / 2).is_some_and(|row| row.iter().all(|&node| mesh.patches()[node as usize].closed))
}

/// The longer of the first and the last round.
fn wider_end(mesh: &Mesh) -> Edge {
    let longer = mesh.edge(0, Edge::Top).len() > mesh.edge(0, Edge::CastOn).len();
    if longer { Edge::Top } else { Edge::CastOn }
}

/// The stitches along the outer edge of a piece, in order round it.
fn rim(mesh: &Mesh) -> Vec<u32> {
    let edge = |edge| mesh.edge(0, edge);
    if is_round(mesh) {
        return edge(wider_end(mesh));
    }
    let mut rim = edge(Edge::CastOn);
    rim.extend(edge(Edge::Right));
    rim.extend(edge(Edge::Top).into_iter().rev());
    rim.extend(edge(Edge::Left).into_iter().rev());
    rim.dedup();
    rim
}
