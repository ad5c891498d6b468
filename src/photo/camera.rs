//! What a camera wrote into the file.

/// What a camera wrote into the file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Camera {
    /// Focal length as for a 36 × 24 mm picture, mm.
    pub focal_length_35mm: Option<f64>,
    /// Maker and model, as written.
    pub model: Option<String>,
}
