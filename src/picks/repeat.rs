//! Without a drawdown: how long is the repeat, and how many picks lie in it?
//!
//! # Method
//! 1. The repeat's length: the first high peak of the autocorrelation, summed over the columns and
//!    taken in windows along the band, so that a creeping beat doesn't smear it.
//! 2. How many picks lie in it: between two picks the cloth changes in every column at once. So the
//!    squared slope of the learnt repeat along the band, summed over the columns, beats once a pick:
//!    the lowest number of beats in a repeat that stands out among all is the number of picks.
//! 3. The same beat's crest is where one pick ends and the next begins.
//!
//! # Limits
//! A cloth of even rows, each like the next (weft-faced, one colour) repeats after one pick and says
//! nothing more. Where the beats of several numbers stand out alike the smallest is taken.

use std::f64::consts::TAU;
use std::ops::Range;

use ndarray::{Array2, ArrayView2, Axis, Slice};
use rayon::prelude::*;

use super::phase::STATES_A_PICK;

/// A peak of the autocorrelation counts as the repeat from this share of the highest.
const PEAK_SHARE: f64 = 0.85;

/// Windows along the band.
const WINDOWS: usize = 5;

/// A number of beats stands out from this share of the strongest.
const BEAT_SHARE: f64 = 0.4;

/// Length of the repeat, rows of `samples` (rows along, columns · 3; high-passed), and how high the
/// autocorrelation stands there; `None` where nothing repeats.
pub(crate) fn repeat_length(samples: &Array2<f32>, shortest: f64) -> Option<(f64, f64)> {
    let n = samples.dim().0;
    let window = (2 * n / WINDOWS).max(8);
    let hop = (n.saturating_sub(window)) / (WINDOWS - 1).max(1);
    let mut lengths: Vec<(f64, f64)> = (0..WINDOWS)
        .filter_map(|w| {
            let from = (w * hop).min(n.saturating_sub(window));
            first_peak(&autocorrelation(samples, from, window.min(n)), shortest)
        })
        .collect();
    lengths.sort_by(|a, b| a.0.total_cmp(&b.0));
    lengths.get(lengths.len() / 2).copied()
}

/// Autocorrelation over the lags up to half the window, 1 at lag 0, each lag's overlap counted.
fn autocorrelation(samples: &Array2<f32>, from: usize, window: usize) -> Vec<f64> {
    let lags = window / 2;
    let mut powers = vec![0.0];
    for row in (from..from + window).map(|i| samples.row(i)) {
        powers.push(powers[powers.len() - 1] + f64::from(row.dot(&row)));
    }
    let products = lagged_products(
        &samples.slice_axis(Axis(0), Slice::from(from..from + window)),
        lags,
    );
    (0..lags)
        .map(|lag| {
            let both = products[lag];
            let scale = (powers[window - lag] * (powers[window] - powers[lag])).sqrt();
            if scale > 0.0 { both / scale } else { 0.0 }
        })
        .collect()
}

/// For each lag the sum of the products of every row with the row so many later. Some rows at once are
/// multiplied with all that they meet, which a matrix product does best.
fn lagged_products(rows: &ArrayView2<f32>, lags: usize) -> Vec<f64> {
    const AT_ONCE: usize = 64;
    let n = rows.dim().0;
    let firsts: Vec<usize> = (0..n).step_by(AT_ONCE).collect();
    let parts: Vec<Vec<f64>> = firsts
        .into_par_iter()
        .map(|first| {
            let own = first..(first + AT_ONCE).min(n);
            let met = first..(own.end + lags).min(n);
            let part = |range: &Range<usize>| rows.slice_axis(Axis(0), Slice::from(range.clone()));
            let products = part(&own).dot(&part(&met).t());
            let mut sums = vec![0.0; lags];
            for (k, line) in products.rows().into_iter().enumerate() {
                for (sum, product) in sums.iter_mut().zip(line.iter().skip(k)) {
                    *sum += f64::from(*product);
                }
            }
            sums
        })
        .collect();
    let mut sums = vec![0.0; lags];
    for part in parts {
        for (sum, own) in sums.iter_mut().zip(part) {
            *sum += own;
        }
    }
    sums
}

/// The first peak that stands nearly as high as the highest.
fn first_peak(correlation: &[f64], shortest: f64) -> Option<(f64, f64)> {
    let peaks: Vec<usize> = (1..correlation.len().saturating_sub(1))
        .filter(|&k| {
            k as f64 >= shortest
                && correlation[k] > correlation[k - 1]
                && correlation[k] >= correlation[k + 1]
        })
        .collect();
    let top = peaks.iter().map(|&k| correlation[k]).fold(0.0, f64::max);
    let k = *peaks
        .iter()
        .find(|&&k| correlation[k] >= PEAK_SHARE * top && correlation[k] > 0.15)?;
    let (a, b, c) = (correlation[k - 1], correlation[k], correlation[k + 1]);
    let bend = a - 2.0 * b + c;
    let shift = if bend < 0.0 {
        0.5 * (a - c) / bend
    } else {
        0.0
    };
    Some((k as f64 + shift, b))
}

/// How strongly the learnt repeat's slope beats `1..=most` times in it: (strength against its mean,
/// phase of the crest as a share of one beat).
pub(crate) fn beats(template: &Array2<f32>, most: usize) -> Vec<(f64, f64)> {
    let states = template.dim().0;
    let slope: Vec<f64> = (0..states)
        .map(|k| {
            let (a, b) = (
                template.row((k + states - 1) % states),
                template.row((k + 1) % states),
            );
            a.iter()
                .zip(b)
                .map(|(x, y)| f64::from((y - x).powi(2)))
                .sum()
        })
        .collect();
    let mean = slope.iter().sum::<f64>() / states as f64;
    (1..=most)
        .map(|m| {
            let (mut re, mut im) = (0.0, 0.0);
            for (k, value) in slope.iter().enumerate() {
                let angle = TAU * (m * k) as f64 / states as f64;
                re += value * angle.cos();
                im += value * angle.sin();
            }
            let strength = 2.0 * re.hypot(im) / (states as f64 * mean.max(1e-12));
            (strength, (im.atan2(re) / TAU).rem_euclid(1.0))
        })
        .collect()
}

/// The number of picks in the repeat: the lowest number of beats that stands out, among `allowed`.
pub(crate) fn picks_in_repeat(
    beats: &[(f64, f64)],
    allowed: impl Fn(usize) -> bool,
) -> Option<usize> {
    let top = (1..=beats.len())
        .filter(|&m| allowed(m))
        .map(|m| beats[m - 1].0)
        .fold(0.0, f64::max);
    (1..=beats.len()).find(|&m| allowed(m) && beats[m - 1].0 >= BEAT_SHARE * top && top > 0.0)
}

/// Phase (picks, 0 to 1) of the border between two picks in a repeat of `rows` picks.
pub(crate) fn border_phase(template: &Array2<f32>) -> f64 {
    let rows = template.dim().0 / STATES_A_PICK;
    beats(template, rows).last().map_or(0.0, |b| b.1)
}
