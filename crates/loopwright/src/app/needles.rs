//! Working along: rows for the needles, the slips behind a count, the rows that go with what she sees.
//!
//! Knows the pieces as programs and what she says of them; not how places are kept, nor HTTP. What the crate `along`
//! answers is brought into the form of the browser here, and nothing is counted anew.

use along::{
    AlongPiece, Found, Place as Worked, Seen, go_on, looks_like, next_look, next_sign, places, slips,
};
use along::{remedy, slip_places, slip_row, slip_title};
use loops::{Piece, work};
use wording::Terms;

use crate::app::alike::alike;
use crate::app::wire::{self, Along, Ask, Count, Fit, Fits, Group, Observed, Slip, Slips};

/// Slips that are told.
const SLIPS: usize = 5;
/// Rows that are told one by one.
const FITS: usize = 8;
/// The most rows, all times through together, among which a place is looked for.
const ROWS: usize = 20_000;

alike!(loops::Worked => wire::Worked: Flat, Round);
alike!(loops::Side, wire::Side: Right, Wrong);
alike!(along::Look => wire::Look: YarnOvers, Together, LooseLoop, WrongFrom, HolesBelow, BeforeWrongFrom);
alike!(wire::Shows => along::Shows: Plain, Purl, Mixed);
alike!(along::Sign => wire::Sign: Count, Shows, Side, Ridges, HoleRows, AboveHoles, HoleAt, CrossRows, AboveCrosses,
    Height);

/// All pieces row by row.
pub fn along(revision: u64, pieces: &[AlongPiece]) -> Along {
    Along { revision, pieces: pieces.iter().map(piece).collect() }
}

fn piece(along: &AlongPiece) -> wire::AlongPiece {
    wire::AlongPiece {
        name: along.name.clone(),
        worked: along.worked.into(),
        begin: along.begin.clone(),
        repeats: along.repeats,
        again_from: along.again_from as u32,
        flips: along.flips,
        rows: along.rows.iter().map(row).collect(),
        asks: along.asks.iter().copied().map(ask).collect(),
    }
}

fn row(row: &along::AlongRow) -> wire::AlongRow {
    wire::AlongRow {
        heading: row.heading.clone(),
        side: row.side.into(),
        text: row.text.clone(),
        before: row.before,
        after: row.after,
        waits: row.waits,
        on_holder: row.on_holder,
        groups: row.groups.iter().map(group).collect(),
        notes: row.notes.clone(),
        lifeline: row.lifeline.clone(),
    }
}

fn group(group: &along::Group) -> Group {
    Group {
        words: group.words.clone(),
        ops: (group.ops.start as u32, group.ops.end as u32),
        repeat: group.repeat.map(|nth| wire::Nth { nth: nth.nth, of: nth.of }),
        on_needles: group.on_needles,
        spare: group.spare,
    }
}

fn ask(sign: along::Sign) -> Ask {
    Ask { sign: sign.into(), question: sign.question().to_owned() }
}

/// The slips that would give a count; nothing where there is no such row.
pub fn slips_behind(piece: u32, program: &Piece, terms: Terms, count: &Count) -> Option<Slips> {
    let rows = program.rows.len();
    let row = (count.row as usize).checked_sub(1).filter(|&row| row < rows)?;
    let repeat = program.repeat();
    // What was worked before the first row of another time through are the last rows of the time before.
    let twice = if count.time > 1 { program.repeated(2).ok() } else { None };
    let (program, row, first) = match &twice {
        Some(twice) => (twice, repeat.place(1, row), count.time - 1),
        None => (program, row, count.time.max(1)),
    };
    let (along, worked) = (AlongPiece::of(program, terms), work(program));
    let expected = along.rows.get(row)?.in_hand();
    let (off, below) = (count.wrong_from.into(), count.before_wrong_from.into());
    let here = Seen { off, yarn_overs: count.yarn_overs, together: count.together };
    let before = Seen { off: below, yarn_overs: count.holes_below, together: None };
    let found = Found { row, count: count.found, here, before, loose_loop: count.loose_loop };
    let place = |slip: &along::Slip| {
        let (row, stitch) = (slip.row?, slip.places.first().map_or(0, |place| place.ops.start));
        let (time, row) = repeat.at(row);
        Some(wire::Place { piece, time: first + time as u32, row: row as u32 + 1, stitch: stitch as u32 })
    };
    let mut told: Vec<Slip> = Vec::new();
    let mut next = None;
    if count.found != expected {
        let possible = slips(&worked, &along, &found);
        next = next_look(&worked, &along, &found, &possible).map(wire::Look::from);
        for slip in possible {
            let slip = Slip {
                title: slip_title(&slip),
                row: slip_row(&slip, &along),
                at: slip_places(&slip),
                remedy: remedy(slip.kind).to_owned(),
                place: place(&slip),
            };
            // In two times through, another row stands there twice.
            if !told.contains(&slip) {
                told.push(slip);
            }
        }
        told.truncate(SLIPS);
    }
    Some(Slips { expected, slips: told, next })
}

/// The rows of a piece that go with what she sees; nothing where there are too many to look among.
pub fn fits(piece: u32, program: &Piece, terms: Terms, seen: &Observed) -> Option<Fits> {
    let rows = program.rows.len();
    let times = seen.time.max(1);
    // One time more than she was in, so that its end has a row to go on with.
    let more = times.saturating_add(1);
    let repeats = rows > 0 && program.repeated(2).is_ok();
    let repeat = program.repeat();
    let is_short = repeat.rows(more as usize) <= ROWS;
    if repeats && times > 1 && !is_short {
        return None;
    }
    let long = if repeats && is_short { program.repeated(more).ok() } else { None };
    let along = AlongPiece::of(long.as_ref().unwrap_or(program), terms);
    let time = if long.is_some() { times as usize - 1 } else { 0 };
    let at_most = seen.was_in.map(|row| repeat.place(time, (row as usize).saturating_sub(1)));
    let observed = along::Observed { at_most, ..observed(seen) };
    let found = places(&along.signs, &observed);
    let exact = found.iter().filter(|place| place.off.is_empty()).count();
    // Where several fit as they are, those that need a miscount are of no use.
    let told = if exact > 1 { exact.min(FITS) } else { found.len().min(FITS) };
    let fit = |worked: &Worked| {
        let (time, row) = match &long {
            Some(_) => {
                let (time, row) = repeat.at(worked.rows);
                (time as u32 + 1, row)
            }
            None => (times, worked.rows),
        };
        Fit {
            place: wire::Place { piece, time, row: row as u32 + 1, stitch: 0 },
            words: go_on(worked, &along),
            looks: looks_like(&along.signs[worked.rows]),
            off: worked.off.iter().map(|sign| sign.name().to_owned()).collect(),
        }
    };
    Some(Fits {
        fits: found[..told].iter().map(fit).collect(),
        exact: exact as u32,
        next: next_sign(&along.signs, &observed, &found).map(ask),
    })
}

fn observed(seen: &Observed) -> along::Observed {
    along::Observed {
        count: seen.count,
        shows: seen.shows.map(along::Shows::from),
        side: seen.side.map(loops::Side::from),
        ridges: seen.ridges,
        hole_rows: seen.hole_rows,
        above_holes: seen.above_holes,
        hole_at: seen.hole_at,
        cross_rows: seen.cross_rows,
        above_crosses: seen.above_crosses,
        height: seen.height,
        at_most: None,
    }
}
