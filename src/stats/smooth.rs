//! Smoothing a series with a Gaussian.

/// Values that are smoothed at once: their sums don't wait for one another.
const AT_ONCE: usize = 16;

/// Smooths `series` with a Gaussian of standard deviation `sigma` samples; near the ends the
/// kernel is cut off and its weights made to sum to one.
#[must_use]
pub fn gaussian_smooth(series: &[f64], sigma: f64) -> Vec<f64> {
    Smoother::new(series.len(), sigma).smooth(series)
}

/// A Gaussian for many series of one length.
#[derive(Debug)]
pub(crate) struct Smoother {
    /// Weights from `reach` before to `reach` behind; of one value where nothing is smoothed.
    kernel: Vec<f64>,
    reach: usize,
    /// Sum of the weights that fall on the series, at each of its places.
    weights: Vec<f64>,
}

impl Smoother {
    /// For series of `len` samples, with a standard deviation of `sigma` samples.
    pub(crate) fn new(len: usize, sigma: f64) -> Self {
        let reach = if sigma <= 0.0 || len < 2 {
            0
        } else {
            ((4.0 * sigma).ceil() as usize).min(len)
        };
        let weight = |i: usize| (-0.5 * (i as f64 / sigma).powi(2)).exp();
        let half: Vec<f64> = (0..=reach)
            .map(|i| if reach == 0 { 1.0 } else { weight(i) })
            .collect();
        let mut smoother = Self {
            kernel: (0..=2 * reach).map(|d| half[d.abs_diff(reach)]).collect(),
            reach,
            weights: Vec::new(),
        };
        smoother.weights = smoother.sums(&vec![1.0; len]);
        smoother
    }

    /// The smoothed series; as long as the one it was made for.
    pub(crate) fn smooth(&self, series: &[f64]) -> Vec<f64> {
        let mut sums = self.sums(series);
        for (sum, weight) in sums.iter_mut().zip(&self.weights) {
            *sum /= weight;
        }
        sums
    }

    /// Weighted sum around each value; what lies beyond the ends counts nothing.
    fn sums(&self, series: &[f64]) -> Vec<f64> {
        let (n, reach) = (series.len(), self.reach);
        let mut padded = vec![0.0; n + 2 * reach + AT_ONCE];
        padded[reach..reach + n].copy_from_slice(series);
        let mut sums = vec![0.0; n];
        for (first, out) in (0..n).step_by(AT_ONCE).zip(sums.chunks_mut(AT_ONCE)) {
            // Weights that meet only what lies beyond the ends are left out.
            let from = (reach + 1).saturating_sub(first + AT_ONCE);
            let to = (reach + n).saturating_sub(first).min(2 * reach + 1);
            let mut total = [0.0; AT_ONCE];
            for (d, weight) in self.kernel.iter().enumerate().take(to).skip(from) {
                for (sum, value) in total
                    .iter_mut()
                    .zip(&padded[first + d..first + d + AT_ONCE])
                {
                    *sum += weight * value;
                }
            }
            out.copy_from_slice(&total[..out.len()]);
        }
        sums
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn many_values_at_once_give_what_one_by_one_gives() {
        let series: Vec<f64> = (0..70).map(|k| f64::from(k * 37 % 23)).collect();
        for sigma in [0.3, 2.0, 30.0] {
            let smooth = gaussian_smooth(&series, sigma);
            for (at, value) in smooth.iter().enumerate() {
                let weight = |j: usize| (-0.5 * (j.abs_diff(at) as f64 / sigma).powi(2)).exp();
                let near = |j: &usize| j.abs_diff(at) as f64 <= (4.0 * sigma).ceil();
                let (sum, all) = (0..series.len())
                    .filter(near)
                    .fold((0.0, 0.0), |(s, w), j| {
                        (s + weight(j) * series[j], w + weight(j))
                    });
                assert!((value - sum / all).abs() < 1e-12, "{sigma} {at}");
            }
        }
        assert_eq!(gaussian_smooth(&series, 0.0), series);
    }
}
