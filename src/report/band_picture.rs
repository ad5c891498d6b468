//! A band's own picture: laid straight, cut to the cloth, small enough to keep and to set beside
//! others.
//!
//! # Method
//! 1. The straight band is cut to the body and a little beyond, and across to the selvedges and a
//!    little ground, and shrunk.
//! 2. As a file it is a PNG: its `pHYs` chunk says the scale to any program, a text chunk says where
//!    on the band the picture lies.
//!
//! # Limits
//! It is for looking. Nothing is measured from it.

use std::io::{self, Write};

use image::RgbImage;

use crate::measurement::Measurement;

use super::overlay::Strip;
use super::shrink::shrunk_piece;

/// How much beyond the body's ends is kept, mm.
const BEYOND_MM: f64 = 9.0;
/// How much ground beside the selvedges is kept, mm.
const BESIDE_MM: f64 = 3.0;
/// The longer side, px.
const LONGEST_PX: f64 = 1400.0;
/// Keyword of the text chunk that says where the picture lies.
const PLACE: &str = "evenfell-band-mm";
/// Most bytes that reading a picture may take: far above what is ever written.
const MOST_BYTES: usize = 64 << 20;

/// A band's picture with its place: start at the left, the weaver's left selvedge on top.
#[derive(Clone, Debug, PartialEq)]
pub struct BandPicture {
    /// The picture.
    pub picture: RgbImage,
    /// Left and right border, mm from the start of the body.
    pub along_mm: (f64, f64),
    /// Upper and lower border, mm from the centre line.
    pub across_mm: (f64, f64),
}

impl BandPicture {
    /// The picture of a measured band; `None` where its length isn't known or the strip doesn't
    /// reach there.
    #[must_use]
    pub fn new(strip: &Strip, measurement: &Measurement) -> Option<Self> {
        let picks = measurement.picks.as_ref();
        let last = picks.and_then(|picks| picks.positions_mm.last().copied());
        let length = measurement.length_mm.map(|length| length.value).or(last)?;
        let along = (-BEYOND_MM, length + BEYOND_MM);
        let across = match &measurement.width {
            Some(width) => {
                let most = |edge: &[f64]| edge.iter().copied().fold(0.0, f64::max);
                let profile = &width.profile;
                (
                    -most(&profile.left_mm) - BESIDE_MM,
                    most(&profile.right_mm) + BESIDE_MM,
                )
            }
            None => (f64::MIN, f64::MAX),
        };
        let columns = span(along, strip.from_mm, strip.mm_per_px, strip.picture.width())?;
        let rows = span(
            across,
            strip.left_mm,
            strip.mm_per_px,
            strip.picture.height(),
        )?;
        let border = |first: f64, at: u32| first + (f64::from(at) - 0.5) * strip.mm_per_px;
        let (width, height) = (columns.1 - columns.0, rows.1 - rows.0);
        let piece = (columns.0, rows.0, width, height);
        let share = LONGEST_PX / f64::from(width.max(height));
        Some(Self {
            picture: shrunk_piece(&strip.picture, piece, share),
            along_mm: (
                border(strip.from_mm, columns.0),
                border(strip.from_mm, columns.1),
            ),
            across_mm: (border(strip.left_mm, rows.0), border(strip.left_mm, rows.1)),
        })
    }

    /// Writes the picture as PNG with its scale and place.
    ///
    /// # Errors
    /// What the writer says.
    pub fn write_png(&self, out: &mut dyn Write) -> io::Result<()> {
        let (width, height) = self.picture.dimensions();
        let mut encoder = png::Encoder::new(out, width, height);
        encoder.set_color(png::ColorType::Rgb);
        encoder.set_compression(png::Compression::Fast);
        let per_metre = |px: u32, mm: (f64, f64)| {
            #[allow(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "rounded, above zero"
            )]
            let dots = (f64::from(px) * 1000.0 / (mm.1 - mm.0)).round() as u32;
            dots
        };
        encoder.set_pixel_dims(Some(png::PixelDimensions {
            xppu: per_metre(width, self.along_mm),
            yppu: per_metre(height, self.across_mm),
            unit: png::Unit::Meter,
        }));
        let (along, across) = (self.along_mm, self.across_mm);
        let place = format!(
            "{:.4} {:.4} {:.4} {:.4}",
            along.0, along.1, across.0, across.1
        );
        encoder
            .add_text_chunk(PLACE.to_owned(), place)
            .map_err(io::Error::other)?;
        let mut writer = encoder.write_header().map_err(io::Error::other)?;
        writer
            .write_image_data(self.picture.as_raw())
            .map_err(io::Error::other)?;
        writer.finish().map_err(io::Error::other)
    }

    /// Reads a picture that [`BandPicture::write_png`] wrote; `None` for any other.
    #[must_use]
    pub fn from_png(bytes: &[u8]) -> Option<Self> {
        let limits = png::Limits { bytes: MOST_BYTES };
        let decoder = png::Decoder::new_with_limits(io::Cursor::new(bytes), limits);
        let mut reader = decoder.read_info().ok()?;
        let info = reader.info();
        let (width, height) = (info.width, info.height);
        let place = info
            .uncompressed_latin1_text
            .iter()
            .find(|chunk| chunk.keyword == PLACE)?;
        let mm: Vec<f64> = place
            .text
            .split(' ')
            .map(|number| number.parse().ok().filter(|mm: &f64| mm.abs() < 1e6))
            .collect::<Option<_>>()?;
        let &[a, b, c, d] = mm.as_slice() else {
            return None;
        };
        let size = reader.output_buffer_size().filter(|&n| n <= MOST_BYTES)?;
        let mut pixels = vec![0; size];
        let frame = reader.next_frame(&mut pixels).ok()?;
        let rgb =
            (frame.color_type, frame.bit_depth) == (png::ColorType::Rgb, png::BitDepth::Eight);
        (rgb && b > a && d > c).then_some(())?;
        Some(Self {
            picture: RgbImage::from_raw(width, height, pixels)?,
            along_mm: (a, b),
            across_mm: (c, d),
        })
    }
}

/// First and one past the last sample between two places; the first sample's centre lies at
/// `first_mm`.
fn span(mm: (f64, f64), first_mm: f64, mm_per_px: f64, count: u32) -> Option<(u32, u32)> {
    let sample = |mm: f64| ((mm - first_mm) / mm_per_px + 0.5).clamp(0.0, f64::from(count));
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped"
    )]
    let (from, to) = (sample(mm.0).round() as u32, sample(mm.1).round() as u32);
    (to > from + 1).then_some((from, to))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measurement::made::Made;

    fn strip() -> Strip {
        Strip {
            picture: RgbImage::from_fn(2500, 500, |x, y| {
                image::Rgb([(x % 251) as u8, (y % 241) as u8, 7])
            }),
            mm_per_px: 0.1,
            from_mm: -10.0,
            left_mm: -25.0,
        }
    }

    #[test]
    fn a_picture_comes_back_from_its_file_with_its_place() {
        let mut measurement = Made::default().measurement();
        measurement.length_mm = Some(crate::measurement::Quantity {
            value: 200.0,
            u95: 0.5,
        });
        let band = BandPicture::new(&strip(), &measurement).expect("the strip reaches there");
        assert_eq!(band.picture.width(), 1400);
        assert!((band.along_mm.0 + 9.0).abs() < 0.1 && (band.along_mm.1 - 209.0).abs() < 0.1);
        let mut file = Vec::new();
        band.write_png(&mut file).expect("memory takes it");
        let back = BandPicture::from_png(&file).expect("it is one");
        assert_eq!(back.picture, band.picture);
        assert!((back.along_mm.1 - band.along_mm.1).abs() < 1e-3);
    }

    #[test]
    fn another_picture_or_noise_is_none() {
        let mut other = io::Cursor::new(Vec::new());
        RgbImage::new(4, 4)
            .write_to(&mut other, image::ImageFormat::Png)
            .expect("memory takes it");
        assert_eq!(BandPicture::from_png(other.get_ref()), None);
        assert_eq!(BandPicture::from_png(b"\x89PNG\r\n\x1a\n noise"), None);
    }
}
