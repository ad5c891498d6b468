//! The straight sides of a dark or light four-cornered thing, to hundredths of a pixel.
//!
//! # Method
//! 1. Profiles of lightness across each side, at places about a pixel apart over its middle
//!    four fifths (near a corner two edges blur into each other).
//! 2. In each the centroid of the gradient that has the side's own direction; other edges, such
//!    as those of a marker's cells, run the other way or lie out of reach.
//! 3. A total-least-squares line through the centroids, those farther than three robust standard
//!    deviations left out; twice, the second time with a short reach around the first line.
//!
//! # Limits
//! Anything that moves all of a side moves the line: a side half covered by a thread is left out
//! only where the thread covers less than half of it.

use image::RgbImage;

use super::light;
use crate::geometry::Point;

/// Which way the light changes from the inside of a thing to what is around it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Outward {
    /// A dark thing on a lighter ground.
    Brighter,
    /// A light thing on a darker ground.
    Darker,
}

/// One side of a four-cornered thing.
#[derive(Clone, Debug)]
pub(crate) struct Side {
    /// Places on the edge, px.
    pub(crate) places: Vec<Point>,
}

/// A straight line: a place on it and its direction.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Line {
    pub(crate) through: Point,
    pub(crate) along: Point,
    /// Root mean square distance of the places it was fitted to, px.
    pub(crate) rms: f64,
}

/// Part of a side at each end that is left out.
const CORNER_SHARE: f64 = 0.1;

/// Step of a profile, px.
const STEP: f64 = 0.5;

/// Reach of the second pass to either side, px: a blur of 1.5 px has its whole gradient in it,
/// and the next edge, a cell away, stays outside.
const SECOND_REACH: f64 = 4.0;

/// Fewest places on a side that make a line.
const FEWEST_PLACES: usize = 6;

/// Least height of a gradient, grey levels a pixel.
const LEAST_GRADIENT: f64 = 3.0;

/// What of a gradient's height counts as its foot and is taken off, so that noise far from the
/// edge doesn't pull the centroid.
const FOOT: f64 = 0.2;

/// Refines the four sides that join `corners` (clockwise as seen), each known to `reach_px`.
pub(crate) fn refine(
    photo: &RgbImage,
    corners: &[Point; 4],
    reach_px: f64,
    outward: Outward,
) -> Option<[Side; 4]> {
    let first = sides(photo, corners, reach_px, outward)?;
    let better = corners_of(&first, |p| p)?;
    // A start that runs away was no side of this thing.
    if corners
        .iter()
        .zip(&better)
        .any(|(a, b)| a.distance(*b) > 3.0 * reach_px)
    {
        return None;
    }
    sides(photo, &better, SECOND_REACH.min(reach_px.max(2.0)), outward)
}

fn sides(
    photo: &RgbImage,
    corners: &[Point; 4],
    reach_px: f64,
    outward: Outward,
) -> Option<[Side; 4]> {
    let side = |i: usize| places(photo, (corners[i], corners[(i + 1) % 4]), reach_px, outward);
    Some([side(0)?, side(1)?, side(2)?, side(3)?])
}

/// Where the lines through neighbouring sides meet, after `ideal` takes each place on them; the
/// order is that of the corners the sides came from.
pub(crate) fn corners_of(sides: &[Side; 4], ideal: impl Fn(Point) -> Point) -> Option<[Point; 4]> {
    let mut lines = Vec::with_capacity(4);
    for side in sides {
        let places: Vec<Point> = side.places.iter().map(|&p| ideal(p)).collect();
        lines.push(line_through(&places)?);
    }
    let meet = |i: usize| crossing(&lines[(i + 3) % 4], &lines[i]);
    Some([meet(0)?, meet(1)?, meet(2)?, meet(3)?])
}

/// The root mean square distance of the sides' places from their lines, px.
pub(crate) fn straightness(sides: &[Side; 4]) -> Option<f64> {
    let mut sum = 0.0;
    for side in sides {
        sum += line_through(&side.places)?.rms.powi(2);
    }
    Some((sum / 4.0).sqrt())
}

fn places(
    photo: &RgbImage,
    (from, to): (Point, Point),
    reach_px: f64,
    outward: Outward,
) -> Option<Side> {
    let length = from.distance(to);
    let along = Point::new((to.x - from.x) / length, (to.y - from.y) / length);
    // Clockwise as seen with y down: the outside lies to the left of the way along a side.
    let out = Point::new(along.y, -along.x);
    let room = length * (1.0 - 2.0 * CORNER_SHARE);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a count of pixels, bounded"
    )]
    let count = room.clamp(12.0, 96.0) as u32;
    let places: Vec<Point> = (0..count)
        .filter_map(|i| {
            let t = length * CORNER_SHARE + room * (f64::from(i) + 0.5) / f64::from(count);
            let base = Point::new(from.x + t * along.x, from.y + t * along.y);
            let offset = edge_offset(photo, base, out, reach_px, outward)?;
            Some(Point::new(base.x + offset * out.x, base.y + offset * out.y))
        })
        .collect();
    (places.len() >= FEWEST_PLACES.max(count as usize / 2)).then_some(Side { places })
}

/// How far from `base` along `out` the edge lies, px.
fn edge_offset(
    photo: &RgbImage,
    base: Point,
    out: Point,
    reach_px: f64,
    outward: Outward,
) -> Option<f64> {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "a reach of some tens of pixels"
    )]
    let half = (reach_px / STEP).ceil() as i32;
    let light = |i: i32| {
        let u = f64::from(i) * STEP;
        light::at(photo, Point::new(base.x + u * out.x, base.y + u * out.y))
    };
    let sign = match outward {
        Outward::Brighter => 1.0,
        Outward::Darker => -1.0,
    };
    let mut values = Vec::with_capacity(2 * half.unsigned_abs() as usize + 3);
    for i in -half - 1..=half + 1 {
        values.push(light(i)?);
    }
    let gradients: Vec<f64> = values
        .windows(3)
        .map(|v| sign * (v[2] - v[0]) / (2.0 * STEP))
        .collect();
    let (peak, &height) = gradients
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.total_cmp(b.1))?;
    if height < LEAST_GRADIENT {
        return None;
    }
    // The connected stretch around the peak that rises above the foot.
    let above = |g: f64| g - FOOT * height;
    let mut low = peak;
    while low > 0 && above(gradients[low - 1]) > 0.0 {
        low -= 1;
    }
    let mut high = peak;
    while high + 1 < gradients.len() && above(gradients[high + 1]) > 0.0 {
        high += 1;
    }
    let (mut sum, mut moment) = (0.0, 0.0);
    for (i, &gradient) in (0_i32..).zip(&gradients).take(high + 1).skip(low) {
        let weight = above(gradient);
        sum += weight;
        moment += weight * f64::from(i - half) * STEP;
    }
    (sum > 0.0).then(|| moment / sum)
}

/// The line through places, by total least squares with outliers left out.
pub(crate) fn line_through(places: &[Point]) -> Option<Line> {
    let mut line = plain_line(places)?;
    for _ in 0..3 {
        let mut distances: Vec<f64> = places.iter().map(|p| distance(&line, *p)).collect();
        let middle = distances.len() / 2;
        let (_, &mut median, _) = distances.select_nth_unstable_by(middle, f64::total_cmp);
        // 1.4826: from a median deviation to a normal standard deviation. Grey levels are whole:
        // no line is better known than 0.02 px.
        let limit = 3.0 * (1.4826 * median).max(0.02);
        let near: Vec<Point> = places
            .iter()
            .copied()
            .filter(|p| distance(&line, *p) <= limit)
            .collect();
        line = plain_line(&near)?;
    }
    Some(line)
}

fn distance(line: &Line, place: Point) -> f64 {
    let (dx, dy) = (place.x - line.through.x, place.y - line.through.y);
    (dx * line.along.y - dy * line.along.x).abs()
}

fn plain_line(places: &[Point]) -> Option<Line> {
    if places.len() < FEWEST_PLACES {
        return None;
    }
    #[expect(clippy::cast_precision_loss, reason = "a count of places")]
    let n = places.len() as f64;
    let mean = |of: fn(&Point) -> f64| places.iter().map(of).sum::<f64>() / n;
    let through = Point::new(mean(|p| p.x), mean(|p| p.y));
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for p in places {
        let (dx, dy) = (p.x - through.x, p.y - through.y);
        xx += dx * dx;
        xy += dx * dy;
        yy += dy * dy;
    }
    let angle = 0.5 * (2.0 * xy).atan2(xx - yy);
    let along = Point::new(angle.cos(), angle.sin());
    let mut line = Line {
        through,
        along,
        rms: 0.0,
    };
    let square: f64 = places.iter().map(|p| distance(&line, *p).powi(2)).sum();
    line.rms = (square / n).sqrt();
    Some(line)
}

fn crossing(a: &Line, b: &Line) -> Option<Point> {
    let det = a.along.x * b.along.y - a.along.y * b.along.x;
    if det.abs() < 1e-6 {
        return None;
    }
    let (dx, dy) = (b.through.x - a.through.x, b.through.y - a.through.y);
    let t = (dx * b.along.y - dy * b.along.x) / det;
    Some(Point::new(
        a.through.x + t * a.along.x,
        a.through.y + t * a.along.y,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::Rgb;

    /// A dark turned square with soft edges, its corners known exactly.
    fn square(middle: Point, half: f64, angle: f64) -> (RgbImage, [Point; 4]) {
        let (sin, cos) = angle.sin_cos();
        let photo = RgbImage::from_fn(160, 140, |x, y| {
            let (dx, dy) = (f64::from(x) - middle.x, f64::from(y) - middle.y);
            let (u, v) = (cos * dx + sin * dy, -sin * dx + cos * dy);
            let inside = |w: f64| 1.0 / (1.0 + ((w.abs() - half) / 0.55).exp());
            let light = 220.0 - 180.0 * inside(u) * inside(v) + 0.1 * f64::from(x);
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a grey level"
            )]
            let grey = light.round() as u8;
            Rgb([grey; 3])
        });
        let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(|(a, b)| {
            let (u, v) = (a * half, b * half);
            Point::new(middle.x + cos * u - sin * v, middle.y + sin * u + cos * v)
        });
        (photo, corners)
    }

    #[test]
    fn corners_come_out_to_hundredths_of_a_pixel_from_a_rough_start() {
        for (i, angle) in [0.0, 0.2, 0.7, -0.5].into_iter().enumerate() {
            #[expect(clippy::cast_precision_loss, reason = "four cases")]
            let shift = 0.27 * i as f64;
            let (photo, truth) = square(Point::new(80.0 + shift, 70.0 - shift), 40.0, angle);
            let mut start = truth;
            start[0].x += 2.0;
            start[2].y -= 1.5;
            let sides = refine(&photo, &start, 4.0, Outward::Brighter).expect("four sides");
            let found = corners_of(&sides, |p| p).expect("four corners");
            for (a, b) in found.iter().zip(&truth) {
                assert!(a.distance(*b) < 0.03, "{a:?} instead of {b:?}");
            }
            assert!(straightness(&sides).is_some_and(|rms| rms < 0.05));
            assert!(refine(&photo, &start, 4.0, Outward::Darker).is_none());
        }
    }
}
