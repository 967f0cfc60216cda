//! The program, its terms, and the description of all this.

use axum::Json;
use axum::extract::State;
use axum::response::Response;
use chart::{Style, symbol_svg};
use notation::{Lexicon, Sense};

use super::App;
use super::projects::json;
use crate::app::refused::Refused;
use crate::app::view::style;
use crate::app::wire::{About, TermEntry};

/// The senses that the program knows of itself.
#[utoipa::path(get, path = "/api/terms", responses((status = 200, body = [TermEntry])))]
pub async fn terms() -> Result<Json<Vec<TermEntry>>, Refused> {
    let lexicon = Lexicon::builtin().map_err(|_| Refused::stumbled())?;
    Ok(Json(lexicon.senses().flat_map(|(_, sense)| entries(sense)).collect()))
}

/// A sense of stitches, once for each of its phrases.
fn entries(sense: &Sense) -> Vec<TermEntry> {
    let Some((ops, examples)) = sense.examples() else { return Vec::new() };
    let words: Vec<String> = ops.iter().map(|op| chart::words(*op)).collect();
    let entry = |term: String| TermEntry {
        term,
        sense: words.join(", "),
        period: format!("{}–{}", sense.period.0, sense.period.1),
        source: sense.source.clone(),
        ops: ops.iter().map(ToString::to_string).collect(),
        symbol: ops.first().map(|op| symbol_svg(*op, &symbol_style())),
    };
    examples.into_iter().map(entry).collect()
}

/// Close around the square, and letting the page show through.
fn symbol_style() -> Style {
    Style { margin: 1.0, ..style() }
}

/// The program: its version, its folder, and what she must be told.
#[utoipa::path(get, path = "/api/about", responses((status = 200, body = About)))]
pub async fn about(State(app): App) -> Json<About> {
    Json(About {
        version: env!("CARGO_PKG_VERSION").to_owned(),
        shelf: app.folder.display().to_string(),
        notices: app.notices.clone(),
    })
}

/// This description.
#[utoipa::path(get, path = "/api/openapi.json", responses((status = 200, body = Object)))]
pub async fn description() -> Response {
    json(super::described().into())
}
