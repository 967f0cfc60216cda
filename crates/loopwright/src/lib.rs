//! The program a person starts: commands over the library, with their words, files and exit codes.
//!
//! Knows files, terminals and the JSON contract; knows nothing of stitches that the crates below do not tell it.
//! Every command goes the same way: arguments to a [`Checked`] text, and that to rows, charts, JSON or a booklet.
//! Start at [`Cli`], then [`Checked`]; the contract is [`mod@json`].

mod along_text;
mod app;
mod beside;
mod caution;
mod charts;
mod checked;
mod choice;
mod cli;
mod cloths;
mod commands;
mod edition;
mod failure;
mod fault;
mod gauge;
mod glossary;
pub mod json;
mod materials;
mod notes;
mod output;
mod plan_text;
mod progress;
mod remark;
mod report;
mod request;
mod rows;
mod source;
mod swatch;
mod time;

pub use self::checked::Checked;
pub use self::cli::Cli;
pub use self::failure::Failure;
pub use self::glossary::{GlossaryError, Senses};
pub use self::source::{InputError, InputProblem, SIZE_LIMIT, Source};
