//! Brings the places of a corrected reading back to the print.

use loops::Step;
use reading::{Item, Reading, Seq};
use span::Span;

use crate::patch::Patched;

/// Rewrites every place in a reading of a corrected text to where it stands in the print; what was put in is detached.
pub fn to_print(reading: &mut Reading, patched: &Patched) {
    let back = |span: &mut Span| *span = patched.printed(*span);
    for piece in &mut reading.pieces {
        for row in &mut piece.piece.rows {
            back(&mut row.span);
            steps(&mut row.steps, patched);
        }
        for row in &mut piece.worked.rows {
            back(&mut row.span);
            row.ops.iter_mut().for_each(|stitch| back(&mut stitch.span));
        }
        piece.worked.faults.iter_mut().for_each(|fault| back(&mut fault.span));
        for row in &mut piece.plan.rows {
            back(&mut row.span);
            if let Some((_, span)) = &mut row.stated {
                back(span);
            }
        }
        let said = &mut piece.plan;
        said.headings.iter_mut().for_each(back);
        let spans = [&mut said.cast_on.count_span, &mut said.cast_on.of_span, &mut said.cast_on_span];
        spans.into_iter().flatten().for_each(back);
        for candidate in piece.chain.iter_mut().flat_map(|row| &mut row.candidates) {
            candidate.seq = seq(&candidate.seq, patched);
        }
    }
    reading.statements.iter_mut().for_each(|statement| back(&mut statement.span));
    reading.unread.iter_mut().for_each(back);
}

fn steps(all: &mut [Step], patched: &Patched) {
    for step in all {
        match step {
            Step::Work(_, span) => *span = patched.printed(*span),
            Step::Times(_, body) => steps(body, patched),
        }
    }
}

fn seq(all: &Seq, patched: &Patched) -> Seq {
    let moved = Seq::of(all.items().into_iter().map(|item| moved(item, patched)));
    let moved = moved.unwrap_or_else(|| all.clone());
    if all.passes_over() { moved.passing_over() } else { moved }
}

fn moved(item: Item, patched: &Patched) -> Item {
    match item {
        Item::Work(mut work) => {
            work.span = patched.printed(work.span);
            work.number = work.number.map(|number| patched.printed(number));
            Item::Work(work)
        }
        Item::Move(to, span) => Item::Move(to, patched.printed(span)),
        Item::Rest { op, until, span } => Item::Rest { op, until, span: patched.printed(span) },
        Item::Group { body, until, span } => {
            Item::Group { body: seq(&body, patched), until, span: patched.printed(span) }
        }
        Item::Seen(seen, span) => Item::Seen(seen, patched.printed(span)),
        Item::SeenSome(count, span) => Item::SeenSome(count, patched.printed(span)),
        Item::ByNeedle(..) => item.clone(),
        Item::Spread(row, span) => Item::Spread(row, patched.printed(span)),
        Item::LetFall(op, fall, span) => Item::LetFall(op, fall, patched.printed(span)),
    }
}
