//! Normal equations of picks that are moved together: each sample depends on two of them, never far apart.
//!
//! The matrix is kept as a band, each row from the diagonal on, and solved by elimination in the band.

use super::weft_ways::At;

/// Share of the mean curvature that is added to each pick's: one that is hardly seen stays where it is.
const STAY: f64 = 0.01;

/// The normal equations of some columns.
pub(super) struct Band {
    /// Curvature: of pick `n` with pick `n + d` at `n · width + d`.
    matrix: Vec<f64>,
    right: Vec<f64>,
    /// Sum of the squares left, and of how many samples.
    square: f64,
    count: f64,
}

impl Band {
    /// Of so many picks, each coupled with fewer than `width` behind it.
    pub(super) fn new(picks: usize, width: usize) -> Self {
        Self {
            matrix: vec![0.0; picks * width],
            right: vec![0.0; picks],
            square: 0.0,
            count: 0.0,
        }
    }

    fn width(&self) -> usize {
        self.matrix.len() / self.right.len()
    }

    /// Adds a sample: the repeat's slope squared, slope times what is left, and that squared.
    pub(super) fn add(&mut self, at: &At, (square, product, rest): (f64, f64, f64)) {
        self.square += rest;
        self.count += 1.0;
        let width = self.width();
        for (n, by) in at.by {
            self.matrix[n * width] += square * by * by;
            self.right[n] += product * by;
        }
        let [(a, by_a), (b, by_b)] = at.by;
        if a != b {
            self.matrix[a.min(b) * width + a.abs_diff(b)] += square * by_a * by_b;
        }
    }

    /// Adds those of another column.
    pub(super) fn join(&mut self, other: &Self) {
        let add = |to: &mut [f64], from: &[f64]| {
            for (sum, value) in to.iter_mut().zip(from) {
                *sum += value;
            }
        };
        add(&mut self.matrix, &other.matrix);
        add(&mut self.right, &other.right);
        self.square += other.square;
        self.count += other.count;
    }

    /// Mean square of what is left.
    pub(super) fn left(&self) -> f64 {
        self.square / self.count.max(1.0)
    }

    /// By how much each pick is to be moved: elimination in the band, then back.
    pub(super) fn solved(mut self) -> Vec<f64> {
        let (n, width) = (self.right.len(), self.width());
        let mean = (0..n).map(|k| self.matrix[k * width]).sum::<f64>() / n as f64;
        for k in 0..n {
            self.matrix[k * width] += STAY * mean + 1e-9;
        }
        for k in 0..n {
            let beside = width.min(n - k);
            for d in 1..beside {
                let share = self.matrix[k * width + d] / self.matrix[k * width];
                if share != 0.0 {
                    for e in d..beside {
                        self.matrix[(k + d) * width + e - d] -= share * self.matrix[k * width + e];
                    }
                    self.right[k + d] -= share * self.right[k];
                }
            }
        }
        for k in (0..n).rev() {
            let others: f64 = (1..width.min(n - k))
                .map(|d| self.matrix[k * width + d] * self.right[k + d])
                .sum();
            self.right[k] = (self.right[k] - others) / self.matrix[k * width];
        }
        self.right
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_band_is_solved_as_what_was_added_says() {
        // Slopes that say how far each pick is to be moved, and pairs that say the same.
        let want = [0.3, -0.2, 0.1, 0.4, -0.5, 0.2];
        let mut band = Band::new(6, 4);
        for (a, b) in [(0, 3), (1, 2), (2, 5), (4, 5), (3, 4), (0, 1)] {
            for (u, v) in [(1.0, 0.4), (-0.3, 0.9)] {
                let left = u * want[a] + v * want[b];
                let by = [(a, u), (b, v)];
                band.add(&At { phase: 0.0, by }, (1.0, left, left * left));
            }
        }
        for (got, want) in band.solved().iter().zip(want) {
            // The share that keeps unseen picks in place draws all in a little.
            assert!((got - want).abs() < 0.03, "{got} {want}");
        }
    }

    #[test]
    fn a_pick_that_no_sample_shows_stays() {
        let mut band = Band::new(3, 2);
        let by = [(0, 1.0), (0, 0.0)];
        band.add(&At { phase: 0.0, by }, (1.0, 0.5, 0.25));
        let moves = band.solved();
        assert!(moves[0] > 0.4 && moves[1].abs() < 1e-12 && moves[2].abs() < 1e-12);
    }
}
