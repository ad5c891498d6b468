//! What was found, as lines in the photo and as places on the band.
//!
//! The page draws the lines over the photo; to turn a place in the photo into one on the band it has
//! the axis: the centre line in pixels, with the place along it and the step of a millimetre across.

use evenfell::corrections::Ruler;
use evenfell::geometry::Point;
use evenfell::measure::ruler;
use evenfell::plan::Plan;
use evenfell::report::PickMark;
use serde_json::{Value, json};

use crate::one::{Found, Looked, Measured};

/// Places of a selvedge that are drawn at most.
const MOST_PLACES: usize = 1200;
/// Distance between the axis's places, mm.
const AXIS_STEP_MM: f64 = 1.0;
/// Axis places at most.
const MOST_AXIS: f64 = 3000.0;

/// The marks of a measured band.
pub(super) fn marks(
    measured: &Measured,
    found: &Found,
    looked: &Looked,
    plan: Option<&Plan>,
) -> Value {
    let ruler = ruler(&looked.seen, &looked.view, plan);
    let overlay = &measured.overlay;
    let own = looked.seen.found.track.as_ref();
    let own_centres = own.map_or(&[][..], |track| &track.centres_mm);
    let centres = found
        .track
        .as_ref()
        .map_or(&[][..], |track| &track.centres_mm);
    let body = found
        .track
        .as_ref()
        .map_or(found.trace.cloth_mm, |track| track.body_mm);
    let own_body = own.map_or(looked.seen.trace.cloth_mm, |track| track.body_mm);
    let picks: Vec<Value> = overlay
        .picks
        .iter()
        .zip(centres)
        .map(|(pick, centre)| {
            let own = own_number(own_centres, *centre);
            pick_at(pick, ruler.at(*centre), own)
        })
        .collect();
    json!({
        "left": thinned(&overlay.left),
        "right": thinned(&overlay.right),
        "ends": overlay.body_ends.map(|ends| ends.map(|end| end.map(place))),
        "body": [round(ruler.at(body.0), 3), round(ruler.at(body.1), 3)],
        "own_body": [round(ruler.at(own_body.0), 3), round(ruler.at(own_body.1), 3)],
        "own_count": own_centres.len(),
        "picks": picks,
        "axis": axis(looked, &ruler),
    })
}

/// The marks of cloth that fills the picture: its picks, and nothing to put right.
pub(super) fn cloth_marks(measured: &Measured) -> Value {
    let places = measured.measurement.picks.as_ref();
    let places = places.map_or(&[][..], |picks| &picks.positions_mm);
    let picks: Vec<Value> = measured
        .overlay
        .picks
        .iter()
        .zip(places)
        .map(|(pick, at)| pick_at(pick, *at, Some(pick.number as usize)))
        .collect();
    json!({
        "left": [],
        "right": [],
        "ends": null,
        "body": [0, 0],
        "own_body": [0, 0],
        "own_count": picks.len(),
        "picks": picks,
        "axis": [],
    })
}

/// A pick's line, its place on the band in mm, and its number before anything was put right.
fn pick_at(pick: &PickMark, at: f64, own: Option<usize>) -> Value {
    json!({
        "number": pick.number,
        "at": round(at, 3),
        "ends": pick.ends.map(place),
        "own": own,
    })
}

/// The number that the program gives by itself to the pick at a place, where it is the same pick.
fn own_number(own: &[f64], centre: f64) -> Option<usize> {
    own.iter()
        .position(|at| (at - centre).abs() < 1e-9)
        .map(|index| index + 1)
}

/// Places along the centre line of all that was laid straight.
fn axis(looked: &Looked, ruler: &Ruler) -> Vec<Value> {
    let straight = &looked.seen.trace.straight;
    let rows = straight.lab[0].nrows().saturating_sub(1) as f64;
    let (from, to) = (straight.s0_mm, straight.s0_mm + rows * straight.step_mm);
    let steps = ((to - from) / AXIS_STEP_MM).ceil().clamp(1.0, MOST_AXIS);
    let px = |s: f64, t: f64| looked.view.to_px(straight.centre_line.place(s, t));
    let mut places = Vec::new();
    let mut step = 0.0;
    while step <= steps {
        let s = from + (to - from) * step / steps;
        let (middle, right) = (px(s, 0.0), px(s, 1.0 / ruler.across.factor));
        places.push(json!([
            round(ruler.at(s), 4),
            round(middle.x, 3),
            round(middle.y, 3),
            round(right.x - middle.x, 5),
            round(right.y - middle.y, 5),
        ]));
        step += 1.0;
    }
    places
}

/// A line with no more places than can be seen.
fn thinned(line: &[Point]) -> Vec<Value> {
    let every = line.len().div_ceil(MOST_PLACES).max(1);
    let last = line.len().checked_sub(1);
    let kept = line
        .iter()
        .enumerate()
        .filter(|(index, _)| index % every == 0 || Some(*index) == last);
    kept.map(|(_, point)| place(*point)).collect()
}

fn place(point: Point) -> Value {
    json!([round(point.x, 2), round(point.y, 2)])
}

/// Rounded to so many digits: what is drawn needs no more.
fn round(value: f64, digits: i32) -> f64 {
    let unit = 10_f64.powi(digits);
    (value * unit).round() / unit
}
