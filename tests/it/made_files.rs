//! Files as cameras, scanners and programs write them, made on the spot.

use std::io::Cursor;

use evenfell::photo::{Photo, PhotoOptions, decode};
use exif::{Field, In, Rational, Tag, Value};
use image::codecs::jpeg::{JpegEncoder, PixelDensity, PixelDensityUnit};
use image::codecs::png::PngEncoder;
use image::{DynamicImage, ExtendedColorType, ImageEncoder, ImageFormat, Rgb, RgbImage};

pub(crate) fn picture(width: u32, height: u32) -> RgbImage {
    RgbImage::from_fn(width, height, |x, y| {
        let v = |n: u32| u8::try_from(n % 256).unwrap();
        Rgb([v(x * 9), v(y * 13), v(x * 3 + y * 5)])
    })
}

pub(crate) fn exif_block(fields: &[Field]) -> Vec<u8> {
    let mut writer = exif::experimental::Writer::new();
    for field in fields {
        writer.push_field(field);
    }
    let mut block = Cursor::new(Vec::new());
    writer.write(&mut block, false).unwrap();
    block.into_inner()
}

pub(crate) fn field(tag: Tag, value: Value) -> Field {
    Field {
        tag,
        ifd_num: In::PRIMARY,
        value,
    }
}

pub(crate) fn ratio(num: u32, denom: u32) -> Value {
    Value::Rational(vec![Rational { num, denom }])
}

pub(crate) fn short(value: u16) -> Value {
    Value::Short(vec![value])
}

pub(crate) fn png_with_exif(image: &RgbImage, block: Vec<u8>) -> Vec<u8> {
    let mut file = Vec::new();
    let mut encoder = PngEncoder::new(&mut file);
    encoder.set_exif_metadata(block).unwrap();
    let (width, height) = image.dimensions();
    encoder
        .write_image(image, width, height, ExtendedColorType::Rgb8)
        .unwrap();
    file
}

pub(crate) fn jpeg(image: &RgbImage, dpi: Option<u16>, block: Option<Vec<u8>>) -> Vec<u8> {
    let mut file = Vec::new();
    let mut encoder = JpegEncoder::new_with_quality(&mut file, 92);
    if let Some(dpi) = dpi {
        encoder.set_pixel_density(PixelDensity {
            density: (dpi, dpi),
            unit: PixelDensityUnit::Inches,
        });
    }
    if let Some(block) = block {
        encoder.set_exif_metadata(block).unwrap();
    }
    encoder.encode_image(image).unwrap();
    file
}

pub(crate) fn as_file(image: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut file = Cursor::new(Vec::new());
    image.write_to(&mut file, format).unwrap();
    file.into_inner()
}

/// A TIFF of one strip with the given tags besides the pixels' own.
pub(crate) fn tiff(image: &RgbImage, tags: Vec<Field>) -> Vec<u8> {
    let (width, height) = image.dimensions();
    let mut fields = vec![
        field(Tag::ImageWidth, Value::Long(vec![width])),
        field(Tag::ImageLength, Value::Long(vec![height])),
        field(Tag::BitsPerSample, Value::Short(vec![8, 8, 8])),
        field(Tag::Compression, short(1)),
        field(Tag::PhotometricInterpretation, short(2)),
        field(Tag::SamplesPerPixel, short(3)),
        field(Tag::RowsPerStrip, Value::Long(vec![height])),
    ];
    fields.extend(tags);
    let mut writer = exif::experimental::Writer::new();
    for field in &fields {
        writer.push_field(field);
    }
    let strips: [&[u8]; 1] = [image.as_raw()];
    writer.set_strips(&strips, In::PRIMARY);
    let mut file = Cursor::new(Vec::new());
    writer.write(&mut file, true).unwrap();
    file.into_inner()
}

pub(crate) fn png_with_phys(per_metre: u32, unit: png::Unit) -> Vec<u8> {
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, 4, 4);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_pixel_dims(Some(png::PixelDimensions {
        xppu: per_metre,
        yppu: per_metre,
        unit,
    }));
    let mut writer = encoder.write_header().unwrap();
    writer.write_image_data(&[9; 48]).unwrap();
    writer.finish().unwrap();
    file
}

pub(crate) fn read(file: &[u8]) -> Photo {
    decode(file, "band", &PhotoOptions::default()).unwrap()
}
