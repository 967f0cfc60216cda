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
    /// The entry of the plan in which it is, where it is known.
    pub entry: Option<PlanEntry>,
}

/// An entry of a plan as a person writes it or fills it in. Places are counted from 0.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PlanEntry {
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
        Problem { message: message.into(), help: help.into(), entry: None }
    }

    /// The same problem, said to be that of an entry of the plan.
    #[must_use]
    pub fn of(self, entry: PlanEntry) -> Problem {
        Problem { entry: Some(entry), ..self }
    }
}

/// As the file of a plan has it: `[[join]] 2`, `[[piece]] "square"`.
impl fmt::Display for PlanEntry {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PlanEntry::Ease => f.write_str("ease"),
            PlanEntry::Swatch => f.write_str("[swatch]"),
            PlanEntry::Piece(name) => write!(f, "[[piece]] \"{name}\""),
            PlanEntry::Block => f.write_str("[block]"),
            PlanEntry::Join(place) => write!(f, "[[join]] {}", place + 1),
            PlanEntry::Laid(place) => write!(f, "[[laid]] {}", place + 1),
            PlanEntry::Edging => f.write_str("[edging]"),
            PlanEntry::Yarn(colour) => write!(f, "[[yarn]] \"{colour}\""),
            PlanEntry::Needle(place) => write!(f, "[[needle]] {}", place + 1),
            PlanEntry::Stretch(place) => write!(f, "[[stretch]] {}", place + 1),
            PlanEntry::Time => f.write_str("[time]"),
        }
    }
}
