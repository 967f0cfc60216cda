//! States that are kept under a name.

use axum::Json;
use axum::extract::State;

use super::App;
use crate::app::body::{self, Path, project as id_of, revision as revision_of};
use crate::app::desk::checked;
use crate::app::refused::Refused;
use crate::app::running::{now, state_of};
use crate::app::translate;
use crate::app::view::Charts;
use crate::app::wire::{Label, NewLabel, Project, Refusal, View};

/// Corrections that are weighed for a kept state: those that are sure show in its rows.
const WEIGHED: usize = 3;

/// The states that are kept, the oldest first.
#[utoipa::path(get, operation_id = "labels", path = "/api/projects/{id}/labels",
    params(("id" = String, Path)), responses(
    (status = 200, body = [Label]),
))]
pub async fn list(State(app): App, Path(id): Path<String>) -> Result<Json<Vec<Label>>, Refused> {
    let id = id_of(&id)?;
    let labels = app.shelf(move |shelf| shelf.labels(id)).await?;
    Ok(Json(labels.into_iter().map(label).collect()))
}

/// Keeps the state as it stands under a name.
#[utoipa::path(post, operation_id = "label", path = "/api/projects/{id}/labels",
    params(("id" = String, Path)), request_body = NewLabel, responses(
    (status = 200, body = Label),
))]
pub async fn create(
    State(app): App,
    Path(id): Path<String>,
    body::Json(new): body::Json<NewLabel>,
) -> Result<Json<Label>, Refused> {
    let id = id_of(&id)?;
    if new.name.trim().is_empty() {
        return Err(Refused::nonsense("a state is kept under a name", "give it one"));
    }
    let kept = app.shelf(move |shelf| shelf.label(id, new.name.trim(), now())).await?;
    Ok(Json(label(kept)))
}

/// A kept state.
#[utoipa::path(get, operation_id = "labelled", path = "/api/projects/{id}/labels/{revision}",
    params(("id" = String, Path), ("revision" = String, Path)), responses(
    (status = 200, body = Project),
    (status = 404, description = "No such project or revision", body = Refusal),
))]
pub async fn project(
    State(app): App,
    Path((id, revision)): Path<(String, String)>,
) -> Result<Json<Project>, Refused> {
    let (id, revision) = (id_of(&id)?, revision_of(&revision)?);
    let project = app.shelf(move |shelf| shelf.at(id, revision)).await?;
    Ok(Json(translate::project(project)))
}

/// Everything made of a kept state.
#[utoipa::path(get, operation_id = "labelled_view", path = "/api/projects/{id}/labels/{revision}/view",
    params(("id" = String, Path), ("revision" = String, Path)), responses(
    (status = 200, body = View),
    (status = 404, description = "No such project or revision", body = Refusal),
))]
pub async fn view(
    State(app): App,
    Path((id, revision)): Path<(String, String)>,
) -> Result<Json<View>, Refused> {
    let (id, revision) = (id_of(&id)?, revision_of(&revision)?);
    let project = app.shelf(move |shelf| shelf.at(id, revision)).await?;
    let state = state_of(&project, translate::revision(revision));
    let made = app.reading(move || {
        let view = match checked(&state, WEIGHED) {
            Ok(checked) => View::of(state.revision, &checked, &state.given, &mut Charts::default(), None),
            Err(failure) => View::failed(state.revision, format!("{failure}; {}", failure.help())),
        };
        Ok::<_, Refused>(view)
    });
    Ok(Json(made.await?))
}

fn label(label: shelf::Label) -> Label {
    Label { name: label.name, revision: translate::revision(label.revision), made: label.made.millis() }
}
