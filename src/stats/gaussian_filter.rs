//! What is slow and what is fast along a row of values?
//!
//! # Method
//! The Gaussian profile filter of ISO 16610-21: weights `exp(−π (x / (α λ))²) / (α λ)` with
//! `α = √(ln 2 / π)`, so that a sine of the cut-off wavelength λ passes at one half, of λ/2 at
//! 0.0625, of 2 λ at 0.841. Near the ends, where half of the weights would hang over, a straight
//! line is fitted locally with the same weights and its value taken (first-order Gaussian
//! regression, ISO/TS 16610-31 without its robust step): nothing is cut off, and a straight line
//! passes unchanged everywhere.
//!
//! # How this departs
//! The weights are cut at ± λ, where they have fallen to 7·10⁻⁷ of their top; the standard allows
//! ± λ/2.

use rayon::prelude::*;

/// The standard's constant, `√(ln 2 / π)`.
pub const ALPHA: f64 = 0.469_718_639_349_825_66;

/// Fewest values that are worth another thread.
const AT_ONCE: usize = 64;

/// The slow part of `values` (evenly sampled): Gaussian low-pass with cut-off wavelength `cutoff`,
/// in samples.
///
/// The result is as long as the input. A cut-off below one sample changes nothing.
///
/// ```
/// use evenfell::stats::gaussian_low_pass;
/// let line: Vec<f64> = (0..40).map(|i| 0.5 * f64::from(i)).collect();
/// let slow = gaussian_low_pass(&line, 12.0);
/// assert!(line.iter().zip(&slow).all(|(a, b)| (a - b).abs() < 1e-9));
/// ```
#[must_use]
pub fn gaussian_low_pass(values: &[f64], cutoff: f64) -> Vec<f64> {
    if !(cutoff.is_finite() && cutoff >= 1.0) {
        return values.to_vec();
    }
    let weights = half_kernel(cutoff, values.len());
    let reach = weights.len() - 1;
    let whole = weights[0] + 2.0 * weights[1..].iter().sum::<f64>();
    (0..values.len())
        .into_par_iter()
        .with_min_len(AT_ONCE)
        .map(|at| {
            if at >= reach && at + reach < values.len() {
                let sides: f64 = (1..=reach)
                    .map(|k| weights[k] * (values[at - k] + values[at + k]))
                    .sum();
                (weights[0] * values[at] + sides) / whole
            } else {
                local_line(values, &weights, at)
            }
        })
        .collect()
}

/// The share of independent noise's variance that passes the low-pass filter with cut-off
/// `cutoff`, in samples, away from the ends.
#[must_use]
pub fn white_noise_gain(cutoff: f64) -> f64 {
    (std::f64::consts::FRAC_1_SQRT_2 / (ALPHA * cutoff.max(f64::MIN_POSITIVE))).min(1.0)
}

/// Weights at 0, 1, 2 … samples from the middle, up to the cut-off or the row's length.
fn half_kernel(cutoff: f64, len: usize) -> Vec<f64> {
    let width = ALPHA * cutoff;
    (0..len.max(1))
        .map(|k| k as f64)
        .take_while(|k| *k <= cutoff)
        .map(|k| (-std::f64::consts::PI * (k / width).powi(2)).exp())
        .collect()
}

/// Value at `at` of the straight line fitted with the kernel's weights around it.
fn local_line(values: &[f64], weights: &[f64], at: usize) -> f64 {
    let reach = weights.len() - 1;
    let (from, to) = (at.saturating_sub(reach), (at + reach).min(values.len() - 1));
    let (mut w0, mut w1, mut w2, mut v0, mut v1) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (k, value) in values.iter().enumerate().take(to + 1).skip(from) {
        let x = k as f64 - at as f64;
        let w = weights[k.abs_diff(at)];
        w0 += w;
        w1 += w * x;
        w2 += w * x * x;
        v0 += w * value;
        v1 += w * x * value;
    }
    let det = w0 * w2 - w1 * w1;
    if det > 1e-9 * w0 * w0 {
        (w2 * v0 - w1 * v1) / det
    } else {
        v0 / w0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// How much of a sine of `wavelength` samples passes in the middle of a long row.
    fn transmission(wavelength: f64, cutoff: f64) -> f64 {
        let n = 2001;
        let sine: Vec<f64> = (0..n)
            .map(|i| (std::f64::consts::TAU * (f64::from(i) - 1000.0) / wavelength).cos())
            .collect();
        gaussian_low_pass(&sine, cutoff)[1000]
    }

    #[test]
    fn sines_pass_as_the_standard_says() {
        assert!((transmission(50.0, 50.0) - 0.5).abs() < 1e-4);
        assert!((transmission(25.0, 50.0) - 0.0625).abs() < 1e-4);
        assert!((transmission(100.0, 50.0) - 0.840_896).abs() < 1e-4);
    }

    #[test]
    fn a_constant_and_a_short_row_pass() {
        assert_eq!(gaussian_low_pass(&[], 5.0), Vec::<f64>::new());
        assert!((gaussian_low_pass(&[7.0], 5.0)[0] - 7.0).abs() < 1e-12);
        let two = gaussian_low_pass(&[1.0, 2.0], 5.0);
        assert!((two[0] - 1.0).abs() < 1e-9 && (two[1] - 2.0).abs() < 1e-9);
    }

    #[test]
    fn white_noise_passes_by_the_sum_of_the_squared_weights() {
        let weights = half_kernel(40.0, 1000);
        let whole = weights[0] + 2.0 * weights[1..].iter().sum::<f64>();
        let squares = weights[0].powi(2) + 2.0 * weights[1..].iter().map(|w| w * w).sum::<f64>();
        let exact = squares / whole / whole;
        assert!((white_noise_gain(40.0) / exact - 1.0).abs() < 1e-3);
    }
}
