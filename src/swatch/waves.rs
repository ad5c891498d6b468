//! Complex waves along the cloth: summed over a strip, smoothed, and what they say from row to row.

use ndarray::Array2;
use rustfft::num_complex::Complex;

use crate::stats::median;

/// One value a row.
pub(super) type Wave = Vec<Complex<f64>>;

/// How much the steady going-on counts where the weft is faint, as a share of the usual wave.
const STEADY_SHARE: f64 = 0.3;

/// A strip's steps at length one, but shorter where its weft is faint.
pub(super) fn one_voice(steps: Wave) -> Wave {
    let lengths: Vec<f64> = steps.iter().map(|z| z.norm()).collect();
    let floor = STEADY_SHARE * median(&lengths).unwrap_or(0.0) + f64::MIN_POSITIVE;
    steps.into_iter().map(|z| z / (z.norm() + floor)).collect()
}

/// The turn from row to row, picks: of the summed products of neighbouring waves, the steady
/// going-on mixed in where they are faint.
pub(super) fn turns(products: &[Complex<f64>]) -> Vec<f64> {
    let lengths: Vec<f64> = products.iter().map(|z| z.norm()).collect();
    let steady = STEADY_SHARE * median(&lengths).unwrap_or(0.0);
    products
        .iter()
        .map(|z| (z + steady).arg() / std::f64::consts::TAU)
        .collect()
}

/// A strip's sum at the weft's slant, one value a row.
pub(super) fn strip_sum(mark: &Array2<f32>, turn: &Wave, from: usize, to: usize) -> Wave {
    mark.rows()
        .into_iter()
        .map(|row| {
            (from..to)
                .map(|j| turn[j] * f64::from(row[j]))
                .sum::<Complex<f64>>()
        })
        .collect()
}

/// A Gaussian of `sigma` rows; near the ends its weights are made to sum to one.
pub(super) fn smooth(wave: &[Complex<f64>], sigma: f64) -> Wave {
    let reach = (3.5 * sigma).ceil() as usize;
    let kernel: Vec<f64> = (0..=reach)
        .map(|d| (-0.5 * (d as f64 / sigma).powi(2)).exp())
        .collect();
    (0..wave.len())
        .map(|i| {
            let (from, to) = (i.saturating_sub(reach), (i + reach).min(wave.len() - 1));
            let (mut sum, mut weight) = (Complex::new(0.0, 0.0), 0.0);
            for j in from..=to {
                let w = kernel[i.abs_diff(j)];
                sum += wave[j] * w;
                weight += w;
            }
            sum / weight
        })
        .collect()
}
