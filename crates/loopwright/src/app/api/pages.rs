//! Pictures of the old pages.

use axum::Json;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use shelf::{Act, PageId};

use super::App;
use super::projects::file;
use crate::app::body::{Path, Picture, project as id_of};
use crate::app::refused::Refused;
use crate::app::running::now;
use crate::app::wire::{PageMade, Refusal};

#[derive(Debug, Deserialize)]
pub struct PageQuery {
    /// What the picture is called, such as the name of its file.
    #[serde(default)]
    name: String,
    /// The window that it comes from.
    #[serde(default)]
    window: String,
}

/// Adds a picture of a page after the others; undo takes it away again.
#[utoipa::path(post, path = "/api/projects/{id}/pages", params(("id" = String, Path), ("name" = Option<String>, Query, description = "What the picture is called, such as the name of its file"), ("window" = Option<String>, Query, description = "The window that it comes from")),
    request_body(content = Vec<u8>, content_type = "application/octet-stream", description = "PNG or JPEG"), responses(
    (status = 200, body = PageMade),
    (status = 400, description = "Not understood", body = Refusal),
    (status = 413, description = "The picture is too large", body = Refusal),
    (status = 422, description = "This is no picture", body = Refusal),
))]
pub async fn add(
    State(app): App,
    Path(id): Path<String>,
    query: Result<Query<PageQuery>, QueryRejection>,
    Picture(bytes): Picture,
) -> Result<Json<PageMade>, Refused> {
    let Query(query) = query.map_err(|error| {
        Refused::new(StatusCode::BAD_REQUEST, error.body_text(), "give the name of the picture as `name`")
    })?;
    let id = id_of(&id)?;
    let desk = app.desk(id).await?;
    let window = query.window.clone();
    let added = app.shelf(move |shelf| {
        let act = Act { window: &query.window, label: "a page added", at: now() };
        shelf.add_page(id, act, &query.name, &bytes)
    });
    let (page, stored) = added.await?;
    app.changed(id, &desk, &stored, window);
    Ok(Json(PageMade { page: page.number() }))
}

/// The picture of a page.
#[utoipa::path(get, path = "/api/projects/{id}/pages/{page}",
    params(("id" = String, Path), ("page" = String, Path)), responses(
    (status = 200, content_type = "image/*", body = Vec<u8>),
    (status = 404, description = "No such project or page", body = Refusal),
))]
pub async fn page(State(app): App, Path((id, page)): Path<(String, String)>) -> Result<Response, Refused> {
    let id = id_of(&id)?;
    let missing = || Refused::missing(format!("the project has no page {page}"));
    let page = page.parse().map(PageId::from_number).map_err(|_| missing())?;
    let picture = app.shelf(move |shelf| shelf.page(id, page)).await?;
    Ok(file(picture.media.name(), picture.bytes))
}
