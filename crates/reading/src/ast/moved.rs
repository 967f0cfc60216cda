//! Statements brought to another place of the text: every span moved, nothing else changed.

use std::cell::OnceCell;
use std::rc::Rc;

use span::Span;

use super::{Again, CastOn, Content, Item, Seq, SeqNode, Shared, Statement, StatementKind, Work};
use crate::needles::Parts;
use crate::rowset::RowSet;

/// What stands in a text, and may stand elsewhere.
pub trait Moved {
    /// The same so many bytes further on.
    fn moved(&self, by: i64) -> Self;
}

impl Moved for Span {
    fn moved(&self, by: i64) -> Span {
        Span::moved(*self, by)
    }
}

impl<T: Moved> Moved for Option<T> {
    fn moved(&self, by: i64) -> Option<T> {
        self.as_ref().map(|inner| inner.moved(by))
    }
}

impl Moved for RowSet {
    fn moved(&self, by: i64) -> RowSet {
        RowSet { span: self.span.moved(by), ..self.clone() }
    }
}

impl Moved for Work {
    fn moved(&self, by: i64) -> Work {
        Work { span: self.span.moved(by), number: Moved::moved(&self.number, by), ..self.clone() }
    }
}

impl Moved for Item {
    fn moved(&self, by: i64) -> Item {
        match self {
            Item::Work(work) => Item::Work(work.moved(by)),
            Item::Move(to, span) => Item::Move(*to, span.moved(by)),
            Item::Rest { op, until, span } => Item::Rest { op: *op, until: *until, span: span.moved(by) },
            Item::Group { body, until, span } => {
                Item::Group { body: body.moved(by), until: *until, span: span.moved(by) }
            }
            Item::Seen(seen, span) => Item::Seen(*seen, span.moved(by)),
            Item::SeenSome(count, span) => Item::SeenSome(*count, span.moved(by)),
            Item::Spread(row, span) => Item::Spread(row.clone(), span.moved(by)),
            Item::LetFall(op, fall, span) => Item::LetFall(*op, *fall, span.moved(by)),
            Item::ByNeedle(parts, told) => {
                let parts = match &**parts {
                    Parts::Each(parts) => Parts::Each(parts.iter().map(|part| part.moved(by)).collect()),
                    Parts::Same(part) => Parts::Same(part.moved(by)),
                };
                Item::ByNeedle(Rc::new(parts), *told)
            }
        }
    }
}

impl Moved for Seq {
    fn moved(&self, by: i64) -> Seq {
        let (node, open_group) = match &self.0.node {
            SeqNode::One(item) => {
                let item = item.moved(by);
                let group = match &item {
                    Item::Group { body, .. } if self.0.open_group.is_some() => Some(body.clone()),
                    _ => None,
                };
                (SeqNode::One(item), group)
            }
            SeqNode::Both(left, right) => {
                let (left, right) = (left.moved(by), right.moved(by));
                let group = left.0.open_group.clone().or_else(|| right.0.open_group.clone());
                (SeqNode::Both(left, right), group)
            }
        };
        let Shared { shape, len, span, traits, .. } = &*self.0;
        let (shape, span) = (shape.clone(), span.moved(by));
        let flat = OnceCell::new();
        Seq(Rc::new(Shared { node, shape, len: *len, span, traits: *traits, open_group, flat }))
    }
}

impl Moved for Content {
    fn moved(&self, by: i64) -> Content {
        let all = |readings: &[(f64, Seq)]| {
            Rc::new(readings.iter().map(|(cost, seq)| (*cost, seq.moved(by))).collect::<Vec<_>>())
        };
        match self {
            Content::Work(readings) => Content::Work(all(readings)),
            Content::Rib(readings) => Content::Rib(all(readings)),
            Content::Like(rows) => Content::Like(rows.moved(by)),
            Content::Swapped(rows) => Content::Swapped(rows.moved(by)),
            Content::LikeBut(rows, readings, place) => {
                Content::LikeBut(Moved::moved(rows, by), all(readings), *place)
            }
            Content::LikeWith(rows, plain) => Content::LikeWith(Moved::moved(rows, by), *plain),
            Content::LikeTimes(rows, times) => Content::LikeTimes(rows.moved(by), *times),
            Content::LikeCrossed(rows) => Content::LikeCrossed(rows.moved(by)),
            Content::LikeEnds(rows, plain) => Content::LikeEnds(rows.moved(by), *plain),
            Content::FromStar(begun, rows, plain) => Content::FromStar(all(begun), rows.moved(by), *plain),
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

impl Moved for CastOn {
    fn moved(&self, by: i64) -> CastOn {
        CastOn {
            count_span: Moved::moved(&self.count_span, by),
            of_span: Moved::moved(&self.of_span, by),
            ..self.clone()
        }
    }
}

impl Moved for StatementKind {
    fn moved(&self, by: i64) -> StatementKind {
        match self {
            StatementKind::CastOn(cast_on) => StatementKind::CastOn(cast_on.moved(by)),
            StatementKind::Rows { rows, content, side, count } => StatementKind::Rows {
                rows: rows.moved(by),
                content: content.moved(by),
                side: *side,
                count: count.map(|(count, span)| (count, span.moved(by))),
            },
            StatementKind::Loose(content) => StatementKind::Loose(content.moved(by)),
            StatementKind::ThatIs(content) => StatementKind::ThatIs(content.moved(by)),
            StatementKind::Line(content, times) => StatementKind::Line(content.moved(by), *times),
            StatementKind::Returns { after, content } => {
                StatementKind::Returns { after: after.moved(by), content: content.moved(by) }
            }
            StatementKind::Reversed(again) => {
                StatementKind::Reversed(Again { rows: again.rows.moved(by), ..again.clone() })
            }
            StatementKind::Again(again) => {
                StatementKind::Again(Again { rows: again.rows.moved(by), ..again.clone() })
            }
            StatementKind::AtTheEnd(seq) => StatementKind::AtTheEnd(seq.moved(by)),
            StatementKind::Spread(rows, told) => StatementKind::Spread(rows.moved(by), Rc::clone(told)),
            other @ (StatementKind::Count(_)
            | StatementKind::CountEach(_)
            | StatementKind::GoOn(_)
            | StatementKind::Part(..)
            | StatementKind::OtherPart
            | StatementKind::Section(_)
            | StatementKind::Heading(_)
            | StatementKind::LikeSection(_)
            | StatementKind::Edge(_)
            | StatementKind::Shaping(_)
            | StatementKind::OnHand(_)
            | StatementKind::Edges(_)
            | StatementKind::Round(_)
            | StatementKind::AsSeen
            | StatementKind::EndsAsBefore
            | StatementKind::Finished
            | StatementKind::Note
            | StatementKind::Smooth
            | StatementKind::Unread) => other.clone(),
        }
    }
}

impl Moved for Statement {
    fn moved(&self, by: i64) -> Statement {
        Statement { kind: self.kind.moved(by), span: self.span.moved(by) }
    }
}
