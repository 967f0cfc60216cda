//! A start for cloth that is too full for a plane: the shape that coarser cloths come to.
//!
//! Laid out flat, such a disc is pressed together all over, and the way in which it gives travels through it stitch by
//! stitch, in steps that grow with its width. Cloths of a quarter of the stitches, a sixteenth and so on give the same
//! way for that much less work; what each has come to is where the next finer one starts.

use crate::mesh::{Mesh, Sizes};
use crate::{Energy, Fabric, Settings, Vec3, minimise};

/// Cloths with fewer stitches start from the guess.
const COARSEST: usize = 300;

/// The start of a disc that is too full for a plane; none for what else there is.
pub(crate) fn start(mesh: &Mesh, fabric: &Fabric, settings: &Settings) -> Option<Vec<Vec3>> {
    mesh.too_full().then(|| nested(mesh, &mesh.guessed_sizes(), fabric, settings))
}

fn nested(mesh: &Mesh, sizes: &Sizes, fabric: &Fabric, settings: &Settings) -> Vec<Vec3> {
    if mesh.len() < COARSEST {
        return mesh.start().to_vec();
    }
    let coarse = mesh.coarser(sizes, fabric);
    let fabric = fabric.coarser();
    let start = nested(&coarse.mesh, &coarse.sizes, &fabric, settings);
    let found = minimise(&Energy::new(&coarse.mesh, &fabric, &[]), &start, settings);
    coarse.refined(&found.positions, |node| mesh.start()[node].z)
}
