//! Which spacings may be the picks'?
//!
//! # Method
//! 1. Each place's worth of a spacing: what steps and light are worth there (`steps`), once all of them and once
//!    what stripes don't make.
//! 2. The best path of spacings along the band for every spacing that it may end with (Viterbi); a spacing
//!    creeps from place to place, and what it creeps is paid for.
//! 3. The paths that end with the highest worths, no two alike, and the one along which the weft's turns at the
//!    selvedges beat most; half and twice of each besides.

use super::steps::{Beats, SPACING_STEP, octave};

/// Worth of the steps, of the light, and of the selvedges' turns.
const STEPS_WORTH: f64 = 6.0;
const LIGHT_WORTH: f64 = 3.0;
const TURNS_WORTH: f64 = 9.0;

/// Spread (natural logarithm) of the spacing's change over one pick's length.
const CREEP_A_PICK: f64 = 0.012;

/// Spacings that one place may lie from the next.
const REACH: usize = 4;

/// Paths that are looked at by steps and light, and by what of both stripes don't make; half and twice of
/// each not counted.
const PATHS: usize = 4;
const STRIPELESS_PATHS: usize = 2;

/// Paths that are looked at by the selvedges' turns.
const TURNS_PATHS: usize = 1;

/// Paths this near (natural logarithm of their mean spacing) are one.
const ALIKE: f64 = 0.08;

/// Within so many spacings of each other only the best end counts.
const NEAR: usize = 5;

/// A spacing for every place.
#[derive(Clone, Debug)]
pub(super) struct SpacingPath {
    /// Index of the spacing at each place.
    pub(super) at: Vec<usize>,
    /// What it is worth by steps and light.
    pub(super) worth: f64,
    /// Mean logarithm of the spacing.
    mean_log: f64,
}

/// The paths that may be the picks', the best by steps and light first; `usual` says how likely each spacing is
/// beforehand (a logarithm).
pub(super) fn spacing_paths(beats: &Beats, usual: impl Fn(f64) -> f64) -> Vec<SpacingPath> {
    let before: Vec<f64> = beats.spacings.iter().map(|s| usual(*s)).collect();
    let gain = |at: usize, k: usize| {
        STEPS_WORTH * Beats::worth(beats.steps[[at, k]])
            + LIGHT_WORTH * Beats::worth(beats.light[[at, k]])
            + before[k]
    };
    let stripeless = |at: usize, k: usize| {
        STEPS_WORTH * Beats::worth(beats.own_steps[[at, k]])
            + LIGHT_WORTH * Beats::worth(beats.furrows[[at, k]])
            + before[k]
    };
    let turns = |at: usize, k: usize| TURNS_WORTH * Beats::worth(beats.turns[[at, k]]) + before[k];
    let mut paths: Vec<SpacingPath> = Vec::new();
    best_paths(&mut paths, beats, PATHS, gain);
    best_paths(&mut paths, beats, STRIPELESS_PATHS, stripeless);
    best_paths(&mut paths, beats, TURNS_PATHS, turns);
    for path in paths.clone() {
        for by in [-octave(), octave()] {
            if let Some(moved) = path.moved(by, beats) {
                add(&mut paths, moved);
            }
        }
    }
    for path in &mut paths {
        path.worth = path.gained(gain);
    }
    paths
}

/// Adds the best so many paths that end at different spacings.
fn best_paths(
    paths: &mut Vec<SpacingPath>,
    beats: &Beats,
    so_many: usize,
    gain: impl Fn(usize, usize) -> f64,
) {
    let (worths, back) = forward(beats, gain);
    let n = worths.len();
    let mut ends: Vec<usize> = (0..n)
        .filter(|&k| {
            let around = &worths[k.saturating_sub(NEAR)..(k + NEAR + 1).min(n)];
            around.iter().all(|w| *w <= worths[k])
        })
        .collect();
    ends.sort_by(|&a, &b| worths[b].total_cmp(&worths[a]));
    let most = paths.len() + so_many;
    for end in ends {
        if paths.len() < most {
            add(paths, SpacingPath::ending(end, &back, beats));
        }
    }
}

/// Adds a path that is like none before.
fn add(paths: &mut Vec<SpacingPath>, path: SpacingPath) {
    if paths
        .iter()
        .all(|p| (p.mean_log - path.mean_log).abs() > ALIKE)
    {
        paths.push(path);
    }
}

/// The worth of the best path to each spacing at the last place, and the way that led there from place to
/// place.
fn forward(beats: &Beats, gain: impl Fn(usize, usize) -> f64) -> (Vec<f64>, Vec<Vec<usize>>) {
    let (places, n) = beats.steps.dim();
    let mut best: Vec<f64> = (0..n).map(|k| gain(0, k)).collect();
    let mut back = Vec::new();
    for at in 1..places {
        let apart = beats.places[at] - beats.places[at - 1];
        let mut next = vec![f64::NEG_INFINITY; n];
        let mut from = vec![0; n];
        for k in 0..n {
            let spread = CREEP_A_PICK * (apart / beats.spacings[k]).max(1.0);
            for j in k.saturating_sub(REACH)..=(k + REACH).min(n - 1) {
                let crept = k.abs_diff(j) as f64 * SPACING_STEP / spread;
                let value = best[j] - 0.5 * crept * crept;
                if value > next[k] {
                    (next[k], from[k]) = (value, j);
                }
            }
            next[k] += gain(at, k);
        }
        back.push(from);
        best = next;
    }
    (best, back)
}

impl SpacingPath {
    fn ending(end: usize, back: &[Vec<usize>], beats: &Beats) -> Self {
        let mut at = vec![end];
        for from in back.iter().rev() {
            at.push(from[at[at.len() - 1]]);
        }
        at.reverse();
        Self::new(at, beats)
    }

    fn new(at: Vec<usize>, beats: &Beats) -> Self {
        let logs = at.iter().map(|k| beats.spacings[*k].ln());
        let mean_log = logs.sum::<f64>() / at.len() as f64;
        Self {
            at,
            worth: 0.0,
            mean_log,
        }
    }

    /// What the spacings along it are worth, each at its place, without what its creeping costs.
    fn gained(&self, gain: impl Fn(usize, usize) -> f64) -> f64 {
        let places = self.at.iter().enumerate();
        places.map(|(place, k)| gain(place, *k)).sum()
    }

    /// The same so many spacings on; `None` where that lies beyond those looked at.
    fn moved(&self, by: i64, beats: &Beats) -> Option<Self> {
        let last = beats.spacings.len() as i64 - 1;
        let moved = |k: usize| (k as i64 + by).clamp(0, last) as usize;
        let mean = (self.mean_log - beats.spacings[0].ln()) / SPACING_STEP + by as f64;
        (mean > 0.0 && mean < last as f64)
            .then(|| Self::new(self.at.iter().map(|k| moved(*k)).collect(), beats))
    }

    /// The spacing at each place, rows.
    pub(super) fn spacings(&self, beats: &Beats) -> Vec<f64> {
        self.at.iter().map(|k| beats.spacings[*k]).collect()
    }

    /// The mean spacing, rows.
    pub(super) fn mean(&self, beats: &Beats) -> f64 {
        let picks: f64 = self.spacings(beats).iter().map(|s| 1.0 / s).sum();
        self.at.len() as f64 / picks
    }

    /// Mean share along the path of one signal's power, `by` spacings beside it.
    pub(super) fn share(&self, shares: &ndarray::Array2<f64>, by: i64) -> f64 {
        let last = shares.dim().1 as i64 - 1;
        let seen: Vec<f64> = self
            .at
            .iter()
            .enumerate()
            .filter_map(|(place, k)| {
                let k = *k as i64 + by;
                (0..=last).contains(&k).then(|| shares[[place, k as usize]])
            })
            .collect();
        seen.iter().sum::<f64>() / seen.len().max(1) as f64
    }
}
