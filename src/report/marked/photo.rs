//! Selvedges, body ends and every pick on the photo.
//!
//! | mark | what |
//! |---|---|
//! | long pale lines | both selvedges, over the whole cloth; broken where they weren't seen and are a guess |
//! | bars across with feet | start and finish of the body; a wedge beside the start points along the weaving |
//! | fine lines across, with ticks outside both selvedges | the picks |
//! | longer ticks with numbers, at the weaver's left | every tenth pick |
//!
//! Where cloth fills the picture there is no outside: the lines along are the sides of what was looked at, the ticks
//! stand inside of them, and every tenth pick is drawn across, its number beside its tick.

use image::RgbImage;

use crate::geometry::Point;
use crate::report::overlay::{Overlay, PickMark};
use crate::report::shrink::at_most;
use crate::stats::median;

use super::draw::{Pen, dashes, line, number, polyline};

/// Pale straw: the lines.
const PALE: [u8; 3] = [255, 226, 112];
/// Length of a dash and of a gap of a broken line, as a share of the band's width.
const DASH: f64 = 0.08;
/// Widest line of a pick inside the cloth, as a share of the picks' distance.
const INSIDE: f64 = 0.2;
/// Length of a tick inside the cloth, as a share of its width, and in picks at least.
const INSIDE_TICK: (f64, f64) = (0.04, 1.5);
/// White: numbers and picks.
const WHITE: [u8; 3] = [255, 255, 255];

/// The photo, at most `longest_px` on its longer side, with the overlay drawn on it.
#[must_use]
pub fn marked_photo(photo: &RgbImage, overlay: &Overlay, longest_px: u32) -> RgbImage {
    let longest = photo.width().max(photo.height());
    let shrink = (f64::from(longest_px) / f64::from(longest.max(1))).min(1.0);
    let mut picture = at_most(photo, longest_px);
    let marks = Marks::new(overlay, shrink);
    marks.draw(&mut picture);
    picture
}

/// An overlay with the sizes of its marks.
struct Marks<'a> {
    overlay: &'a Overlay,
    shrink: f64,
    /// The band's width in the drawn picture, px.
    band_px: f64,
    /// Width of a main line, px.
    stroke: f64,
    /// Distance of the picks in the drawn picture, px.
    spacing_px: f64,
}

impl<'a> Marks<'a> {
    fn new(overlay: &'a Overlay, shrink: f64) -> Self {
        let widths = overlay
            .left
            .iter()
            .zip(&overlay.right)
            .map(|(a, b)| a.distance(*b));
        let widths: Vec<f64> = widths.collect();
        let band_px = median(&widths).map_or(100.0, |width| width * shrink);
        Self {
            overlay,
            shrink,
            band_px,
            stroke: (band_px / 160.0).clamp(1.2, 5.0),
            spacing_px: spacing(&overlay.picks).map_or(band_px, |spacing| spacing * shrink),
        }
    }

    /// A place of the photo in the shrunk picture.
    fn at(&self, place: Point) -> Point {
        let to = |value: f64| (value + 0.5) * self.shrink - 0.5;
        Point::new(to(place.x), to(place.y))
    }

    fn draw(&self, picture: &mut RgbImage) {
        let pen = Pen {
            colour: PALE,
            width: self.stroke,
            cover: 1.0,
        };
        for pick in &self.overlay.picks {
            if self.overlay.cloth_all_over {
                self.pick_inside(picture, pick);
            } else {
                self.pick(picture, pick);
            }
        }
        for edge in [&self.overlay.left, &self.overlay.right] {
            let corners = self.thinned(edge);
            let lines = if self.overlay.selvedges_seen {
                vec![corners]
            } else {
                dashes(&corners, self.band_px * DASH)
            };
            for corners in lines {
                polyline(picture, &corners, pen.rim(self.stroke * 0.6));
                polyline(picture, &corners, pen);
            }
        }
        if let Some(ends) = self.overlay.body_ends {
            self.body_ends(picture, ends, pen);
        }
        let picks = self.overlay.picks.iter();
        for pick in picks.filter(|pick| pick.number.is_multiple_of(10)) {
            if self.overlay.cloth_all_over {
                self.numbered_inside(picture, pick);
            } else {
                self.numbered(picture, pick);
            }
        }
    }

    /// Length of a tick inside the cloth, px.
    fn inside_px(&self) -> f64 {
        let length = (INSIDE_TICK.0 * self.band_px).max(INSIDE_TICK.1 * self.spacing_px);
        length.min(0.4 * self.band_px)
    }

    /// A tick inside either side; every tenth pick finely across.
    fn pick_inside(&self, picture: &mut RgbImage, pick: &PickMark) {
        let [left, right] = pick.ends.map(|place| self.at(place));
        let pen = Pen {
            colour: WHITE,
            width: (self.stroke * 0.7).min(INSIDE * self.spacing_px).max(1.0),
            cover: 1.0,
        };
        for (from, to) in [(left, right), (right, left)] {
            let tip = toward(from, to, self.inside_px());
            line(picture, from, tip, pen.rim(0.7 * pen.width));
            line(picture, from, tip, pen);
        }
        if pick.number.is_multiple_of(10) {
            let pen = Pen {
                colour: PALE,
                ..pen
            };
            let rim = pen.rim(0.5 * pen.width);
            line(picture, left, right, Pen { cover: 0.6, ..rim });
            line(picture, left, right, pen);
        }
    }

    /// The number of a tenth pick, inside of the weaver's left side.
    fn numbered_inside(&self, picture: &mut RgbImage, pick: &PickMark) {
        let [left, right] = pick.ends.map(|place| self.at(place));
        let longest = picture.width().max(picture.height());
        let readable = f64::from(longest) / 120.0;
        let height = (self.band_px * 0.04).max(readable).clamp(11.0, 40.0);
        let centre = toward(left, right, self.inside_px() + 1.2 * height);
        let pen = Pen {
            colour: WHITE,
            width: (height * 0.13).max(1.3),
            cover: 1.0,
        };
        number(picture, pick.number, centre, height, pen);
    }

    /// A selvedge in the shrunk picture, corners at least a pixel apart.
    fn thinned(&self, edge: &[Point]) -> Vec<Point> {
        let mut corners: Vec<Point> = Vec::new();
        for &place in edge {
            let place = self.at(place);
            if corners
                .last()
                .is_none_or(|last| last.distance(place) >= 1.0)
            {
                corners.push(place);
            }
        }
        corners
    }

    /// A fine line across and a tick outside each selvedge.
    fn pick(&self, picture: &mut RgbImage, pick: &PickMark) {
        let [left, right] = pick.ends.map(|place| self.at(place));
        let pen = Pen {
            colour: WHITE,
            width: self.stroke * 0.7,
            cover: 1.0,
        };
        let across = Pen { cover: 0.45, ..pen };
        line(picture, left, right, across);
        for (from, to) in [(left, right), (right, left)] {
            let tick = (from, beyond(to, from, self.band_px * 0.045));
            line(picture, tick.0, tick.1, pen.rim(self.stroke * 0.5));
            line(picture, tick.0, tick.1, pen);
        }
    }

    /// A longer tick with its number, at the weaver's left.
    fn numbered(&self, picture: &mut RgbImage, pick: &PickMark) {
        let [left, right] = pick.ends.map(|place| self.at(place));
        let pen = Pen {
            colour: WHITE,
            width: self.stroke,
            cover: 1.0,
        };
        let tip = beyond(right, left, self.band_px * 0.1);
        line(picture, left, tip, pen.rim(self.stroke * 0.5));
        line(picture, left, tip, pen);
        let height = (self.band_px * 0.085).clamp(9.0, 48.0);
        let centre = beyond(right, left, self.band_px * 0.1 + height * 1.1);
        let pen = Pen {
            width: (height * 0.13).max(1.3),
            ..pen
        };
        number(picture, pick.number, centre, height, pen);
    }

    /// Bars across at both ends of the body; a wedge beside the start.
    fn body_ends(&self, picture: &mut RgbImage, ends: [[Point; 2]; 2], pen: Pen) {
        let pen = Pen {
            width: pen.width * 1.6,
            ..pen
        };
        let reach = self.band_px * 0.16;
        for end in ends {
            let [left, right] = end.map(|place| self.at(place));
            let (from, to) = (beyond(right, left, reach), beyond(left, right, reach));
            line(picture, from, to, pen.rim(self.stroke * 0.6));
            line(picture, from, to, pen);
        }
        let [start, finish] = ends.map(|end| {
            let [left, right] = end.map(|place| self.at(place));
            (left, right)
        });
        let foot = beyond(start.0, start.1, reach);
        let along = beyond(finish.1, start.1, 0.0);
        let ahead = toward(along, finish.1, self.band_px * 0.16);
        let shift = Point::new(ahead.x - start.1.x, ahead.y - start.1.y);
        let tip = toward(foot, start.1, reach * 0.35);
        let wedge = [
            foot,
            Point::new(tip.x + shift.x, tip.y + shift.y),
            toward(foot, start.1, reach * 0.7),
        ];
        polyline(picture, &wedge, pen.rim(self.stroke * 0.6));
        polyline(picture, &wedge, pen);
    }
}

/// Usual distance between the middles of neighbouring picks, px of the photo; `None` of fewer than two.
fn spacing(picks: &[PickMark]) -> Option<f64> {
    let middle = |pick: &PickMark| {
        toward(
            pick.ends[0],
            pick.ends[1],
            0.5 * pick.ends[0].distance(pick.ends[1]),
        )
    };
    let gaps = picks
        .windows(2)
        .map(|pair| middle(&pair[0]).distance(middle(&pair[1])));
    median(&gaps.collect::<Vec<f64>>())
}

/// The place that lies `reach` beyond `to`, seen from `from`.
fn beyond(from: Point, to: Point, reach: f64) -> Point {
    toward(to, from, -reach)
}

/// The place `step` from `from` on the way to `to`.
fn toward(from: Point, to: Point, step: f64) -> Point {
    let length = from.distance(to).max(1e-9);
    let share = step / length;
    Point::new(
        from.x + (to.x - from.x) * share,
        from.y + (to.y - from.y) * share,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_beyond_continues_the_line() {
        let place = beyond(Point::new(0.0, 0.0), Point::new(0.0, 10.0), 2.0);
        assert!(place.distance(Point::new(0.0, 12.0)) < 1e-12);
    }
}
