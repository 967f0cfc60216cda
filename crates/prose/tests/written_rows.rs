//! What the wording of today writes, the reader reads back to the same program.

use loops::{Op, Piece, Row, Stitch};
use prose::random_program;
use reading::{Options, Reader};
use wording::{Terms, write};

/// The operations of every row, slips without regard to kind.
fn rows(piece: &Piece) -> Vec<Vec<Op>> {
    let kind =
        |stitch: &Stitch| if stitch.op.is_slip() && stitch.op != Op::SlYo { Op::Slp } else { stitch.op };
    piece
        .rows
        .iter()
        .map(|row: &Row| row.ops().expect("a row within bounds").iter().map(kind).collect())
        .collect()
}

fn reads_back(reader: &Reader, piece: &Piece, terms: Terms) -> bool {
    let text = write(piece, terms).to_text();
    let answers = [("P", "purl"), ("make", "lifted")]
        .map(|(question, answer)| (question.to_owned(), answer.to_owned()));
    let options = Options {
        cast_on: Some(piece.cast_on),
        answers: answers.into_iter().collect(),
        ..Options::default()
    };
    let reading = reader.read(&text, &options);
    reading.pieces.iter().any(|read| {
        let steps: Vec<Vec<Op>> = rows(&read.piece);
        steps == rows(piece)
    })
}

#[test]
fn written_rows_are_read_back() {
    let reader = Reader::new().expect("whole data files");
    let seeds = 400u64;
    let mut lost = Vec::new();
    for seed in 0..seeds {
        let piece = random_program(seed);
        let terms = if seed % 2 == 0 { Terms::Us } else { Terms::Uk };
        if !reads_back(&reader, &piece, terms) {
            lost.push(seed);
        }
    }
    println!("{} of {seeds} programs are read back", seeds as usize - lost.len());
    assert!(lost.is_empty(), "not read back: {lost:?}");
}
