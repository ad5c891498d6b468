//! How light the photo is: whole pixels made smaller, and between pixels.

use image::{GrayImage, RgbImage};
use rayon::prelude::*;

use crate::geometry::Point;
use crate::photo::{Blocks, Divider};

/// Lightness of a pixel, 0 … 255 000 (ITU-R BT.601 weights in thousandths).
fn weighted(pixel: &[u8]) -> u32 {
    299 * u32::from(pixel[0]) + 587 * u32::from(pixel[1]) + 114 * u32::from(pixel[2])
}

/// The photo's lightness with `factor` × `factor` pixels averaged to one.
///
/// Pixel `i` of the result has its centre at `factor · i + (factor − 1)/2` of the photo; what is
/// left over at the right and the bottom is cut off.
pub(crate) fn shrunk(photo: &RgbImage, factor: u32) -> GrayImage {
    let blocks = Blocks::new(photo, factor);
    let (width, height) = blocks.size;
    let mut small = GrayImage::new(width, height);
    if width == 0 || height == 0 {
        return small;
    }
    let divider = Divider::new(factor * factor);
    let rows = small.par_chunks_mut(width as usize).enumerate();
    rows.for_each(|(y, row)| {
        blocks.row(y, |x, [red, green, blue]| {
            let sum = 299 * u64::from(red) + 587 * u64::from(green) + 114 * u64::from(blue);
            row[x] = divider.byte(u32::try_from(sum / 1000).unwrap_or(u32::MAX));
        });
    });
    small
}

/// Lightness 0 … 255 at a place between pixels (bilinear); `None` outside the photo.
pub(crate) fn at(photo: &RgbImage, place: Point) -> Option<f64> {
    let (x, y) = (place.x.floor(), place.y.floor());
    let inside = |v: f64, side: u32| v >= 0.0 && v + 1.0 < f64::from(side);
    if !(inside(x, photo.width()) && inside(y, photo.height())) {
        return None;
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "whole and inside the photo, as checked above"
    )]
    let first = 3 * (y as usize * photo.width() as usize + x as usize);
    let below = first + 3 * photo.width() as usize;
    let raw = photo.as_raw();
    let light = |i: usize| f64::from(weighted(&raw[i..i + 3])) / 1000.0;
    let (fx, fy) = (place.x - x, place.y - y);
    let top = light(first) * (1.0 - fx) + light(first + 3) * fx;
    let bottom = light(below) * (1.0 - fx) + light(below + 3) * fx;
    Some(top * (1.0 - fy) + bottom * fy)
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::Rgb;

    #[test]
    fn blocks_are_averaged_and_leftovers_cut() {
        let photo = RgbImage::from_fn(7, 5, |x, y| Rgb([u8::try_from(10 * x + y).unwrap_or(0); 3]));
        let small = shrunk(&photo, 2);
        assert_eq!(small.dimensions(), (3, 2));
        assert_eq!(small.get_pixel(1, 1).0, [27]);
    }

    #[test]
    fn between_pixels_the_light_is_in_between() {
        let photo = RgbImage::from_fn(3, 3, |x, y| {
            Rgb([u8::try_from(20 * x + 4 * y).unwrap_or(0); 3])
        });
        let seen = at(&photo, Point::new(0.25, 1.5)).expect("inside");
        assert!((seen - 11.0).abs() < 1e-9);
        assert_eq!(at(&photo, Point::new(2.0, 1.0)), None);
        assert_eq!(at(&photo, Point::new(-0.1, 1.0)), None);
    }
}
