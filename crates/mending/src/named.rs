//! Where the words of each row stand, by the names of the rows.
//!
//! A row that a misprint has made no sense is not in the reading, or is joined to the row before it; its name and its
//! words are printed all the same. Knows tokens, the names that the reader understood, and how a name looks that it did
//! not; nothing of stitches.

use reading::{Gap, Reading, StatementKind, Token, TokenKind};
use span::Span;

use crate::whole::ROW_WORDS;
use crate::words::Words;

/// The longest name, in words.
const LONGEST_NAME: usize = 14;
/// The longest name that is a sentence by itself: "2nd row."
const ALONE: usize = 3;

/// A row as printed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Body {
    /// From its name, or its first word where it has none, to the last word before the next row.
    pub extent: Span,
    /// Its words without the name, up to the end of the sentence.
    pub sentence: Span,
    /// The same with all sentences up to the next row or paragraph.
    pub all: Span,
    /// Whether it has a name.
    pub named: bool,
}

/// The rows of a text in the order of print, those that no reading has among them.
pub fn bodies_by_name(reading: &Reading, words: &Words<'_>) -> Vec<Body> {
    let tokens = words.tokens();
    let names = names(reading);
    let loose = loose(reading);
    let mut out: Vec<Body> = Vec::new();
    let mut named: Option<Span> = None;
    for sentence in tokens.chunk_by(|_, next| next.gap < Gap::Period) {
        let name = name_length(sentence, &names);
        let Some(body) = sentence.get(name..).filter(|body| !body.is_empty()) else {
            named = named.or(Some(extent(sentence)));
            continue;
        };
        let (whole, body) = (extent(sentence), extent(body));
        let begins = named.take();
        if name > 0 || begins.is_some() {
            out.push(Body {
                extent: begins.unwrap_or(whole).to(whole),
                sentence: body,
                all: body,
                named: true,
            });
        } else if let Some(from) = loose.iter().find(|row| whole.covers(**row)) {
            let body = Span { start: from.start, end: whole.end };
            out.push(Body { extent: whole, sentence: body, all: body, named: false });
        } else if let Some(last) = out.last_mut() {
            last.extent = last.extent.to(whole);
            if sentence[0].gap < Gap::Paragraph && last.all.end <= whole.start {
                last.all = last.all.to(whole);
            }
        }
    }
    out
}

/// The stretch of some tokens.
fn extent(tokens: &[Token]) -> Span {
    tokens.iter().fold(Span::DETACHED, |all, token| all.to(token.span))
}

/// Names of rows as understood.
fn names(reading: &Reading) -> Vec<Span> {
    let name = |kind: &StatementKind| match kind {
        StatementKind::Rows { rows, .. } if rows.explicit => Some(rows.span),
        StatementKind::Returns { after, .. } => Some(after.span),
        _ => None,
    };
    let names = reading.statements.iter().filter_map(|statement| name(&statement.kind));
    names.filter(|name| !name.is_detached()).collect()
}

/// The first instructions of rows, to the end of each, in the order of print.
fn loose(reading: &Reading) -> Vec<Span> {
    let rows = reading.pieces.iter().flat_map(|piece| &piece.plan.rows);
    let own = rows.filter(|row| !row.filled && !row.goes_on).filter_map(|row| {
        let seq = row.readings.iter().map(|(_, seq)| seq.span()).min()?;
        row.span.covers(seq).then_some(seq)
    });
    let mut out: Vec<Span> = own.collect();
    out.sort();
    out
}

/// How many words at the beginning of a sentence name a row.
fn name_length(sentence: &[Token], names: &[Span]) -> usize {
    let understood = names.iter().find(|name| name.start == sentence[0].span.start);
    let understood =
        understood.map_or(0, |name| sentence.iter().take_while(|token| name.covers(token.span)).count());
    understood.max(set_apart(sentence)).max(plain_name(sentence))
}

/// The words up to a colon or dash, where they are about rows.
fn set_apart(sentence: &[Token]) -> usize {
    let parted = sentence.iter().skip(1).take(LONGEST_NAME).position(|token| token.gap >= Gap::Colon);
    let Some(length) = parted.map(|at| at + 1) else { return 0 };
    let named = sentence[..length].iter().any(|token| token.ordinal.is_some() || is_row(token));
    let numbered = length == 1 && sentence[0].number.is_some();
    if named || numbered { length } else { 0 }
}

/// "1st row", "Row 1", "next row", or numbers that are a sentence.
fn plain_name(sentence: &[Token]) -> usize {
    let (first, second) = (&sentence[0], sentence.get(1));
    let alone = sentence.len() <= ALONE;
    let numbered = |token: &Token| token.number.is_some() || token.ordinal.is_some();
    match second {
        Some(second) if (first.ordinal.is_some() || first.text == "next") && is_row(second) => 2,
        Some(second) if is_row(first) && numbered(second) => 2,
        _ if alone && numbered(first) && sentence.iter().all(|token| numbered(token) || joins(token)) => {
            sentence.len()
        }
        _ => 0,
    }
}

/// "5 to 9", "2nd and 4th".
fn joins(token: &Token) -> bool {
    matches!(token.text.as_str(), "to" | "and") || is_row(token)
}

fn is_row(token: &Token) -> bool {
    ROW_WORDS.contains(&token.text.as_str()) && token.kind == TokenKind::Word
}

#[cfg(test)]
mod tests {
    use reading::{Options, Reader};

    use super::*;

    fn told(text: &str) -> Vec<String> {
        let reading = Reader::new().unwrap().read(text, &Options::default());
        let words = Words::new(text);
        let bodies = bodies_by_name(&reading, &words);
        bodies
            .iter()
            .map(|body| {
                format!(
                    "{}|{}",
                    body.sentence.of(text),
                    &text[body.sentence.range().end..body.all.range().end]
                )
            })
            .collect()
    }

    #[test]
    fn rows_are_cut_by_their_names() {
        let text = "Cast on 11 stitches.\n\n1st row.--* Plain.\n\n2nd and every alternate row.--Knit 3; repeat from *. There are 11 stitches.\n\nRow 3: knit 1, fribble.\n\n4 to 6. Purl 11.\n";
        assert_eq!(
            told(text),
            ["* Plain|", "Knit 3; repeat from *|. There are 11 stitches", "knit 1, fribble|", "Purl 11|"]
        );
    }

    #[test]
    fn rows_without_names_are_sentences() {
        let text = "Cast on 11 stitches. Knit 1 row. Then for the border purl 1 row. Knit 5, narrow, knit 4.";
        assert_eq!(told(text).len(), 3, "{:?}", told(text));
    }
}
