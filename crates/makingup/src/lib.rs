//! From worked pieces to the finished thing: sizes, joins, edgings and their corners, yarn, needles, making up.
//!
//! ```text
//! PlanFile ─▶ Plan ─▶ schematic (SVG)
//! ```
//!
//! Knows what pieces measure and how they meet; knows nothing of texts, files, screens or storage. The file of a plan
//! is text that a person writes ([`PlanFile`]), a [`Plan`] is everything that follows from it and from the worked
//! pieces. Start at [`Plan::of`]; a [`Sum`] stands by itself, and so does the arithmetic in [`gauge`], [`spacing`],
//! [`slope`], [`corner`] and [`edging`].

mod file;
mod length;
mod problem;
mod written;

pub mod gauge;
pub mod slope;
pub mod spacing;

mod path;
mod shape;

pub mod block;
pub mod corner;
pub mod edging;
mod flat;
pub mod seam;
mod strip;
mod turned;

pub mod needle;
mod tools;
pub mod yarn_name;

mod plan;
mod schematic;
mod sewn;
mod sums;

pub use self::file::{
    BlockText, EdgingText, JoinText, LaidOn, LaidText, NeedleText, PieceEntry, PieceRef, PlanFile, SizeText,
    StretchText, SwatchText, TimeText, YarnText,
};
pub use self::flat::{FLAT, Flatness, Fullness};
pub use self::gauge::Swatch;
pub use self::length::{INCH, Length, decimal, inches};
pub use self::needle::{Needle, NeedleGauge};
pub use self::path::{Path, Point};
pub use self::plan::{
    BlockPlan, BusyIn, CellPlan, EdgingOnPath, LaidPlan, NeedlePlan, Once, PiecePlan, Plan, PlanGauge,
    SeamPlan, SidePlan, StretchPlan, ToolsNeeded, YarnJoin, YarnPlan,
};
pub use self::problem::{PlanEntry, Problem};
pub use self::schematic::{Schematic, Style};
pub use self::sewn::Sewn;
pub use self::shape::{Along, Outline, Shape, Side, Sizing};
pub use self::strip::Strip;
pub use self::sums::{Flat, Sum};
pub use self::tools::{Peak, Tools};
pub use self::turned::Turned;
