//! What does a ruler laid across read? The width over the weft turns.
//!
//! # Method
//! 1. On each side, at every sample, the outermost place within a centred window two picks wide in
//!    all: the weft turns once on each side within two picks.
//! 2. Averaged along the body; left and right added (EN 1773:1996, clause 3).
//!
//! # The bias of an outermost
//! The outermost of many noisy samples lies too far out, by a couple of standard deviations of the
//! noise. Two things against it: each sample is first replaced by a parabola through its closest
//! neighbours (two fifths of a pick, which a turn's rounding survives), and what is left is
//! measured by adding the same noise once more and seeing how much farther out the outermost
//! goes. Half of what was taken off stays as doubt.
//!
//! # References
//! The last step is simulation-extrapolation to first order (J. R. Cook and L. A. Stefanski,
//! *J. Am. Stat. Assoc.* 89 (1994) 1314); its noise comes from a fixed sequence, so the same
//! photo gives the same figure.

use super::BodyEdges;
use crate::stats::{Estimate, normal_quantile, running_max, whole};

/// Picks that the window holds in all.
const WINDOW_PICKS: f64 = 2.0;

/// Half the width of the parabola, in picks.
const PARABOLA_PICKS: f64 = 0.2;

/// Width over the turns, mm; `None` for an empty body or no pitch.
#[must_use]
pub fn width_over_turns(edges: &BodyEdges, pitch_mm: f64) -> Option<Estimate> {
    if edges.is_empty() || !(pitch_mm.is_finite() && pitch_mm > 0.0) {
        return None;
    }
    let sides = [&edges.left_mm, &edges.right_mm];
    let found = sides.map(|side| side_over_turns(side, edges, pitch_mm));
    let value = found[0].0 + found[1].0;
    let taken_off = found[0].1 + found[1].1;
    let doubt = edges.width_bias_mm().hypot(0.5 * taken_off);
    let noise = edges.noise_mm * (2.0 * pitch_mm / edges.step_mm).sqrt() / edges.len() as f64;
    Some(Estimate::new(
        value,
        doubt.hypot(noise),
        value * edges.scale_u,
    ))
}

/// Mean outermost place of one side freed of its bias, and the bias that was taken off, mm.
fn side_over_turns(side: &[f64], edges: &BodyEdges, pitch_mm: f64) -> (f64, f64) {
    let half = whole(0.5 * WINDOW_PICKS * pitch_mm / edges.step_mm);
    let reach = whole(PARABOLA_PICKS * pitch_mm / edges.step_mm);
    let outermost = |edge: &[f64]| {
        let smooth = parabolas(edge, reach);
        let top = running_max(&smooth, half);
        top.iter().sum::<f64>() / top.len() as f64
    };
    let plain = outermost(side);
    let noisier: Vec<f64> = side
        .iter()
        .zip(fixed_noise())
        .map(|(v, z)| v + edges.jitter_mm * z)
        .collect();
    let bias = (outermost(&noisier) - plain).max(0.0);
    (plain - bias, bias)
}

/// Standard normal numbers from a fixed low-discrepancy sequence in shuffled order (multiples of
/// the golden ratio, twice folded): never the clock.
fn fixed_noise() -> impl Iterator<Item = f64> {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    (1..).map(|k: u32| {
        let k = f64::from(k);
        let u = (k * GOLDEN + (k * k * 0.414_213_562_373_095).fract()).fract();
        normal_quantile(u.clamp(1e-9, 1.0 - 1e-9))
    })
}

/// Each value replaced by the parabola fitted through its `reach` neighbours on either side.
fn parabolas(values: &[f64], reach: usize) -> Vec<f64> {
    if reach == 0 {
        return values.to_vec();
    }
    // Weights of a local quadratic fit at its middle (Savitzky and Golay): a − b k².
    let m = reach as f64;
    let count = 2.0 * m + 1.0;
    let b = 15.0 / ((2.0 * m - 1.0) * count * (2.0 * m + 3.0));
    let a = 3.0 * (3.0 * m * m + 3.0 * m - 1.0) / ((2.0 * m - 1.0) * count * (2.0 * m + 3.0));
    (0..values.len())
        .map(|at| {
            if at < reach || at + reach >= values.len() {
                return values[at];
            }
            (0..=2 * reach)
                .map(|k| {
                    let off = k as f64 - m;
                    (a - b * off * off) * values[at + k - reach]
                })
                .sum()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::testing::edges_of;
    use super::*;
    use crate::stats::testing::Normal;

    /// A selvedge that runs out by `depth` once every two picks.
    fn turn(at: f64, pitch: f64, depth: f64) -> f64 {
        let phase = (std::f64::consts::PI * at / pitch).cos();
        depth * phase.abs().powf(1.5).copysign(phase).max(0.0)
    }

    #[test]
    fn the_turns_count_and_the_hollows_do_not() {
        let edges = edges_of(2000, 0.05, |at| (16.0 + turn(at, 2.5, 0.8), 16.0));
        let mut clean = edges.clone();
        clean.jitter_mm = 0.0;
        let width = width_over_turns(&clean, 2.5).expect("a body");
        assert!((width.value - 32.8).abs() < 0.02, "{width:?}");
    }

    #[test]
    fn noise_does_not_widen_the_band() {
        let mut normal = Normal::new(21);
        let mut edges = edges_of(3000, 0.05, |at| {
            (16.0 + turn(at, 2.5, 0.8), 16.0 + turn(at + 2.5, 2.5, 0.8))
        });
        edges.jitter_mm = 0.06;
        for side in [&mut edges.left_mm, &mut edges.right_mm] {
            side.iter_mut().for_each(|v| *v += 0.06 * normal.draw());
        }
        let width = width_over_turns(&edges, 2.5).expect("a body");
        assert!((width.value - 33.6).abs() < width.u95(), "{width:?}");
        assert!((width.value - 33.6).abs() < 0.05, "{width:?}");
    }
}
