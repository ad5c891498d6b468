//! A hand count beside the program's.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Quantity;

/// The weaver's own count held beside the program's over the same stretch.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct HandCount {
    /// Picks that she counted, with the doubt of counting by hand.
    pub counted: Quantity,
    /// Length that she counted over, mm.
    pub over_mm: f64,
    /// Where it begins, mm from the start of the body; `null`: anywhere.
    pub at_mm: Option<f64>,
    /// Picks that the program finds there, cut ones by their share.
    pub measured: Quantity,
    /// Whether the two differ by no more than both doubts.
    pub agree: bool,
    /// Counted over measured, less one, %.
    pub difference_percent: f64,
    /// What it comes to, in words.
    pub text: String,
}
