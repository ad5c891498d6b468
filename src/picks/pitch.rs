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
//! 5. The best path of spacings along the windows (Viterbi), jumps paid for.
//!
//! # Limits
//! Spacings beyond [`PickOptions::spacing_range`](super::PickOptions) aren't looked for.

use ndarray::Array2;
use rayon::prelude::*;

use super::coherence::{Pairs, Relation};
use super::pattern::{Lines, Pattern};
use super::spectrum::Spectrum;
use crate::stats::gaussian_smooth;

/// Samples a pick, in every evenly sampled picture of the cloth.
pub(crate) const SAMPLES_A_PICK: usize = 14;

/// Candidate spacings are this far apart (natural logarithm): 1 %.
const CANDIDATE_STEP: f64 = 0.01;

/// Spread (natural logarithm) of how far a band misses its plan's picks per inch.
const PLAN_SPREAD: f64 = 0.20;

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
    let columns: Vec<Vec<f64>> = (0..samples.dim().1)
        .into_par_iter()
        .map(|j| {
            let column: Vec<f64> = (range.0..range.1)
                .map(|i| f64::from(samples[[i, j]]))
                .collect();
            gaussian_smooth(&column, sigma)
        })
        .collect();
    for (j, slow) in columns.iter().enumerate() {
        for i in 0..samples.dim().0 {
            out[[i, j]] -= slow[i.clamp(range.0, range.1 - 1) - range.0] as f32;
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
        .iter()
        .map(|&ratio| Shape::new(lines, ratio, range, window, padded))
        .collect();
    let relations = pattern.map_or_else(Vec::new, |p| Relation::all(p, samples.dim().1 / 3 - 1));
    let seen: Vec<Scores> = starts
        .par_iter()
        .map(|&a| {
            let spectrum = Spectrum::new(samples, a, window, padded, shapes[0].end());
            Scores::new(&spectrum, &shapes, &relations, &candidates)
        })
        .collect();
    let scores: Vec<&[f64]> = seen.iter().map(|s| s.explained.as_slice()).collect();
    let hop_picks = hop as f64 / per_pick as f64;
    let (path, _) = (0..relations.len().max(1))
        .map(|way| {
            let gains: Vec<Vec<f64>> = seen.iter().map(|s| s.gains(way)).collect();
            best_path(&gains, &candidates, hop_picks)
        })
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
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
            .skip(shapes[0].first)
            .map(|a| a * a)
            .fold(0.0, f64::max);
        let mut pairs = Pairs::new(spectrum);
        Self {
            explained: shapes.iter().map(|s| s.explains(&amplitudes)).collect(),
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

/// What the amplitudes should look like at one candidate spacing.
struct Shape {
    /// First bin looked at.
    first: usize,
    /// Components over the bins: repeat lines, furrow, double furrow, floor.
    parts: Vec<Vec<f64>>,
}

impl Shape {
    fn new(pattern: &Lines, ratio: f64, range: (f64, f64), window: usize, padded: usize) -> Self {
        let rows = pattern.rows as f64;
        let bin_of = |cycles_a_pick: f64| cycles_a_pick * padded as f64 / SAMPLES_A_PICK as f64;
        let first = bin_of(0.6 / (rows.max(2.0) * range.1)).floor() as usize;
        let last = bin_of(2.3 / range.0).ceil() as usize;
        let line = |part: &mut Vec<f64>, cycles: f64, height: f64| {
            let middle = bin_of(cycles);
            let own = 0.75 * padded as f64 / window as f64;
            let spread = own.hypot(0.02 * middle);
            for (k, value) in part.iter_mut().enumerate() {
                let d = ((first + k) as f64 - middle) / spread;
                if d.abs() < 5.0 {
                    *value += height * (-0.5 * d * d).exp() * own / spread;
                }
            }
        };
        let bins = last + 1 - first;
        let mut repeat = vec![0.0; bins];
        for (k, power) in pattern.power.iter().enumerate() {
            line(&mut repeat, (k + 1) as f64 / (rows * ratio), power.sqrt());
        }
        let mut furrow = vec![0.0; bins];
        line(&mut furrow, 1.0 / ratio, 1.0);
        let mut double = vec![0.0; bins];
        line(&mut double, 2.0 / ratio, 1.0);
        Self {
            first,
            parts: vec![repeat, furrow, double, vec![1.0; bins]],
        }
    }

    /// Number of bins that must be known.
    fn end(&self) -> usize {
        self.first + self.parts[0].len()
    }

    /// Share of the amplitudes' variation that the components explain, 0 to 1.
    fn explains(&self, spectrum: &[f64]) -> f64 {
        let bins = self.parts[0].len().min(spectrum.len() - self.first);
        let seen = &spectrum[self.first..self.first + bins];
        let mean = seen.iter().sum::<f64>() / bins as f64;
        let total: f64 = seen.iter().map(|v| (v - mean).powi(2)).sum();
        let parts: Vec<&[f64]> = self.parts.iter().map(|p| &p[..bins]).collect();
        let rest = non_negative_rest(&parts, seen);
        if total > 0.0 {
            (1.0 - rest / total).clamp(0.0, 0.9999)
        } else {
            0.0
        }
    }
}

/// Sum of squares that is left after non-negative least squares of a few components.
fn non_negative_rest(parts: &[&[f64]], seen: &[f64]) -> f64 {
    let n = parts.len();
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    let mut gram = vec![vec![0.0; n]; n];
    let mut right = vec![0.0; n];
    for i in 0..n {
        right[i] = dot(parts[i], seen);
        for j in 0..n {
            gram[i][j] = dot(parts[i], parts[j]);
        }
    }
    // Coordinate descent: the problem is convex and tiny, forty rounds settle it.
    let mut weight = vec![0.0f64; n];
    for _ in 0..40 {
        for i in 0..n {
            if gram[i][i] > 0.0 {
                let others: f64 = (0..n)
                    .filter(|&j| j != i)
                    .map(|j| gram[i][j] * weight[j])
                    .sum();
                weight[i] = ((right[i] - others) / gram[i][i]).max(0.0);
            }
        }
    }
    let fitted: f64 = (0..n).map(|i| weight[i] * right[i]).sum();
    let cross: f64 = (0..n)
        .map(|i| {
            (0..n)
                .map(|j| weight[i] * gram[i][j] * weight[j])
                .sum::<f64>()
        })
        .sum();
    dot(seen, seen) - 2.0 * fitted + cross
}

/// The best path through the windows, and its worth.
fn best_path(gains: &[Vec<f64>], candidates: &[f64], hop_picks: f64) -> (Vec<usize>, f64) {
    let n = candidates.len();
    let reach = 12usize;
    let jump = |d: usize| {
        let x = d as f64 * CANDIDATE_STEP / (CREEP_A_PICK * hop_picks);
        -0.5 * x * x
    };
    let mut best: Vec<f64> = (0..n)
        .map(|k| gains[0][k] - 0.5 * (candidates[k].ln() / PLAN_SPREAD).powi(2) * 4.0)
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
