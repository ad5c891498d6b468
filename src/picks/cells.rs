//! Which cells differ from the drawdown?
//!
//! # Method
//! 1. How far each cell has gone from the colour of the yarn that should show to the other yarn's
//!    (`cell_ways`): a mis-woven cell has gone all the way, and farther than its like ever scatter. The
//!    lesser of the two, each against what it must be, is the cell's worth.
//! 2. A slip of the shed takes two neighbouring ends or more: both must be worth enough, and more than any
//!    cell of the band is that went *away* from the other yarn, which only noise does.
//! 3. An end that slipped by itself looks like a hair or a slub: its worth must be greater still, and no
//!    other cell of the band may come near.
//!
//! Nothing is said where the cells lie elsewhere than reckoned: where the pick before or after is odd
//! about the same ends too (a pulled-in selvedge takes its ends along), where many cells of a pick are, or
//! where the spacing jumps; nor in a weft of the warp's own colour, or beside one.
//!
//! # Limits
//! On 596 drawn bands 60 of 97 slips of two ends were found, and one was invented; of ends that slipped
//! by themselves a third would be. The first and the last pick aren't judged: their neighbours are
//! no picks. The same slip in two picks running is taken for cloth that lies elsewhere.

use ndarray::Array2;

use super::cell_ways::{Spot, Way, ways};
use super::rows::Fit;
use crate::stats::median;

/// The way that a cell must have gone to be worth one, and the scatters of its like.
const WORTH_ONE: (f64, f64) = (0.6, 5.0);

/// Least worth of neighbouring cells.
const LEAST_WORTH: f64 = 1.1;

/// How many times more than any cell that went away from the other yarn.
const BEYOND_NOISE: f64 = 1.1;

/// Least difference of the two yarns' colours, in 3 ΔE of a* or b*, 6 of L*.
const LEAST_APART: f64 = 1.0;

/// A cell that may be another's, or that speaks for its neighbours lying elsewhere: way and scatters.
const DOUBTFUL: (f64, f64) = (0.4, 3.0);

/// A pick with more doubtful cells than this share of all, and than two, lies elsewhere.
const MOST_OF_A_PICK: f64 = 0.2;

/// A pick whose weft differs from the warp by less than this share of what picks usually do.
const LIKE_WARP: f64 = 0.5;

/// So many picks from where the spacing jumps nothing is told.
const NEAR_A_JUMP: usize = 3;

/// What an end that slipped by itself must show: worth, scatters, difference of colours; its way at most.
const LONE_WORTH: f64 = 1.25;
const LONE_SCATTERS: f64 = 10.0;
const LONE_APART: f64 = 2.0;
const LONE_WAY: f64 = 1.35;

/// No other cell may be worth so much then, and none that went away from the other yarn.
const LONE_OTHERS: f64 = 0.9;
const LONE_NOISE: f64 = 0.8;

/// Lone ends aren't judged in so many outermost picks.
const LONE_OUTERMOST: usize = 2;

/// The cells, pick and end from 0, that show the opposite of what `fit` expects. `raw` is the cloth in Lab,
/// shape (rows along, columns · 3); `jump` the pick after which the spacing jumps.
pub(crate) fn odd_cells(
    raw: &Array2<f32>,
    spots: &[Spot],
    fit: &Fit,
    jump: Option<usize>,
) -> Vec<(usize, usize)> {
    if spots.len() < 3 {
        return Vec::new();
    }
    let ways = ways(raw, spots, fit);
    let mut judged = Judged::new(&ways);
    judged.leave_out_doubtful();
    if let Some(jump) = jump {
        judged.leave_out(|n| n.abs_diff(jump) <= NEAR_A_JUMP);
    }
    let mut odd = judged.neighbours();
    let striped = spots.iter().any(|spot| spot.rarer);
    if !striped {
        odd.extend(judged.lone(&odd));
    }
    odd.sort_unstable();
    odd
}

/// The worth of every cell, below 0 where it isn't judged.
struct Judged<'a> {
    ways: &'a [Vec<Way>],
    worth: Vec<Vec<f64>>,
    /// Greatest worth of what went the other way.
    noise: f64,
}

impl<'a> Judged<'a> {
    fn new(ways: &'a [Vec<Way>]) -> Self {
        let inner = 1..ways.len() - 1;
        let worth_of = |way: &Way, sign: f64| {
            let worth = (sign * way.gone / WORTH_ONE.0).min(sign * way.scatters / WORTH_ONE.1);
            // Neither number may be unknown: `min` passes over one that is.
            let known = way.gone.is_finite() && way.scatters.is_finite();
            if known && way.apart >= LEAST_APART {
                worth
            } else {
                -1.0
            }
        };
        let mut worth = vec![vec![-1.0; ways[0].len()]; ways.len()];
        let mut noise = 0.0f64;
        for n in inner {
            for (worth, way) in worth[n].iter_mut().zip(&ways[n]) {
                *worth = worth_of(way, 1.0);
                noise = noise.max(worth_of(way, -1.0));
            }
        }
        Self { ways, worth, noise }
    }

    fn ends(&self) -> usize {
        self.ways[0].len()
    }

    /// Leaves out the picks that `which` names.
    fn leave_out(&mut self, which: impl Fn(usize) -> bool) {
        for (_, row) in self.worth.iter_mut().enumerate().filter(|(n, _)| which(*n)) {
            row.fill(-1.0);
        }
    }

    /// Leaves out what may lie elsewhere than reckoned, and what can't be told for its colour.
    fn leave_out_doubtful(&mut self) {
        let (picks, ends) = (self.ways.len(), self.ends());
        let inner = 1..picks - 1;
        let doubtful: Vec<Vec<bool>> = (0..picks)
            .map(|n| {
                let is = |way: &Way| way.gone > DOUBTFUL.0 && way.scatters > DOUBTFUL.1;
                let judged = inner.contains(&n);
                self.ways[n].iter().map(|way| judged && is(way)).collect()
            })
            .collect();
        let about = |n: usize, e: usize| {
            let (from, to) = (e.saturating_sub(1), (e + 1).min(ends - 1));
            doubtful[n][from..=to].iter().any(|d| *d)
        };
        for n in inner {
            for e in 0..ends {
                if about(n - 1, e) || about(n + 1, e) {
                    self.worth[n][e] = -1.0;
                }
            }
        }
        let most = (MOST_OF_A_PICK * ends as f64).max(2.0);
        let elsewhere = |n: usize| doubtful[n].iter().filter(|d| **d).count() as f64 > most;
        let apart: Vec<f64> = self.ways.iter().map(|row| usual_apart(row)).collect();
        let least = LIKE_WARP * median(&apart).unwrap_or(0.0);
        let like_warp = |n: usize| apart[n - 1..=n + 1].iter().any(|apart| *apart < least);
        self.leave_out(|n| n == 0 || n + 1 == picks || elsewhere(n) || like_warp(n));
    }

    /// Cells beside one another in a pick that are all worth enough.
    fn neighbours(&self) -> Vec<(usize, usize)> {
        let least = LEAST_WORTH.max(BEYOND_NOISE * self.noise);
        let mut odd = Vec::new();
        for (n, row) in self.worth.iter().enumerate() {
            let is = |e: usize| row.get(e).is_some_and(|worth| *worth > least);
            let cells = (0..row.len()).filter(|&e| is(e));
            odd.extend(
                cells
                    .filter(|&e| is(e + 1) || e.checked_sub(1).is_some_and(&is))
                    .map(|e| (n, e)),
            );
        }
        odd
    }

    /// The one cell by itself that is worth far more than all others but `known`.
    fn lone(&self, known: &[(usize, usize)]) -> Option<(usize, usize)> {
        let mut near = Vec::new();
        for (n, row) in self.worth.iter().enumerate() {
            let cells = (0..row.len()).filter(|&e| row[e] > LONE_OTHERS);
            near.extend(cells.map(|e| (n, e)).filter(|cell| !known.contains(cell)));
        }
        let [(n, e)] = near[..] else {
            return None;
        };
        let way = &self.ways[n][e];
        let inside = n >= LONE_OUTERMOST && n + LONE_OUTERMOST < self.ways.len();
        let clear = self.worth[n][e] > LONE_WORTH
            && way.scatters > LONE_SCATTERS
            && way.gone < LONE_WAY
            && way.apart >= LONE_APART;
        let middle = e > 0 && e + 1 < self.ends();
        (inside && middle && clear && self.noise < LONE_NOISE).then_some((n, e))
    }
}

/// How far weft and warp lie apart in a pick; 0 where that isn't known.
fn usual_apart(row: &[Way]) -> f64 {
    // `max` passes over what is no number.
    let apart: Vec<f64> = row.iter().map(|way| way.apart.max(0.0)).collect();
    median(&apart).unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    const ENDS: usize = 12;
    const PICKS: usize = 40;
    /// Samples a pick.
    const SPACING: usize = 14;

    /// Plain weave of a red weft and a grey warp; `shown` says of pick and end whether the weft is seen.
    fn woven(shown: impl Fn(usize, usize) -> bool) -> Vec<(usize, usize)> {
        let mut fit = Fit::unknown(2, ENDS, 0.0);
        for (r, row) in fit.expected.iter_mut().enumerate() {
            for (e, cell) in row.iter_mut().enumerate() {
                *cell = if over(r, e) { 1.0 } else { -1.0 };
            }
        }
        let raw = Array2::from_shape_fn((PICKS * SPACING, ENDS * 9), |(i, at)| {
            let (pick, end) = (i / SPACING, at / 9);
            let noise = ((pick * 31 + end * 17 + at % 3 * 7) % 13) as f32 * 0.3 - 1.8;
            let (weft, warp) = ([45.0, 50.0, 30.0], [70.0, 0.0, 5.0]);
            let colour = if shown(pick, end) { weft } else { warp };
            colour[at % 3] + noise
        });
        let spots: Vec<Spot> = (0..PICKS)
            .map(|n| Spot {
                sample: (n * SPACING) as f64 + 6.5,
                spacing: SPACING as f64,
                row: n % 2,
                rarer: false,
            })
            .collect();
        odd_cells(&raw, &spots, &fit, None)
    }

    fn over(pick: usize, end: usize) -> bool {
        (pick + end).is_multiple_of(2)
    }

    #[test]
    fn a_slip_of_two_ends_and_one_of_a_single_end_are_found() {
        let slip = |cells: &'static [(usize, usize)]| {
            woven(move |n, e| over(n, e) != cells.contains(&(n, e)))
        };
        assert_eq!(slip(&[]), []);
        assert_eq!(slip(&[(17, 4), (17, 5)]), [(17, 4), (17, 5)]);
        assert_eq!(slip(&[(9, 6)]), [(9, 6)]);
    }

    #[test]
    fn ends_that_a_pulled_in_selvedge_takes_along_are_not_mis_woven() {
        let pulled = |n: usize, e: usize| (18..22).contains(&n) && e > 6;
        let odd = woven(|n, e| over(n, if pulled(n, e) { e + 1 } else { e }));
        assert_eq!(odd, []);
    }

    #[test]
    fn a_whole_pick_in_the_wrong_row_is_no_slip_of_single_ends() {
        assert_eq!(woven(|n, e| over(n, e) != (n == 20)), []);
    }
}
