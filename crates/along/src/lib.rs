//! At the needles: a piece row by row, and never losing the place.
//!
//! ```text
//! Piece ─▶ AlongPiece ── rows ── groups, counts, lifelines ──▶ page for the phone
//!              │         signs ─▶ places   ripped back?
//!              └──────── edits ─▶ slips    count wrong?
//! ```
//!
//! Knows what is on the needles after each row, what can be seen of it, and how hands slip; time by stitches. Knows
//! nothing of old texts, files or servers, and asks no clock. Start at [`AlongPiece`], then [`places`] and [`slips`];
//! [`page()`] sets all of it as one HTML file.

mod chances;
mod group;
mod json;
mod lifeline;
mod look;
mod needle;
mod order;
mod pace;
mod page;
mod ripped;
mod signs;
mod slip;
mod words;
mod work;

pub use self::group::{Group, Nth};
pub use self::look::{Look, next_look};
pub use self::order::{Circle, Days, Span, Task, order};
pub use self::pace::{Logged, Pace};
pub use self::page::{Spot, page};
pub use self::ripped::{ONE_OFF, Observed, Place, Sign, next_sign, places};
pub use self::signs::{Between, Match, Shows, Signs};
pub use self::slip::{Found, Off, Seen, Shown, Slip, SlipKind, SlipPlace, slips};
pub use self::words::{go_on, looks_like, on_needles, remedy, side_words, slip_places, slip_row, slip_title};
pub use self::work::{AlongPiece, AlongRow, row_stitches};
