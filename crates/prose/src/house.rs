//! What is settled before the first word: which row is told where, and the habits of one text.
//!
//! ```text
//! rows ─▶ phrases ─▶ Plan: told in full │ with others │ like another │ by a remark │ by a repeat in height
//! ```

use loops::{Op, Piece, Worked, WorkedPiece};
use wording::{Part, Phrase, Run, Step, Width, fold};

use crate::dialect::{Dialect, Label};
use crate::rng::Rng;

/// How a place of the text tells its rows.
#[derive(Clone, Debug)]
pub(crate) enum How {
    /// In full.
    Full,
    /// By the row that it is like.
    Like(usize),
}

/// One place of the text that tells rows.
#[derive(Clone, Debug)]
pub(crate) struct Place {
    pub rows: Vec<usize>,
    pub how: How,
}

/// Where rows that are alike and plain are told once for all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Remark {
    Before,
    After,
    /// At the place of the first of them.
    Between,
    /// Before the others, which alone are numbered.
    Unnumbered,
}

/// How a repeat of the first rows is told that is part of the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Block {
    /// Rows of one repeat.
    pub rows: usize,
    /// Repeats in all.
    pub times: usize,
}

/// What is settled for one text.
pub(crate) struct House<'a> {
    pub label: &'a Label,
    pub layout: &'a str,
    pub yarn: &'a str,
    /// The word for row.
    pub row: &'a str,
    /// Words of the first choice are kept in so many of a hundred cases.
    pub steady: u32,
    /// Rows are named by their place less this.
    pub offset: usize,
    /// The first stitch of every row is told once.
    pub edge: bool,
    /// Plain stitches at both edges that are told once for all rows.
    pub apart: u32,
    /// The number cast on is left open.
    pub open: bool,
    /// Ordinals are printed as `2d`, `3d`.
    pub short: bool,
    pub phrases: Vec<Phrase>,
    pub places: Vec<Place>,
    /// The rows told by a remark, and the operation.
    pub remark: Option<(Remark, Vec<usize>, Op)>,
    pub block: Option<Block>,
}

impl<'a> House<'a> {
    pub fn settle(piece: &Piece, worked: &WorkedPiece, dialect: &'a Dialect, rng: &mut Rng) -> House<'a> {
        let edge = begins_with_slips(worked) && rng.chance(35);
        let mut rows: Vec<Vec<Op>> = worked.rows.iter().map(|row| ops_of(row, edge)).collect();
        let apart = if !edge && rng.chance(10) { plain_edges(&rows) } else { 0 };
        rows.iter_mut().for_each(|ops| *ops = ops[apart as usize..ops.len() - apart as usize].to_vec());
        let offset = usize::from(tells_first_row(dialect, &rows, rng));
        let spelled = rng.chance(20) && rows.iter().all(|ops| runs(ops) <= 20);
        let width = if piece.multiple.is_some() { Width::Open } else { Width::Fixed };
        let phrases: Vec<Phrase> = rows
            .iter()
            .zip(&worked.rows)
            .map(|(ops, row)| {
                let folded = fold(ops, row.before - 2 * apart, width);
                if spelled && !is_whole(&folded) { counted_out(ops, folded.unworked) } else { folded }
            })
            .collect();
        let open = is_open(piece, &phrases, 2 * apart) && offset == 0 && rng.chance(60);
        let row = match (&dialect.row, piece.worked) {
            (_, Worked::Round) => "round",
            (Some(row), Worked::Flat) => row.as_str(),
            (None, Worked::Flat) => "row",
        };
        let label = rng.weigh(dialect.labels.iter().map(|label| (label, label.w)));
        let layout = rng.weigh(dialect.layouts.iter().map(|layout| (layout.text.as_str(), layout.w)));
        let yarn = if dialect.yarn.is_empty() { &dialect.common.yarn } else { &dialect.yarn };
        let mut house = House {
            label: label.unwrap_or(&dialect.labels[0]),
            layout: layout.unwrap_or("lines"),
            yarn: rng.pick(yarn).map_or("wool", String::as_str),
            row,
            steady: rng.between(60, 100),
            offset,
            edge,
            apart,
            open,
            short: dialect.short_ordinals && rng.chance(50),
            phrases,
            places: Vec::new(),
            remark: None,
            block: None,
        };
        house.plan(dialect, rng);
        house
    }

    fn plan(&mut self, dialect: &Dialect, rng: &mut Rng) {
        let first = self.offset;
        let mut end = self.phrases.len();
        self.block = self.find_block().filter(|_| rng.chance(60));
        if let Some(block) = self.block {
            end = first + block.rows;
        }
        let returns: Vec<usize> = (first..end).filter(|row| (row - first) % 2 == 1).collect();
        let alike = returns.first().and_then(|&row| self.plain(row)).filter(|_| {
            (end - first).is_multiple_of(2)
                && returns.iter().all(|&row| self.phrases[row] == self.phrases[returns[0]])
                && (first..end).any(|row| self.phrases[row] != self.phrases[returns[0]])
        });
        if let Some(op) = alike.filter(|_| returns.len() > 1 && rng.chance(45)) {
            let unnumbered =
                !dialect.returns_unnumbered.of(op).is_empty() && self.block.is_none() && first == 0;
            let between = !dialect.returns_between.of(op).is_empty() && first == 0;
            let known = [
                (Remark::Before, 2),
                (Remark::After, 2),
                (Remark::Between, if between { 2 } else { 0 }),
                (Remark::Unnumbered, if unnumbered { 2 } else { 0 }),
            ];
            let remark = rng.weigh(known).unwrap_or(Remark::After);
            self.remark = Some((remark, returns.clone(), op));
        }
        let together = rng.chance(40);
        let likes = if rng.chance(60) { 70 } else { 0 };
        let mut told = vec![false; end];
        if self.remark.is_some() {
            returns.iter().for_each(|&row| told[row] = true);
        }
        for row in first..end {
            if told[row] {
                continue;
            }
            let same = |other: &usize| self.phrases[*other] == self.phrases[row];
            let later: Vec<usize> = (row..end).filter(|other| !told[*other]).filter(same).collect();
            let named = |other: &usize| !matches!(&self.remark, Some((Remark::Unnumbered, rows, _)) if rows.contains(other));
            let earlier = (first..row)
                .filter(named)
                .find(|other| told[*other] && self.phrases[*other] == self.phrases[row]);
            let liked =
                earlier.filter(|_| rng.chance(if self.plain(row).is_some() { likes / 3 } else { likes }));
            let place = match liked {
                Some(other) => Place { rows: vec![row], how: How::Like(other) },
                None if together => Place { rows: later, how: How::Full },
                None => Place { rows: vec![row], how: How::Full },
            };
            place.rows.iter().for_each(|&row| told[row] = true);
            self.places.push(place);
        }
    }

    /// The number by which a row is called.
    pub fn number(&self, row: usize) -> u32 {
        let place = row - self.offset.min(row);
        let unnumbered = matches!(self.remark, Some((Remark::Unnumbered, ..)));
        u32::try_from(if unnumbered { place / 2 } else { place } + 1).unwrap_or(u32::MAX)
    }

    /// The operation of a row that is worked alike throughout.
    fn plain(&self, row: usize) -> Option<Op> {
        is_whole(&self.phrases[row]).then(|| match self.phrases[row].steps[0] {
            Step::Sweep { verb, .. } => verb.op(),
            _ => Op::Bo,
        })
    }

    /// The shortest block of rows whose repeats are the whole piece.
    fn find_block(&self) -> Option<Block> {
        let rows = &self.phrases[self.offset..];
        let fits = |length: &usize| {
            rows.len().is_multiple_of(*length) && rows.iter().zip(rows[*length..].iter()).all(|(a, b)| a == b)
        };
        let length = (2..=rows.len() / 2).filter(|length| length.is_multiple_of(2)).find(fits)?;
        Some(Block { rows: length, times: rows.len() / length })
    }
}

fn ops_of(row: &loops::WorkedRow, edge: bool) -> Vec<Op> {
    let mut ops: Vec<Op> = row.ops.iter().map(|stitch| stitch.op).collect();
    if edge && ops.len() > 1 {
        ops[0] = if ops[1] == Op::P { Op::P } else { Op::K };
    }
    ops
}

/// Whether every row begins with a slipped edge stitch that can be told once.
fn begins_with_slips(worked: &WorkedPiece) -> bool {
    worked.rows.iter().all(|row| {
        let ops: Vec<Op> = row.ops.iter().take(2).map(|stitch| stitch.op).collect();
        matches!(ops[..], [first, second] if first.is_slip() && first != Op::SlYo && !second.is_slip())
    })
}

/// Plain stitches with which every row begins and ends, when there are some and more between.
fn plain_edges(rows: &[Vec<Op>]) -> u32 {
    let plain = |ops: &mut dyn Iterator<Item = &Op>| ops.take_while(|op| **op == Op::K).count();
    let least =
        rows.iter().map(|ops| plain(&mut ops.iter()).min(plain(&mut ops.iter().rev()))).min().unwrap_or(0);
    let room = rows.iter().all(|ops| ops.len() > 2 * least + 1);
    if room && least > 1 { u32::try_from(least).unwrap_or(0) } else { 0 }
}

/// Whether the words for casting on will tell the first row, too.
fn tells_first_row(dialect: &Dialect, rows: &[Vec<Op>], rng: &mut Rng) -> bool {
    let plain = rows.first().is_some_and(|ops| ops.iter().all(|op| *op == Op::K));
    let varied = rows.get(1).is_some_and(|ops| ops.iter().any(|op| *op != Op::K));
    let has_words = dialect.cast_on.iter().any(|choice| choice.first.is_some());
    plain && varied && has_words && rows.len() % 2 == 1 && rng.chance(60)
}

fn runs(ops: &[Op]) -> usize {
    ops.chunk_by(|a, b| a == b).count()
}

fn is_whole(phrase: &Phrase) -> bool {
    matches!(phrase.steps[..], [Step::Sweep { left: 0, .. } | Step::BindOffAll])
}

fn counted_out(ops: &[Op], unworked: u32) -> Phrase {
    let run = |run: &[Op]| {
        Step::Part(Part::Run(Run { op: run[0], count: u32::try_from(run.len()).unwrap_or(u32::MAX) }))
    };
    Phrase { steps: ops.chunk_by(|a, b| a == b).map(run).collect(), unworked }
}

/// Whether the rows as worded, but for the edges, fit a piece one repeat wider as well.
fn is_open(piece: &Piece, phrases: &[Phrase], edges: u32) -> bool {
    let Some(multiple) = piece.multiple else { return false };
    let mut before = piece.cast_on + multiple.of - edges;
    for phrase in phrases {
        let Some(ops) = phrase.expand(before) else { return false };
        if ops.iter().map(|op| op.takes()).sum::<u32>() != before {
            return false;
        }
        before = ops.iter().map(|op| op.makes()).sum();
    }
    true
}
