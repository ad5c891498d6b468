//! What is known of the band before the photo is looked at, and what the search may be told.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::geometry::Point;
use crate::scale::PrintedMark;

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
    /// `x` on the plane (mm, rising) at which that rectangle's ground changes: where a printed
    /// window ends, where the page ends.
    pub ground_changes_mm: Vec<f64>,
    /// Any `x` on the ground that the band mostly lies on; the rectangle's middle unless given.
    pub main_ground_mm: Option<f64>,
    /// Marks printed in that rectangle.
    pub printed: Vec<PrintedMark>,
    /// Colours, CIE L*a*b*, that the weft is known to have where it turns, whatever the cloth between shows.
    pub turns: Vec<[f32; 3]>,
    /// Which of the pieces that could be a band is traced: 0 the likeliest by its size and shape, 1 the next.
    pub piece: usize,
}

impl BandHint {
    /// The stretch of `x`, mm, of the ground that the band mostly lies on; `None` where it is all
    /// one.
    pub(super) fn main_stretch(&self) -> Option<(f64, f64)> {
        let (a, b) = self.region_mm?;
        let (low, high) = (a.x.min(b.x), a.x.max(b.x));
        let main = self.main_ground_mm.unwrap_or(0.5 * (low + high));
        let (mut from, mut to) = (low, high);
        for &at in &self.ground_changes_mm {
            if at <= main {
                from = from.max(at);
            } else {
                to = to.min(at);
            }
        }
        Some((from, to))
    }
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
