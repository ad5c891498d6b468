//! How far do the cells that show weft differ from those that show warp?
//!
//! # Method
//! Along the followed repeat every sample of a column belongs to a cell; a column's contrast is the
//! mean over the middles of its weft cells less that over its warp cells, a channel each.

use ndarray::Array2;

use super::phase::{Phases, STATES_A_PICK};
use super::rows::Fit;

/// Share of a pick, around its middle, that is looked at.
const MIDDLE: f64 = 0.3;

/// The rarer weft's contrast is brought to the usual one's by at most this factor.
const LARGEST_FACTOR: f64 = 3.0;

/// The followed cloth.
#[derive(Clone, Copy)]
pub(crate) struct Cells<'a> {
    /// Where each sample lies in the repeat.
    pub(crate) phases: &'a Phases,
    /// How the drawdown lies in it.
    pub(crate) fit: &'a Fit,
    /// First sample of the body, and the one after its last.
    pub(crate) body: (usize, usize),
}

impl Cells<'_> {
    /// Weft less warp of each column, a channel each; `samples` have the shape (rows along,
    /// columns · 3 or more), and only those that `take` accepts count.
    fn contrasts(
        &self,
        samples: &Array2<f32>,
        columns: usize,
        take: impl Fn(usize) -> bool,
    ) -> Vec<[f64; 3]> {
        let ends: Vec<Option<(usize, f64)>> =
            (0..columns).map(|j| self.fit.end_at(j, columns)).collect();
        let mut sums = vec![[[0.0; 4]; 2]; columns];
        for i in (self.body.0..self.body.1).filter(|&i| take(i)) {
            let (row, phase) = self.fit.row_at(self.phases.states[i]);
            let within = phase as f64 / STATES_A_PICK as f64;
            if (within - 0.5).abs() > 0.5 * MIDDLE {
                continue;
            }
            for (j, end) in ends.iter().enumerate() {
                let Some((end, _)) = end else { continue };
                let weft = self.fit.expected[row][*end] > 0.0;
                let sum = &mut sums[j][usize::from(weft)];
                for c in 0..3 {
                    sum[c] += f64::from(samples[[i, 3 * j + c]]);
                }
                sum[3] += 1.0;
            }
        }
        sums.iter()
            .map(|[warp, weft]| {
                let mut contrast = [0.0; 3];
                if warp[3] * weft[3] > 0.0 {
                    for c in 0..3 {
                        contrast[c] = weft[c] / weft[3] - warp[c] / warp[3];
                    }
                }
                contrast
            })
            .collect()
    }

    /// By what the samples of the rarer weft must be multiplied, channel by channel, to show weft
    /// and warp as the usual weft's do; 1 where they hardly show them.
    pub(crate) fn likened(
        &self,
        samples: &Array2<f32>,
        columns: usize,
        rarer: &[bool],
    ) -> [f32; 3] {
        let usual = self.contrasts(samples, columns, |i| !rarer[i]);
        let rare = self.contrasts(samples, columns, |i| rarer[i]);
        let mut factors = [1.0; 3];
        for (c, factor) in factors.iter_mut().enumerate() {
            let both: f64 = usual.iter().zip(&rare).map(|(u, r)| u[c] * r[c]).sum();
            let own: f64 = rare.iter().map(|r| r[c] * r[c]).sum();
            if own > 1e-9 {
                *factor = (both / own).clamp(-LARGEST_FACTOR, LARGEST_FACTOR) as f32;
            }
        }
        factors
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Plain weave of two rows and four ends; each sample's state, and whether its weft is the rarer.
    fn woven() -> (Array2<f32>, Phases, Fit, Vec<bool>) {
        let mut fit = Fit::unknown(2, 4, 0.0);
        fit.expected = vec![vec![1.0, -1.0, 1.0, -1.0], vec![-1.0, 1.0, -1.0, 1.0]];
        let states: Vec<usize> = (0..400).map(|i| 2 * i % (2 * STATES_A_PICK)).collect();
        let rarer: Vec<bool> = (0..400).map(|i| i % 100 > 70).collect();
        let samples = Array2::from_shape_fn((400, 36), |(i, at)| {
            let cell = fit.expected[states[i] / STATES_A_PICK][at / 9] as f32;
            let size = [10.0, 4.0, 3.0][at % 3];
            cell * size * if rarer[i] { -0.5 } else { 1.0 }
        });
        let phases = Phases {
            template: Array2::zeros((2 * STATES_A_PICK, 39)),
            picks: Vec::new(),
            states,
            unexplained: 0.0,
        };
        (samples, phases, fit, rarer)
    }

    #[test]
    fn a_weft_that_is_half_as_strong_and_the_other_way_round_is_turned_and_doubled() {
        let (samples, phases, fit, rarer) = woven();
        let cells = Cells {
            phases: &phases,
            fit: &fit,
            body: (0, 400),
        };
        let factors = cells.likened(&samples, 12, &rarer);
        assert!(
            factors.iter().all(|f| (f + 2.0).abs() < 1e-3),
            "{factors:?}"
        );
    }
}
