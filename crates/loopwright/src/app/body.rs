//! What comes with a request: bodies of a limited size, and names in the path, refused in words where they are wrong.

use axum::body::{Body, Bytes};
use axum::extract::{FromRequest, FromRequestParts, Request};
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::http::request::Parts;
use http_body_util::BodyExt;
use serde::de::DeserializeOwned;
use shelf::{ProjectId, Revision};

use crate::app::refused::Refused;
use crate::app::translate::too_long;

/// The largest body of JSON, in bytes: the longest text of a project, with room for escapes.
const JSON: usize = 8 * 1024 * 1024;
/// The largest bundle that is brought in, in bytes.
const BUNDLE: usize = 64 * 1024 * 1024;
/// The largest picture of a page, in bytes.
const PICTURE: usize = 32 * 1024 * 1024;
/// What is read and thrown away of a body that is too large, in bytes, so that the refusal arrives.
const THROWN_AWAY: usize = 256 * 1024 * 1024;

/// A body of JSON.
pub struct Json<T>(pub T);

/// A bundle of a project.
pub struct Bundle(pub Bytes);

/// A picture of a page.
pub struct Picture(pub Bytes);

/// Parts of the path.
pub struct Path<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned + Send> FromRequestParts<S> for Path<T> {
    type Rejection = Refused;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Path<T>, Refused> {
        let path = axum::extract::Path::from_request_parts(parts, state).await;
        path.map(|found| Path(found.0)).map_err(|_| Refused::missing("there is nothing under this address"))
    }
}

impl<S: Send + Sync, T: DeserializeOwned> FromRequest<S> for Json<T> {
    type Rejection = Refused;

    async fn from_request(request: Request, _: &S) -> Result<Json<T>, Refused> {
        let kind = request.headers().get(CONTENT_TYPE).and_then(|kind| kind.to_str().ok());
        if kind.is_none_or(|kind| !kind.starts_with("application/json")) {
            return Err(Refused::new(
                StatusCode::UNSUPPORTED_MEDIA_TYPE,
                "this request should carry JSON",
                "send it with the content type application/json",
            ));
        }
        let bytes = read(request.into_body(), JSON, too_long).await?;
        let nonsense = |error: String| {
            let help = "see the description of the interface";
            Refused::nonsense(format!("this request is not understood: {error}"), help)
        };
        // A list would be taken for the fields in their order.
        if bytes.trim_ascii_start().first() != Some(&b'{') {
            return Err(nonsense("it is no JSON object".to_owned()));
        }
        serde_json::from_slice(&bytes).map(Json).map_err(|error| nonsense(error.to_string()))
    }
}

impl<S: Send + Sync> FromRequest<S> for Bundle {
    type Rejection = Refused;

    async fn from_request(request: Request, _: &S) -> Result<Bundle, Refused> {
        let refused = || too_large("this file", BUNDLE);
        Ok(Bundle(read(request.into_body(), BUNDLE, refused).await?))
    }
}

impl<S: Send + Sync> FromRequest<S> for Picture {
    type Rejection = Refused;

    async fn from_request(request: Request, _: &S) -> Result<Picture, Refused> {
        let refused = || too_large("this picture", PICTURE);
        Ok(Picture(read(request.into_body(), PICTURE, refused).await?))
    }
}

fn too_large(what: &str, limit: usize) -> Refused {
    Refused::new(
        StatusCode::PAYLOAD_TOO_LARGE,
        format!("{what} is larger than {} MB", limit / (1024 * 1024)),
        "make it smaller and try once more",
    )
}

/// Reads a body up to a limit. Of one that is too large the rest is thrown away, for a browser that is still sending
/// does not listen.
async fn read(mut body: Body, limit: usize, too_large: impl Fn() -> Refused) -> Result<Bytes, Refused> {
    let mut bytes: Vec<u8> = Vec::new();
    let mut length = 0;
    while let Some(frame) = body.frame().await {
        let frame = frame.map_err(|_| Refused::nonsense("the request broke off", "send it once more"))?;
        let Ok(data) = frame.into_data() else { continue };
        length += data.len();
        if length > THROWN_AWAY {
            break;
        }
        if length > limit {
            bytes = Vec::new();
        } else {
            bytes.extend_from_slice(&data);
        }
    }
    if length > limit { Err(too_large()) } else { Ok(bytes.into()) }
}

/// The project of a path.
///
/// # Errors
/// [`Refused`] where it is no number.
pub fn project(id: &str) -> Result<ProjectId, Refused> {
    let is_plain = id.bytes().all(|byte| byte.is_ascii_digit());
    let number = id.parse().ok().filter(|_| is_plain);
    number.map(ProjectId::from_number).ok_or_else(|| Refused::missing(format!("there is no project {id}")))
}

/// The revision of a path.
///
/// # Errors
/// [`Refused`] where it is no number.
pub fn revision(number: &str) -> Result<Revision, Refused> {
    let found = number.parse().ok().map(Revision::from_number);
    found.ok_or_else(|| Refused::missing(format!("there is no revision {number}")))
}
