//! Old-style texts made from programs: endless cases with known answers, for tests and for fitting.
//!
//! A random program ([`random_program`]) is written in one of several dialects ([`Dialect::all`], [`write()`]),
//! idioms drawn from a seed; a misprint of any class can then be put in ([`misprint()`]). Knows nothing of how texts
//! are read. Not part of the program that people start.

mod programs;
mod rng;

mod dialect;
mod house;
mod page;
mod told;
mod write;

mod misprint;

pub use self::dialect::{BadDialects, Dialect};
pub use self::misprint::{Class, Misprint, misprint, number_like};
pub use self::programs::{Kind, WIDEST, program_of, random_program};
pub use self::rng::Rng;
pub use self::told::{Part, Said, Telling, Times, outcome, said};
pub use self::write::{Prose, ProseRow, Start, write};
