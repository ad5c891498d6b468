//! Which cells differ from the drawdown?
//!
//! # Method
//! 1. The colour of every cell: mean over the middle of the pick and of the end.
//! 2. The same in the learnt repeat, for the cell as planned and for its opposite (the rows of the
//!    repeat in which this end shows the other yarn).
//! 3. How far the cell has gone from the one to the other, 0 to 1. A cell is odd when it has gone
//!    most of the way, far beyond what this end's cells usually scatter, *and* farther than any cell of
//!    the band has gone the other way, which only noise does. One that is odd by itself must have
//!    gone farther still.
//!
//! # Limits
//! An end that shows the same yarn in every row of the repeat has no opposite of its own; the mean
//! opposite of all ends stands in. Where weft and warp look alike the scatter is wide and nothing is
//! called odd, nor in a stripe whose weft has the warp's colour. The first and the last pick aren't judged: their neighbours are no picks.

use ndarray::Array2;

use super::phase::STATES_A_PICK;
use super::rows::Fit;
use crate::stats::robust_sd;

/// How much of the way to the opposite a cell must have gone.
const MOST_OF_THE_WAY: f64 = 0.60;

/// How many of its end's usual (robust) scatters it must have gone.
const BEYOND_SCATTERS: f64 = 6.0;

/// How many times farther than any cell of the band went away from its opposite.
const BEYOND_NOISE: f64 = 1.3;

/// How many times farther a cell must have gone that is odd by itself, its neighbours in the pick as
/// planned: a hair or a slub changes one cell, a wrong shed more often two. On 300 drawn bands all but
/// one of 13 true finds were of two ends, all 29 false ones of one.
const LONE: f64 = 1.2;

/// From this mean way on, over the cells where the weft should show, it has the warp's colour.
const LIKE_WARP: f64 = 0.4;

/// If more than this share of all cells is odd, and more than a whole pick's, it is the picture or the
/// plan that is wrong, not the weaving.
const MOST_ODD: f64 = 0.03;

/// Half of the phase and of the end's breadth over which a cell's colour is averaged.
const CELL_HALF: (f64, f64) = (0.28, 0.30);

/// Where each pick lies in the samples and in the repeat.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Spot {
    /// Middle of the pick, fractional sample.
    pub(crate) sample: f64,
    /// Samples a pick around it.
    pub(crate) spacing: f64,
    /// Row of the picture's repeat.
    pub(crate) row: usize,
}

/// The cells, pick and end from 0, that show the opposite of what `fit` expects; `None` where so many
/// do that they can't be told.
pub(crate) fn odd_cells(
    samples: &Array2<f32>,
    template: &Array2<f32>,
    spots: &[Spot],
    fit: &Fit,
) -> Option<Vec<(usize, usize)>> {
    let ends = fit.expected[0].len();
    let strips: Vec<(usize, usize)> = (0..ends)
        .map(|e| strip(e, ends, fit.margin, samples.dim().1 / 3))
        .collect();
    let states = template.dim().0;
    let planned: Vec<Vec<[f64; 3]>> = (0..fit.expected.len())
        .map(|r| {
            let middle = (fit.offset + r as f64 + 0.5) * STATES_A_PICK as f64;
            let half = CELL_HALF.0 * STATES_A_PICK as f64;
            let rows: Vec<usize> = ((middle - half).round() as i64
                ..=(middle + half).round() as i64)
                .map(|k| k.rem_euclid(states as i64) as usize)
                .collect();
            strips
                .iter()
                .map(|s| mean_colour(template, &rows, *s))
                .collect()
        })
        .collect();
    let gone: Vec<Vec<f64>> = spots
        .iter()
        .map(|spot| {
            let half = CELL_HALF.0 * spot.spacing;
            let last = samples.dim().0 as f64 - 1.0;
            let from = (spot.sample - half).round().clamp(0.0, last) as usize;
            let to = (spot.sample + half).round().clamp(0.0, last) as usize;
            let rows: Vec<usize> = (from..=to).collect();
            let seen: Vec<[f64; 3]> = strips
                .iter()
                .map(|s| mean_colour(samples, &rows, *s))
                .collect();
            let common = common_shift(&seen, &planned[spot.row]);
            (0..ends)
                .map(|e| {
                    let seen = [0, 1, 2].map(|c| seen[e][c] - common[c]);
                    let other = opposite(&planned, fit, spot.row, e);
                    way_gone(seen, planned[spot.row][e], other)
                })
                .collect()
        })
        .collect();
    let judged = 1..gone.len().saturating_sub(1);
    let scatters: Vec<f64> = (0..ends)
        .map(|e| {
            let column: Vec<f64> = gone.iter().map(|g| g[e]).collect();
            robust_sd(&column).unwrap_or(f64::INFINITY)
        })
        .collect();
    // What goes the wrong way can only be noise: as far as that goes, noise may go the other way too.
    let mirrored = judged
        .clone()
        .flat_map(|n| gone[n].iter().zip(&scatters).map(|(way, s)| -way / s))
        .fold(0.0, f64::max);
    let beyond = BEYOND_SCATTERS.max(BEYOND_NOISE * mirrored);
    let least = |e: usize| MOST_OF_THE_WAY.max(beyond * scatters[e]);
    let mut odd = Vec::new();
    for n in judged.clone() {
        if of_another_colour(&gone[n], &fit.expected[spots[n].row]) {
            continue;
        }
        let is_odd = |e: usize| gone[n][e] > least(e);
        for e in (0..ends).filter(|&e| is_odd(e)) {
            let beside = (e + 1 < ends && is_odd(e + 1)) || (e > 0 && is_odd(e - 1));
            if beside || gone[n][e] > LONE * least(e) {
                odd.push((n, e));
            }
        }
    }
    let most = (MOST_ODD * (judged.len() * ends) as f64).max(ends as f64);
    (odd.len() as f64 <= most).then_some(odd)
}

/// Whether the pick's weft looks like warp wherever it should show: a stripe of the warp's own
/// colour, in which cells can't be told.
fn of_another_colour(gone: &[f64], expected: &[f64]) -> bool {
    let weft: Vec<f64> = gone
        .iter()
        .zip(expected)
        .filter(|(_, cell)| **cell > 0.0)
        .map(|(way, _)| way.clamp(0.0, 1.0))
        .collect();
    weft.len() > 2 && weft.iter().sum::<f64>() > LIKE_WARP * weft.len() as f64
}

/// What all cells of a pick have in common against the plan: its median, channel by channel. A pick
/// in the shade, or of a darker stretch of yarn, isn't mis-woven.
fn common_shift(seen: &[[f64; 3]], planned: &[[f64; 3]]) -> [f64; 3] {
    [0, 1, 2].map(|c| {
        let mut shifts: Vec<f64> = seen.iter().zip(planned).map(|(s, p)| s[c] - p[c]).collect();
        shifts.sort_by(f64::total_cmp);
        let n = shifts.len();
        0.5 * (shifts[(n - 1) / 2] + shifts[n / 2])
    })
}

/// Columns of the middle of an end.
fn strip(end: usize, ends: usize, margin: f64, columns: usize) -> (usize, usize) {
    let pitch = columns as f64 / (ends as f64 + 2.0 * margin);
    let middle = (margin + end as f64 + 0.5) * pitch;
    let (a, b) = (middle - CELL_HALF.1 * pitch, middle + CELL_HALF.1 * pitch);
    let from = (a.round().max(0.0) as usize).min(columns - 1);
    (from, (b.round().max(0.0) as usize).clamp(from + 1, columns))
}

/// Mean Lab over rows and a strip of columns.
fn mean_colour(picture: &Array2<f32>, rows: &[usize], (from, to): (usize, usize)) -> [f64; 3] {
    let mut sum = [0.0; 3];
    for &i in rows {
        for j in from..to {
            for (c, s) in sum.iter_mut().enumerate() {
                *s += f64::from(picture[[i, 3 * j + c]]);
            }
        }
    }
    let n = (rows.len() * (to - from)).max(1) as f64;
    sum.map(|s| s / n)
}

/// Mean colour of the cells of the same end (else of any) that show the other yarn.
fn opposite(planned: &[Vec<[f64; 3]>], fit: &Fit, row: usize, end: usize) -> [f64; 3] {
    let own = fit.expected[row][end];
    let other = |r: usize, e: usize| fit.expected[r][e] * own < 0.0;
    let mut cells: Vec<[f64; 3]> = (0..planned.len())
        .filter(|&r| other(r, end))
        .map(|r| planned[r][end])
        .collect();
    if cells.is_empty() {
        for (r, cells_of_row) in planned.iter().enumerate() {
            cells.extend(
                cells_of_row
                    .iter()
                    .enumerate()
                    .filter(|(e, _)| other(r, *e))
                    .map(|(_, c)| *c),
            );
        }
    }
    let n = cells.len().max(1) as f64;
    let mut mean = [0.0; 3];
    for cell in &cells {
        for c in 0..3 {
            mean[c] += cell[c] / n;
        }
    }
    mean
}

/// How far `seen` has gone from `own` to `opposite`, 0 to 1.
fn way_gone(seen: [f64; 3], own: [f64; 3], opposite: [f64; 3]) -> f64 {
    let (mut along, mut length) = (0.0, 0.0);
    for c in 0..3 {
        let d = opposite[c] - own[c];
        along += (seen[c] - own[c]) * d;
        length += d * d;
    }
    if length > 1e-9 { along / length } else { 0.0 }
}
