//! At the needles: the pieces row by row, the places in them, and what to do when one is lost.

use std::sync::Arc;

use along::Spot;
use axum::Json;
use axum::extract::State;
use axum::response::Response;
use loops::Piece;
use shelf::{ProjectId, Shelf, ShelfError};

use super::pieces::{no_piece, number};
use super::projects::file;
use super::{App, done};
use crate::app::body::{self, Path, project as id_of};
use crate::app::desk::Done;
use crate::app::needles as work;
use crate::app::refused::Refused;
use crate::app::running::{Running, now};
use crate::app::translate;
use crate::app::wire::{Along, Count, Fits, Move, Needles, NeedlesEvent, Observed, Refusal, Slips, Window};

/// The pieces row by row, each row with what is done in it and what is to be known.
#[utoipa::path(get, path = "/api/projects/{id}/along", params(("id" = String, Path)), responses(
    (status = 200, body = Along),
))]
pub async fn along(State(app): App, Path(id): Path<String>) -> Result<Json<Along>, Refused> {
    let done = done(&app, &id).await?;
    let along = app.reading(move || Ok::<_, Refused>(work::along(done.view.revision, done.along())));
    Ok(Json(along.await?))
}

/// The places at the needles.
#[utoipa::path(get, path = "/api/projects/{id}/needles", params(("id" = String, Path)), responses(
    (status = 200, body = Needles),
))]
pub async fn needles(State(app): App, Path(id): Path<String>) -> Result<Json<Needles>, Refused> {
    let id = id_of(&id)?;
    let needles = app.shelf(move |shelf| shelf.needles(id)).await?;
    Ok(Json(translate::needles(needles)))
}

/// Goes to a place; it is on the disk when this is answered.
#[utoipa::path(put, path = "/api/projects/{id}/needles", params(("id" = String, Path)), request_body = Move, responses(
    (status = 200, body = Needles),
))]
pub async fn go(
    State(app): App,
    Path(id): Path<String>,
    body::Json(to): body::Json<Move>,
) -> Result<Json<Needles>, Refused> {
    let place = translate::place(to.place);
    moved(&app, &id, to.window, move |shelf, id| shelf.move_to(id, place, now())).await
}

/// Takes the last move back; where there is none, she stays where she is.
#[utoipa::path(post, operation_id = "undo_move", path = "/api/projects/{id}/needles/undo", params(("id" = String, Path)),
    request_body = Window, responses(
    (status = 200, body = Needles),
))]
pub async fn back(
    State(app): App,
    Path(id): Path<String>,
    body::Json(window): body::Json<Window>,
) -> Result<Json<Needles>, Refused> {
    moved(&app, &id, window.window, Shelf::move_back).await
}

/// Makes the move again that was taken back last; where there is none, she stays where she is.
#[utoipa::path(post, operation_id = "redo_move", path = "/api/projects/{id}/needles/redo", params(("id" = String, Path)),
    request_body = Window, responses(
    (status = 200, body = Needles),
))]
pub async fn again(
    State(app): App,
    Path(id): Path<String>,
    body::Json(window): body::Json<Window>,
) -> Result<Json<Needles>, Refused> {
    moved(&app, &id, window.window, Shelf::move_again).await
}

/// Moves, and tells all windows.
async fn moved(
    app: &Arc<Running>,
    id: &str,
    window: String,
    make: impl FnOnce(&mut Shelf, ProjectId) -> Result<shelf::Needles, ShelfError> + Send + 'static,
) -> Result<Json<Needles>, Refused> {
    let id = id_of(id)?;
    let needles = translate::needles(app.shelf(move |shelf| make(shelf, id)).await?);
    if let Some(desk) = app.open_desk(id) {
        desk.tell_move(&NeedlesEvent { window, needles: needles.clone() });
    }
    Ok(Json(needles))
}

/// The slips that would give a count, the likeliest first.
#[utoipa::path(post, path = "/api/projects/{id}/pieces/{n}/slips", params(("id" = String, Path), ("n" = String, Path)),
    request_body = Count, responses(
    (status = 200, body = Slips),
    (status = 404, description = "No such project, piece or row", body = Refusal),
))]
pub async fn slips(
    State(app): App,
    Path((id, n)): Path<(String, String)>,
    body::Json(count): body::Json<Count>,
) -> Result<Json<Slips>, Refused> {
    let (done, piece) = (done(&app, &id).await?, number(&n)?);
    let slips = app.reading(move || {
        let slips = work::slips_behind(piece as u32, program(&done, piece)?, done.terms, &count);
        slips.ok_or_else(|| Refused::missing(format!("there is no row {} in this piece", count.row)))
    });
    Ok(Json(slips.await?))
}

/// The rows that go with what she sees of the work after ripping back.
#[utoipa::path(post, path = "/api/projects/{id}/pieces/{n}/fits", params(("id" = String, Path), ("n" = String, Path)),
    request_body = Observed, responses(
    (status = 200, body = Fits),
    (status = 404, description = "No such project or piece", body = Refusal),
    (status = 422, description = "Not understood, or too many rows to look among", body = Refusal),
))]
pub async fn fits(
    State(app): App,
    Path((id, n)): Path<(String, String)>,
    body::Json(seen): body::Json<Observed>,
) -> Result<Json<Fits>, Refused> {
    let (done, piece) = (done(&app, &id).await?, number(&n)?);
    let fits = app.reading(move || {
        let program = program(&done, piece)?;
        work::fits(piece as u32, program, done.terms, &seen).ok_or_else(|| {
            Refused::nonsense(
                "there are too many rows to look among",
                "count from the last row of which you are sure, and go there",
            )
        })
    });
    Ok(Json(fits.await?))
}

/// The page for the phone: one HTML file that works without a network, and begins where she is.
#[utoipa::path(get, path = "/api/projects/{id}/phone.html", params(("id" = String, Path)), responses(
    (status = 200, content_type = "text/html", body = String),
    (status = 422, description = "There are no rows", body = Refusal),
))]
pub async fn phone(State(app): App, Path(id): Path<String>) -> Result<Response, Refused> {
    let done = done(&app, &id).await?;
    let number = id_of(&id)?;
    let (title, needles) = app
        .shelf(move |shelf| {
            Ok::<_, ShelfError>((shelf.project(number)?.project.title, shelf.needles(number)?))
        })
        .await?;
    let page = app.reading(move || {
        if done.pieces.is_empty() {
            let help = "put the part of the book that holds the rows into the transcription";
            return Err(Refused::nonsense("there are no rows yet", help));
        }
        let spots: Vec<Spot> = needles.places.iter().map(spot).collect();
        Ok(along::page(&title, &done.pieces, done.terms, &spots))
    });
    Ok(file("text/html; charset=utf-8", page.await?))
}

fn spot(place: &shelf::Place) -> Spot {
    let (piece, row, op) = (place.piece as usize, place.row as usize, place.stitch as usize);
    Spot { piece, time: place.time, row, op }
}

fn program(done: &Done, piece: usize) -> Result<&Piece, Refused> {
    done.pieces.get(piece).ok_or_else(|| no_piece(&piece.to_string()))
}
