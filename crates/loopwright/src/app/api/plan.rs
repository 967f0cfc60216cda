//! The making up.

use axum::Json;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use jiff::civil::Date;
use serde::Deserialize;

use super::App;
use crate::app::body::{Path, project as id_of};
use crate::app::planning;
use crate::app::refused::Refused;
use crate::app::running::state;
use crate::app::wire::{PlanView, Refusal};

#[derive(Debug, Deserialize)]
pub struct PlanQuery {
    start: Option<String>,
    hours: Option<f64>,
}

/// What follows from the plan of the project.
#[utoipa::path(get, path = "/api/projects/{id}/plan", params(
    ("id" = String, Path),
    ("start" = Option<String>, Query, description = "The first day, such as 2026-03-01, where days are wanted"),
    ("hours" = Option<f64>, Query, description = "Hours a day; one where nothing is said"),
), responses(
    (status = 200, body = PlanView),
    (status = 400, description = "No day, or no hours", body = Refusal),
    (status = 404, description = "No such project", body = Refusal),
))]
pub async fn plan(
    State(app): App,
    Path(id): Path<String>,
    query: Result<Query<PlanQuery>, axum::extract::rejection::QueryRejection>,
) -> Result<Json<PlanView>, Refused> {
    let days = days(query.map_err(|_| no_days())?.0)?;
    let id = id_of(&id)?;
    let done = app.desk(id).await?.done().await.ok_or_else(Refused::stumbled)?;
    let (stored, moves) =
        app.shelf(move |shelf| Ok::<_, Refused>((shelf.project(id)?, shelf.moves(id)?))).await?;
    let view = app.reading(move || {
        let state = state(&stored);
        let beginning = planning::beginning(&done.pieces);
        let mut view = PlanView { revision: state.revision, made: None, problem: None, beginning };
        if !stored.project.plan.trim().is_empty() {
            match planning::made(&done.pieces, &state.text, &stored.project, &moves, days) {
                Ok(made) => view.made = Some(made),
                Err(failure) => {
                    let Refused { message, help, .. } = failure.into();
                    view.problem = Some(Refusal { message, help });
                }
            }
        }
        Ok::<_, Refused>(view)
    });
    Ok(Json(view.await?))
}

fn days(query: PlanQuery) -> Result<Option<(Date, f64)>, Refused> {
    let hours = query.hours.unwrap_or(1.0);
    let start = query.start.map(|start| start.parse().map_err(|_| no_days())).transpose()?;
    if (0.05..=24.0).contains(&hours) { Ok(start.map(|start| (start, hours))) } else { Err(no_days()) }
}

fn no_days() -> Refused {
    Refused::new(
        StatusCode::BAD_REQUEST,
        "these are no days to plan with",
        "give a date such as 2026-03-01, and hours a day up to 24, such as 1.5",
    )
}
