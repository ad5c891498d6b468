//! The result of measuring one band, as it is written to JSON and read back.
//!
//! Field names and units are part of the program's contract: they carry the unit in the name, and
//! a part that can't be measured is `None` and stands under [`Measurement::unmeasured`].

mod figures;
mod hand_count;
#[cfg(test)]
pub(crate) mod made;
mod read;
mod verdict;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::corrections::Corrections;
use crate::stats::Estimate;

pub use figures::{
    Beat, LocalPicks, Photo, Picks, Program, Scale, ScaleMethod, Selvedge, Selvedges, Swatch,
    Width, WidthProfile,
};
pub use hand_count::HandCount;
pub use read::{MOST_RESULT_BYTES, read_results, results_from_json};
pub use verdict::{AgainstPlan, Finding, FindingKind, Side, Unmeasured, Verdict, Warning};

/// The schema's name, first field of every result.
pub const SCHEMA: &str = "evenfell/measurement/1";

/// A value with the half-width of its 95 % interval, in the same unit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Quantity {
    /// The measured value.
    pub value: f64,
    /// Half the width of the 95 % interval: never zero.
    pub u95: f64,
}

impl From<Estimate> for Quantity {
    fn from(estimate: Estimate) -> Self {
        Self {
            value: estimate.value,
            u95: estimate.u95().max(1e-9),
        }
    }
}

/// Everything that was measured of one band.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Measurement {
    /// [`SCHEMA`].
    pub schema: String,
    /// What measured it, with which options.
    pub program: Program,
    /// What was measured.
    pub photo: Photo,
    /// How millimetres were known.
    pub scale: Scale,
    /// What a person put right; absent where nothing was changed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub corrections: Option<Corrections>,
    /// Length of the body along the centre line, mm.
    pub length_mm: Option<Quantity>,
    /// The picks.
    pub picks: Option<Picks>,
    /// How even the beat is.
    pub beat: Option<Beat>,
    /// The width along the band.
    pub width: Option<Width>,
    /// Loss of width against the width in the loom, %.
    pub draw_in_percent: Option<Quantity>,
    /// How straight the selvedges are.
    pub selvedges: Option<Selvedges>,
    /// Each figure that the plan speaks of, held against it.
    pub against_plan: Vec<AgainstPlan>,
    /// What is off, and where.
    pub findings: Vec<Finding>,
    /// What is doubtful, and what to do.
    pub warnings: Vec<Warning>,
    /// What could not be measured, and why.
    pub unmeasured: Vec<Unmeasured>,
    /// Which piece of cloth was measured, where it fills the picture.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub swatch: Option<Swatch>,
    /// The weaver's own count beside this one, where she gave it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hand_count: Option<HandCount>,
}

impl Measurement {
    /// The state of the cloth that was noted with it: `in-loom`, `off-loom` or `washed`.
    #[must_use]
    pub fn state(&self) -> Option<&str> {
        self.program.options.get("state")?.as_str()
    }

    /// Whether nothing of the band could be measured.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        let along = self.picks.is_none() && self.beat.is_none() && self.length_mm.is_none();
        let across = self.width.is_none() && self.draw_in_percent.is_none();
        along && across && self.selvedges.is_none() && self.swatch.is_none()
    }
}
