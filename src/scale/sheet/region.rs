//! Which part of the sheet the band lies in: the window, or beyond it where the band covers the
//! start mark or a marker beside the window.

use image::RgbImage;

use crate::geometry::Point;
use crate::markers::light;
use crate::scale::View;
use crate::sheet::{Layout, Marker, Rect};

/// How much lighter bare paper must be than a printed mark for the mark to be in view.
const LIGHTER: f64 = 1.5;

/// How far beyond the page's edge a long band is looked for, mm.
const BEYOND_PAGE_MM: f64 = 80.0;

/// The rectangle, drawn millimetres; `print` is how many real ones a drawn one is.
pub(super) fn of(
    photo: &RgbImage,
    view: &View,
    layout: &Layout,
    seen: &[Marker],
    print: f64,
) -> Rect {
    let window = layout.window();
    let (page, _) = layout.paper.size_mm();
    let light = |place: Point| {
        light::at(
            photo,
            view.to_px(Point::new(place.x * print, place.y * print)),
        )
    };
    let clear = |left: bool| {
        let here = |x: f64| (x < 0.5 * page) == left;
        let all = layout.markers();
        let beside = all
            .iter()
            .filter(|m| here(m.centre.x) && is_beside(m, &window));
        let markers_seen = beside.clone().all(|m| seen.iter().any(|s| s.id == m.id));
        let mark_seen = beside.map(|m| m.centre.x).next().is_some_and(|x| {
            // The mark is symmetric about a level 2.5 mm above the window's middle.
            let level = window.centre().y - 2.5;
            let at = |dx: f64, dy: f64| light(Point::new(x + dx, level + dy));
            [-2.0, 0.0, 2.0].iter().all(|&dx| {
                matches!((at(dx, 0.0), at(dx, -9.0)), (Some(mark), Some(paper)) if paper > LIGHTER * mark)
            })
        });
        markers_seen && mark_seen
    };
    let left = if clear(true) {
        window.x
    } else {
        -BEYOND_PAGE_MM
    };
    let right = if clear(false) {
        window.x + window.width
    } else {
        page + BEYOND_PAGE_MM
    };
    Rect::new(left, window.y, right - left, window.height)
}

fn is_beside(marker: &Marker, window: &Rect) -> bool {
    (window.y..window.y + window.height).contains(&marker.centre.y)
}
