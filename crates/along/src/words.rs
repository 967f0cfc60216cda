//! What is said of a slip, of a place, and of what can be seen, in plain words.

use loops::{Side, Worked};

use crate::ripped::Place;
use crate::signs::Signs;
use crate::slip::{Slip, SlipKind, SlipPlace};
use crate::work::AlongPiece;

/// Places of a slip that are told one by one; beyond, their number is told.
const TOLD: usize = 4;
/// Nats by which a place may be less likely than the first and still be told by itself, or counted.
const LIKELY: f64 = 1.0;
const POSSIBLE: f64 = 4.0;

/// The slip in a few words: `A yarn over was forgotten`.
pub fn slip_title(slip: &Slip) -> String {
    let (one, many) = match slip.kind {
        SlipKind::YarnOverMissed => ("a yarn over was forgotten", "yarn overs were forgotten"),
        SlipKind::WoundLess => ("a yarn over was wound once less", "yarn overs were wound once less"),
        SlipKind::IncreaseMissed => ("an increase was left out", "increases were left out"),
        SlipKind::DecreaseMissed => ("a decrease was forgotten", "decreases were forgotten"),
        SlipKind::DecreaseShort => {
            ("a decrease took one stitch too few", "decreases took one stitch too few")
        }
        SlipKind::YarnOverExtra => ("there is a yarn over too many", "yarn overs too many"),
        SlipKind::TakenTogether => {
            ("two stitches were taken together", "times two stitches were taken together")
        }
        SlipKind::Dropped => ("a stitch was dropped", "stitches were dropped"),
        SlipKind::YarnOverLost => {
            ("a yarn over of the row before slipped off", "yarn overs of the row before slipped off")
        }
        SlipKind::RepeatPlain => ("a repeat was worked plain", "repeats were worked plain"),
        SlipKind::OtherRow => ("another row was worked for this one", "other rows were worked"),
        SlipKind::BoundOffFew => ("too few stitches were bound off", "times too few stitches were bound off"),
        SlipKind::BoundOffMany => {
            ("too many stitches were bound off", "times too many stitches were bound off")
        }
        SlipKind::CastOn => ("the cast-on had another number", "the cast-on had another number"),
    };
    let text = match slip.times {
        1 => one.to_owned(),
        _ if slip.every_time => format!("{one}, the same every time"),
        times => format!("{times} {many}"),
    };
    let mut letters = text.chars();
    letters.next().into_iter().flat_map(char::to_uppercase).chain(letters).collect()
}

/// Where it may have been made: `stitch 7, in repeat 2 of 4`; empty where it has no place.
pub fn slip_places(slip: &Slip) -> String {
    let has_place = !matches!(slip.kind, SlipKind::OtherRow | SlipKind::CastOn);
    let places = if has_place { slip.places.as_slice() } else { &[] };
    let within = |nats: f64| places.iter().take_while(move |place| place.cost - places[0].cost < nats);
    let likely = within(LIKELY).take(TOLD);
    let told: Vec<String> = likely.map(|place| place_words(place, slip.every_time)).collect();
    let text = match told.as_slice() {
        [] => return String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} or {last}", most.join("; ")),
    };
    match within(POSSIBLE).count() - told.len() {
        0 => text,
        1 => format!("{text}; or at 1 other place"),
        more => format!("{text}; or at {more} other places"),
    }
}

fn place_words(place: &SlipPlace, every_time: bool) -> String {
    let stitches = if place.last > place.stitch {
        format!("stitches {}–{}", place.stitch, place.last)
    } else {
        format!("stitch {}", place.stitch)
    };
    match place.repeat {
        Some(nth) if !every_time => format!("{stitches} (repeat {} of {})", nth.nth, nth.of),
        _ => stitches,
    }
}

/// Which row it was made in: `Row 6`, with the row worked instead where that is the slip.
pub fn slip_row(slip: &Slip, piece: &AlongPiece) -> String {
    let heading = |row: usize| piece.rows.get(row).map_or("", |row| row.heading.as_str());
    match (slip.row, slip.other) {
        (None, _) => "Cast-on".to_owned(),
        (Some(row), Some(other)) => format!("{}, worked as {}", heading(row), heading(other).to_lowercase()),
        (Some(row), None) => heading(row).to_owned(),
    }
}

/// What to do about it.
pub fn remedy(kind: SlipKind) -> &'static str {
    match kind {
        SlipKind::YarnOverMissed => {
            "In the next row lift the strand between the two stitches onto the needle: it makes the hole after all."
        }
        SlipKind::WoundLess => {
            "In the next row work once more into the loop, as if it had been wound that often."
        }
        SlipKind::IncreaseMissed => {
            "In the next row lift the strand beside the stitch, turn it about and work it: it makes the stitch."
        }
        SlipKind::DecreaseMissed | SlipKind::DecreaseShort => {
            "Work back to it; or let these stitches fall one row, take them together, and go on."
        }
        SlipKind::YarnOverExtra => "Let it fall off the needle; its neighbours take up the yarn.",
        SlipKind::TakenTogether => {
            "Let the one stitch fall one row, take up both loops below it, and work each by itself."
        }
        SlipKind::Dropped => {
            "Look for a loose loop below the needle, catch it with a pin, and work it up with a crochet hook."
        }
        SlipKind::YarnOverLost => "Look for a long strand there and lift it onto the needle.",
        SlipKind::RepeatPlain => "Work back to the beginning of that repeat, and work it anew.",
        SlipKind::OtherRow => "Work the row back stitch by stitch, and work the right one.",
        SlipKind::BoundOffFew => "Bind off what is over at the beginning of the next row on that side.",
        SlipKind::BoundOffMany => "Work back to it and take up again what was bound off too soon.",
        SlipKind::CastOn => {
            "After a row or two begin anew; or take away or add what is wrong at an edge where it does not show."
        }
    }
}

/// How to go on from a place: the row that is next and the side that faces.
pub fn go_on(place: &Place, piece: &AlongPiece) -> String {
    let done = match place.rows.checked_sub(1).and_then(|row| piece.rows.get(row)) {
        Some(row) => format!("{} is on the needle.", row.heading),
        None => "Only the cast-on is on the needle.".to_owned(),
    };
    match piece.rows.get(place.rows) {
        Some(next) if piece.worked == Worked::Flat => {
            format!("{done} Go on with {}, {} facing.", lower(&next.heading), side_words(next.side))
        }
        Some(next) => format!("{done} Go on with {}.", lower(&next.heading)),
        None => format!("{done} It is the last one."),
    }
}

/// What such a place looks like, to make sure: `24 stitches; 2 rows above the holes`.
pub fn looks_like(signs: &Signs) -> String {
    let mut told = vec![on_needles(signs.count, signs.waits)];
    if let Some(above) = signs.above_holes {
        told.push(match above {
            0 => "yarn overs on the needle itself".to_owned(),
            above => format!("{} above the topmost holes", counted(above, "row", "rows")),
        });
    }
    if let Some(above) = signs.above_crosses {
        told.push(format!("{} above the topmost crossing", counted(above, "row", "rows")));
    }
    if signs.ridges.most > 0 && signs.ridges.least == signs.ridges.most {
        told.push(counted(signs.ridges.least, "ridge", "ridges"));
    }
    told.join("; ")
}

/// Stitches on the needles, some of which wait: `23 stitches`, `11 stitches in hand, 12 wait`.
pub fn on_needles(count: u32, waits: u32) -> String {
    let in_hand = counted(count.saturating_sub(waits), "stitch", "stitches");
    match waits {
        0 => in_hand,
        1 => format!("{in_hand} in hand, 1 waits"),
        waits => format!("{in_hand} in hand, {waits} wait"),
    }
}

/// `right side` or `wrong side`.
pub fn side_words(side: Side) -> &'static str {
    match side {
        Side::Right => "right side",
        Side::Wrong => "wrong side",
    }
}

/// A number with its word: `1 row`, `2 rows`.
pub(crate) fn counted(count: u32, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// A heading within a sentence.
pub(crate) fn lower(heading: &str) -> String {
    let mut letters = heading.chars();
    letters.next().into_iter().flat_map(char::to_lowercase).chain(letters).collect()
}
