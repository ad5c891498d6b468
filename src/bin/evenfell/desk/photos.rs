//! Photos put on the desk, and their pictures.

use std::io::Cursor;
use std::sync::Arc;

use axum::Json;
use axum::body::Bytes;
use axum::extract::rejection::BytesRejection;
use axum::extract::{FromRequest, Path, Query, Request, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use evenfell::photo::Photo;
use evenfell::report::at_most;
use image::codecs::jpeg::JpegEncoder;
use serde::Deserialize;
use serde_json::{Value, json};

use super::refusal::Refusal;
use super::store::{Desk, Entry, MOST_PHOTO_BYTES};
use crate::demo;

/// Longest bare name, characters.
const LONGEST_NAME: usize = 200;
/// The longer side of a picture as it is shown, px.
const SHOWN_PX: std::ops::RangeInclusive<u32> = 32..=4000;
/// Quality of a picture as it is shown: two places are clicked in it.
const SHOWN_QUALITY: u8 = 92;

/// What a photo is called.
#[derive(Debug, Deserialize)]
pub(super) struct Named {
    name: String,
}

/// Takes a photo in.
pub(super) async fn put(
    State(desk): State<Arc<Desk>>,
    Query(named): Query<Named>,
    request: Request,
) -> Result<Json<Value>, Refusal> {
    // Only a few bodies lie in memory while they arrive.
    let _turn = desk
        .uploads
        .acquire()
        .await
        .map_err(|_| Refusal::broken("the desk is closing"))?;
    let body = Bytes::from_request(request, &()).await;
    let bytes = body.map_err(|rejection| match rejection {
        BytesRejection::FailedToBufferBody(_) => Refusal::too_much(format!(
            "{}: the photo didn't arrive whole, or is larger than {} MiB: crop it to the band",
            bare(&named.name),
            MOST_PHOTO_BYTES >> 20
        )),
        _ => Refusal::unclear("the photo didn't arrive whole: send it again"),
    })?;
    let name = bare(&named.name);
    let put = desk.work(move |desk| desk.put(&name, bytes)).await?;
    Ok(Json(about(put.0, &put.1)))
}

/// Puts the built-in sample band on the desk, for somebody who has no photo at hand.
pub(super) async fn sample(State(desk): State<Arc<Desk>>) -> Result<Json<Value>, Refusal> {
    let put = desk
        .work(|desk| desk.put("lamp_pull.jpg", Bytes::from_static(demo::SCAN)))
        .await?;
    Ok(Json(
        json!({ "photo": about(put.0, &put.1), "plan": demo::PLAN }),
    ))
}

/// Says what lies on the desk.
pub(super) async fn list(State(desk): State<Arc<Desk>>) -> Json<Value> {
    let all = desk.all();
    Json(all.iter().map(|(id, entry)| about(*id, entry)).collect())
}

/// Takes a photo off.
pub(super) async fn take_off(
    State(desk): State<Arc<Desk>>,
    Path(id): Path<u64>,
) -> Result<Json<Value>, Refusal> {
    desk.take_off(id)?;
    Ok(Json(json!({})))
}

/// How large a picture is wanted.
#[derive(Debug, Deserialize)]
pub(super) struct Wanted {
    longest: Option<u32>,
}

/// A photo as a browser can show it, whatever its file is.
pub(super) async fn picture(
    State(desk): State<Arc<Desk>>,
    Path(id): Path<u64>,
    Query(wanted): Query<Wanted>,
) -> Result<Response, Refusal> {
    let longest = wanted.longest.unwrap_or(*SHOWN_PX.end());
    let longest = longest.clamp(*SHOWN_PX.start(), *SHOWN_PX.end());
    let jpeg = desk
        .work(move |desk| {
            let photo = desk.photo(id)?;
            jpeg(&photo, longest)
        })
        .await?;
    Ok(([(header::CONTENT_TYPE, "image/jpeg")], jpeg).into_response())
}

fn jpeg(photo: &Photo, longest: u32) -> Result<Vec<u8>, Refusal> {
    let small = at_most(&photo.pixels, longest);
    let mut out = Cursor::new(Vec::new());
    let encoder = JpegEncoder::new_with_quality(&mut out, SHOWN_QUALITY);
    let written = small.write_with_encoder(encoder);
    written.map_err(|error| Refusal::broken(format!("the picture can't be shown ({error})")))?;
    Ok(out.into_inner())
}

/// What the page needs to know of a photo.
fn about(id: u64, entry: &Entry) -> Value {
    json!({
        "id": id,
        "name": entry.name,
        "width": entry.size.0,
        "height": entry.size.1,
        "measured": entry.done.is_some(),
    })
}

/// A file's name without folders and without what no name should hold.
fn bare(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let clean: String = last
        .chars()
        .filter(|letter| !letter.is_control())
        .take(LONGEST_NAME)
        .collect();
    if clean.trim().is_empty() || clean.chars().all(|letter| letter == '.') {
        "photo".to_owned()
    } else {
        clean
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_only_a_name() {
        for (given, kept) in [
            ("lamp_pull.jpg", "lamp_pull.jpg"),
            ("../../etc/lamp.jpg", "lamp.jpg"),
            ("C:\\quay\\lamp.jpg", "lamp.jpg"),
            ("..", "photo"),
            ("", "photo"),
            ("a\u{0}\nb.png", "ab.png"),
        ] {
            assert_eq!(bare(given), kept);
        }
    }
}
