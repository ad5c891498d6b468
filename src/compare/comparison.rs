//! A comparison as it is written to JSON.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::criterion::Criterion;
use super::sample::SampleFigures;
use crate::measurement::Quantity;

/// The schema's name, first field of every comparison.
pub const COMPARISON_SCHEMA: &str = "evenfell/comparison/1";

/// Several bands side by side.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Comparison {
    /// [`COMPARISON_SCHEMA`].
    pub schema: String,
    /// The bands, in the order given.
    pub samples: Vec<SampleFigures>,
    /// Who stands before whom, by one thing at a time; empty where all photos show one band.
    pub orders: Vec<Order>,
    /// The group as a whole.
    pub group: Group,
    /// The same weaver over time, where the samples are in that order.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub progress: Option<Vec<Progress>>,
    /// What several photos of one band differ by.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeatability: Option<Vec<Repeatability>>,
    /// What changed from one state of the cloth to the next.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub states: Option<States>,
    /// What can't be compared, and why.
    pub not_compared: Vec<NotCompared>,
    /// What to bear in mind, in words.
    pub notes: Vec<String>,
}

/// An order by one thing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Order {
    /// By what.
    pub by: Criterion,
    /// Names, best place first; samples that can't be told apart at 95 % share a place.
    pub places: Vec<Vec<String>>,
    /// Unit of `values`.
    pub unit: String,
    /// The number that each sample stands by, lowest first; less is better.
    pub values: Vec<Standing>,
    /// Pairs of samples that can be told apart.
    pub pairs_told_apart: usize,
    /// All pairs.
    pub pairs: usize,
}

/// One sample's number in an order.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Standing {
    /// The sample.
    pub name: String,
    /// Its number.
    pub value: Quantity,
}

/// Median and robust spread of each figure over the group; null with fewer than two values.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Group {
    /// Picks per inch.
    pub per_inch: Option<Spread>,
    /// Spacing CV, %.
    pub spacing_cv_percent: Option<Spread>,
    /// Spacing CV without the rhythm, %.
    pub beat_percent: Option<Spread>,
    /// Drift, %.
    pub drift_percent: Option<Spread>,
    /// Width, mm.
    pub width_mm: Option<Spread>,
    /// Draw-in, %.
    pub draw_in_percent: Option<Spread>,
    /// The worse selvedge's Wq, mm.
    pub waviness_mm: Option<Spread>,
}

/// Median and spread.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Spread {
    /// Median.
    pub median: f64,
    /// 1.4826 × median absolute deviation: reads as a standard deviation.
    pub spread: f64,
}

/// Where a weaver is going.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum Trend {
    /// Surely better.
    #[serde(rename = "better")]
    Better,
    /// Surely worse.
    #[serde(rename = "worse")]
    Worse,
    /// The interval holds no change.
    #[serde(rename = "cannot tell")]
    CannotTell,
}

/// One thing over time: a straight line through the samples in their order.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Progress {
    /// What.
    pub by: Criterion,
    /// The line at the first sample.
    pub first: f64,
    /// The line at the last sample.
    pub last: f64,
    /// Last minus first; below zero is better.
    pub change: Quantity,
    /// In a word.
    pub trend: Trend,
}

/// What several photos of one band differ by, in one figure.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Repeatability {
    /// The figure's name.
    pub figure: String,
    /// Its unit.
    pub unit: String,
    /// Photos that show it.
    pub photos: usize,
    /// Mean.
    pub mean: f64,
    /// Standard deviation between the photos.
    pub standard_deviation: f64,
    /// By how much two bands, one photo each, must differ before it means anything (95 %).
    pub least_difference: f64,
    /// The half-width that the results state for one photo, root mean square.
    pub stated_u95: f64,
}

/// What changed from one state of the cloth to the next.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct States {
    /// Step by step: in the loom, off the loom, washed.
    pub steps: Vec<StateStep>,
    /// What washing takes, as a plan writes it; null where it wasn't seen or nothing was lost.
    pub shrinkage: Option<PlanShrinkage>,
}

/// One step.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct StateStep {
    /// State before.
    pub from: String,
    /// State after.
    pub to: String,
    /// Loss of length, % of the length before.
    pub length_percent: Option<Quantity>,
    /// Loss of width, % of the width before.
    pub width_percent: Option<Quantity>,
}

/// What goes into a plan under `shrinkage`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct PlanShrinkage {
    /// Of the length, such as "3.1 %".
    pub length: Option<String>,
    /// Of the width.
    pub width: Option<String>,
}

/// Something that can't be compared.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct NotCompared {
    /// What.
    pub what: String,
    /// Why, and what would make it comparable.
    pub why: String,
}
