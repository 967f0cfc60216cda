//! What can stop a booklet from being made.

use thiserror::Error;

use crate::edition::Date;

/// Why a booklet could not be made.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum BookletError {
    /// The title is empty, or holds nothing that can be printed.
    #[error("the edition has no title")]
    NoTitle,
    /// The date is not in the calendar.
    #[error("there is no day {}-{:02}-{:02}", .0.year, .0.month, .0.day)]
    Date(Date),
    /// A drawing is not an SVG that can be printed.
    #[error("{name} cannot be printed: {reason}")]
    Drawing {
        /// Which drawing, in words: "chart 2 of “Border”".
        name: String,
        /// What is wrong with it.
        reason: String,
    },
    /// The pages could not be laid out.
    #[error("the pages could not be laid out: {0}")]
    Layout(String),
    /// The pages were laid out but cannot be written as an accessible, archivable PDF.
    #[error("the PDF could not be written: {0}")]
    Export(String),
}
