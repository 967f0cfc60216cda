//! The way between the text of a plan and the form that is filled in for it; nothing is worked out here.

use loops::Piece;
use makingup::block::{in_block, placed};
use makingup::corner::Treatment;
use makingup::edging::Joining;
use makingup::{
    BlockText, EdgingText, JoinText, LaidOn, LaidText, NeedleGauge, NeedleText, PieceEntry, PieceRef,
    PlanEntry, PlanFile, Problem, SizeText, StretchText, SwatchText, TimeText, YarnText,
};

use crate::app::alike::alike;
use crate::app::wire::{
    FormCell, FormCorner, FormEdge, FormEdging, FormJoin, FormLaid, FormLaidOn, FormNeedle, FormNeedleGauge,
    FormPiece, FormSize, FormStretch, FormSwatch, FormTime, FormYarn, PlanForm, Refusal,
};

alike!(LaidOn, FormLaidOn: Crossings, Middles);
alike!(Treatment, FormCorner: Eased, Mitre, Pleat);
alike!(NeedleGauge, FormNeedleGauge: Millimetres, Wire, British, Us, Japan, Filiere, OldBritish, German, Girth);

impl From<Problem> for Refusal {
    fn from(Problem { message, help, entry }: Problem) -> Refusal {
        let message = match entry {
            Some(entry) => format!("{}: {message}", in_form(&entry)),
            None => message,
        };
        Refusal { message, help }
    }
}

/// An entry of the plan as the form is headed.
fn in_form(entry: &PlanEntry) -> String {
    match entry {
        PlanEntry::Ease | PlanEntry::Swatch => "The whole".to_owned(),
        PlanEntry::Piece(name) => format!("Pieces, {name}"),
        PlanEntry::Block => "Side by side".to_owned(),
        PlanEntry::Join(place) => format!("Other seams, seam {}", place + 1),
        PlanEntry::Laid(place) => format!("Laid over, sentence {}", place + 1),
        PlanEntry::Edging => "Edging".to_owned(),
        PlanEntry::Yarn(colour) => format!("Yarn, {colour}"),
        PlanEntry::Needle(place) => format!("Needles, sentence {}", place + 1),
        PlanEntry::Stretch(place) => format!("To stretch, edge {}", place + 1),
        PlanEntry::Time => "Hours".to_owned(),
    }
}

/// What a plan says, for a pattern of these pieces.
///
/// # Errors
/// A [`Problem`] where the block has turns that are none.
pub fn form(file: &PlanFile, pattern: &[Piece]) -> Result<PlanForm, Problem> {
    Ok(PlanForm {
        title: file.title.clone(),
        swatch: file.swatch.clone().map(|SwatchText { stitches, rows, over, width, height }| FormSwatch {
            stitches,
            rows,
            over,
            width,
            height,
        }),
        ease: file.ease,
        pieces: file.pieces.iter().map(|entry| piece_form(entry, pattern)).collect(),
        block: file
            .block
            .iter()
            .flat_map(|block| &block.rows)
            .map(|row| row_form(file, row))
            .collect::<Result<_, _>>()?,
        joins: file.joins.iter().map(|join| join_form(file, join)).collect(),
        laid: file.laid.iter().map(laid_form).collect(),
        edging: file.edging.as_ref().map(edging_form),
        yarns: file.yarns.iter().map(yarn_form).collect(),
        needles: file.needles.iter().map(needle_form).collect(),
        stretches: file
            .stretches
            .iter()
            .map(|stretch| FormStretch { edge: edge_form(file, &stretch.edge), to: stretch.to.clone() })
            .collect(),
        time: file.time.clone().map_or_else(FormTime::default, |TimeText { start, hours, pace }| FormTime {
            start,
            hours,
            pace,
        }),
    })
}

/// The plan that a form says.
pub fn file(form: PlanForm, pattern: &[Piece]) -> PlanFile {
    let block: Vec<String> = form.block.iter().map(|row| row_text(row)).collect();
    let FormTime { start, hours, pace } = form.time;
    let has_time = start.is_some() || hours.is_some() || pace.is_some();
    PlanFile {
        title: form.title,
        swatch: form.swatch.map(|FormSwatch { stitches, rows, over, width, height }| SwatchText {
            stitches,
            rows,
            over,
            width,
            height,
        }),
        ease: form.ease,
        pieces: form.pieces.into_iter().map(|piece| piece_entry(piece, pattern)).collect(),
        block: (!block.is_empty()).then_some(BlockText { rows: block }),
        joins: form.joins.iter().map(join_text).collect(),
        laid: form.laid.into_iter().map(laid_text).collect(),
        edging: form.edging.map(edging_text),
        time: has_time.then_some(TimeText { start, hours, pace }),
        yarns: form.yarns.into_iter().map(yarn_text).collect(),
        needles: form.needles.into_iter().map(needle_text).collect(),
        stretches: form
            .stretches
            .into_iter()
            .map(|stretch| StretchText { edge: edge_text(&stretch.edge), to: stretch.to })
            .collect(),
    }
}

fn piece_form(entry: &PieceEntry, pattern: &[Piece]) -> FormPiece {
    FormPiece {
        name: entry.name.clone(),
        of: entry.place_in(pattern).map(|place| place + 1),
        count: entry.count,
        colour: entry.colour.clone(),
        rows: entry.rows.clone(),
        size: match &entry.size {
            Some(SizeText::Given { width, height }) => {
                FormSize::Given { width: width.clone(), height: height.clone() }
            }
            Some(SizeText::From(word)) if word == "gauge" => FormSize::Gauge,
            Some(SizeText::From(_)) | None => FormSize::Cloth,
        },
    }
}

/// Which piece of the pattern it is is written down where its name does not say so.
fn piece_entry(piece: FormPiece, pattern: &[Piece]) -> PieceEntry {
    let size = match piece.size {
        FormSize::Cloth => None,
        FormSize::Gauge => Some(SizeText::From("gauge".to_owned())),
        FormSize::Given { width, height } => Some(SizeText::Given { width, height }),
    };
    let (count, colour, rows) = (piece.count, piece.colour, piece.rows);
    let by_name = PieceEntry { name: piece.name, of: None, count, colour, rows, size };
    let own = by_name.place_in(pattern).map(|place| place + 1);
    let told = piece.of.filter(|_| piece.of != own);
    PieceEntry { of: told.map(PieceRef::Number), ..by_name }
}

fn row_form(file: &PlanFile, row: &str) -> Result<Vec<Option<FormCell>>, Problem> {
    let called = |word: &str| {
        let piece = file.pieces.iter().find(|piece| in_block(&piece.name) == word);
        piece.map_or_else(|| word.to_owned(), |piece| piece.name.clone())
    };
    row.split_whitespace()
        .map(|word| Ok(placed(word)?.map(|(name, turn)| FormCell { piece: called(name), turn })))
        .collect()
}

fn row_text(row: &[Option<FormCell>]) -> String {
    let cell = |cell: &Option<FormCell>| match cell {
        None => ".".to_owned(),
        Some(FormCell { piece, turn }) if turn % 4 == 0 => in_block(piece),
        Some(FormCell { piece, turn }) => format!("{}@{}", in_block(piece), turn % 4 * 90),
    };
    row.iter().map(cell).collect::<Vec<_>>().join(" ")
}

fn edge_form(file: &PlanFile, text: &str) -> FormEdge {
    let (piece, side) = file.edge(text).map_or(("", text), |(piece, side)| (&file.pieces[piece].name, side));
    FormEdge { piece: piece.to_owned(), side: side.to_owned() }
}

fn edge_text(FormEdge { piece, side }: &FormEdge) -> String {
    format!("{piece} {side}").trim().to_owned()
}

fn join_form(file: &PlanFile, join: &JoinText) -> FormJoin {
    FormJoin { one: edge_form(file, &join.one), other: edge_form(file, &join.other), times: join.times }
}

fn join_text(join: &FormJoin) -> JoinText {
    JoinText { one: edge_text(&join.one), other: edge_text(&join.other), times: join.times }
}

fn laid_form(laid: &LaidText) -> FormLaid {
    FormLaid { piece: laid.piece.clone(), on: laid.on.into() }
}

fn laid_text(laid: FormLaid) -> LaidText {
    LaidText { piece: laid.piece, on: laid.on.into() }
}

fn edging_form(edging: &EdgingText) -> FormEdging {
    FormEdging {
        piece: edging.piece.clone(),
        path: edging.path.as_ref().map(|path| path.iter().map(|&[x, y]| (x, y)).collect()),
        closed: edging.closed,
        corner: edging.corner.map(FormCorner::from),
        knitted_on: edging.joined == Joining::KnittedOn,
        repeat: edging.repeat.clone(),
        depth: edging.depth.clone(),
    }
}

fn edging_text(edging: FormEdging) -> EdgingText {
    EdgingText {
        piece: edging.piece,
        path: edging.path.map(|path| path.into_iter().map(|(x, y)| [x, y]).collect()),
        closed: edging.closed,
        corner: edging.corner.map(Treatment::from),
        joined: if edging.knitted_on { Joining::KnittedOn } else { Joining::Sewn },
        repeat: edging.repeat,
        depth: edging.depth,
    }
}

fn yarn_form(yarn: &YarnText) -> FormYarn {
    let YarnText { colour, printed, metres, ball } = yarn.clone();
    FormYarn { colour, printed, metres, ball }
}

fn yarn_text(FormYarn { colour, printed, metres, ball }: FormYarn) -> YarnText {
    YarnText { colour, printed, metres, ball }
}

fn needle_form(needle: &NeedleText) -> FormNeedle {
    let NeedleText { printed, number, gauge, pieces } = needle.clone();
    FormNeedle { printed, number, gauge: gauge.into(), pieces }
}

fn needle_text(FormNeedle { printed, number, gauge, pieces }: FormNeedle) -> NeedleText {
    NeedleText { printed, number, gauge: gauge.into(), pieces }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn entries_are_called_as_the_form_is_headed() {
        let words = include_str!("../../../../web/src/words/en.ts");
        let entries = [
            PlanEntry::Ease,
            PlanEntry::Piece("square".to_owned()),
            PlanEntry::Block,
            PlanEntry::Join(0),
            PlanEntry::Laid(0),
            PlanEntry::Edging,
            PlanEntry::Yarn("grey".to_owned()),
            PlanEntry::Needle(0),
            PlanEntry::Stretch(0),
            PlanEntry::Time,
        ];
        for entry in entries {
            let told = in_form(&entry);
            let heading = told.split(',').next().unwrap();
            assert!(words.contains(&format!(": '{heading}',")), "no part of the form is headed {heading}");
        }
    }

    #[test]
    fn what_a_plan_says_is_what_its_form_says() {
        let text = include_str!("../../../../demo/carriage-rug.plan");
        let plan = PlanFile::read(text).unwrap();
        let filled = form(&plan, &[]).unwrap();
        assert_eq!(file(filled, &[]), plan);
    }

    #[test]
    fn names_of_several_words_lie_in_a_block_and_meet_along_edges() {
        let text = "[[piece]]\nname = \"ivy square\"\n\n[[piece]]\nname = \"ivy\"\n\n\
                    [block]\nrows = [\"ivy_square@90 .\"]\n\n\
                    [[join]]\none = \"ivy square left\"\nother = \"ivy side 3\"\n";
        let plan = PlanFile::read(text).unwrap();
        let filled = form(&plan, &[]).unwrap();
        let ivy = || FormCell { piece: "ivy square".to_owned(), turn: 1 };
        assert_eq!(filled.block, [vec![Some(ivy()), None]]);
        let edge = |piece: &str, side: &str| FormEdge { piece: piece.to_owned(), side: side.to_owned() };
        assert_eq!(
            (&filled.joins[0].one, &filled.joins[0].other),
            (&edge("ivy square", "left"), &edge("ivy", "side 3"))
        );
        assert_eq!(file(filled, &[]), plan);
    }
}
