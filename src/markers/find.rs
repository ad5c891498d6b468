//! Finds the markers in a photo.

use std::collections::BTreeMap;

use image::RgbImage;
use rayon::prelude::*;

use super::edges::{self, Outward, Side};
use super::{cells, light, quads};
use crate::geometry::Point;

/// Longest side of the small picture in which shapes are looked for first, px.
///
/// A marker that is a twentieth of the photo's width is 60 px wide there, 7 to a cell.
const FIRST_SIDE: u32 = 1300;

/// The same for a second look, where the first one found too few.
const SECOND_SIDE: u32 = 2600;

/// A marker that was found.
#[derive(Clone, Debug)]
pub struct Found {
    /// Which marker.
    pub marker: usize,
    /// Its corners, px: top left, top right, bottom right, bottom left of the upright marker.
    pub corners: [Point; 4],
    /// How many of its cells were read wrongly.
    pub wrong_cells: u32,
    /// The places on its sides that the corners come from; `sides[i]` leads from corner `i` to
    /// the next.
    pub(crate) sides: [Side; 4],
}

/// Finds the markers in a photo, in the order of their numbers; a second, finer look is taken
/// where the first finds fewer than `enough`.
///
/// ```
/// let paper = image::RgbImage::from_pixel(300, 200, image::Rgb([250; 3]));
/// assert!(evenfell::markers::find(&paper, 4).is_empty());
/// ```
#[must_use]
pub fn find(photo: &RgbImage, enough: usize) -> Vec<Found> {
    let longer = photo.width().max(photo.height());
    let factor = |side: u32| longer.div_ceil(side).max(1);
    let first = look(photo, factor(FIRST_SIDE));
    if first.len() >= enough || factor(SECOND_SIDE) == factor(FIRST_SIDE) {
        return first;
    }
    let second = look(photo, factor(SECOND_SIDE));
    if second.len() > first.len() {
        second
    } else {
        first
    }
}

fn look(photo: &RgbImage, factor: u32) -> Vec<Found> {
    let small = light::shrunk(photo, factor);
    let scale = f64::from(factor);
    let mut found: BTreeMap<usize, Found> = BTreeMap::new();
    let shapes = quads::find(&small);
    let seen: Vec<Option<Found>> = shapes
        .par_iter()
        .map(|shape| read(photo, &outline(shape, scale), scale))
        .collect();
    for seen in seen.into_iter().flatten() {
        // Of two shapes with the same code the one read better is the marker.
        let better = found
            .get(&seen.marker)
            .is_none_or(|known| seen.wrong_cells < known.wrong_cells);
        if better {
            found.insert(seen.marker, seen);
        }
    }
    found.into_values().collect()
}

/// The shape's outline in the photo: from the middles of its border's pixels, which lie inside
/// it, outwards by half a pixel of the small picture.
fn outline(shape: &[Point; 4], scale: f64) -> [Point; 4] {
    let sum = shape
        .iter()
        .fold(Point::default(), |a, p| Point::new(a.x + p.x, a.y + p.y));
    let middle = Point::new(sum.x / 4.0, sum.y / 4.0);
    shape.map(|corner| {
        let away = corner.distance(middle);
        let grow = (away + std::f64::consts::FRAC_1_SQRT_2) / away;
        let at = |c: f64, m: f64| (m + grow * (c - m)) * scale + 0.5 * (scale - 1.0);
        Point::new(at(corner.x, middle.x), at(corner.y, middle.y))
    })
}

fn read(photo: &RgbImage, outline: &[Point; 4], scale: f64) -> Option<Found> {
    let reading = cells::of(photo, outline)?;
    let reach_px = 1.5 * scale + 1.5;
    let sides = edges::refine(photo, outline, reach_px, Outward::Brighter)?;
    let corners = edges::corners_of(&sides, |p| p)?;
    // Seen corner `i` is the upright marker's corner `i − turns`: a marker turned clockwise by a
    // quarter shows its top left corner where the top right one would be.
    let mut upright_corners = corners;
    let mut upright_sides = sides;
    upright_corners.rotate_left(reading.quarter_turns);
    upright_sides.rotate_left(reading.quarter_turns);
    Some(Found {
        marker: reading.marker,
        corners: upright_corners,
        wrong_cells: reading.wrong_cells,
        sides: upright_sides,
    })
}
