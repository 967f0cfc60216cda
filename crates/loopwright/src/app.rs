//! The local web app: a server on loopback alone that shows one shelf of projects in the browser.
//!
//! ```text
//! request ─▶ guard ─▶ api ─┬─▶ shelf      what is kept: changes, undo, pages, labels
//!                          └─▶ desk ─▶ view   what is made of it: rows, charts, doubts, cloth
//! ```
//!
//! `needles` and `planning` answer what is asked beside the view: the work row by row, and the making up.
//!
//! `wire` is the form in which the front end meets all of it, `translate` and `utf16` lead there and back. Start at
//! [`server`], then `desk`; `docs/app.md` tells more.

mod after;
mod alike;
mod api;
mod body;
mod desk;
mod files;
mod guard;
mod needles;
mod plan_form;
mod planning;
mod printing;
mod refused;
mod running;
pub mod server;
mod translate;
mod utf16;
mod view;
mod wire;
