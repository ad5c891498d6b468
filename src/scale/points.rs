//! The scale from two places in the photo and how far apart they are.
//!
//! Each place is known to a pixel or so, the length to what was typed; the two doubts add in
//! squares. The camera is taken to look straight down: nothing in two places tells of a tilt. Across
//! the known length the scale is a little less sure: a scanner's two axes differ.

use crate::geometry::Point;
use crate::measurement::ScaleMethod;
use crate::photo::Photo;
use crate::units::MM_PER_INCH;
use crate::{Error, Result};

use super::request::DPI_RANGE;
use super::{ScaleOptions, TypedLength, View};

/// The view from two places in the photo and their distance.
pub(super) fn from_points(
    photo: &Photo,
    (from, to): (Point, Point),
    length: TypedLength,
    options: &ScaleOptions,
) -> Result<View> {
    let wrong = |why: String| Error::Request {
        what: "--scale points".to_owned(),
        why,
    };
    let (width, height) = photo.pixels.dimensions();
    for place in [from, to] {
        let inside = |at: f64, side: u32| (-0.5..=f64::from(side) - 0.5).contains(&at);
        if !(inside(place.x, width) && inside(place.y, height)) {
            return Err(wrong(format!(
                "the place {},{} lies outside the photo, which is {width} × {height} pixels \
                 after its orientation is applied",
                place.x, place.y
            )));
        }
    }
    let distance_px = from.distance(to);
    if distance_px < options.least_points_px {
        return Err(wrong(format!(
            "the two places are {distance_px:.1} pixels apart, and {} are needed: take two \
             places far apart",
            options.least_points_px
        )));
    }
    let px_per_mm = distance_px / length.mm;
    if !DPI_RANGE.contains(&(px_per_mm * MM_PER_INCH)) {
        return Err(wrong(format!(
            "{distance_px:.0} pixels for {} mm make {px_per_mm:.3} pixels a millimetre, which \
             no photo of a band has: check the length and its unit",
            length.mm
        )));
    }
    let clicks_u = std::f64::consts::SQRT_2 * options.point_u_px / distance_px;
    let relative_u = clicks_u.hypot(length.u_mm / length.mm);
    let mut view = View::level((px_per_mm, px_per_mm), relative_u, ScaleMethod::Points);
    view.known_along = Some(Point::new(
        (to.x - from.x) / distance_px,
        (to.y - from.y) / distance_px,
    ));
    Ok(view)
}
