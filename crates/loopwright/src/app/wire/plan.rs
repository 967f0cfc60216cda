//! The making up: what follows from the plan, or why nothing does.

use serde::Serialize;
use utoipa::ToSchema;

use super::Refusal;

/// What follows from the plan of a project.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct PlanView {
    pub revision: u64,
    /// Null where there is no plan yet, or nothing follows from it.
    pub made: Option<PlanMade>,
    /// Why nothing follows from it.
    pub problem: Option<Refusal>,
    /// The names of the sides of each piece, in the order of the plan; none where the pieces have no shape yet.
    pub sides: Vec<Vec<String>>,
    /// A plan to begin with, made of the pieces of the project.
    pub beginning: String,
}

/// A thing planned to the end.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct PlanMade {
    pub title: Option<String>,
    pub gauge: String,
    /// How large it will be.
    pub size: Option<String>,
    /// The drawing with measures, as SVG.
    pub schematic: String,
    /// The same for a narrow window.
    pub narrow_schematic: String,
    pub sections: Vec<PlanSection>,
    pub time: PlanTime,
}

/// A part of the plan.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct PlanSection {
    pub kind: PlanPart,
    pub lines: Vec<PlanLine>,
}

/// What a part of the plan is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum PlanPart {
    Pieces,
    Tools,
    Yarn,
    Stretches,
    Differences,
    MakingUp,
    Warnings,
    Cautions,
}

/// A line of the plan.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct PlanLine {
    pub text: String,
    /// Whether it says more about the line before.
    pub under: bool,
}

/// How long it takes.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct PlanTime {
    /// Stitches a minute.
    pub pace: f64,
    pub from: PaceFrom,
    /// In the order of the work.
    pub tasks: Vec<PlanTask>,
}

/// Where a pace is from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum PaceFrom {
    /// It was measured at the needles.
    Needles,
    /// The plan tells it.
    Plan,
    /// Nobody knows it yet.
    Guess,
}

/// How long one part of the work takes.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct PlanTask {
    pub name: String,
    pub stitches: u64,
    /// At the usual pace, at the fast one, and at the slow one.
    pub minutes: (f64, f64, f64),
    /// The first and the last day, where days were asked for.
    pub days: Option<(String, String)>,
}
