//! How well does a candidate spacing explain the amplitudes of one window?
//!
//! # Method
//! The drawdown's lines at that spacing, the furrow between picks and its double, and an even floor are
//! laid over the amplitudes by non-negative least squares; what they explain is the candidate's score.
//! The components don't change from window to window, so their products are worked out once.

use super::pattern::Lines;
use super::pitch::SAMPLES_A_PICK;

/// Components of the amplitudes: repeat lines, furrow, double furrow, floor.
const PARTS: usize = 4;

/// Rounds of coordinate descent: the problem is convex and tiny, so many settle it.
const ROUNDS: usize = 40;

/// What the amplitudes should look like at one candidate spacing.
pub(super) struct Shape {
    /// First bin looked at.
    first: usize,
    /// The components at each bin.
    parts: Vec<[f64; PARTS]>,
    /// Sums of the components' products, all with all.
    gram: [[f64; PARTS]; PARTS],
}

impl Shape {
    /// For a spacing of `ratio` times the planned one, within `range`; the spectra are those of
    /// `window` samples, padded to `padded`.
    pub(super) fn new(
        pattern: &Lines,
        ratio: f64,
        range: (f64, f64),
        window: usize,
        padded: usize,
    ) -> Self {
        let rows = pattern.rows as f64;
        let bin_of = |cycles_a_pick: f64| cycles_a_pick * padded as f64 / SAMPLES_A_PICK as f64;
        let first = bin_of(0.6 / (rows.max(2.0) * range.1)).floor() as usize;
        let last = (bin_of(2.3 / range.0).ceil() as usize).min(padded / 2);
        let mut parts = vec![[0.0, 0.0, 0.0, 1.0]; (last + 1).saturating_sub(first)];
        let mut line = |part: usize, cycles: f64, height: f64| {
            let middle = bin_of(cycles);
            let own = 0.75 * padded as f64 / window as f64;
            let spread = own.hypot(0.02 * middle);
            for (k, parts) in parts.iter_mut().enumerate() {
                let d = ((first + k) as f64 - middle) / spread;
                if d.abs() < 5.0 {
                    parts[part] += height * (-0.5 * d * d).exp() * own / spread;
                }
            }
        };
        for (k, power) in pattern.power.iter().enumerate() {
            line(0, (k + 1) as f64 / (rows * ratio), power.sqrt());
        }
        line(1, 1.0 / ratio, 1.0);
        line(2, 2.0 / ratio, 1.0);
        let mut gram = [[0.0; PARTS]; PARTS];
        for part in &parts {
            for (row, a) in gram.iter_mut().zip(part) {
                for (sum, b) in row.iter_mut().zip(part) {
                    *sum += a * b;
                }
            }
        }
        Self { first, parts, gram }
    }

    /// First bin looked at: the same for all candidates.
    pub(super) fn first(&self) -> usize {
        self.first
    }

    /// Number of bins that must be known.
    pub(super) fn end(&self) -> usize {
        self.first + self.parts.len()
    }

    /// Share of the amplitudes' variation that the components explain, 0 to 1.
    pub(super) fn explains(&self, seen: &Amplitudes<'_>) -> f64 {
        if seen.total > 0.0 {
            (1.0 - self.non_negative_rest(seen) / seen.total).clamp(0.0, 0.9999)
        } else {
            0.0
        }
    }

    /// Sum of squares that is left after non-negative least squares of the components.
    fn non_negative_rest(&self, seen: &Amplitudes<'_>) -> f64 {
        let mut right = [0.0; PARTS];
        for (part, value) in self.parts.iter().zip(seen.values) {
            for (sum, p) in right.iter_mut().zip(part) {
                *sum += p * value;
            }
        }
        let (gram, mut weight) = (&self.gram, [0.0_f64; PARTS]);
        for _ in 0..ROUNDS {
            let before = weight.map(f64::to_bits);
            for i in 0..PARTS {
                if gram[i][i] > 0.0 {
                    let others: f64 = (0..PARTS)
                        .filter(|&j| j != i)
                        .map(|j| gram[i][j] * weight[j])
                        .sum();
                    weight[i] = ((right[i] - others) / gram[i][i]).max(0.0);
                }
            }
            if weight.map(f64::to_bits) == before {
                break;
            }
        }
        let fitted: f64 = (0..PARTS).map(|i| weight[i] * right[i]).sum();
        let cross: f64 = (0..PARTS)
            .map(|i| {
                (0..PARTS)
                    .map(|j| weight[i] * gram[i][j] * weight[j])
                    .sum::<f64>()
            })
            .sum();
        seen.squares - 2.0 * fitted + cross
    }
}

/// One window's amplitudes from the first bin on, and what every candidate asks of them.
pub(super) struct Amplitudes<'a> {
    values: &'a [f64],
    /// Sum of their squares.
    squares: f64,
    /// The same about their mean.
    total: f64,
}

impl<'a> Amplitudes<'a> {
    /// The values from the first bin that is looked at.
    pub(super) fn new(values: &'a [f64]) -> Self {
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        Self {
            values,
            squares: values.iter().map(|v| v * v).sum(),
            total: values.iter().map(|v| (v - mean).powi(2)).sum(),
        }
    }
}
