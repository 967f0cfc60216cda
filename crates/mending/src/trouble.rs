//! What does not come out in a text as read.
//!
//! Looks at counts, at totals that are stated, at repeats in height and in width, at the number cast on and at ranges of
//! rows; knows no corrections. The reader has ways to make sense of nearly any row: a repeat is cut short, or not
//! marked, or stands between edges that are not mentioned. Each of them is met in old books; here it is asked whether
//! one of them stands alone in its piece, as it would where it covers a misprint.

use reading::{
    Content, Gap, Item, PieceReading, Reading, Seq, Statement, StatementKind, Token, Which, workable,
};
use rustc_hash::FxHashMap;
use span::Span;

use crate::cut::{CUT, CUT_UNMARKED, Home};
use crate::numbering::{Misnumbered, misnumbered};
use crate::whole::ROW_WORDS;
use crate::words::{Words, is_number_misread};

/// Something in a reading that cannot be as printed.
#[derive(Clone, Debug, PartialEq)]
pub enum Trouble {
    /// A row does not fit the stitches on the needle.
    Row {
        /// Index of the piece.
        piece: usize,
        /// Index of the row.
        row: usize,
        /// Stitches that it takes.
        takes: u32,
        /// Stitches on the needle.
        on_needle: u32,
    },
    /// A stated number is not the one that is left.
    Total {
        /// Index of the piece.
        piece: usize,
        /// Index of the row.
        row: usize,
        /// The number stated.
        stated: u32,
        /// The number left.
        left: u32,
    },
    /// A repeat in height does not end with the number it began with.
    Unclosed {
        /// Index of the piece.
        piece: usize,
        /// The number at the beginning.
        began: u32,
        /// The number at the end.
        ended: u32,
    },
    /// Not every number that the text allows to be cast on can be worked.
    Multiple {
        /// Index of the piece.
        piece: usize,
        /// A number that cannot be worked.
        count: u32,
    },
    /// A repeat is cut short where that makes little sense.
    Cut {
        /// Index of the piece.
        piece: usize,
        /// Index of the row.
        row: usize,
        /// Nats against it.
        cost: f64,
    },
    /// Some rows are read between edges that they do not mention, and others are not.
    Edges {
        /// Index of the piece.
        piece: usize,
        /// The first row so read.
        row: usize,
    },
    /// A word of a row is none of the craft, and one letter from a number.
    Word {
        /// The word.
        span: Span,
    },
    /// A row is named, and nothing that stands under its name is understood.
    Untold {
        /// The name and the words.
        span: Span,
    },
    /// A row has the number of another, and the number that its place asks for is told nowhere.
    Numbering(Misnumbered),
    /// A range of rows is told by another number of rows.
    Range {
        /// The first row of the range.
        first: u32,
        /// Rows in the range.
        rows: usize,
        /// Rows that they are said to be like.
        like: usize,
    },
}

impl Trouble {
    /// Nats beyond those that the reader counts. The reader must weigh its own misreadings against a misprint and is
    /// mild; here the words are taken as read.
    pub fn cost(&self) -> f64 {
        match self {
            Trouble::Row { .. } => 0.0,
            Trouble::Total { .. } => 3.0,
            Trouble::Unclosed { .. } => 5.0,
            Trouble::Multiple { .. } => 10.0,
            Trouble::Cut { cost, .. } => *cost,
            Trouble::Edges { .. } => 6.0,
            Trouble::Word { .. } | Trouble::Untold { .. } => 6.0,
            Trouble::Range { .. } | Trouble::Numbering(_) => 9.0,
        }
    }

    /// Whether it is sure that something is wrong, if the words are read rightly.
    pub fn is_hard(&self) -> bool {
        match self {
            Trouble::Range { .. }
            | Trouble::Numbering(_)
            | Trouble::Word { .. }
            | Trouble::Untold { .. }
            | Trouble::Edges { .. } => false,
            Trouble::Cut { cost, .. } => *cost >= CUT_UNMARKED,
            _ => true,
        }
    }

    /// The piece it is in.
    pub fn piece(&self) -> Option<usize> {
        match self {
            Trouble::Row { piece, .. }
            | Trouble::Total { piece, .. }
            | Trouble::Unclosed { piece, .. }
            | Trouble::Cut { piece, .. }
            | Trouble::Edges { piece, .. }
            | Trouble::Multiple { piece, .. } => Some(*piece),
            Trouble::Range { .. } | Trouble::Numbering(_) | Trouble::Word { .. } | Trouble::Untold { .. } => {
                None
            }
        }
    }

    /// The row it is in.
    pub fn row(&self) -> Option<usize> {
        match self {
            Trouble::Row { row, .. }
            | Trouble::Total { row, .. }
            | Trouble::Cut { row, .. }
            | Trouble::Edges { row, .. } => Some(*row),
            Trouble::Unclosed { .. }
            | Trouble::Multiple { .. }
            | Trouble::Range { .. }
            | Trouble::Numbering(_)
            | Trouble::Word { .. }
            | Trouble::Untold { .. } => None,
        }
    }

    /// What is wrong, in words.
    pub fn in_words(&self, reading: &Reading, text: &str) -> String {
        let label = |piece: &usize, row: &usize| reading.pieces[*piece].plan.rows[*row].label.as_str();
        match self {
            Trouble::Row { piece, row, takes, on_needle } => {
                format!(
                    "as printed row {} takes {takes} stitches, and {on_needle} are on the needle",
                    label(piece, row)
                )
            }
            Trouble::Total { piece, row, stated, left } => {
                format!(
                    "the text states {stated} stitches after row {}, and {left} are left",
                    label(piece, row)
                )
            }
            Trouble::Unclosed { began, ended, .. } => {
                format!(
                    "as printed the rows begin with {began} stitches and end with {ended}, and so cannot be repeated"
                )
            }
            Trouble::Multiple { count, .. } => {
                format!("as printed {count} stitches could be cast on, and the rows do not fit them")
            }
            Trouble::Cut { piece, row, .. } => {
                let before = reading.pieces[*piece].path.rows[*row].before;
                format!("as printed row {} does not come out evenly on {before} stitches", label(piece, row))
            }
            Trouble::Edges { piece, row } => {
                format!(
                    "as printed row {} comes out only between edge stitches that no row mentions",
                    label(piece, row)
                )
            }
            Trouble::Word { span } => format!("\"{}\" says nothing here", span.of(text)),
            Trouble::Untold { span } => format!("\"{}\" tells no row", span.of(text)),
            Trouble::Numbering(Misnumbered { printed, meant, .. }) => {
                format!("row {meant} is told nowhere, and where it should stand row {printed} is told again")
            }
            Trouble::Range { first, rows, like } => {
                format!("the range from row {first} has {rows} rows, and those that it is like are {like}")
            }
        }
    }
}

/// Everything that does not come out in a text as read.
pub fn troubles(reading: &Reading, text: &str) -> Vec<Trouble> {
    troubles_in(reading, &Words::new(text))
}

/// The same of a text cut into tokens already.
pub fn troubles_in(reading: &Reading, words: &Words<'_>) -> Vec<Trouble> {
    let mut out = Vec::new();
    for (index, piece) in reading.pieces.iter().enumerate() {
        piece_troubles(index, piece, &mut out);
        strains(index, piece, words.text, &mut out);
    }
    ranges(reading, &mut out);
    out.extend(misnumbered(reading).map(Trouble::Numbering));
    misread(reading, words, &mut out);
    out.extend(untold(reading, words));
    out
}

/// Rows that are named in a text and not understood, each with its few words: "Second row--together", "Every other row
/// together".
fn untold(reading: &Reading, words: &Words<'_>) -> Vec<Trouble> {
    const LONGEST: usize = 6;
    let unread = |statement: &&Statement| statement.kind == StatementKind::Unread;
    let pairs = reading.statements.iter().zip(reading.statements.iter().skip(1));
    let alone =
        pairs.filter(|(name, told)| unread(name) && unread(told) && is_name_of_row(words.within(name.span)));
    let short = alone.filter(|(_, told)| words.within(told.span).len() <= LONGEST);
    let apart = short.map(|(name, told)| name.span.to(told.span));
    let run_on = reading.statements.iter().filter(unread).map(|statement| statement.span).filter(|span| {
        let tokens = words.within(*span);
        let name = name_of_rows(tokens);
        name > 0 && (name + 1..=name + LONGEST).contains(&tokens.len())
    });
    apart.chain(run_on).map(|span| Trouble::Untold { span }).collect()
}

/// How many of the first words name rows that go by turns: "all even rows", "every other round".
fn name_of_rows(tokens: &[Token]) -> usize {
    match tokens {
        [all, which, rows, ..]
            if matches!(all.text.as_str(), "all" | "every")
                && (which.ordinal.is_some()
                    || matches!(which.text.as_str(), "even" | "odd" | "other" | "alternate"))
                && ROW_WORDS.contains(&rows.text.as_str()) =>
        {
            3
        }
        _ => 0,
    }
}

/// Whether these words are the name of one row and nothing more.
fn is_name_of_row(tokens: &[Token]) -> bool {
    let row = |token: &Token| ROW_WORDS.contains(&token.text.as_str());
    match tokens {
        [first, word] => first.ordinal.is_some() && row(word) || row(first) && word.number.is_some(),
        _ => false,
    }
}

/// Words right after an instruction that no instruction accounts for and that may be a number misread.
fn misread(reading: &Reading, words: &Words<'_>, out: &mut Vec<Trouble>) {
    // Many rows may share their words.
    let mut judged: FxHashMap<Span, bool> = FxHashMap::default();
    let mut may_be_misread =
        |word: &Token| *judged.entry(word.span).or_insert_with(|| is_number_misread(word));
    for piece in &reading.pieces {
        for ((row, chain), chosen) in piece.plan.rows.iter().zip(&piece.chain).zip(&piece.path.rows) {
            let seq = &chain.candidates[chosen.candidate].seq;
            if row.goes_on || !row.span.covers(seq.span()) {
                continue;
            }
            let items = seq.spans();
            let tokens = words.tokens();
            let from = tokens.partition_point(|token| token.span.start < row.span.start);
            let to = tokens.partition_point(|token| token.span.end <= row.span.end);
            for pair in tokens[from..(to + 1).min(tokens.len())].windows(2) {
                let read = |span: Span| items.iter().any(|item| item.covers(span));
                let follows = read(pair[0].span) && !read(pair[1].span) && pair[1].gap < Gap::Comma;
                if follows && may_be_misread(&pair[1]) && !out.contains(&Trouble::Word { span: pair[1].span })
                {
                    out.push(Trouble::Word { span: pair[1].span });
                }
            }
        }
    }
}

fn piece_troubles(index: usize, piece: &PieceReading, out: &mut Vec<Trouble>) {
    for (row, (planned, chosen)) in piece.plan.rows.iter().zip(&piece.path.rows).enumerate() {
        if chosen.fault {
            let shape = piece.chain[row].candidates[chosen.candidate].seq.shape();
            let open =
                shape.open.first().map_or(0, |(unit, ..)| unit.takes.saturating_mul(chosen.fit.rounds));
            let takes = shape.fixed.takes.saturating_add(open);
            out.push(Trouble::Row { piece: index, row, takes, on_needle: chosen.before });
        }
        if let Some((stated, _)) = planned.stated
            && stated != chosen.fit.after
        {
            out.push(Trouble::Total { piece: index, row, stated, left: chosen.fit.after });
        }
    }
    if !piece.path.closed && piece.ends.said {
        let began = piece
            .ends
            .back_to
            .and_then(|row| piece.path.rows.get(row))
            .map_or(piece.path.start, |row| row.before);
        let ended = piece.path.rows.last().map_or(began, |row| row.fit.after);
        out.push(Trouble::Unclosed { piece: index, began, ended });
    }
    out.extend(unworkable(piece).map(|count| Trouble::Multiple { piece: index, count }));
}

fn strains(index: usize, piece: &PieceReading, text: &str, out: &mut Vec<Trouble>) {
    let rows = || {
        piece
            .chain
            .iter()
            .zip(&piece.path.rows)
            .map(|(row, chosen)| (&row.candidates[chosen.candidate].seq, chosen))
    };
    let home = Home::of(piece);
    for (row, (seq, chosen)) in rows().enumerate() {
        let cost = home.cut_cost(seq, &chosen.fit, chosen.before, text);
        if cost >= CUT_UNMARKED || cost > CUT && home.even {
            out.push(Trouble::Cut { piece: index, row, cost });
        }
    }
    let framed = |seq: &Seq| matches!(seq.items().first(), Some(Item::Work(work)) if work.span.is_detached());
    let told = |seq: &Seq| seq.item_count() > 1 || seq.open_group().is_some();
    let bare = rows().any(|(seq, _)| told(seq) && !framed(seq));
    if piece.plan.edges > 0 && !piece.plan.edges_said && bare {
        let first = rows().position(|(seq, _)| framed(seq));
        out.extend(first.map(|row| Trouble::Edges { piece: index, row }));
    }
}

/// A number that the text allows to be cast on and that cannot be worked, although the one chosen can.
fn unworkable(piece: &PieceReading) -> Option<u32> {
    const TRIED: u32 = 4;
    let cast_on = &piece.plan.cast_on;
    let of = cast_on.of.filter(|of| *of > 0)?;
    if let Some(count) = cast_on.count {
        let over = count.checked_sub(cast_on.plus).map(|rest| rest % of);
        return (over != Some(0) && cast_on.per_needle.is_none()).then_some(count);
    }
    if !works_like(piece, piece.path.start) {
        return None;
    }
    (1..=TRIED).map(|more| piece.path.start + of * more).find(|count| !works_like(piece, *count))
}

/// Whether the rows can be worked on a number as well as on the one chosen.
pub fn works_like(piece: &PieceReading, count: u32) -> bool {
    let cuts = piece.plan.cast_on.of.is_none() && piece.path.rows.iter().any(|row| row.fit.cut.is_some());
    let back_to = piece.ends.back_to.filter(|_| piece.path.closed);
    workable(&piece.chain, back_to, count, cuts)
}

fn ranges(reading: &Reading, out: &mut Vec<Trouble>) {
    for statement in &reading.statements {
        let StatementKind::Rows { rows, content: Content::Like(Some(like)), .. } = &statement.kind else {
            continue;
        };
        let (Which::Numbers(numbers), Some(count)) = (&rows.which, count_of(&like.which)) else { continue };
        let (Some(first), Some(last)) = (numbers.first(), numbers.last()) else { continue };
        let run = (last - first.min(last)) as usize + 1 == numbers.len();
        if run && count > 1 && numbers.len() > count && !numbers.len().is_multiple_of(count) {
            out.push(Trouble::Range { first: *first, rows: numbers.len(), like: count });
        }
    }
}

fn count_of(which: &Which) -> Option<usize> {
    match which {
        Which::Numbers(numbers) => Some(numbers.len()),
        Which::First(n) | Which::Last(n) => Some(*n as usize),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use reading::{Options, Reader};

    use super::*;

    fn found(text: &str) -> Vec<Trouble> {
        troubles(&Reader::new().unwrap().read(text, &Options::default()), text)
    }

    #[test]
    fn each_trouble_is_seen() {
        let row = found("Cast on 10 stitches. 1st row: knit 10. 2nd row: knit 4, purl 3, knit 4.");
        assert_eq!(row, [Trouble::Row { piece: 0, row: 1, takes: 11, on_needle: 10 }]);
        let total = found(
            "Cast on 10 stitches. 1st row: knit 2, narrow, knit 6; there are 8 stitches. 2nd row: purl 9.",
        );
        assert_eq!(total, [Trouble::Total { piece: 0, row: 0, stated: 8, left: 9 }]);
        let unclosed = found(
            "Cast on 10 stitches. 1st row: knit 2, over, knit 8. 2nd row: purl. Repeat these two rows.",
        );
        assert_eq!(unclosed, [Trouble::Unclosed { piece: 0, began: 10, ended: 11 }]);
        let cut = found(
            "Cast on 13 stitches. 1st row: knit 3, over, narrow; repeat from *. 2nd row: purl. 3rd row: knit 1, * over, narrow; repeat from *.",
        );
        assert_eq!(cut, [Trouble::Cut { piece: 0, row: 0, cost: CUT_UNMARKED }]);
        let word =
            found("Cast on 10 stitches.\n\n1st row: knit ten.\n\n2nd row: pearl ton.\n\n3rd row: knit ten.");
        assert!(matches!(word.as_slice(), [Trouble::Word { .. }]), "{word:?}");
    }

    #[test]
    fn a_text_that_comes_out_has_none() {
        for text in [
            "Cast on 10 stitches. 1st row: knit 4, over, narrow, knit 4. 2nd row: purl.",
            "Cast on any number that divides by 4, and 1 over. 1st row: knit 1, * over, narrow, knit 2; repeat from *. 2nd row: purl.",
            "Cast on 25 stitches. 1st row: * knit 5, purl 2; repeat from * to the end of the row. 2nd row: purl.",
        ] {
            assert_eq!(found(text), [], "{text}");
        }
    }
}
