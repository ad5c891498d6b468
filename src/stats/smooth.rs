//! Smoothing a series with a Gaussian.

/// Values that are smoothed at once: their sums don't wait for one another.
const AT_ONCE: usize = 16;

/// Values at which a wide Gaussian is worked out on either side of its middle: sixteen to a standard
/// deviation.
const STOPS_A_SIDE: usize = 64;

/// Smooths `series` with a Gaussian of standard deviation `sigma` samples; near the ends the
/// kernel is cut off and its weights made to sum to one.
#[must_use]
pub fn gaussian_smooth(series: &[f64], sigma: f64) -> Vec<f64> {
    Smoother::new(series.len(), sigma).smooth(series)
}

/// What `series` has beside that: each value less the smoothed one.
pub(crate) fn without_slow(series: &[f64], sigma: f64) -> Vec<f64> {
    let slow = gaussian_smooth(series, sigma);
    series
        .iter()
        .zip(slow)
        .map(|(own, slow)| own - slow)
        .collect()
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

    /// The same within a hundred-thousandth of the series' spread: where the Gaussian is wide it is worked
    /// out at every so many values only, and carried on between them by cubics.
    pub(crate) fn smooth_coarsely(&self, series: &[f64]) -> Vec<f64> {
        let (n, hop) = (series.len(), self.reach / STOPS_A_SIDE);
        if hop < 4 {
            return self.smooth(series);
        }
        let stops: Vec<f64> = (0..n).step_by(hop).map(|at| self.at(series, at)).collect();
        (0..n)
            .map(|at| {
                let k = at / hop;
                if k == 0 || k + 2 >= stops.len() {
                    return self.at(series, at);
                }
                let [before, from, to, behind] = [0, 1, 2, 3].map(|n| stops[k + n - 1]);
                let share = (at % hop) as f64 / hop as f64;
                let (rise, fall) = (0.5 * (to - before), 0.5 * (behind - from));
                let bend = 3.0 * (to - from) - 2.0 * rise - fall;
                let twist = rise + fall - 2.0 * (to - from);
                from + share * (rise + share * (bend + share * twist))
            })
            .collect()
    }

    /// The smoothed series at one of its values.
    fn at(&self, series: &[f64], at: usize) -> f64 {
        let from = at.saturating_sub(self.reach);
        let to = (at + self.reach + 1).min(series.len());
        let kernel = &self.kernel[from + self.reach - at..];
        let weighted = series[from..to].iter().zip(kernel).map(|(v, w)| v * w);
        weighted.sum::<f64>() / self.weights[at]
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

    #[test]
    fn a_wide_gaussian_worked_out_here_and_there_is_the_same_smooth_line() {
        let series: Vec<f64> = (0..1500).map(|k| f64::from(k * 37 % 23)).collect();
        for sigma in [2.0, 90.0, 160.0] {
            let smoother = Smoother::new(series.len(), sigma);
            let coarse = smoother.smooth_coarsely(&series);
            for (a, b) in coarse.iter().zip(smoother.smooth(&series)) {
                assert!((a - b).abs() < 2e-4, "{sigma}: {a} instead of {b}");
            }
        }
    }
}
