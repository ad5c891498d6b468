//! Decodes pixels to 8-bit RGB, with limits set before anything large is put in memory.

use std::io::{BufRead, Cursor, Seek};

use image::codecs::{png::PngDecoder, tiff::TiffDecoder, webp::WebPDecoder};
use image::{ColorType, ImageDecoder, ImageError, Limits, RgbImage};
use rayon::prelude::*;
use zune_jpeg::JpegDecoder;
use zune_jpeg::errors::DecodeErrors;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

use super::PhotoOptions;

/// What a decoder may take besides the pixels themselves, bytes: tables, strips, tags.
const DECODER_ROOM: u64 = 64 << 20;

/// Memory that a decoder may take for each pixel, bytes: 16-bit colour with alpha once.
const BYTES_PER_PIXEL: u64 = 8;

/// Bytes of pixels that a byte of a JPEG may well stand for.
const MOST_PACKED: usize = 64;
/// Bytes that a system hands out at once, or fewer.
const PAGE: usize = 4096;

/// Decodes a JPEG strictly: where data are missing or damaged it fails.
pub(super) fn of_jpeg(file: &[u8], options: &PhotoOptions) -> Result<RgbImage, String> {
    // The format's own limit; ours is held against width × height below.
    let side = usize::from(u16::MAX);
    let strict = DecoderOptions::default()
        .set_strict_mode(true)
        .set_max_width(side)
        .set_max_height(side)
        .jpeg_set_out_colorspace(ColorSpace::RGB);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(file), strict);
    decoder
        .decode_headers()
        .map_err(|error| damaged_jpeg(&error))?;
    let (width, height) = decoder.dimensions().ok_or("its size can't be read")?;
    let (width, height) = (side_of(width)?, side_of(height)?);
    check_size(width, height, options)?;
    let size = decoder
        .output_buffer_size()
        .ok_or("its size can't be read")?;
    let mut bytes = in_memory(size, file.len());
    decoder
        .decode_into(&mut bytes)
        .map_err(|error| damaged_jpeg(&error))?;
    RgbImage::from_raw(width, height, bytes)
        .ok_or_else(|| "the JPEG holds fewer pixels than it says: copy it again".to_owned())
}

/// Zeros for the pixels. What the system does when memory is first written to takes a third of bare decoding:
/// all cores share in it, for as many pixels as a file of that length may hold.
fn in_memory(size: usize, file_bytes: usize) -> Vec<u8> {
    let mut bytes = vec![0; size];
    let likely = size.min(MOST_PACKED.saturating_mul(file_bytes));
    bytes[..likely].par_chunks_mut(1 << 20).for_each(|part| {
        for byte in part.iter_mut().step_by(PAGE) {
            *byte = 0;
        }
    });
    bytes
}

fn side_of(length: usize) -> Result<u32, String> {
    u32::try_from(length).map_err(|_| "its size can't be read".to_owned())
}

fn damaged_jpeg(error: &DecodeErrors) -> String {
    format!(
        "the JPEG is damaged or cut off ({error}): copy it again from where it came from, or \
         save it anew"
    )
}

/// Decodes a PNG.
pub(super) fn of_png(file: &[u8], options: &PhotoOptions) -> Result<RgbImage, String> {
    decode(
        PngDecoder::with_limits(Cursor::new(file), limits(0)),
        "PNG",
        options,
    )
}

/// Decodes a WebP (of a moving one, the first picture).
pub(super) fn of_webp(file: &[u8], options: &PhotoOptions) -> Result<RgbImage, String> {
    decode(WebPDecoder::new(Cursor::new(file)), "WebP", options)
}

/// Decodes a TIFF (of many pages, the first).
pub(super) fn of_tiff<R: BufRead + Seek>(
    file: R,
    options: &PhotoOptions,
) -> Result<RgbImage, String> {
    decode(TiffDecoder::new(file), "TIFF", options)
}

fn limits(pixels: u64) -> Limits {
    let mut limits = Limits::no_limits();
    limits.max_alloc = Some(pixels.saturating_mul(BYTES_PER_PIXEL) + DECODER_ROOM);
    limits
}

fn decode<D: ImageDecoder>(
    decoder: Result<D, ImageError>,
    kind: &str,
    options: &PhotoOptions,
) -> Result<RgbImage, String> {
    let why = |error: ImageError| damaged(kind, &error);
    let mut decoder = decoder.map_err(why)?;
    let (width, height) = decoder.dimensions();
    check_size(width, height, options)?;
    let pixels = u64::from(width) * u64::from(height);
    decoder.set_limits(limits(pixels)).map_err(why)?;
    let color = decoder.color_type();
    if matches!(color, ColorType::Rgb32F | ColorType::Rgba32F) {
        return Err(format!(
            "the {kind} holds 32-bit values: save it with 8 or 16 bits a channel"
        ));
    }
    let total =
        usize::try_from(decoder.total_bytes()).map_err(|_| too_large(width, height, options))?;
    let mut bytes = vec![0; total];
    decoder.read_image(&mut bytes).map_err(why)?;
    RgbImage::from_raw(width, height, rgb8(bytes, color))
        .ok_or_else(|| format!("the {kind} holds fewer pixels than it says: copy it again"))
}

fn damaged(kind: &str, error: &ImageError) -> String {
    match error {
        ImageError::Unsupported(_) => format!(
            "the {kind} is of a sort that can't be read ({error}): save it as a plain 8-bit PNG \
             or JPEG"
        ),
        ImageError::Limits(_) => format!(
            "the {kind} wants more memory than a picture of its size should: save it anew as a \
             plain PNG or JPEG"
        ),
        _ => format!(
            "the {kind} is damaged or cut off ({error}): copy it again from where it came from, \
             or save it anew"
        ),
    }
}

fn check_size(width: u32, height: u32, options: &PhotoOptions) -> Result<(), String> {
    if width == 0 || height == 0 {
        return Err("the picture has no pixels".to_owned());
    }
    if u64::from(width) * u64::from(height) > options.max_pixels {
        return Err(too_large(width, height, options));
    }
    Ok(())
}

fn too_large(width: u32, height: u32, options: &PhotoOptions) -> String {
    format!(
        "the picture is {width} × {height} pixels, and {} million is the most that is read: scan \
         at a lower resolution or crop it to the band",
        options.max_pixels / 1_000_000
    )
}

/// 8-bit RGB from what a decoder gave; in place where the pixels don't grow.
fn rgb8(mut bytes: Vec<u8>, color: ColorType) -> Vec<u8> {
    let channels = usize::from(color.channel_count());
    if color.bytes_per_pixel() / color.channel_count() == 2 {
        halve_depth(&mut bytes);
    }
    match channels {
        1 => bytes.iter().flat_map(|&grey| [grey; 3]).collect(),
        2 => bytes
            .chunks_exact(2)
            .flat_map(|pixel| [over_white(pixel[0], pixel[1]); 3])
            .collect(),
        4 => {
            let pixels = bytes.len() / 4;
            for i in 0..pixels {
                let alpha = bytes[4 * i + 3];
                for c in 0..3 {
                    bytes[3 * i + c] = over_white(bytes[4 * i + c], alpha);
                }
            }
            bytes.truncate(3 * pixels);
            bytes.shrink_to_fit();
            bytes
        }
        _ => bytes,
    }
}

/// 16-bit values (of this machine's byte order) to the nearest 8-bit ones, in place.
fn halve_depth(bytes: &mut Vec<u8>) {
    let values = bytes.len() / 2;
    for i in 0..values {
        let wide = u32::from(u16::from_ne_bytes([bytes[2 * i], bytes[2 * i + 1]]));
        bytes[i] = low_byte((wide * 255 + 32_767) / 65_535);
    }
    bytes.truncate(values);
    bytes.shrink_to_fit();
}

/// A value of that opacity, laid over white.
fn over_white(value: u8, alpha: u8) -> u8 {
    let (value, alpha) = (u32::from(value), u32::from(alpha));
    low_byte((value * alpha + 255 * (255 - alpha) + 127) / 255)
}

fn low_byte(value: u32) -> u8 {
    u8::try_from(value).unwrap_or(u8::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sixteen_bits_round_to_the_nearest_eight() {
        let wide: Vec<u8> = [0_u16, 128, 129, 257, 65_535]
            .iter()
            .flat_map(|v| v.to_ne_bytes())
            .collect();
        let grey = rgb8(wide, ColorType::L16);
        let first: Vec<u8> = grey.iter().step_by(3).copied().collect();
        assert_eq!(first, [0, 0, 1, 1, 255]);
    }

    #[test]
    fn the_transparent_shows_white_paper() {
        let rgba = vec![10, 20, 30, 0, 10, 20, 30, 255, 0, 100, 200, 128];
        assert_eq!(
            rgb8(rgba, ColorType::Rgba8),
            [255, 255, 255, 10, 20, 30, 127, 177, 227]
        );
        assert_eq!(rgb8(vec![0, 51], ColorType::La8), [204; 3]);
    }
}
