//! From JSON to corrections, or to what is wrong with them. What needs the band to be judged (does
//! a place lie on it?) is judged when they are applied.

use std::path::Path;

use super::{BodyEnds, CORRECTIONS_SCHEMA, Corrections, SelvedgeLine};
use crate::files::read_at_most;
use crate::units::taken_over;
use crate::{Error, Result};

/// Largest file of corrections that is read, bytes.
pub const MOST_CORRECTION_BYTES: u64 = 1 << 20;
/// Most entries of one kind.
const MOST_ENTRIES: usize = 2000;
/// No band is longer than this, mm.
const LONGEST_MM: f64 = 100_000.0;
/// The narrowest and the widest corridor that a selvedge is sought in, mm either way.
const CORRIDOR_MM: std::ops::RangeInclusive<f64> = 0.2..=5.0;

/// Reads the corrections in the file at `path`.
///
/// # Errors
///
/// [`Error::File`] where it can't be read, else those of [`corrections_from_json`].
pub fn read_corrections(path: &Path) -> Result<Corrections> {
    let bytes = read_at_most(path, MOST_CORRECTION_BYTES + 1)?;
    let name = path.display().to_string();
    if bytes.len() as u64 > MOST_CORRECTION_BYTES {
        return Err(refuse(&name, "is larger than any file of corrections"));
    }
    let text = String::from_utf8(bytes).map_err(|_| {
        refuse(
            &name,
            "is no text: corrections are JSON, as the desk saves them",
        )
    })?;
    corrections_from_json(&name, &text)
}

/// Reads corrections from `text`, which stands in the file `name`.
///
/// # Errors
///
/// [`Error::Request`] where the text is no JSON, has keys that aren't known, or says what can't be.
///
/// ```
/// use evenfell::corrections::corrections_from_json;
/// let text = r#"{ "schema": "evenfell/corrections/1", "body": { "from_mm": 2.5 } }"#;
/// assert_eq!(corrections_from_json("a.json", text)?.body.from_mm, Some(2.5));
/// # Ok::<(), evenfell::Error>(())
/// ```
pub fn corrections_from_json(name: &str, text: &str) -> Result<Corrections> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let corrections: Corrections = serde_json::from_str(text).map_err(|error| {
        let why = taken_over(&error.to_string());
        refuse(name, &format!("can't be understood: {why}"))
    })?;
    check(&corrections).map_err(|why| refuse(name, &why))?;
    Ok(corrections)
}

/// Reads `--body FROM..TO`, mm; either may be left out.
///
/// # Errors
///
/// [`Error::Request`] where the text is no such stretch.
///
/// ```
/// use evenfell::corrections::parse_body;
/// assert_eq!(parse_body("2.5..170")?.to_mm, Some(170.0));
/// assert_eq!(parse_body("2.5..")?.to_mm, None);
/// assert!(parse_body("170..2.5").is_err());
/// # Ok::<(), evenfell::Error>(())
/// ```
pub fn parse_body(text: &str) -> Result<BodyEnds> {
    let form =
        "wants FROM..TO in mm along the band, such as 2.5..170, or one of the two: 2.5.. or ..170";
    let (from, to) = text
        .split_once("..")
        .ok_or_else(|| refuse("--body", &format!("'{text}': {form}")))?;
    let place = |part: &str| -> Result<Option<f64>> {
        let part = part.trim();
        let part = part.strip_suffix("mm").unwrap_or(part).trim();
        if part.is_empty() {
            return Ok(None);
        }
        let number = part.parse::<f64>().ok().filter(|value| value.is_finite());
        let number = number
            .ok_or_else(|| refuse("--body", &format!("'{part}' is no number of mm: {form}")))?;
        Ok(Some(number))
    };
    let body = BodyEnds {
        from_mm: place(from)?,
        to_mm: place(to)?,
    };
    if body.is_empty() {
        return Err(refuse("--body", form));
    }
    check_body(&body).map_err(|why| refuse("--body", &why))?;
    Ok(body)
}

fn refuse(what: &str, why: &str) -> Error {
    Error::Request {
        what: what.to_owned(),
        why: why.to_owned(),
    }
}

fn check(c: &Corrections) -> std::result::Result<(), String> {
    if c.schema != CORRECTIONS_SCHEMA {
        return Err(format!(
            "is of schema {}, and this version reads {CORRECTIONS_SCHEMA}",
            crate::units::quoted(&c.schema)
        ));
    }
    let most = [
        c.selvedges.len(),
        c.inserted_picks_mm.len(),
        c.deleted_picks.len(),
    ];
    if most.into_iter().any(|entries| entries > MOST_ENTRIES) {
        return Err(format!("has more than {MOST_ENTRIES} entries of one kind"));
    }
    check_body(&c.body).map_err(|why| format!("body: {why}"))?;
    for (number, line) in (1..).zip(&c.selvedges) {
        check_line(line).map_err(|why| format!("selvedges, entry {number}: {why}"))?;
    }
    if let Some(at) = c.inserted_picks_mm.iter().find(|at| !on_a_band(**at)) {
        return Err(format!("inserted_picks_mm: no band has a place at {at} mm"));
    }
    let mut numbers = c.deleted_picks.clone();
    numbers.sort_unstable();
    if numbers.first() == Some(&0) {
        return Err("deleted_picks: picks count from 1".to_owned());
    }
    if let Some(pair) = numbers.windows(2).find(|pair| pair[0] == pair[1]) {
        return Err(format!("deleted_picks: pick {} stands twice", pair[0]));
    }
    Ok(())
}

fn on_a_band(mm: f64) -> bool {
    mm.is_finite() && mm.abs() <= LONGEST_MM
}

fn check_body(body: &BodyEnds) -> std::result::Result<(), String> {
    if let Some(at) = [body.from_mm, body.to_mm]
        .into_iter()
        .flatten()
        .find(|at| !on_a_band(*at))
    {
        return Err(format!("no band has a place at {at} mm"));
    }
    match (body.from_mm, body.to_mm) {
        (Some(from), Some(to)) if from >= to => Err(format!(
            "it would start at {from} mm and finish at {to} mm: the start comes first"
        )),
        _ => Ok(()),
    }
}

fn check_line(line: &SelvedgeLine) -> std::result::Result<(), String> {
    if !CORRIDOR_MM.contains(&line.within_mm) {
        return Err(format!(
            "within_mm is {}, and {} to {} mm is what a corridor may be",
            line.within_mm,
            CORRIDOR_MM.start(),
            CORRIDOR_MM.end()
        ));
    }
    if !(2..=MOST_ENTRIES).contains(&line.line.len()) {
        return Err(format!("a line takes 2 to {MOST_ENTRIES} places"));
    }
    let places = line.line.iter();
    if let Some(place) = places
        .clone()
        .find(|place| !on_a_band(place.at_mm) || !on_a_band(place.out_mm))
    {
        return Err(format!(
            "no band has a place at {} mm along and {} mm out",
            place.at_mm, place.out_mm
        ));
    }
    if line
        .line
        .windows(2)
        .any(|pair| pair[0].at_mm >= pair[1].at_mm)
    {
        return Err("its places must follow one another along the band".to_owned());
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_wrong_is_said_with_its_place() {
        let file = |inner: &str| format!("{{ \"schema\": \"{CORRECTIONS_SCHEMA}\", {inner} }}");
        let line = |places: &str, within: &str| {
            file(&format!(
                "\"selvedges\": [{{ \"side\": \"left\", \"within_mm\": {within}, \"line\": [{places}] }}]"
            ))
        };
        let (a, b) = (
            "{ \"at_mm\": 3, \"out_mm\": 17 }",
            "{ \"at_mm\": 9, \"out_mm\": 17 }",
        );
        for (text, says) in [
            ("{".to_owned(), "can't be understood"),
            ("{}".to_owned(), "schema"),
            (
                "{ \"schema\": \"evenfell/corrections/9\" }".to_owned(),
                "corrections/9",
            ),
            (file("\"bodies\": {}"), "unknown field `bodies`"),
            (file("\"body\": { \"from\": 3 }"), "unknown field `from`"),
            (
                file("\"body\": { \"from_mm\": 9, \"to_mm\": 9 }"),
                "the start comes first",
            ),
            (
                file("\"body\": { \"from_mm\": 1e9 }"),
                "no band has a place",
            ),
            (file("\"inserted_picks_mm\": [1e9]"), "no band has a place"),
            (file("\"deleted_picks\": [0]"), "count from 1"),
            (file("\"deleted_picks\": [4, 4]"), "stands twice"),
            (file("\"start\": \"north\""), "north"),
            (line(a, "1"), "2 to 2000 places"),
            (line(&format!("{b}, {a}"), "1"), "follow one another"),
            (line(&format!("{a}, {b}"), "0"), "0.2 to 5"),
        ] {
            let error = corrections_from_json("quay.json", &text).unwrap_err();
            assert_eq!(error.exit_code(), 2);
            let error = error.to_string();
            assert!(
                error.contains(says) && error.contains("quay.json"),
                "{error}"
            );
        }
    }

    #[test]
    fn a_body_is_read_as_it_is_typed() {
        let ends = |text: &str| parse_body(text).map(|body| (body.from_mm, body.to_mm)).ok();
        assert_eq!(ends("2.5..170"), Some((Some(2.5), Some(170.0))));
        assert_eq!(ends("-2 mm .. 170mm"), Some((Some(-2.0), Some(170.0))));
        assert_eq!(ends("..170"), Some((None, Some(170.0))));
        for text in ["", "..", "7", "7..3", "3..3", "a..b", "nan..5", "3..inf"] {
            assert_eq!(ends(text), None, "{text}");
        }
    }
}
