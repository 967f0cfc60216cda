//! What she takes home, and what she brings: the booklet, the rows as text, a project as one file.

use axum::Json;
use axum::extract::State;
use axum::response::Response;

use super::App;
use super::projects::file;
use crate::app::body::{Bundle, Path, project as id_of};
use crate::app::desk::checked;
use crate::app::printing;
use crate::app::refused::Refused;
use crate::app::running::{now, state};
use crate::app::wire::{Made, Refusal};

/// The booklet.
#[utoipa::path(get, path = "/api/projects/{id}/booklet.pdf", params(("id" = String, Path)), responses(
    (status = 200, content_type = "application/pdf", body = Vec<u8>),
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

/// The project as one zip.
#[utoipa::path(get, path = "/api/projects/{id}/bundle.zip", params(("id" = String, Path)), responses(
    (status = 200, content_type = "application/zip", body = Vec<u8>),
))]
pub async fn bundle(State(app): App, Path(id): Path<String>) -> Result<Response, Refused> {
    let id = id_of(&id)?;
    let zip = app.shelf(move |shelf| shelf.export(id)).await?;
    Ok(file("application/zip", zip))
}

/// Puts a project on the shelf that was taken home as one zip.
#[utoipa::path(post, path = "/api/import",
    request_body(content = Vec<u8>, content_type = "application/zip", description = "What `bundle.zip` gave"), responses(
    (status = 200, body = Made),
    (status = 413, description = "The file is too large", body = Refusal),
    (status = 422, description = "This is no project", body = Refusal),
))]
pub async fn import(State(app): App, Bundle(zip): Bundle) -> Result<Json<Made>, Refused> {
    let id = app.shelf(move |shelf| shelf.import(&zip, now())).await?;
    Ok(Json(Made { id: id.number().to_string() }))
}
