//! The pieces of a plan, each with its shape, its yarn and its tools.

use std::collections::BTreeMap;

use cloth::{Allowance, Gauge, State, Yarn};
use loops::{ClothGraph, Piece};

use super::{EdgingOnPath, LaidPlan, Once, PiecePlan, SidePlan, YarnJoin};
use crate::block::Block;
use crate::corner::ShortRows;
use crate::file::{PieceEntry, PieceRef, PlanFile};
use crate::gauge::Repeat;
use crate::length::{counted, decimal};
use crate::shape::{Knitted, Outline, Shape, Sizing};
use crate::strip::Strip;
use crate::{PlanEntry, Problem, Tools};

/// A piece while the plan is made.
pub(crate) struct Made<'a> {
    pub entry: &'a PieceEntry,
    pub piece: &'a Piece,
    pub shape: Shape,
    pub count: u32,
    /// Metres in one.
    pub yarn: f64,
    /// What is worked once, however many there are.
    pub once: Once,
    /// Metres in the stitches of each row, the cast-on first.
    pub in_rows: Vec<f64>,
    pub joins: Vec<YarnJoin>,
    pub gauge_for_size: Option<f64>,
    tools: Tools,
    stitches: u64,
    /// Its yarn by what it is for, where the cloth is known.
    used: Option<Yarn>,
    /// By which part it comes out larger than its given size at the swatch's gauge.
    off_size: Option<f64>,
}

/// A size given and a size predicted that differ by less than this part agree.
const AGREE: f64 = 0.03;

/// All pieces of the plan.
pub(crate) fn made<'a>(
    file: &'a PlanFile,
    pattern: &'a [Piece],
    gauge: &Gauge,
) -> Result<Vec<Made<'a>>, Problem> {
    if file.pieces.is_empty() {
        return Err(Problem::new(
            "the plan has no pieces",
            "add one for each piece that is made, by its name in the pattern",
        ));
    }
    let mut made: Vec<Made<'a>> = Vec::with_capacity(file.pieces.len());
    for entry in &file.pieces {
        if made.iter().any(|other| other.entry.name == entry.name) {
            let twice = Problem::new(
                format!("two pieces are called \"{}\"", entry.name),
                "give each a name of its own, and say which piece of the pattern it is",
            );
            return Err(twice.of(PlanEntry::Piece(entry.name.clone())));
        }
        made.push(
            one(entry, pattern, gauge).map_err(|problem| problem.of(PlanEntry::Piece(entry.name.clone())))?,
        );
    }
    Ok(made)
}

fn one<'a>(entry: &'a PieceEntry, pattern: &'a [Piece], gauge: &Gauge) -> Result<Made<'a>, Problem> {
    let piece =
        entry.place_in(pattern).map(|place| &pattern[place]).ok_or_else(|| unknown(entry, pattern))?;
    let sizing = entry.sizing()?;
    let count = entry.count.unwrap_or(1);
    if count == 0 {
        return Err(Problem::new("none of it is made", "give its count, or leave it out of the plan"));
    }
    let knitted = Knitted::of(piece, gauge, State::Free);
    let knitted = match (knitted, sizing) {
        (Err(problem), Sizing::Cloth) => return Err(problem),
        (knitted, _) => knitted.ok(),
    };
    let shape = Shape::with(piece, gauge, sizing, knitted.as_ref())?;
    let predicted = Shape::with(piece, gauge, Sizing::Cloth, knitted.as_ref())?;
    let times = matches!(sizing, Sizing::Given(..)).then(|| size_of(&predicted) / size_of(&shape));
    let gauge_for_size = times.map(|times| times * 10.0 / gauge.width());
    let stitches = stitches(piece);
    let used =
        knitted.as_ref().map(|cloth| Yarn::of(&cloth.mesh, 0, &cloth.measures, gauge, &Allowance::default()));
    let in_rows = knitted.as_ref().map_or_else(Vec::new, |cloth| Yarn::in_rows(&cloth.mesh, 0, gauge));
    Ok(Made {
        entry,
        piece,
        shape,
        count,
        yarn: used.map_or(0.0, |used| used.total.value),
        once: Once::default(),
        in_rows,
        joins: Vec::new(),
        gauge_for_size,
        tools: Tools::of(piece),
        stitches,
        used,
        off_size: times.map(|times| times - 1.0),
    })
}

impl Made<'_> {
    /// Counts the piece by the repeats of an edging, and by itself what is worked once for all of them.
    pub(super) fn by_repeats(&mut self, edging: &EdgingOnPath, strip: &Strip) {
        let rows = self.piece.repeat().once;
        let before = stitches(&Piece { rows: self.piece.rows[..rows].to_vec(), ..self.piece.clone() });
        let short_rows: Vec<&ShortRows> =
            edging.plan.corners.iter().flatten().filter_map(|corner| corner.short_rows.as_ref()).collect();
        let short: u64 = short_rows.iter().map(|short| short.stitches()).sum();
        let (stitches, bound_off) =
            (self.stitches.saturating_sub(before), self.used.map_or(0.0, |used| used.bind_off));
        let in_stitch = strip.yarn / stitches.max(1) as f64;
        let in_rows: f64 = self.in_rows.iter().skip(1).take(rows).sum();
        self.once = Once {
            stitches: before + short,
            rows: rows as u32 + short_rows.iter().map(|short| short.rows()).sum::<u32>(),
            yarn: self.used.map_or(0.0, |used| used.cast_on + used.ends) + in_rows + in_stitch * short as f64,
        };
        (self.count, self.stitches, self.yarn) = (edging.plan.repeats, stitches, strip.yarn + bound_off);
    }

    /// Metres in all that are made of it.
    pub(super) fn yarn_in_all(&self) -> f64 {
        self.yarn * f64::from(self.count) + self.once.yarn
    }

    /// How often a row is worked, of all that are made.
    pub(super) fn times(&self, row: usize) -> f64 {
        let is_once = self.once.stitches > 0 && row < self.piece.repeat().once;
        if is_once { 1.0 } else { f64::from(self.count) }
    }
}

/// Stitches of a piece, the cast-on among them.
fn stitches(piece: &Piece) -> u64 {
    ClothGraph::work(piece).map_or(0, |graph| graph.stitches().len() as u64)
}

impl PieceEntry {
    /// One of each piece of a pattern, by its name there, or by its number where that says too little.
    pub fn one_of_each(pattern: &[Piece]) -> Vec<PieceEntry> {
        let mut entries: Vec<PieceEntry> = Vec::with_capacity(pattern.len());
        for (place, piece) in pattern.iter().enumerate() {
            let own = piece.name.as_deref().map(short).filter(|name| !name.is_empty());
            let own = own.filter(|name| entries.iter().all(|other| other.name != *name));
            let by_name = PieceEntry {
                name: own.unwrap_or_else(|| format!("piece {}", place + 1)),
                of: None,
                count: Some(1),
                colour: None,
                rows: BTreeMap::new(),
                size: None,
            };
            let told = by_name.place_in(pattern) != Some(place);
            entries.push(PieceEntry { of: told.then_some(PieceRef::Number(place + 1)), ..by_name });
        }
        entries
    }

    /// Which piece of the pattern the entry names; of a pattern of one piece it is always that.
    pub fn place_in(&self, pattern: &[Piece]) -> Option<usize> {
        let name = match &self.of {
            Some(PieceRef::Number(number)) => {
                return number.checked_sub(1).filter(|&place| place < pattern.len());
            }
            Some(PieceRef::Name(name)) => name,
            None => &self.name,
        };
        let same = |piece: &Piece| piece.name.as_deref().is_some_and(|own| bare(own) == bare(name));
        pattern.iter().position(same).or_else(|| (pattern.len() == 1).then_some(0))
    }
}

fn unknown(entry: &PieceEntry, pattern: &[Piece]) -> Problem {
    let names = pattern.iter().enumerate().map(|(place, piece)| {
        let name = piece.name.as_deref().map_or_else(|| "without a name".to_owned(), bare);
        format!("{} {name}", place + 1)
    });
    Problem::new(
        format!("the pattern has no piece \"{}\"", entry.name),
        format!("say which piece of the pattern it is: {}", names.collect::<Vec<_>>().join(", ")),
    )
}

/// A name that no piece of the plan has.
pub(super) fn no_piece(name: &str, made: &[Made<'_>]) -> Problem {
    let names: Vec<&str> = made.iter().map(|one| one.entry.name.as_str()).collect();
    Problem::new(
        format!("there is no piece \"{name}\" in the plan"),
        format!("take one of its pieces, {}, or add one of that name", names.join(", ")),
    )
}

/// What a piece is called among others: its name without what it is for.
fn short(name: &str) -> String {
    let name = bare(name);
    let name = ["a ", "an "].iter().find_map(|article| name.strip_prefix(article)).unwrap_or(&name);
    let end = [",", ";", ":", "(", " for ", " with "].iter().filter_map(|mark| name.find(mark)).min();
    name[..end.unwrap_or(name.len())].trim_end().to_owned()
}

/// A name in lower case, without its article and what surrounds it.
fn bare(name: &str) -> String {
    let name = name.trim().trim_end_matches('.').to_lowercase();
    name.strip_prefix("the ").unwrap_or(&name).to_owned()
}

/// One number for the size of a shape: the mean of its sides.
fn size_of(shape: &Shape) -> f64 {
    if let Outline::Disc { diameter, .. } = shape.outline {
        return diameter;
    }
    shape.sides.iter().map(|side| side.length).sum::<f64>() / shape.sides.len().max(1) as f64
}

impl Made<'_> {
    /// What the stitches of a side come in.
    pub(super) fn repeat(&self) -> Repeat {
        self.piece
            .multiple
            .map_or(Repeat::ANY, |multiple| Repeat { of: multiple.of.max(1), plus: multiple.plus })
    }

    pub(super) fn tools(&self) -> &Tools {
        &self.tools
    }

    /// A side by its name, as "piece side" tells it.
    pub(crate) fn side_called(
        file: &PlanFile,
        made: &[Made<'_>],
        text: &str,
    ) -> Result<(usize, usize), Problem> {
        let wrong = |help: String| Problem::new(format!("there is no edge \"{text}\""), help);
        let Some((place, side)) = file.edge(text) else {
            let names: Vec<&str> = made.iter().map(|one| one.entry.name.as_str()).collect();
            return Err(wrong(format!(
                "write a piece and its edge, such as \"{} left\"; the pieces are {}",
                names[0],
                names.join(", ")
            )));
        };
        let shape = &made[place].shape;
        shape.side_named(side).map(|side| (place, side)).ok_or_else(|| {
            let sides: Vec<String> = (0..shape.sides.len()).map(|side| shape.side_name(side)).collect();
            wrong(format!("the edges of {} are {}", made[place].entry.name, sides.join(", ")))
        })
    }

    /// The piece as the plan tells it.
    pub(super) fn told(self) -> PiecePlan {
        let (width, height) = self.shape.extent();
        let (shape, outline) = match &self.shape.outline {
            Outline::Polygon(points) => ("polygon", points.clone()),
            Outline::Disc { .. } => ("disc", Vec::new()),
            Outline::Tube(..) => ("tube", Vec::new()),
        };
        let sides = self.shape.sides.iter().enumerate().map(|(place, side)| SidePlan {
            name: self.shape.side_name(place),
            length: side.length,
            along: side.along.told(),
        });
        PiecePlan {
            name: self.entry.name.clone(),
            count: self.count,
            colour: self.entry.colour.clone(),
            cast_on: self.piece.cast_on,
            rows: self.piece.rows.len() as u32,
            stitches: self.stitches,
            shape,
            from_corner: self.shape.from_corner,
            width,
            height,
            error: self.shape.error,
            outline,
            sides: sides.collect(),
            gauge_for_size: self.gauge_for_size,
            yarn: self.yarn,
            once: self.once,
            joins: self.joins,
            tools: self.tools,
        }
    }
}

/// A round that is off a flat one by no more than this, in parts, is pinned out flat: common practice, no published
/// source.
const FLAT_ROUND: f64 = 0.15;

/// Pieces whose number or size does not fit.
pub(super) fn warnings(made: &[Made<'_>], block: Option<&Block>, laid: &[LaidPlan]) -> Vec<String> {
    let mut warnings = Vec::new();
    for (place, one) in made.iter().enumerate() {
        let name = &one.entry.name;
        let in_block = block.map_or(0, |block| block.cells().filter(|(_, cell)| cell.piece == place).count());
        let over =
            laid.iter().filter(|laid| laid.piece == place).map(|laid| laid.places.len()).sum::<usize>();
        let used = in_block + over;
        if used > 0 && one.entry.count.is_some_and(|count| count as usize != used) {
            warnings.push(format!(
                "{name}: {} made, and {used} laid out: change its count, or the layout",
                counted(one.count as usize, "is", "are")
            ));
        }
        if let Outline::Disc { rise, .. } = one.shape.outline
            && rise.abs() > FLAT_ROUND
        {
            let how = if rise > 0.0 { "stands up in the middle" } else { "waves at its rim" };
            warnings.push(format!(
                "{name}: it does not lie flat but {how}: from rim to middle it is {} % {} than a flat round of that rim",
                decimal(rise.abs() * 100.0),
                if rise > 0.0 { "longer" } else { "shorter" }
            ));
        }
        if let (Some(wanted), Some(off)) = (one.gauge_for_size, one.off_size)
            && off.abs() > AGREE
        {
            warnings.push(format!(
                "{name}: at the swatch's gauge it comes out {} % {}; for its size swatch for {} stitches to 10 cm",
                decimal(off.abs() * 100.0),
                if off > 0.0 { "larger" } else { "smaller" },
                decimal(wanted)
            ));
        }
    }
    warnings
}
