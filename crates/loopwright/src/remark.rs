//! Everything that a reader must be told besides the rows: corrections, choices, assumptions, faults, words not
//! understood. One list serves the terminal, the notes file and the booklet, so that they cannot disagree.

use loops::Op;
use mending::Emendation;
use reading::{PieceReading, Reading};
use span::Span;

use crate::checked::{Checked, piece_name, row_word};
use crate::choice::{Choice, choices, one_line, terms};
use crate::fault::{FoundFault, faults};

/// What a remark is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum RemarkKind {
    /// A row that cannot be worked as read.
    Fault,
    /// A misprint that was put right.
    Correction,
    /// One of several readings.
    Choice,
    /// What the text does not say and was taken to be meant.
    Assumption,
    /// Words that were not understood.
    Unread,
}

/// One remark on the text.
#[derive(Clone, Debug, PartialEq)]
pub struct Remark {
    /// What it is about.
    pub kind: RemarkKind,
    /// The piece and the row that it belongs to, where it belongs to one.
    pub row: Option<(usize, usize)>,
    /// The place in words, such as "Row 7" or "Piece 2, row 7"; empty where the whole text is meant.
    pub place: String,
    /// The words; detached where nothing is printed.
    pub span: Span,
    /// The words as printed.
    pub printed: Option<String>,
    /// The words as read or corrected.
    pub reading: Option<String>,
    /// The matter in a sentence without its first capital and its stop; of a fault what follows the place.
    pub message: String,
    /// What speaks for it, or what to do; may be empty.
    pub why: String,
    /// How to have it otherwise on the command line.
    pub way_out: Option<String>,
}

impl Remark {
    /// Place and matter as one sentence without its stop.
    pub fn title(&self) -> String {
        match (self.place.as_str(), self.kind) {
            ("", _) => capital(&self.message),
            (place, RemarkKind::Fault) => format!("{place} {}", self.message),
            (place, _) => format!("{place}: {}", self.message),
        }
    }

    /// What speaks for it, and the way out for those at the command line.
    pub fn advice(&self) -> String {
        advice(&self.why, self.way_out.as_deref())
    }
}

/// Reasons with the way out after them.
pub fn advice(why: &str, way_out: Option<&str>) -> String {
    way_out.map_or_else(|| why.to_owned(), |way_out| format!("{why}; {way_out}"))
}

/// All remarks on the reading that is gone on with, by kind and in the order of the text.
pub fn remarks(checked: &Checked) -> Vec<Remark> {
    let reading = checked.reading();
    let terms = terms(checked, reading);
    let mut all = faults_told(checked);
    all.extend(checked.emendations().map(|one| correction(reading, one)));
    all.extend(choices(checked, reading, &terms).into_iter().map(Remark::from));
    all.extend(assumed_and_unread(checked));
    all
}

/// The remarks on what she can settle only by changing the text, by kind.
pub fn remarks_but_corrections(checked: &Checked) -> Vec<Remark> {
    let mut all = faults_told(checked);
    all.extend(assumed_and_unread(checked));
    all
}

fn faults_told(checked: &Checked) -> Vec<Remark> {
    faults(checked.reading()).into_iter().map(|found| fault(checked, found)).collect()
}

fn assumed_and_unread(checked: &Checked) -> Vec<Remark> {
    let reading = checked.reading();
    let mut all = Vec::new();
    for (index, piece) in reading.pieces.iter().enumerate() {
        all.extend(open_cast_on(checked, index, piece));
        all.extend(rows_not_told(reading, index));
        all.extend(measures(checked, index, piece));
    }
    all.extend(reading.unread.iter().map(|span| unread(checked, *span)));
    all
}

fn fault(checked: &Checked, fault: FoundFault) -> Remark {
    let words = one_line(fault.span.of(&checked.source.text));
    Remark {
        kind: RemarkKind::Fault,
        row: Some((fault.piece, fault.row)),
        place: in_piece(checked.reading(), fault.piece, &fault.place),
        span: fault.span,
        printed: Some(words).filter(|words| !words.is_empty()),
        reading: None,
        message: fault.message,
        why: fault.help,
        way_out: None,
    }
}

/// A correction as a remark.
pub fn correction(reading: &Reading, one: &Emendation) -> Remark {
    let row = row_of(reading, one);
    let place = match row {
        Some((piece, _)) => in_piece(reading, piece, &row_place(reading.pieces.get(piece), &one.row)),
        None => capital(&one.row),
    };
    let message = correction_in_words(one);
    Remark {
        kind: RemarkKind::Correction,
        row,
        place,
        span: one.span,
        printed: Some(one.printed.clone()).filter(|words| !words.is_empty()),
        reading: Some(one.corrected.clone()),
        message,
        why: one.why.clone(),
        way_out: None,
    }
}

/// What a correction does, without its place.
pub fn correction_in_words(one: &Emendation) -> String {
    match (one.printed.as_str(), one.corrected.as_str()) {
        ("", corrected) => format!("\"{}\" is left out", unstopped(&one_line(corrected))),
        (printed, "") => format!("\"{}\" is too much", unstopped(&one_line(printed))),
        (printed, corrected) => format!("read \"{}\" for \"{}\"", one_line(corrected), one_line(printed)),
    }
}

/// Words without the comma or space that joins them to others; a mark that stands alone stays.
pub fn unstopped(words: &str) -> &str {
    let bare = words.trim_matches([' ', ',', ';']);
    if bare.is_empty() { words } else { bare }
}

impl From<Choice> for Remark {
    fn from(choice: Choice) -> Remark {
        let (chosen, others) =
            choice.senses.split_first().map_or(("", &[][..]), |(chosen, others)| (chosen, others));
        let mut remark = bare(
            RemarkKind::Choice,
            format!("{} is {chosen}; it could be {}", choice.term, others.join(", or ")),
        );
        remark.span = choice.span;
        remark.reading = Some(chosen.to_owned());
        remark.printed = Some(choice.term);
        (remark.why, remark.way_out) = (choice.why, choice.way_out);
        remark
    }
}

fn bare(kind: RemarkKind, message: String) -> Remark {
    Remark {
        kind,
        row: None,
        place: String::new(),
        span: Span::DETACHED,
        printed: None,
        reading: None,
        message,
        why: String::new(),
        way_out: None,
    }
}

/// The number cast on, where neither the text nor the user tells it.
fn open_cast_on(checked: &Checked, index: usize, piece: &PieceReading) -> Option<Remark> {
    let said = &piece.plan.cast_on;
    if said.count.is_some() || !said.needles.is_empty() || checked.options.cast_on.is_some() {
        return None;
    }
    let mut remark = bare(RemarkKind::Assumption, format!("{} stitches are cast on", piece.piece.cast_on));
    remark.span = piece.plan.cast_on_span.unwrap_or(Span::DETACHED);
    remark.place = piece_name(&checked.reading().pieces, index).unwrap_or_default();
    remark.why = "the text tells no number, and this one suits the rows".to_owned();
    remark.way_out = Some("--cast-on N takes another".to_owned());
    Some(remark)
}

/// Lengths that stand in place of a number of rows.
fn measures(checked: &Checked, index: usize, piece: &PieceReading) -> Vec<Remark> {
    let remark = |span: &Span| {
        let words = one_line(span.of(&checked.source.text));
        let mut remark = bare(RemarkKind::Assumption, format!("\"{words}\" stands here as one row"));
        remark.span = *span;
        remark.place = piece_name(&checked.reading().pieces, index).unwrap_or_default();
        remark.why = "how many rows make that length is for the knitter's measure to say".to_owned();
        remark
    };
    piece.plan.measures.iter().map(remark).collect()
}

/// Rows that the numbers leave room for and the text does not tell.
fn rows_not_told(reading: &Reading, index: usize) -> Option<Remark> {
    let piece = reading.pieces.get(index)?;
    let rows = piece.plan.rows.iter().enumerate().filter(|(_, row)| row.filled);
    let (at, labels): (Vec<usize>, Vec<&str>) = rows.map(|(at, row)| (at, row.label.as_str())).unzip();
    let op = piece.plan.filled?;
    let worked = if op == Op::P { "purled" } else { "knitted" };
    let word = row_word(piece);
    let message = match labels.as_slice() {
        [] => return None,
        [one] => format!("{word} {one} is not told; it is {worked}"),
        many => format!("{word}s {} are not told; they are {worked}", listed(many)),
    };
    let mut remark = bare(RemarkKind::Assumption, message);
    remark.row = at.first().map(|row| (index, *row));
    remark.place = piece_name(&reading.pieces, index).unwrap_or_default();
    remark.why = "the numbers of the others leave room".to_owned();
    Some(remark)
}

fn unread(checked: &Checked, span: Span) -> Remark {
    let words = one_line(span.of(&checked.source.text));
    let mut remark = bare(RemarkKind::Unread, format!("\"{words}\""));
    (remark.span, remark.printed) = (span, Some(words));
    remark
}

/// The row that a correction is in: by its place in the text, or by its name where nothing is printed there.
fn row_of(reading: &Reading, one: &Emendation) -> Option<(usize, usize)> {
    let find = |fits: &dyn Fn(&loops::Row) -> bool| {
        let mut pieces = reading.pieces.iter().enumerate();
        pieces.find_map(|(index, piece)| Some((index, piece.piece.rows.iter().position(fits)?)))
    };
    find(&|row| row.span.covers(one.span)).or_else(|| find(&|row| row.label == one.row))
}

/// A place in a piece, with the name of the piece where there are several.
fn in_piece(reading: &Reading, piece: usize, place: &str) -> String {
    let name = piece_name(&reading.pieces, piece).filter(|_| reading.pieces.len() > 1);
    name.map_or_else(|| capital(place), |name| format!("{name}, {place}"))
}

fn row_place(piece: Option<&PieceReading>, label: &str) -> String {
    let is_number = label.starts_with(|c: char| c.is_ascii_digit());
    match piece.map(row_word) {
        Some(word) if is_number => format!("{word} {label}"),
        _ => label.to_owned(),
    }
}

/// With its first letter a capital.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// "2, 4 and 6", the middle of a long list left out.
fn listed(labels: &[&str]) -> String {
    /// A list longer than this is told by its ends.
    const LONG: usize = 6;
    match labels {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first, second, .., last] if labels.len() > LONG => format!("{first}, {second} and so on to {last}"),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}
