//! What happens to a project while a window shows it.

use std::convert::Infallible;

use axum::body::Bytes;
use axum::extract::State;
use axum::response::Sse;
use axum::response::sse::{self, KeepAlive};
use tokio::sync::watch;
use tokio_stream::wrappers::BroadcastStream;
use tokio_stream::{Stream, StreamExt, iter};

use super::App;
use crate::app::body::{Path, project as id_of};
use crate::app::desk::Event;
use crate::app::refused::Refused;
use crate::app::running::event;

/// Events `state` (StateEvent), `view` (View), `cloth` (ClothEvent) and `needles` (NeedlesEvent), each with JSON. The
/// first is the state as it stands.
#[utoipa::path(get, path = "/api/projects/{id}/live", params(("id" = String, Path)), responses(
    (status = 200, content_type = "text/event-stream", body = String),
))]
pub async fn live(
    State(app): App,
    Path(id): Path<String>,
) -> Result<Sse<impl Stream<Item = Result<sse::Event, Infallible>>>, Refused> {
    let id = id_of(&id)?;
    let desk = app.desk(id).await?;
    let stored = app.shelf(move |shelf| shelf.project(id)).await?;
    let events = BroadcastStream::new(desk.events());
    app.watched(id, &desk);
    let state = event(&stored, String::new());
    let first = serde_json::to_vec(&state).ok().map(|json| Event::State(json.into()));
    let view = desk.done_already().map(|done| Event::View(done.json.clone()));
    // A window that was too slow misses what came between and goes on with what is newest.
    let following = events.filter_map(Result::ok);
    let held = desk;
    let told = iter(first.into_iter().chain(view)).chain(following).map(move |event| {
        let _stays_open = &held;
        Ok(told(&event))
    });
    Ok(Sse::new(until_the_end(told, app.ending.clone())).keep_alive(KeepAlive::default()))
}

/// The stream, cut off when the program ends.
fn until_the_end<T>(
    stream: impl Stream<Item = T>,
    mut ending: watch::Receiver<bool>,
) -> impl Stream<Item = T> {
    let end = async move {
        let _ = ending.wait_for(|ending| *ending).await;
    };
    futures_util::StreamExt::take_until(stream, end)
}

fn told(event: &Event) -> sse::Event {
    let (name, json): (_, &Bytes) = match event {
        Event::State(json) => ("state", json),
        Event::View(json) => ("view", json),
        Event::Cloth(json) => ("cloth", json),
        Event::Needles(json) => ("needles", json),
    };
    // JSON is written without line ends.
    sse::Event::default().event(name).data(String::from_utf8_lossy(json))
}
