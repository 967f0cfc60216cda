//! A piece at the needles: rows with their groups, places, what she counts and sees, and what the program says to it.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{Side, Worked};

/// All pieces row by row.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct Along {
    pub revision: u64,
    pub pieces: Vec<AlongPiece>,
}

/// A piece row by row.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct AlongPiece {
    pub name: Option<String>,
    pub worked: Worked,
    /// How to begin.
    pub begin: String,
    /// Whether the rows can follow themselves.
    pub repeats: bool,
    /// The row at which they then begin again, from 1: those before it are worked once.
    pub again_from: u32,
    /// Whether the other side faces when they do, every second time through.
    pub flips: bool,
    pub rows: Vec<AlongRow>,
    /// What is worth looking at in this piece when the place is lost, the quickest first.
    pub asks: Vec<Ask>,
}

/// A row with everything that is to be known while it is worked.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct AlongRow {
    pub heading: String,
    /// The side that faces, the first time through.
    pub side: Side,
    pub text: String,
    pub before: u32,
    pub after: u32,
    /// How many of these wait unworked: the work was turned before them.
    pub waits: u32,
    /// Stitches on holders after the row.
    pub on_holder: u32,
    pub groups: Vec<Group>,
    /// What is to be known besides.
    pub notes: Vec<String>,
    /// Why a lifeline after the row is worth it, where it is.
    pub lifeline: Option<String>,
}

/// What is worked in one go.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct Group {
    pub words: String,
    /// Its operations: the first, and the one after the last.
    pub ops: (u32, u32),
    /// Which time it is of how many, where it is repeated.
    pub repeat: Option<Nth>,
    /// Stitches on the needles when it is done.
    pub on_needles: u32,
    /// Stitches that wait on a spare needle meanwhile, at most.
    pub spare: u32,
}

/// One of several times.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct Nth {
    /// Which, from 1.
    pub nth: u32,
    pub of: u32,
}

/// Something that can be seen of the work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Sign {
    Count,
    Shows,
    Side,
    Ridges,
    HoleRows,
    AboveHoles,
    HoleAt,
    CrossRows,
    AboveCrosses,
    Height,
}

/// What to look at, and how.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct Ask {
    pub sign: Sign,
    pub question: String,
}

/// A place at the needles.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Place {
    /// Which piece, from 0.
    pub piece: u32,
    /// Which time through its rows, from 1; where they cannot follow themselves, which of several such pieces.
    pub time: u32,
    /// Which row: 0 is the cast-on, then they count from 1, and one more than there are is the end.
    pub row: u32,
    /// Which operation of the row comes next, from 0.
    pub stitch: u32,
}

/// Where she is.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct Needles {
    /// Her place in each piece that she has begun; the one that she works at is the last.
    pub places: Vec<Place>,
    /// Whether there is a move to take back.
    pub undo: bool,
    /// Whether there is one to make again.
    pub redo: bool,
}

/// Where she goes.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Move {
    /// The window that she goes on in.
    pub window: String,
    pub place: Place,
}

/// What `live` tells as `needles`: she went on, or back, in some window.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct NeedlesEvent {
    pub window: String,
    pub needles: Needles,
}

/// A count after a row.
#[derive(Clone, Copy, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Count {
    /// The row, from 1.
    pub row: u32,
    /// Which time through the rows, from 1.
    #[serde(default)]
    pub time: u32,
    /// The stitches that she found in hand, without those that wait.
    pub found: u32,
    /// The stitch of the row from which it looks wrong, counted from where the row began; 0 where it looks right.
    #[serde(default)]
    pub wrong_from: Option<u32>,
    /// The same for the row before.
    #[serde(default)]
    pub before_wrong_from: Option<u32>,
    /// Yarn overs that lie on the needles, one that is wound twice counted once.
    #[serde(default)]
    pub yarn_overs: Option<u32>,
    /// Places of the row where two stitches or more lie together in one.
    #[serde(default)]
    pub together: Option<u32>,
    /// Holes of the row before.
    #[serde(default)]
    pub holes_below: Option<u32>,
    /// Whether a loose loop hangs below the needles.
    #[serde(default)]
    pub loose_loop: Option<bool>,
}

/// What may have led to a count.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct Slips {
    /// The count in hand that there should be.
    pub expected: u32,
    /// The likeliest first; none where the count is right, or no single slip gives it.
    pub slips: Vec<Slip>,
    /// Which of the questions that are left open would tell most; null where none would.
    pub next: Option<Look>,
}

/// What she can look at where a count is wrong, by the fields of a count.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Look {
    YarnOvers,
    Together,
    LooseLoop,
    WrongFrom,
    HolesBelow,
    BeforeWrongFrom,
}

/// A slip.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct Slip {
    pub title: String,
    /// The row it was made in.
    pub row: String,
    /// Where in that row; empty where it has no place.
    pub at: String,
    /// What to do about it.
    pub remedy: String,
    /// Where it was made, to work on from there; null for the cast-on.
    pub place: Option<Place>,
}

/// What the stitches right under the needle show.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Shows {
    /// All or nearly all smooth.
    Plain,
    /// All or nearly all bars.
    Purl,
    /// Some of each.
    Mixed,
}

/// What she sees of the work in her hand; anything may be left out.
#[derive(Clone, Copy, Debug, Default, Deserialize, ToSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Observed {
    /// Which time through the rows she was in, from 1.
    pub time: u32,
    /// The row that she was in, from 1: it cannot be a later one.
    pub was_in: Option<u32>,
    pub count: Option<u32>,
    pub shows: Option<Shows>,
    pub side: Option<Side>,
    pub ridges: Option<u32>,
    pub hole_rows: Option<u32>,
    pub above_holes: Option<u32>,
    pub hole_at: Option<u32>,
    pub cross_rows: Option<u32>,
    pub above_crosses: Option<u32>,
    pub height: Option<u32>,
}

/// Rows that go with what she sees.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct Fits {
    /// Those that fit as they are first, then those with something one off.
    pub fits: Vec<Fit>,
    /// How many fit as they are, those that are not listed among them.
    pub exact: u32,
    /// What tells most next.
    pub next: Option<Ask>,
}

/// A row that goes with what she sees.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct Fit {
    /// Where to go on.
    pub place: Place,
    /// How to go on.
    pub words: String,
    /// What it looks like, to make sure.
    pub looks: String,
    /// What would have to be one off.
    pub off: Vec<String>,
}
