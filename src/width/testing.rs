//! Selvedges of known shape, for the tests of this stage and of the findings.

use super::BodyEdges;

/// Selvedges from a function of the place along the band (mm) to (left, right), mm outward.
pub(crate) fn edges_of(samples: u32, step_mm: f64, shape: impl Fn(f64) -> (f64, f64)) -> BodyEdges {
    let (left_mm, right_mm) = (0..samples).map(|k| shape(f64::from(k) * step_mm)).unzip();
    BodyEdges {
        step_mm,
        first_mm: 0.0,
        left_mm,
        right_mm,
        noise_mm: 0.02,
        jitter_mm: 0.02,
        bias_mm: 0.01,
        scale_u: 0.001,
    }
}
