//! How large is a spread once the noise of measuring is taken out?
//!
//! Spreads (coefficient of variation, waves, scatter) are mean squares of values that were made
//! from measured places by a linear recipe: differences, minus a line, low-passed. Noise on the
//! places adds to each mean square, and always upward.
//!
//! # Method
//! 1. `y` = recipe(places); the recipe is linear, so the noise of place k with standard
//!    uncertainty u(k) reaches `y` as column `m(k) = u(k) · recipe(unit vector k)`.
//! 2. Mean square = (|y|² − Σ |m(k)|²) / divisor: unbiased for independent noise. Doubt that is no noise, because it is
//!    shared or evens the places out as often as not, is left in.
//! 3. Its variance = (4 Σ (m(k)·y)² + 2 ‖MᵀM‖²) / divisor², for normal noise, where the first sum is
//!    itself freed of its noise.
//!
//! 4. An error that all places share by one pattern moves |y|² by twice its product with `y`: by a share of
//!    itself, and the mean square by the same share, for the pattern is made of the places. It is as likely a
//!    factor up as the same factor down.

use nalgebra::DMatrix;

use super::Estimate;

/// A mean square freed of measuring noise, with its standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeanSquare {
    /// The mean square; below zero where chance took out more noise than there was.
    pub value: f64,
    /// One standard uncertainty from the noise of measuring.
    pub u: f64,
    /// One standard uncertainty from what all places share, as a share of the mean square.
    pub shared: f64,
}

impl MeanSquare {
    /// The mean square of `recipe(places)` over `divisor`, given each place's standard
    /// uncertainty, what of it is noise that is to be taken out, and an error that all places
    /// share: one standard uncertainty of it at each.
    ///
    /// `recipe` must be linear. Places and uncertainties are of the same length and unit.
    pub fn new(
        places: &[f64],
        (places_u, noise_u): (&[f64], &[f64]),
        shared_u: &[f64],
        divisor: f64,
        recipe: impl Fn(&[f64]) -> Vec<f64>,
    ) -> Self {
        let y = recipe(places);
        let columns = columns(places_u, y.len(), &recipe);
        let noise = |(k, noise): (usize, &f64)| {
            let share = noise / places_u[k].max(f64::MIN_POSITIVE);
            share * share * columns.column(k).norm_squared()
        };
        let added: f64 = noise_u.iter().enumerate().map(noise).sum();
        let plain: f64 = y.iter().map(|v| v * v).sum();
        let along = recipe(shared_u);
        let moved: f64 = y.iter().zip(&along).map(|(y, m)| 2.0 * y * m).sum();
        Self {
            value: (plain - added) / divisor,
            u: spread(&columns, &y) / divisor,
            shared: moved.abs() / plain.max(f64::MIN_POSITIVE),
        }
    }

    /// The same with `value` known from elsewhere (such as the covariance of two halves).
    #[must_use]
    pub const fn with_value(self, value: f64) -> Self {
        Self { value, ..self }
    }

    /// Its root, times `factor`: an estimate whose interval holds the roots of the mean square's
    /// interval.
    ///
    /// Near zero a root has no straight error: the longer of its two arms counts, the noise's and the
    /// shared error's each by itself.
    #[must_use]
    pub fn root(self, factor: f64) -> Estimate {
        let at = |v: f64| v.max(0.0).sqrt() * factor;
        let value = at(self.value);
        let (low, high) = (
            at(self.value - 1.96 * self.u),
            at(self.value.max(0.0) + 1.96 * self.u),
        );
        let noise = (high - value).max(value - low);
        let shared = value * ((1.0 + 1.96 * self.shared).sqrt() - 1.0);
        Estimate::new(value, noise.hypot(shared) / 1.96, 0.0)
    }
}

/// What a unit of noise at each place adds to the recipe's result, scaled by that place's noise:
/// one column a place.
fn columns(places_u: &[f64], rows: usize, recipe: &impl Fn(&[f64]) -> Vec<f64>) -> DMatrix<f64> {
    let mut columns = DMatrix::zeros(rows, places_u.len());
    let mut probe = vec![0.0; places_u.len()];
    for (k, u) in places_u.iter().enumerate() {
        probe[k] = *u;
        for (row, value) in recipe(&probe).into_iter().enumerate() {
            columns[(row, k)] = value;
        }
        probe[k] = 0.0;
    }
    columns
}

/// Standard deviation that the noise gives to |y|².
fn spread(columns: &DMatrix<f64>, y: &[f64]) -> f64 {
    let y = DMatrix::from_column_slice(y.len(), 1, y);
    let along: f64 = columns.tr_mul(&y).iter().map(|v| v * v).sum();
    let own: f64 = columns.tr_mul(columns).iter().map(|v| v * v).sum();
    (4.0 * (along - own).max(0.0) + 2.0 * own).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::gaps;
    use crate::stats::testing::Normal;

    #[test]
    fn noise_is_taken_out_and_its_spread_foretold() {
        let mut noise = Normal::new(11);
        let mut normal = || noise.draw();
        let truth: Vec<f64> = (0..60).map(|_| normal()).collect();
        let exact = gaps(&truth).iter().map(|d| d * d).sum::<f64>() / 59.0;
        let seen_u = vec![0.3; 60];
        let (mut off, mut inside) = (0.0, 0);
        for _ in 0..300 {
            let seen: Vec<f64> = truth.iter().map(|v| v + 0.3 * normal()).collect();
            let found = MeanSquare::new(&seen, (&seen_u, &seen_u), &[0.0; 60], 59.0, gaps);
            off += (found.value - exact) / found.u / 300.0;
            inside += u32::from((found.value - exact).abs() < 1.96 * found.u);
        }
        assert!(f64::abs(off) < 0.2, "bias of {off} standard uncertainties");
        assert!((276..=297).contains(&inside), "{inside} of 300 inside");
    }

    #[test]
    fn what_all_places_share_moves_a_root_by_a_factor() {
        let square = MeanSquare {
            value: 4.0,
            u: 0.0,
            shared: 1.25 / 1.96,
        };
        let root = square.root(1.0);
        assert!((root.value - 2.0).abs() < 1e-12 && (root.u95() - 1.0).abs() < 1e-9);
    }

    #[test]
    fn the_root_of_nothing_still_has_a_doubt() {
        let root = MeanSquare {
            value: -0.01,
            u: 0.02,
            shared: 0.0,
        }
        .root(100.0);
        assert!(root.value.abs() < 1e-12 && root.u95() > 10.0);
        let below = MeanSquare {
            value: -0.05,
            u: 0.02,
            shared: 0.0,
        }
        .root(100.0);
        assert!(below.u95() > 10.0, "{below:?}");
    }
}
