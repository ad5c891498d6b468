//! Pictures made small enough to show: each new pixel is a mean of the old ones about its place,
//! weighted by a triangle, so nothing fine turns into a pattern of its own.
//!
//! # Limits
//! For looking only: nothing is measured from a shrunk picture.

use fast_image_resize::images::{Image, ImageRef};
use fast_image_resize::{FilterType, PixelType, ResizeAlg, ResizeOptions, Resizer};
use image::{RgbImage, imageops};

/// A rectangle of a picture: left, top, width and height, px.
pub(super) type Piece = (u32, u32, u32, u32);

/// The picture, at most `longest_px` on its longer side; as it is where it is no larger.
#[must_use]
pub fn at_most(picture: &RgbImage, longest_px: u32) -> RgbImage {
    let (width, height) = picture.dimensions();
    let shrink = f64::from(longest_px) / f64::from(width.max(height).max(1));
    shrunk_piece(picture, (0, 0, width, height), shrink)
}

/// A piece of the picture at a share of its size; a share of 1 and more leaves it as it is.
pub(super) fn shrunk_piece(picture: &RgbImage, piece: Piece, share: f64) -> RgbImage {
    let (x, y, width, height) = piece;
    let whole = || imageops::crop_imm(picture, x, y, width, height).to_image();
    if share >= 1.0 {
        return whole();
    }
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "at most as before"
    )]
    let side = |length: u32| (f64::from(length) * share).round().max(1.0) as u32;
    shrink_to(picture, piece, (side(width), side(height))).unwrap_or_else(whole)
}

/// `None` where the piece is empty or reaches out of the picture.
fn shrink_to(
    picture: &RgbImage,
    (x, y, width, height): Piece,
    size: (u32, u32),
) -> Option<RgbImage> {
    let from = ImageRef::new(
        picture.width(),
        picture.height(),
        picture.as_raw(),
        PixelType::U8x3,
    );
    let mut small = Image::new(size.0, size.1, PixelType::U8x3);
    let options = ResizeOptions::new()
        .resize_alg(ResizeAlg::Convolution(FilterType::Bilinear))
        .crop(x.into(), y.into(), width.into(), height.into());
    Resizer::new()
        .resize(&from.ok()?, &mut small, &options)
        .ok()?;
    RgbImage::from_raw(size.0, size.1, small.into_vec())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fine_pattern_turns_grey_and_a_piece_keeps_its_colour() {
        let picture = RgbImage::from_fn(400, 100, |x, y| match x {
            0..200 => image::Rgb([200, 10, 90]),
            _ if (x + y) % 2 == 0 => image::Rgb([255; 3]),
            _ => image::Rgb([0; 3]),
        });
        let small = at_most(&picture, 100);
        assert_eq!(small.dimensions(), (100, 25));
        assert_eq!(small.get_pixel(10, 12).0, [200, 10, 90]);
        assert!(
            (120..=135).contains(&small.get_pixel(80, 12).0[0]),
            "{:?}",
            small.get_pixel(80, 12)
        );
        let piece = shrunk_piece(&picture, (20, 10, 60, 40), 0.5);
        assert_eq!(piece.dimensions(), (30, 20));
        assert!(piece.pixels().all(|pixel| pixel.0 == [200, 10, 90]));
    }

    #[test]
    fn a_small_picture_stays_as_it_is() {
        let picture = RgbImage::from_fn(7, 5, |x, y| image::Rgb([x as u8, y as u8, 3]));
        assert_eq!(at_most(&picture, 7), picture);
        assert_eq!(at_most(&RgbImage::new(0, 0), 7).dimensions(), (0, 0));
    }
}
