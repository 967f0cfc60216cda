//! The making up.

use axum::Json;
use axum::extract::State;
use makingup::PlanFile;

use super::{App, done};
use crate::app::body::{self, Path, project as id_of};
use crate::app::refused::Refused;
use crate::app::running::state;
use crate::app::wire::{PlanFilled, PlanRead, PlanText, PlanView, Refusal};
use crate::app::{plan_form, planning};

/// What follows from the plan of the project.
#[utoipa::path(get, path = "/api/projects/{id}/plan", params(("id" = String, Path)), responses(
    (status = 200, body = PlanView),
))]
pub async fn plan(State(app): App, Path(id): Path<String>) -> Result<Json<PlanView>, Refused> {
    let (done, id) = (done(&app, &id).await?, id_of(&id)?);
    let (stored, moves) =
        app.shelf(move |shelf| Ok::<_, Refused>((shelf.project(id)?, shelf.moves(id)?))).await?;
    let view = app.reading(move || {
        let state = state(&stored);
        let beginning = planning::beginning(&done.pieces)?;
        let mut view =
            PlanView { revision: state.revision, made: None, problem: None, sides: Vec::new(), beginning };
        if !stored.project.plan.trim().is_empty() {
            match planning::made(&done.pieces, &state.text, &stored.project, &moves) {
                Ok((made, sides)) => (view.made, view.sides) = (Some(made), sides),
                Err(failure) => {
                    let Refused { message, help, .. } = failure.into();
                    view.problem = Some(Refusal { message, help });
                }
            }
            if view.made.is_none() {
                view.sides = planning::sides(&done.pieces, &stored.project);
            }
        }
        Ok::<_, Refused>(view)
    });
    Ok(Json(view.await?))
}

/// The form that a text of a plan fills in.
#[utoipa::path(post, operation_id = "plan_form", path = "/api/projects/{id}/plan/form",
    params(("id" = String, Path)), request_body = PlanText, responses(
    (status = 200, body = PlanRead),
))]
pub async fn form(
    State(app): App,
    Path(id): Path<String>,
    body::Json(PlanText { text }): body::Json<PlanText>,
) -> Result<Json<PlanRead>, Refused> {
    let done = done(&app, &id).await?;
    let read = PlanFile::read(&text).and_then(|file| plan_form::form(&file, &done.pieces));
    Ok(Json(match read {
        Ok(form) => PlanRead { form: Some(form), problem: None },
        Err(problem) => PlanRead { form: None, problem: Some(problem.into()) },
    }))
}

/// The text that a form of a plan writes; comments of the text before stay.
#[utoipa::path(post, operation_id = "plan_text", path = "/api/projects/{id}/plan/text",
    params(("id" = String, Path)), request_body = PlanFilled, responses(
    (status = 200, body = PlanText),
))]
pub async fn text(
    State(app): App,
    Path(id): Path<String>,
    body::Json(PlanFilled { form, before }): body::Json<PlanFilled>,
) -> Result<Json<PlanText>, Refused> {
    let done = done(&app, &id).await?;
    let written = plan_form::file(form, &done.pieces).written(&before);
    written
        .map(|text| Json(PlanText { text }))
        .map_err(|problem| Refused::nonsense(problem.message, problem.help))
}
