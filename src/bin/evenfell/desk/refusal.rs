//! Why a request was refused, in words for the person at the desk.

use axum::Json;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use evenfell::Error;
use serde_json::json;

/// A refusal: `{"error": "…"}`.
#[derive(Debug)]
pub(super) struct Refusal {
    status: StatusCode,
    why: String,
}

impl Refusal {
    fn new(status: StatusCode, why: impl Into<String>) -> Self {
        Self {
            status,
            why: why.into(),
        }
    }

    /// Somebody who may not ask.
    pub(super) fn stranger(why: &str) -> Self {
        Self::new(StatusCode::FORBIDDEN, why)
    }

    /// It took too long.
    pub(super) fn too_slow() -> Self {
        Self::new(
            StatusCode::REQUEST_TIMEOUT,
            "that took too long and was given up: try again, with a smaller picture perhaps",
        )
    }

    /// There is no such thing on the desk.
    pub(super) fn missing(what: &str) -> Self {
        Self::new(StatusCode::NOT_FOUND, format!("{what} is not on the desk"))
    }

    /// What was asked can't be understood.
    pub(super) fn unclear(why: impl Into<String>) -> Self {
        Self::new(StatusCode::BAD_REQUEST, why)
    }

    /// More than the desk holds.
    pub(super) fn too_much(why: impl Into<String>) -> Self {
        Self::new(StatusCode::PAYLOAD_TOO_LARGE, why)
    }

    /// The program's own fault.
    pub(super) fn broken(why: impl Into<String>) -> Self {
        Self::new(StatusCode::INTERNAL_SERVER_ERROR, why)
    }
}

impl From<Error> for Refusal {
    fn from(error: Error) -> Self {
        let status = match error {
            Error::Unmeasurable { .. } | Error::Scale { .. } => StatusCode::UNPROCESSABLE_ENTITY,
            _ => StatusCode::BAD_REQUEST,
        };
        Self::new(status, error.to_string())
    }
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        (self.status, Json(json!({ "error": self.why }))).into_response()
    }
}
