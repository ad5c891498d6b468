//! What the reader is told about a photo of the sheet, and what would better it.

use super::fit::PlaneFit;
use super::view::Sheet;
use crate::geometry::Point;
use crate::markers;
use crate::photo::Photo;
use crate::scale::View;
use crate::sheet::Marker;

/// Share of the picture's width or height that the page takes in a well-framed photo, at least.
const FILLING: f64 = 0.8;

/// Lightness of the darkest paper beside a marker over that of the lightest, at least, in even
/// light.
const EVEN: f64 = 0.6;

/// Pixels a millimetre below which fine picks blur together.
const FINE_PX_PER_MM: f64 = 6.0;

/// Share of the picture's width or height, whichever is more, that the page takes.
fn filling(view: &View, sheet: &Sheet, photo: &Photo) -> f64 {
    let (w, h) = sheet.layout.paper.size_mm();
    let corners =
        [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)].map(|(x, y)| view.to_px(Point::new(x, y)));
    let extent = |of: fn(&Point) -> f64, side: u32| {
        let (low, high) = corners
            .iter()
            .map(of)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| {
                (a.min(v), b.max(v))
            });
        (high - low) / f64::from(side)
    };
    let (width, height) = photo.pixels.dimensions();
    extent(|p| p.x, width).max(extent(|p| p.y, height))
}

/// Lightness of the darkest paper beside a marker over that of the lightest.
fn evenness(photo: &Photo, fitted: &PlaneFit, view: &View) -> f64 {
    // The paper just outside a marker's corners, by the marker's own cells.
    let beside = |marker: &Marker| {
        let lights = marker.corners().map(|corner| {
            let away = |c: f64, m: f64| m + 1.12 * (c - m);
            let place = Point::new(
                away(corner.x, marker.centre.x),
                away(corner.y, marker.centre.y),
            );
            markers::light::at(&photo.pixels, view.to_px(place)).unwrap_or(0.0)
        });
        lights.into_iter().fold(0.0, f64::max)
    };
    let (low, high) = fitted
        .used
        .iter()
        .map(|(marker, _)| beside(marker))
        .fold((f64::INFINITY, 0.0_f64), |(a, b), v| (a.min(v), b.max(v)));
    if high > 0.0 { low / high } else { 1.0 }
}

/// What the reader is told about the photo of the sheet, and what would better it.
pub(super) fn tell(view: &mut View, photo: &Photo, sheet: &Sheet, fitted: &PlaneFit) {
    let all = sheet.layout.markers().len();
    let window = sheet.layout.window();
    let px_per_mm = view.px_per_mm(window.centre());
    let rms = fitted.rms_px();
    let mut used: Vec<usize> = fitted.used.iter().map(|(m, _)| m.id).collect();
    used.sort_unstable();
    let ids: Vec<String> = used.iter().map(ToString::to_string).collect();
    view.notes.push(format!(
        "{} sheet, {} of {all} markers used ({}), {rms:.2} px from where they should be; {px_per_mm:.1} px per mm",
        sheet.layout.paper.name(),
        used.len(),
        ids.join(" ")
    ));
    if let Some((height, u)) = view.camera_height_mm {
        view.notes.push(format!(
            "camera {height:.0} ± {:.0} mm above the sheet, tilted by {:.0}°",
            1.96 * u,
            view.tilt.to_degrees()
        ));
    }
    let mut advice = Vec::new();
    if filling(view, sheet, photo) < FILLING {
        advice.push("go closer, so that the sheet fills the picture");
    } else if px_per_mm < FINE_PX_PER_MM {
        advice.push("let the camera store its full size");
    }
    if evenness(photo, fitted, view) < EVEN {
        advice.push("light the sheet evenly, without the phone's shadow on it");
    }
    if view.tilt.to_degrees() > 15.0 {
        advice.push("hold the camera level above the sheet");
    }
    if used.len() * 2 < all {
        advice.push("show more of the sheet, and cover fewer of its markers");
    }
    if rms > 0.5 {
        advice.push("lay the sheet flat and hold still");
    }
    if !advice.is_empty() {
        view.notes.push(format!("next time: {}", advice.join("; ")));
    }
}
