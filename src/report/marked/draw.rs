//! Smooth lines and filled shapes on a picture.
//!
//! A line covers a pixel by as much as its edge is half a pixel away; pixel centres are at
//! integers.

use image::{Rgb, RgbImage};

use crate::geometry::Point;

use super::digits;

/// A pen: colour, width (px) and how much it hides (0 … 1).
#[derive(Clone, Copy, Debug)]
pub(super) struct Pen {
    pub(super) colour: [u8; 3],
    pub(super) width: f64,
    pub(super) cover: f64,
}

impl Pen {
    /// The dark rim that makes a bright line readable on any cloth.
    pub(super) fn rim(self, extra: f64) -> Self {
        Self {
            colour: [16, 22, 26],
            width: self.width + 2.0 * extra,
            cover: self.cover * 0.9,
        }
    }
}

/// Draws a straight line with round ends.
pub(super) fn line(picture: &mut RgbImage, from: Point, to: Point, pen: Pen) {
    polyline(picture, &[from, to], pen);
}

/// Draws a line through corners; where it overlaps itself nothing is painted twice within a
/// segment's own box.
pub(super) fn polyline(picture: &mut RgbImage, corners: &[Point], pen: Pen) {
    for (index, pair) in corners.windows(2).enumerate() {
        let before = index.checked_sub(1).map(|i| (corners[i], pair[0]));
        segment(picture, (pair[0], pair[1]), before, pen);
    }
}

/// The pieces of a line that is broken into dashes and gaps of one length, px.
pub(super) fn dashes(corners: &[Point], length: f64) -> Vec<Vec<Point>> {
    let (mut dashes, mut way): (Vec<Vec<Point>>, f64) = (Vec::new(), 0.0);
    let mut drawn = false;
    for pair in corners.windows(2) {
        way += pair[0].distance(pair[1]);
        let draws = (way / length) % 2.0 < 1.0;
        match dashes.last_mut().filter(|_| drawn) {
            Some(dash) if draws => dash.push(pair[1]),
            _ if draws => dashes.push(pair.to_vec()),
            _ => {}
        }
        drawn = draws;
    }
    dashes
}

/// Paints one segment, leaving out what the segment before has painted already.
fn segment(picture: &mut RgbImage, this: (Point, Point), before: Option<(Point, Point)>, pen: Pen) {
    let reach = pen.width / 2.0 + 1.0;
    let low = |a: f64, b: f64| (a.min(b) - reach).floor().max(0.0);
    let high = |a: f64, b: f64, size: u32| (a.max(b) + reach).ceil().min(f64::from(size) - 1.0);
    let (x0, y0) = (low(this.0.x, this.1.x), low(this.0.y, this.1.y));
    let x1 = high(this.0.x, this.1.x, picture.width());
    let y1 = high(this.0.y, this.1.y, picture.height());
    if !(x0 <= x1 && y0 <= y1) {
        return;
    }
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to the picture"
    )]
    let (xs, ys) = (x0 as u32..=x1 as u32, y0 as u32..=y1 as u32);
    let outside = pen.width / 2.0 + 0.5;
    for y in ys {
        for x in xs.clone() {
            let here = Point::new(f64::from(x), f64::from(y));
            let covers = |(a, b)| {
                let squared = distance_squared(here, a, b);
                if squared < outside * outside {
                    (outside - squared.sqrt()).clamp(0.0, 1.0)
                } else {
                    0.0
                }
            };
            let share = covers(this);
            if share > 0.0 && before.is_none_or(|old| covers(old) < share) {
                blend(picture, x, y, pen.colour, share * pen.cover);
            }
        }
    }
}

/// Distance of a place from a segment, squared.
fn distance_squared(place: Point, from: Point, to: Point) -> f64 {
    let (dx, dy) = (to.x - from.x, to.y - from.y);
    let length2 = dx * dx + dy * dy;
    let share = if length2 > 0.0 {
        (((place.x - from.x) * dx + (place.y - from.y) * dy) / length2).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let (x, y) = (place.x - from.x - share * dx, place.y - from.y - share * dy);
    x * x + y * y
}

/// Mixes a colour into a pixel.
fn blend(picture: &mut RgbImage, x: u32, y: u32, colour: [u8; 3], share: f64) {
    let Rgb(under) = picture.get_pixel_mut(x, y);
    for (old, new) in under.iter_mut().zip(colour) {
        let mixed = f64::from(*old) + share * (f64::from(new) - f64::from(*old));
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a mean of two bytes"
        )]
        let byte = (mixed + 0.5) as u8;
        *old = byte;
    }
}

/// Draws a number upright, its middle at `centre`, digits `height` px high, with a dark rim.
pub(super) fn number(picture: &mut RgbImage, number: u32, centre: Point, height: f64, pen: Pen) {
    let text = number.to_string();
    let left = centre.x - digits::width(&text) * height / 2.0;
    let top = centre.y - height / 2.0;
    for pen in [pen.rim(pen.width * 0.9), pen] {
        let mut x = left;
        for digit in text.chars() {
            for stroke in digits::strokes(digit) {
                let place = |&(u, v): &(f64, f64)| Point::new(x + u * height, top + v * height);
                let corners: Vec<Point> = stroke.iter().map(place).collect();
                polyline(picture, &corners, pen);
            }
            x += digits::ADVANCE * height;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_covers_its_pixels_and_leaves_the_others() {
        let mut picture = RgbImage::new(7, 5);
        let pen = Pen {
            colour: [200, 100, 0],
            width: 1.0,
            cover: 1.0,
        };
        line(
            &mut picture,
            Point::new(1.0, 2.0),
            Point::new(5.0, 2.0),
            pen,
        );
        assert_eq!(picture.get_pixel(3, 2).0, [200, 100, 0]);
        assert_eq!(picture.get_pixel(3, 0).0, [0, 0, 0]);
        assert_eq!(picture.get_pixel(6, 4).0, [0, 0, 0]);
    }

    #[test]
    fn a_broken_line_is_half_gaps_and_starts_with_a_dash() {
        let corners: Vec<Point> = (0..=100).map(|x| Point::new(f64::from(x), 3.0)).collect();
        let dashes = dashes(&corners, 10.0);
        assert_eq!(dashes.len(), 6);
        assert_eq!(dashes[1].first().map(|p| p.x), Some(19.0));
        assert_eq!(dashes[1].last().map(|p| p.x), Some(29.0));
    }

    #[test]
    fn a_line_outside_the_picture_paints_nothing() {
        let mut picture = RgbImage::new(3, 2);
        let pen = Pen {
            colour: [255, 255, 255],
            width: 3.0,
            cover: 1.0,
        };
        line(
            &mut picture,
            Point::new(-50.0, -9.0),
            Point::new(-40.0, -9.0),
            pen,
        );
        line(
            &mut picture,
            Point::new(f64::NAN, 0.0),
            Point::new(1.0, 1.0),
            pen,
        );
        assert!(picture.pixels().all(|pixel| pixel.0 == [0, 0, 0]));
    }
}
