//! What can be saved: a band's files, everything as a zip, the sheet to print.

use std::collections::BTreeMap;
use std::io::{Cursor, Write};
use std::sync::Arc;

use axum::Json;
use axum::extract::rejection::JsonRejection;
use axum::extract::{Path, Query, State};
use axum::http::header::{self, HeaderValue};
use axum::response::{IntoResponse, Response};
use evenfell::compare::{Comparison, write_comparison_csv};
use evenfell::corrections::Corrections;
use evenfell::report::{BandPicture, ClassBand, write_class_html, write_json_pretty};
use evenfell::sheet::{Layout, write_pdf};
use serde::Deserialize;
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

use super::class::{Class, compared};
use super::refusal::Refusal;
use super::store::{Desk, Done};
use crate::names::stem;
use crate::results;
use crate::sheet_command::{GroundTone, PaperSize};

/// What a report may load: nothing; its style and pictures lie in it.
const REPORT_POLICY: &str =
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'";

/// One of a band's files, as `measure --out` writes it.
pub(super) async fn of_band(
    State(desk): State<Arc<Desk>>,
    Path((id, file)): Path<(u64, String)>,
) -> Result<Response, Refusal> {
    let kind = kind_of(&file).ok_or_else(|| Refusal::missing(&file))?;
    let name = file.clone();
    let bytes = desk.work(move |desk| band_file(desk, id, &name)).await?;
    let mut response = ([(header::CONTENT_TYPE, kind)], bytes).into_response();
    let headers = response.headers_mut();
    if file == "report.html" {
        let policy = HeaderValue::from_static(REPORT_POLICY);
        headers.insert(header::CONTENT_SECURITY_POLICY, policy);
    } else if file != "marked.png" {
        headers.insert(
            header::CONTENT_DISPOSITION,
            HeaderValue::from_static("attachment"),
        );
    }
    Ok(response)
}

/// The kind of a file that a band has.
fn kind_of(file: &str) -> Option<&'static str> {
    Some(match file {
        "measurement.json" | "corrections.json" | "plan.json" => "application/json",
        "picks.csv" => "text/csv; charset=utf-8",
        "report.html" => "text/html; charset=utf-8",
        "marked.png" | "band.png" => "image/png",
        _ => return None,
    })
}

fn band_file(desk: &Desk, id: u64, file: &str) -> Result<Vec<u8>, Refusal> {
    let done = desk.done(id)?;
    match file {
        "corrections.json" => corrections(&done),
        "plan.json" => match &done.plan_text {
            Some(text) => Ok(text.clone().into_bytes()),
            None => Err(Refusal::missing("a plan of this band")),
        },
        _ => result_file(desk, id, &done, file),
    }
}

/// A file that `--out` writes too.
fn result_file(desk: &Desk, id: u64, done: &Done, file: &str) -> Result<Vec<u8>, Refusal> {
    let measured = done.with_photo(desk.photo(id)?);
    let mut bytes = Vec::new();
    results::write_file(file, &measured, done.plan.as_ref(), done.units, &mut bytes)
        .map_err(broken)?;
    Ok(bytes)
}

/// The corrections, with the photo that they were made on.
fn corrections(done: &Done) -> Result<Vec<u8>, Refusal> {
    let named = Corrections {
        photo_sha256: Some(done.measurement.photo.sha256.clone()),
        ..done.corrections.clone()
    };
    let mut bytes = Vec::new();
    write_json_pretty(&named, &mut bytes).map_err(broken)?;
    Ok(bytes)
}

#[allow(clippy::needless_pass_by_value, reason = "as map_err wants it")]
fn broken(error: std::io::Error) -> Refusal {
    Refusal::broken(format!("the file can't be written ({error})"))
}

/// Every file of every measured band, and the comparison where there are several.
pub(super) async fn everything(
    State(desk): State<Arc<Desk>>,
    class: Result<Json<Class>, JsonRejection>,
) -> Result<Response, Refusal> {
    let Json(class) = class.map_err(|rejection| Refusal::unclear(rejection.body_text()))?;
    let bytes = desk.work(move |desk| zipped(desk, &class)).await?;
    let headers = [
        (header::CONTENT_TYPE, "application/zip"),
        (
            header::CONTENT_DISPOSITION,
            "attachment; filename=\"evenfell.zip\"",
        ),
    ];
    Ok((headers, bytes).into_response())
}

fn zipped(desk: &Desk, class: &Class) -> Result<Vec<u8>, Refusal> {
    let mut zip = Zip::new();
    let mut folders: BTreeMap<String, u32> = BTreeMap::new();
    for (id, entry) in desk.all() {
        let Some(done) = entry.done else { continue };
        let times = folders.entry(stem(&entry.name).to_owned()).or_default();
        *times += 1;
        let folder = match *times {
            1 => stem(&entry.name).to_owned(),
            again => format!("{}, {again}", stem(&entry.name)),
        };
        let measured = done.with_photo(desk.photo(id)?);
        for file in results::names(&measured) {
            let mut bytes = Vec::new();
            results::write_file(file, &measured, done.plan.as_ref(), done.units, &mut bytes)
                .map_err(broken)?;
            zip.add(&format!("{folder}/{file}"), &bytes)?;
        }
        if !done.corrections.is_empty() {
            zip.add(&format!("{folder}/corrections.json"), &corrections(&done)?)?;
        }
        if let Some(plan) = &done.plan_text {
            zip.add(&format!("{folder}/plan.json"), plan.as_bytes())?;
        }
    }
    if folders.is_empty() {
        return Err(Refusal::missing("a measured band"));
    }
    if let Ok(comparison) = compared(desk, class) {
        let mut json = Vec::new();
        write_json_pretty(&comparison, &mut json).map_err(broken)?;
        zip.add("comparison.json", &json)?;
        let mut csv = Vec::new();
        write_comparison_csv(&comparison, &mut csv).map_err(broken)?;
        zip.add("comparison.csv", &csv)?;
        zip.add("report.html", &class_page(desk, class, &comparison)?)?;
    }
    zip.end()
}

/// The page of a class, as `compare --out` writes it.
fn class_page(desk: &Desk, class: &Class, comparison: &Comparison) -> Result<Vec<u8>, Refusal> {
    let done = class.done(desk)?;
    let pictures: Vec<Option<BandPicture>> = done
        .iter()
        .map(|done| BandPicture::new(&done.overlay.strip, &done.measurement))
        .collect();
    let bands: Vec<ClassBand<'_>> = done
        .iter()
        .zip(&pictures)
        .map(|(done, picture)| ClassBand {
            measurement: &done.measurement,
            plan: None,
            picture: picture.as_ref(),
        })
        .collect();
    let mut bytes = Vec::new();
    write_class_html(comparison, &bands, class.units(), &mut bytes).map_err(broken)?;
    Ok(bytes)
}

/// Which class a page is wanted of: in the address, as JSON.
#[derive(Debug, Deserialize)]
pub(super) struct ClassAsked {
    asked: String,
}

/// The page of a class, with a half page for each weaver.
pub(super) async fn class_report(
    State(desk): State<Arc<Desk>>,
    Query(given): Query<ClassAsked>,
) -> Result<Response, Refusal> {
    let class: Class =
        serde_json::from_str(&given.asked).map_err(|error| Refusal::unclear(error.to_string()))?;
    let page = desk
        .work(move |desk| class_page(desk, &class, &compared(desk, &class)?))
        .await?;
    let headers = [
        (header::CONTENT_TYPE, "text/html; charset=utf-8"),
        (header::CONTENT_SECURITY_POLICY, REPORT_POLICY),
    ];
    Ok((headers, page).into_response())
}

/// A zip in memory. Its files aren't packed smaller: pictures are packed already.
struct Zip {
    writer: ZipWriter<Cursor<Vec<u8>>>,
}

impl Zip {
    fn new() -> Self {
        Self {
            writer: ZipWriter::new(Cursor::new(Vec::new())),
        }
    }

    fn add(&mut self, name: &str, bytes: &[u8]) -> Result<(), Refusal> {
        let options =
            SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
        self.writer
            .start_file(name, options)
            .map_err(|error| Refusal::broken(format!("{name} can't be packed ({error})")))?;
        self.writer.write_all(bytes).map_err(broken)
    }

    fn end(self) -> Result<Vec<u8>, Refusal> {
        let written = self.writer.finish();
        let cursor = written
            .map_err(|error| Refusal::broken(format!("the zip can't be written ({error})")))?;
        Ok(cursor.into_inner())
    }
}

/// Which sheet is wanted.
#[derive(Debug, Deserialize)]
pub(super) struct Wanted {
    paper: PaperSize,
    ground: GroundTone,
}

/// The sheet to print.
pub(super) async fn sheet(Query(wanted): Query<Wanted>) -> Result<Response, Refusal> {
    let layout = Layout::new(wanted.paper.into(), wanted.ground.into());
    let mut bytes = Vec::new();
    write_pdf(&layout, &mut bytes).map_err(broken)?;
    Ok(([(header::CONTENT_TYPE, "application/pdf")], bytes).into_response())
}
