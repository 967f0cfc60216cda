//! The printed edition: an [`Edition`] goes in, an accessible PDF comes out.
//!
//! The one crate that sees typst. It knows nothing of stitches, readings or storage: the caller words the
//! rows, draws the charts and fills plain data; this crate sets them. Nothing is read from the machine, so the
//! same edition gives the same bytes everywhere. Start at [`Edition`], then [`pdf`].

mod clean;
mod copy;
mod edition;
mod error;
mod faces;
mod nesting;
mod niceties;
mod press;

pub use self::edition::{
    Abbreviation, Date, Drawing, Edition, Key, KeyEntry, Material, Measure, Note, NoteKind, PageSize,
    PieceText, RowText, Side, Source,
};
pub use self::error::BookletError;
pub use self::press::Booklet;

/// Sets an edition and writes it as PDF.
///
/// ```
/// let edition = booklet::Edition { title: "A Rug in Squares".into(), ..Default::default() };
/// let pdf = booklet::pdf(&edition)?;
/// assert!(pdf.starts_with(b"%PDF-1."));
/// # Ok::<(), booklet::BookletError>(())
/// ```
pub fn pdf(edition: &Edition) -> Result<Vec<u8>, BookletError> {
    Booklet::new(edition)?.pdf()
}

/// Sets an edition and counts its pages; [`Booklet`] gives both for one setting.
pub fn page_count(edition: &Edition) -> Result<usize, BookletError> {
    Ok(Booklet::new(edition)?.page_count())
}
