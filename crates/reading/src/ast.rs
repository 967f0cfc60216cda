//! What a text says, before it is known how many stitches there are.
//!
//! ```text
//! Statement ── Rows ── Content::Work ── choices of Seq ── Item::Work   "knit 3", "k2tog"
//!                                                        Item::Rest   "knit to the end"
//!                                                        Item::Group  "(…) twice", "* … repeat from *"
//!                                                        Item::Seen   "knit the knitted, purl the purled"
//!              CastOn, Again, Count, Edge …
//! ```
//!
//! A [`Seq`] is shared, so that many readings of a row cost little; its [`Shape`] is what arithmetic sees of it.

mod moved;

pub use self::moved::Moved;

use std::rc::Rc;

use loops::{Op, Side};
use notation::{SenseId, YarnTo};
use span::Span;

use crate::rowset::RowSet;

/// How often a group is worked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Until {
    /// So many times in all.
    Times(u32),
    /// To the end of the row, less what follows.
    End,
    /// Until so many stitches are left.
    Left(u32),
}

/// Operations that one phrase asks for.
#[derive(Clone, Debug, PartialEq)]
pub struct Work {
    /// The operations, in order.
    pub ops: Rc<[Op]>,
    /// How often they are worked.
    pub times: u32,
    /// The words.
    pub span: Span,
    /// The word that gives the number, if one does.
    pub number: Option<Span>,
    /// The sense they were read by; `None` where no phrase stands for them.
    pub sense: Option<SenseId>,
}

/// How stitches are worked that are told by the look of those below.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Seen {
    /// Each as it shows.
    AsItShows,
    /// Knit on purl, purl on knit.
    Against,
}

/// One thing to do.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// Operations.
    Work(Work),
    /// The yarn changes sides.
    Move(YarnTo, Span),
    /// One operation up to the end of the row, or until some are left.
    Rest {
        /// The operation.
        op: Op,
        /// Where it stops.
        until: Until,
        /// The words.
        span: Span,
    },
    /// A group worked more than once.
    Group {
        /// What is repeated.
        body: Seq,
        /// How often.
        until: Until,
        /// The words that say how often.
        span: Span,
    },
    /// The rest of the row by the look of the stitches below.
    Seen(Seen, Span),
    /// One operation up to the end of the row, the wound loops of the row before let fall.
    LetFall(Op, Span),
}

/// Loops taken and made by a stretch of fixed length, or by one round of an open one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Sum {
    /// Loops taken.
    pub takes: u32,
    /// Loops made.
    pub makes: u32,
    /// Of the loops made, those of a yarn over wound more than once, all but the first of each.
    pub wound: u32,
}

impl Sum {
    /// The two together.
    pub fn and(self, other: Sum) -> Sum {
        Sum {
            takes: self.takes.saturating_add(other.takes),
            makes: self.makes.saturating_add(other.makes),
            wound: self.wound.saturating_add(other.wound),
        }
    }

    /// So many times.
    pub fn times(self, times: u32) -> Sum {
        Sum {
            takes: self.takes.saturating_mul(times),
            makes: self.makes.saturating_mul(times),
            wound: self.wound.saturating_mul(times),
        }
    }

    /// The sum of one operation.
    pub fn of(op: Op) -> Sum {
        let wound = if matches!(op, Op::Yo2 | Op::Yo3) { op.makes() - 1 } else { 0 };
        Sum { takes: op.takes(), makes: op.makes(), wound }
    }
}

/// What arithmetic sees of a sequence: a fixed part, and the open parts in order.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct Shape {
    /// Sum of the fixed parts.
    pub fixed: Sum,
    /// One round of each open group, with where it stops and the fixed sum before it.
    pub open: Vec<(Sum, Until, Sum)>,
}

impl Shape {
    fn and(&self, other: &Shape) -> Shape {
        let mut open = self.open.clone();
        open.extend(other.open.iter().map(|(sum, until, before)| (*sum, *until, self.fixed.and(*before))));
        Shape { fixed: self.fixed.and(other.fixed), open }
    }
}

/// A shared sequence of items.
#[derive(Clone, Debug)]
pub struct Seq(Rc<Shared>);

/// What all copies of a sequence share.
#[derive(Clone, Debug)]
struct Shared {
    node: SeqNode,
    shape: Shape,
    len: usize,
    span: Span,
    traits: Traits,
    /// The body of the first group that is worked to the end or until some are left.
    open_group: Option<Seq>,
}

/// What is asked of a sequence so often that it is kept with it.
#[derive(Clone, Copy, Debug, Default)]
struct Traits {
    /// Whether stitches are cast on or off, or the work turned: such a stretch is not repeated across a row.
    once_only: bool,
    /// Whether it ends in a turn.
    turns: bool,
    /// Whether wound loops are let fall.
    lets_fall: bool,
    /// Whether words among it were passed over.
    passes_over: bool,
}

#[derive(Clone, Debug)]
enum SeqNode {
    One(Item),
    Both(Seq, Seq),
}

impl PartialEq for Seq {
    fn eq(&self, other: &Seq) -> bool {
        self.items() == other.items()
    }
}

impl Seq {
    /// A sequence of one item.
    pub fn one(item: Item) -> Seq {
        let (shape, span) = (item.shape(), item.span());
        let once = |op: &Op| matches!(op, Op::Bo | Op::Turn | Op::Co);
        let (traits, open_group) = match &item {
            Item::Work(work) => {
                let turns = work.ops.last() == Some(&Op::Turn);
                (Traits { once_only: work.ops.iter().any(once), turns, ..Traits::default() }, None)
            }
            Item::Group { body, until: Until::Times(_), .. } => (body.0.traits, None),
            Item::Group { body, .. } => (body.0.traits, Some(body.clone())),
            Item::Rest { op, .. } => (Traits { once_only: once(op), ..Traits::default() }, None),
            Item::LetFall(..) => (Traits { lets_fall: true, ..Traits::default() }, None),
            Item::Move(..) | Item::Seen(..) => (Traits::default(), None),
        };
        Seq(Rc::new(Shared { node: SeqNode::One(item), shape, len: 1, span, traits, open_group }))
    }

    /// Two sequences one after the other.
    pub fn and(&self, other: &Seq) -> Seq {
        let (one, two) = (&*self.0, &*other.0);
        Seq(Rc::new(Shared {
            node: SeqNode::Both(self.clone(), other.clone()),
            shape: one.shape.and(&two.shape),
            len: one.len + two.len,
            span: one.span.to(two.span),
            traits: Traits {
                once_only: one.traits.once_only || two.traits.once_only,
                turns: two.traits.turns,
                lets_fall: one.traits.lets_fall || two.traits.lets_fall,
                passes_over: one.traits.passes_over || two.traits.passes_over,
            },
            open_group: one.open_group.clone().or_else(|| two.open_group.clone()),
        }))
    }

    /// A sequence of some items; `None` when there are none.
    pub fn of(items: impl IntoIterator<Item = Item>) -> Option<Seq> {
        items.into_iter().map(Seq::one).reduce(|all, next| all.and(&next))
    }

    /// What arithmetic sees of it.
    pub fn shape(&self) -> &Shape {
        &self.0.shape
    }

    /// Whether stitches are cast on or off in it, or the work turned, so that it is not repeated across a row.
    pub fn once_only(&self) -> bool {
        self.0.traits.once_only
    }

    /// Whether it ends in a turn, which may leave stitches unworked.
    pub fn turns(&self) -> bool {
        self.0.traits.turns
    }

    /// The same sequence, words among it passed over.
    pub fn passing_over(&self) -> Seq {
        let traits = Traits { passes_over: true, ..self.0.traits };
        Seq(Rc::new(Shared { traits, ..Shared::clone(&self.0) }))
    }

    /// Whether words among it were passed over.
    pub fn passes_over(&self) -> bool {
        self.0.traits.passes_over
    }

    /// The words of each item, and of what says how often.
    pub fn spans(&self) -> Vec<Span> {
        let mut out = Vec::new();
        for item in self.items() {
            match item {
                Item::Group { body, span, .. } => {
                    out.extend(body.spans());
                    out.push(span);
                }
                other => out.push(other.span()),
            }
        }
        out
    }

    /// Whether the wound loops of the row before are let fall in it.
    pub fn lets_fall(&self) -> bool {
        self.0.traits.lets_fall
    }

    /// The body of the first group that is worked to the end of the row, or until some are left.
    pub fn open_group(&self) -> Option<&Seq> {
        self.0.open_group.as_ref()
    }

    /// How many items there are.
    pub fn item_count(&self) -> usize {
        self.0.len
    }

    /// The items in order.
    pub fn items(&self) -> Vec<Item> {
        let mut out = Vec::with_capacity(self.0.len);
        self.collect(&mut out);
        out
    }

    /// The first item, that of a group if it begins with one.
    pub fn first_item(&self) -> &Item {
        match &self.0.node {
            SeqNode::One(Item::Group { body, .. }) => body.first_item(),
            SeqNode::One(item) => item,
            SeqNode::Both(left, _) => left.first_item(),
        }
    }

    /// The last item, that of a group if it ends with one.
    pub fn last_item(&self) -> &Item {
        match &self.0.node {
            SeqNode::One(Item::Group { body, .. }) => body.last_item(),
            SeqNode::One(item) => item,
            SeqNode::Both(_, right) => right.last_item(),
        }
    }

    fn collect(&self, out: &mut Vec<Item>) {
        match &self.0.node {
            SeqNode::One(item) => out.push(item.clone()),
            SeqNode::Both(left, right) => {
                left.collect(out);
                right.collect(out);
            }
        }
    }

    /// The words of all items together.
    pub fn span(&self) -> Span {
        self.0.span
    }
}

impl Work {
    /// What it takes and makes in all.
    pub fn sum(&self) -> Sum {
        let once = self.ops.iter().fold(Sum::default(), |sum, op| sum.and(Sum::of(*op)));
        once.times(self.times)
    }
}

impl Item {
    /// The words.
    pub fn span(&self) -> Span {
        match self {
            Item::Work(work) => work.span,
            Item::Move(_, span) | Item::Rest { span, .. } | Item::Seen(_, span) | Item::LetFall(_, span) => {
                *span
            }
            Item::Group { body, span, .. } => body.span().to(*span),
        }
    }

    fn shape(&self) -> Shape {
        match self {
            Item::Work(work) => Shape { fixed: work.sum(), open: Vec::new() },
            Item::Move(..) => Shape::default(),
            Item::Rest { op, until, .. } => {
                Shape { fixed: Sum::default(), open: vec![(Sum::of(*op), *until, Sum::default())] }
            }
            Item::Seen(..) | Item::LetFall(..) => {
                let once = Sum { takes: 1, makes: 1, wound: 0 };
                Shape { fixed: Sum::default(), open: vec![(once, Until::End, Sum::default())] }
            }
            Item::Group { body, until: Until::Times(times), .. } => {
                Shape { fixed: body.shape().fixed.times(*times), open: body.shape().open.clone() }
            }
            Item::Group { body, until, .. } => {
                Shape { fixed: Sum::default(), open: vec![(body.shape().fixed, *until, Sum::default())] }
            }
        }
    }
}

/// What a row is said to be.
#[derive(Clone, Debug, PartialEq)]
pub enum Content {
    /// Told stitch by stitch, in one or more readings, cheapest first.
    Work(Rc<Vec<(f64, Seq)>>),
    /// As other rows are; `None` is the row before.
    Like(Option<RowSet>),
    /// As another row, but for one thing.
    LikeBut(RowSet, Rc<Vec<(f64, Seq)>>),
    /// By turns: these whole-row operations one after the other.
    Turns(Vec<Op>),
}

/// One thing that a text says.
#[derive(Clone, Debug, PartialEq)]
pub struct Statement {
    /// What it says.
    pub kind: StatementKind,
    /// The words.
    pub span: Span,
}

/// The kinds of statement.
#[derive(Clone, Debug, PartialEq)]
pub enum StatementKind {
    /// Casting on.
    CastOn(CastOn),
    /// Rows and what they are.
    Rows {
        /// Which rows.
        rows: RowSet,
        /// What they are.
        content: Content,
        /// The side that the text names.
        side: Option<Side>,
        /// The stitches that the text says are left after the row.
        count: Option<(u32, Span)>,
    },
    /// Rows told without a name.
    Loose(Content),
    /// A whole row told by a verb alone, so often.
    Line(Content, u32),
    /// Rows between those that are told.
    Returns {
        /// After which rows they come.
        after: RowSet,
        /// What they are.
        content: Content,
    },
    /// Going back to an earlier row.
    Again(Again),
    /// A number of stitches said in passing.
    Count(u32),
    /// The rows go on as they have begun, until so many stitches are left.
    GoOn(Option<u32>),
    /// The first stitch of every row is slipped.
    SlipEdge,
    /// So many stitches at each edge are plain, and no row mentions them.
    Edges(u32),
    /// The work is joined into a round.
    Round,
    /// Known to change no stitch.
    Note,
    /// Not understood.
    Unread,
}

/// What is said of casting on.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CastOn {
    /// Stitches in all, or on one needle.
    pub count: Option<u32>,
    /// Where the number stands.
    pub count_span: Option<Span>,
    /// "Divisible by".
    pub of: Option<u32>,
    /// Where that number stands.
    pub of_span: Option<Span>,
    /// "And over".
    pub plus: u32,
    /// Needles, where the count is that of each.
    pub per_needle: Option<u32>,
    /// Counts of single needles.
    pub needles: Vec<u32>,
    /// Whether the work is said to be joined.
    pub round: bool,
}

/// "Repeat these four rows", "begin again at the 3rd row".
#[derive(Clone, Debug, PartialEq)]
pub struct Again {
    /// The rows, or the row to begin at; `None` is the first.
    pub rows: Option<RowSet>,
    /// Whether `rows` only names where to begin.
    pub from: bool,
    /// How often they are worked after the first time, with what the number means where it can mean two things.
    pub times: Option<AgainTimes>,
}

/// How often rows are repeated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AgainTimes {
    /// The number printed.
    pub printed: u32,
    /// Whether it surely does not count the first time.
    pub more: bool,
}
