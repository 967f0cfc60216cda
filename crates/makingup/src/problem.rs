//! What is wrong with a plan, where, and what to measure or change.

use std::fmt;

/// Something a plan cannot be made with: what is wrong, and the way out.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct Problem {
    /// What is wrong, in the reader's words.
    pub message: String,
    /// What to measure, or what to change.
    pub help: String,
    /// The part of the plan in which it is, where it is known.
    pub part: Option<PlanPart>,
}

/// A part of a plan as a person writes it or fills it in. Places are counted from 0.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PlanPart {
    /// How much seams may be eased.
    Ease,
    /// The swatch.
    Swatch,
    /// The piece of this name.
    Piece(String),
    /// Pieces side by side.
    Block,
    /// A seam besides those of the block.
    Join(usize),
    /// Pieces laid over others.
    Laid(usize),
    /// The edging.
    Edging,
    /// The yarn of this colour.
    Yarn(String),
    /// Needles.
    Needle(usize),
    /// An edge that must stretch.
    Stretch(usize),
    /// When it is worked, and how fast.
    Time,
}

impl Problem {
    /// A problem with its way out.
    pub fn new(message: impl Into<String>, help: impl Into<String>) -> Problem {
        Problem { message: message.into(), help: help.into(), part: None }
    }

    /// The same problem, said to be that of a part of the plan.
    #[must_use]
    pub fn of(self, part: PlanPart) -> Problem {
        Problem { part: Some(part), ..self }
    }
}

/// As the file of a plan has it: `[[join]] 2`, `[[piece]] "square"`.
impl fmt::Display for PlanPart {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PlanPart::Ease => f.write_str("ease"),
            PlanPart::Swatch => f.write_str("[swatch]"),
            PlanPart::Piece(name) => write!(f, "[[piece]] \"{name}\""),
            PlanPart::Block => f.write_str("[block]"),
            PlanPart::Join(place) => write!(f, "[[join]] {}", place + 1),
            PlanPart::Laid(place) => write!(f, "[[laid]] {}", place + 1),
            PlanPart::Edging => f.write_str("[edging]"),
            PlanPart::Yarn(colour) => write!(f, "[[yarn]] \"{colour}\""),
            PlanPart::Needle(place) => write!(f, "[[needle]] {}", place + 1),
            PlanPart::Stretch(place) => write!(f, "[[stretch]] {}", place + 1),
            PlanPart::Time => f.write_str("[time]"),
        }
    }
}
