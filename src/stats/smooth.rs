//! Smoothing a series with a Gaussian.

/// Smooths `series` with a Gaussian of standard deviation `sigma` samples; near the ends the
/// kernel is cut off and its weights made to sum to one.
#[must_use]
pub fn gaussian_smooth(series: &[f64], sigma: f64) -> Vec<f64> {
    if sigma <= 0.0 || series.len() < 2 {
        return series.to_vec();
    }
    let reach = (4.0 * sigma).ceil() as usize;
    let kernel: Vec<f64> = (0..=reach)
        .map(|i| (-0.5 * (i as f64 / sigma).powi(2)).exp())
        .collect();
    (0..series.len())
        .map(|i| {
            let (from, to) = (i.saturating_sub(reach), (i + reach).min(series.len() - 1));
            let (mut sum, mut weight) = (0.0, 0.0);
            for (j, value) in series.iter().enumerate().take(to + 1).skip(from) {
                let w = kernel[i.abs_diff(j)];
                sum += w * value;
                weight += w;
            }
            sum / weight
        })
        .collect()
}
