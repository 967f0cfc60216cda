//! The cloth of a worked piece.
mod energy;
mod fabric;
mod mesh;
mod multigrid;
mod solve;
mod vector;

pub use self::energy::{Energy, Pin, Scratch};
pub use self::fabric::Fabric;
pub use self::mesh::{Edge, Fold, Link, LinkKind, Mesh, MeshError, PATCH_LIMIT, Patch, Seam};
pub use self::solve::{End, Preconditioner, Settings, Solution, minimise};
pub use self::vector::Vec3;
