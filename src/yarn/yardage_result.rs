//! Yardage as it is written to JSON.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::measurement::Quantity;

/// The schema's name, first field of every yardage.
pub const YARDAGE_SCHEMA: &str = "evenfell/yardage/1";

/// Yarn for so many bands.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Yardage {
    /// [`YARDAGE_SCHEMA`].
    pub schema: String,
    /// The plan's title.
    pub title: String,
    /// Bands that the yarn is for.
    pub bands: u32,
    /// As the plan says.
    pub planned: PlannedYarn,
    /// As the measured bands say; null without them.
    pub measured: Option<MeasuredYarn>,
    /// Measured weft over planned weft; null without measured bands.
    pub weft_ratio: Option<Quantity>,
    /// How many bands were measured.
    pub measured_bands: usize,
    /// The weft's crimp in these sums, and where it comes from.
    pub crimp: Crimp,
    /// What the cloth's geometry says of the crimp, where the plan doesn't.
    pub estimate: Option<CrimpEstimate>,
    /// Percentages that the plan doesn't give, counted as 0.
    pub assumed_zero: Vec<String>,
    /// What to bear in mind, in words.
    pub notes: Vec<String>,
}

/// Yarn as planned.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PlannedYarn {
    /// Picks of one band.
    pub picks: u32,
    /// Warp of all bands.
    pub warp: Amount,
    /// Weft of all bands.
    pub weft: Amount,
}

/// A length of yarn.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Amount {
    /// Length, m.
    pub length_m: f64,
    /// Mass, g; null without a yarn size.
    pub mass_g: Option<f64>,
}

/// Yarn as the measured bands say.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct MeasuredYarn {
    /// Picks of one band.
    pub picks: Quantity,
    /// Warp of all bands.
    pub warp: MeasuredAmount,
    /// Weft of all bands.
    pub weft: MeasuredAmount,
}

/// A measured length of yarn.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct MeasuredAmount {
    /// Length, m.
    pub length_m: Quantity,
    /// Mass, g; null without a yarn size.
    pub mass_g: Option<Quantity>,
}

/// Where the crimp in the sums comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum CrimpSource {
    /// The plan.
    Plan,
    /// A weighed band.
    Weighed,
    /// Nowhere: counted as 0.
    NotGiven,
}

/// The weft's crimp in the sums.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Crimp {
    /// Crimp, % of the width.
    pub percent: f64,
    /// Where it comes from.
    pub source: CrimpSource,
    /// What a weighed band says, %; null where none was weighed.
    pub weighed_percent: Option<Quantity>,
}

/// What the geometry of the cloth says of the crimp.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CrimpEstimate {
    /// Crimp, % of the cloth's own width: an estimate, not a measurement.
    pub crimp_percent: Quantity,
    /// Weft of all bands with that crimp over the cloth's own width, m.
    pub weft_length_m: Quantity,
}
