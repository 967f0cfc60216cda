//! Changes, undo and redo.

use std::sync::Arc;
use std::time::Duration;

use axum::Json;
use axum::extract::State;
use shelf::{Act, ProjectId, Revision, Shelf, ShelfError, Stored, Timestamp};

use super::App;
use crate::app::body::{self, Path, project as id_of};
use crate::app::desk::Desk;
use crate::app::refused::Refused;
use crate::app::running::{Running, now};
use crate::app::translate;
use crate::app::wire::{Changed, Changes, ProjectState, Refusal, View, Window};

/// How long a change waits for its view, for a keystroke must not wait; one that takes longer comes by `live`.
const QUICK: Duration = Duration::from_millis(40);

/// Makes changes; they are on the disk when this is answered.
#[utoipa::path(post, path = "/api/projects/{id}/changes", params(("id" = String, Path)), request_body = Changes, responses(
    (status = 200, body = Changed),
    (status = 409, description = "The project was changed in between", body = Refusal),
    (status = 413, description = "Too much text", body = Refusal),
    (status = 422, description = "Not understood, or not possible", body = Refusal),
))]
pub async fn change(
    State(app): App,
    Path(id): Path<String>,
    body::Json(changes): body::Json<Changes>,
) -> Result<Json<Changed>, Refused> {
    let id = id_of(&id)?;
    let desk = app.desk(id).await?;
    let window = changes.window.clone();
    let stored = app.shelf(move |shelf| make(shelf, id, changes, now())).await?;
    app.changed(id, &desk, &stored, window);
    let revision = translate::revision(stored.revision);
    let view = quick_view(desk).await.filter(|view| view.revision == revision);
    Ok(Json(Changed { revision, undo: stored.undo, redo: stored.redo, view }))
}

/// The newest state read without a search, if that is done at once; else all windows are told when it is.
async fn quick_view(desk: Arc<Desk>) -> Option<View> {
    let reader = Arc::clone(&desk);
    let mut reading = tokio::spawn(async move { reader.read().await });
    if let Ok(read) = tokio::time::timeout(QUICK, &mut reading).await {
        return read.ok().flatten();
    }
    tokio::spawn(async move {
        if let Ok(Some(view)) = reading.await {
            desk.tell_late(&view);
        }
    });
    None
}

fn make(shelf: &mut Shelf, id: ProjectId, changes: Changes, at: Timestamp) -> Result<Stored, Refused> {
    let before = shelf.project(id)?;
    if translate::revision(before.revision) != changes.base {
        return Err(ShelfError::Stale { newest: before.revision }.into());
    }
    let label = changes.label.unwrap_or_else(|| translate::label(&changes.changes).to_owned());
    let translated = translate::changes(&before.project, changes.changes)?;
    let act = Act { window: &changes.window, label: &label, at };
    Ok(shelf.change(id, before.revision, act, &translated)?)
}

/// Takes the last step back; where there is none, nothing changes.
#[utoipa::path(post, path = "/api/projects/{id}/undo", params(("id" = String, Path)), request_body = Window, responses(
    (status = 200, body = ProjectState),
))]
pub async fn undo(
    State(app): App,
    Path(id): Path<String>,
    body::Json(window): body::Json<Window>,
) -> Result<Json<ProjectState>, Refused> {
    turn(&app, &id, window, Shelf::undo).await
}

/// Makes the step again that was taken back last; where there is none, nothing changes.
#[utoipa::path(post, path = "/api/projects/{id}/redo", params(("id" = String, Path)), request_body = Window, responses(
    (status = 200, body = ProjectState),
))]
pub async fn redo(
    State(app): App,
    Path(id): Path<String>,
    body::Json(window): body::Json<Window>,
) -> Result<Json<ProjectState>, Refused> {
    turn(&app, &id, window, Shelf::redo).await
}

async fn turn(
    app: &Arc<Running>,
    id: &str,
    window: Window,
    turn: fn(&mut Shelf, ProjectId, Timestamp) -> Result<Stored, ShelfError>,
) -> Result<Json<ProjectState>, Refused> {
    let id = id_of(id)?;
    let desk = app.desk(id).await?;
    let stored = app.shelf(move |shelf| turn(shelf, id, now())).await?;
    if stored.revision != Revision::FIRST {
        app.changed(id, &desk, &stored, window.window);
    }
    Ok(Json(translate::state(id, stored)))
}
