//! A program: what is done, row by row, with the words each part came from.
//!
//! ```text
//! Piece ── rows ── Row ── steps ── Step::Work(op)            one operation
//!                                  Step::Times(n, [steps])   the same steps n times
//! ```
//!
//! A program may hold repeats; [`Row::ops`] spells them out. Invariant kept by whoever builds one: the ops of a
//! row are those of the side being worked, as the worker does them.

use std::fmt;

use span::Span;

use crate::Op;
use crate::work::{side_after, tally};

/// How many operations one row may hold when its repeats are spelled out.
pub const ROW_LIMIT: usize = 20_000;

/// One piece of knitting from the cast-on to its end.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// What the text calls it.
    pub name: Option<String>,
    /// There and back, or round and round.
    pub worked: Worked,
    /// The side that faces the worker in the first row.
    pub first_side: Side,
    /// Stitches cast on.
    pub cast_on: u32,
    /// The numbers that the cast-on may also be.
    pub multiple: Option<Multiple>,
    /// Stitches on each needle after casting on, where several hold them.
    pub needles: Vec<u32>,
    /// Rows at the beginning that the text tells to work once: "commence again from the 4th row" leaves out three.
    pub once: usize,
    /// The rows in the order they are knitted.
    pub rows: Vec<Row>,
}

/// Flat work or work in the round.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Worked {
    /// There and back.
    Flat,
    /// In the round, one side always facing.
    Round,
}

/// The side of the cloth that faces the worker.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Side {
    /// The right side.
    Right,
    /// The wrong side.
    Wrong,
}

impl Side {
    /// The other side.
    pub fn turned(self) -> Side {
        match self {
            Side::Right => Side::Wrong,
            Side::Wrong => Side::Right,
        }
    }
}

/// "Any number divisible by `of`, and `plus` over".
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Multiple {
    /// Stitches of one repeat.
    pub of: u32,
    /// Stitches besides.
    pub plus: u32,
}

/// One row or round.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The printed number, or a name.
    pub label: String,
    /// The side that faces the worker.
    pub side: Side,
    /// What is worked.
    pub steps: Vec<Step>,
    /// The words the row came from.
    pub span: Span,
}

/// A part of a row.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// One operation.
    Work(Op, Span),
    /// The same steps a number of times.
    Times(u32, Vec<Step>),
}

/// One operation with the words it came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stitch {
    /// The operation, as the worker does it.
    pub op: Op,
    /// The words it came from.
    pub span: Span,
}

impl Stitch {
    /// An operation that comes from no text.
    pub fn detached(op: Op) -> Stitch {
        Stitch { op, span: Span::DETACHED }
    }
}

/// A row whose repeats, spelled out, would be longer than [`ROW_LIMIT`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TooLong;

impl fmt::Display for TooLong {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the repeats of the row come to more than {ROW_LIMIT} operations")
    }
}

impl std::error::Error for TooLong {}

impl Row {
    /// The operations one by one, repeats spelled out.
    ///
    /// # Errors
    /// [`TooLong`] when there would be more than [`ROW_LIMIT`].
    pub fn ops(&self) -> Result<Vec<Stitch>, TooLong> {
        let mut out = Vec::new();
        expand(&self.steps, &mut out)?;
        Ok(out)
    }
}

fn expand(steps: &[Step], out: &mut Vec<Stitch>) -> Result<(), TooLong> {
    for step in steps {
        match step {
            Step::Work(op, span) => out.push(Stitch { op: *op, span: *span }),
            Step::Times(times, body) => {
                let start = out.len();
                expand(body, out)?;
                let once = out.len() - start;
                let times = *times as usize;
                if times == 0 || once == 0 {
                    out.truncate(start);
                } else if once.saturating_mul(times) > ROW_LIMIT {
                    return Err(TooLong);
                } else {
                    for _ in 1..times {
                        out.extend_from_within(start..start + once);
                    }
                }
            }
        }
        if out.len() > ROW_LIMIT {
            return Err(TooLong);
        }
    }
    Ok(())
}

/// Writes operations in the tokens of files and JSON, like ones merged: `k*3 yo k2tog`.
pub fn tokens(ops: &[Stitch]) -> String {
    let mut out = String::new();
    for run in ops.chunk_by(|a, b| a.op == b.op) {
        if !out.is_empty() {
            out.push(' ');
        }
        out.push_str(&run[0].op.to_string());
        if run.len() > 1 {
            out.push('*');
            out.push_str(&run.len().to_string());
        }
    }
    out
}

/// Reads the tokens that [`tokens`] writes; the stitches are detached from any text.
///
/// # Errors
/// [`crate::UnknownOp`] for a name that is none, or a count that is no number.
pub fn parse_tokens(text: &str) -> Result<Vec<Stitch>, crate::UnknownOp> {
    let mut out = Vec::new();
    for token in text.split_whitespace() {
        let (name, count) = token.split_once('*').unwrap_or((token, "1"));
        let op: Op = name.parse()?;
        let count: usize = count.parse().map_err(|_| crate::UnknownOp(token.to_owned()))?;
        if count == 0 || count > ROW_LIMIT - out.len() {
            return Err(crate::UnknownOp(token.to_owned()));
        }
        out.extend(std::iter::repeat_n(Stitch::detached(op), count));
    }
    Ok(out)
}

impl Row {
    /// A row of operations that come from no text.
    pub fn of(label: impl Into<String>, side: Side, stitches: &[Stitch]) -> Row {
        let steps = stitches.iter().map(|stitch| Step::Work(stitch.op, stitch.span)).collect();
        Row { label: label.into(), side, steps, span: Span::DETACHED }
    }
}

impl Piece {
    /// A piece of these rows, begun on the side that faces in the first of them; nothing else is told of it.
    pub fn of_rows(worked: Worked, cast_on: u32, rows: Vec<Row>) -> Piece {
        Piece {
            name: None,
            worked,
            first_side: rows.first().map_or(Side::Right, |row| row.side),
            cast_on,
            multiple: None,
            needles: Vec::new(),
            once: 0,
            rows,
        }
    }

    /// A piece of rows as [`tokens`] writes them, numbered from 1, with `first_side` facing in the first.
    ///
    /// # Errors
    /// [`crate::UnknownOp`] as [`parse_tokens`].
    pub fn of_tokens(
        worked: Worked,
        first_side: Side,
        cast_on: u32,
        rows: impl IntoIterator<Item = impl AsRef<str>>,
    ) -> Result<Piece, crate::UnknownOp> {
        let mut side = first_side;
        let rows = rows.into_iter().enumerate().map(|(index, text)| {
            let stitches = parse_tokens(text.as_ref())?;
            let row = Row::of((index + 1).to_string(), side, &stitches);
            side = side_after(worked, side, tally(&stitches).turns);
            Ok(row)
        });
        let rows = rows.collect::<Result<_, _>>()?;
        Ok(Piece { first_side, ..Piece::of_rows(worked, cast_on, rows) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(steps: Vec<Step>) -> Row {
        Row { label: "1".to_owned(), side: Side::Right, steps, span: Span::DETACHED }
    }

    #[test]
    fn repeats_are_spelled_out_in_order() {
        let [k, p] = [Op::K, Op::P].map(|op| Step::Work(op, Span::DETACHED));
        let inner = Step::Times(2, vec![p.clone()]);
        let ops = row(vec![k.clone(), Step::Times(2, vec![k.clone(), inner]), Step::Times(0, vec![p])]).ops();
        assert_eq!(ops.map(|ops| tokens(&ops)), Ok("k*2 p*2 k p*2".to_owned()));
    }

    #[test]
    fn a_repeat_without_end_is_refused_and_one_of_nothing_is_nothing() {
        let k = Step::Work(Op::K, Span::DETACHED);
        let nested = Step::Times(u32::MAX, vec![Step::Times(u32::MAX, vec![k])]);
        assert_eq!(row(vec![nested]).ops(), Err(TooLong));
        let empty = Step::Times(u32::MAX, vec![Step::Times(u32::MAX, Vec::new())]);
        assert_eq!(row(vec![empty]).ops(), Ok(Vec::new()));
    }

    #[test]
    fn tokens_with_a_senseless_count_are_refused() {
        for text in ["k*0", "k*", "k*many", "k k*20000", "k*18446744073709551615", "*3", "c300/1f"] {
            assert!(parse_tokens(text).is_err(), "{text}");
        }
        assert!(parse_tokens("k*20000").is_ok());
    }
}
