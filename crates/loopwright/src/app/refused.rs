//! Requests that are refused, with the reason and the way out, and what failures mean as a status.
//!
//! The only place that knows statuses of HTTP for what goes wrong.

use axum::Json;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use shelf::{ChangeError, ShelfError};

use crate::app::wire::Refusal;
use crate::failure::Failure;

/// A request that was refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused {
    /// What it means for the browser.
    pub status: StatusCode,
    /// What is wrong.
    pub message: String,
    /// The way out.
    pub help: String,
}

impl Refused {
    /// A refusal in words.
    pub fn new(status: StatusCode, message: impl Into<String>, help: impl Into<String>) -> Refused {
        Refused { status, message: message.into(), help: help.into() }
    }

    /// There is nothing of that name.
    pub fn missing(what: impl Into<String>) -> Refused {
        Refused::new(StatusCode::NOT_FOUND, what, "go back to the list of projects")
    }

    /// What was sent cannot be understood.
    pub fn nonsense(message: impl Into<String>, help: impl Into<String>) -> Refused {
        Refused::new(StatusCode::UNPROCESSABLE_ENTITY, message, help)
    }

    /// The program stumbled; it is a bug, and nothing that was kept is lost.
    pub fn stumbled() -> Refused {
        Refused::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "the program stumbled over this request; what was saved is safe",
            "try once more; if it happens again, please report it with the text that led to it",
        )
    }
}

impl IntoResponse for Refused {
    fn into_response(self) -> Response {
        (self.status, Json(Refusal { message: self.message, help: self.help })).into_response()
    }
}

impl From<ShelfError> for Refused {
    fn from(error: ShelfError) -> Refused {
        let status = match &error {
            ShelfError::NoProject(_) | ShelfError::NoRevision(_) | ShelfError::NoPicture(_) => {
                StatusCode::NOT_FOUND
            }
            ShelfError::Stale { .. } => StatusCode::CONFLICT,
            ShelfError::Change(ChangeError::TooLong { .. }) => StatusCode::PAYLOAD_TOO_LARGE,
            ShelfError::PictureTooLarge => StatusCode::PAYLOAD_TOO_LARGE,
            ShelfError::Change(_) | ShelfError::Bundle(_) | ShelfError::NotAPicture => {
                StatusCode::UNPROCESSABLE_ENTITY
            }
            ShelfError::Full => StatusCode::INSUFFICIENT_STORAGE,
            _ => StatusCode::SERVICE_UNAVAILABLE,
        };
        let help = error.help().unwrap_or("look at the project anew and try once more");
        Refused::new(status, error.to_string(), help)
    }
}

impl From<Failure> for Refused {
    fn from(failure: Failure) -> Refused {
        let (message, help) = match failure {
            Failure::NoPattern { .. } => (
                failure.to_string(),
                "put the part of the book that holds the rows into the transcription".to_owned(),
            ),
            Failure::Plan { problem, .. } => {
                let Refusal { message, help } = problem.into();
                (message, help)
            }
            _ => (failure.to_string(), failure.help()),
        };
        Refused::new(StatusCode::UNPROCESSABLE_ENTITY, message, help)
    }
}
