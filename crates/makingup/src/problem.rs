//! What is wrong with a plan, and what to measure or change.

/// Something a plan cannot be made with: what is wrong, and the way out.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct Problem {
    /// What is wrong, in the reader's words.
    pub message: String,
    /// What to measure, or what to change.
    pub help: String,
}

impl Problem {
    /// A problem with its way out.
    pub fn new(message: impl Into<String>, help: impl Into<String>) -> Problem {
        Problem { message: message.into(), help: help.into() }
    }

    /// The same problem, said to be that of a part of the plan.
    pub(crate) fn of(self, part: &str) -> Problem {
        Problem { message: format!("{part}: {}", self.message), ..self }
    }
}
