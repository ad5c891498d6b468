//! How many independent values is a row of neighbours worth?
//!
//! # Method
//! 1. Autocorrelation of the values about their mean.
//! 2. The correlation time τ = 1 + 2 Σ ρ(k), summed over the smallest window M with M ≥ 5 τ(M).
//! 3. The row is worth n / τ values.
//!
//! # Limits
//! Below some 50 correlation times τ itself comes out too small.
//!
//! Reference: A. Sokal, *Monte Carlo Methods in Statistical Mechanics* (1989), section 3.

/// How many correlation times the window must hold (Sokal: between 4 and 10).
const WINDOW_TIMES: f64 = 5.0;

/// The number of independent values that `values`, in their order, are worth: from 1 to their
/// number, and no more than their number where neighbours differ more than chance has it.
///
/// ```
/// // Twenty values in no order, each held over twenty places.
/// let slow: Vec<f64> = (0..400).map(|i| f64::from(i / 20 * 7 % 11)).collect();
/// assert!(evenfell::stats::effective_count(&slow) < 100.0);
/// ```
#[must_use]
pub fn effective_count(values: &[f64]) -> f64 {
    let n = values.len();
    if n < 3 {
        return n as f64;
    }
    let mean = values.iter().sum::<f64>() / n as f64;
    let off: Vec<f64> = values.iter().map(|v| v - mean).collect();
    let whole: f64 = off.iter().map(|v| v * v).sum();
    if whole <= 0.0 {
        return n as f64;
    }
    let mut tau = 1.0;
    for lag in 1..n {
        let shared: f64 = off.iter().zip(&off[lag..]).map(|(a, b)| a * b).sum();
        tau += 2.0 * shared / whole;
        if lag as f64 >= WINDOW_TIMES * tau {
            break;
        }
    }
    (n as f64 / tau.max(1.0)).clamp(1.0, n as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::testing::Normal;

    /// A row in which each value keeps `keep` of the one before.
    fn chain(n: usize, keep: f64) -> Vec<f64> {
        let (mut normal, mut last) = (Normal::new(7), 0.0);
        (0..n)
            .map(|_| {
                last = keep * last + normal.draw();
                last
            })
            .collect()
    }

    #[test]
    fn independent_values_count_fully() {
        let worth = effective_count(&chain(4000, 0.0));
        assert!(worth > 3000.0, "{worth}");
    }

    #[test]
    fn a_neighbour_correlation_of_0_8_leaves_a_ninth() {
        let worth = effective_count(&chain(9000, 0.8));
        assert!((700.0..1400.0).contains(&worth), "{worth}");
    }
}
