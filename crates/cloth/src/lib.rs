//! The cloth of a worked piece: how it lies, how large it is, how much yarn it eats and what it looks like.
//!
//! ```text
//! Piece ─▶ Mesh ─▶ Energy ─ minimise ─▶ Drape ─▶ Measures ─▶ Yarn
//!          one patch a stitch             └────▶ Scene ─▶ PNG, SVG;  glb
//! ```
//!
//! Knows stitches as patches with a size and a wish to fold; knows nothing of texts, files or screens. A prediction
//! is no swatch: every measure carries its error, and a measured swatch ([`Swatch`]) makes it smaller. Start at
//! [`Mesh::of`], then [`Drape::of`]; the constants are in [`Fabric`].
//!
//! What the model leaves out: cloth does not touch itself but across the channels of ribs, so that a tightly rolled edge
//! may run into itself; friction, by which a real cloth rests a little beside its least energy; the difference between
//! yarns beyond their gauge.

mod calibrate;
mod drape;
mod energy;
mod fabric;
mod gauge;
mod gltf;
mod grouped;
mod look;
mod measure;
mod memory;
mod mesh;
mod multigrid;
mod nested;
mod outline;
mod overlap;
mod path;
mod picture;
mod solve;
mod vector;
mod yarn;

pub use self::calibrate::{Swatch, SwatchError};
pub use self::drape::{BlockError, Drape, State};
pub use self::energy::{Energy, Pin, Scratch};
pub use self::fabric::Fabric;
pub use self::gauge::{Gauge, GaugeError, Relaxation};
pub use self::gltf::{glb, yarn_glb};
pub use self::look::Look;
pub use self::measure::{Estimate, Measures};
pub use self::mesh::{Edge, Fold, Link, LinkKind, Mesh, MeshError, PATCH_LIMIT, Patch, Seam};
pub use self::outline::Corner;
pub use self::path::{DRAWN_RADIUS, Strand, YARN_RADIUS, strands};
pub use self::picture::{Facing, Picture, PictureError, Rgb, SVG_LIMIT, Scene, Style};
pub use self::solve::{End, Preconditioner, Settings, Solution, minimise};
pub use self::vector::Vec3;
pub use self::yarn::{Allowance, Yarn, YarnError};
