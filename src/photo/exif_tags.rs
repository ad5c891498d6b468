//! What the EXIF block (or a TIFF's own tags, which have the same form) says: which way up, how
//! dense, and whether a camera made the picture.

use exif::{Exif, In, Tag, Value};
use image::metadata::Orientation;

use super::density::CM_PER_INCH;
use super::{Camera, Density, DensitySource};

/// What was read from the tags.
#[derive(Debug)]
pub(super) struct Tags {
    /// How the stored picture must be turned to stand upright.
    pub(super) orientation: Orientation,
    /// The density, as stored (before turning).
    pub(super) density: Option<Density>,
    /// What the camera wrote, where a camera made the file.
    pub(super) camera: Option<Camera>,
}

impl Default for Tags {
    fn default() -> Self {
        Self {
            orientation: Orientation::NoTransforms,
            density: None,
            camera: None,
        }
    }
}

/// Reads a block that begins with a TIFF header; a block that can't be understood says nothing,
/// and one that is damaged says what can still be read.
pub(super) fn read(block: Vec<u8>, source: DensitySource) -> Tags {
    let read = exif::Reader::new()
        .continue_on_error(true)
        .read_raw(block)
        .or_else(|error| error.distill_partial_result(|_| {}));
    match read {
        Ok(exif) => Tags {
            orientation: orientation(&exif),
            density: density(&exif, source),
            camera: camera(&exif),
        },
        Err(_) => Tags::default(),
    }
}

fn orientation(exif: &Exif) -> Orientation {
    exif.get_field(Tag::Orientation, In::PRIMARY)
        .and_then(|field| field.value.get_uint(0))
        .and_then(|number| u8::try_from(number).ok())
        .and_then(Orientation::from_exif)
        .unwrap_or(Orientation::NoTransforms)
}

fn density(exif: &Exif, source: DensitySource) -> Option<Density> {
    // TIFF 6.0: without a ResolutionUnit the unit is the inch (2); 1 is a mere ratio.
    let unit = exif
        .get_field(Tag::ResolutionUnit, In::PRIMARY)
        .and_then(|field| field.value.get_uint(0))
        .unwrap_or(2);
    let units_per_inch = match unit {
        2 => 1.0,
        3 => CM_PER_INCH,
        _ => return None,
    };
    let x = number(exif, Tag::XResolution)?;
    let y = number(exif, Tag::YResolution)?;
    Density::from_file(x, y, units_per_inch, source)
}

/// A camera is known by what a scanner never writes: exposure, aperture, focal length, lens.
fn camera(exif: &Exif) -> Option<Camera> {
    const CAMERA_TAGS: [Tag; 10] = [
        Tag::ExposureTime,
        Tag::ShutterSpeedValue,
        Tag::FNumber,
        Tag::ApertureValue,
        Tag::FocalLength,
        Tag::FocalLengthIn35mmFilm,
        Tag::PhotographicSensitivity,
        Tag::LensSpecification,
        Tag::LensMake,
        Tag::LensModel,
    ];
    let made_by_camera = CAMERA_TAGS
        .iter()
        .any(|&tag| exif.get_field(tag, In::PRIMARY).is_some());
    if !made_by_camera {
        return None;
    }
    let words: Vec<String> = [Tag::Make, Tag::Model]
        .iter()
        .filter_map(|&tag| text(exif, tag))
        .collect();
    Some(Camera {
        // 0 stands for "unknown" (Exif 2.32, 4.6.5).
        focal_length_35mm: number(exif, Tag::FocalLengthIn35mmFilm).filter(|&mm| mm > 0.0),
        model: (!words.is_empty()).then(|| words.join(" ")),
    })
}

fn number(exif: &Exif, tag: Tag) -> Option<f64> {
    let value = match &exif.get_field(tag, In::PRIMARY)?.value {
        Value::Rational(v) => v.first()?.to_f64(),
        Value::Float(v) => f64::from(*v.first()?),
        Value::Double(v) => *v.first()?,
        other => f64::from(other.get_uint(0)?),
    };
    value.is_finite().then_some(value)
}

fn text(exif: &Exif, tag: Tag) -> Option<String> {
    let Value::Ascii(parts) = &exif.get_field(tag, In::PRIMARY)?.value else {
        return None;
    };
    let words = String::from_utf8_lossy(parts.first()?)
        .chars()
        .filter(|c| !c.is_control())
        .collect::<String>();
    let words = words.trim();
    (!words.is_empty()).then(|| words.to_owned())
}
