//! A plan, checked.

use super::Drawdown;
use crate::units::LengthUnits;
use crate::yarn::Yarn;

/// A plan, checked: lengths in millimetres, shares as fractions (0.07 for 7 %).
///
/// Made by [`Plan::from_json`], or by [`Plan::new`] and changed field by field.
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
    /// The unit that the plan's picks are written in: per inch or per cm.
    pub picks_units: LengthUnits,
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
    /// The warp.
    pub warp: Warp,
    /// The weft.
    pub weft: Weft,
    /// Width of the hook, ring or buckle that the band must pass, mm.
    pub hardware_width_mm: Option<f64>,
    /// Room between the band and each bar of the loom, mm; `None` where the plan is silent.
    pub loom_room_mm: Option<f64>,
    /// What washing takes.
    pub shrinkage: Shrinkage,
    /// What counts as good enough.
    pub tolerance: Tolerance,
    /// The unit the plan's own lengths are written in.
    pub units: LengthUnits,
}

/// What the plan says of the warp.
#[derive(Clone, Debug, PartialEq)]
pub struct Warp {
    /// Its yarn, where given.
    pub yarn: Option<Yarn>,
    /// Strands in one end. Default: 1.
    pub strands: u32,
    /// Share of the warp's length that goes into its waves, (D − F)/D (ASTM D3883), where given.
    pub take_up: Option<f64>,
    /// What can't be woven, in all, mm. Default: 0.
    pub loom_waste_mm: f64,
    /// Fringe at each end, mm. Default: 0.
    pub fringe_mm: f64,
    /// Diameter of one end, mm, where given.
    pub diameter_mm: Option<f64>,
}

impl Default for Warp {
    fn default() -> Self {
        Self {
            yarn: None,
            strands: 1,
            take_up: None,
            loom_waste_mm: 0.0,
            fringe_mm: 0.0,
            diameter_mm: None,
        }
    }
}

/// What the plan says of the weft.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Weft {
    /// Its yarn, where given.
    pub yarn: Option<Yarn>,
    /// By what share of the cloth's width a pick is longer, (D − F)/F (ASTM D3883), where given.
    pub crimp: Option<f64>,
    /// Length of weft in hand at once, mm, where given.
    pub working_length_mm: Option<f64>,
    /// Diameter of the weft, mm, where given.
    pub diameter_mm: Option<f64>,
}

/// What washing takes of the band, as shares of what was there before; divided, not added.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Shrinkage {
    /// Of the length, where given.
    pub length: Option<f64>,
    /// Of the width, where given.
    pub width: Option<f64>,
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

impl Plan {
    /// A plan that says only what every plan must say: ends, width in the loom and woven length in
    /// mm, picks per inch.
    ///
    /// ```
    /// let plan = evenfell::plan::Plan::new(11, 44.45, 228.6, 10.0);
    /// assert_eq!(plan.warp.strands, 1);
    /// ```
    #[must_use]
    pub fn new(
        ends: u32,
        width_in_loom_mm: f64,
        woven_length_mm: f64,
        picks_per_inch: f64,
    ) -> Self {
        Self {
            title: String::new(),
            ends,
            width_in_loom_mm,
            woven_length_mm,
            picks_per_inch,
            picks_units: LengthUnits::default(),
            draw_in: None,
            drawdown: None,
            finish_on_row: None,
            header_picks: None,
            thickness_mm: None,
            warp: Warp::default(),
            weft: Weft::default(),
            hardware_width_mm: None,
            loom_room_mm: None,
            shrinkage: Shrinkage::default(),
            tolerance: Tolerance::default(),
            units: LengthUnits::default(),
        }
    }
}
