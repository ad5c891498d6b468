//! The page itself: written by hand, no framework, nothing built, nothing fetched from elsewhere.

use axum::extract::Path;
use axum::http::header;
use axum::response::{IntoResponse, Response};

use super::refusal::Refusal;

const HTML: &str = "text/html; charset=utf-8";
const STYLE: &str = "text/css; charset=utf-8";
const SCRIPT: &str = "text/javascript; charset=utf-8";

/// The page's files by name.
const FILES: [(&str, &str, &str); 13] = [
    ("desk.css", STYLE, include_str!("page/desk.css")),
    ("main.js", SCRIPT, include_str!("page/main.js")),
    ("server.js", SCRIPT, include_str!("page/server.js")),
    ("elements.js", SCRIPT, include_str!("page/elements.js")),
    ("bands.js", SCRIPT, include_str!("page/bands.js")),
    ("stage.js", SCRIPT, include_str!("page/stage.js")),
    ("handle.js", SCRIPT, include_str!("page/handle.js")),
    ("scale.js", SCRIPT, include_str!("page/scale.js")),
    ("mending.js", SCRIPT, include_str!("page/mending.js")),
    ("result.js", SCRIPT, include_str!("page/result.js")),
    ("plan.js", SCRIPT, include_str!("page/plan.js")),
    ("drawdown.js", SCRIPT, include_str!("page/drawdown.js")),
    ("class.js", SCRIPT, include_str!("page/class.js")),
];

/// The page.
pub(super) async fn page() -> Response {
    (
        [(header::CONTENT_TYPE, HTML)],
        include_str!("page/page.html"),
    )
        .into_response()
}

/// One of its files.
pub(super) async fn file(Path(name): Path<String>) -> Result<Response, Refusal> {
    let found = FILES.iter().find(|(own, _, _)| *own == name);
    let (_, kind, text) = found.ok_or_else(|| Refusal::missing(&name))?;
    Ok(([(header::CONTENT_TYPE, *kind)], *text).into_response())
}
