//! Which address does what.

use std::sync::Arc;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::middleware::from_fn_with_state;
use axum::routing::{delete, get, post};

use super::guard::{Gate, guard};
use super::refusal::Refusal;
use super::store::{Desk, MOST_PHOTO_BYTES};
use super::{assets, class, files, measuring, photos, plans};

/// Largest request that is no photo, bytes: a long plan and its corrections.
const MOST_WORDS_BYTES: usize = 2 << 20;

/// The desk behind its gate.
pub(super) fn routes(gate: Arc<Gate>) -> Router {
    let desk = Arc::new(Desk::default());
    let uploads = post(photos::put).layer(DefaultBodyLimit::max(MOST_PHOTO_BYTES));
    Router::new()
        .route("/", get(assets::page))
        .route("/page/{file}", get(assets::file))
        .route("/api/photos", uploads.get(photos::list))
        .route("/api/photos/{id}", delete(photos::take_off))
        .route("/api/photos/{id}/picture.jpg", get(photos::picture))
        .route("/api/photos/{id}/measure", post(measuring::measure))
        .route("/api/photos/{id}/{file}", get(files::of_band))
        .route("/api/sample", post(photos::sample))
        .route("/api/plan", post(plans::work))
        .route("/api/plan/starter", get(plans::starter))
        .route("/api/compare", post(class::side_by_side))
        .route("/api/class/report.html", get(files::class_report))
        .route("/api/yardage", post(class::yarn))
        .route("/api/everything.zip", post(files::everything))
        .route("/api/sheet.pdf", get(files::sheet))
        .fallback(async || Refusal::missing("that address"))
        .layer(DefaultBodyLimit::max(MOST_WORDS_BYTES))
        .layer(from_fn_with_state(gate, guard))
        .with_state(desk)
}
