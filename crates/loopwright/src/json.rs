//! The JSON of the contract: `loopwright.reading/1`, `loopwright.mending/1`, `loopwright.plan/1` and
//! `loopwright.along/1`.
//!
//! These types are the form in which other programs meet a reading, apart from the types of the crates below, so
//! that those can change. The forms are written down in `schema/`, and a test holds the two together. Spans are
//! byte offsets into the file; what the text does not print has an empty one, at the place where it would be.

use along::AlongPiece;
use loops::{Side, Worked, tokens};
use makingup::Plan;
use mending::{Emendation, Mended};
use reading::{PieceReading, Reading};
use serde::Serialize;

use crate::checked::Checked;
use crate::choice::{self, Choice, Origin, Term, choices, terms};
use crate::fault::{FoundFault, faults};
use crate::remark::advice;
use crate::source::Source;

/// The name and version of the form of a reading.
pub const READING_SCHEMA: &str = "loopwright.reading/1";
/// The name and version of the form of a list of corrections.
pub const MENDING_SCHEMA: &str = "loopwright.mending/1";
/// The name and version of the form of a plan.
pub const PLAN_SCHEMA: &str = "loopwright.plan/1";
/// The name and version of the form of pieces for the needles.
pub const ALONG_SCHEMA: &str = "loopwright.along/1";

/// A reading.
#[derive(Debug, Serialize)]
pub struct ReadingJson {
    schema: &'static str,
    notation: Vec<TermJson>,
    pieces: Vec<PieceJson>,
    emendations: Vec<EmendationJson>,
    ambiguities: Vec<AmbiguityJson>,
    faults: Vec<FaultJson>,
    unread: Vec<UnreadJson>,
}

/// Corrections to choose from.
#[derive(Debug, Serialize)]
pub struct MendingJson {
    schema: &'static str,
    candidates: Vec<CandidateJson>,
}

/// A plan; its parts are those of [`makingup::Plan`].
#[derive(Debug, Serialize)]
pub struct PlanJson<'a> {
    schema: &'static str,
    #[serde(flatten)]
    plan: &'a Plan,
    cautions: &'a [&'static str],
}

/// Pieces for the needles; their parts are those of [`AlongPiece`].
#[derive(Debug, Serialize)]
pub struct AlongJson<'a> {
    schema: &'static str,
    pieces: &'a [AlongPiece],
}

/// The plan as other programs meet it, with the cautions that belong to the thing.
pub fn plan<'a>(plan: &'a Plan, cautions: &'a [&'static str]) -> PlanJson<'a> {
    PlanJson { schema: PLAN_SCHEMA, plan, cautions }
}

/// Pieces for the needles as other programs meet them.
pub fn along(pieces: &[AlongPiece]) -> AlongJson<'_> {
    AlongJson { schema: ALONG_SCHEMA, pieces }
}

#[derive(Debug, Serialize)]
struct TermJson {
    term: String,
    sense: String,
    from: OriginJson,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "lowercase")]
enum OriginJson {
    Glossary,
    Notation,
    Inferred,
    Chosen,
}

#[derive(Debug, Serialize)]
struct PieceJson {
    name: Option<String>,
    worked: WorkedJson,
    cast_on: u32,
    multiple: Option<MultipleJson>,
    rows: Vec<RowJson>,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "lowercase")]
enum WorkedJson {
    Flat,
    Round,
}

#[derive(Debug, Serialize)]
struct MultipleJson {
    of: u32,
    plus: u32,
}

#[derive(Debug, Serialize)]
struct RowJson {
    label: String,
    side: SideJson,
    before: u32,
    ops: String,
    after: u32,
    span: [usize; 2],
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "UPPERCASE")]
enum SideJson {
    Rs,
    Ws,
}

#[derive(Debug, Serialize)]
struct EmendationJson {
    row: String,
    printed: String,
    corrected: String,
    span: [usize; 2],
    cost: f64,
    why: String,
}

#[derive(Debug, Serialize)]
struct AmbiguityJson {
    printed: String,
    span: [usize; 2],
    readings: Vec<String>,
    chosen: usize,
    why: String,
}

#[derive(Debug, Serialize)]
struct FaultJson {
    code: &'static str,
    row: String,
    message: String,
    span: [usize; 2],
    help: String,
}

#[derive(Debug, Serialize)]
struct UnreadJson {
    text: String,
    span: [usize; 2],
}

#[derive(Debug, Serialize)]
struct CandidateJson {
    cost: f64,
    emendations: Vec<EmendationJson>,
    pieces: Vec<PieceJson>,
}

/// The reading that `read` goes on with.
pub fn reading(checked: &Checked) -> ReadingJson {
    let (reading, source) = (checked.reading(), &checked.source);
    let terms = terms(checked, reading);
    let choices = choices(checked, reading, &terms);
    ReadingJson {
        schema: READING_SCHEMA,
        notation: notation(checked, reading, terms),
        pieces: pieces(source, reading),
        emendations: emendations(source, checked.emendations()),
        ambiguities: choices.into_iter().map(|choice| ambiguity(source, choice)).collect(),
        faults: faults(reading).into_iter().map(|found| fault(source, found)).collect(),
        unread: unread(source, reading),
    }
}

/// The corrections to choose from, best first.
pub fn mending(checked: &Checked, top: usize) -> MendingJson {
    let candidates = checked.mending.candidates.iter().take(top);
    MendingJson {
        schema: MENDING_SCHEMA,
        candidates: candidates.map(|mended| candidate(&checked.source, mended)).collect(),
    }
}

/// The terms that the reading uses, and the questions whose answer shows in none of them.
fn notation(checked: &Checked, reading: &Reading, terms: Vec<Term>) -> Vec<TermJson> {
    let silent = reading.decisions.iter().filter(|decision| {
        decision.answers.len() > 1
            && !terms.iter().any(|term| term.question.as_ref() == Some(&decision.question))
    });
    let silent: Vec<TermJson> = silent
        .filter_map(|decision| {
            let (answer, _) = decision.answers.first()?;
            let sense = choice::sense_of(checked, &decision.question, answer);
            Some(TermJson { term: decision.question.clone(), sense, from: OriginJson::Inferred })
        })
        .collect();
    let used = terms.into_iter().map(|term| TermJson {
        term: term.term,
        sense: term.sense,
        from: term.origin.into(),
    });
    used.chain(silent).collect()
}

fn pieces(source: &Source, reading: &Reading) -> Vec<PieceJson> {
    reading.pieces.iter().map(|piece| piece_json(source, piece)).collect()
}

fn piece_json(source: &Source, reading: &PieceReading) -> PieceJson {
    let piece = &reading.piece;
    let mut place = reading.plan.cast_on_span.map_or(0, |span| span.range().end);
    let rows = reading.worked.rows.iter().map(|row| {
        let span = source.in_file(row.span, place);
        if !row.span.is_detached() {
            place = row.span.range().end;
        }
        RowJson {
            label: row.label.clone(),
            side: if row.side == Side::Right { SideJson::Rs } else { SideJson::Ws },
            before: row.before,
            ops: tokens(&row.ops),
            after: row.after,
            span,
        }
    });
    PieceJson {
        name: piece.name.clone(),
        worked: if piece.worked == Worked::Round { WorkedJson::Round } else { WorkedJson::Flat },
        cast_on: piece.cast_on,
        multiple: piece.multiple.map(|multiple| MultipleJson { of: multiple.of, plus: multiple.plus }),
        rows: rows.collect(),
    }
}

fn emendations<'a>(
    source: &Source,
    emendations: impl IntoIterator<Item = &'a Emendation>,
) -> Vec<EmendationJson> {
    let json = |one: &Emendation| EmendationJson {
        row: one.row.clone(),
        printed: one.printed.clone(),
        corrected: one.corrected.clone(),
        span: source.in_file(one.span, 0),
        cost: rounded(one.cost),
        why: one.why.clone(),
    };
    emendations.into_iter().map(json).collect()
}

fn candidate(source: &Source, mended: &Mended) -> CandidateJson {
    CandidateJson {
        cost: rounded(mended.cost),
        emendations: emendations(source, &mended.emendations),
        pieces: pieces(source, &mended.reading),
    }
}

fn ambiguity(source: &Source, choice: Choice) -> AmbiguityJson {
    AmbiguityJson {
        span: source.in_file(choice.span, 0),
        readings: choice.readings(),
        printed: choice.term,
        chosen: 0,
        why: advice(&choice.why, choice.way_out.as_deref()),
    }
}

fn fault(source: &Source, fault: FoundFault) -> FaultJson {
    FaultJson {
        code: fault.code,
        row: fault.label,
        message: format!("{} {}", fault.place, fault.message),
        span: source.in_file(fault.span, 0),
        help: fault.help,
    }
}

fn unread(source: &Source, reading: &Reading) -> Vec<UnreadJson> {
    let json = |span: &span::Span| UnreadJson {
        text: span.of(&source.text).to_owned(),
        span: source.in_file(*span, 0),
    };
    reading.unread.iter().map(json).collect()
}

/// Costs to the thousandth, so that the last bits of a sum do not show.
fn rounded(cost: f64) -> f64 {
    (cost * 1000.0).round() / 1000.0
}

impl From<Origin> for OriginJson {
    fn from(origin: Origin) -> OriginJson {
        match origin {
            Origin::Glossary => OriginJson::Glossary,
            Origin::Notation => OriginJson::Notation,
            Origin::Inferred => OriginJson::Inferred,
            Origin::Chosen => OriginJson::Chosen,
        }
    }
}
