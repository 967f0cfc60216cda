//! Edge stitches that the rows of a piece leave unmentioned: the same rows read again between them, and whether that is
//! cheaper.
//!
//! Knows the rows as candidates and what the text says of its edges in numbers. Knows no words, and nothing of a rule on
//! the first and last stitch, which tells its stitches itself.

use std::rc::Rc;

use loops::Op;
use span::Span;

use crate::ast::{Item, Seq, Until, Work};
use crate::chain::{Candidate, ChainRow, Ends, Path, solve_below};
use crate::plan::Plan;

/// The most stitches at each edge that a text may leave unmentioned.
const EDGES: u32 = 4;
/// Nats against edge stitches that no row mentions.
const HIDDEN_EDGE: f64 = 5.0;
/// The same where the text speaks of an edge.
const HINTED_EDGE: f64 = 1.0;

/// Nats against edge stitches beside those that a row tells itself.
const TOLD_TWICE: f64 = 1.5;
/// The same where the text says outright that rows do not mention them.
const TOLD_EDGE: f64 = -3.0;

/// Rows read between edge stitches that they do not all mention.
pub struct Framed {
    /// The rows, each with its readings between the edge stitches too.
    pub chain: Vec<ChainRow>,
    /// The way through them.
    pub path: Path,
    /// How many stitches stand at either edge.
    pub edges: u32,
    /// Whether the text speaks of them.
    pub said: bool,
}

/// The rows of a piece between the fewest edge stitches that make them cheaper than the way found without; `hint` where
/// the text speaks of an edge.
pub fn framed(plan: &Plan, chain: &[ChainRow], ends: &Ends, bare: &Path, hint: bool) -> Option<Framed> {
    let odd = bare.rows.iter().any(|row| row.fault || row.fit.cut.is_some());
    let said = hint || plan.told_edges.is_some();
    if !said && !odd {
        return None;
    }
    // "Four for the edges" tells how many there are.
    let shared = Some(plan.cast_on.plus / 2)
        .filter(|edges| (1..=EDGES).contains(edges) && plan.cast_on.plus.is_multiple_of(2));
    let told = plan.told_edges.map(|told| told.stitches).or(shared);
    let hidden = match plan.told_edges {
        Some(_) => TOLD_EDGE,
        None if hint => HINTED_EDGE,
        None => HIDDEN_EDGE,
    };
    told.map_or(1..=EDGES, |edges| edges..=edges).find_map(|edges| {
        let frame = match plan.told_edges {
            Some(told) if told.as_first => Frame::of(&chain[0], edges)?,
            _ => Frame::plain(edges),
        };
        let within = all_in_frame(plan, chain, &frame, said);
        let path = solve_below(&within, ends, bare.cost - hidden).into_iter().next()?;
        let used = path.rows.iter().zip(chain).any(|(row, bare)| row.candidate >= bare.candidates.len());
        let cost = path.cost + hidden;
        (used && cost < bare.cost).then_some(Framed {
            chain: within,
            path: Path { cost, ..path },
            edges,
            said,
        })
    })
}

/// The rows of a piece, each between the edge stitches too that the text tells once for all of them.
pub fn between_told(plan: &Plan, chain: &[ChainRow]) -> Option<Vec<ChainRow>> {
    let told = plan.told_edges?;
    let frame =
        if told.as_first { Frame::of(&chain[0], told.stitches)? } else { Frame::plain(told.stitches) };
    Some(all_in_frame(plan, chain, &frame, true))
}

/// The rows from the place on where the edges are told.
fn all_in_frame(plan: &Plan, chain: &[ChainRow], frame: &Frame, said: bool) -> Vec<ChainRow> {
    let (before, after) = chain.split_at(plan.edges_from.min(chain.len()));
    before.iter().cloned().chain(after.iter().map(|row| in_frame(row, frame, said))).collect()
}

/// The stitches at the two edges that rows may leave unmentioned.
struct Frame {
    stitches: u32,
    first: Seq,
    last: Seq,
}

impl Frame {
    fn plain(stitches: u32) -> Frame {
        let ops = Rc::from([Op::K]);
        let work = Work { ops, times: stitches, span: Span::DETACHED, number: None, sense: None };
        let edge = Seq::one(Item::Work(work));
        Frame { stitches, first: edge.clone(), last: edge }
    }

    /// The first and the last so many stitches of the cheapest reading of a row, if they can be cut off.
    fn of(row: &ChainRow, stitches: u32) -> Option<Frame> {
        let plainest = row.candidates.iter().min_by(|one, other| one.cost.total_cmp(&other.cost))?;
        let items = plainest.seq.items();
        let first = Seq::of(taking(items.iter().cloned(), stitches)?)?;
        let mut last = taking(items.iter().rev().cloned(), stitches)?;
        last.reverse();
        Some(Frame { stitches, first, last: Seq::of(last)? })
    }
}

/// The first of these items, as many as take so many stitches together and leave as many.
fn taking(items: impl Iterator<Item = Item>, stitches: u32) -> Option<Vec<Item>> {
    let (mut taken, mut left, mut made) = (Vec::new(), stitches, 0);
    for item in items {
        if left == 0 && made >= stitches {
            break;
        }
        let Item::Work(work) = item else { return None };
        let takes: u32 = work.ops.iter().map(|op| op.takes()).sum();
        let makes: u32 = work.ops.iter().map(|op| op.makes()).sum();
        let times = left.checked_div(takes).map_or(work.times, |fit| work.times.min(fit));
        if times == 0 {
            return None;
        }
        left -= takes * times;
        made += makes * times;
        taken.push(Item::Work(Work { times, ..work }));
    }
    (left == 0).then_some(taken)
}

/// A row whose readings may also stand between edge stitches that it does not mention.
fn in_frame(row: &ChainRow, frame: &Frame, hinted: bool) -> ChainRow {
    let bare = if hinted { 0.6 } else { 0.0 };
    let edges = frame.stitches;
    let within = row.candidates.iter().flat_map(|candidate| {
        let beside = leaving_more(&candidate.seq, edges);
        [Some(candidate.seq.clone()), beside].into_iter().flatten().map(|seq| Candidate {
            cost: candidate.cost + 0.1 + if has_edges(&seq, edges) { TOLD_TWICE } else { 0.0 },
            seq: frame.first.and(&seq).and(&frame.last),
            edit: candidate.edit,
        })
    });
    let without =
        row.candidates.iter().map(|candidate| Candidate { cost: candidate.cost + bare, ..candidate.clone() });
    ChainRow { candidates: without.chain(within).collect(), stated: row.stated }
}

/// Whether a row itself tells so many plain stitches at either edge.
fn has_edges(seq: &Seq, edges: u32) -> bool {
    let plain = |item: &Item| matches!(item, Item::Work(work) if *work.ops == [Op::K] && work.times == edges);
    seq.item_count() > 2 && plain(seq.first_item()) && plain(seq.last_item())
}

/// "To the last two", where so many more stand at the edge that the row does not count.
pub fn leaving_more(seq: &Seq, edges: u32) -> Option<Seq> {
    let more = |until: Until| match until {
        Until::Left(left) => Until::Left(left.saturating_add(edges)),
        other => other,
    };
    if !seq.shape().open.iter().any(|(_, until, _)| matches!(until, Until::Left(_))) {
        return None;
    }
    let items = seq.items().into_iter().map(|item| match item {
        Item::Rest { op, until, span } => Item::Rest { op, until: more(until), span },
        Item::Group { body, until, span } => Item::Group { body, until: more(until), span },
        other => other,
    });
    Seq::of(items)
}
