//! What the weaver meant to weave.

mod drawdown;

pub use drawdown::Drawdown;

/// A plan, checked: lengths in millimetres, shares as fractions (0.07 for 7 %).
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// What the band is.
    pub title: String,
    /// Warp positions across the band.
    pub ends: u32,
    /// Width in the loom, mm.
    pub width_in_loom_mm: f64,
    /// Length of the body as woven, mm.
    pub woven_length_mm: f64,
    /// Picks per inch.
    pub picks_per_inch: f64,
    /// Share of the width in the loom that its maker expects to lose, where given.
    pub draw_in: Option<f64>,
    /// The over/under grid, where given.
    pub drawdown: Option<Drawdown>,
    /// Row of the drawdown (from 1) that the body ends on, where given.
    pub finish_on_row: Option<u32>,
    /// Picks of another yarn before and after the body; `None` where the plan is silent.
    pub header_picks: Option<u32>,
    /// Thickness of the whole cloth, mm.
    pub thickness_mm: Option<f64>,
    /// What counts as good enough.
    pub tolerance: Tolerance,
    /// The unit the plan's own lengths are written in.
    pub units: LengthUnits,
}

/// How far a figure may lie from the plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tolerance {
    /// Picks per inch against the planned, share. Default: 0.08.
    pub picks: f64,
    /// Draw-in against the planned, share of the width in the loom (percentage points / 100).
    /// Default: 0.10.
    pub draw_in: f64,
    /// Local picks per inch against the band's median, and drift; share. Default: 0.08.
    pub beat: f64,
    /// Waviness (Wq) of a selvedge, mm. Default: 0.5.
    pub waviness_mm: f64,
}

impl Default for Tolerance {
    fn default() -> Self {
        Self {
            picks: 0.08,
            draw_in: 0.10,
            beat: 0.08,
            waviness_mm: 0.5,
        }
    }
}

/// In which units lengths are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum LengthUnits {
    /// Inches, picks per inch.
    Inches,
    /// Centimetres, picks per centimetre.
    #[default]
    Centimetres,
}
