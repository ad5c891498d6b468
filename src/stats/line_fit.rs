//! A straight line through points, by plain least squares, with what each point adds to its slope.

/// A straight line `y = mean_y + slope · (x − mean_x)` fitted by plain least squares.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LineFit {
    /// Change of `y` a unit of `x`.
    pub slope: f64,
    /// Mean of the `x`.
    pub mean_x: f64,
    /// Mean of the `y`: the line's value at `mean_x`.
    pub mean_y: f64,
    /// Sum of the squared distances of the `x` from their mean.
    pub sxx: f64,
    /// Standard deviation of the points about the line, n − 2 in the divisor.
    pub residual_sd: f64,
}

impl LineFit {
    /// Fits the points; `None` with fewer than three, or where all `x` are the same.
    ///
    /// ```
    /// use evenfell::stats::LineFit;
    /// let line = LineFit::new(&[0.0, 1.0, 2.0], &[1.0, 3.0, 5.0]).expect("three points");
    /// assert!((line.slope - 2.0).abs() < 1e-12 && line.residual_sd < 1e-12);
    /// ```
    #[must_use]
    pub fn new(x: &[f64], y: &[f64]) -> Option<Self> {
        let n = x.len().min(y.len());
        if n < 3 {
            return None;
        }
        let count = n as f64;
        let mean_x = x[..n].iter().sum::<f64>() / count;
        let mean_y = y[..n].iter().sum::<f64>() / count;
        let pairs = || x.iter().zip(y).map(|(x, y)| (x - mean_x, y - mean_y));
        let sxx: f64 = pairs().map(|(dx, _)| dx * dx).sum();
        if sxx <= f64::EPSILON * mean_x.abs().max(1.0) {
            return None;
        }
        let slope = pairs().map(|(dx, dy)| dx * dy).sum::<f64>() / sxx;
        let left: f64 = pairs().map(|(dx, dy)| (dy - slope * dx).powi(2)).sum();
        Some(Self {
            slope,
            mean_x,
            mean_y,
            sxx,
            residual_sd: (left / (count - 2.0)).sqrt(),
        })
    }

    /// The line's value at `x`.
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        self.mean_y + self.slope * (x - self.mean_x)
    }

    /// One standard error of the slope if the points scatter independently about the line.
    #[must_use]
    pub fn slope_se(&self) -> f64 {
        self.residual_sd / self.sxx.sqrt()
    }
}
