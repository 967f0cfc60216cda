//! Statements: rows and what they are, casting on, repeats, rules.

use std::rc::Rc;

use loops::{Op, Side};
use span::Span;

use super::{Change, Goal, Item, Onward, Seq, Shaping, SpreadTold, Stop, Until};
use crate::rowset::{RowSet, Which};

/// What a row is said to be.
#[derive(Clone, Debug, PartialEq)]
pub enum Content {
    /// Told stitch by stitch, in one or more readings, cheapest first.
    Work(Rc<Vec<(f64, Seq)>>),
    /// As other rows are; `None` is the row before.
    Like(Option<RowSet>),
    /// As the last rows that were told by how many they are.
    LikeCounted,
    /// As the last rows that were told as a rib.
    LikeRib,
    /// As the row before, in another colour, unless the same rows are told after it.
    Recoloured,
    /// As the last row that did this.
    LikeNamed(Deed),
    /// As other rows are, with knit for purl and purl for knit.
    Swapped(RowSet),
    /// As another row, or the last row that was shaped, but for one thing or several.
    LikeBut(Option<RowSet>, Rc<[Change]>),
    /// As another row, but for the number of plain stitches somewhere in it: so many, for so many if that is told.
    LikeWith(Model, u32, Option<u32>),
    /// As another row, but for the numbers of plain stitches with which it begins and ends.
    LikeEnds(RowSet, [u32; 2]),
    /// Begun in its own way, and then as another row from its star on; so many plain stitches end it, if that is told.
    FromStar(Rc<Vec<(f64, Seq)>>, RowSet, Option<u32>),
    /// Begun in its own way, with what is then left on the needle as another row works it.
    RestAs(Rc<Vec<(f64, Seq)>>, Option<RowSet>),
    /// Begun and ended in its own way; between that, the two decreases of the last row that has two, with so many plain
    /// stitches between them.
    NarrowedSo(Rc<Vec<(f64, Seq)>>, u32, Rc<Vec<(f64, Seq)>>),
    /// As another row up to a place, and then in its own way.
    UpTo(RowSet, Stop, Rc<Vec<(f64, Seq)>>),
    /// Its own, between edge stitches that are worked as in a row before.
    Edged(EdgesNamed, Rc<Vec<(f64, Seq)>>),
    /// Going on as the rows before have begun.
    InSeries,
    /// As another row, but that its groups are worked so often.
    LikeTimes(RowSet, u32),
    /// As another row, but that its crossings lean the other way.
    LikeCrossed(RowSet),
    /// As the last rows that were shaped, with so many stitches more or fewer between, and again with each further row.
    Stepped(i32),
    /// A rib told by its first row: each further one as it shows.
    Rib(Rc<Vec<(f64, Seq)>>),
    /// Neither growing nor shrinking, in the operations of the last two rows by turns.
    Straight,
    /// By turns: these whole-row operations one after the other.
    Turns(Vec<Op>),
}

/// Which row another is like but for a number.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Model {
    /// The rows that are named.
    Rows(RowSet),
    /// The last row that is more than one operation throughout.
    Shaped,
    /// The last such row that leaves as many stitches as it takes, or else the last one that does not.
    Steady,
}

/// What a row does that is named by it: "an open row", "an intake round".
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Deed {
    /// It has yarn overs.
    Opens,
    /// It leaves fewer stitches.
    Narrows,
    /// It leaves more stitches.
    Widens,
}

/// One thing that a text says.
#[derive(Clone, Debug, PartialEq)]
pub struct Statement {
    /// What it says.
    pub kind: StatementKind,
    /// The words.
    pub span: Span,
}

/// What a book's explanation says once for all its patterns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// Of the edge stitches.
    Edge(EdgeRule),
    /// The rows back are of one operation.
    Back(Op),
}

impl Statement {
    /// The rule for every pattern of a book that it gives, if it gives one.
    pub fn as_rule(&self) -> Option<Rule> {
        match &self.kind {
            StatementKind::Edge(rule) => Some(Rule::Edge(*rule)),
            StatementKind::Rows { rows, content: Content::Work(readings), .. }
                if rows.which == Which::Back =>
            {
                match readings.first()?.1.first()? {
                    Item::Rest { op, .. } => Some(Rule::Back(op)),
                    _ => None,
                }
            }
            _ => None,
        }
    }
}

impl Rule {
    /// The same as a statement, without words of the pattern.
    pub fn statement(self) -> Statement {
        let kind = match self {
            Rule::Edge(rule) => StatementKind::Edge(rule),
            Rule::Back(op) => {
                let whole = Item::Rest { op, until: Until::End, span: Span::DETACHED };
                let content = Content::Work(Rc::new(vec![(0.0, Seq::one(whole))]));
                let rows = RowSet::named(Which::Back);
                StatementKind::Rows { rows, content, side: None, count: None }
            }
        };
        Statement { kind, span: Span::DETACHED }
    }
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
    /// A row without a name, or the last one in other words: "that is, knit six and take in one, all round".
    ThatIs(Content),
    /// The last of rows that are worked again, or of a series, told anew: "but in the last of them cast off ten".
    LastIs(Content),
    /// A whole row told by a verb alone, so often.
    Line(Content, u32),
    /// Rows between those that are told.
    Returns {
        /// After which rows they come.
        after: RowSet,
        /// What they are.
        content: Content,
    },
    /// So many rows of one operation over so many of the stitches on the needle.
    Part {
        /// The operation.
        op: Op,
        /// Over how many stitches.
        stitches: u32,
        /// How many rows.
        rows: u32,
        /// Whether the first stitch of each is slipped.
        slips: bool,
    },
    /// The rows of the last such part over the stitches that were left.
    OtherPart,
    /// Going back to an earlier row.
    Again(Again),
    /// A number of stitches said in passing.
    Count(u32),
    /// A number of stitches on each needle said in passing.
    CountEach(u32),
    /// The rows go on as they have begun, until so many stitches are left.
    GoOn(Onward),
    /// The ground is stocking stitch.
    Smooth,
    /// What the edges are that rows name: at their beginning, and at their end.
    EdgesAre(Rc<Vec<(f64, Seq)>>, Rc<Vec<(f64, Seq)>>),
    /// How these rows begin, and end if that is said, which need not be told with each of them.
    EndsAre(RowSet, Rc<Vec<(f64, Seq)>>, Option<Rc<Vec<(f64, Seq)>>>),
    /// The edges that rows name are of so many stitches.
    EdgeWidth(u32),
    /// What is told of a round is told of one needle, and all others are worked like it.
    OneNeedle,
    /// What is said once of the first and last stitch of every row.
    Edge(EdgeRule),
    /// The rows grow or shrink in the same way, one after the other.
    Shaping(Shaping),
    /// All rows are told as they look on the right side.
    AsSeen,
    /// Rows that come again in the reverse order.
    Reversed(Again),
    /// The last row told, or these rows of the last that were told together, have increases or decreases spread over them.
    Spread(Option<RowSet>, Rc<[SpreadTold]>),
    /// The last short row again with these numbers of plain stitches, one after the other, each with its way back.
    TurnsAt(Vec<u32>),
    /// All that is left on the needle is knitted together.
    Closes,
    /// Stitches that are on the needle before the work begins.
    OnHand(u32),
    /// The last row repeats and ends as the row with a repeat before it does, or ends with what is told.
    EndsAsBefore {
        /// The row that is named.
        row: Option<u32>,
        /// What the row ends with instead.
        end: Option<Seq>,
    },
    /// What is worked at the end of the last row besides: stitches cast on.
    AtTheEnd(Seq),
    /// So many stitches at each edge that no row mentions, but perhaps the first.
    Edges(EdgesTold),
    /// The work is joined into a round, on so many needles if that is said.
    Round(Option<u32>),
    /// The wool is broken off: no row follows.
    Finished,
    /// A part of the work begins, or several that are told together.
    Section(Vec<u32>),
    /// A further part, by its number alone.
    Heading(Vec<u32>),
    /// The part is worked as an earlier one.
    LikeSection(u32),
    /// Known to change no stitch.
    Note,
    /// Not understood.
    Unread,
}

/// Stitches at each edge that are told once for all rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct EdgesTold {
    /// How many at either edge.
    pub stitches: u32,
    /// Whether they are worked as the first row tells them, instead of plain.
    pub as_first: bool,
    /// Whether they come beside the number that is to be cast on.
    pub besides: bool,
}

/// Edges that a row names: "edge; knit nine; edge".
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct EdgesNamed {
    /// How many stitches are one, if the row says so.
    pub stitches: Option<u32>,
    /// Whether the row begins with one.
    pub first: bool,
    /// Whether it ends with one.
    pub last: bool,
}

/// A rule on the first and last stitch of every row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct EdgeRule {
    /// How the first is worked, if that is said.
    pub first: Option<Op>,
    /// How the last is worked, if that is said.
    pub last: Option<Op>,
    /// Whether it holds for the rows of the right side only.
    pub front: bool,
    /// Whether the text says that they are not counted among the stitches of the rows.
    pub besides: bool,
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
    /// Whether it only names numbers, without a word for casting on.
    pub only_numbers: bool,
    /// Whether as many are on each needle, of which the text does not say how many there are.
    pub each_alike: bool,
    /// The needles that the stitches are divided on.
    pub divided: Option<u32>,
    /// Whether the work is said to be joined.
    pub round: bool,
}

/// "Repeat these four rows", "begin again at the 3rd row".
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Again {
    /// The rows, or the row to begin at; `None` is the first.
    pub rows: Option<RowSet>,
    /// Whether `rows` only names where to begin.
    pub from: bool,
    /// Whether they are repeated as long as the knitter likes.
    pub endless: bool,
    /// Whether they are the rows from the last on that shapes the work: "do this three times".
    pub deed: bool,
    /// Whether the figures stand between those of the time before.
    pub shifted: bool,
    /// The stitches at which it ends, if that is said instead of how often.
    pub until: Option<Goal>,
    /// The rows that there are when it ends, if that is said.
    pub till: Option<u32>,
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
