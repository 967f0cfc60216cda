//! The local web app: a server on loopback alone that shows one shelf of projects in the browser.

mod desk;
mod refused;
mod translate;
mod utf16;
mod view;
mod wire;
