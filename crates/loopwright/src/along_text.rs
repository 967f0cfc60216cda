//! Working along, in words for a terminal: rows, places, slips, time.

use std::fmt::Write as _;

use along::{
    AlongPiece, Found, Observed, go_on, looks_like, next_sign, on_needles, remedy, side_words, slip_places,
    slip_row, slip_title,
};
use loops::{Piece, Worked, WorkedPiece};
use wording::then_again;

use crate::time::{Time, Timed};

/// Slips that are told.
const SLIPS: usize = 5;
/// Rows that are told one by one.
const PLACES: usize = 8;

/// Every piece with its rows, and where a lifeline is worth it.
pub fn rows(programs: &[Piece], pieces: &[AlongPiece]) -> String {
    let mut out = String::new();
    for (program, piece) in programs.iter().zip(pieces) {
        if let Some(name) = &piece.name {
            let _ = writeln!(out, "{name}\n");
        }
        let _ = writeln!(out, "{}", piece.begin);
        piece_rows(&mut out, piece);
        if let Some(again) = then_again(program) {
            let _ = writeln!(out, "{again}");
        }
        out.push('\n');
    }
    out
}

fn piece_rows(out: &mut String, piece: &AlongPiece) {
    let widest = piece.rows.iter().map(|row| row.heading.chars().count()).max().unwrap_or(0).min(20);
    for row in &piece.rows {
        let side = if piece.worked == Worked::Flat { side_words(row.side) } else { "" };
        let gap = if side.is_empty() { "" } else { "  " };
        let count = match row.waits {
            0 => row.after.to_string(),
            waits => format!("{} in hand, {waits} waiting", row.in_hand()),
        };
        let _ = writeln!(out, "  {:<widest$}{gap}{side}  {} ({count})", row.heading, row.text);
        for note in &row.notes {
            let _ = writeln!(out, "  {:<widest$}  {note}", "");
        }
        if let Some(reason) = &row.lifeline {
            let _ = writeln!(out, "  {:-<widest$}  lifeline: {reason}", "");
        }
    }
}

/// The slips that would give a count.
pub fn slips(worked: &WorkedPiece, piece: &AlongPiece, found: &Found) -> String {
    let row = &piece.rows[found.row];
    let mut out =
        format!("{}: {} expected, {} found.\n", row.heading, on_needles(row.after, row.waits), found.count);
    if row.in_hand() == found.count {
        out.push_str("That is the right count.\n");
        return out;
    }
    out.push_str("Count once more first. Then look for these, the likeliest first:\n\n");
    let slips = along::slips(worked, piece, found);
    if slips.is_empty() {
        out.push_str(
            "  No single slip gives that count; work back to the last row or lifeline that is sure.\n",
        );
    }
    for (number, slip) in (1..).zip(slips.iter().take(SLIPS)) {
        let places = slip_places(slip);
        let at = if places.is_empty() { String::new() } else { format!(": {places}") };
        let _ = writeln!(out, "  {number}. {}\n     {}{at}", slip_title(slip), slip_row(slip, piece));
        let _ = writeln!(out, "     {}", remedy(slip.kind));
    }
    out + &what_tells_more(found)
}

/// What to look at besides, where she has not.
fn what_tells_more(found: &Found) -> String {
    let overs = (found.here.yarn_overs.is_none())
        .then_some("count the yarn overs that lie on the needles (--yarn-overs N)");
    let together = (found.here.together.is_none())
        .then_some("count the places where stitches lie together in one (--together N)");
    let loop_below = (found.loose_loop.is_none())
        .then_some("look whether a loose loop hangs below them (--loose-loop yes or no)");
    let told: Vec<&str> = overs.into_iter().chain(together).chain(loop_below).collect();
    if told.is_empty() { String::new() } else { format!("\nTo be surer, {}.\n", told.join("; ")) }
}

/// The rows that go with what is seen.
pub fn places(piece: &AlongPiece, observed: &Observed) -> String {
    let places = along::places(&piece.signs, observed);
    let exact = places.iter().filter(|place| place.off.is_empty()).count();
    let mut out = match (places.len(), exact) {
        (0, _) => "No row goes with all of that; look once more.\n".to_owned(),
        (_, 0) => "No row fits as it is; these would if you were one off:\n\n".to_owned(),
        (_, 1) => "One row fits:\n\n".to_owned(),
        (_, exact) => format!("{exact} rows fit:\n\n"),
    };
    // Where some fit as they are, those that need a miscount are told only if one fits alone.
    let told = if exact > 1 { exact.min(PLACES) } else { places.len().min(PLACES) };
    for place in &places[..told] {
        let off: Vec<&str> = place.off.iter().map(|sign| sign.name()).collect();
        let if_off =
            if off.is_empty() { String::new() } else { format!("If one off in {}: ", off.join(" and ")) };
        let _ = writeln!(out, "  {if_off}{}", go_on(place, piece));
        let _ = writeln!(out, "  To make sure: {}.", looks_like(&piece.signs[place.rows]));
        if let Some(next) = piece.rows.get(place.rows) {
            let _ = writeln!(out, "  {}: {}", next.heading, next.text);
        }
        out.push('\n');
    }
    let more = exact.saturating_sub(told);
    if more > 0 {
        let _ = writeln!(out, "  And {more} more.\n");
    }
    if let Some(sign) = next_sign(&piece.signs, observed, &places) {
        let _ = writeln!(out, "What tells most next: {}", sign.question());
    }
    out
}

/// How long it takes.
pub fn time(time: &Time) -> String {
    let pace = match time.pace {
        Timed::Measured(pace) => {
            format!(
                "at your pace of {:.0} stitches a minute ({:.0} to {:.0})",
                pace.usual, pace.slow, pace.fast
            )
        }
        Timed::Told(pace) => format!("at {:.0} stitches a minute", pace.usual),
        Timed::Assumed(pace) => {
            format!("at {:.0} stitches a minute, which is a guess (--pace or --log tell yours)", pace.usual)
        }
    };
    let mut out = format!("Time {pace}:\n");
    for task in &time.tasks {
        let days = task.days.map_or_else(String::new, |span| {
            if span.first == span.last {
                format!("  {}", span.first)
            } else {
                format!("  {} to {}", span.first, span.last)
            }
        });
        let _ = writeln!(out, "  {}: {}{days}", task.name, takes(task.stitches, task.minutes));
    }
    if time.tasks.len() > 1 {
        let stitches = time.tasks.iter().map(|task| task.stitches).sum();
        let minutes = [0, 1, 2].map(|pace| time.tasks.iter().map(|task| task.minutes[pace]).sum());
        let _ = writeln!(out, "  Together: {}", takes(stitches, minutes));
    }
    out
}

fn takes(stitches: u64, minutes: [f64; 3]) -> String {
    format!("{} stitches, {}", thousands(stitches), hours(minutes))
}

fn hours([usual, fast, slow]: [f64; 3]) -> String {
    let about = |minutes: f64| {
        if minutes < 90.0 {
            format!("{:.0} minutes", minutes.max(1.0))
        } else {
            format!("{:.1} hours", minutes / 60.0)
        }
    };
    if slow / fast < 1.05 {
        format!("about {}", about(usual))
    } else {
        format!("about {} ({} to {})", about(usual), about(fast), about(slow))
    }
}

fn thousands(number: u64) -> String {
    let digits = number.to_string();
    let mut out = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}

/// A number with its word, which takes an s, or es after ch.
pub fn counted(count: usize, word: &str) -> String {
    match count {
        1 => format!("1 {word}"),
        _ if word.ends_with("ch") => format!("{count} {word}es"),
        _ => format!("{count} {word}s"),
    }
}
