//! What the pick finder is told, and what it assumes.

use crate::plan::Drawdown;

/// What is known of the picks before the photo is looked at; everything may be missing.
#[derive(Clone, Debug, Default)]
pub struct PickHint {
    /// Planned picks per inch.
    pub picks_per_inch: Option<f64>,
    /// Warp positions across the band.
    pub ends: Option<u32>,
    /// The over/under grid.
    pub drawdown: Option<Drawdown>,
    /// Picks of another yarn before and after the body.
    pub header_picks: Option<u32>,
    /// Width in the loom, mm.
    pub width_in_loom_mm: Option<f64>,
}

/// What [`find_picks`](super::find_picks) assumes.
#[derive(Clone, Debug, PartialEq)]
pub struct PickOptions {
    /// Least and greatest pick spacing looked for, as shares of the planned one.
    ///
    /// Wider finds bands that missed their plan by more; it stays inside an octave, so that half
    /// and double can't be taken. Default: 0.6 to 1.6.
    pub spacing_range: (f64, f64),
    /// Least pixels a pick; below it the picks are refused. Default: 4.
    pub min_px_a_pick: f64,
    /// Fewest picks that must be in view. Default: 6.
    pub min_picks: usize,
    /// Whether a header may lie before and after the body; if not, the cloth is all body.
    /// Default: true.
    pub headers: bool,
}

impl Default for PickOptions {
    fn default() -> Self {
        Self {
            spacing_range: (0.6, 1.6),
            min_px_a_pick: 4.0,
            min_picks: 6,
            headers: true,
        }
    }
}
