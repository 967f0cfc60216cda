//! Statements brought to their place in the text: spans and the numbers of rows changed, nothing else.

use std::cell::OnceCell;
use std::rc::Rc;

use span::Span;

use super::{
    Again, CastOn, Change, Content, Item, Model, Seq, SeqNode, Shared, Statement, StatementKind, Work,
};
use crate::needles::Parts;
use crate::place::Place;
use crate::rowset::{RowSet, Which};

/// What stands in a text, and may stand elsewhere.
pub trait Placed {
    /// What was parsed as it stands in the text.
    fn placed(&self, place: &Place) -> Self;
}

impl Placed for Span {
    fn placed(&self, place: &Place) -> Span {
        place.span(*self)
    }
}

impl<T: Placed> Placed for Option<T> {
    fn placed(&self, place: &Place) -> Option<T> {
        self.as_ref().map(|inner| inner.placed(place))
    }
}

impl Placed for RowSet {
    fn placed(&self, place: &Place) -> RowSet {
        let which = match &self.which {
            Which::Numbers(numbers) => Which::Numbers(place.numbers(numbers)),
            other => other.clone(),
        };
        RowSet { which, span: self.span.placed(place), ..self.clone() }
    }
}

impl Placed for Work {
    fn placed(&self, place: &Place) -> Work {
        Work { span: self.span.placed(place), number: self.number.placed(place), ..self.clone() }
    }
}

impl Placed for Item {
    fn placed(&self, place: &Place) -> Item {
        match self {
            Item::Work(work) => Item::Work(work.placed(place)),
            Item::Move(to, span) => Item::Move(*to, span.placed(place)),
            Item::Rest { op, until, span } => Item::Rest { op: *op, until: *until, span: span.placed(place) },
            Item::Group { body, until, span } => {
                Item::Group { body: body.placed(place), until: *until, span: span.placed(place) }
            }
            Item::Seen(seen, span) => Item::Seen(*seen, span.placed(place)),
            Item::SeenSome(count, span) => Item::SeenSome(*count, span.placed(place)),
            Item::Spread(row, span) => Item::Spread(row.clone(), span.placed(place)),
            Item::LetFall(op, fall, span) => Item::LetFall(*op, *fall, span.placed(place)),
            Item::ByNeedle(parts, told) => {
                let parts = match &**parts {
                    Parts::Each(parts) => Parts::Each(parts.iter().map(|part| part.placed(place)).collect()),
                    Parts::Same(part) => Parts::Same(part.placed(place)),
                };
                Item::ByNeedle(Rc::new(parts), *told)
            }
        }
    }
}

impl Placed for Seq {
    fn placed(&self, place: &Place) -> Seq {
        let (node, open_group) = match &self.0.node {
            SeqNode::One(item) => {
                let item = item.placed(place);
                let group = match &item {
                    Item::Group { body, .. } if self.0.open_group.is_some() => Some(body.clone()),
                    _ => None,
                };
                (SeqNode::One(item), group)
            }
            SeqNode::Both(left, right) => {
                let (left, right) = (left.placed(place), right.placed(place));
                let group = left.0.open_group.clone().or_else(|| right.0.open_group.clone());
                (SeqNode::Both(left, right), group)
            }
        };
        let Shared { shape, len, span, traits, .. } = &*self.0;
        let (shape, span) = (shape.clone(), span.placed(place));
        let flat = OnceCell::new();
        Seq(Rc::new(Shared { node, shape, len: *len, span, traits: *traits, open_group, flat }))
    }
}

/// All readings of a row.
fn all_placed(readings: &[(f64, Seq)], place: &Place) -> Rc<Vec<(f64, Seq)>> {
    Rc::new(readings.iter().map(|(cost, seq)| (*cost, seq.placed(place))).collect())
}

impl Placed for Content {
    fn placed(&self, place: &Place) -> Content {
        let all = |readings| all_placed(readings, place);
        match self {
            Content::Work(readings) => Content::Work(all(readings)),
            Content::Rib(readings) => Content::Rib(all(readings)),
            Content::Like(rows) => Content::Like(rows.placed(place)),
            Content::Swapped(rows) => Content::Swapped(rows.placed(place)),
            Content::LikeBut(rows, changes) => {
                let changed =
                    |change: &Change| Change { told: all_placed(&change.told, place), at: change.at.clone() };
                Content::LikeBut(rows.placed(place), changes.iter().map(changed).collect())
            }
            Content::LikeWith(model, plain, old) => {
                let model = match model {
                    Model::Rows(rows) => Model::Rows(rows.placed(place)),
                    Model::Shaped | Model::Steady => model.clone(),
                };
                Content::LikeWith(model, *plain, *old)
            }
            Content::LikeTimes(rows, times) => Content::LikeTimes(rows.placed(place), *times),
            Content::LikeCrossed(rows) => Content::LikeCrossed(rows.placed(place)),
            Content::LikeEnds(rows, plain) => Content::LikeEnds(rows.placed(place), *plain),
            Content::FromStar(begun, rows, plain) => {
                Content::FromStar(all(begun), rows.placed(place), *plain)
            }
            Content::RestAs(begun, rows) => Content::RestAs(all(begun), rows.placed(place)),
            Content::NarrowedSo(begun, plain, ended) => Content::NarrowedSo(all(begun), *plain, all(ended)),
            Content::UpTo(rows, stop, own) => Content::UpTo(rows.placed(place), *stop, all(own)),
            Content::Edged(edges, own) => Content::Edged(*edges, all(own)),
            Content::InSeries => Content::InSeries,
            Content::Stepped(by) => Content::Stepped(*by),
            Content::LikeCounted => Content::LikeCounted,
            Content::LikeRib => Content::LikeRib,
            Content::Recoloured => Content::Recoloured,
            Content::LikeNamed(deed) => Content::LikeNamed(*deed),
            Content::Straight => Content::Straight,
            Content::Turns(ops) => Content::Turns(ops.clone()),
        }
    }
}

impl Placed for CastOn {
    fn placed(&self, place: &Place) -> CastOn {
        CastOn {
            count_span: self.count_span.placed(place),
            of_span: self.of_span.placed(place),
            ..self.clone()
        }
    }
}

impl Placed for StatementKind {
    fn placed(&self, place: &Place) -> StatementKind {
        match self {
            StatementKind::CastOn(cast_on) => StatementKind::CastOn(cast_on.placed(place)),
            StatementKind::Rows { rows, content, side, count } => StatementKind::Rows {
                rows: rows.placed(place),
                content: content.placed(place),
                side: *side,
                count: count.map(|(count, span)| (count, span.placed(place))),
            },
            StatementKind::Loose(content) => StatementKind::Loose(content.placed(place)),
            StatementKind::ThatIs(content) => StatementKind::ThatIs(content.placed(place)),
            StatementKind::LastIs(content) => StatementKind::LastIs(content.placed(place)),
            StatementKind::Line(content, times) => StatementKind::Line(content.placed(place), *times),
            StatementKind::Returns { after, content } => {
                StatementKind::Returns { after: after.placed(place), content: content.placed(place) }
            }
            StatementKind::Reversed(again) => {
                StatementKind::Reversed(Again { rows: again.rows.placed(place), ..again.clone() })
            }
            StatementKind::Again(again) => {
                StatementKind::Again(Again { rows: again.rows.placed(place), ..again.clone() })
            }
            StatementKind::Heading(numbers) => StatementKind::Heading(place.numbers(numbers)),
            StatementKind::EdgesAre(first, last) => {
                StatementKind::EdgesAre(all_placed(first, place), all_placed(last, place))
            }
            StatementKind::EndsAre(rows, first, last) => StatementKind::EndsAre(
                rows.placed(place),
                all_placed(first, place),
                last.as_ref().map(|last| all_placed(last, place)),
            ),
            StatementKind::AtTheEnd(seq) => StatementKind::AtTheEnd(seq.placed(place)),
            StatementKind::EndsAsBefore { row, end } => {
                let end = end.as_ref().map(|end| end.placed(place));
                StatementKind::EndsAsBefore { row: *row, end }
            }
            StatementKind::Spread(rows, told) => StatementKind::Spread(rows.placed(place), Rc::clone(told)),
            other @ (StatementKind::Count(_)
            | StatementKind::CountEach(_)
            | StatementKind::TurnsAt(_)
            | StatementKind::GoOn(_)
            | StatementKind::Part { .. }
            | StatementKind::OtherPart
            | StatementKind::Section(_)
            | StatementKind::LikeSection(_)
            | StatementKind::Edge(_)
            | StatementKind::Shaping(_)
            | StatementKind::Closes
            | StatementKind::OnHand(_)
            | StatementKind::Edges(_)
            | StatementKind::Round(_)
            | StatementKind::AsSeen
            | StatementKind::Finished
            | StatementKind::Note
            | StatementKind::Smooth
            | StatementKind::OneNeedle
            | StatementKind::EdgeWidth(_)
            | StatementKind::Unread) => other.clone(),
        }
    }
}

impl Placed for Statement {
    fn placed(&self, place: &Place) -> Statement {
        Statement { kind: self.kind.placed(place), span: self.span.placed(place) }
    }
}
