//! Charts and cloths of single pieces.

use std::sync::Arc;

use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::Response;
use cloth::Facing;
use serde::Deserialize;
use utoipa::ToSchema;

use super::projects::file;
use super::{App, done};
use crate::app::body::{Path, project as id_of};
use crate::app::desk::ClothPiece;
use crate::app::refused::Refused;
use crate::app::running::Running;
use crate::app::view::style;
use crate::app::wire::Refusal;

/// A side of the cloth.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Seen {
    #[default]
    Right,
    Wrong,
}

#[derive(Debug, Deserialize)]
pub struct ChartQuery {
    /// The side that is shown.
    #[serde(default)]
    side: Seen,
}

#[derive(Debug, Deserialize)]
pub struct PictureQuery {
    /// The side that is shown.
    #[serde(default)]
    face: Seen,
}

/// The chart of a piece.
#[utoipa::path(get, path = "/api/projects/{id}/pieces/{n}/chart",
    params(("id" = String, Path), ("n" = String, Path), ("side" = Option<Seen>, Query, description = "The side that is shown")), responses(
    (status = 200, content_type = "image/svg+xml", body = String),
    (status = 400, description = "No such side", body = Refusal),
    (status = 404, description = "No such project or piece, or no chart of it", body = Refusal),
))]
pub async fn chart(
    State(app): App,
    Path((id, n)): Path<(String, String)>,
    query: Result<Query<ChartQuery>, axum::extract::rejection::QueryRejection>,
) -> Result<Response, Refused> {
    let side = query.map_err(|_| no_such_side())?.side;
    let (done, piece) = (done(&app, &id).await?, number(&n)?);
    let chart = done.charts.get(piece).ok_or_else(|| no_piece(&n))?.as_ref();
    let chart = chart.ok_or_else(|| Refused::missing("there is no chart of this piece"))?;
    let svg = match side {
        Seen::Right => chart.to_svg(&style()),
        Seen::Wrong => chart.from_wrong_side().to_svg(&style()),
    };
    Ok(file("image/svg+xml", svg))
}

/// The cloth of a piece as a mesh.
#[utoipa::path(get, path = "/api/projects/{id}/pieces/{n}/cloth.glb",
    params(("id" = String, Path), ("n" = String, Path)), responses(
    (status = 200, content_type = "model/gltf-binary", body = Vec<u8>),
    (status = 404, description = "No such project or piece", body = Refusal),
    (status = 422, description = "There is no cloth of it", body = Refusal),
))]
pub async fn mesh(State(app): App, Path((id, n)): Path<(String, String)>) -> Result<Response, Refused> {
    let cloth = cloth(&app, &id, &n).await?;
    Ok(file("model/gltf-binary", drawn(move || cloth.mesh()).await?))
}

/// The yarn in the cloth of a piece as line segments.
#[utoipa::path(get, operation_id = "cloth_yarn", path = "/api/projects/{id}/pieces/{n}/yarn.glb",
    params(("id" = String, Path), ("n" = String, Path)), responses(
    (status = 200, content_type = "model/gltf-binary", body = Vec<u8>),
    (status = 404, description = "No such project or piece", body = Refusal),
    (status = 422, description = "There is no cloth of it", body = Refusal),
))]
pub async fn yarn(State(app): App, Path((id, n)): Path<(String, String)>) -> Result<Response, Refused> {
    let cloth = cloth(&app, &id, &n).await?;
    Ok(file("model/gltf-binary", drawn(move || cloth.strands()).await?))
}

/// The cloth of a piece as a picture.
#[utoipa::path(get, operation_id = "cloth_picture", path = "/api/projects/{id}/pieces/{n}/cloth.png",
    params(("id" = String, Path), ("n" = String, Path), ("face" = Option<Seen>, Query, description = "The side that is shown")), responses(
    (status = 200, content_type = "image/png", body = Vec<u8>),
    (status = 400, description = "No such side", body = Refusal),
    (status = 404, description = "No such project or piece", body = Refusal),
    (status = 422, description = "There is no cloth of it", body = Refusal),
))]
pub async fn picture(
    State(app): App,
    Path((id, n)): Path<(String, String)>,
    query: Result<Query<PictureQuery>, axum::extract::rejection::QueryRejection>,
) -> Result<Response, Refused> {
    let facing = match query.map_err(|_| no_such_side())?.face {
        Seen::Right => Facing::Right,
        Seen::Wrong => Facing::Wrong,
    };
    let cloth = cloth(&app, &id, &n).await?;
    Ok(file("image/png", drawn(move || cloth.picture(facing)).await?))
}

async fn cloth(app: &Arc<Running>, id: &str, n: &str) -> Result<Arc<ClothPiece>, Refused> {
    let desk = app.desk(id_of(id)?).await?;
    let piece = number(n)?;
    let done = desk.done().await.ok_or_else(Refused::stumbled)?;
    if piece >= done.pieces.len() {
        return Err(no_piece(n));
    }
    desk.cloth(piece).await.ok_or_else(Refused::stumbled)
}

/// Draws where it holds nobody up.
pub async fn drawn(
    draw: impl FnOnce() -> Result<Vec<u8>, String> + Send + 'static,
) -> Result<Vec<u8>, Refused> {
    let drawn = tokio::task::spawn_blocking(draw).await.map_err(|_| Refused::stumbled())?;
    drawn.map_err(|reason| {
        Refused::nonsense(
            format!("the cloth of this piece cannot be shown: {reason}"),
            "see which rows do not come out",
        )
    })
}

/// Which piece a path names.
///
/// # Errors
/// [`Refused`] where it is no number.
pub fn number(n: &str) -> Result<usize, Refused> {
    n.parse().map_err(|_| no_piece(n))
}

/// There is no such piece.
pub fn no_piece(n: &str) -> Refused {
    Refused::missing(format!("there is no piece {n}"))
}

fn no_such_side() -> Refused {
    Refused::new(StatusCode::BAD_REQUEST, "a cloth has two sides", "ask for right or wrong")
}
