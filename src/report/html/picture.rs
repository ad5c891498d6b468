//! Pictures as data inside the page.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use image::codecs::jpeg::JpegEncoder;
use image::{ExtendedColorType, RgbImage};

use crate::report::overlay::Strip;
use crate::report::shrink::shrunk_piece;

/// JPEG quality of the pictures: single hairs still show.
const QUALITY: u8 = 82;

/// A picture as the address of its own bytes; `None` where it is empty.
pub(super) fn jpeg_address(picture: &RgbImage) -> Option<String> {
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, QUALITY)
        .encode(
            picture.as_raw(),
            picture.width(),
            picture.height(),
            ExtendedColorType::Rgb8,
        )
        .ok()?;
    Some(format!("data:image/jpeg;base64,{}", STANDARD.encode(bytes)))
}

/// A piece of the straight band.
#[derive(Clone, Debug)]
pub(super) struct Cut {
    /// The picture.
    pub(super) picture: RgbImage,
    /// Where its left and its right border lie along the band, mm.
    pub(super) along_mm: (f64, f64),
}

/// The straight band between two places along it, mm, its whole width, at most `longest_px` long.
/// `None` where the strip doesn't reach there.
pub(super) fn cut(strip: &Strip, along_mm: (f64, f64), longest_px: u32) -> Option<Cut> {
    let column = |mm: f64| (mm - strip.from_mm) / strip.mm_per_px;
    let last = f64::from(strip.picture.width()) - 0.5;
    let from = column(along_mm.0).max(-0.5).round();
    let to = column(along_mm.1).min(last).round();
    if !(to - from >= 2.0 && strip.picture.height() > 1) {
        return None;
    }
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "inside the strip"
    )]
    let (x, width) = (from.max(0.0) as u32, (to - from.max(0.0)) as u32);
    let width = width.min(strip.picture.width() - x);
    let piece = (x, 0, width, strip.picture.height());
    let picture = shrunk_piece(
        &strip.picture,
        piece,
        f64::from(longest_px) / f64::from(width),
    );
    let border = |x: u32| strip.from_mm + (f64::from(x) - 0.5) * strip.mm_per_px;
    Some(Cut {
        picture,
        along_mm: (border(x), border(x + width)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cut_knows_where_it_lies() {
        let strip = Strip {
            picture: RgbImage::new(100, 20),
            mm_per_px: 0.5,
            from_mm: -10.0,
            left_mm: -5.0,
        };
        let piece = cut(&strip, (0.0, 20.0), 1000).expect("the strip reaches there");
        assert_eq!(piece.picture.dimensions(), (40, 20));
        assert!(
            (piece.along_mm.0 + 0.25).abs() < 1e-9,
            "{:?}",
            piece.along_mm
        );
        assert!(cut(&strip, (90.0, 120.0), 1000).is_none());
    }
}
