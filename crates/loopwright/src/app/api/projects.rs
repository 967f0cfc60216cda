//! The list of projects, and one project as a whole.

use axum::Json;
use axum::body::Bytes;
use axum::extract::State;
use axum::http::header::CONTENT_TYPE;
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};

use super::App;
use crate::app::after::picture_of;
use crate::app::body::{self, Path, project as id_of};
use crate::app::refused::Refused;
use crate::app::running::now;
use crate::app::translate;
use crate::app::wire::{Entry, Made, NewProject, ProjectState, Refusal, View};

/// What a project is called until she names it.
const UNTITLED: &str = "A pattern without a name";

/// All projects, the one changed last first.
#[utoipa::path(get, path = "/api/projects", responses((status = 200, body = [Entry])))]
pub async fn list(State(app): App) -> Result<Json<Vec<Entry>>, Refused> {
    let folder = app.folder.clone();
    let entries = app.shelf(move |shelf| {
        let entries = shelf.list()?.into_iter().map(|entry| Entry {
            has_picture: picture_of(&folder, entry.id).is_file(),
            id: entry.id.number().to_string(),
            title: entry.title,
            changed: entry.changed.millis(),
            rows: entry.rows.unwrap_or(0),
            open_doubts: entry.doubts.unwrap_or(0),
            removed: entry.removed,
        });
        Ok::<_, Refused>(entries.collect())
    });
    Ok(Json(entries.await?))
}

/// Makes a project.
#[utoipa::path(post, path = "/api/projects", request_body = NewProject, responses(
    (status = 200, body = Made),
    (status = 413, description = "Too much text", body = Refusal),
))]
pub async fn create(State(app): App, body::Json(new): body::Json<NewProject>) -> Result<Json<Made>, Refused> {
    let text = new.text.unwrap_or_default();
    if text.len() > shelf::TEXT_LIMIT {
        return Err(translate::too_long());
    }
    let title = new.title.filter(|title| !title.trim().is_empty()).unwrap_or_else(|| UNTITLED.to_owned());
    let project = shelf::Project { title, text, ..shelf::Project::default() };
    let id = app.shelf(move |shelf| shelf.create(&project, now())).await?;
    Ok(Json(Made { id: id.number().to_string() }))
}

/// A project as it stands.
#[utoipa::path(get, path = "/api/projects/{id}", params(("id" = String, Path)), responses(
    (status = 200, body = ProjectState),
))]
pub async fn project(State(app): App, Path(id): Path<String>) -> Result<Json<ProjectState>, Refused> {
    let id = id_of(&id)?;
    let stored = app.shelf(move |shelf| shelf.project(id)).await?;
    Ok(Json(translate::state(id, stored)))
}

/// Puts a project away; nothing of it is lost.
#[utoipa::path(delete, path = "/api/projects/{id}", params(("id" = String, Path)), responses(
    (status = 204, description = "Put away"),
))]
pub async fn put_away(State(app): App, Path(id): Path<String>) -> Result<StatusCode, Refused> {
    let id = id_of(&id)?;
    app.shelf(move |shelf| shelf.put_away(id, now())).await?;
    Ok(StatusCode::NO_CONTENT)
}

/// Brings a project back that was put away.
#[utoipa::path(post, path = "/api/projects/{id}/restore", params(("id" = String, Path)), responses(
    (status = 204, description = "Back on the shelf"),
))]
pub async fn restore(State(app): App, Path(id): Path<String>) -> Result<StatusCode, Refused> {
    let id = id_of(&id)?;
    app.shelf(move |shelf| shelf.bring_back(id)).await?;
    Ok(StatusCode::NO_CONTENT)
}

/// Everything made of a project, corrections searched.
#[utoipa::path(get, path = "/api/projects/{id}/view", params(("id" = String, Path)), responses(
    (status = 200, body = View),
))]
pub async fn view(State(app): App, Path(id): Path<String>) -> Result<Response, Refused> {
    let id = id_of(&id)?;
    let desk = app.desk(id).await?;
    app.follow(id, &desk);
    let done = desk.done().await.ok_or_else(Refused::stumbled)?;
    Ok(json(done.json.clone()))
}

/// A small picture of the cloth.
#[utoipa::path(get, path = "/api/projects/{id}/picture.png", params(("id" = String, Path)), responses(
    (status = 200, content_type = "image/png", body = Vec<u8>),
    (status = 404, description = "No such project, or no picture of it yet", body = Refusal),
))]
pub async fn picture(State(app): App, Path(id): Path<String>) -> Result<Response, Refused> {
    let id = id_of(&id)?;
    let path = picture_of(&app.folder, id);
    let bytes = tokio::task::spawn_blocking(move || std::fs::read(path)).await;
    let bytes = bytes.ok().and_then(Result::ok);
    let bytes = bytes.ok_or_else(|| Refused::missing("there is no picture of this project yet"))?;
    Ok(file("image/png", bytes))
}

/// JSON that was made beforehand.
pub fn json(bytes: Bytes) -> Response {
    file("application/json", bytes)
}

/// Bytes of a kind.
pub fn file(kind: &'static str, bytes: impl Into<Bytes>) -> Response {
    ([(CONTENT_TYPE, HeaderValue::from_static(kind))], bytes.into()).into_response()
}
