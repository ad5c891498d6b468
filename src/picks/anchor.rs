//! Where in its stretch of the repeat does each row's yarn have its middle?
//!
//! The learnt repeat says how the cloth looks at each phase, not where a row's middle is: rows of
//! unequal spacing, or rows whose floats lie unevenly, shift it. What can be seen are the borders
//! between weft and warp in each column. Going from a row to the next some ends change from warp to
//! weft (the border lies early: the weft bulges over its neighbour) and some from weft to warp (late,
//! by as much). The mean of the two kinds is the border between the two rows, and a row's middle
//! lies midway between its borders.
//!
//! # Limits
//! Needs two yarns that look different, and both kinds of change at every border; else there is no
//! answer.

use ndarray::Array2;

use super::phase::STATES_A_PICK;
use super::rows::Fit;

/// Offset of each row's middle from the middle of its phases, picks; `None` where the picture
/// doesn't say.
pub(crate) fn row_offsets(template: &Array2<f32>, fit: &Fit) -> Option<Vec<f64>> {
    let rows = fit.expected.len();
    let profile = end_profiles(template, fit)?;
    let borders: Vec<f64> = (0..rows)
        .map(|r| border(&profile, fit, r))
        .collect::<Option<_>>()?;
    let mut offsets: Vec<f64> = (0..rows)
        .map(|r| 0.5 * (borders[(r + rows - 1) % rows] + borders[r]))
        .collect();
    let mean = offsets.iter().sum::<f64>() / rows as f64;
    offsets.iter_mut().for_each(|o| *o -= mean);
    Some(offsets)
}

/// Each end's luminance-and-colour on the axis from warp (0) to weft (1), a value a state.
fn end_profiles(template: &Array2<f32>, fit: &Fit) -> Option<Vec<Vec<f64>>> {
    let (states, width) = template.dim();
    let ends = fit.expected[0].len();
    let columns = width / 3;
    let pitch = columns as f64 / (ends as f64 + 2.0 * fit.margin);
    let colour = |k: usize, e: usize| {
        let from = ((fit.margin + e as f64 + 0.25) * pitch).round().max(0.0) as usize;
        let to = (((fit.margin + e as f64 + 0.75) * pitch).round() as usize)
            .clamp(from + 1, columns.max(from + 1));
        let mut sum = [0.0; 3];
        for j in from..to.min(columns) {
            for (c, s) in sum.iter_mut().enumerate() {
                *s += f64::from(template[[k, 3 * j + c]]) / (to - from) as f64;
            }
        }
        sum
    };
    let (mut weft, mut warp, mut counts) = ([0.0; 3], [0.0; 3], [0.0f64; 2]);
    for (r, row) in fit.expected.iter().enumerate() {
        let k = (((fit.offset + r as f64 + 0.5) * STATES_A_PICK as f64).round() as i64)
            .rem_euclid(states as i64) as usize;
        for (e, value) in row.iter().enumerate() {
            let (sum, side) = if *value > 0.0 {
                (&mut weft, 0)
            } else {
                (&mut warp, 1)
            };
            let seen = colour(k, e);
            (0..3).for_each(|c| sum[c] += seen[c]);
            counts[side] += 1.0;
        }
    }
    if counts[0] < 1.0 || counts[1] < 1.0 {
        return None;
    }
    let axis: Vec<f64> = (0..3)
        .map(|c| weft[c] / counts[0] - warp[c] / counts[1])
        .collect();
    let length: f64 = axis.iter().map(|a| a * a).sum();
    if length < 1.0 {
        return None;
    }
    let zero: f64 = (0..3).map(|c| axis[c] * warp[c] / counts[1]).sum::<f64>() / length;
    Some(
        (0..ends)
            .map(|e| {
                (0..states)
                    .map(|k| {
                        colour(k, e)
                            .iter()
                            .zip(&axis)
                            .map(|(v, a)| v * a)
                            .sum::<f64>()
                            / length
                            - zero
                    })
                    .collect()
            })
            .collect(),
    )
}

/// Offset of the border between row `r` and the next from its even place, picks.
fn border(profile: &[Vec<f64>], fit: &Fit, r: usize) -> Option<f64> {
    let rows = fit.expected.len();
    let even = (fit.offset + r as f64 + 1.0) * STATES_A_PICK as f64;
    let mut kinds = [(0.0, 0.0f64); 2];
    for (e, values) in profile.iter().enumerate() {
        let (now, next) = (fit.expected[r][e], fit.expected[(r + 1) % rows][e]);
        if now * next < 0.0
            && let Some(offset) = crossing(values, even, next > 0.0)
        {
            let kind = usize::from(next > 0.0);
            kinds[kind].0 += offset / STATES_A_PICK as f64;
            kinds[kind].1 += 1.0;
        }
    }
    (kinds[0].1 > 0.0 && kinds[1].1 > 0.0)
        .then(|| 0.5 * (kinds[0].0 / kinds[0].1 + kinds[1].0 / kinds[1].1))
}

/// Offset, in states from `even`, at which an end crosses half way in the given direction.
fn crossing(values: &[f64], even: f64, rising: bool) -> Option<f64> {
    let states = values.len() as i64;
    let reach = (STATES_A_PICK / 2) as i64;
    let base = even.round() as i64;
    let at = |d: i64| values[(base + d).rem_euclid(states) as usize];
    (-reach..reach)
        .filter_map(|d| {
            let (a, b) = (at(d) - 0.5, at(d + 1) - 0.5);
            let crosses = if rising {
                a <= 0.0 && b > 0.0
            } else {
                a > 0.0 && b <= 0.0
            };
            crosses.then(|| (base + d) as f64 - even + a / (a - b))
        })
        .min_by(|a, b| a.abs().total_cmp(&b.abs()))
}
