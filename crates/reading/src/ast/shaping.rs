//! What a text says of growing and shrinking row after row.

use std::rc::Rc;

use loops::Op;

use super::Seq;

/// Where in a row stitches are taken in or put on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Place {
    /// At its beginning.
    Begin,
    /// At its end.
    End,
    /// At both.
    Ends,
    /// In the middle.
    Middle,
    /// On either side of so many stitches in the middle.
    Beside(u32),
    /// On either side of the seam stitch.
    Seam,
}

/// How far a row is worked as another one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stop {
    /// Through the so many-eth of an operation.
    Through(u32, Op),
    /// To its star.
    Star,
}

/// Where a row told by another differs from it.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Differs {
    /// Towards its beginning.
    AtFirst,
    /// Towards its end.
    AtLast,
    /// In its last stitches, which are so many.
    LastOf,
    /// Where so many stood before.
    Instead(u32),
    /// Next after so many of these operations.
    After(u32, Rc<[Op]>),
    /// Next before so many of these operations, or before the last of them.
    Before(Option<u32>, Rc<[Op]>),
}

/// One thing in which a row told by another differs from it.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// What is worked.
    pub told: Rc<Vec<(f64, Seq)>>,
    /// Where.
    pub at: Differs,
}

/// The stitches at which rows end that go on in the same way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Goal {
    /// On all needles together.
    InAll(u32),
    /// On the fullest needle, or on each where they are alike.
    OnNeedle(u32),
    /// Worked before or between what shapes the row.
    Told(u32),
    /// As many as were cast on.
    AsCastOn,
    /// Every stitch on the needles, as at the end of short rows.
    All,
    /// After so many rows.
    Rows(u32),
}

/// How rows go on, as far as it is told.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Onward {
    /// Where they end.
    pub until: Option<Goal>,
    /// The number of the row with which they end.
    pub to_row: Option<u32>,
    /// Plain stitches more between the places that are shaped, each time.
    pub step: Option<i32>,
    /// Whether these are said to stand at the sides.
    pub at_sides: bool,
    /// Whether every row from here on is one of them: none lie between.
    pub every_row: bool,
    /// How many plain rows lie between two of them from here on, where that is told.
    pub rests: Option<u32>,
    /// How many plain rows fewer lie between two of them each time, where that is told.
    pub rests_fewer: Option<u32>,
    /// Whether the rows that lie between two of them follow the last one too.
    pub ends_plain: bool,
}

/// Taking in or putting on in the same way, row after row, as far as it is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Shaping {
    /// The operation; of more stitches at an end there are several.
    pub op: Op,
    /// How many of them at each place.
    pub many: u32,
    /// Where; without a word on it, as in the last row that was shaped.
    pub place: Option<Place>,
    /// Plain stitches between the edge and the first of them.
    pub within: u32,
    /// Of so many rows the last is shaped.
    pub every: Option<u32>,
    /// Whether the first row of all is shaped, however many lie between the others.
    pub at_once: bool,
    /// The stitches at which it ends.
    pub until: Option<Goal>,
    /// How many rows are shaped.
    pub times: Option<u32>,
    /// The operation of the other stitches, where the words tell it.
    pub ground: Option<Op>,
    /// Whether the other stitches are stocking stitch.
    pub smooth: bool,
    /// Whether it goes on with the rows told before it: "proceed in this way, making one on each side of the gusset".
    pub goes_on: bool,
    /// Whether a plain row follows the last one that is shaped.
    pub ends_plain: bool,
}

impl Shaping {
    /// So many of an operation, of which no more is told.
    pub fn of(op: Op, many: u32) -> Shaping {
        Shaping {
            op,
            many,
            place: None,
            within: 0,
            every: None,
            at_once: false,
            until: None,
            times: None,
            ground: None,
            smooth: false,
            goes_on: false,
            ends_plain: false,
        }
    }
}

/// Increases or decreases spread over a row, as far as the words tell it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct SpreadTold {
    /// The operation.
    pub op: Op,
    /// How often it is worked.
    pub times: Option<u32>,
    /// Where.
    pub at: At,
}

/// Where in a row increases or decreases are spread.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum At {
    /// That is not told.
    Somewhere,
    /// At even distances.
    Evenly,
    /// Each after so many plain stitches.
    After(u32),
    /// Over the decreases of the row before.
    Stacked,
    /// One on either side of so many stitches in the middle.
    Beside(u32),
    /// One on either side of the seam stitch.
    Seam,
    /// In the middle.
    Middle,
    /// After so many stitches at the beginning.
    Begin(u32),
    /// Before so many stitches at the end.
    End(u32),
}
