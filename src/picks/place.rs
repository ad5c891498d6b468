//! Exactly where does each pick lie?
//!
//! # Method
//! For every pick, weighted least squares of the samples around it against the repeat's template:
//! shift along the band, tilt across it, stretch, gain, and an offset for each channel; a Gaussian
//! window of [`WINDOW_PICKS`]; a few Gauss-Newton steps.

use ndarray::Array2;
use rayon::prelude::*;

use super::normal::{PARAMETERS, RowSums, Sums};
use super::phase::{STATES_A_PICK, means};
use super::side_by_side::{LANES, Lanes, SideBySide, places_across};

/// Standard deviation of the window around a pick, in picks.
const WINDOW_PICKS: f64 = 0.45;

/// Most Gauss-Newton steps.
const STEPS: usize = 4;

/// Steps end once nothing moves by more than this, samples: a ten-thousandth of a pick.
const SETTLED: f64 = 1e-3;

/// Largest shift believed from one fit, in picks.
const LONGEST_SHIFT: f64 = 0.45;

/// One pick's fit.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Placed {
    /// Place of its middle, fractional sample.
    pub(crate) sample: f64,
    /// One standard uncertainty from the residuals, samples.
    pub(crate) u: f64,
}

/// How a pick looks beside the repeat, where it fits best.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Fitted {
    /// How much farther along it lies at the right edge than in the middle, samples.
    pub(crate) tilt: f64,
    /// How much stronger than the repeat it shows.
    pub(crate) gain: f64,
    /// How much lighter, and so on, in each channel.
    pub(crate) offsets: [f64; 3],
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
    /// Fits every pick.
    pub(crate) fn run(&self) -> (Vec<Placed>, Vec<Fitted>) {
        let columns = self.samples.dim().1 / 3;
        let fits = Fits {
            placing: self,
            across: places_across(columns),
            count: columns as f64,
            samples: SideBySide::new(self.samples),
            template: SideBySide::cyclic(self.template),
            states: self.template.dim().0 as i32,
        };
        (0..self.middles.len())
            .into_par_iter()
            .map_init(Row::default, |row, n| fits.fit(n, row))
            .unzip()
    }

    /// Samples a pick around pick `n`.
    fn spacing(&self, n: usize) -> f64 {
        spacing_around(self.middles.len(), n, |k| self.middles[k]).max(3.0)
    }
}

/// The fits of all picks.
struct Fits<'a> {
    placing: &'a Placing<'a>,
    across: Vec<Lanes>,
    /// Columns.
    count: f64,
    samples: SideBySide,
    template: SideBySide,
    /// States of the template.
    states: i32,
}

/// Where a row of samples lies in the template, block by block of columns.
#[derive(Default)]
struct Row {
    /// The state before the last one passed.
    states: Vec<[usize; LANES]>,
    /// Share of the way from the last state passed to the next.
    shares: Vec<Lanes>,
    /// The four states around, of one channel.
    around: [Vec<Lanes>; 4],
}

/// Shift and tilt, samples, and stretch.
type Moves = (f64, f64, f64);

impl Fits<'_> {
    fn fit(&self, n: usize, row: &mut Row) -> (Placed, Fitted) {
        let mut fitted = Fitted::default();
        let spacing = self.placing.spacing(n);
        let (mut shift, mut tilt, mut stretch) = (0.0, 0.0, 0.0);
        let mut u = spacing;
        for _ in 0..STEPS {
            let Some((step, variance)) = self.step(n, spacing, (shift, tilt, stretch), row) else {
                break;
            };
            shift = (shift + step[0]).clamp(-LONGEST_SHIFT * spacing, LONGEST_SHIFT * spacing);
            tilt = (tilt + step[1]).clamp(-0.5 * spacing, 0.5 * spacing);
            stretch = (stretch + step[2]).clamp(-0.4, 0.4);
            fitted = Fitted {
                tilt,
                gain: step[3],
                offsets: [step[4], step[5], step[6]],
            };
            u = variance.sqrt();
            let moved = [step[0], step[1], step[2] * spacing];
            if moved.iter().all(|by| by.abs() < SETTLED) {
                break;
            }
        }
        let sample = self.placing.middles[n] + shift;
        (Placed { sample, u }, fitted)
    }

    /// One Gauss-Newton step: parameter changes, variance of the shift.
    fn step(
        &self,
        n: usize,
        spacing: f64,
        (shift, tilt, stretch): Moves,
        row: &mut Row,
    ) -> Option<([f64; PARAMETERS], f64)> {
        let placing = self.placing;
        let middle = placing.middles[n] + shift;
        let reach = 1.1 * spacing;
        let from = ((middle - reach).ceil().max(0.0) as usize).max(placing.bounds.0);
        let to = ((middle + reach).floor().max(0.0) as usize).min(placing.bounds.1);
        let states_a_sample = STATES_A_PICK as f64 / spacing;
        let mut sums = Sums::default();
        for i in from..=to {
            let d = i as f64 - middle;
            let w = (-0.5 * (d / (WINDOW_PICKS * spacing)).powi(2)).exp();
            let on = (1.0 - stretch) * states_a_sample;
            let state = placing.phases[n] * STATES_A_PICK as f64 + d * on;
            let matched = self.matched(i, state, -tilt * on, row);
            sums.add(&matched, (w, self.count), (d, tilt), states_a_sample);
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
        Some((step.into(), variance))
    }

    /// Row `i` of the samples against the template, which stands at `state` in the middle and, at each
    /// column, by `slant` times its place across farther.
    fn matched(&self, i: usize, state: f64, slant: f64, row: &mut Row) -> RowSums {
        let passed = state.floor();
        let first = (passed as i64).rem_euclid(i64::from(self.states)) as i32;
        let (share, slant) = ((state - passed) as f32, slant as f32);
        // The outermost columns lie farthest ahead and behind.
        let (one, other) = (floor(share - slant), floor(share + slant));
        let level = one == other;
        let mut sums = RowSums::default();
        row.shares.clear();
        if level {
            let share = share - one as f32;
            let shares = self.across.iter().map(|a| a.map(|a| share + slant * a));
            row.shares.extend(shares);
        } else {
            self.look_up(first, share, slant, row);
        }
        for c in 0..3 {
            let sample = self.samples.row(i, c);
            if level {
                let k = within(first + one, self.states);
                let around = [0, 1, 2, 3].map(|n| self.template.row(k + n, c));
                sums.add(c, around, sample, (&self.across, &row.shares));
            } else {
                self.gather(c, row);
                let around = row.around.each_ref().map(Vec::as_slice);
                sums.add(c, around, sample, (&self.across, &row.shares));
            }
        }
        sums
    }

    /// The states and shares of a row that lies at several states of the template.
    fn look_up(&self, first: i32, share: f32, slant: f32, row: &mut Row) {
        row.states.clear();
        for across in &self.across {
            let ahead = across.map(|a| share + slant * a);
            let passed = ahead.map(floor);
            row.states
                .push(passed.map(|passed| within(first + passed, self.states)));
            let mut shares = ahead;
            for (share, passed) in shares.iter_mut().zip(passed) {
                *share -= passed as f32;
            }
            row.shares.push(shares);
        }
    }

    /// The four states around each column of a row that lies at several states.
    fn gather(&self, channel: usize, row: &mut Row) {
        for (n, around) in row.around.iter_mut().enumerate() {
            around.clear();
            around.extend(row.states.iter().enumerate().map(|(block, states)| {
                if states[0] == states[LANES - 1] {
                    return self.template.row(states[0] + n, channel)[block];
                }
                let mut lanes = Lanes::default();
                for (l, k) in states.iter().enumerate() {
                    lanes[l] = self.template.row(k + n, channel)[block][l];
                }
                lanes
            }));
        }
    }
}

/// The whole number at or below a few states; without a call into the mathematics library, which the
/// plain instruction set needs for `f32::floor`.
fn floor(v: f32) -> i32 {
    let towards_zero = v as i32;
    towards_zero - i32::from(towards_zero as f32 > v)
}

/// A state that is at most one round ahead or behind.
fn within(state: i32, states: i32) -> usize {
    let state = if state < 0 { state + states } else { state };
    let state = if state < states {
        state
    } else {
        state - states
    };
    usize::try_from(state).unwrap_or(0)
}

/// The states, of so many, over which a sample at a fractional state is spread when the repeat is folded, and what it
/// weighs in each: a triangle that reaches one and a half states either way.
pub(super) fn spread(at: f64, states: usize) -> impl Iterator<Item = (usize, f32)> {
    let passed = at.floor() as i64;
    (passed - 1..=passed + 2).filter_map(move |state| {
        let weight = (1.5 - (state as f64 - at).abs()).max(0.0) as f32;
        (weight > 0.0).then(|| (state.rem_euclid(states as i64) as usize, weight))
    })
}

/// Folds the samples into a template along the picks' middles: each sample at the phase that the
/// middles around it give, spread over its neighbours.
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
            for (state, w) in spread(x, states) {
                let (mut sum, sample) = (sum.row_mut(state), samples.row(i));
                let sum = sum.as_slice_mut().unwrap_or_default();
                for (sum, value) in sum.iter_mut().zip(sample.to_slice().unwrap_or_default()) {
                    *sum += w * value;
                }
                weight[state] += w;
            }
        }
    }
    means(sum, &weight, before)
}
