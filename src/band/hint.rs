//! What is known of the band before the photo is looked at, and what the search may be told.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::geometry::Point;

/// Which end of the band, as it lies in the photo, is the weaving's start.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum StartEnd {
    /// The left end of a band that lies.
    Left,
    /// The right end of a band that lies.
    Right,
    /// The upper end of a band that stands.
    Top,
    /// The lower end of a band that stands.
    Bottom,
}

/// What the plan and the weaver say; all of it may be missing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BandHint {
    /// Width in the loom, mm.
    pub loom_width_mm: Option<f64>,
    /// Picks per inch.
    pub picks_per_inch: Option<f64>,
    /// Woven length, mm.
    pub woven_length_mm: Option<f64>,
    /// Thickness of the cloth, mm.
    pub thickness_mm: Option<f64>,
    /// The end that the weaving started at.
    pub start: Option<StartEnd>,
    /// Corners of the rectangle of the plane (mm) that the band lies in, where the search must not
    /// look elsewhere: the inside of a printed sheet.
    pub region_mm: Option<(Point, Point)>,
}

/// How the band is looked for.
#[derive(Clone, Debug, PartialEq)]
pub struct BandOptions {
    /// Size of a cell of the first, coarse look, mm. Default: 0.4.
    pub cell_mm: f64,
    /// Picture kept beyond each selvedge, mm. Default: 6.0.
    pub margin_across_mm: f64,
    /// Picture kept beyond each end of the cloth, mm. Default: 10.0.
    pub margin_along_mm: f64,
}

impl Default for BandOptions {
    fn default() -> Self {
        Self {
            cell_mm: 0.4,
            margin_across_mm: 6.0,
            margin_along_mm: 10.0,
        }
    }
}
