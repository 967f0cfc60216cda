//! The front end: the files that its build left, inside the program.

use axum::body::Body;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::http::{HeaderValue, StatusCode, Uri};
use axum::response::{IntoResponse, Response};
use rust_embed::{EmbeddedFile, RustEmbed};

#[derive(RustEmbed)]
#[folder = "../../web/dist"]
struct Front;

/// The page that everything begins with.
const START: &str = "index.html";
/// The folder of files whose names change with their contents.
const LASTING: &str = "assets/";

/// What stands in the place of a front end that was not built.
const NOT_BUILT: &str = "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><title>Loopwright</title>\
    <h1>Loopwright</h1><p>The pages of the app are not in this program. Build them with <code>npm ci</code> and \
    <code>npm run build</code> in the folder <code>web</code>, then build the program again.</p></html>";

/// Answers with a file, or with the start page for a place within the app.
pub async fn file(uri: Uri) -> Response {
    let path = uri.path().trim_start_matches('/');
    let is_place = !path.rsplit('/').next().unwrap_or("").contains('.');
    match Front::get(path).filter(|_| !path.is_empty()) {
        Some(found) => answer(path, found),
        None if is_place => match Front::get(START) {
            Some(found) => answer(START, found),
            None => page(StatusCode::OK, NOT_BUILT),
        },
        None => {
            page(StatusCode::NOT_FOUND, "<!doctype html><title>Loopwright</title><p>There is no such page.")
        }
    }
}

fn answer(path: &str, file: EmbeddedFile) -> Response {
    let kind = match file.metadata.mimetype() {
        text if text.starts_with("text/") => format!("{text}; charset=utf-8"),
        other => other.to_owned(),
    };
    let kind = HeaderValue::from_str(&kind);
    let kind = kind.unwrap_or(HeaderValue::from_static("application/octet-stream"));
    let lasting = if path.starts_with(LASTING) { "max-age=31536000, immutable" } else { "no-cache" };
    let mut response = Response::new(Body::from(file.data.into_owned()));
    response.headers_mut().insert(CONTENT_TYPE, kind);
    response.headers_mut().insert(CACHE_CONTROL, HeaderValue::from_static(lasting));
    response
}

fn page(status: StatusCode, html: &'static str) -> Response {
    let kind = HeaderValue::from_static("text/html; charset=utf-8");
    (status, [(CONTENT_TYPE, kind)], html).into_response()
}
