//! Is the photo sharp?
//!
//! # Method
//! A selvedge is a step of lightness from yarn to ground. At each row of the trace, the step's
//! height over its steepest pixel-to-pixel change is its 10-90 % width in pixels (exactly so for
//! a Gaussian blur but for 2 %: √(2π) σ against 2.56 σ). The median over both selvedges counts.
//!
//! # Limits
//! Woolly yarn widens the step as blur does, so this is a warning and no refusal. A movement
//! exactly along the band leaves the selvedges sharp.

use crate::band::BandTrace;
use crate::stats::{median, whole};

/// Least lightness step across a selvedge that its width can be read from, L*.
const LEAST_STEP: f64 = 12.0;

/// How far to both sides of the selvedge the step is looked at, mm.
const REACH_MM: f64 = 1.0;

/// 10-90 % width of the selvedges' lightness step, px. `None` where band and ground are too alike
/// in lightness to tell.
pub(super) fn edge_width_px(trace: &BandTrace, body_mm: (f64, f64)) -> Option<f64> {
    let straight = &trace.straight;
    let rows = straight.lab[0].nrows();
    let mut widths = Vec::new();
    for row in 0..rows.min(trace.left_mm.len()).min(trace.right_mm.len()) {
        let s = straight.s_of(row);
        if s < body_mm.0 || s > body_mm.1 {
            continue;
        }
        let edges = [trace.left_mm[row], trace.right_mm[row]];
        widths.extend(
            edges
                .iter()
                .filter_map(|edge| step_width(trace, row, *edge)),
        );
    }
    median(&widths)
}

/// Width of the step around `edge_mm` in one row, px.
fn step_width(trace: &BandTrace, row: usize, edge_mm: f64) -> Option<f64> {
    let straight = &trace.straight;
    let lightness = &straight.lab[0];
    let column = |t: f64| whole((t - straight.t0_mm) / straight.step_mm).min(lightness.ncols());
    let (from, to) = (column(edge_mm - REACH_MM), column(edge_mm + REACH_MM));
    let values: Vec<f64> = (from..to).map(|c| f64::from(lightness[(row, c)])).collect();
    let high = values.iter().copied().reduce(f64::max)?;
    let low = values.iter().copied().reduce(f64::min)?;
    let changes = values.windows(2).map(|w| (w[1] - w[0]).abs());
    let steepest = changes.reduce(f64::max)?;
    (high - low >= LEAST_STEP && steepest > 0.0).then(|| (high - low) / steepest)
}
