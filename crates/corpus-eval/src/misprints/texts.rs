//! Texts without misprint that are read rightly, checked and generated.

use std::path::PathBuf;

use anyhow::Result;
use loops::{Op, tokens};
use notation::Lexicon;
use prose::{Dialect, random_program, write};
use reading::{Options, Reader, Reading, lexicon_of_book};

use crate::gold::{Gold, same_row};
use crate::score::best_piece;

/// A text with its reading.
pub struct Text {
    /// What to call it in the list of misses.
    pub name: String,
    /// The text.
    pub text: String,
    /// What reads it.
    pub reader: Reader,
    /// What is fixed beforehand.
    pub options: Options,
    /// The reading, which is right.
    pub reading: Reading,
}

/// Checked texts without misprint that the reader reads exactly.
///
/// # Errors
/// When a book's explanation of terms makes no reader.
pub fn gold_texts(lexicon: &Lexicon, golds: &[(Gold, PathBuf)]) -> Result<Vec<Text>> {
    let mut out = Vec::new();
    for (gold, file) in golds.iter().filter(|(gold, _)| gold.emendations.is_empty()) {
        let reader = Reader::for_text(lexicon, &gold.glossary, &gold.text)?;
        let options = Options { cast_on: gold.given_cast_on(), ..Options::default() };
        let reading = reader.read(&gold.text, &options);
        let exact = best_piece(&reading, gold).is_some_and(|piece| {
            let rows = &piece.worked.rows;
            rows.len() == gold.rows.len()
                && rows.iter().zip(&gold.rows).all(|(row, gold)| same_row(&row.ops, &gold.stitches()))
        });
        if exact {
            let name = file.file_stem().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
            out.push(Text { name, text: gold.text.clone(), reader, options, reading });
        }
    }
    Ok(out)
}

/// So many generated texts that the reader reads exactly, in all dialects by turns.
///
/// # Errors
/// When the dialects cannot be read.
pub fn generated(lexicon: &Lexicon, seed: u64, count: usize) -> Result<Vec<Text>> {
    let dialects = Dialect::all()?;
    let alike = |op: Op| if op.is_slip() && op != Op::SlYo { Op::Slp } else { op };
    let mut out = Vec::new();
    // A text that is not read exactly is passed over, but not for ever.
    for at in 0..20 * count as u64 {
        if out.len() == count {
            break;
        }
        let dialect = &dialects[at as usize % dialects.len()];
        let prose = write(&random_program(seed.wrapping_add(at)), dialect, seed.wrapping_add(at));
        let (own, _) = lexicon_of_book(lexicon, &prose.glossary);
        let reader = Reader::with(own)?;
        let options =
            Options { cast_on: prose.cast_on, answers: prose.answers.clone(), ..Options::default() };
        let reading = reader.read(&prose.text, &options);
        let rows = reading.pieces.iter().flat_map(|piece| &piece.worked.rows);
        let read: Vec<Vec<Op>> =
            rows.map(|row| row.ops.iter().map(|stitch| alike(stitch.op)).collect()).collect();
        let meant: Vec<Vec<Op>> =
            prose.rows.iter().map(|row| row.ops.iter().map(|op| alike(*op)).collect()).collect();
        if read == meant {
            let name = format!("{}-{}", prose.dialect, seed.wrapping_add(at));
            out.push(Text { name, text: prose.text, reader, options, reading });
        }
    }
    Ok(out)
}

/// What a reading makes of a text: the stitches of every row of every piece, and the numbers that are stated.
pub fn program(reading: &Reading) -> Vec<String> {
    let mut out = Vec::new();
    for piece in &reading.pieces {
        let said = &piece.plan.cast_on;
        out.push(format!("{} of {:?} and {}", piece.piece.cast_on, said.of, said.plus));
        for (row, planned) in piece.worked.rows.iter().zip(&piece.plan.rows) {
            out.push(format!("{} {:?}", tokens(&row.ops), planned.stated.map(|(stated, _)| stated)));
        }
    }
    out
}
