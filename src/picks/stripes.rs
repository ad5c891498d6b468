//! Which rows of the cloth are woven with another weft than the rest?
//!
//! A stripe's weft may be lighter than the warp where the usual weft is darker: in it the same cells
//! stand the other way round. So the repeat is learnt for each of two wefts by itself; this says
//! where they lie.
//!
//! # Method
//! Two-means of the rows' mean colours (k-means with k = 2, started from the two ends of their widest
//! channel); two wefts are told only where the means lie far apart against the spread around each.

use ndarray::Array2;

use crate::stats::{k_means, told_anew};

/// Two wefts' rows differ by at least this much (ΔE, CIE 1976).
const LEAST_DIFFERENCE: f64 = 7.0;

/// … and by so many standard deviations of the rows around their means.
const LEAST_SPREADS: f64 = 3.0;

/// The rarer weft fills at least this share of the rows.
const LEAST_SHARE: f64 = 0.06;

/// Rounds of two-means.
const ROUNDS: usize = 20;

/// For each row of `raw` (Lab, shape (rows, columns · 3)) whether it is woven with the rarer of two
/// wefts, learnt from the rows inside `body`; `None` where the cloth shows one weft only.
pub(crate) fn rarer_weft(raw: &Array2<f32>, body: (usize, usize)) -> Option<Vec<bool>> {
    let columns = (raw.dim().1 / 3) as f64;
    let means: Vec<[f64; 3]> = raw
        .rows()
        .into_iter()
        .map(|row| {
            let mut mean = [0.0; 3];
            for (k, value) in row.iter().enumerate() {
                mean[k % 3] += f64::from(*value) / columns;
            }
            mean
        })
        .collect();
    let inside = &means[body.0..body.1];
    let widest = (0..3).max_by(|&a, &b| range(inside, a).total_cmp(&range(inside, b)))?;
    let by = |a: &&[f64; 3], b: &&[f64; 3]| a[widest].total_cmp(&b[widest]);
    let starts = vec![*inside.iter().min_by(by)?, *inside.iter().max_by(by)?];
    let (centres, _) = k_means::<_, 3>(inside, starts, ROUNDS, |label, centres| {
        told_anew(label, inside, |m| usize::from(nearer_second(m, centres)))
    });
    let second = inside.iter().filter(|m| nearer_second(m, &centres)).count();
    let share = second as f64 / inside.len() as f64;
    let spread = (inside
        .iter()
        .map(|m| square(m, &centres[usize::from(nearer_second(m, &centres))]))
        .sum::<f64>()
        / inside.len() as f64)
        .sqrt();
    let apart = square(&centres[0], &centres[1]).sqrt();
    if apart < LEAST_DIFFERENCE.max(LEAST_SPREADS * spread) || share.min(1.0 - share) < LEAST_SHARE
    {
        return None;
    }
    let rarer_is_second = share < 0.5;
    Some(
        means
            .iter()
            .map(|m| nearer_second(m, &centres) == rarer_is_second)
            .collect(),
    )
}

fn range(means: &[[f64; 3]], channel: usize) -> f64 {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for m in means {
        low = low.min(m[channel]);
        high = high.max(m[channel]);
    }
    high - low
}

fn square(a: &[f64; 3], b: &[f64; 3]) -> f64 {
    (0..3).map(|c| (a[c] - b[c]).powi(2)).sum()
}

fn nearer_second(m: &[f64; 3], centres: &[[f64; 3]]) -> bool {
    square(m, &centres[1]) < square(m, &centres[0])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cloth(stripe: impl Fn(usize) -> f32) -> Array2<f32> {
        Array2::from_shape_fn((200, 12), |(i, j)| {
            let weave = if (i / 14 + j / 3) % 2 == 0 { 4.0 } else { -4.0 };
            if j % 3 == 0 { stripe(i) + weave } else { 0.0 }
        })
    }

    #[test]
    fn a_stripe_of_another_weft_is_told_row_by_row() {
        let raw = cloth(|i| if (60..110).contains(&i) { 20.0 } else { 60.0 });
        let rarer = rarer_weft(&raw, (10, 190)).expect("two wefts");
        assert!((0..200).all(|i| rarer[i] == (60..110).contains(&i)));
    }

    #[test]
    fn one_weft_in_slow_light_is_one_weft() {
        assert!(rarer_weft(&cloth(|i| 40.0 + 0.05 * i as f32), (10, 190)).is_none());
    }
}
