//! One measured value with the two kinds of doubt that behave differently.

/// A value and its standard uncertainties, scatter and scale kept apart: more rows shrink only
/// the first (JCGM 100:2008).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Estimate {
    /// The best single value.
    pub value: f64,
    /// One standard uncertainty from everything but the scale, in the value's unit.
    pub scatter: f64,
    /// One standard uncertainty from the scale, in the value's unit.
    pub scale: f64,
}

impl Estimate {
    /// An estimate from its value and its two standard uncertainties.
    #[must_use]
    pub const fn new(value: f64, scatter: f64, scale: f64) -> Self {
        Self {
            value,
            scatter,
            scale,
        }
    }

    /// Half the width of the 95 % interval (k = 1.96), in the value's unit.
    ///
    /// ```
    /// let width = evenfell::stats::Estimate::new(32.0, 0.03, 0.04);
    /// assert!((width.u95() - 1.96 * 0.05).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn u95(&self) -> f64 {
        1.96 * self.scatter.hypot(self.scale)
    }
}
