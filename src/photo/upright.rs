//! The decoded photo that all later stages look at.

use image::RgbImage;

use super::{Camera, Density};

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
    /// How coarsely a JPEG rounds light, as a multiple of the example in its standard (1 is quality 50, 2.5
    /// quality 20); 0 for other files.
    pub jpeg_rounding: f64,
}
