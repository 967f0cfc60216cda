//! Writes what the browser test works with into a folder: the page of the demo (`work.html`), the
//! same made in the middle of the work (`begun.html`), that of a shoulder (`shoulder.html`), and answers of both
//! finders to compare those of its script with (`answers.json`): `cargo run -p along --example page FOLDER`.

#[path = "../tests/common/mod.rs"]
mod common;

use along::{
    AlongPiece, Observed, Off, Seen, Slip, Spot, next_look, page, places, slip_row, slip_title, slips,
};
use common::checked_readings;
use common::eye::look;
use common::hands::{self, Eye, slip};
use loops::{Piece, Side, Worked, work};
use prose::Rng;
use serde_json::{Value, json};
use wording::Terms;

fn main() -> std::io::Result<()> {
    let folder = std::path::PathBuf::from(std::env::args().nth(1).unwrap_or_else(|| ".".to_owned()));
    let mut pieces: Vec<Piece> = checked_readings()
        .into_iter()
        .filter(|(name, _)| name.contains("/demo/"))
        .map(|(name, piece)| Piece { name: name.split('.').rev().nth(1).map(str::to_owned), ..piece })
        .collect();
    // The square is knitted first, the border last.
    pieces.reverse();
    std::fs::create_dir_all(&folder)?;
    std::fs::write(folder.join("work.html"), page("A carriage rug", &pieces, Terms::Us, &[]))?;
    let spots = [Spot { piece: 2, time: 1, row: 4, op: 0 }, Spot { piece: 0, time: 1, row: 23, op: 6 }];
    std::fs::write(folder.join("begun.html"), page("A carriage rug", &pieces, Terms::Us, &spots))?;
    std::fs::write(folder.join("shoulder.html"), page("A shoulder", &[shoulder()], Terms::Us, &[]))?;
    let mut rng = Rng::new(11);
    let asked = pieces
        .iter()
        .map(|piece| json!({ "places": seen(piece, &mut rng), "slips": slipped(piece, &mut rng) }));
    std::fs::write(folder.join("answers.json"), Value::from_iter(asked).to_string())
}

/// A shoulder worked while the other waits.
fn shoulder() -> Piece {
    let rows = ["k*10 k2tog turn", "k*11 turn", "bo*11 turn", "k2tog k*10"];
    Piece::of_tokens(Worked::Flat, Side::Right, 24, rows).expect("known tokens")
}

/// What is seen after each row, some of it one off, and the rows that go with it.
fn seen(piece: &Piece, rng: &mut Rng) -> Value {
    let signs = AlongPiece::of(piece, Terms::Us).signs;
    let one = |truth: usize| {
        let seen = look(piece, truth, rng);
        let off = rng.below(3);
        let observed = Observed {
            count: seen.count.map(|count| count + u32::from(off == 0)),
            ridges: None,
            hole_at: seen.hole_at.filter(|_| off > 0),
            height: None,
            ..seen
        };
        let found: Vec<usize> = places(&signs, &observed).iter().map(|place| place.rows).collect();
        json!({ "seen": as_json(&observed), "rows": found })
    };
    Value::from_iter((0..signs.len()).map(one))
}

fn as_json(seen: &Observed) -> Value {
    let side = seen.side.map(|side| if side == Side::Right { "RS" } else { "WS" });
    let mut told = json!({
        "count": seen.count, "shows": seen.shows, "side": side, "hole_rows": seen.hole_rows,
        "above_holes": seen.above_holes, "hole_at": seen.hole_at,
    });
    if let Value::Object(told) = &mut told {
        told.retain(|_, value| !value.is_null());
    }
    told
}

/// Slips, and what they are named.
fn slipped(piece: &Piece, rng: &mut Rng) -> Value {
    let along = AlongPiece::of(piece, Terms::Us);
    let worked = work(piece);
    let eyes = [Eye::Looks, Eye::All, Eye::YarnOversAndLoop, Eye::YarnOvers, Eye::Counts];
    let made = (0..500).filter_map(|place| slip(piece, hands::kind(rng), eyes[place % eyes.len()], rng));
    let told = made.map(|made| {
        let found = made.found;
        let named = slips(&worked, &along, &found);
        let names: Vec<String> = named.iter().take(1).map(slip_title).collect();
        let is_made = |slip: &&Slip| slip.kind == made.kind && slip.row == made.row;
        let truth = named.iter().find(is_made).map(|slip| [slip_title(slip), slip_row(slip, &along)]);
        let (here, before) = (row_seen(found.here), row_seen(found.before));
        let said = json!({
            "count": found.count, "here": here, "before": before, "loose_loop": found.loose_loop,
        });
        let next = next_look(&worked, &along, &found, &named);
        json!({ "row": found.row, "found": said, "names": names, "made": truth, "next": next })
    });
    Value::from_iter(told)
}

fn row_seen(seen: Seen) -> Value {
    let wrong_from = match seen.off {
        Off::Unsaid => None,
        Off::Nowhere => Some(0),
        Off::From(stitch) => Some(stitch),
    };
    json!({ "wrong_from": wrong_from, "yarn_overs": seen.yarn_overs, "together": seen.together })
}
