//! The commands, one file each; the comment on the arguments of each is its help.

pub mod along;
pub mod chart;
pub mod drape;
pub mod mend;
pub mod open;
pub mod plan;
pub mod read;
pub mod revive;
pub mod sums;
pub mod write;

/// Corrections that are weighed where none is asked for: enough to know whether the first is sure.
const WEIGHED: usize = 3;
