//! Following the repeat along the band.
//!
//! At which phase of the repeat does each sample of the cloth lie? What one repeat looks like isn't
//! known beforehand: yarns, light and weave differ from band to band. So the repeat is learnt from
//! the band itself, and followed by a hidden Markov model whose states are the phases of the repeat.
//!
//! # Method
//! 1. Fold a few repeats around a clear place into a template: what each phase looks like.
//! 2. Find the most likely path of phases through all samples (Viterbi): a sample moves on by 0 to 4
//!    states, 2 being the expected spacing.
//! 3. Fold again along that path, and repeat; the template sharpens and spreads over the band.
//! 4. Of several starting places the one that ends with the best likelihood is kept.
//!
//! A row that differs from its template (a mis-woven pick) costs a bounded amount, so that it
//! can't push the path off.
//!
//! # Limits
//! A stretch whose spacing changes to less than half or more than double isn't followed.

use ndarray::{Array2, ArrayView1, ArrayView2, Axis, Slice};
use rayon::prelude::*;

use super::level::Level;
use super::path::{Pins, best_path};
use super::pitch::SAMPLES_A_PICK;

/// States a pick: two to a sample, so that the expected advance is 2 and 0 to 4 can be told apart.
pub(crate) const STATES_A_PICK: usize = 2 * SAMPLES_A_PICK;

/// Rounds of following and folding for each start, and for the best one afterwards.
const ROUNDS: (usize, usize) = (2, 6);

/// The repeat and where each sample lies in it.
#[derive(Clone, Debug)]
pub(crate) struct Phases {
    /// What each phase looks like, shape (rows · [`STATES_A_PICK`], columns).
    pub(crate) template: Array2<f32>,
    /// Unwrapped phase of each sample, picks; goes on evenly where the rows jump.
    pub(crate) picks: Vec<f64>,
    /// State of each sample: its phase within the repeat, [`STATES_A_PICK`] to a pick.
    pub(crate) states: Vec<usize>,
    /// Share of the samples' variance that the template leaves unexplained.
    pub(crate) unexplained: f64,
}

impl Phases {
    /// The phases along a path of states through `samples`, whose template was learnt inside `learn`.
    fn along(
        path: Vec<usize>,
        template: Array2<f32>,
        samples: &Array2<f32>,
        learn: (usize, usize),
    ) -> Self {
        Self {
            picks: unwrap(&path),
            unexplained: unexplained(samples, &template, &path, learn),
            states: path,
            template,
        }
    }

    /// The template of the levelled samples inside `learn` that `take` accepts; phases that none of
    /// them shows keep those of all.
    pub(crate) fn template_where(
        &self,
        level: &Level,
        learn: (usize, usize),
        take: impl Fn(usize) -> bool,
    ) -> Array2<f32> {
        let states = self.template.dim().0;
        let mut sum = Array2::<f32>::zeros(self.template.dim());
        let mut weight = vec![0.0f32; states];
        for i in (learn.0..learn.1).filter(|&i| take(i)) {
            let sample = level.samples.row(i);
            add_spread(
                &mut sum,
                &mut weight,
                self.states[i],
                sample.to_slice().unwrap_or_default(),
            );
        }
        means(sum, &weight, &self.template)
    }

    /// The template of other samples at the same phases, learnt from those inside `learn`.
    pub(crate) fn template_of(&self, samples: &Array2<f32>, learn: (usize, usize)) -> Array2<f32> {
        let states = self.template.dim().0;
        let path = &self.states[learn.0..learn.1];
        let empty = Array2::zeros((states, samples.dim().1));
        fold(samples, path, learn.0, states / STATES_A_PICK, &empty)
    }
}

/// Follows a repeat of `rows` picks through the levelled cloth (rows along, columns across; about
/// [`SAMPLES_A_PICK`] to a pick), learning only from samples inside `learn`.
pub(crate) fn follow(
    level: &Level,
    rows: usize,
    learn: (usize, usize),
    clearest: usize,
) -> Option<Phases> {
    let samples = &level.samples;
    let squares = squares(samples);
    let n = samples.dim().0;
    let span = (3 * rows).max(8) * SAMPLES_A_PICK;
    if learn.1 < learn.0 + span.min(5 * SAMPLES_A_PICK) || n < learn.1 {
        return None;
    }
    let span = span.min(learn.1 - learn.0);
    let place = |middle: usize| {
        middle
            .saturating_sub(span / 2)
            .clamp(learn.0, learn.1 - span)
    };
    let mut starts: Vec<usize> = [
        clearest,
        (3 * learn.0 + learn.1) / 4,
        (learn.0 + learn.1) / 2,
        (learn.0 + 3 * learn.1) / 4,
    ]
    .into_iter()
    .map(place)
    .collect();
    starts.dedup();
    let runs: Vec<(f64, Array2<f32>)> = starts
        .par_iter()
        .map(|&start| {
            let mut template = fold_evenly(samples, start, span, rows);
            let mut cost = f64::INFINITY;
            for _ in 0..ROUNDS.0 {
                let (path, total) = viterbi(level, &squares, &template, learn, false);
                template = fold(samples, &path, learn.0, rows, &template);
                cost = total;
            }
            (cost, template)
        })
        .collect();
    let best = runs.into_iter().min_by(|a, b| a.0.total_cmp(&b.0))?;
    let mut template = best.1;
    let mut before = Vec::new();
    for _ in 0..ROUNDS.1 {
        let (path, _) = viterbi(level, &squares, &template, learn, false);
        // The same path folds to the same template: all is settled.
        if path == before {
            break;
        }
        template = fold(samples, &path, learn.0, rows, &template);
        before = path;
    }
    let (path, _) = viterbi(level, &squares, &template, (0, n), rows > 1);
    Some(Phases::along(path, template, samples, learn))
}

/// The path of known templates through all samples, and its cost a sample inside `learn`; each sample
/// is held against the template that `kind` names for it, and costs what its pin says.
pub(crate) fn follow_templates(
    level: &Level,
    templates: &[Array2<f32>],
    kind: impl Fn(usize) -> usize,
    pins: &Pins,
    learn: (usize, usize),
) -> (Phases, f64) {
    let rows = templates[0].dim().0 / STATES_A_PICK;
    let all = (0, level.samples.dim().0);
    let squares = squares(&level.samples);
    let mut d = distances(&level.samples, &squares, &templates[0], all);
    for (k, template) in templates.iter().enumerate().skip(1) {
        let other = distances(&level.samples, &squares, template, all);
        for i in (all.0..all.1).filter(|&i| kind(i) == k) {
            d.row_mut(i).assign(&other.row(i));
        }
    }
    let ((own, cost), (path, _)) = rayon::join(
        || {
            let inner = d
                .slice_axis(Axis(0), Slice::from(learn.0..learn.1))
                .to_owned();
            let (path, cost) = best_path(
                &inner,
                &level.trust[learn.0..learn.1],
                &pins.within(learn),
                false,
            );
            let own = fold(&level.samples, &path, learn.0, rows, &templates[0]);
            (own, cost)
        },
        || best_path(&d, &level.trust, pins, rows > 1),
    );
    (Phases::along(path, own, &level.samples, learn), cost)
}

/// Unwrapped phase in picks from a path of cyclic states; a jump to another row counts as going on.
fn unwrap(path: &[usize]) -> Vec<f64> {
    let mut at = path.first().copied().unwrap_or(0);
    let mut total = at as f64;
    path.iter()
        .map(|&k| {
            total +=
                ((k % STATES_A_PICK + STATES_A_PICK - at % STATES_A_PICK) % STATES_A_PICK) as f64;
            at = k;
            total / STATES_A_PICK as f64
        })
        .collect()
}

/// A first template: samples taken at their expected phases.
fn fold_evenly(samples: &Array2<f32>, start: usize, span: usize, rows: usize) -> Array2<f32> {
    let states = rows * STATES_A_PICK;
    let path: Vec<usize> = (0..span).map(|i| (2 * i) % states).collect();
    let empty = Array2::zeros((states, samples.dim().1));
    fold(samples, &path, start, rows, &empty)
}

/// Mean of the samples at each phase, spread over neighbouring phases; phases never seen keep what
/// `before` had. `path[i]` belongs to sample `offset + i`.
fn fold(
    samples: &Array2<f32>,
    path: &[usize],
    offset: usize,
    rows: usize,
    before: &Array2<f32>,
) -> Array2<f32> {
    let states = rows * STATES_A_PICK;
    let width = samples.dim().1;
    let mut sum = Array2::<f32>::zeros((states, width));
    let mut weight = vec![0.0f32; states];
    for (i, &k) in path.iter().enumerate() {
        let sample = samples.row(offset + i);
        add_spread(
            &mut sum,
            &mut weight,
            k,
            sample.to_slice().unwrap_or_default(),
        );
    }
    means(sum, &weight, before)
}

/// Adds one sample to its state and, less, to the neighbouring ones.
fn add_spread(sum: &mut Array2<f32>, weight: &mut [f32], state: usize, sample: &[f32]) {
    let states = weight.len();
    for (d, w) in [
        (states - 2, 0.25f32),
        (states - 1, 0.8),
        (0, 1.0),
        (1, 0.8),
        (2, 0.25),
    ] {
        let near = (state + d) % states;
        let row = sum.row_mut(near).into_slice().unwrap_or_default();
        for (sum, value) in row.iter_mut().zip(sample) {
            *sum += w * value;
        }
        weight[near] += w;
    }
}

/// Each state's weighted sum over its weight; states without weight keep what `before` had.
pub(crate) fn means(mut sum: Array2<f32>, weight: &[f32], before: &Array2<f32>) -> Array2<f32> {
    for (state, w) in weight.iter().enumerate() {
        if *w > 0.0 {
            sum.row_mut(state).mapv_inplace(|v| v / w);
        } else {
            sum.row_mut(state).assign(&before.row(state));
        }
    }
    sum
}

/// Each sample's square, over the columns.
fn squares(samples: &Array2<f32>) -> Vec<f32> {
    let square = |row: ArrayView1<f32>| row.iter().map(|v| v * v).sum();
    samples.rows().into_iter().map(square).collect()
}

/// Squared distance of each sample in `range` to each state, over the columns; `squares` are the
/// samples' own.
fn distances(
    samples: &Array2<f32>,
    squares: &[f32],
    template: &Array2<f32>,
    range: (usize, usize),
) -> Array2<f32> {
    let part: ArrayView2<f32> = samples.slice_axis(Axis(0), Slice::from(range.0..range.1));
    let mut d = part.dot(&template.t());
    let own = self::squares(template);
    for (mut row, square) in d.rows_mut().into_iter().zip(&squares[range.0..]) {
        for (value, own) in row.iter_mut().zip(&own) {
            *value = (square + own - 2.0 * *value).max(0.0);
        }
    }
    d
}

/// The most likely path of states through the samples in `range`, and its cost a sample; with
/// `jumps` the rows may go on out of turn, at a price.
fn viterbi(
    level: &Level,
    squares: &[f32],
    template: &Array2<f32>,
    range: (usize, usize),
    jumps: bool,
) -> (Vec<usize>, f64) {
    let d = distances(&level.samples, squares, template, range);
    best_path(&d, &level.trust[range.0..range.1], &Pins::default(), jumps)
}

/// Share of the variance that is left.
fn unexplained(
    samples: &Array2<f32>,
    template: &Array2<f32>,
    path: &[usize],
    range: (usize, usize),
) -> f64 {
    let (mut rest, mut all) = (0.0, 0.0);
    for i in range.0..range.1 {
        for (x, t) in samples.row(i).iter().zip(template.row(path[i])) {
            rest += f64::from((x - t).powi(2));
            all += f64::from(x.powi(2));
        }
    }
    if all > 0.0 { rest / all } else { 1.0 }
}
