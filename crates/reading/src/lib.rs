//! Printed text to programs: every parse, and the choice between them.
//!
//! Knows tokens with spans, the grammar, and how to choose one reading for every row; not how corrections are
//! searched or how a program is written out. Start at [`Reader::read`].

mod ast;
mod blocks;
mod build;
mod chain;
pub mod effort;
mod fabric;
mod forest;
mod fractions;
mod glossary;
mod grammar;
mod lattice;
mod lexer;
mod linebreak;
mod memory;
mod needles;
mod numbers;
mod parser;
mod place;
mod plan;
mod program;
mod questions;
mod read;
mod rowset;
mod rowwork;
mod runin;
mod spread;
mod starmarks;
mod stretch;
mod words;

pub use self::ast::{
    Again, AgainTimes, CastOn, Content, Deed, EdgeRule, Fall, Item, Overs, Seen, Seq, Shape, Statement,
    StatementKind, Sum, Until, Work,
};
pub use self::chain::{
    Candidate, ChainRow, Chosen, Ends, FAULT, NOT_CLOSED, NOT_CLOSED_UNSAID, Needle, Path, STATED, faulty,
    solve, ways, workable,
};
pub use self::glossary::{Definition, Glossary, Respelling, lexicon_of_book, senses_of, senses_within};
pub use self::lexer::{Gap, Token, TokenKind, lex};
pub use self::needles::{Parts, Shares, part_fit};
pub use self::parser::{BadData, GRAMMAR};
pub use self::plan::{Plan, PlannedRow, Readings};
pub use self::questions::Decision;
pub use self::read::{Options, PieceReading, Reader, Reading, Study};
pub use self::rowset::{RowSet, Which, row_word};
pub use self::rowwork::{Below, Fit, expand, fits, needle_after};
pub use self::stretch::Stretch;
