//! How unlike anything in the body's middle does a row look, by its colours?
//!
//! # Method
//! How far a row's shares of colours (`colour_kinds`) lie from the rows of the middle that are most like it: stripes of
//! several colours are many kinds of usual rows. How far the middle's own rows lie from one another is the measure.

use std::ops::Range;

use ndarray::Array2;

use super::colour_kinds::{Kinds, mean_of};
use crate::stats::quantile;

/// How unlike anything in the body's middle each of `picks` looks by its colours: the distance of its
/// shares of the `kinds` from the most alike of the picks `core`, over the 95th percentile of such distances
/// among those themselves. `picks` are the first and last sample of each.
pub(super) fn unusual_colours(
    samples: &Array2<f32>,
    kinds: &Kinds,
    picks: &[(usize, usize)],
    core: Range<usize>,
) -> Vec<f64> {
    let shares: Vec<Vec<f64>> = picks
        .iter()
        .map(|&(a, b)| {
            let rows: Vec<Vec<f64>> = (a..=b).map(|i| kinds.shares(samples, i)).collect();
            mean_of(rows.iter(), kinds.count())
        })
        .collect();
    Novelty::new(shares[core].iter().collect(), 1).over_usual(&shares, 0.04)
}

/// So many of the most alike rows are averaged over.
const ALIKE: usize = 3;

/// How far colour shares lie from all those of the middle.
pub(super) struct Novelty<'a> {
    known: Vec<&'a Vec<f64>>,
    /// 95th percentile among the known ones themselves.
    usual: f64,
}

impl<'a> Novelty<'a> {
    /// Known shares; neighbours nearer than `apart` entries don't count for one another.
    pub(super) fn new(known: Vec<&'a Vec<f64>>, apart: usize) -> Self {
        let own: Vec<f64> = (0..known.len())
            .map(|i| {
                let others = known
                    .iter()
                    .enumerate()
                    .filter(|(j, _)| j.abs_diff(i) > apart)
                    .map(|(_, s)| *s);
                nearest_shares(known[i], others)
            })
            .collect();
        Self {
            usual: quantile(&own, 0.95).unwrap_or(0.0),
            known,
        }
    }

    /// The distance of each row's shares from the known ones, over what is usual among those, `least` at least.
    pub(super) fn over_usual(&self, shares: &[Vec<f64>], least: f64) -> Vec<f64> {
        let usual = self.usual.max(least);
        shares
            .iter()
            .map(|own| nearest_shares(own, self.known.iter().copied()) / usual)
            .collect()
    }
}

/// Mean distance to the [`ALIKE`] most alike of `others`.
fn nearest_shares<'a>(shares: &[f64], others: impl Iterator<Item = &'a Vec<f64>>) -> f64 {
    let mut least = [f64::INFINITY; ALIKE];
    for other in others {
        let d: f64 = shares.iter().zip(other).map(|(a, b)| (a - b).abs()).sum();
        if d < least[ALIKE - 1] {
            least[ALIKE - 1] = d;
            least.sort_by(f64::total_cmp);
        }
    }
    let n = least.iter().filter(|d| d.is_finite()).count().max(1);
    least.iter().filter(|d| d.is_finite()).sum::<f64>() / n as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    const WARP: [f32; 3] = [80.0, 0.0, 5.0];
    const WEFT: [f32; 3] = [40.0, 30.0, 10.0];

    /// Rows of twenty columns, four rows to a pick; the first three picks show `header`'s number of columns of weft,
    /// the others from 8 to 11.
    fn cloth(header: usize) -> Array2<f32> {
        let weft = |i: usize| if i < 12 { header } else { 8 + i / 4 % 4 };
        Array2::from_shape_fn((80, 60), |(i, column)| {
            let colour = if column / 3 < weft(i) { WEFT } else { WARP };
            colour[column % 3]
        })
    }

    fn unusual(samples: &Array2<f32>) -> Vec<f64> {
        let picks: Vec<(usize, usize)> = (0..20).map(|k| (4 * k, 4 * k + 3)).collect();
        let kinds = Kinds::in_all(samples, (0, 80));
        unusual_colours(samples, &kinds, &picks, 6..20)
    }

    #[test]
    fn other_shares_of_the_same_colours_are_unusual() {
        let seen = unusual(&cloth(16));
        assert!(seen[..3].iter().all(|u| *u > 3.0), "{seen:?}");
        assert!(seen[3..].iter().all(|u| *u <= 1.0), "{seen:?}");
    }

    #[test]
    fn what_the_middle_shows_too_is_usual() {
        let seen = unusual(&cloth(9));
        assert!(seen.iter().all(|u| *u <= 1.0), "{seen:?}");
    }
}
