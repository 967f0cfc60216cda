//! At the needles.
mod chances;
mod group;
mod json;
mod lifeline;
mod needle;
mod page;
mod ripped;
mod signs;
mod slip;
mod words;
mod work;
pub use self::group::{Group, Nth};
pub use self::page::page;
pub use self::ripped::{ONE_OFF, Observed, Place, Sign, next_sign, places};
pub use self::signs::{Between, Match, Shows, Signs};
pub use self::slip::{Found, Off, Slip, SlipKind, SlipPlace, slips};
pub use self::words::{go_on, looks_like, remedy, side_words, slip_places, slip_row, slip_title};
pub use self::work::{AlongPiece, AlongRow};
