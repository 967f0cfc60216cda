//! The faces the booklet is set in, and which characters they have.
//!
//! Libertinus Serif for reading, EB Garamond for display; both under the SIL Open Font License, whose text
//! stands beside the files in `fonts/`. No face of the machine is ever used, so that the same edition gives
//! the same bytes everywhere.

use std::sync::LazyLock;

use typst::foundations::Bytes;
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;

/// Families in the order in which they are looked through for a drawing's text.
pub(crate) const FAMILIES: [&str; 2] = ["libertinus serif", "eb garamond 12"];

/// All faces with their book.
pub(crate) struct Faces {
    /// The index typst searches.
    pub(crate) book: LazyHash<FontBook>,
    /// The faces, in the order of the book.
    pub(crate) fonts: Vec<Font>,
}

/// The faces, read once.
pub(crate) static FACES: LazyLock<Faces> = LazyLock::new(|| {
    let files: [&'static [u8]; 5] = [
        include_bytes!("../fonts/LibertinusSerif-Regular.otf"),
        include_bytes!("../fonts/LibertinusSerif-Italic.otf"),
        include_bytes!("../fonts/LibertinusSerif-Semibold.otf"),
        include_bytes!("../fonts/EBGaramond12-Regular.otf"),
        include_bytes!("../fonts/EBGaramond12-Italic.otf"),
    ];
    let fonts: Vec<Font> = files.into_iter().filter_map(|file| Font::new(Bytes::new(file), 0)).collect();
    Faces { book: LazyHash::new(FontBook::from_fonts(&fonts)), fonts }
});

/// Whether one of the faces has the character.
pub(crate) fn cover(ch: char) -> bool {
    ch.is_ascii_graphic() || FACES.fonts.iter().any(|font| font.info().coverage.contains(u32::from(ch)))
}

#[cfg(test)]
mod tests {
    use super::{FACES, FAMILIES, cover};

    #[test]
    fn all_faces_load() {
        assert_eq!(FACES.fonts.len(), 5);
        for family in FAMILIES {
            assert!(FACES.book.contains_family(family), "{family}");
        }
    }

    #[test]
    fn the_signs_of_old_books_are_there() {
        for ch in "—–½¼¾⅓⅔⅛ſæœé£×*†‡§¶☞′″“”‘’…○●□■◦∗⁄\u{fffd}".chars()
        {
            assert!(cover(ch), "{ch:?}");
        }
        assert!(!cover('🧶'));
    }
}
