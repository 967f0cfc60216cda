//! Texts of every dialect and idiom read back stitch for stitch, but for one in two hundred.
//!
//! The example `roundtrip` measures the same over any number of texts, and shows which idioms fail.

use loops::{Op, WorkedRow};
use prose::{Dialect, Prose, random_program, write};
use reading::{Options, Reader, lexicon_of_book};

/// Texts of each dialect.
const TEXTS: u64 = 120;
/// Of so many texts one may be read wrong: some hold a repeat that can be read in two ways.
const ONE_IN: usize = 200;

fn is_read_back(reader: &Reader, prose: &Prose) -> bool {
    let alike = |op: Op| if op.is_slip() && op != Op::SlYo { Op::Slp } else { op };
    let same = |row: &WorkedRow, ops: &[Op]| {
        row.ops.len() == ops.len() && row.ops.iter().zip(ops).all(|(a, b)| alike(a.op) == alike(*b))
    };
    let reading = reader.read(&prose.text, &Options { cast_on: prose.cast_on, ..Options::default() });
    reading.pieces.iter().any(|piece| {
        let rows = &piece.worked.rows;
        rows.len() == prose.rows.len() && rows.iter().zip(&prose.rows).all(|(row, told)| same(row, &told.ops))
    })
}

#[test]
fn texts_read_back_stitch_for_stitch() {
    let builtin = Reader::new().unwrap();
    let (mut read, mut wrong) = (0, Vec::new());
    for dialect in Dialect::all().unwrap() {
        let reader = Reader::with(lexicon_of_book(builtin.lexicon(), &dialect.glossary).0).unwrap();
        for seed in 0..TEXTS {
            let prose = write(&random_program(seed), &dialect, seed);
            read += 1;
            if !is_read_back(&reader, &prose) {
                wrong.push(format!("{} {seed}\n{}", dialect.name, prose.text));
            }
        }
    }
    assert!(wrong.len() * ONE_IN <= read, "{} of {read}:\n{}", wrong.len(), wrong.join("\n"));
}
