//! Projects on a shelf that loses nothing: what they hold, every change ever made to them, and their pages.
//!
//! Knows one folder with one SQLite database; not HTTP, nor how a pattern is read. Every call that returns well has
//! its effect on the disk. It asks no clock: moments are handed in. Start at [`Shelf::open`], then
//! [`Shelf::change`].

mod backup;
mod bundle;
mod change;
mod content;
mod error;
mod folder;
mod history;
mod ids;
mod labels;
mod lock;
mod open;
mod pages;
mod place;
mod project;
mod recover;
mod salvage;
mod schema;
mod shelf;
mod splice;
mod steps;

pub use self::bundle::BundleError;
pub use self::change::{Change, ChangeError, Setting};
pub use self::error::ShelfError;
pub use self::history::{Act, Stored};
pub use self::ids::{PageId, ProjectId, Revision, Timestamp};
pub use self::labels::Label;
pub use self::pages::{PICTURE_LIMIT, Picture};
pub use self::place::{Move, Needles};
pub use self::project::{
    COUNT_LIMIT, Country, Gauge, LINE_LIMIT, Media, Page, Place, Project, Ruling, Source, TEXT_LIMIT,
};
pub use self::shelf::{Entry, Notice, Shelf};
pub use self::splice::Splice;
