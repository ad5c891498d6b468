//! How strongly does the cloth beat at a spacing, whatever its weave?
//!
//! Where one pick ends and the next begins, ends go over that were under: their colour steps, at the same
//! place in all of them. Which ends step differs from pick to pick and repeats with the drawdown, but that
//! *many* step there and none between doesn't. So the size of the steps, summed over the width, beats once a
//! pick, without any weave being known. And between two picks lies a furrow, darker than they are: the light
//! of whole rows beats once a pick too. Where the warp hides the weft, every end steps twice a pick, and
//! the light tells; stripes and fringe shadows mislead the light, and the steps tell.
//!
//! # Method
//! 1. Rows are averaged in boxes of 1, 2, 4 … so that a spacing is always 6 to 12 of them.
//! 2. Steps: length of the colour difference of neighbouring boxes in each column, summed over the
//!    columns, over its own mean around. Light: mean L* of a box, less its mean around.
//!    A stripe's border misleads both, so both once more without it: steps less what all columns have in common,
//!    and only what is dark and narrow of the light (`level`).
//!    Turns: the sway of both selvedges (`columns`), which goes over and back in two picks, less its mean around.
//! 3. At places along the band, in Hann windows of [`WINDOW_PICKS`] of each spacing: the share of the
//!    signal's power that a wave of that spacing (of twice that, for the turns) holds (periodogram; P. Stoica,
//!    R. Moses, *Spectral Analysis of Signals*, 2005, ch. 2).
//!
//! # Limits
//! Even rows of thick weft over a hidden warp step half a pick apart in turn; `spacing_signs` weighs that.

use ndarray::{Array2, Array3, ArrayView2, Axis, Slice};
use rayon::prelude::*;

use super::level::black_top_hat;
use super::selvedge_turns::without_hairs;
use crate::stats::{gaussian_smooth, without_slow};

/// Spacings lie so far apart (natural logarithm).
pub(super) const SPACING_STEP: f64 = 0.02;

/// So many spacings on lies twice a spacing.
pub(super) fn octave() -> i64 {
    (std::f64::consts::LN_2 / SPACING_STEP).round() as i64
}

/// Places along the band.
const PLACES: usize = 19;

/// Length of a window, spacings.
const WINDOW_PICKS: f64 = 12.0;

/// Least boxes to a spacing, once boxes are larger than a row.
const BOXES_A_SPACING: f64 = 6.0;

/// Around so many boxes the signals are compared with their own mean.
const AROUND_STEPS: f64 = 17.0;
const AROUND_LIGHT: f64 = 8.5;
const AROUND_TURNS: f64 = 17.0;

/// A dark line narrower than twice so many boxes and one is a furrow.
const FURROW_BOXES: usize = 2;

/// A share beyond this is as good as all.
const MOST: f64 = 0.98;

/// The cloth's beats; shares have the shape (places, spacings).
pub(super) struct Beats {
    /// Spacings, rows, ascending.
    pub(super) spacings: Vec<f64>,
    /// Where they were looked for, rows.
    pub(super) places: Vec<f64>,
    /// Rows in all.
    pub(super) rows: usize,
    /// Share of the steps' power at each spacing.
    pub(super) steps: Array2<f64>,
    /// Share of the light's.
    pub(super) light: Array2<f64>,
    /// Share of the steps' that not all columns make together.
    pub(super) own_steps: Array2<f64>,
    /// Share of the furrows'.
    pub(super) furrows: Array2<f64>,
    /// Share of the selvedges' sway that takes turns at each spacing, going over after every pick.
    pub(super) turns: Array2<f64>,
}

impl Beats {
    /// Of the cloth in Lab, shape (rows along, columns, 3), and the sway of its selvedges at each row; `shortest` is
    /// the least spacing, rows, and of the greatest so many as `fewest` lie on the cloth. `None` where there is too
    /// little of it.
    pub(super) fn of(lab: &Array3<f32>, sway: &[f64], shortest: f64, fewest: f64) -> Option<Self> {
        let (rows, columns, _) = lab.dim();
        let longest = rows as f64 / fewest;
        if longest < 1.5 * shortest {
            return None;
        }
        let n = ((longest / shortest).ln() / SPACING_STEP) as usize + 1;
        let spacings: Vec<f64> = (0..n)
            .map(|k| shortest * (k as f64 * SPACING_STEP).exp())
            .collect();
        let places: Vec<f64> = (1..=PLACES)
            .map(|k| (rows * k) as f64 / (PLACES + 1) as f64)
            .collect();
        let levels = (spacings[n - 1] / BOXES_A_SPACING).log2().max(0.0) as usize;
        let mut boxes = lab.to_shape((rows, 3 * columns)).ok()?.to_owned();
        let mut sway = sway.to_vec();
        let mut signals = vec![Signals::of(&boxes.view(), &sway)];
        for _ in 0..levels {
            boxes = halved(&boxes);
            sway = sway
                .as_chunks::<2>()
                .0
                .iter()
                .map(|[a, b]| 0.5 * (a + b))
                .collect();
            signals.push(Signals::of(&boxes.view(), &sway));
        }
        let shares: Vec<Vec<[f64; SIGNALS]>> = spacings
            .par_iter()
            .map(|spacing| {
                let level = (spacing / BOXES_A_SPACING).log2().max(0.0) as usize;
                signals[level].shares(*spacing, (1usize << level) as f64, &places)
            })
            .collect();
        let table =
            |signal: usize| Array2::from_shape_fn((PLACES, n), |(at, k)| shares[k][at][signal]);
        Some(Self {
            steps: table(0),
            light: table(1),
            own_steps: table(2),
            furrows: table(3),
            turns: table(4),
            spacings,
            places,
            rows,
        })
    }

    /// What a share is worth: how much less is left without it, a logarithm.
    pub(super) fn worth(share: f64) -> f64 {
        -(1.0 - share.clamp(0.0, MOST)).ln()
    }
}

/// Every two rows averaged.
fn halved(rows: &Array2<f32>) -> Array2<f32> {
    let half = rows.dim().0 / 2;
    let every_other = |first: usize| {
        rows.slice_axis(
            Axis(0),
            Slice::new(first as isize, Some((2 * half) as isize), 2),
        )
    };
    (&every_other(0) + &every_other(1)) * 0.5
}

/// How many signals there are.
const SIGNALS: usize = 5;

/// All signals, in boxes of one size.
struct Signals {
    steps: Vec<f64>,
    light: Vec<f64>,
    own_steps: Vec<f64>,
    furrows: Vec<f64>,
    turns: Vec<f64>,
}

impl Signals {
    fn of(boxes: &ArrayView2<f32>, sway: &[f64]) -> Self {
        let n = boxes.dim().0;
        let rows: Vec<&[f32]> = boxes
            .outer_iter()
            .map(|row| row.to_slice().unwrap_or_default())
            .collect();
        let (steps, own_steps): (Vec<f64>, Vec<f64>) = (1..n)
            .into_par_iter()
            .map(|i| steps(rows[i - 1], rows[i]))
            .unzip();
        let light: Vec<f64> = rows
            .iter()
            .map(|row| row.iter().step_by(3).map(|l| f64::from(*l)).sum::<f64>() / row.len() as f64)
            .collect();
        Self {
            steps: over_usual(&steps),
            own_steps: over_usual(&own_steps),
            furrows: black_top_hat(&light, FURROW_BOXES),
            turns: turns(sway),
            light: without_slow(&light, AROUND_LIGHT),
        }
    }

    /// Shares of all signals at one spacing, at each place (both in rows); a box is `wide` rows.
    fn shares(&self, spacing: f64, wide: f64, places: &[f64]) -> Vec<[f64; SIGNALS]> {
        let spacing = spacing / wide;
        let most = self.steps.len().saturating_sub(1);
        let window = ((WINDOW_PICKS * spacing) as usize).min(most);
        let (wave, over) = (Wave::new(spacing, window), Wave::new(2.0 * spacing, window));
        places
            .iter()
            .map(|place| {
                let at = place / wide;
                [
                    wave.share(&self.steps, at - 0.5),
                    wave.share(&self.light, at),
                    wave.share(&self.own_steps, at - 0.5),
                    wave.share(&self.furrows, at),
                    over.share(&self.turns, at),
                ]
            })
            .collect()
    }
}

/// Steps over what is usual around each.
fn over_usual(steps: &[f64]) -> Vec<f64> {
    let usual = gaussian_smooth(steps, AROUND_STEPS);
    let pairs = steps.iter().zip(&usual);
    pairs.map(|(s, u)| s / (u + 1e-9)).collect()
}

/// The sway without what is slower than turns, and without hairs.
fn turns(sway: &[f64]) -> Vec<f64> {
    let mut quick = without_slow(sway, AROUND_TURNS);
    without_hairs(&mut quick);
    quick
}

/// Lengths of the colour differences in all columns, summed; and of what is left of them without what all have in
/// common.
fn steps(before: &[f32], after: &[f32]) -> (f64, f64) {
    let (before, _) = before.as_chunks::<3>();
    let (after, _) = after.as_chunks::<3>();
    let mut mean = [0.0; 3];
    for (a, b) in before.iter().zip(after) {
        for c in 0..3 {
            mean[c] += (b[c] - a[c]) / before.len() as f32;
        }
    }
    let (mut all, mut own) = (0.0, 0.0);
    for (a, b) in before.iter().zip(after) {
        all += step(a, b);
        own += step(&[a[0] + mean[0], a[1] + mean[1], a[2] + mean[2]], b);
    }
    (f64::from(all), f64::from(own))
}

/// Length of a colour difference.
pub(super) fn step(a: &[f32; 3], b: &[f32; 3]) -> f32 {
    let d = [b[0] - a[0], b[1] - a[1], b[2] - a[2]];
    (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt()
}

/// One spacing's wave in its window.
pub(super) struct Wave {
    /// The window's weights, and those times cosine and sine.
    weights: Vec<[f64; 3]>,
    /// Sum of the weights.
    sum: f64,
}

impl Wave {
    /// In a window of `n` samples.
    pub(super) fn new(spacing: f64, n: usize) -> Self {
        let weights: Vec<[f64; 3]> = (0..n)
            .map(|k| {
                let x = std::f64::consts::TAU * (k + 1) as f64 / (n + 1) as f64;
                let weight = 0.5 - 0.5 * x.cos();
                let angle = std::f64::consts::TAU * k as f64 / spacing;
                [weight, weight * angle.cos(), weight * angle.sin()]
            })
            .collect();
        let sum = weights.iter().map(|w| w[0]).sum();
        Self { weights, sum }
    }

    /// Share of the signal's power around a place that the wave holds.
    pub(super) fn share(&self, signal: &[f64], at: f64) -> f64 {
        let n = self.weights.len();
        let first = ((at - 0.5 * n as f64).max(0.0) as usize).min(signal.len().saturating_sub(n));
        let part = signal[first..].iter().zip(&self.weights);
        let mean = part.clone().map(|(x, w)| x * w[0]).sum::<f64>() / self.sum.max(1e-9);
        let (mut power, mut re, mut im) = (0.0, 0.0, 0.0);
        for (x, w) in part {
            let x = x - mean;
            power += x * x * w[0];
            re += x * w[1];
            im += x * w[2];
        }
        2.0 * (re * re + im * im) / (power * self.sum + 1e-9)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Plain weave of ends three columns wide and picks `pick` rows long, in stripes of two contrasts.
    fn plain(pick: usize, stripe: usize) -> Array3<f32> {
        Array3::from_shape_fn((60 * pick, 24, 3), |(i, j, c)| {
            let turn = (std::f32::consts::PI * i as f32 / pick as f32).sin();
            let over = if (j / 3).is_multiple_of(2) {
                turn
            } else {
                -turn
            };
            let dark = (i / (pick * stripe)).is_multiple_of(2);
            match (c, dark) {
                (0, true) => 30.0 + 8.0 * over,
                (0, false) => 60.0 + 20.0 * over,
                _ => 0.0,
            }
        })
    }

    fn strongest(lab: &Array3<f32>) -> f64 {
        let beats = Beats::of(lab, &[0.0; 0], 4.0, 9.0).expect("cloth enough");
        let middle = PLACES / 2;
        let best = (0..beats.spacings.len())
            .max_by(|&a, &b| beats.steps[[middle, a]].total_cmp(&beats.steps[[middle, b]]))
            .expect("spacings");
        beats.spacings[best]
    }

    #[test]
    fn ends_of_plain_weave_step_once_a_pick_though_it_repeats_after_two() {
        for pick in [8, 13, 30] {
            let found = strongest(&plain(pick, 1000));
            assert!((found / pick as f64 - 1.0).abs() < 0.03, "{pick}: {found}");
        }
    }

    #[test]
    fn stripes_of_four_picks_dont_beat_like_picks() {
        let found = strongest(&plain(13, 4));
        assert!((found / 13.0 - 1.0).abs() < 0.03, "{found}");
    }

    #[test]
    fn selvedges_sway_once_in_two_picks_whatever_the_band_does_beside() {
        for pick in [8, 13, 30] {
            let rows = 60 * pick;
            let turn = |i: usize| {
                if (i / pick).is_multiple_of(2) {
                    0.2
                } else {
                    -0.2
                }
            };
            let meander = |i: usize| 1.5 * (std::f64::consts::TAU * i as f64 / rows as f64).sin();
            let sway: Vec<f64> = (0..rows).map(|i| turn(i) + meander(i)).collect();
            let flat = Array3::zeros((rows, 24, 3));
            let beats = Beats::of(&flat, &sway, 4.0, 9.0).expect("cloth enough");
            let middle = beats.turns.row(PLACES / 2);
            let best = (0..beats.spacings.len())
                .max_by(|&a, &b| middle[a].total_cmp(&middle[b]))
                .expect("spacings");
            let found = beats.spacings[best];
            assert!((found / pick as f64 - 1.0).abs() < 0.05, "{pick}: {found}");
            assert!(middle[best] > 0.7, "{pick}: {}", middle[best]);
        }
    }

    #[test]
    fn too_little_cloth_says_nothing() {
        assert!(Beats::of(&Array3::zeros((40, 24, 3)), &[0.0; 40], 4.0, 9.0).is_none());
    }
}
