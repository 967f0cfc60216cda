//! The form in which the front end meets a project and what is made of it.
//!
//! These types are the contract, apart from those of the crates below, so that those can change; `schema/app-api.json`
//! is made of them. All places are UTF-16 code units of the transcription.

mod project;
mod view;

pub use self::project::*;
pub use self::view::*;

/// A stretch of the transcription in UTF-16 code units: its start and its end.
pub type At = (u32, u32);
