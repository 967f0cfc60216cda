//! Texts of the plainer idioms read back stitch for stitch.
//!
//! Only what the reader is known to read is asserted; how much of everything it reads is measured by the example
//! `roundtrip`.

use loops::Op;
use prose::{Dialect, Kind, Prose, Rng, program_of, write};
use reading::{Options, Reader, lexicon_of_book};

/// Kinds of program that are asserted.
const KINDS: [Kind; 6] =
    [Kind::Lace, Kind::RoundLace, Kind::Texture, Kind::RoundTexture, Kind::Insertion, Kind::Rib];

/// Idioms, by the beginning of their names, that are measured and not asserted.
const MEASURED: [&str; 16] = [
    "across:alternately",
    "across:clause-times",
    "across:cut-short-unsaid",
    "across:letter",
    "again:Repeat.",
    "block:",
    "count:",
    "edge:",
    "edges-apart:",
    "layout:run-in",
    "layout:wrapped",
    "like:",
    "returns:",
    "whole:k",
    "whole:p",
    "word:sl{n}",
];

fn is_plain(prose: &Prose) -> bool {
    let idioms = prose.idioms.iter().chain(prose.tellings.iter().flat_map(|telling| &telling.idioms));
    idioms.into_iter().all(|idiom| {
        let whole_word =
            matches!(idiom.as_str(), "whole:knit" | "whole:purl" | "whole:purled" | "whole:plain");
        whole_word || !MEASURED.iter().any(|measured| idiom.starts_with(measured))
    })
}

#[test]
fn plain_texts_read_back_stitch_for_stitch() {
    let builtin = Reader::new().unwrap();
    let alike = |op: Op| if op.is_slip() && op != Op::SlYo { Op::Slp } else { op };
    let asserted = ["present-day", "britain-1840", "letters-p-purl"];
    let mut read = 0;
    for dialect in Dialect::all().unwrap().iter().filter(|dialect| asserted.contains(&dialect.name.as_str()))
    {
        let reader = Reader::with(lexicon_of_book(builtin.lexicon(), &dialect.glossary).0).unwrap();
        for seed in 0..240 {
            let kind = KINDS[seed as usize % KINDS.len()];
            let prose = write(&program_of(kind, &mut Rng::new(seed)), dialect, seed);
            if !is_plain(&prose) {
                continue;
            }
            let options = Options { cast_on: prose.cast_on, ..Options::default() };
            let reading = reader.read(&prose.text, &options);
            let rows = reading.pieces.first().map(|piece| piece.worked.rows.as_slice()).unwrap_or_default();
            let rows: Vec<Vec<Op>> =
                rows.iter().map(|row| row.ops.iter().map(|stitch| alike(stitch.op)).collect()).collect();
            let meant: Vec<Vec<Op>> =
                prose.rows.iter().map(|row| row.ops.iter().map(|&op| alike(op)).collect()).collect();
            assert_eq!(rows, meant, "{} {seed}:\n{}", dialect.name, prose.text);
            read += 1;
        }
    }
    assert!(read >= 30, "{read} texts are too few to say anything");
}
