//! Without a drawdown: after how many picks does the weave come round?
//!
//! # Method
//! The levelled cloth is held against itself 2, 3, 4 … picks on (autocorrelation over all columns); the repeat is the
//! least number after which it is nearly as like itself as it ever is. Where a second weft is seen, only the rows of
//! the usual one are held against one another: in a stripe, light and dark may stand the other way round, and
//! the stripes would be taken for the repeat.
//!
//! # Limits
//! Repeats of more than [`LONGEST`] picks are followed as if they were shorter ones.

use super::cloth::Cloth;
use super::pitch::SAMPLES_A_PICK;

/// Longest repeat that is looked for, picks.
pub(super) const LONGEST: usize = 12;

/// A number of picks is the repeat from this share of the greatest likeness on.
const LIKE_ENOUGH: f64 = 0.7;

/// Fewest picks that must be held against others.
const LEAST_PICKS: usize = 4;

/// Picks in the repeat, 2 to [`LONGEST`].
pub(super) fn repeat_of(cloth: &Cloth) -> usize {
    let like: Vec<f64> = (2..=LONGEST)
        .map(|picks| likeness(cloth, picks * SAMPLES_A_PICK))
        .collect();
    let most = like.iter().copied().fold(0.0, f64::max);
    let first = like.iter().position(|l| *l >= LIKE_ENOUGH * most);
    first.map_or(2, |k| k + 2)
}

/// Correlation of the body's rows with those `lag` samples on; 0 where too few can be compared.
fn likeness(cloth: &Cloth, lag: usize) -> f64 {
    let samples = &cloth.level.samples;
    let width = samples.dim().1 - 3;
    let usual = |i: usize| cloth.rarer.as_ref().is_none_or(|rarer| !rarer[i]);
    let row = |i: usize| {
        samples
            .row(i)
            .to_slice()
            .unwrap_or_default()
            .get(..width)
            .unwrap_or_default()
    };
    let product =
        |a: &[f32], b: &[f32]| f64::from(a.iter().zip(b).map(|(x, y)| x * y).sum::<f32>());
    let (mut both, mut own, mut other, mut compared) = (0.0, 0.0, 0.0, 0);
    let (from, to) = cloth.body;
    for i in (from..to.saturating_sub(lag)).filter(|&i| usual(i) && usual(i + lag)) {
        let (a, b) = (row(i), row(i + lag));
        both += product(a, b);
        own += product(a, a);
        other += product(b, b);
        compared += 1;
    }
    if compared < LEAST_PICKS * SAMPLES_A_PICK {
        return 0.0;
    }
    both / (own * other).sqrt().max(1e-12)
}
