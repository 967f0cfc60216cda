//! What one way to settle a doubt changes, drawn: the rows that differ before and after, as charts and as cloth.

use std::sync::Arc;

use axum::Json;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::Response;
use chart::{Chart, Style};
use serde::Deserialize;
use utoipa::ToSchema;

use super::App;
use super::pieces::drawn;
use super::projects::file;
use crate::app::body::{Path, project as id_of};
use crate::app::desk::{Desk, picture_of};
use crate::app::refused::Refused;
use crate::app::running::Running;
use crate::app::view::{Cut, Patch, style};
use crate::app::wire::{Compared, ComparedChart, Refusal};

#[derive(Debug, Deserialize)]
pub struct OptionQuery {
    /// The key of the doubt.
    doubt: String,
    /// Which of its options, from 0.
    option: u32,
}

#[derive(Debug, Deserialize)]
pub struct StateQuery {
    /// Without the option, or with it.
    state: Which,
}

/// Without an option, or with it.
#[derive(Clone, Copy, Debug, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Which {
    Before,
    After,
}

/// The rows that an option of a doubt changes, as charts.
#[utoipa::path(get, operation_id = "compared", path = "/api/projects/{id}/compared", params(("id" = String, Path),
    ("doubt" = String, Query, description = "The key of the doubt"), ("option" = u32, Query, description = "Which of its options, from 0")), responses(
    (status = 200, body = Compared),
    (status = 400, description = "No option is named", body = Refusal),
    (status = 404, description = "No such project or option, or it changes no rows", body = Refusal),
))]
pub async fn charts(
    State(app): App,
    Path(id): Path<String>,
    option: Result<Query<OptionQuery>, QueryRejection>,
) -> Result<Json<Compared>, Refused> {
    let (_, patch) = patch(&app, &id, option).await?;
    let made = app.reading(move || {
        Ok::<_, Refused>(Compared {
            before: chart(patch.before.as_ref()),
            after: chart(patch.after.as_ref()),
        })
    });
    Ok(Json(made.await?))
}

fn chart(cut: Option<&Cut>) -> ComparedChart {
    cut.map_or_else(ComparedChart::default, |cut| ComparedChart {
        chart: Chart::of(&cut.chart, &chart::Options::default()).ok().map(|chart| chart.to_svg(&small())),
        changed: (cut.changed.start as u32, cut.changed.end as u32),
    })
}

/// Two charts side by side have half the room: smaller squares, and figures that can still be read.
fn small() -> Style {
    Style {
        cell_width: 15.0,
        cell_height: 15.0,
        font_size: 12.0,
        small_font_size: 11.0,
        margin: 1.0,
        ..style()
    }
}

/// The rows that an option of a doubt changes, as a picture of their cloth.
#[utoipa::path(get, operation_id = "compared_cloth", path = "/api/projects/{id}/compared/cloth.png", params(("id" = String, Path),
    ("doubt" = String, Query, description = "The key of the doubt"), ("option" = u32, Query, description = "Which of its options, from 0"),
    ("state" = Which, Query, description = "Without the option, or with it")), responses(
    (status = 200, content_type = "image/png", body = Vec<u8>),
    (status = 400, description = "No option is named", body = Refusal),
    (status = 404, description = "No such project or option, or it changes no rows", body = Refusal),
    (status = 422, description = "There is no cloth of them", body = Refusal),
))]
pub async fn cloth(
    State(app): App,
    Path(id): Path<String>,
    option: Result<Query<OptionQuery>, QueryRejection>,
    state: Result<Query<StateQuery>, QueryRejection>,
) -> Result<Response, Refused> {
    let state = state.map_err(|_| unnamed())?.0;
    let (desk, patch) = patch(&app, &id, option).await?;
    let cut = match state.state {
        Which::Before => patch.before.clone(),
        Which::After => patch.after.clone(),
    };
    let cut = cut.ok_or_else(|| Refused::missing("there are no such rows"))?;
    let gauge = desk.state().given.gauge.unwrap_or_default();
    Ok(file("image/png", drawn(move || picture_of(&cut.cloth, &gauge)).await?))
}

/// What an option of the newest complete view changes.
async fn patch(
    app: &Arc<Running>,
    id: &str,
    option: Result<Query<OptionQuery>, QueryRejection>,
) -> Result<(Arc<Desk>, Arc<Patch>), Refused> {
    let OptionQuery { doubt, option } = option.map_err(|_| unnamed())?.0;
    let desk = app.desk(id_of(id)?).await?;
    let done = desk.done().await.ok_or_else(Refused::stumbled)?;
    let doubt = done.view.doubts.iter().find(|other| other.key == doubt);
    let patch = doubt.and_then(|doubt| doubt.options.get(option as usize)?.patch.clone());
    Ok((desk, patch.ok_or_else(|| Refused::missing("there is no such option, or it changes no rows"))?))
}

fn unnamed() -> Refused {
    Refused::new(
        StatusCode::BAD_REQUEST,
        "no option is named",
        "name the doubt by its key, and the option by its place",
    )
}
