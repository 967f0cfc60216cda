//! A text that was read and checked: what every command works with.

use std::rc::Rc;

use cloth::Look;
use loops::Worked;
use mending::{Emendation, Mending, Orders, Ruling, mend, read_ruled};
use notation::Lexicon;
use reading::{Options, PieceReading, Reader, Reading, Study};

use crate::failure::Failure;
use crate::glossary::Senses;
use crate::request::ReadingArgs;
use crate::source::Source;

/// A text with its reading and the corrections that were weighed.
pub struct Checked {
    /// The text.
    pub source: Source,
    /// What was known beforehand.
    pub options: Options,
    /// The readings.
    pub mending: Mending,
    /// What the user decided about corrections.
    rulings: Vec<Ruling>,
    reader: Rc<Reader>,
}

impl Checked {
    /// Reads and checks what the arguments name, weighing so many corrections.
    ///
    /// # Errors
    /// [`Failure`] when a file cannot be used or a choice is not on offer.
    pub fn of(args: &ReadingArgs, top: usize) -> Result<Checked, Failure> {
        let senses = Senses::load(args.glossary.as_deref())?;
        let options = args.options(&senses.lexicon)?;
        let source = Source::load(&args.file)?;
        for words in &senses.not_understood {
            anstream::eprintln!("note: this explanation was not understood: \"{words}\"");
        }
        let checked = Checked::of_source(source, &senses, options, top)?;
        if !checked.mending.searched {
            anstream::eprintln!(
                "note: {}: corrections were not searched, because the text is long or very much in it does not come \
                 out; give one pattern at a time",
                checked.source.name
            );
        }
        if checked.mending.cut_short {
            anstream::eprintln!(
                "note: {}: the search for corrections was ended before everything was tried; give one pattern at a time",
                checked.source.name
            );
        }
        Ok(checked)
    }

    /// Reads and checks a text that is at hand, weighing so many corrections.
    ///
    /// # Errors
    /// [`Failure::Data`] only if the data files compiled in are broken.
    pub fn of_source(
        source: Source,
        senses: &Senses,
        options: Options,
        top: usize,
    ) -> Result<Checked, Failure> {
        let reader = Rc::new(Reader::for_text(&senses.lexicon, &senses.explained, &source.text)?);
        Ok(Checked::searched(&reader, &reader.study(), source, options, &Orders::top(top)))
    }

    /// Reads a text with a reader that serves it, and searches for corrections as ordered.
    pub fn searched(
        reader: &Rc<Reader>,
        study: &Study<'_>,
        source: Source,
        options: Options,
        orders: &Orders<'_>,
    ) -> Checked {
        let options = with_told(reader, options);
        let mut mending = mend(study, &source.text, &options, orders);
        mending.weigh(|reading| Look::against(reading.pieces.iter().map(|piece| &piece.piece)));
        Checked { source, options, mending, rulings: orders.rulings.to_vec(), reader: Rc::clone(reader) }
    }

    /// Reads a text with a reader that serves it, and searches for no corrections.
    pub fn only_read(
        reader: &Rc<Reader>,
        study: &Study<'_>,
        source: Source,
        options: Options,
        rulings: Vec<Ruling>,
    ) -> Checked {
        let options = with_told(reader, options);
        let mending = read_ruled(study, &source.text, &options, &rulings);
        Checked { source, options, mending, rulings, reader: Rc::clone(reader) }
    }

    /// The text without corrections but those that the user took, read for so many stitches cast on.
    pub fn read_on(&self, cast_on: u32) -> Reading {
        self.read_with(&Options { cast_on: Some(cast_on), ..self.options.clone() })
    }

    /// The text without corrections but those that the user took, read with this answer to a question of the whole
    /// text.
    pub fn read_for(&self, question: &str, answer: &str) -> Reading {
        let mut options = self.options.clone();
        options.answers.insert(question.to_owned(), answer.to_owned());
        self.read_with(&options)
    }

    /// The text exactly as printed, without what the user decided about corrections.
    pub fn read_bare(&self) -> Reading {
        self.reader.read(&self.source.text, &self.options)
    }

    fn read_with(&self, options: &Options) -> Reading {
        read_ruled(&self.reader.study(), &self.source.text, options, &self.rulings).printed
    }

    /// Whether an answer that was fixed beforehand is the one that the book itself gives.
    pub fn is_told(&self, question: &str) -> bool {
        self.reader
            .glossary()
            .answers
            .get(question)
            .is_some_and(|answer| self.options.answers.get(question) == Some(answer))
    }

    /// The senses in force.
    pub fn lexicon(&self) -> &Lexicon {
        self.reader.lexicon()
    }

    /// The reading to go on with.
    pub fn reading(&self) -> &Reading {
        self.mending.best()
    }

    /// The corrections in it.
    pub fn emendations(&self) -> impl Iterator<Item = &Emendation> {
        self.mending.emendations()
    }

    /// The pieces to go on with.
    ///
    /// # Errors
    /// [`Failure::NoPattern`] where there are none.
    pub fn pieces(&self) -> Result<&[PieceReading], Failure> {
        match self.reading().pieces.as_slice() {
            [] => Err(Failure::NoPattern { file: self.source.name.clone() }),
            pieces => Ok(pieces),
        }
    }
}

/// What was known beforehand, with the answers that the book gives.
fn with_told(reader: &Reader, mut options: Options) -> Options {
    for (question, answer) in &reader.glossary().answers {
        options.answers.entry(question.clone()).or_insert_with(|| answer.clone());
    }
    options
}

/// What to call a piece: its own name, its place among several, or nothing where there is no other.
pub fn piece_name(pieces: &[PieceReading], index: usize) -> Option<String> {
    let own = pieces.get(index).and_then(|piece| piece.piece.name.clone());
    own.or_else(|| (pieces.len() > 1).then(|| format!("Piece {}", index + 1)))
}

/// "row", or "round" in work that goes round.
pub fn row_word(piece: &PieceReading) -> &'static str {
    if piece.piece.worked == Worked::Round { "round" } else { "row" }
}
