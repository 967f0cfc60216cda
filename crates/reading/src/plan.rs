//! From statements to rows in the order they are knitted.
//!
//! Knows which rows a text tells, which it only refers to, and which it tells once for many. Nothing is worked
//! here: a [`Plan`] is what the chain search then tries. Rows that the text does not tell at all, but that must be
//! there because the numbers leave room for them, are filled in and marked.

mod alike;
mod draft;
mod resized;
mod series;
mod shaping;
mod told;
mod turns;

pub use self::told::works_inside;

use std::ops::Range;
use std::rc::Rc;

use loops::{Op, Side};
use span::Span;

use self::draft::Draft;
use crate::ast::{CastOn, EdgeRule, EdgesTold, Rule, Seq, Statement, StatementKind};
use crate::rowset::Which;

/// The most rows that a text may unroll to.
const ROWS_LIMIT: usize = 2_000;

/// The longest stretch, in bytes, that may be the heading of a piece.
const HEADING: usize = 60;

/// The readings of a row, shared by the rows that are alike.
pub type Readings = Rc<Vec<(f64, Seq)>>;

/// One row that will be knitted.
#[derive(Clone, Debug)]
pub struct PlannedRow {
    /// The printed number, or a name.
    pub label: String,
    /// Its number, if it has one.
    pub number: Option<u32>,
    /// Its readings.
    pub readings: Readings,
    /// The side that the text names.
    pub side: Option<Side>,
    /// The count that the text states after it.
    pub stated: Option<(u32, Span)>,
    /// The words.
    pub span: Span,
    /// Whether the text tells it nowhere.
    pub filled: bool,
    /// Whether the text tells it only by "and so on".
    pub goes_on: bool,
}

/// One piece of knitting as planned.
#[derive(Clone, Debug, Default)]
pub struct Plan {
    /// Short stretches above the piece that may be its heading, the nearest last.
    pub headings: Vec<Span>,
    /// What is said of casting on.
    pub cast_on: CastOn,
    /// Where that is said.
    pub cast_on_span: Option<Span>,
    /// The rows.
    pub rows: Vec<PlannedRow>,
    /// The row where a repeat in height begins again.
    pub back_to: Option<usize>,
    /// Whether the text says that the work is round.
    pub round: bool,
    /// What is said once of the first and last stitch of every row.
    pub edge_rule: Option<EdgeRule>,
    /// The rows told since then and before the next rounds.
    pub edge_rows: Range<usize>,
    /// Whether that edge stands besides the stitches that the rows tell.
    pub edge_besides: bool,
    /// Stitches at each edge that the text tells once for all rows.
    pub told_edges: Option<EdgesTold>,
    /// How many rows had been told when that was said; they tell their edges themselves.
    pub edges_from: usize,
    /// Stitches at each edge that the rows do not mention.
    pub edges: u32,
    /// Whether the text speaks of such edges.
    pub edges_said: bool,
    /// Whether all rows are told as they look on the right side.
    pub as_seen: bool,
    /// Where a length is given in place of a number of rows; one row stands for it.
    pub measures: Vec<Span>,
    /// Whether rows that the text does not tell were filled in, and with what.
    pub filled: Option<Op>,
}

/// Makes the plans of a text, one for each piece; the rules hold for every piece, and so does a number cast on that is
/// given from outside.
pub fn plan(statements: &[Statement], rules: &[Rule], given: Option<u32>) -> Vec<Plan> {
    let mut drafts = vec![Draft::under(rules, given)];
    let mut headings = Vec::new();
    for (at, statement) in statements.iter().enumerate() {
        if let StatementKind::CastOn(cast_on) = &statement.kind {
            let begun = drafts.last().is_some_and(|draft| !draft.is_bare());
            if begun && cast_on.only_numbers {
                continue;
            }
            if begun && cast_on.says_how_many() {
                // What stands before the first casting on without a number is the book's talk, not rows.
                if drafts.last().is_some_and(Draft::is_talk) {
                    drafts.pop();
                }
                drafts.push(Draft::under(rules, given));
            }
            if let Some(draft) = drafts.last_mut() {
                draft.plan.headings.append(&mut headings);
            }
        }
        if statement.kind == StatementKind::Unread && statement.span.range().len() <= HEADING {
            headings.push(statement.span);
        }
        if let Some(draft) = drafts.last_mut() {
            let goes_on = match &statement.kind {
                StatementKind::GoOn(_) => true,
                StatementKind::Again(again) => again.till.is_some(),
                _ => false,
            };
            draft.look_ahead(if goes_on { number_after(&statements[at + 1..]) } else { None });
            draft.take(statement);
        }
    }
    let mut plans: Vec<Plan> = drafts.into_iter().map(Draft::finish).collect();
    plans.retain(|plan| !plan.rows.is_empty());
    plans
}

/// The number of the row that is told next, if it has one and nothing else of the work stands before it.
fn number_after(statements: &[Statement]) -> Option<u32> {
    let silent = |kind: &StatementKind| {
        matches!(kind, StatementKind::Unread | StatementKind::Note | StatementKind::Count(_))
    };
    match &statements.iter().find(|statement| !silent(&statement.kind))?.kind {
        StatementKind::Rows { rows, .. } if rows.explicit && !rows.needle => match &rows.which {
            Which::Numbers(numbers) => numbers.first().copied(),
            _ => None,
        },
        _ => None,
    }
}

impl CastOn {
    /// Whether it tells a number in any way.
    pub fn says_how_many(&self) -> bool {
        self.count.is_some() || self.of.is_some() || !self.needles.is_empty()
    }
}
