//! Places in a photo where a card may lie.

use image::{GrayImage, RgbImage};

use crate::geometry::Point;
use crate::markers::edges::{self, Outward, Side};
use crate::markers::{light, quads};

/// Longest side of the small picture, px.
const SMALL_SIDE: u32 = 800;

/// Levels at which each colour is cut.
const LEVELS: u8 = 16;

/// Shortest side of a card in the small picture, px: sides can't be told straight below.
const SHORTEST: f64 = 40.0;

/// Longer over shorter side that a card may show, tilted by some 35°; 1.586 seen level.
const SHAPES: std::ops::RangeInclusive<f64> = 1.25..=2.0;

/// Root mean square departure from straight lines that a card's sides may show, px.
const STRAIGHT_PX: f64 = 1.5;

/// The four sides of what may be a card; side 0 is a long one.
#[derive(Clone, Debug)]
pub(super) struct Candidate {
    pub(super) sides: [Side; 4],
    pub(super) corners: [Point; 4],
}

/// Finds what may be a card.
pub(super) fn candidates(photo: &RgbImage) -> Vec<Candidate> {
    let longer = photo.width().max(photo.height());
    let factor = longer.div_ceil(SMALL_SIDE).max(1);
    let mut shapes: Vec<[Point; 4]> = Vec::new();
    for picture in pictures(photo, factor) {
        for level in 1..LEVELS {
            let cut = level * (u8::MAX / LEVELS);
            for bright in [true, false] {
                let mut mask = picture.clone();
                for pixel in mask.iter_mut() {
                    *pixel = if (*pixel > cut) == bright { u8::MAX } else { 0 };
                }
                for shape in quads::of_mask(&mask) {
                    let known = shapes.iter().any(|other| same(other, &shape));
                    if is_card_like(&shape) && !known {
                        shapes.push(shape);
                    }
                }
            }
        }
    }
    let scale = f64::from(factor);
    shapes
        .iter()
        .filter_map(|shape| refined(photo, shape, scale))
        .collect()
}

/// Lightness and the three colours, made small.
fn pictures(photo: &RgbImage, factor: u32) -> Vec<GrayImage> {
    let mut all = vec![light::shrunk(photo, factor)];
    let (width, height) = all[0].dimensions();
    for channel in 0..3 {
        all.push(GrayImage::from_fn(width, height, |x, y| {
            let middle = factor / 2;
            let pixel = photo.get_pixel(x * factor + middle, y * factor + middle);
            image::Luma([pixel.0[channel]])
        }));
    }
    all
}

fn side_lengths(corners: &[Point; 4]) -> [f64; 4] {
    [0, 1, 2, 3].map(|i| corners[i].distance(corners[(i + 1) % 4]))
}

fn is_card_like(corners: &[Point; 4]) -> bool {
    let s = side_lengths(corners);
    let (a, b) = (f64::midpoint(s[0], s[2]), f64::midpoint(s[1], s[3]));
    a.min(b) >= SHORTEST && SHAPES.contains(&(a.max(b) / a.min(b)))
}

/// Whether two shapes have their corners at the same places, in whatever order.
fn same(a: &[Point; 4], b: &[Point; 4]) -> bool {
    a.iter().all(|p| b.iter().any(|q| p.distance(*q) < 2.5))
}

fn refined(photo: &RgbImage, shape: &[Point; 4], scale: f64) -> Option<Candidate> {
    let mut start = shape.map(|p| {
        let at = |v: f64| v * scale + 0.5 * (scale - 1.0);
        Point::new(at(p.x), at(p.y))
    });
    let s = side_lengths(&start);
    if s[0] + s[2] < s[1] + s[3] {
        start.rotate_left(1);
    }
    // Round corners put the four starting corners inside the card by up to 1.3 mm of its 85.6.
    let reach_px = 2.0 * scale + 2.0 + 0.016 * s[0].max(s[1]);
    [Outward::Brighter, Outward::Darker]
        .into_iter()
        .filter_map(|outward| {
            let sides = edges::refine(photo, &start, reach_px, outward)?;
            let rms = edges::straightness(&sides)?;
            let corners = edges::corners_of(&sides, |p| p)?;
            (rms < STRAIGHT_PX).then_some((rms, Candidate { sides, corners }))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, candidate)| candidate)
}
