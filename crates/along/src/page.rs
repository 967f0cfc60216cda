//! One HTML file for the phone: rows, chart, place, and both finders, without a network.
//!
//! The file holds the work as JSON, the charts as SVG, one style sheet and one script, all of them from `page/`. What
//! the finders answer is worked out here beforehand: for each row the slips for every count that is a little wrong, and
//! what can be seen after it. The script only looks that up, and weighs places by what she sees.

use std::collections::HashMap;
use std::fmt::Write as _;

use chart::{Chart, Options, Style};
use loops::{Op, Piece, work};
use serde::Serialize;
use wording::Terms;

use crate::chances::{EYE_OFF, LOOP_OVERLOOKED, NOT_SEEN, TOGETHER_OFF, YARN_OVERS_OFF};
use crate::ripped::{ONE_OFF, Sign};
use crate::slip::{Found, Seen, Shown, Slip, SlipKind, SlipPlace, is_unshaped, slips};
use crate::words::{go_on, looks_like, remedy, slip_row, slip_title};
use crate::work::{AlongPiece, AlongRow};
use crate::{Place, words};

const TEMPLATE: &str = include_str!("../page/page.html");
const LOOK: &str = include_str!("../page/page.css");
/// In the order in which they stand in the one script of the page.
const SCRIPTS: [&str; 3] =
    [include_str!("../page/place.js"), include_str!("../page/find.js"), include_str!("../page/page.js")];

/// Counts that are wrong by up to so many stitches are looked up.
const WRONG_BY: i64 = 4;
/// Slips that are kept for each of them; what she sees may make the last of these the likeliest.
const KEPT: usize = 12;
/// Places that are kept of each slip, at most and at least; between them as many as keep the file small enough for a
/// phone. In very large pieces the places that are left out are the unlikelier ones.
const PLACES: [usize; 2] = [200, 12];
/// Places that a piece may have in all, as far as the least allows it.
const PLACES_IN_ALL: usize = 60_000;
/// Lists of places that a row needs, mostly.
const LISTS: usize = 8;

/// Where she is in a piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spot {
    /// Index of the piece.
    pub piece: usize,
    /// Which time through its rows, from 1; where they cannot follow themselves, which of several such pieces.
    pub time: u32,
    /// Which row, from 1; 0 is the cast-on, one more than there are is the end.
    pub row: usize,
    /// Which operation of the row comes next.
    pub op: usize,
}

/// All that the page knows.
#[derive(Serialize)]
struct Work<'a> {
    title: &'a str,
    pieces: Vec<PagePiece>,
    /// Where it begins where the phone has kept no place.
    start: Start,
    /// That it begins where she was, in words; none where it begins with the cast-on.
    made_at: Option<String>,
    eye_off: [f64; 3],
    yarn_overs_off: [f64; 2],
    together_off: [f64; 2],
    loop_overlooked: f64,
    not_seen: f64,
    one_off: f64,
    questions: Vec<Question>,
}

/// A place in every piece, and the piece that she works at, as the page keeps them.
#[derive(Serialize)]
struct Start {
    piece: usize,
    at: Vec<At>,
}

/// A place as the page keeps it.
#[derive(Clone, Serialize)]
struct At {
    row: usize,
    group: usize,
    time: u32,
}

/// A piece with what the finders answer.
#[derive(Serialize)]
struct PagePiece {
    #[serde(flatten)]
    along: AlongPiece,
    go_on: Vec<GoOn>,
    /// What each row shows where it has no slip.
    shows: Vec<PageRow>,
    /// For each row, the slips by how much the count is wrong, from `-WRONG_BY` up, as indices of `tables`.
    slips: Vec<Vec<usize>>,
    tables: Vec<Vec<PageSlip>>,
    places: Vec<Vec<PagePlace>>,
}

/// How to go on from a place.
#[derive(Serialize)]
struct GoOn {
    words: String,
    looks: String,
}

/// What a row shows where it has no slip.
#[derive(Serialize)]
struct PageRow {
    #[serde(flatten)]
    shown: Shown,
    /// Whether it comes out over a slip in the row before.
    unshaped: bool,
}

/// Something to look at, with its name.
#[derive(Serialize)]
struct Question {
    sign: Sign,
    question: &'static str,
    name: &'static str,
}

/// A slip as the page tells it.
#[derive(Serialize, PartialEq)]
struct PageSlip {
    title: String,
    row: String,
    remedy: &'static str,
    cost: f64,
    /// In which row it shows.
    seen_in: SeenIn,
    /// Whether a loop hangs loose.
    loose_loop: bool,
    /// Its places, as an index of `places`.
    places: usize,
}

/// The row in which a slip shows.
#[derive(Clone, Copy, Serialize, PartialEq)]
#[serde(rename_all = "snake_case")]
enum SeenIn {
    /// The one after which she counts.
    Here,
    /// The one before.
    Before,
    /// Neither: both look as they should.
    Neither,
}

/// A place: words for it, what the row shows, nats more than the first place.
#[derive(Serialize, PartialEq)]
struct PagePlace {
    words: String,
    off: Option<u32>,
    #[serde(flatten)]
    shown: Shown,
    cost: f64,
}

/// The page for some pieces. `spots` is where she is in those that she has begun, the one that she works at last: the
/// page begins there.
pub fn page(title: &str, pieces: &[Piece], terms: Terms, spots: &[Spot]) -> String {
    let questions = Sign::ALL.map(|sign| Question { sign, question: sign.question(), name: sign.name() });
    let pieces_told: Vec<PagePiece> = pieces.iter().map(|piece| page_piece(piece, terms)).collect();
    let work = Work {
        title,
        start: start(&pieces_told, spots),
        made_at: made_at(&pieces_told, spots),
        pieces: pieces_told,
        eye_off: EYE_OFF,
        yarn_overs_off: YARN_OVERS_OFF,
        together_off: TOGETHER_OFF,
        loop_overlooked: LOOP_OVERLOOKED,
        not_seen: NOT_SEEN,
        one_off: ONE_OFF,
        questions: questions.into(),
    };
    // No type here fails to be written: keys are strings and numbers are finite.
    let json = serde_json::to_string(&work).unwrap_or_default();
    let parts = [
        ("{{title}}", escape(title)),
        ("{{look}}", LOOK.to_owned()),
        ("{{charts}}", pieces.iter().enumerate().map(|(index, piece)| chart_of(index, piece)).collect()),
        ("{{key}}", key(&json)),
        // A closing tag within the JSON would end it.
        ("{{work}}", json.replace('<', "\\u003c")),
        ("{{script}}", SCRIPTS.concat()),
    ];
    let mut page = String::with_capacity(TEMPLATE.len() + json.len());
    let mut rest = TEMPLATE;
    while let Some((before, text, after)) = next_part(rest, &parts) {
        page.push_str(before);
        page.push_str(text);
        rest = after;
    }
    page.push_str(rest);
    page
}

fn start(pieces: &[PagePiece], spots: &[Spot]) -> Start {
    let mut at = vec![At { row: 0, group: 0, time: 1 }; pieces.len()];
    let mut piece = 0;
    for spot in spots {
        let Some(PagePiece { along, .. }) = pieces.get(spot.piece) else { continue };
        piece = spot.piece;
        at[piece] = At {
            row: row_number(along, spot),
            group: row_of(along, spot).map_or(0, |row| {
                row.groups.iter().rposition(|group| group.ops.start <= spot.op).unwrap_or(0)
            }),
            time: spot.time.max(1),
        };
    }
    Start { piece, at }
}

fn row_of<'a>(along: &'a AlongPiece, spot: &Spot) -> Option<&'a AlongRow> {
    along.rows.get(row_number(along, spot).checked_sub(1)?)
}

/// The row that she is at; one that is worked once leads to the first of those that are worked again, later on.
fn row_number(along: &AlongPiece, spot: &Spot) -> usize {
    let first = if along.repeats && spot.time > 1 { along.again_from } else { 0 };
    spot.row.max(first).min(along.rows.len() + 1)
}

fn made_at(pieces: &[PagePiece], spots: &[Spot]) -> Option<String> {
    let known = |spot: &&Spot| spot.piece < pieces.len();
    let spot = spots.iter().rfind(known)?;
    let along = &pieces[spot.piece].along;
    let place = match row_of(along, spot) {
        Some(row) => words::lower(&row.heading),
        None if spot.row == 0 => "the cast-on".to_owned(),
        None => "the end".to_owned(),
    };
    let time = match spot.time {
        0 | 1 => String::new(),
        time if along.repeats => format!(", time {time}"),
        time => format!(", number {time}"),
    };
    let name = along.name.as_ref().map_or_else(String::new, |name| format!(" of {name}"));
    Some(format!("This file was made when you were at {place}{name}{time}. It begins there."))
}

/// The text before the next marker, what stands for the marker, and the text behind it.
fn next_part<'a>(text: &'a str, parts: &'a [(&str, String)]) -> Option<(&'a str, &'a str, &'a str)> {
    let found = parts.iter().filter_map(|(marker, part)| Some((text.find(marker)?, marker.len(), part)));
    let (place, length, part) = found.min_by_key(|&(place, ..)| place)?;
    Some((&text[..place], part, &text[place + length..]))
}

/// The name under which the phone keeps the place: another program, another name. FNV-1a, which is the same everywhere.
fn key(json: &str) -> String {
    let hash = json.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    });
    format!("{hash:016x}")
}

fn page_piece(piece: &Piece, terms: Terms) -> PagePiece {
    let along = AlongPiece::of(piece, terms);
    let worked = work(piece);
    let kept = (PLACES_IN_ALL / (LISTS * along.rows.len().max(1))).clamp(PLACES[1], PLACES[0]);
    let mut tables = Tables { kept, ..Tables::default() };
    let slips = (0..along.rows.len())
        .map(|row| {
            (-WRONG_BY..=WRONG_BY)
                .map(|wrong_by| {
                    let count = i64::from(along.rows[row].in_hand()) + wrong_by;
                    let Ok(count) = u32::try_from(count) else { return tables.table(Vec::new()) };
                    let found = Found {
                        row,
                        count,
                        here: Seen::default(),
                        before: Seen::default(),
                        loose_loop: None,
                    };
                    let told = slips(&worked, &along, &found);
                    let told = told.iter().take(KEPT).map(|slip| tables.slip(slip, row, &along)).collect();
                    tables.table(told)
                })
                .collect()
        })
        .collect();
    let go_on = along.signs.iter().map(|signs| GoOn {
        words: go_on(&Place { rows: signs.rows, cost: 0.0, off: Vec::new() }, &along),
        looks: looks_like(signs),
    });
    let shows = worked.rows.iter().map(|row| {
        let ops: Vec<Op> = row.ops.iter().map(|stitch| stitch.op).collect();
        PageRow { shown: Shown::of(&ops), unshaped: is_unshaped(row) }
    });
    PagePiece {
        go_on: go_on.collect(),
        shows: shows.collect(),
        slips,
        tables: tables.tables,
        places: tables.places,
        along,
    }
}

/// Tables of slips and of places, each kept once however many rows have it.
#[derive(Default)]
struct Tables {
    /// Places that are kept of each slip.
    kept: usize,
    tables: Vec<Vec<PageSlip>>,
    places: Vec<Vec<PagePlace>>,
    known_tables: HashMap<String, usize>,
    known_places: HashMap<String, usize>,
}

impl Tables {
    fn table(&mut self, slips: Vec<PageSlip>) -> usize {
        let name = serde_json::to_string(&slips).unwrap_or_default();
        *self.known_tables.entry(name).or_insert_with(|| {
            self.tables.push(slips);
            self.tables.len() - 1
        })
    }

    fn slip(&mut self, slip: &Slip, row: usize, along: &AlongPiece) -> PageSlip {
        let least = slip.places.first().map_or(0.0, |place| place.cost);
        let place = |place: &SlipPlace| PagePlace {
            words: words::slip_places(&Slip { places: vec![place.clone()], ..slip.clone() }),
            off: place.off,
            shown: place.shown,
            cost: rounded(place.cost - least),
        };
        let places: Vec<PagePlace> = slip.places.iter().take(self.kept).map(place).collect();
        let name = serde_json::to_string(&places).unwrap_or_default();
        let places = *self.known_places.entry(name).or_insert_with(|| {
            self.places.push(places);
            self.places.len() - 1
        });
        let seen_in = match slip.kind {
            SlipKind::YarnOverLost | SlipKind::CastOn => SeenIn::Neither,
            _ if slip.row == Some(row) => SeenIn::Here,
            _ => SeenIn::Before,
        };
        PageSlip {
            title: slip_title(slip),
            row: slip_row(slip, along),
            remedy: remedy(slip.kind),
            cost: rounded(slip.cost),
            seen_in,
            loose_loop: slip.kind == SlipKind::Dropped,
            places,
        }
    }
}

fn rounded(nats: f64) -> f64 {
    (nats * 1000.0).round() / 1000.0
}

/// The chart in the colours of the page; a note where there is none.
fn chart_of(index: usize, piece: &Piece) -> String {
    let style = Style {
        with_key: false,
        with_squares: true,
        ink: "currentColor".to_owned(),
        soft_ink: "currentColor".to_owned(),
        grid: "#8c837680".to_owned(),
        strong_grid: "#8c8376".to_owned(),
        no_stitch: "#8c837640".to_owned(),
        unworked: "#8c837620".to_owned(),
        purl_strand: "#8c837650".to_owned(),
        paper: "none".to_owned(),
        ..Style::default()
    };
    let mut out = String::new();
    match Chart::of(piece, &Options::default()) {
        Ok(chart) => {
            let _ = write!(out, "<template data-chart=\"{index}\">{}</template>", chart.to_svg(&style));
        }
        Err(error) => {
            let _ = write!(
                out,
                "<template data-chart=\"{index}\"><p>No chart: {}</p></template>",
                escape(&error.to_string())
            );
        }
    }
    out
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
