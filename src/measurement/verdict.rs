//! What a result says about the weaving: held against the plan, found, doubted, not measured.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Quantity;

/// Whether a figure meets the plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum Verdict {
    /// The whole interval lies inside the tolerance.
    #[serde(rename = "within")]
    Within,
    /// The whole interval lies outside the tolerance.
    #[serde(rename = "outside")]
    Outside,
    /// The interval straddles the limit.
    #[serde(rename = "cannot tell")]
    CannotTell,
}

/// One figure held against the plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct AgainstPlan {
    /// `picks`, `draw_in`, `beat`, `waviness_left`, `waviness_right`, `length`, `width`.
    pub what: String,
    /// What the plan says, in `unit`; a limit where the plan names only one.
    pub planned: f64,
    /// What was measured, in `unit`.
    pub measured: Quantity,
    /// The unit of both.
    pub unit: String,
    /// Whether they agree.
    pub verdict: Verdict,
}

/// What kind of thing was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum FindingKind {
    /// Picks lie farther apart than elsewhere.
    LooseStretch,
    /// Picks lie closer than elsewhere.
    TightStretch,
    /// The spacing creeps from start to finish.
    Drift,
    /// A selvedge is pulled in.
    EdgePull,
    /// A selvedge stands out.
    EdgeLoop,
    /// The band grows wider or narrower along its length.
    Taper,
    /// Cells that differ from the drawdown, or without one from the cloth's own repeat.
    MisWoven,
    /// A row left out, doubled or out of turn.
    RowOrder,
}

/// Left or right, the weaver's.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// The weaver's left.
    Left,
    /// The weaver's right.
    Right,
}

/// One thing that is off, with its place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Finding {
    /// What kind.
    pub kind: FindingKind,
    /// Which selvedge, for selvedges.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<Side>,
    /// Where it begins, mm from the start of the body.
    pub from_mm: f64,
    /// Where it ends, mm from the start of the body.
    pub to_mm: f64,
    /// How large it is, in `unit`.
    pub size: f64,
    /// Unit of `size`.
    pub unit: String,
    /// First pick concerned, from 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pick: Option<u32>,
    /// Ends concerned, from 1 at the weaver's left; absent where only their place is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ends: Option<Vec<u32>>,
    /// Where those ends lie, mm from the left selvedge, where they were held against the cloth's own repeat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub across_mm: Option<[f64; 2]>,
    /// The finding in words.
    pub text: String,
}

/// A measurement with a doubt.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Warning {
    /// Stable, for scripts.
    pub code: String,
    /// What is doubtful, and what to do.
    pub text: String,
}

/// A part that could not be measured.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Unmeasured {
    /// Which part: `picks`, `count`, `length`, `width`, `draw_in`, `selvedges`, `rows`, `beat`,
    /// `hand_count`, `mis-woven picks`.
    pub what: String,
    /// Why, and what to do.
    pub why: String,
}
