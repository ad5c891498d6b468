//! The figures of a result.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Quantity;

/// The program and the options it ran with.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Program {
    /// Version of the crate.
    pub version: String,
    /// Every option that steered the measurement, by name.
    pub options: serde_json::Map<String, serde_json::Value>,
}

/// The photo that was measured.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Photo {
    /// The file's bare name.
    pub file: String,
    /// Width after the photo's own orientation is applied, px.
    pub width_px: u32,
    /// Height after the photo's own orientation is applied, px.
    pub height_px: u32,
    /// SHA-256 of the file's bytes, hexadecimal.
    pub sha256: String,
}

/// Where the scale came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum ScaleMethod {
    /// The printed backing sheet.
    Sheet,
    /// The file's own resolution, or a typed one.
    Dpi,
    /// Two places of known distance.
    Points,
    /// An ISO/IEC 7810 ID-1 card.
    Card,
}

/// How pixels became millimetres.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Scale {
    /// Where the scale came from.
    pub method: ScaleMethod,
    /// Pixels per millimetre in the middle of the band.
    pub px_per_mm: Quantity,
    /// Angle between the camera's axis and the plane's normal, degrees.
    pub camera_tilt_degrees: f64,
    /// What else is known about the scale, in words (markers used, residual, distance).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
}

/// The picks of the body.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Picks {
    /// Whole picks of the body; absent for a stretch of a longer cloth; of a swatch, the picks whose
    /// middle is in view.
    pub count: Option<u32>,
    /// Picks per inch: picks of the body over the length of the body.
    pub per_inch: Quantity,
    /// Centre of every pick, mm from the start of the body.
    pub positions_mm: Vec<f64>,
    /// Half-width of each position's 95 % interval, mm.
    pub positions_u95_mm: Vec<f64>,
    /// Coefficient of variation of the pick-to-pick spacing, measuring noise taken out, %.
    pub spacing_cv_percent: Option<Quantity>,
    /// Drawdown row (from 1) of every pick; absent without a drawdown.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rows: Option<Vec<u32>>,
    /// Which face and direction of the drawdown the photo shows, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub face: Option<String>,
}

/// A piece of cloth that fills the picture, or a rectangle of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Swatch {
    /// Pixels left of the rectangle.
    pub x_px: u32,
    /// Pixels above it.
    pub y_px: u32,
    /// Its width, px.
    pub width_px: u32,
    /// Its height, px.
    pub height_px: u32,
    /// Its length along the weaving over the mean spacing of its picks: picks that its edges cut
    /// count by their share.
    pub length_in_picks: Quantity,
    /// Picks that lie in it whole.
    pub whole_picks: u32,
    /// Angle of the weft against square to the direction of the weaving, degrees: above 0 it comes
    /// later on the weaver's right.
    pub weft_tilt_degrees: f64,
}

/// How even the beat is, split by cause.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Beat {
    /// Straight-line fit of the spacing: last minus first, % of the mean.
    pub drift_percent: Quantity,
    /// Spread of the mean spacing of the drawdown's rows, rms %; `None` where rows aren't known.
    pub rhythm_percent: Option<Quantity>,
    /// Mean spacing of each drawdown row against the mean of all, %.
    pub rhythm_rows_percent: Vec<f64>,
    /// Slow waves (longer than 10 picks), rms %.
    pub waves_percent: Quantity,
    /// What is left from pick to pick, rms %.
    pub scatter_percent: Quantity,
    /// Local picks per inch along the band.
    pub local: LocalPicks,
}

/// Local picks per inch, over a centred window of 5 picks.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LocalPicks {
    /// Middle of each window, mm from the start of the body.
    pub at_mm: Vec<f64>,
    /// Picks per inch.
    pub per_inch: Vec<f64>,
    /// Half-width of the 95 % interval, picks per inch.
    pub u95: Vec<f64>,
}

/// The width along the band.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Width {
    /// Area of the body's silhouette over its length, mm.
    pub mean_mm: Quantity,
    /// Outermost edge to outermost edge, weft turns included, mm (EN 1773:1996).
    pub over_turns_mm: Quantity,
    /// Least width after the short-wave filter, mm.
    pub min_mm: Quantity,
    /// Greatest width after the short-wave filter, mm.
    pub max_mm: Quantity,
    /// The width and both selvedges along the band.
    pub profile: WidthProfile,
}

/// Both selvedges along the band.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct WidthProfile {
    /// Place along the centre line, mm from the start of the body.
    pub at_mm: Vec<f64>,
    /// Width there, mm.
    pub width_mm: Vec<f64>,
    /// Distance of the left selvedge from the centre line, outward positive, mm.
    pub left_mm: Vec<f64>,
    /// Distance of the right selvedge from the centre line, outward positive, mm.
    pub right_mm: Vec<f64>,
}

/// Waviness of one selvedge (ISO 21920-2 W-parameters between 5 picks and 80 mm).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Selvedge {
    /// Root mean square, mm.
    pub wq_mm: Quantity,
    /// Highest minus lowest, mm.
    pub wt_mm: Quantity,
}

/// Both selvedges.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Selvedges {
    /// The weaver's left.
    pub left: Selvedge,
    /// The weaver's right.
    pub right: Selvedge,
}
