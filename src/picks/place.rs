//! Exactly where does each pick lie?
//!
//! # Method
//! For every pick, weighted least squares of the samples around it against the repeat's template:
//! shift along the band, tilt across it, stretch, gain, and an offset for each channel; a Gaussian
//! window of [`WINDOW_PICKS`]; a few Gauss-Newton steps. The same from two halves of the width
//! (blocks of ends dealt out in turn) gives two estimates with independent noise.

use nalgebra::{SMatrix, SVector};
use ndarray::Array2;
use rayon::prelude::*;

use super::phase::{STATES_A_PICK, means};

/// Standard deviation of the window around a pick, in picks.
const WINDOW_PICKS: f64 = 0.45;

/// Gauss-Newton steps.
const STEPS: usize = 4;

/// Largest shift believed from one fit, in picks.
const LONGEST_SHIFT: f64 = 0.45;

/// Parameters: shift, tilt, stretch, gain, three offsets.
const PARAMETERS: usize = 7;

/// One pick's fit.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Placed {
    /// Place of its middle, fractional sample.
    pub(crate) sample: f64,
    /// One standard uncertainty from the residuals, samples.
    pub(crate) u: f64,
}

/// The spacing around the middle `n` of `count`: the mean of the gaps on either side.
pub(super) fn spacing_around(count: usize, n: usize, middle: impl Fn(usize) -> f64) -> f64 {
    let (a, b) = (n.saturating_sub(1), (n + 1).min(count - 1));
    (middle(b) - middle(a)) / (b - a).max(1) as f64
}

/// Everything one fit needs.
pub(crate) struct Placing<'a> {
    /// High-passed Lab, shape (rows along, columns · 3).
    pub(crate) samples: &'a Array2<f32>,
    /// The repeat, shape (rows · [`STATES_A_PICK`], columns · 3).
    pub(crate) template: &'a Array2<f32>,
    /// First and last sample of the body: what lies beyond is no cloth.
    pub(crate) bounds: (usize, usize),
    /// Middle of each pick, fractional sample: the start of the fit.
    pub(crate) middles: &'a [f64],
    /// Phase of each pick's middle within the repeat, picks.
    pub(crate) phases: &'a [f64],
}

impl Placing<'_> {
    /// Fits every pick on the columns that `take` accepts.
    pub(crate) fn run(&self, take: impl Fn(usize) -> bool + Sync) -> Vec<Placed> {
        let columns = self.samples.dim().1 / 3;
        let used: Vec<usize> = (0..columns).filter(|&j| take(j)).collect();
        (0..self.middles.len())
            .into_par_iter()
            .map(|n| self.fit(n, &used, columns))
            .collect()
    }

    /// Samples a pick around pick `n`.
    fn spacing(&self, n: usize) -> f64 {
        spacing_around(self.middles.len(), n, |k| self.middles[k]).max(3.0)
    }

    fn fit(&self, n: usize, used: &[usize], columns: usize) -> Placed {
        let spacing = self.spacing(n);
        let (mut shift, mut tilt, mut stretch) = (0.0, 0.0, 0.0);
        let mut u = spacing;
        for _ in 0..STEPS {
            let Some((step, variance)) =
                self.step(n, used, columns, spacing, (shift, tilt, stretch))
            else {
                break;
            };
            shift = (shift + step[0]).clamp(-LONGEST_SHIFT * spacing, LONGEST_SHIFT * spacing);
            tilt = (tilt + step[1]).clamp(-0.5 * spacing, 0.5 * spacing);
            stretch = (stretch + step[2]).clamp(-0.4, 0.4);
            u = variance.sqrt();
        }
        Placed {
            sample: self.middles[n] + shift,
            u,
        }
    }

    /// One Gauss-Newton step: parameter changes, variance of the shift.
    fn step(
        &self,
        n: usize,
        used: &[usize],
        columns: usize,
        spacing: f64,
        (shift, tilt, stretch): (f64, f64, f64),
    ) -> Option<([f64; 3], f64)> {
        let middle = self.middles[n] + shift;
        let reach = 1.1 * spacing;
        let from = ((middle - reach).ceil().max(0.0) as usize).max(self.bounds.0);
        let to = ((middle + reach).floor().max(0.0) as usize).min(self.bounds.1);
        let mut normal = SMatrix::<f64, PARAMETERS, PARAMETERS>::zeros();
        let mut right = SVector::<f64, PARAMETERS>::zeros();
        let (mut rest, mut count) = (0.0, 0.0);
        for i in from..=to {
            let d = i as f64 - middle;
            let w = (-0.5 * (d / (WINDOW_PICKS * spacing)).powi(2)).exp();
            for &j in used {
                let across = 2.0 * (j as f64 + 0.5) / columns as f64 - 1.0;
                let along = d - tilt * across;
                let phase = self.phases[n] + along * (1.0 - stretch) / spacing;
                for c in 0..3 {
                    let (t, slope) = self.look_up(phase, 3 * j + c);
                    let x = f64::from(self.samples[[i, 3 * j + c]]);
                    let slope = slope / spacing;
                    let mut g = SVector::<f64, PARAMETERS>::zeros();
                    g[0] = -slope;
                    g[1] = -slope * across;
                    g[2] = -slope * along;
                    g[3] = t;
                    g[4 + c] = 1.0;
                    let r = x - t;
                    normal += w * g * g.transpose();
                    right += w * r * g;
                    rest += w * r * r;
                    count += w;
                }
            }
        }
        let scale = normal.diagonal().max().max(1e-12);
        // Weak priors keep tilt, stretch and gain where the picture says nothing about them.
        normal[(1, 1)] += 0.02 * normal[(0, 0)];
        normal[(2, 2)] += 0.01 * normal[(0, 0)] * spacing * spacing;
        normal[(3, 3)] += 0.05 * normal[(3, 3)] + 1e-9 * scale;
        for k in 4..PARAMETERS {
            normal[(k, k)] += 1e-6 * scale + 1e-9;
        }
        normal[(0, 0)] += 1e-9 * scale;
        let inverse = normal.try_inverse()?;
        let step = inverse * right;
        let gone = right.dot(&step);
        let left = (rest - gone).max(0.0);
        // Neighbouring samples and columns share yarns: one independent value in about eight.
        let variance = inverse[(0, 0)] * (left / count.max(1.0)) * 8.0;
        Some(([step[0], step[1], step[2]], variance))
    }

    /// The template's value at a phase (picks) and its slope a pick.
    fn look_up(&self, phase: f64, column: usize) -> (f64, f64) {
        let states = self.template.dim().0;
        let x = phase * STATES_A_PICK as f64;
        let floor = x.floor();
        let f = x - floor;
        let k = (floor as i64).rem_euclid(states as i64) as usize;
        let at = |d: usize| f64::from(self.template[[(k + d) % states, column]]);
        let (a, b, before, after) = (at(0), at(1), at(states - 1), at(2));
        let slope_a = 0.5 * (b - before);
        let slope_b = 0.5 * (after - a);
        (
            a + f * (b - a),
            (slope_a * (1.0 - f) + slope_b * f) * STATES_A_PICK as f64,
        )
    }
}

/// Folds the samples into a template along the picks' middles: each sample at the phase that the
/// middles around it give, spread over its neighbours by a triangle of one state.
pub(crate) fn fold_along(
    samples: &Array2<f32>,
    middles: &[f64],
    phases: &[f64],
    before: &Array2<f32>,
) -> Array2<f32> {
    let (states, width) = before.dim();
    let mut sum = Array2::<f32>::zeros((states, width));
    let mut weight = vec![0.0f32; states];
    for n in 0..middles.len().saturating_sub(1) {
        let (a, b) = (middles[n], middles[n + 1]);
        // Neighbours must follow each other in the repeat; a row left out breaks the fold there.
        let ahead = (phases[n + 1] - phases[n]).rem_euclid(states as f64 / STATES_A_PICK as f64);
        if b <= a || (ahead - 1.0).abs() > 1e-6 {
            continue;
        }
        for i in (a.ceil().max(0.0) as usize)..=(b.floor() as usize).min(samples.dim().0 - 1) {
            let phase = phases[n] + (i as f64 - a) / (b - a);
            let x = phase * STATES_A_PICK as f64;
            for d in -1..=2i64 {
                let state = x.floor() as i64 + d;
                let w = (1.5 - (state as f64 - x).abs()).max(0.0) as f32;
                if w > 0.0 {
                    let state = state.rem_euclid(states as i64) as usize;
                    sum.row_mut(state).scaled_add(w, &samples.row(i));
                    weight[state] += w;
                }
            }
        }
    }
    means(sum, &weight, before)
}
