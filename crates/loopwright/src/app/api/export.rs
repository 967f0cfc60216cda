//! What she takes home: the booklet, the rows as text.

use axum::extract::State;
use axum::response::Response;

use super::App;
use super::projects::file;
use crate::app::body::{Path, project as id_of};
use crate::app::desk::checked;
use crate::app::printing;
use crate::app::refused::Refused;
use crate::app::running::state;
use crate::app::wire::Refusal;

/// The booklet.
#[utoipa::path(get, path = "/api/projects/{id}/booklet.pdf", params(("id" = String, Path)), responses(
    (status = 200, content_type = "application/pdf", body = Vec<u8>),
    (status = 404, description = "No such project", body = Refusal),
    (status = 422, description = "There is nothing to print, or the plan cannot be made", body = Refusal),
))]
pub async fn booklet(State(app): App, Path(id): Path<String>) -> Result<Response, Refused> {
    let id = id_of(&id)?;
    let stored = app.shelf(move |shelf| shelf.project(id)).await?;
    let pdf = app.reading(move || printing::booklet(&stored.project, &state(&stored))).await?;
    Ok(file("application/pdf", pdf))
}

/// The rows in the terms of today.
#[utoipa::path(get, path = "/api/projects/{id}/rows.txt", params(("id" = String, Path)), responses(
    (status = 200, content_type = "text/plain", body = String),
    (status = 404, description = "No such project", body = Refusal),
    (status = 422, description = "There are no rows", body = Refusal),
))]
pub async fn rows(State(app): App, Path(id): Path<String>) -> Result<Response, Refused> {
    let id = id_of(&id)?;
    let stored = app.shelf(move |shelf| shelf.project(id)).await?;
    let rows = app.reading(move || {
        let state = state(&stored);
        let checked = checked(&state, printing::WEIGHED)?;
        crate::commands::write::rows(&checked, state.given.terms)
    });
    Ok(file("text/plain; charset=utf-8", rows.await?))
}
