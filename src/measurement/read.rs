//! Results read back: one file may hold one result, or one a line as several photos give them.

use std::path::Path;

use serde::Deserialize;

use super::{Measurement, Quantity, SCHEMA};
use crate::files::read_at_most;
use crate::units::{quoted, taken_over};
use crate::{Error, Result};

/// Largest file of results that is read, bytes: a thousand long bands.
pub const MOST_RESULT_BYTES: u64 = 256 << 20;

/// Reads every result in the file at `path`.
///
/// # Errors
///
/// [`Error::File`] where it can't be read, else those of [`results_from_json`].
pub fn read_results(path: &Path) -> Result<Vec<Measurement>> {
    let name = path.file_name().map_or_else(
        || path.display().to_string(),
        |name| name.to_string_lossy().into_owned(),
    );
    let bytes = read_at_most(path, MOST_RESULT_BYTES + 1)?;
    if bytes.len() as u64 > MOST_RESULT_BYTES {
        return Err(refuse(&name, "is larger than any file of results"));
    }
    let text = String::from_utf8(bytes).map_err(|_| {
        refuse(
            &name,
            "is no text: a result is JSON, as measure --format json or --out writes it",
        )
    })?;
    results_from_json(&name, &text)
}

/// Reads every result in `text`, which stands in the file `name`.
///
/// # Errors
///
/// [`Error::Request`] where the text is no JSON, no result, a result of another version, or a
/// result with a figure that can't be.
pub fn results_from_json(name: &str, text: &str) -> Result<Vec<Measurement>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut results = Vec::new();
    for value in serde_json::Deserializer::from_str(text).into_iter::<serde_json::Value>() {
        let value = value.map_err(|error| {
            let why = taken_over(&error.to_string());
            refuse(
                name,
                &format!("isn't JSON: {why}; give what measure --format json or --out writes"),
            )
        })?;
        results.push(one(name, value)?);
    }
    if results.is_empty() {
        return Err(refuse(
            name,
            "is empty: give what measure --format json or --out writes",
        ));
    }
    Ok(results)
}

fn refuse(name: &str, why: &str) -> Error {
    Error::Request {
        what: name.to_owned(),
        why: why.to_owned(),
    }
}

fn one(name: &str, value: serde_json::Value) -> Result<Measurement> {
    match value.get("schema").and_then(serde_json::Value::as_str) {
        Some(SCHEMA) => {}
        Some(other) if other.starts_with("evenfell/measurement/") => {
            return Err(refuse(
                name,
                &format!(
                    "is a result of schema {}, and this version reads {SCHEMA}: measure the photo \
                     again with this version",
                    quoted(other)
                ),
            ));
        }
        Some(other) => {
            return Err(refuse(
                name,
                &format!(
                    "is a file of schema {}, not a measured band ({SCHEMA})",
                    quoted(other)
                ),
            ));
        }
        None if value.get("error").is_some() => {
            return Err(refuse(
                name,
                "is the note of a photo that couldn't be measured: leave it out",
            ));
        }
        None => {
            return Err(refuse(
                name,
                "is no result: it has no \"schema\"; give what measure --format json or --out writes",
            ));
        }
    }
    let measurement = Measurement::deserialize(value).map_err(|error| {
        let why = taken_over(&error.to_string());
        refuse(name, &format!("is no whole result: {why}"))
    })?;
    check(name, &measurement)?;
    Ok(measurement)
}

/// Refuses figures that no measurement gives: without doubt, or not above zero where they must be.
fn check(name: &str, m: &Measurement) -> Result<()> {
    let picks = m.picks.as_ref();
    let positive = [
        ("scale.px_per_mm", Some(m.scale.px_per_mm)),
        ("length_mm", m.length_mm),
        ("picks.per_inch", picks.map(|picks| picks.per_inch)),
        ("width.mean_mm", m.width.as_ref().map(|width| width.mean_mm)),
    ];
    let edges = m.selvedges.as_ref();
    let any = [
        (
            "picks.spacing_cv_percent",
            picks.and_then(|picks| picks.spacing_cv_percent),
        ),
        (
            "beat.drift_percent",
            m.beat.as_ref().map(|beat| beat.drift_percent),
        ),
        (
            "beat.rhythm_percent",
            m.beat.as_ref().and_then(|beat| beat.rhythm_percent),
        ),
        ("draw_in_percent", m.draw_in_percent),
        ("selvedges.left.wq_mm", edges.map(|edges| edges.left.wq_mm)),
        (
            "selvedges.right.wq_mm",
            edges.map(|edges| edges.right.wq_mm),
        ),
    ];
    let without_doubt = |quantity: Quantity| {
        !(quantity.value.is_finite() && quantity.u95.is_finite() && quantity.u95 > 0.0)
    };
    for (place, quantity) in positive {
        if quantity.is_some_and(|q| without_doubt(q) || q.value <= 0.0) {
            return Err(refuse(
                name,
                &format!("has a {place} that is not above zero, or without its u95"),
            ));
        }
    }
    for (place, quantity) in any {
        if quantity.is_some_and(without_doubt) {
            return Err(refuse(name, &format!("has a {place} without its u95")));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measurement::made::Made;

    fn text() -> String {
        serde_json::to_string(&Made::default().measurement()).unwrap()
    }

    #[test]
    fn a_result_is_read_back_as_it_was_written() {
        let read = results_from_json("a.json", &text()).unwrap();
        assert_eq!(read, [Made::default().measurement()]);
        let two = format!("{}\n{}\n", text(), text());
        assert_eq!(results_from_json("a.json", &two).unwrap().len(), 2);
    }

    #[test]
    fn what_is_no_result_of_this_version_is_refused_with_what_to_do() {
        let other = text().replace("evenfell/measurement/1", "evenfell/measurement/2");
        let doubtless = text().replace("\"u95\":0.04", "\"u95\":0.0");
        let negative = text().replace("\"value\":10.0", "\"value\":-10.0");
        let mixed = format!("{}\n{other}", text());
        for (text, says) in [
            ("", "empty"),
            ("{", "isn't JSON"),
            ("[]", "no \"schema\""),
            ("{\"schema\":\"evenfell/yardage/1\"}", "not a measured band"),
            (
                "{\"photo\":\"a.jpg\",\"error\":\"blurred\"}",
                "couldn't be measured",
            ),
            ("{\"schema\":\"evenfell/measurement/1\"}", "no whole result"),
            (&other, "measure the photo again"),
            (&mixed, "measure the photo again"),
            (&doubtless, "without its u95"),
            (&negative, "not above zero"),
            (&"[".repeat(100_000), "isn't JSON"),
        ] {
            let error = results_from_json("a.json", text).unwrap_err();
            assert_eq!(error.exit_code(), 2);
            assert!(error.to_string().contains(says), "{error}");
        }
    }
}
