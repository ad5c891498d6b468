//! How far apart are the picks, roughly, all along the band?
//!
//! # Method
//! 1. Sample the cloth evenly, [`SAMPLES_A_PICK`] to a planned pick; take out what is slower than a
//!    repeat.
//! 2. In windows along the band add up the columns' spectra (powers, never the columns themselves:
//!    neighbouring columns of plain weave cancel).
//! 3. For every candidate spacing lay the drawdown's own line spectrum over the amplitudes: lines of
//!    the repeat, the furrow between picks and its double, and an even floor, by non-negative least
//!    squares. The share of the amplitudes that it explains is the candidate's score.
//! 4. With a drawdown: how far neighbouring ends take turns as it says at that spacing (`coherence`).
//! 5. The best path of spacings along the windows (Viterbi), jumps paid for, and being far from the plan.
//!
//! # Limits
//! Spacings beyond [`PickOptions::spacing_range`](super::PickOptions) aren't looked for.

use ndarray::Array2;
use rayon::prelude::*;

use super::coherence::{Pairs, Relation};
use super::pattern::{Lines, Pattern};
use super::shape::{Amplitudes, Shape};
use super::spectrum::{Spectrum, Window};
use crate::stats::Smoother;

/// Samples a pick, in every evenly sampled picture of the cloth.
pub(crate) const SAMPLES_A_PICK: usize = 14;

/// Candidate spacings are this far apart (natural logarithm): 1 %.
const CANDIDATE_STEP: f64 = 0.01;

/// Spread (natural logarithm) of how far a band misses its plan's picks per inch.
pub(super) const PLAN_SPREAD: f64 = 0.20;

/// What the plan counts beside each window that a place lies in: the windows overlap. On 460 drawn bands
/// that missed their plan by up to 15 %, a fifth of this let six read the repeat of their stripes.
const PLAN_WORTH: f64 = 8.0;

/// Spread (natural logarithm) of the spacing's change over one pick's length.
const CREEP_A_PICK: f64 = 0.012;

/// Worth of neighbouring ends that take turns fully, in one window.
const TURNS_WORTH: f64 = 24.0;

/// Worth of one window: how many independent amplitudes its score stands for.
const WINDOW_WORTH: f64 = 12.0;

/// Local spacing along the evenly sampled cloth.
#[derive(Clone, Debug)]
pub(crate) struct LocalPitch {
    /// Spacing over the planned one at each sample.
    pub(crate) ratio: Vec<f64>,
    /// Share of the amplitudes that the best path explains, mean over the windows.
    pub(crate) explained: f64,
    /// Middle sample of the window that the pattern explains best.
    pub(crate) clearest: usize,
}

/// Takes out of each column of `samples` (rows along, columns across) what is slower than `sigma`
/// samples. Only rows inside `range` count: ground and fringe beyond it would leak in; rows outside
/// lose what the nearest row inside loses.
pub(crate) fn high_pass(samples: &Array2<f32>, sigma: f64, range: (usize, usize)) -> Array2<f32> {
    let mut out = samples.clone();
    let smoother = Smoother::new(range.1 - range.0, sigma);
    let columns: Vec<Vec<f64>> = (0..samples.dim().1)
        .into_par_iter()
        .map(|j| {
            let column: Vec<f64> = (range.0..range.1)
                .map(|i| f64::from(samples[[i, j]]))
                .collect();
            smoother.smooth_coarsely(&column)
        })
        .collect();
    for (i, mut row) in out.rows_mut().into_iter().enumerate() {
        let inside = i.clamp(range.0, range.1 - 1) - range.0;
        for (value, slow) in row.iter_mut().zip(&columns) {
            *value -= slow[inside] as f32;
        }
    }
    out
}

/// Finds the local spacing; `samples` are high-passed, [`SAMPLES_A_PICK`] to a planned pick.
pub(crate) fn local_pitch(
    samples: &Array2<f32>,
    lines: &Lines,
    pattern: Option<&Pattern>,
    range: (f64, f64),
) -> Option<LocalPitch> {
    let per_pick = SAMPLES_A_PICK;
    let picks = samples.dim().0 / per_pick;
    let window = (10.max(3 * lines.rows)).min(picks.saturating_sub(1)).max(4) * per_pick;
    if samples.dim().0 < window {
        return None;
    }
    let hop = 2 * per_pick;
    let starts: Vec<usize> = (0..=(samples.dim().0 - window) / hop)
        .map(|k| k * hop)
        .collect();
    let candidates: Vec<f64> = {
        let n = ((range.1 / range.0).ln() / CANDIDATE_STEP).ceil() as usize;
        (0..=n)
            .map(|k| range.0 * (k as f64 * CANDIDATE_STEP).exp())
            .collect()
    };
    let padded = (4 * window).next_power_of_two();
    let shapes: Vec<Shape> = candidates
        .par_iter()
        .map(|&ratio| Shape::new(lines, ratio, range, window, padded))
        .collect();
    let hann = Window::new(window, padded);
    let relations = pattern.map_or_else(Vec::new, |p| Relation::all(p, samples.dim().1 / 3 - 1));
    let seen: Vec<Scores> = starts
        .par_iter()
        .map(|&a| {
            let spectrum = hann.spectrum(samples, a, shapes[0].end());
            Scores::new(&spectrum, &shapes, &relations, &candidates)
        })
        .collect();
    let scores: Vec<&[f64]> = seen.iter().map(|s| s.explained.as_slice()).collect();
    let hop_picks = hop as f64 / per_pick as f64;
    let overlap = window as f64 / hop as f64;
    let paths: Vec<(Vec<usize>, f64)> = (0..relations.len().max(1))
        .into_par_iter()
        .map(|way| {
            let gains: Vec<Vec<f64>> = seen.iter().map(|s| s.gains(way)).collect();
            best_path(&gains, &candidates, (hop_picks, overlap))
        })
        .collect();
    let (path, _) = paths.into_iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
    let explained = path.iter().zip(&scores).map(|(&k, s)| s[k]).sum::<f64>() / path.len() as f64;
    let clearest =
        (0..path.len()).max_by(|&a, &b| scores[a][path[a]].total_cmp(&scores[b][path[b]]))?;
    let middles: Vec<f64> = starts.iter().map(|a| (a + window / 2) as f64).collect();
    let ratios: Vec<f64> = path.iter().map(|&k| candidates[k]).collect();
    let ratio = (0..samples.dim().0)
        .map(|i| interpolate(&middles, &ratios, i as f64))
        .collect();
    Some(LocalPitch {
        ratio,
        explained,
        clearest: starts[clearest] + window / 2,
    })
}

/// Piecewise linear, held at the ends.
pub(crate) fn interpolate(x: &[f64], y: &[f64], at: f64) -> f64 {
    let k = x.partition_point(|v| *v <= at);
    if k == 0 {
        return y[0];
    }
    if k == x.len() {
        return y[k - 1];
    }
    let f = (at - x[k - 1]) / (x[k] - x[k - 1]);
    y[k - 1] * (1.0 - f) + y[k] * f
}

/// What one window says of every candidate.
struct Scores {
    /// Share of the amplitudes explained.
    explained: Vec<f64>,
    /// `turns[way][candidate]`: how far neighbouring ends take turns as they should.
    turns: Vec<Vec<f64>>,
}

impl Scores {
    fn new(
        spectrum: &Spectrum,
        shapes: &[Shape],
        relations: &[Relation],
        candidates: &[f64],
    ) -> Self {
        let amplitudes = spectrum.amplitudes();
        let strongest = amplitudes
            .iter()
            .skip(shapes[0].first())
            .map(|a| a * a)
            .fold(0.0, f64::max);
        let mut pairs = Pairs::new(spectrum);
        let seen = Amplitudes::new(&amplitudes[shapes[0].first().min(amplitudes.len())..]);
        Self {
            explained: shapes.iter().map(|s| s.explains(&seen)).collect(),
            turns: relations
                .iter()
                .map(|relation| {
                    candidates
                        .iter()
                        .map(|c| relation.holds(&mut pairs, c * SAMPLES_A_PICK as f64, strongest))
                        .collect()
                })
                .collect(),
        }
    }

    /// Worth of each candidate, for one way the band can lie.
    fn gains(&self, way: usize) -> Vec<f64> {
        self.explained
            .iter()
            .enumerate()
            .map(|(k, s)| {
                let turns = self.turns.get(way).map_or(0.0, |t| t[k]);
                TURNS_WORTH * turns - 0.5 * WINDOW_WORTH * (1.0 - s).ln()
            })
            .collect()
    }
}

/// The best path through the windows, and its worth.
fn best_path(
    gains: &[Vec<f64>],
    candidates: &[f64],
    (hop_picks, overlap): (f64, f64),
) -> (Vec<usize>, f64) {
    let n = candidates.len();
    let reach = 12usize;
    let jump = |d: usize| {
        let x = d as f64 * CANDIDATE_STEP / (CREEP_A_PICK * hop_picks);
        -0.5 * x * x
    };
    let far = |k: usize| 0.5 * (candidates[k].ln() / PLAN_SPREAD).powi(2);
    let mut best: Vec<f64> = (0..n)
        .map(|k| gains[0][k] - PLAN_WORTH * overlap * far(k))
        .collect();
    let mut from: Vec<Vec<usize>> = Vec::new();
    for gain in &gains[1..] {
        let mut next = vec![f64::NEG_INFINITY; n];
        let mut back = vec![0; n];
        for k in 0..n {
            for j in k.saturating_sub(reach)..=(k + reach).min(n - 1) {
                let value = best[j] + jump(k.abs_diff(j));
                if value > next[k] {
                    next[k] = value;
                    back[k] = j;
                }
            }
            next[k] += gain[k];
        }
        from.push(back);
        best = next;
    }
    let mut k = (0..n)
        .max_by(|&a, &b| best[a].total_cmp(&best[b]))
        .unwrap_or(0);
    let total = best[k];
    let mut path = vec![k];
    for back in from.iter().rev() {
        k = back[k];
        path.push(k);
    }
    path.reverse();
    (path, total)
}
