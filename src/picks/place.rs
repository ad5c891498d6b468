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

/// Most Gauss-Newton steps.
const STEPS: usize = 4;

/// Steps end once nothing moves by more than this, samples: a ten-thousandth of a pick.
const SETTLED: f64 = 1e-3;

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
            let moved = [step[0], step[1], step[2] * spacing];
            if moved.iter().all(|by| by.abs() < SETTLED) {
                break;
            }
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
        let mut sums = Sums::default();
        for i in from..=to {
            let d = i as f64 - middle;
            let w = (-0.5 * (d / (WINDOW_PICKS * spacing)).powi(2)).exp();
            let row = self.samples.row(i).to_slice().unwrap_or_default();
            let place_at =
                |along: f64| self.look_up(self.phases[n] + along * (1.0 - stretch) / spacing);
            // Without a tilt the whole row lies at one phase.
            let level = (tilt == 0.0).then(|| place_at(d));
            for &j in used {
                let across = 2.0 * (j as f64 + 0.5) / columns as f64 - 1.0;
                let along = d - tilt * across;
                let tilted = level.is_none().then(|| place_at(along));
                let Some(place) = level.as_ref().or(tilted.as_ref()) else {
                    continue;
                };
                let at = 3 * j;
                let fit = |c: usize| {
                    let (value, slope) = place.value(at + c);
                    Fitted {
                        slope: slope / spacing,
                        value,
                        rest: f64::from(row[at + c]) - value,
                    }
                };
                sums.add(w, [1.0, across, along], &[fit(0), fit(1), fit(2)]);
            }
        }
        let (rest, count) = (sums.rest, 3.0 * sums.weight);
        let (mut normal, right) = sums.system();
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

    /// The template around a phase (picks).
    fn look_up(&self, phase: f64) -> Between<'_> {
        let (states, width) = self.template.dim();
        let flat = self.template.as_slice().unwrap_or_default();
        let x = phase * STATES_A_PICK as f64;
        // Without a call into the mathematics library, which `f64::floor` is.
        let towards_zero = x as i64;
        let floor = towards_zero - i64::from(towards_zero as f64 > x);
        let k = usize::try_from(floor)
            .ok()
            .filter(|k| *k < states)
            .unwrap_or_else(|| floor.rem_euclid(states as i64) as usize);
        let next = |k: usize| if k + 1 == states { 0 } else { k + 1 };
        let row = |k: usize| &flat[k * width..][..width];
        let before = if k == 0 { states - 1 } else { k - 1 };
        Between {
            rows: [row(before), row(k), row(next(k)), row(next(next(k)))],
            share: x - floor as f64,
        }
    }
}

/// A place between two states of the template.
struct Between<'a> {
    /// The state before the last one passed, that one, and the two behind it.
    rows: [&'a [f32]; 4],
    /// Share of the way to the next state.
    share: f64,
}

impl Between<'_> {
    /// A column's value and its slope a pick.
    fn value(&self, column: usize) -> (f64, f64) {
        let at = |k: usize| f64::from(self.rows[k][column]);
        let (before, a, b, after) = (at(0), at(1), at(2), at(3));
        let f = self.share;
        let slope_a = 0.5 * (b - before);
        let slope_b = 0.5 * (after - a);
        (
            a + f * (b - a),
            (slope_a * (1.0 - f) + slope_b * f) * STATES_A_PICK as f64,
        )
    }
}

/// The template at one sample's phase, against the sample.
#[derive(Clone, Copy)]
struct Fitted {
    /// The template's slope a sample.
    slope: f64,
    /// Its value.
    value: f64,
    /// What the sample has beyond it.
    rest: f64,
}

/// Parameters that move the template: shift, tilt, stretch. They differ only in how far each moves it
/// at a sample, so that the channels are summed before they come apart.
const MOVES: usize = 3;

/// The normal equations' sums.
#[derive(Default)]
struct Sums {
    /// Moves with moves.
    moves: [[f64; MOVES]; MOVES],
    /// Moves with the gain.
    moves_gain: [f64; MOVES],
    /// The gain with itself.
    gain: f64,
    /// Each channel's offset with moves and gain.
    offset_moves: [[f64; MOVES]; 3],
    offset_gain: [f64; 3],
    /// The right side, in the order of the parameters.
    right: [f64; PARAMETERS],
    /// Weighted sum of the squared residuals.
    rest: f64,
    /// Sum of the weights of one channel.
    weight: f64,
}

impl Sums {
    /// Adds a sample's channels with weight `w`; `by` is how far each move takes the template there.
    fn add(&mut self, w: f64, by: [f64; MOVES], fits: &[Fitted; 3]) {
        let (mut slopes, mut slopes_values, mut slopes_rests) = (0.0, 0.0, 0.0);
        let (mut values, mut values_rests, mut rests) = (0.0, 0.0, 0.0);
        for (c, fit) in fits.iter().enumerate() {
            let (slope, value) = (w * fit.slope, w * fit.value);
            slopes += slope * fit.slope;
            slopes_values += slope * fit.value;
            slopes_rests += slope * fit.rest;
            values += value * fit.value;
            values_rests += value * fit.rest;
            rests += w * fit.rest * fit.rest;
            for a in 0..MOVES {
                self.offset_moves[c][a] -= slope * by[a];
            }
            self.offset_gain[c] += value;
            self.right[MOVES + 1 + c] += w * fit.rest;
        }
        for a in 0..MOVES {
            let own = slopes * by[a];
            for b in a..MOVES {
                self.moves[a][b] += own * by[b];
            }
            self.moves_gain[a] -= slopes_values * by[a];
            self.right[a] -= slopes_rests * by[a];
        }
        self.gain += values;
        self.right[MOVES] += values_rests;
        self.rest += rests;
        self.weight += w;
    }

    /// Matrix and right side.
    fn system(
        &self,
    ) -> (
        SMatrix<f64, PARAMETERS, PARAMETERS>,
        SVector<f64, PARAMETERS>,
    ) {
        let mut normal = SMatrix::<f64, PARAMETERS, PARAMETERS>::zeros();
        let mut set = |a: usize, b: usize, value: f64| {
            normal[(a, b)] = value;
            normal[(b, a)] = value;
        };
        for a in 0..MOVES {
            for b in a..MOVES {
                set(a, b, self.moves[a][b]);
            }
            set(a, MOVES, self.moves_gain[a]);
        }
        set(MOVES, MOVES, self.gain);
        for c in 0..3 {
            let k = MOVES + 1 + c;
            for a in 0..MOVES {
                set(a, k, self.offset_moves[c][a]);
            }
            set(MOVES, k, self.offset_gain[c]);
            set(k, k, self.weight);
        }
        (normal, SVector::from(self.right))
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
