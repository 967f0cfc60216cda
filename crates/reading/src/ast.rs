//! What a text says, before it is known how many stitches there are.
//!
//! ```text
//! Statement ── Rows ── Content::Work ── choices of Seq ── Item::Work   "knit 3", "k2tog"
//!                                                        Item::Rest   "knit to the end"
//!                                                        Item::Group  "(…) twice", "* … repeat from *"
//!                                                        Item::Seen   "knit the knitted, purl the purled"
//!                                                        Item::SeenSome  "rib sixteen"
//!              CastOn, Again, Count, Edge …
//! ```
//!
//! A [`Seq`] is shared, so that many readings of a row cost little; its [`Shape`] is what arithmetic sees of it.

mod placed;
mod shaping;
mod statement;

pub use self::placed::Placed;
pub use self::shaping::{At, Change, Differs, Goal, Onward, Place, Shaping, SpreadTold, Stop};
pub use self::statement::{
    Again, AgainTimes, CastOn, Content, Deed, EdgeRule, EdgesNamed, EdgesTold, Model, Rule, Statement,
    StatementKind,
};

use std::cell::OnceCell;
use std::rc::Rc;

use loops::{Op, Stitch};
use notation::{SenseId, YarnTo};
use span::Span;

use crate::needles::{Parts, Shares};
use crate::spread::SpreadRow;

/// Nats against an end that stands for the last of the repeat, where the text does not say so. Guess.
pub const FOR_THE_LAST: f64 = 0.8;

/// How often a group is worked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Until {
    /// So many times in all.
    Times(u32),
    /// To the end of the row, less what follows.
    End,
    /// Until so many stitches are left.
    Left(u32),
    /// Until so many stitches are left before the one in the middle.
    Middle(u32),
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
    /// Plain, but for the seam stitches, which stay purled; what was made beside them is none.
    SeamsKept,
    /// Knit on purl, purl on knit.
    Against,
    /// Stitches slipped in the row before in another operation than the others: these, and those.
    Slipped(Op, Op),
    /// Yarn overs of the row before in another operation than the other stitches: these, and those.
    Overs(Op, Op),
    /// The loops of yarn overs that were wound twice each in an operation of its own.
    Wound {
        /// The first that she comes to.
        first: Op,
        /// The second.
        second: Op,
        /// All other stitches.
        other: Op,
    },
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
    /// So many stitches, each as it shows: "rib sixteen".
    SeenSome(u32, Span),
    /// One operation up to the end of the row, loops of yarn overs of the row before let fall.
    LetFall(Op, Fall, Span),
    /// A whole row with increases or decreases spread over it.
    Spread(SpreadRow, Span),
    /// A whole round told needle by needle; how many stitches each holds, as far as the text says.
    ByNeedle(Rc<Parts>, Shares),
}

/// Which loops of the row before are let fall, or taken together with others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Fall {
    /// All but the first of each that is wound more than once.
    Extra,
    /// All.
    All,
    /// None: but loops that were worked in one stitch, three and more, are taken together again.
    Knots,
}

/// Loops that are yarn overs, or of several worked in one stitch.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Overs {
    /// Those of a yarn over wound more than once, all but the first of each.
    pub extra: u32,
    /// All of them.
    pub all: u32,
    /// Those of three and more worked in one stitch, all but the first of each.
    pub knots: u32,
}

/// Whether it works three stitches or more in one.
pub fn is_knot(op: Op) -> bool {
    op.takes() == 1 && op.makes() > 2
}

impl Overs {
    /// Those that one operation makes.
    pub fn of(op: Op) -> Overs {
        match op {
            Op::Yo | Op::Yo2 | Op::Yo3 => Overs { extra: op.makes() - 1, all: op.makes(), knots: 0 },
            op if is_knot(op) => Overs { knots: op.makes() - 1, ..Overs::default() },
            _ => Overs::default(),
        }
    }

    /// The two together.
    pub fn and(self, other: Overs) -> Overs {
        Overs {
            extra: self.extra.saturating_add(other.extra),
            all: self.all.saturating_add(other.all),
            knots: self.knots.saturating_add(other.knots),
        }
    }

    /// So many times.
    pub fn times(self, times: u32) -> Overs {
        Overs {
            extra: self.extra.saturating_mul(times),
            all: self.all.saturating_mul(times),
            knots: self.knots.saturating_mul(times),
        }
    }

    /// Those that fall.
    pub fn falling(self, fall: Fall) -> u32 {
        match fall {
            Fall::Extra => self.extra,
            Fall::All => self.all,
            Fall::Knots => self.knots,
        }
    }
}

/// Loops taken and made by a stretch of fixed length, or by one round of an open one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Sum {
    /// Loops taken.
    pub takes: u32,
    /// Loops made.
    pub makes: u32,
    /// Of the loops made, those that are yarn overs.
    pub overs: Overs,
    /// Of the loops made, those that come of decreases.
    pub decreases: u32,
}

impl Sum {
    /// The two together.
    pub fn and(self, other: Sum) -> Sum {
        Sum {
            takes: self.takes.saturating_add(other.takes),
            makes: self.makes.saturating_add(other.makes),
            overs: self.overs.and(other.overs),
            decreases: self.decreases.saturating_add(other.decreases),
        }
    }

    /// So many times.
    pub fn times(self, times: u32) -> Sum {
        Sum {
            takes: self.takes.saturating_mul(times),
            makes: self.makes.saturating_mul(times),
            overs: self.overs.times(times),
            decreases: self.decreases.saturating_mul(times),
        }
    }

    /// The sum of one operation.
    pub fn of(op: Op) -> Sum {
        let decreases = u32::from(is_decrease(op));
        Sum { takes: op.takes(), makes: op.makes(), overs: Overs::of(op), decreases }
    }
}

/// Whether an operation takes several loops and makes one.
pub fn is_decrease(op: Op) -> bool {
    op.takes() > 1 && op.makes() == 1
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
    /// The stitches of one round of it, once they have been asked for.
    flat: OnceCell<Rc<[Stitch]>>,
}

/// What is asked of a sequence so often that it is kept with it.
#[derive(Clone, Copy, Debug, Default)]
struct Traits {
    /// Whether stitches are cast on or off, or the work turned: such a stretch is not repeated across a row.
    once_only: bool,
    /// Whether it ends in a turn.
    turns: bool,
    /// Whether loops of yarn overs are let fall, and which.
    lets_fall: Option<Fall>,
    /// Whether words among it were passed over.
    passes_over: bool,
    /// Whether it is a round told needle by needle.
    by_needle: bool,
    /// Whether it is a row with decreases spread over it.
    spread: bool,
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
            Item::LetFall(_, fall, _) => (Traits { lets_fall: Some(*fall), ..Traits::default() }, None),
            Item::ByNeedle(..) => (Traits { by_needle: true, once_only: true, ..Traits::default() }, None),
            Item::SeenSome(..) => (Traits { once_only: true, ..Traits::default() }, None),
            Item::Spread(..) => (Traits { once_only: true, spread: true, ..Traits::default() }, None),
            Item::Move(..) | Item::Seen(..) => (Traits::default(), None),
        };
        let flat = OnceCell::new();
        Seq(Rc::new(Shared { node: SeqNode::One(item), shape, len: 1, span, traits, open_group, flat }))
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
                lets_fall: one.traits.lets_fall.or(two.traits.lets_fall),
                passes_over: one.traits.passes_over || two.traits.passes_over,
                by_needle: one.traits.by_needle || two.traits.by_needle,
                spread: one.traits.spread || two.traits.spread,
            },
            open_group: one.open_group.clone().or_else(|| two.open_group.clone()),
            flat: OnceCell::new(),
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

    /// The round told needle by needle, if it is one, and how many stitches each needle holds as far as that is told.
    pub fn by_needle(&self) -> Option<(&Parts, Shares)> {
        match &self.0.node {
            SeqNode::One(Item::ByNeedle(parts, told)) => Some((parts, *told)),
            _ => None,
        }
    }

    /// The row with decreases spread over it, if it is one.
    pub fn spread(&self) -> Option<(&SpreadRow, Span)> {
        match &self.0.node {
            SeqNode::One(Item::Spread(row, span)) => Some((row, *span)),
            _ => None,
        }
    }

    /// Whether its arithmetic needs more than the number on the needle: rounds told needle by needle, decreases spread
    /// over a row.
    pub fn needs_the_needle(&self) -> bool {
        self.0.traits.by_needle || self.0.traits.spread
    }

    /// Whether a round told needle by needle is in it.
    pub fn names_needles(&self) -> bool {
        self.0.traits.by_needle
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

    /// Which loops of the yarn overs of the row before are let fall in it.
    pub fn lets_fall(&self) -> Option<Fall> {
        self.0.traits.lets_fall
    }

    /// The body of the first group that is worked to the end of the row, or until some are left.
    pub fn open_group(&self) -> Option<&Seq> {
        self.0.open_group.as_ref()
    }

    /// "Repeat from *, ending with knit two together": whether all this may stand for the last of a repeat, a decrease of
    /// other stitches, or more of the same.
    pub fn stands_for(&self, last: &Item) -> bool {
        let items = self.items();
        let ([Item::Work(one)], Item::Work(other)) = (items.as_slice(), last) else { return false };
        let decreases = |work: &Work| work.times == 1 && work.sum().takes > work.sum().makes;
        let fewer = one.ops == other.ops && one.times < other.times;
        fewer || decreases(one) && decreases(other) && one.ops != other.ops
    }

    /// The stitches of its fixed parts, spelt out by the first who asks for them.
    pub fn flat(&self, spell: impl FnOnce(&Seq) -> Vec<Stitch>) -> &[Stitch] {
        self.0.flat.get_or_init(|| spell(self).into())
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

    /// The first of them.
    pub fn first(&self) -> Option<Item> {
        match &self.0.node {
            SeqNode::One(item) => Some(item.clone()),
            SeqNode::Both(left, _) => left.first(),
        }
    }

    /// The same stitches from the last to the first, decreases leaning the other way; without the middle stitch, if
    /// the last words speak of one. `None` where a part cannot be told backwards.
    pub fn mirrored(&self, span: Span) -> Option<Seq> {
        let items = self.items().into_iter().rev().map(|item| match item {
            Item::Work(work) => {
                let ops = work.ops.iter().rev().map(|op| op.reversed()).collect();
                Some(Item::Work(Work { ops, span, number: None, ..work }))
            }
            Item::Group { body, until: Until::Times(times), .. } => {
                Some(Item::Group { body: body.mirrored(span)?, until: Until::Times(times), span })
            }
            _ => None,
        });
        Seq::of(items.collect::<Option<Vec<Item>>>()?)
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

    /// Whether the same is worked as often, wherever it is told.
    pub fn is_same(&self, other: &Work) -> bool {
        self.ops == other.ops && self.times == other.times
    }
}

impl Item {
    /// Whether both are the same stitches, wherever they are told.
    pub fn is_same_work(&self, other: &Item) -> bool {
        matches!((self, other), (Item::Work(one), Item::Work(other)) if one.is_same(other))
    }

    /// The words.
    pub fn span(&self) -> Span {
        match self {
            Item::Work(work) => work.span,
            Item::Move(_, span)
            | Item::Rest { span, .. }
            | Item::Seen(_, span)
            | Item::SeenSome(_, span)
            | Item::LetFall(.., span)
            | Item::Spread(_, span) => *span,
            Item::Group { body, span, .. } => body.span().to(*span),
            Item::ByNeedle(parts, _) => match &**parts {
                Parts::Each(parts) => parts.iter().fold(Span::DETACHED, |all, part| all.to(part.span())),
                Parts::Same(part) => part.span(),
            },
        }
    }

    fn shape(&self) -> Shape {
        match self {
            Item::Work(work) => Shape { fixed: work.sum(), open: Vec::new() },
            Item::Move(..) => Shape::default(),
            Item::SeenSome(count, _) => Shape { fixed: Sum::of(Op::K).times(*count), open: Vec::new() },
            Item::Rest { op, until, .. } => {
                Shape { fixed: Sum::default(), open: vec![(Sum::of(*op), *until, Sum::default())] }
            }
            Item::Seen(..) | Item::LetFall(..) | Item::Spread(..) => {
                let once = Sum { takes: 1, makes: 1, ..Sum::default() };
                Shape { fixed: Sum::default(), open: vec![(once, Until::End, Sum::default())] }
            }
            Item::ByNeedle(parts, _) => match &**parts {
                Parts::Each(parts) => {
                    let all = parts.iter().fold(Shape::default(), |all, part| all.and(part.shape()));
                    Shape { fixed: all.fixed, open: all.open.into_iter().take(1).collect() }
                }
                Parts::Same(part) => part.shape().clone(),
            },
            Item::Group { body, until: Until::Times(times), .. } => {
                Shape { fixed: body.shape().fixed.times(*times), open: body.shape().open.clone() }
            }
            Item::Group { body, until, .. } => {
                Shape { fixed: Sum::default(), open: vec![(body.shape().fixed, *until, Sum::default())] }
            }
        }
    }
}
