//! How narrow and how wide does the band get?
//!
//! The least and the greatest width after the short-wave filter (Gaussian low-pass, cut-off five
//! picks), which takes out the weft turns.

use super::BodyEdges;
use super::waviness::{SHORT_CUTOFF_PICKS, SLOW_STEP_MM};
use crate::stats::{Estimate, gaussian_low_pass, white_noise_gain};

/// Least and greatest width of the filtered body, mm; `None` for an empty body or no pitch.
#[must_use]
pub fn width_range(edges: &BodyEdges, pitch_mm: f64) -> Option<(Estimate, Estimate)> {
    let coarse = edges.averaged(SLOW_STEP_MM);
    let cutoff = SHORT_CUTOFF_PICKS * pitch_mm / coarse.step_mm;
    if !(cutoff.is_finite() && cutoff > 0.0) {
        return None;
    }
    let width = gaussian_low_pass(&coarse.width_mm(), cutoff);
    let noise = coarse.noise_mm * (2.0 * white_noise_gain(cutoff)).sqrt();
    let doubt = noise.hypot(coarse.width_bias_mm());
    let estimate = |w: f64| Estimate::new(w, doubt, w * coarse.scale_u);
    let least = width.iter().copied().reduce(f64::min)?;
    let greatest = width.iter().copied().reduce(f64::max)?;
    Some((estimate(least), estimate(greatest)))
}

#[cfg(test)]
mod tests {
    use super::super::testing::edges_of;
    use super::*;

    #[test]
    fn the_turns_are_no_width_but_a_narrow_place_is() {
        let turn = |at: f64| 0.4 * (std::f64::consts::TAU * at / 5.0).cos();
        let waist = |at: f64| -2.0 * (-((at - 60.0) / 15.0).powi(2)).exp();
        let edges = edges_of(2401, 0.05, |at| {
            (15.0 + turn(at) + waist(at), 15.0 - turn(at))
        });
        let (least, greatest) = width_range(&edges, 2.5).expect("a body");
        assert!((greatest.value - 30.0).abs() < 0.05, "{greatest:?}");
        assert!((least.value - 28.1).abs() < 0.2, "{least:?}");
    }
}
