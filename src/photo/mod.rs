//! A photo, upright and decoded, with what its file says about itself.

use image::RgbImage;

/// A decoded photo, turned upright.
#[derive(Clone, Debug)]
pub struct Photo {
    /// The file's bare name.
    pub file: String,
    /// SHA-256 of the file's bytes, hexadecimal.
    pub sha256: String,
    /// The picture after the photo's own orientation is applied, 8-bit sRGB.
    pub pixels: RgbImage,
    /// Resolutions that the file carries, in the order of trust.
    pub densities: Vec<Density>,
    /// What the camera wrote, where a camera made the file.
    pub camera: Option<Camera>,
}

/// A resolution that the file carries, after the orientation is applied.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Density {
    /// Pixels per inch along x.
    pub x_dpi: f64,
    /// Pixels per inch along y.
    pub y_dpi: f64,
    /// Which field it was read from.
    pub source: DensitySource,
}

/// Where in the file a resolution stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DensitySource {
    /// The JFIF header of a JPEG.
    Jfif,
    /// The EXIF tags.
    Exif,
    /// The tags of a TIFF.
    Tiff,
    /// The pHYs chunk of a PNG.
    Phys,
}

/// What a camera wrote into the file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Camera {
    /// Focal length as for a 36 × 24 mm picture, mm.
    pub focal_length_35mm: Option<f64>,
    /// Maker and model, as written.
    pub model: Option<String>,
}
