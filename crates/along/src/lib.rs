//! At the needles.
mod needle;
