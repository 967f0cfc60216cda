//! The plan of a thing made of pieces: from the file a person writes to everything that follows from it.
//!
//! ```text
//! PlanFile ─┐   pieces ─▶ block ─▶ seams ─┐
//!           ├─▶    │        └────▶ edging ├─▶ materials ─▶ making up
//! pattern ──┘      └──────────────────────┘
//! ```
//!
//! These types are the form in which other programs meet a plan as well; `schema/plan-1.schema.json` writes it down.
//! Lengths are centimetres, yarn is metres, angles are degrees.

mod edge;
mod materials;
mod pieces;
mod seams;
mod steps;

use serde::Serialize;

pub(crate) use self::edge::edging_and_strip;
pub(crate) use self::pieces::{Made, made as made_of};
pub(crate) use self::seams::{block as block_of, laid as laid_of};

use crate::edging::EdgingPlan;
use crate::file::PlanFile;
use crate::gauge::Stretchy;
use crate::needle::Needle;
use crate::seam::Difference;
use crate::shape::Shape;
use crate::tools::{Peak, Tools};
use crate::yarn_name::YarnReading;
use crate::{PlanEntry, Point, Problem};

/// A plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Plan {
    /// What is made.
    pub title: Option<String>,
    /// Gauge of plain fabric, to 10 cm.
    pub gauge: PlanGauge,
    /// The pieces.
    pub pieces: Vec<PiecePlan>,
    /// The block, where pieces are laid out in one.
    pub block: Option<BlockPlan>,
    /// Edges that meet.
    pub seams: Vec<SeamPlan>,
    /// Pieces laid over others.
    pub laid: Vec<LaidPlan>,
    /// The edging.
    pub edging: Option<EdgingOnPath>,
    /// Width and height of the whole, where there is a block.
    pub finished: Option<[f64; 2]>,
    /// The yarns, one for each colour.
    pub yarns: Vec<YarnPlan>,
    /// The needles.
    pub needles: Vec<NeedlePlan>,
    /// Tools in use at the same time, the most of any piece.
    pub tools: ToolsNeeded,
    /// Cast-ons for edges that must stretch.
    pub stretches: Vec<StretchPlan>,
    /// Making up, a step each.
    pub making_up: Vec<String>,
    /// What does not fit, and what to do about it.
    pub warnings: Vec<String>,
}

/// Stitches and rows to 10 cm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PlanGauge {
    /// Stitches.
    pub stitches: f64,
    /// Rows.
    pub rows: f64,
}

/// A piece of the plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PiecePlan {
    /// What it is called.
    pub name: String,
    /// How many are made.
    pub count: u32,
    /// The colour it is worked in.
    pub colour: Option<String>,
    /// Stitches cast on.
    pub cast_on: u32,
    /// Rows or rounds.
    pub rows: u32,
    /// Stitches in one of it: loops made. Of an edging one is a repeat.
    pub stitches: u64,
    /// What it looks like: "polygon", "disc" or "tube".
    pub shape: &'static str,
    /// Whether it is begun in a corner, rather than along an edge.
    pub from_corner: bool,
    /// Width on a table, in the direction of its first side; a disc's diameter.
    pub width: f64,
    /// Height on a table.
    pub height: f64,
    /// Standard error of the lengths, in parts.
    pub error: f64,
    /// The outline of a polygon, anticlockwise from where it was cast on.
    pub outline: Vec<Point>,
    /// Its sides.
    pub sides: Vec<SidePlan>,
    /// Stitches of plain fabric to 10 cm at which it comes to the measures given, where they were.
    pub gauge_for_size: Option<f64>,
    /// Yarn in one of it.
    pub yarn: f64,
    /// What is worked once, however many there are.
    pub once: Once,
    /// Rows in which a yarn is joined.
    pub joins: Vec<YarnJoin>,
    /// Tools it keeps busy.
    pub tools: Tools,
}

/// What is worked once for all repeats of an edging: the cast-on, the rows before the first repeat, and the short rows
/// of its corners. A piece that is no edging has nothing of the kind.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Once {
    /// Its stitches.
    pub stitches: u64,
    /// Its rows, the cast-on not counted.
    pub rows: u32,
    /// Its yarn, with that of the cast-on and the ends.
    pub yarn: f64,
}

impl PiecePlan {
    /// Stitches in all that are made of it.
    pub fn stitches_in_all(&self) -> u64 {
        self.stitches * u64::from(self.count) + self.once.stitches
    }
}

/// A side of a piece.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SidePlan {
    /// "bottom", "right", "top", "left", or its number.
    pub name: String,
    /// Its length.
    pub length: f64,
    /// What it is made of: "60 stitches", "80 rows".
    pub along: String,
}

/// A row in which a yarn is joined.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct YarnJoin {
    /// The row.
    pub row: String,
    /// The colour, where there are several.
    pub colour: Option<String>,
    /// Why: "colour" or "ball".
    pub why: &'static str,
}

/// A block.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BlockPlan {
    /// The pieces in their places.
    pub cells: Vec<CellPlan>,
    /// Its outer edge.
    pub outline: Vec<Point>,
    /// Its columns.
    pub columns: u32,
    /// Its rows.
    pub rows: u32,
    /// Its width.
    pub width: f64,
    /// Its height.
    pub height: f64,
}

/// A piece in its place.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CellPlan {
    /// Which piece: a place in [`Plan::pieces`].
    pub piece: usize,
    /// Degrees that it is turned, anticlockwise.
    pub turn: u32,
    /// Left end.
    pub x: f64,
    /// Lower end.
    pub y: f64,
    /// Width of the place.
    pub width: f64,
    /// Height of the place.
    pub height: f64,
}

/// Edges that meet.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SeamPlan {
    /// "square right".
    pub one: String,
    /// "square left".
    pub other: String,
    /// How many such seams there are.
    pub times: u32,
    /// Their lengths.
    pub lengths: [f64; 2],
    /// Whether the block makes it; else a `join` of the file.
    pub in_block: bool,
    /// By how much they differ, and the ways out.
    pub difference: Difference,
}

/// Pieces laid over others.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LaidPlan {
    /// Which piece: a place in [`Plan::pieces`].
    pub piece: usize,
    /// Their middles.
    pub places: Vec<Point>,
}

/// An edging with its path.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EdgingOnPath {
    /// Which piece: a place in [`Plan::pieces`].
    pub piece: usize,
    /// The path's corners.
    pub path: Vec<Point>,
    /// Whether its end is joined to its beginning.
    pub closed: bool,
    /// Length of one repeat along the straight side.
    pub repeat: f64,
    /// Mean depth.
    pub depth: f64,
    /// Depth at the points.
    pub points: f64,
    /// The depth of each row of one repeat: the shape of its outer edge.
    pub profile: Vec<f64>,
    /// Rows of one repeat.
    pub rows_in_repeat: u32,
    /// Rows that are worked once, before the first repeat.
    pub rows_once: u32,
    /// How it is laid along the path.
    #[serde(flatten)]
    pub plan: EdgingPlan,
}

/// The yarn of one colour.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct YarnPlan {
    /// The colour; none where the plan names none.
    pub colour: Option<String>,
    /// As printed in the old pattern.
    pub printed: Option<String>,
    /// What the old name means today.
    pub reading: Option<YarnReading>,
    /// Class of the Craft Yarn Council that the gauge belongs to; two where classes overlap.
    pub classes_of_gauge: Vec<u8>,
    /// Yarn in the pieces, with their cast-ons and ends.
    pub in_pieces: f64,
    /// Yarn for seams and sewing on.
    pub for_sewing: f64,
    /// Yarn for the swatch.
    pub for_swatch: f64,
    /// Share added for safety.
    pub allowance: f64,
    /// What to buy, in metres.
    pub to_buy: f64,
    /// Metres in 100 g of the yarn taken today.
    pub metres_in_100_g: f64,
    /// Whether that is only the usual length of its class.
    pub metres_assumed: bool,
    /// What to buy, in grams.
    pub grams: f64,
    /// Grams of a ball.
    pub ball: f64,
    /// Balls to buy.
    pub balls: u32,
    /// What one ball makes, piece by piece.
    pub ball_makes: Vec<String>,
}

/// Needles.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NeedlePlan {
    /// As printed.
    pub printed: Option<String>,
    /// The pieces that are worked on them.
    pub pieces: Vec<String>,
    /// What the number means.
    pub reading: Needle,
}

/// Tools in use at the same time.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct ToolsNeeded {
    /// Needles of one set, the most that any piece asks for.
    pub needles: u32,
    /// Cable needles, with the piece and row.
    pub cable_needles: Option<BusyIn>,
    /// Stitch holders.
    pub holders: Option<BusyIn>,
    /// Markers.
    pub markers: Option<BusyIn>,
    /// The longest row, in centimetres of plain fabric: what a needle must hold.
    pub longest_row: f64,
}

/// The most of a tool, and where.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BusyIn {
    /// The piece.
    pub piece: String,
    /// How many, and in which row.
    pub peak: Peak,
}

/// A cast-on for an edge that must stretch.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StretchPlan {
    /// The edge.
    pub edge: String,
    /// Its length at rest.
    pub rest: f64,
    /// To what length.
    pub to: f64,
    /// How to cast on.
    pub cast_on: Stretchy,
}

impl Plan {
    /// Makes the plan of a pattern; `pattern` holds its pieces in the order of the text.
    ///
    /// # Errors
    /// A [`Problem`] that says what is wrong with the plan and what to measure.
    pub fn of(file: &PlanFile, pattern: &[loops::Piece]) -> Result<Plan, Problem> {
        let gauge = gauge_of(file)?;
        let mut made = pieces::made(file, pattern, &gauge)?;
        let block = seams::block(file, &made)?;
        let seams = seams::seams(file, &made, block.as_ref(), &gauge)?;
        let laid = seams::laid(file, &made, block.as_ref())?;
        let edging = edge::edging(file, &mut made, block.as_ref())?;
        let finished = block.as_ref().map(|block| {
            let (width, height) = (block.widths.iter().sum::<f64>(), block.heights.iter().sum::<f64>());
            let round =
                edging.as_ref().filter(|_| is_round_block(file)).map_or(0.0, |edging| 2.0 * edging.points);
            [width + round, height + round]
        });
        let mut warnings = pieces::warnings(&made, block.as_ref(), &laid);
        warnings.extend(seams::warnings(&seams));
        warnings.extend(edge::warnings(edging.as_ref()));
        let yarns = materials::yarns(file, &mut made, &seams, &laid, edging.as_ref(), &gauge)?;
        let needles = materials::needles(file, &made)?;
        warnings.extend(materials::warnings(&yarns, &needles, &made));
        let mut plan = Plan {
            title: file.title.clone(),
            gauge: PlanGauge { stitches: 10.0 / gauge.width(), rows: 10.0 / gauge.height() },
            block: block.as_ref().map(seams::block_plan).transpose()?,
            seams,
            laid,
            edging,
            finished,
            yarns,
            needles,
            tools: materials::tools(&made, &gauge),
            stretches: materials::stretches(file, &made)?,
            making_up: Vec::new(),
            warnings,
            pieces: made.into_iter().map(Made::told).collect(),
        };
        plan.making_up = steps::steps(&plan);
        Ok(plan)
    }
}

impl PlanFile {
    /// The names of the sides of each piece, whatever else the plan lacks.
    ///
    /// # Errors
    /// A [`Problem`] where a piece has no shape, for want of a swatch perhaps.
    pub fn sides(&self, pattern: &[loops::Piece]) -> Result<Vec<Vec<String>>, Problem> {
        let made = pieces::made(self, pattern, &gauge_of(self)?)?;
        let names = |shape: &Shape| (0..shape.sides.len()).map(|side| shape.side_name(side)).collect();
        Ok(made.iter().map(|one| names(&one.shape)).collect())
    }
}

fn is_round_block(file: &PlanFile) -> bool {
    file.edging.as_ref().is_some_and(|edging| edging.path.is_none())
}

pub(crate) fn gauge_of(file: &PlanFile) -> Result<cloth::Gauge, Problem> {
    let swatch = file.swatch.as_ref().ok_or_else(|| {
        let none = Problem::new(
            "the plan has no swatch, and without one there are no sizes",
            "knit 15 cm (6 in.) of plain fabric, wash it, count the stitches and rows in the middle 10 cm, and give \
             both to the plan as its swatch",
        );
        none.of(PlanEntry::Swatch)
    })?;
    swatch.swatch().and_then(|swatch| swatch.gauge()).map_err(|problem| problem.of(PlanEntry::Swatch))
}
