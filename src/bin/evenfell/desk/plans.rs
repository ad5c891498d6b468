//! A plan checked and worked out.

use axum::Json;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use evenfell::plan::{Plan, STARTER_PLAN, plan_text, work_out};
use evenfell::report::caution_in;
use serde_json::{Value, json};

use super::refusal::Refusal;

/// Checks a plan's text and says what it works out to.
pub(super) async fn work(text: String) -> Result<Json<Value>, Refusal> {
    let plan = Plan::from_json(&text)?;
    let worked = work_out(&plan);
    Ok(Json(json!({
        "title": plan.title,
        "text": plan_text(&plan, &worked),
        "worked": worked,
        "caution": caution_in(&plan.title),
    })))
}

/// A plan to start from.
pub(super) async fn starter() -> Response {
    ([(header::CONTENT_TYPE, "application/json")], STARTER_PLAN).into_response()
}
