//! Which cells show weft, as far as the cloth itself tells?
//!
//! Without a drawdown nobody says what a cell should show, but a followed repeat says what it does: each
//! column shows one of two yarns in every row, and both in some.
//!
//! # Method
//! 1. The mean colour of each row and column of the learnt repeat about the row's middle, less the column's
//!    own mean over the rows; rows begin where the columns step (`border`).
//! 2. Weft and warp differ most along the first principal component of these colours.
//! 3. Each column's rows are parted in two where the parts differ most against their own spread (N. Otsu,
//!    "A threshold selection method from gray-level histograms", IEEE Trans. SMC, 1979).
//!
//! # Limits
//! Columns stand for ends. Which of the two yarns is the weft isn't told: it is said to be the lighter one, and
//! nothing that a reader sees may rest on that.

use ndarray::Array2;

use super::border::border_phase;
use super::pattern::Pattern;
use super::phase::STATES_A_PICK;
use crate::stats::parted;

/// Share of a pick, about its middle, whose colours count.
const MIDDLE: f64 = 0.5;

/// Rounds of the power method: three channels settle sooner.
const ROUNDS: usize = 30;

/// The drawdown that a learnt repeat shows; `template` holds the furrows in one column more.
pub(super) fn guessed(template: &Array2<f32>) -> Pattern {
    let (states, width) = template.dim();
    let (rows, columns) = (states / STATES_A_PICK, width / 3 - 1);
    let border = border_phase(template);
    let colours: Vec<Vec<[f64; 3]>> = (0..columns)
        .map(|j| {
            about_their_mean(
                (0..rows)
                    .map(|r| middle(template, border + r as f64, j))
                    .collect(),
            )
        })
        .collect();
    let way = principal(colours.iter().flatten());
    let mut cells = vec![vec![-1.0; columns]; rows];
    for (j, column) in colours.iter().enumerate() {
        let along: Vec<f64> = column
            .iter()
            .map(|d| (0..3).map(|c| d[c] * way[c]).sum())
            .collect();
        let threshold = threshold_of(&along);
        for (r, value) in along.iter().enumerate() {
            if *value > threshold {
                cells[r][j] = 1.0;
            }
        }
    }
    Pattern { cells }
}

/// Mean colour of a column about the middle of the pick that begins at a phase (picks).
fn middle(template: &Array2<f32>, begins: f64, column: usize) -> [f64; 3] {
    let states = template.dim().0;
    let at = |share: f64| ((begins + share) * STATES_A_PICK as f64).round() as usize;
    let (from, to) = (at(0.5 - 0.5 * MIDDLE), at(0.5 + 0.5 * MIDDLE));
    [0, 1, 2].map(|c| {
        let sum: f64 = (from..to)
            .map(|k| f64::from(template[[k % states, 3 * column + c]]))
            .sum();
        sum / (to - from).max(1) as f64
    })
}

fn about_their_mean(mut colours: Vec<[f64; 3]>) -> Vec<[f64; 3]> {
    for c in 0..3 {
        let mean = colours.iter().map(|v| v[c]).sum::<f64>() / colours.len() as f64;
        colours.iter_mut().for_each(|v| v[c] -= mean);
    }
    colours
}

/// The direction in which colours about their mean differ most, lightness upward.
fn principal<'a>(colours: impl Iterator<Item = &'a [f64; 3]>) -> [f64; 3] {
    let mut products = [[0.0; 3]; 3];
    for d in colours {
        for (a, row) in products.iter_mut().enumerate() {
            for (b, sum) in row.iter_mut().enumerate() {
                *sum += d[a] * d[b];
            }
        }
    }
    let mut way = [0.6, 0.5, 0.4];
    for _ in 0..ROUNDS {
        let next = products.map(|row| (0..3).map(|c| row[c] * way[c]).sum::<f64>());
        let length = next.iter().map(|v| v * v).sum::<f64>().sqrt();
        if length < 1e-12 {
            break;
        }
        way = next.map(|v| v / length);
    }
    if way[0] < 0.0 { way.map(|v| -v) } else { way }
}

/// The threshold that parts values best.
fn threshold_of(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    parted(&sorted).map_or(0.0, |k| 0.5 * (sorted[k - 1] + sorted[k]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_twill_of_one_over_three_is_read_from_its_repeat() {
        let template = Array2::from_shape_fn((4 * STATES_A_PICK, 12 * 3 + 3), |(k, at)| {
            let (row, end, c) = (k / STATES_A_PICK, at / 9, at % 3);
            let noise = ((k * 7 + at * 5) % 11) as f32 * 0.02;
            let weft = at < 36 && (row + end).is_multiple_of(4);
            noise + if weft && c == 0 { 1.0 } else { 0.0 }
        });
        let pattern = guessed(&template);
        let shown: Vec<Vec<bool>> = pattern
            .cells
            .iter()
            .map(|row| row.iter().map(|v| *v > 0.0).collect())
            .collect();
        // Which row comes first isn't told.
        let woven =
            |r: usize| -> Vec<bool> { (0..12).map(|j| (r + j / 3).is_multiple_of(4)).collect() };
        assert!((0..4).any(|first| (0..4).all(|r| shown[r] == woven(r + first))));
    }
}
