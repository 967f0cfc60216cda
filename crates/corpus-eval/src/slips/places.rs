//! Where the reading of a text has what may be misprinted.

use loops::Op;
use reading::{Content, Item, PieceReading, Reading, Seq, StatementKind, Token, TokenKind, Work, lex};
use span::Span;

use super::counts_left;

/// A row in its own words.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// Its instructions.
    pub body: Span,
    /// Its name and its instructions, with the stop and the white space after them.
    pub whole: Span,
}

/// A text with the places of its reading.
pub struct Places<'t> {
    /// The text.
    pub text: &'t str,
    /// Its tokens.
    pub tokens: Vec<Token>,
    reading: &'t Reading,
    seqs: Vec<Seq>,
    rows: Vec<Row>,
}

impl<'t> Places<'t> {
    /// Looks over a text that was read rightly.
    pub fn new(text: &'t str, reading: &'t Reading) -> Places<'t> {
        let mut seqs = Vec::new();
        let mut rows: Vec<Row> = Vec::new();
        for piece in &reading.pieces {
            for (span, seq) in own_rows(piece) {
                let body = seq.span();
                if rows.iter().any(|row| row.body == body) {
                    continue;
                }
                let rest = &text[span.range().end..];
                let stop = rest.len() - rest.trim_start_matches(['.', ' ', '\n', ';']).len();
                rows.push(Row { body, whole: Span::new(span.range().start, span.range().end + stop) });
                seqs.push(seq);
            }
        }
        Places { text, tokens: lex(text), reading, seqs, rows }
    }

    /// Rows told in their own words.
    pub fn bodies(&self) -> &[Row] {
        &self.rows
    }

    fn tokens_in(&self, span: Span) -> impl Iterator<Item = &Token> {
        self.tokens.iter().filter(move |token| span.covers(token.span))
    }

    /// Every item of every row, those of groups among them.
    fn items(&self) -> Vec<Item> {
        let mut out = Vec::new();
        self.seqs.iter().for_each(|seq| collect(seq, &mut out));
        out
    }

    /// Single instructions with words of their own.
    pub fn works(&self) -> Vec<Item> {
        let mut all = self.items();
        all.retain(|item| matches!(item, Item::Work(work) if !work.span.is_detached()));
        all
    }

    /// The words of instructions that follow one another, a list for each row and each group.
    pub fn runs(&self) -> Vec<Vec<Span>> {
        let mut out = Vec::new();
        self.seqs.iter().for_each(|seq| runs(seq, &mut out));
        out
    }

    /// The numbers of stitches and of repeats.
    pub fn numbers(&self) -> Vec<&Token> {
        let mut out = Vec::new();
        for item in self.items() {
            match &item {
                Item::Work(work) => {
                    let own = work.number.iter().flat_map(|number| self.tokens_in(*number));
                    out.extend(own.filter(|token| !is_together(work, token)));
                }
                Item::Group { until: reading::Until::Times(_), span, .. } => {
                    out.extend(
                        self.tokens_in(*span)
                            .filter(|token| token.number.is_some() || adverb(token).is_some()),
                    );
                }
                _ => {}
            }
        }
        out
    }

    /// The number cast on, and the number that it divides by.
    pub fn cast_on(&self) -> Vec<&Token> {
        let said = self.reading.pieces.iter().map(|piece| &piece.plan.cast_on);
        said.flat_map(|said| [said.count_span, said.of_span])
            .flatten()
            .flat_map(|span| self.tokens_in(span))
            .filter(|token| token.number.is_some())
            .collect()
    }

    /// The rows that other rows are said to be like.
    pub fn references(&self) -> Vec<&Token> {
        let like = self.reading.statements.iter().filter_map(|statement| match &statement.kind {
            StatementKind::Rows { content: Content::Like(Some(like)), .. } => Some(like.span),
            _ => None,
        });
        like.flat_map(|span| self.tokens_in(span))
            .filter(|token| token.number.is_some() || token.ordinal.is_some())
            .collect()
    }

    /// Counts that are stated.
    pub fn totals(&self) -> Vec<&Token> {
        let rows = self.reading.pieces.iter().flat_map(|piece| &piece.plan.rows);
        let mut spans: Vec<Span> = rows.filter_map(|row| Some(row.stated?.1)).collect();
        spans.sort();
        spans.dedup();
        spans
            .into_iter()
            .flat_map(|span| self.tokens_in(span))
            .filter(|token| token.number.is_some())
            .collect()
    }

    /// How many are worked together.
    pub fn together(&self) -> Vec<&Token> {
        let decreases = |op: &Op| op.is_decrease();
        let mut out = Vec::new();
        for item in self.works() {
            if let Item::Work(work) = &item
                && work.ops.iter().any(decreases)
            {
                out.extend(self.tokens_in(work.span).filter(|token| is_together(work, token)));
            }
        }
        out
    }

    /// Places counted from the end of the row.
    pub fn lefts(&self) -> Vec<&Token> {
        let mut out = Vec::new();
        for item in self.items().iter().filter(|item| counts_left(item)) {
            if let Item::Group { span, .. } | Item::Rest { span, .. } = item {
                out.extend(self.tokens_in(*span).filter(|token| token.number.is_some()));
            }
        }
        out
    }

    /// The words of rows.
    pub fn words(&self) -> Vec<&Token> {
        let inside = |token: &&Token| self.rows.iter().any(|row| row.body.covers(token.span));
        let word = |token: &&Token| token.kind == TokenKind::Word;
        self.tokens.iter().filter(word).filter(inside).collect()
    }

    /// Words as they stand within a row: without the capital of its beginning.
    pub fn lower(&self, span: Span) -> String {
        let words = span.of(self.text);
        let heads = self.rows.iter().any(|row| row.body.start == span.start);
        let mut letters = words.chars();
        match (letters.next(), letters.clone().next()) {
            (Some(first), Some(second)) if heads && second.is_lowercase() => {
                first.to_lowercase().chain(letters).collect()
            }
            _ => words.to_owned(),
        }
    }
}

/// Whether a number tells how many are worked together, and not how often.
fn is_together(work: &Work, token: &Token) -> bool {
    let takes = work.ops.iter().any(|op| op.is_decrease() && Some(op.takes()) == token.number);
    takes && (work.number != Some(token.span) || work.times == 1)
}

/// Rows of a piece told in their own words, with the words of the row and its reading.
fn own_rows(piece: &PieceReading) -> impl Iterator<Item = (Span, Seq)> {
    let rows = piece.plan.rows.iter().zip(&piece.chain).zip(&piece.path.rows);
    rows.filter(|((row, _), _)| !row.filled && !row.goes_on).filter_map(|((row, chain), chosen)| {
        let seq = chain.candidates.get(chosen.candidate)?.seq.clone();
        row.span.covers(seq.span()).then_some((row.span, seq))
    })
}

fn collect(seq: &Seq, out: &mut Vec<Item>) {
    for item in seq.items() {
        if let Item::Group { body, .. } = &item {
            collect(body, out);
        }
        out.push(item);
    }
}

fn runs(seq: &Seq, out: &mut Vec<Vec<Span>>) {
    let mut run = Vec::new();
    for item in seq.items() {
        match &item {
            Item::Work(work) if !work.span.is_detached() => run.push(work.span),
            Item::Group { body, .. } => {
                out.push(std::mem::take(&mut run));
                runs(body, out);
            }
            _ => out.push(std::mem::take(&mut run)),
        }
    }
    out.push(run);
    out.retain(|run| !run.is_empty());
}

/// The number of `once`, `twice` and `thrice`.
pub fn adverb(token: &Token) -> Option<u32> {
    match token.text.as_str() {
        "once" => Some(1),
        "twice" => Some(2),
        "thrice" => Some(3),
        _ => None,
    }
}
