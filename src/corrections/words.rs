//! What a person changed, in words.

use super::{BY_HAND_U_MM, Corrections};
use crate::band::StartEnd;
use crate::measurement::{Side, Warning};

/// What was put right, in a sentence; `None` where nothing was.
///
/// ```
/// use evenfell::corrections::{Corrections, corrections_sentence};
/// assert_eq!(corrections_sentence(&Corrections::default()), None);
/// let corrections = Corrections { deleted_picks: vec![41], ..Corrections::default() };
/// let text = corrections_sentence(&corrections).expect("a pick was taken out");
/// assert!(text.starts_with("put right by hand: pick 41 taken out"));
/// ```
#[must_use]
pub fn corrections_sentence(corrections: &Corrections) -> Option<String> {
    if corrections.is_empty() {
        return None;
    }
    let mut parts = Vec::new();
    parts.extend(corrections.start.map(start_words));
    parts.extend(body_words(corrections));
    for line in &corrections.selvedges {
        let side = match line.side {
            Side::Left => "left",
            Side::Right => "right",
        };
        let (from, to) = line.stretch_mm().unwrap_or_default();
        parts.push(format!(
            "the {side} selvedge sought again within {} mm of a line from {} to {} mm",
            mm(line.within_mm),
            mm(from),
            mm(to)
        ));
    }
    let numbers: Vec<String> = corrections
        .deleted_picks
        .iter()
        .map(ToString::to_string)
        .collect();
    match numbers.as_slice() {
        [] => {}
        [one] => parts.push(format!("pick {one} taken out")),
        more => parts.push(format!("picks {} taken out", more.join(", "))),
    }
    let places: Vec<String> = corrections
        .inserted_picks_mm
        .iter()
        .map(|at| mm(*at))
        .collect();
    match places.as_slice() {
        [] => {}
        [one] => parts.push(format!("a pick put in at {one} mm")),
        more => parts.push(format!("picks put in at {} mm", more.join(", "))),
    }
    let mut text = format!("put right by hand: {}", parts.join("; "));
    if !corrections.leaves_places() {
        text.push_str(". Places and numbers are those before the change");
    }
    if corrections.places_by_hand() {
        text.push_str(&format!(
            "; what a hand placed is taken to be good to ± {} mm",
            mm(2.0 * BY_HAND_U_MM)
        ));
    }
    Some(text)
}

/// The same as a warning in the result.
#[must_use]
pub fn corrections_warning(corrections: &Corrections) -> Option<Warning> {
    corrections_sentence(corrections).map(|text| Warning {
        code: "put_right".to_owned(),
        text,
    })
}

fn start_words(start: StartEnd) -> String {
    let end = match start {
        StartEnd::Left => "left",
        StartEnd::Right => "right",
        StartEnd::Top => "top",
        StartEnd::Bottom => "bottom",
    };
    format!("the start of the weaving set at the {end} end")
}

fn body_words(corrections: &Corrections) -> Option<String> {
    let body = corrections.body;
    match (body.from_mm, body.to_mm) {
        (Some(from), Some(to)) => Some(format!("the body set from {} to {} mm", mm(from), mm(to))),
        (Some(from), None) => Some(format!("the start of the body set at {} mm", mm(from))),
        (None, Some(to)) => Some(format!("the finish of the body set at {} mm", mm(to))),
        (None, None) => None,
    }
}

/// Millimetres with a decimal, the minus as it is printed everywhere.
fn mm(value: f64) -> String {
    let text = format!("{value:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    text.replacen('-', "−", 1)
}
