//! Whether a correction may be applied unasked.
//!
//! It must be far ahead of the next, and nothing may speak of a misprint that no single correction reaches: a
//! row left out, or a row set again in place of another. There the cheapest way to make the stitches come out is seldom
//! the right one.

use reading::{ChainRow, Chosen, Content, PieceReading, PlannedRow, Reading, StatementKind, Token};
use span::Span;

use super::bench::{Bench, Guess, Trial, names_a_stitch};
use super::weight::{Price, is_ahead};
use crate::draft::Draft;
use crate::numbering::{lacks_a_row, told_again};
use crate::patch::Patch;
use crate::trouble::Trouble;

/// Nats of regularity that a number put right in a series of rows gains at least.
const IN_SERIES: f64 = 1.5;
/// Nats of regularity that speak for one word for another where neither names a stitch. Guess.
const OF_NO_STITCH: f64 = 3.0;

/// Nats for a number cast on or stated that is three or more off and looks otherwise.
const FAR: f64 = 7.0;

/// Rows told in words of their own that must take a number far from the one printed as cast on.
const WITNESSES: usize = 2;

/// Two corrections within so many rows may both be owed to one misprint of a kind that is not searched.
const TOGETHER: usize = 2;

impl Bench<'_> {
    /// Whether the first of some corrections, best first, is beyond doubt.
    pub(super) fn is_sure(&self, tried: &[Trial]) -> bool {
        let Some(first) = tried.first() else { return false };
        let hard = self.troubles.iter().any(Trouble::is_hard);
        hard && first.hard == 0
            && !first.guess.drafts.iter().any(|draft| draft.doubtful)
            && !self.is_dear(first)
            && is_ahead(lead(first, &tried[1..]), self.cost - first.cost, puts_words_in(&first.guess))
            && !self.is_read_badly(&first.reading)
            && !self.only_makes_sense(first)
            && !first.reading.pieces.iter().any(lacks_a_row)
            && !self.is_set_again(first)
            && !self.stand_together(&first.guess.drafts)
            && !first.guess.drafts.iter().any(|draft| self.is_unwitnessed(draft, &first.reading))
    }

    /// Whether a correction is dear in itself and no regularity of its row speaks for it all the same.
    fn is_dear(&self, first: &Trial) -> bool {
        let drafts = &first.guess.drafts;
        let evidence = self.evidence(&first.reading, drafts.len());
        drafts.iter().any(|draft| {
            let price = Price {
                cost: draft.cost,
                evidence,
                alone: drafts.len() == 1 && self.place(draft).is_some(),
                counted: first.guess.place.is_some() && !self.names_another_row(draft),
            };
            price.is_dear()
        })
    }

    /// Whether a correction is of the row that another is said to be like: few others come into question.
    fn names_another_row(&self, draft: &Draft) -> bool {
        self.printed.statements.iter().any(|told| match &told.kind {
            StatementKind::Rows { content: Content::Like(Some(like)), .. } => {
                draft.patches.iter().all(|patch| like.span.covers(patch.span))
            }
            _ => false,
        })
    }

    /// Whether one known word is put for another in words that are not understood, and regularity does not speak for it
    /// enough: they may be a phrase that the reader does not know, and then what does not come out may be owed to that
    /// alone.
    fn only_makes_sense(&self, first: &Trial) -> bool {
        let evidence = self.evidence(&first.reading, first.guess.drafts.len());
        let names = |tokens: &[Token]| tokens.iter().any(|token| names_a_stitch(self.reader, token));
        let one = |tokens: &[Token]| matches!(tokens, [one] if self.reader.knows(&one.text));
        let for_another = |patch: &Patch| {
            let unread = self.printed.unread.iter().any(|unread| unread.covers(patch.span));
            let (printed, corrected) = (self.words.within(patch.span), self.words.cut(&patch.corrected));
            let needed = if names(printed) || names(&corrected) { IN_SERIES } else { OF_NO_STITCH };
            unread && one(printed) && one(&corrected) && evidence < needed
        };
        first.guess.drafts.iter().flat_map(|draft| &draft.patches).any(for_another)
    }

    /// Whether a row that does not come out is set in the words of one just before it, or stands beside such a row. Of rows
    /// with others between, one may have become like the other by a number alone, which regularity then tells.
    fn is_set_again(&self, first: &Trial) -> bool {
        let irregular = self.evidence(&first.reading, first.guess.drafts.len()) < IN_SERIES;
        let again = |index: usize, row: usize| {
            let pairs = told_again(&self.printed.pieces[index], self.words.text);
            pairs.iter().any(|(one, two)| match one + 1 == *two {
                true => (*one..=two + 1).contains(&row),
                false => irregular && (*two..=two + 1).contains(&row),
            })
        };
        self.troubles
            .iter()
            .any(|trouble| trouble.piece().zip(trouble.row()).is_some_and(|(piece, row)| again(piece, row)))
    }

    /// Whether two of some corrections stand so near each other, or at places so little known, that one misprint may be
    /// behind both.
    fn stand_together(&self, drafts: &[Draft]) -> bool {
        let places: Vec<Option<(usize, usize)>> = drafts.iter().map(|draft| self.spot(draft)).collect();
        let near = |one: Option<(usize, usize)>, other: Option<(usize, usize)>| match (one, other) {
            (Some((piece, row)), Some((second, other))) => piece == second && row.abs_diff(other) <= TOGETHER,
            _ => true,
        };
        places.iter().enumerate().any(|(at, one)| places[at + 1..].iter().any(|other| near(*one, *other)))
    }

    /// The piece and row of a correction; what is cast on goes with the first row.
    fn spot(&self, draft: &Draft) -> Option<(usize, usize)> {
        let span = draft.patches.first()?.span;
        let of_piece = |(index, piece): (usize, &PieceReading)| {
            let cast_on = piece.plan.cast_on_span.or(piece.plan.cast_on.count_span);
            let stated = |row: &PlannedRow| row.stated.is_some_and(|(_, stated)| stated.covers(span));
            let starts = || cast_on.filter(|said| said.covers(span) || span.covers(*said)).map(|_| 0);
            piece.plan.rows.iter().rposition(stated).or_else(starts).map(|row| (index, row))
        };
        self.place(draft).or_else(|| self.printed.pieces.iter().enumerate().find_map(of_piece))
    }

    /// Whether a number of stitches is put right that is far off, on the word of rows that may themselves be wrong: another
    /// number cast on where rows that change it stand before the first that does not come out, or that one row alone
    /// takes; another total that no row takes.
    fn is_unwitnessed(&self, draft: &Draft, corrected: &Reading) -> bool {
        let changes = |span: Span| {
            !span.is_detached()
                && draft.patches.iter().any(|patch| patch.span.covers(span) || span.covers(patch.span))
        };
        let of_piece = |(index, piece): (usize, &PieceReading)| {
            let stated = |row: &PlannedRow| row.stated.is_some_and(|(_, span)| changes(span));
            let alone = || corrected.pieces.get(index).is_none_or(|piece| witnesses(piece) < WITNESSES);
            piece.plan.cast_on.count_span.is_some_and(changes)
                && (self.changes_before_trouble(index, piece) || alone())
                || piece.plan.rows.iter().rposition(stated).is_some_and(|row| !is_taken_from(piece, row))
        };
        draft.cost > FAR && self.printed.pieces.iter().enumerate().any(of_piece)
    }

    /// Whether some row changes the number of stitches before the first that does not come out.
    fn changes_before_trouble(&self, index: usize, piece: &PieceReading) -> bool {
        let own = self.troubles.iter().filter(|trouble| trouble.is_hard() && trouble.piece() == Some(index));
        let first = own.filter_map(Trouble::row).min().unwrap_or(0);
        piece.path.rows[..first].iter().any(|row| row.fit.after != row.before)
    }

    /// Whether stitches or numbers inside the rows were not understood, or stitches or a row in a sentence between them, or
    /// how they are shared among needles, or how rows begin and end, so that what does not come out may be the reader's
    /// fault.
    fn is_read_badly(&self, reading: &Reading) -> bool {
        let number =
            |token: &Token| token.number.is_some() || notation::numeral::cardinal(&token.text).is_some();
        reading.unread.iter().any(|span| {
            let tokens = self.words.within(*span);
            let inside =
                reading.pieces.iter().any(|piece| piece.plan.rows.iter().any(|row| row.span.covers(*span)));
            let between = reading.pieces.iter().any(|piece| extent(piece).covers(*span));
            let stitch = |token: &Token| names_a_stitch(self.reader, token);
            let untold =
                names_a_row(tokens) || tokens.iter().any(|token| stitch(token) || inside && number(token));
            between && untold || tokens.iter().any(number) && (shares_out(tokens) || tells_of_ends(tokens))
        })
    }
}

/// Nats by which a correction is ahead of the next. One that makes it and a further one that mends nothing is no other.
fn lead(first: &Trial, others: &[Trial]) -> f64 {
    let others = others.iter().filter(|other| !goes_on_from(&other.guess, &first.guess));
    others.map(|other| other.cost - first.cost).fold(f64::INFINITY, f64::min)
}

/// Whether a guess puts words in where none are printed.
fn puts_words_in(guess: &Guess) -> bool {
    let words =
        |patch: &Patch| patch.span.range().is_empty() && patch.corrected.contains(char::is_alphanumeric);
    guess.drafts.iter().flat_map(|draft| &draft.patches).any(words)
}

/// How many rows of different words take the very number cast on, one after the other from the first.
fn witnesses(piece: &PieceReading) -> usize {
    let told = piece.plan.rows.iter().zip(&piece.chain).zip(&piece.path.rows);
    let on_it = told.take_while(|(_, chosen)| chosen.before == piece.path.start);
    let closed = |((row, chain), chosen): ((&PlannedRow, &ChainRow), &Chosen)| {
        let seq = &chain.candidates[chosen.candidate].seq;
        (seq.shape().open.is_empty() && row.span.covers(seq.span())).then(|| seq.span())
    };
    let mut spans: Vec<Span> = on_it.filter_map(closed).collect();
    spans.sort();
    spans.dedup();
    spans.len()
}

/// Whether a row from this one on tells how many stitches it takes, and they are there.
fn is_taken_from(piece: &PieceReading, row: usize) -> bool {
    let mut rows = piece.chain.iter().zip(&piece.path.rows).skip(row);
    rows.any(|(row, chosen)| !chosen.fault && row.candidates[chosen.candidate].seq.shape().open.is_empty())
}

/// Whether all corrections of a guess are among those of another.
fn goes_on_from(guess: &Guess, other: &Guess) -> bool {
    other.drafts.iter().all(|draft| guess.drafts.contains(draft))
}

/// Whether words tell of stitches put on another needle: "leave the other twelve on a spare needle".
fn shares_out(tokens: &[Token]) -> bool {
    const PUT: [&str; 7] = ["put", "leave", "place", "divide", "divided", "left", "keep"];
    const NEEDLES: [&str; 6] = ["needle", "needles", "pin", "pins", "holder", "thread"];
    let one_of = |words: &[&str]| tokens.iter().any(|token| words.contains(&token.text.as_str()));
    one_of(&PUT) && one_of(&NEEDLES)
}

/// Whether words tell of the stitches at the ends of rows: "the last four stitches thus".
fn tells_of_ends(tokens: &[Token]) -> bool {
    const ENDS: [&str; 10] =
        ["first", "1st", "last", "edge", "edges", "border", "borders", "selvage", "selvedge", "ends"];
    const STITCHES: [&str; 6] = ["stitch", "stitches", "st", "sts", "loop", "loops"];
    let one_of = |words: &[&str]| tokens.iter().any(|token| words.contains(&token.text.as_str()));
    one_of(&ENDS) && one_of(&STITCHES)
}

/// Whether words are the name of a row: "10th row".
fn names_a_row(tokens: &[Token]) -> bool {
    tokens.windows(2).any(|pair| pair[0].ordinal.is_some() && reading::row_word(&pair[1]).is_some())
}

/// The words from the first row of a piece to its last, and to what is stated of that.
fn extent(piece: &PieceReading) -> Span {
    piece.plan.rows.iter().fold(Span::DETACHED, |all, row| {
        let told = all.to(row.span);
        row.stated.map_or(told, |(_, stated)| told.to(stated))
    })
}
