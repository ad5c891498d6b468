//! What speaks for a spacing being the picks'?
//!
//! # Method
//! 1. The cloth is sampled along the path at [`SAMPLES`] a pick, what all columns have in common taken out, and
//!    held against itself 1, 2, 3 … picks on (autocorrelation over all columns). No two picks running are alike,
//!    for a weave holds together by ends that change sides; and after a few picks it repeats. A stripe or a
//!    whole repeat taken for a pick would be like the next; half a pick would be like the next, too, or
//!    repeat only after twice as many.
//! 2. That, how strongly steps and light beat at the spacing, at half and at twice of it, all that stripes do and what
//!    they don't, how strongly the selvedges sway as the weft turns there once in two picks, and how much closer than
//!    picks the ends would lie (`sett`; yarn bounds both), are weighed by a
//!    conditional logistic regression ("Conditional logit analysis of qualitative choice behavior", in
//!    *Frontiers in Econometrics*, 1974, p. 105).
//!
//! # Limits
//! The weights are fitted to 1299 drawn bands, each once more as if its selvedges showed no turns. With a sixth left out in
//! turn 1259 were right within 12 %: 788 of 804 in cloth that shows both yarns, 242 of 247 where the warp hides
//! the weft, 229 of 248 where the weft hides the warp; 1242 where the turns don't show, as without that sign.

use ndarray::{Array2, Axis, Slice};

use super::columns::Columns;
use super::pitch::{high_pass, interpolate};
use super::repeat::LONGEST;
use super::spacings::SpacingPath;
use super::steps::{Beats, octave};
use crate::stats::{gaussian_smooth, median};

/// Samples a pick.
const SAMPLES: usize = 8;

/// What is slower than so many picks is taken out.
const SLOW_PICKS: f64 = 1.5;

/// Rows are brought to the same contrast, but not those far below the usual power.
const LEAST_CONTRAST: f64 = 0.3;

/// A number of picks is the repeat from this share of the greatest likeness on.
const LIKE_ENOUGH: f64 = 0.85;

/// Ends lie as close as picks, or so much closer or farther apart (natural logarithm) in cloth that one of the
/// two hides.
const USUAL_APART: f64 = 1.0;

/// What is still farther says no more.
const MOST_APART: f64 = 2.5;

/// How many signs there are of a spacing.
const SIGNS: usize = 28;

/// So many of them, the first, the cloth shows without its selvedges.
pub(crate) const SIGNS_OF_CLOTH: usize = SIGNS - 3;

/// What speaks for one spacing.
#[derive(Clone, Debug)]
pub(super) struct SpacingSigns {
    /// In the order of [`WEIGHTS`].
    pub(super) signs: [f64; SIGNS],
    /// Picks in the repeat.
    pub(super) rows: usize,
}

/// What each sign weighs.
const WEIGHTS: [f64; SIGNS] = [
    1.2, 0.75, -0.86, 1.87, -1.32, -1.58, -1.26, -7.66, -4.19, -6.32, -4.81, -0.49, 4.28, 3.1,
    -0.21, -4.66, 2.96, 2.67, -2.97, 2.05, -0.6, -1.67, -0.32, 1.44, -0.76, 2.76, 1.17, -0.03,
];

impl SpacingSigns {
    /// Of a path of spacings over the rows of `columns` from `first` on.
    /// Where the spacing is right, ends lie `closer` times closer than picks.
    pub(super) fn of(
        (columns, first): (&Columns, f64),
        beats: &Beats,
        path: &SpacingPath,
        closer: f64,
    ) -> Self {
        let (samples, picks) = sampled(columns, first, beats, path);
        let apart = closer.ln().abs();
        let like = |picks: f64| likeness(&samples, (picks * SAMPLES as f64).round() as usize);
        let whole: Vec<f64> = (1..=LONGEST).map(|k| like(k as f64)).collect();
        let greatest = |to: usize| whole[1..to].iter().copied().fold(f64::MIN, f64::max);
        let octave = octave();
        let beat = |shares: &Array2<f64>, by: i64| Beats::worth(path.share(shares, by));
        let most = greatest(LONGEST);
        let rows = (2..=LONGEST).find(|k| whole[k - 1] >= LIKE_ENOUGH * most);
        Self {
            signs: [
                path.worth / 100.0,
                beat(&beats.steps, 0),
                beat(&beats.steps, -octave),
                beat(&beats.steps, octave),
                beat(&beats.light, 0),
                beat(&beats.light, -octave),
                beat(&beats.light, octave),
                like(0.5),
                whole[0],
                whole[0].max(0.0),
                like(1.5),
                whole[1],
                greatest(8),
                picks.ln(),
                apart.min(MOST_APART),
                (apart - USUAL_APART).clamp(0.0, MOST_APART),
                beat(&beats.own_steps, 0),
                beat(&beats.own_steps, -octave),
                beat(&beats.own_steps, octave),
                beat(&beats.furrows, 0),
                beat(&beats.furrows, -octave),
                beat(&beats.furrows, octave),
                whole[2],
                whole[3],
                like(2.5),
                beat(&beats.turns, 0),
                beat(&beats.turns, -octave),
                beat(&beats.turns, octave),
            ],
            rows: rows.unwrap_or(2),
        }
    }

    /// Those that need no selvedges.
    pub(super) fn of_cloth(&self) -> [f64; SIGNS_OF_CLOTH] {
        std::array::from_fn(|k| self.signs[k])
    }

    /// What it is worth against other spacings, a logarithm.
    pub(super) fn worth(&self) -> f64 {
        self.signs.iter().zip(WEIGHTS).map(|(s, w)| s * w).sum()
    }
}

/// The cloth along a path, rows brought to the same contrast, and its number of picks.
fn sampled(columns: &Columns, first: f64, beats: &Beats, path: &SpacingPath) -> (Array2<f32>, f64) {
    let spacings = path.spacings(beats);
    let rows = beats.rows;
    let mut phase = vec![0.0];
    for row in 0..rows {
        phase.push(phase[row] + 1.0 / interpolate(&beats.places, &spacings, row as f64));
    }
    let picks = phase[rows];
    let index: Vec<f64> = (0..=rows).map(|row| row as f64).collect();
    let n = (picks * SAMPLES as f64) as usize;
    let places: Vec<f64> = (0..n)
        .map(|k| first + interpolate(&phase, &index, k as f64 / SAMPLES as f64))
        .collect();
    let mut samples = high_pass(
        &columns.resample(&places),
        SLOW_PICKS * SAMPLES as f64,
        (0, n),
    );
    let width = samples.dim().1;
    let mut power = Vec::with_capacity(n);
    for mut row in samples.rows_mut() {
        for c in 0..3 {
            let mean = row.iter().skip(c).step_by(3).sum::<f32>() / (width / 3) as f32;
            row.iter_mut().skip(c).step_by(3).for_each(|v| *v -= mean);
        }
        power.push(f64::from(row.iter().map(|v| v * v).sum::<f32>()));
    }
    let around = gaussian_smooth(&power, SAMPLES as f64);
    let floor = LEAST_CONTRAST * median(&around).unwrap_or(0.0);
    for (mut row, power) in samples.rows_mut().into_iter().zip(around) {
        let scale = (1.0 / (power + floor).max(1e-9).sqrt()) as f32;
        row.mapv_inplace(|v| v * scale);
    }
    (samples, picks)
}

/// Correlation of the samples with those `lag` rows on; 0 where too few remain.
fn likeness(samples: &Array2<f32>, lag: usize) -> f64 {
    let n = samples.dim().0;
    if n < lag + 4 * SAMPLES {
        return 0.0;
    }
    let part = |from: usize, to: usize| samples.slice_axis(Axis(0), Slice::from(from..to));
    let (mut both, mut own, mut other) = (0.0, 0.0, 0.0);
    for (a, b) in part(0, n - lag).rows().into_iter().zip(part(lag, n).rows()) {
        both += f64::from(a.dot(&b));
        own += f64::from(a.dot(&a));
        other += f64::from(b.dot(&b));
    }
    both / (own * other).sqrt().max(1e-12)
}
