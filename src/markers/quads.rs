//! Dark four-cornered shapes in a small grey picture: places where a marker may be.

use image::GrayImage;
use imageproc::contours::{BorderType, find_contours};
use imageproc::contrast::adaptive_threshold;

use crate::geometry::Point;

/// Radius of the neighbourhood that a pixel is held against, as a share of the picture's longer
/// side: wider than a marker's cell, narrower than a shadow's edge is long.
const NEIGHBOURHOOD: f64 = 0.015;

/// How much darker than its neighbourhood a pixel must be, grey levels: above the noise of a
/// dim photo made small, far below a marker's contrast.
const DARKER: i32 = 7;

/// Shortest side of a shape, px of the small picture: three to a cell are needed to read one.
const SHORTEST_SIDE: f64 = 14.0;

/// Longest side over shortest: a square seen at 60° of tilt.
const LONGEST_TO_SHORTEST: f64 = 2.5;

/// How far a border pixel may lie from a straight side: px, and share of the side.
const OFF_SIDE_PX: f64 = 1.5;
const OFF_SIDE_SHARE: f64 = 0.03;

/// Share of the border's pixels that must lie on the sides.
const ON_SIDES: f64 = 0.9;

/// Finds them; corners run clockwise as seen, px of the small picture.
pub(super) fn find(small: &GrayImage) -> Vec<[Point; 4]> {
    let longer = f64::from(small.width().max(small.height()));
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a share of a picture's side"
    )]
    let radius = (NEIGHBOURHOOD * longer).round().max(3.0) as u32;
    if small.width() < 4 || small.height() < 4 {
        return Vec::new();
    }
    let mut dark = adaptive_threshold(small, radius, DARKER);
    for pixel in dark.iter_mut() {
        *pixel = u8::MAX - *pixel;
    }
    of_mask(&dark)
}

/// The four-cornered shapes among the bright pieces of a mask.
pub(crate) fn of_mask(mask: &GrayImage) -> Vec<[Point; 4]> {
    find_contours::<i32>(mask)
        .iter()
        .filter(|border| border.border_type == BorderType::Outer)
        .filter_map(|border| {
            let points: Vec<Point> = border
                .points
                .iter()
                .map(|p| Point::new(f64::from(p.x), f64::from(p.y)))
                .collect();
            four_corners(&points)
        })
        .collect()
}

/// The corners of a border that is a convex four-cornered shape, clockwise as seen.
fn four_corners(border: &[Point]) -> Option<[Point; 4]> {
    #[expect(clippy::cast_precision_loss, reason = "counts of pixels")]
    let count = border.len() as f64;
    if count < 4.0 * SHORTEST_SIDE {
        return None;
    }
    let sum = border
        .iter()
        .fold(Point::default(), |a, p| Point::new(a.x + p.x, a.y + p.y));
    let middle = Point::new(sum.x / count, sum.y / count);
    // The farthest from the middle is a corner, the farthest from it the one opposite; the other
    // two lie farthest to either side of their diagonal.
    let farthest = |from: Point| {
        border
            .iter()
            .copied()
            .max_by(|a, b| a.distance(from).total_cmp(&b.distance(from)))
    };
    let first = farthest(middle)?;
    let third = farthest(first)?;
    let beside = |p: &Point| cross(first, third, *p);
    let second = border
        .iter()
        .copied()
        .min_by(|a, b| beside(a).total_cmp(&beside(b)))?;
    let fourth = border
        .iter()
        .copied()
        .max_by(|a, b| beside(a).total_cmp(&beside(b)))?;
    let corners = [first, second, third, fourth];
    (is_plausible(&corners) && lies_on(border, &corners)).then_some(corners)
}

/// Twice the signed area of a triangle: above zero where `c` lies to the right of the way from
/// `a` to `b` as seen (y points down).
fn cross(a: Point, b: Point, c: Point) -> f64 {
    (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)
}

fn is_plausible(corners: &[Point; 4]) -> bool {
    let next = |i: usize| corners[(i + 1) % 4];
    let sides = [0, 1, 2, 3].map(|i| corners[i].distance(next(i)));
    let shortest = sides.iter().copied().fold(f64::INFINITY, f64::min);
    let longest = sides.iter().copied().fold(0.0, f64::max);
    let convex = (0..4).all(|i| cross(corners[i], next(i), corners[(i + 2) % 4]) > 0.0);
    convex && shortest >= SHORTEST_SIDE && longest <= LONGEST_TO_SHORTEST * shortest
}

fn lies_on(border: &[Point], corners: &[Point; 4]) -> bool {
    let on = border
        .iter()
        .filter(|p| {
            (0..4).any(|i| {
                let (a, b) = (corners[i], corners[(i + 1) % 4]);
                let side = a.distance(b);
                let off = cross(a, b, **p).abs() / side;
                let along = ((b.x - a.x) * (p.x - a.x) + (b.y - a.y) * (p.y - a.y)) / side;
                off <= OFF_SIDE_PX + OFF_SIDE_SHARE * side && (-2.0..=side + 2.0).contains(&along)
            })
        })
        .count();
    #[expect(clippy::cast_precision_loss, reason = "counts of pixels")]
    let share = on as f64 / border.len() as f64;
    share >= ON_SIDES
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::Luma;

    #[test]
    fn a_dark_square_is_found_and_a_disc_is_not() {
        let mut picture = GrayImage::from_pixel(200, 120, Luma([220]));
        for y in 0..120_u32 {
            for x in 0..200_u32 {
                let square = (30..70).contains(&x) && (40..80).contains(&y);
                let disc = x.abs_diff(140).pow(2) + y.abs_diff(60).pow(2) < 400;
                if square || disc {
                    picture.put_pixel(x, y, Luma([40]));
                }
            }
        }
        let found = find(&picture);
        assert_eq!(found.len(), 1, "{found:?}");
        for corner in [(30.0, 40.0), (69.0, 40.0), (69.0, 79.0), (30.0, 79.0)] {
            let corner = Point::new(corner.0, corner.1);
            assert!(
                found[0].iter().any(|p| p.distance(corner) < 1.5),
                "{found:?}"
            );
        }
    }
}
