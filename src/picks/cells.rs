//! Which cells differ from the drawdown, or from the cloth's own repeat?
//!
//! # Method
//! 1. How far each cell has gone from the colour of the yarn that should show to the other yarn's
//!    (`cell_ways`): a mis-woven cell has gone all the way, and farther than its like ever scatter. The
//!    lesser of the two, each against what it must be, is the cell's worth.
//! 2. A slip of the shed takes two neighbouring ends or more. Both are worth enough, and more than any
//!    cell of the band is that went *away* from the other yarn, which only noise does; or the two together are
//!    worth far more than any other two neighbours, either way, and neither is a selvedge.
//! 3. An end that slipped by itself looks like a hair or a slub: its worth must be greater still, and no
//!    other cell of the band, but for one or two more of the kind, may come near.
//!
//! Nothing is said where the cells lie elsewhere than reckoned: where the pick before or after is odd
//! about the same ends too (a pulled-in selvedge takes its ends along), where many cells of a pick are and no
//! two stand out, or where the spacing jumps; nor in a weft of the warp's own colour, and beside one only what is
//! clear.
//!
//! # Limits
//! On 574 drawn bands whose count was right 92 of 111 slips of two ends were found, 89 of 162 where two ends
//! slipped by themselves in two picks of a band, and none was invented. The first and the last pick aren't
//! judged: their neighbours are no picks. The same slip in two picks running is taken for cloth that lies
//! elsewhere.

use super::cell_ways::{Cells, Way, ways};
use crate::stats::median;

/// The way that a cell must have gone to be worth one, and the scatters of its like.
const WORTH_ONE: (f64, f64) = (0.6, 5.0);

/// Least worth of neighbouring cells.
pub(super) const LEAST_WORTH: f64 = 1.1;

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

/// Beside such a pick only what is worth so much is told: where that one lies isn't sure.
const WORTH_BESIDE_LIKE_WARP: f64 = 1.4;

/// So many picks from where the spacing jumps nothing is told.
const NEAR_A_JUMP: usize = 3;

/// How many times more two neighbours, or an end that slipped by itself, must be worth than what comes next.
const STANDS_OUT: f64 = 1.6;

/// What two neighbours that stand out must be worth together (the geometric mean), and each.
const PAIR_WORTH: (f64, f64) = (0.8, 0.6);

/// More worth of one cell doesn't make up for less of its neighbour.
const MOST_WORTH: f64 = 2.0;

/// What an end that slipped by itself must show: worth, scatters, difference of colours; its way at most.
const LONE_WORTH: f64 = 1.25;
const LONE_SCATTERS: f64 = 7.0;
const LONE_APART: f64 = 1.5;
const LONE_WAY: f64 = 1.5;

/// At most so many of them in a band: more are cloth that isn't understood.
const MOST_LONE: usize = 3;

/// Lone ends aren't judged in so many outermost picks.
const LONE_OUTERMOST: usize = 2;

/// The cells, pick and end from 0, that show the opposite of what they should; `jump` is the pick after which the
/// spacing jumps.
pub(crate) fn odd_cells(cells: &Cells, jump: Option<usize>) -> Vec<(usize, usize)> {
    odd_ways(&ways(cells), jump)
}

/// The same of the ways that the cells have gone.
pub(super) fn odd_ways(ways: &[Vec<Way>], jump: Option<usize>) -> Vec<(usize, usize)> {
    if ways.len() < 3 {
        return Vec::new();
    }
    let mut judged = Judged::new(ways);
    judged.leave_out_doubtful();
    if let Some(jump) = jump {
        judged.leave_out(|n| n.abs_diff(jump) <= NEAR_A_JUMP);
    }
    let mut odd = judged.neighbours();
    odd.extend(judged.outstanding_pair(&odd));
    odd.extend(judged.lone(&odd));
    odd.sort_unstable();
    odd
}

/// What a cell is worth for having gone to the other yarn (`sign` 1), or away from it (−1); below 0 where that isn't
/// known.
pub(super) fn worth(way: &Way, sign: f64) -> f64 {
    // Neither number may be unknown: `min` passes over one that is.
    let known = way.gone.is_finite() && way.scatters.is_finite();
    if known && way.apart >= LEAST_APART {
        (sign * way.gone / WORTH_ONE.0).min(sign * way.scatters / WORTH_ONE.1)
    } else {
        -1.0
    }
}

/// Whether a cell may be another's, or speaks for its neighbours lying elsewhere.
pub(super) fn doubtful(way: &Way) -> bool {
    way.gone > DOUBTFUL.0 && way.scatters > DOUBTFUL.1
}

/// The worth of every cell, below 0 where it isn't judged.
struct Judged<'a> {
    ways: &'a [Vec<Way>],
    worth: Vec<Vec<f64>>,
    /// The same of having gone the other way, which is noise.
    noise: Vec<Vec<f64>>,
}

impl<'a> Judged<'a> {
    fn new(ways: &'a [Vec<Way>]) -> Self {
        let all = |sign: f64| {
            let row = |row: &Vec<Way>| row.iter().map(|way| worth(way, sign)).collect();
            ways.iter().map(row).collect()
        };
        Self {
            ways,
            worth: all(1.0),
            noise: all(-1.0),
        }
    }

    fn ends(&self) -> usize {
        self.ways[0].len()
    }

    /// Leaves out the picks that `which` names.
    fn leave_out(&mut self, which: impl Fn(usize) -> bool) {
        for rows in [&mut self.worth, &mut self.noise] {
            for (_, row) in rows.iter_mut().enumerate().filter(|(n, _)| which(*n)) {
                row.fill(-1.0);
            }
        }
    }

    /// Leaves out what may lie elsewhere than reckoned, and what can't be told for its colour.
    fn leave_out_doubtful(&mut self) {
        let (picks, ends) = (self.ways.len(), self.ends());
        let inner = 1..picks - 1;
        let doubtful: Vec<Vec<bool>> = (0..picks)
            .map(|n| {
                let judged = inner.contains(&n);
                self.ways[n]
                    .iter()
                    .map(|way| judged && doubtful(way))
                    .collect()
            })
            .collect();
        let about = |n: usize, e: usize| {
            let (from, to) = (e.saturating_sub(1), (e + 1).min(ends - 1));
            doubtful[n][from..=to].iter().any(|d| *d)
        };
        let most = (MOST_OF_A_PICK * ends as f64).max(2.0);
        let elsewhere: Vec<bool> = (0..picks)
            .map(|n| {
                let many = doubtful[n].iter().filter(|d| **d).count() as f64 > most;
                many && !self.two_stand_out(n)
            })
            .collect();
        for n in inner {
            for e in 0..ends {
                if about(n - 1, e) || about(n + 1, e) {
                    self.worth[n][e] = -1.0;
                }
            }
        }
        self.leave_out(|n| n == 0 || n + 1 == picks || elsewhere[n]);
        self.leave_out_like_warp();
    }

    /// Leaves out the picks whose weft hardly differs from the warp, and beside them what isn't clear.
    fn leave_out_like_warp(&mut self) {
        let apart: Vec<f64> = self.ways.iter().map(|row| usual_apart(row)).collect();
        let least = LIKE_WARP * median(&apart).unwrap_or(0.0);
        for (n, of_three) in apart
            .windows(3)
            .enumerate()
            .map(|(n, three)| (n + 1, three))
        {
            if of_three[0] < least || of_three[2] < least {
                let unclear = |worth: &&mut f64| **worth < WORTH_BESIDE_LIKE_WARP;
                let row = self.worth[n].iter_mut();
                row.filter(unclear).for_each(|worth| *worth = -1.0);
                self.noise[n].fill(-1.0);
            }
        }
        self.leave_out(|n| apart[n] < least);
    }

    /// Whether two neighbours of a pick are worth far more than all its other cells, either way.
    fn two_stand_out(&self, n: usize) -> bool {
        let mut cells: Vec<(f64, usize)> = self.worth[n].iter().copied().zip(0..).collect();
        cells.sort_by(|a, b| b.0.total_cmp(&a.0));
        let [(_, a), (least, b), ref others @ ..] = cells[..] else {
            return false;
        };
        let other = others.first().map_or(0.0, |(worth, _)| *worth);
        let next = self.noise[n].iter().copied().fold(other, f64::max);
        a.abs_diff(b) == 1 && least > LEAST_WORTH.max(STANDS_OUT * next)
    }

    /// Cells beside one another in a pick that are all worth enough.
    fn neighbours(&self) -> Vec<(usize, usize)> {
        let least = LEAST_WORTH.max(BEYOND_NOISE * self.greatest_noise());
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

    /// Two neighbours, none of them `known`, that are together worth far more than any other two.
    fn outstanding_pair(&self, known: &[(usize, usize)]) -> Vec<(usize, usize)> {
        let mut all: Vec<(f64, (usize, usize))> = Vec::new();
        for (n, row) in self.worth.iter().enumerate() {
            // At a selvedge the turn of the weft shows beside the cell.
            let inner = |e: usize| e > 0 && e + 2 < row.len();
            let free = |e: &usize| !known.contains(&(n, *e)) && !known.contains(&(n, e + 1));
            let ends = pairs(row).zip(0..);
            let ends = ends.filter(|(_, e)| inner(*e) && free(e));
            all.extend(ends.map(|(worth, e)| (worth, (n, e))));
        }
        let Some(&(worth, (n, e))) = all.iter().rev().max_by(|a, b| a.0.total_cmp(&b.0)) else {
            return Vec::new();
        };
        // In the same pick it is the same slip.
        let others = all.iter().filter(|(_, (pick, _))| *pick != n);
        let next = others.map(|(worth, _)| *worth).fold(0.0, f64::max);
        let noise = self.noise.iter().flat_map(|row| pairs(row));
        let next = noise.fold(next, f64::max);
        let stands_out = worth > PAIR_WORTH.0.max(STANDS_OUT * next);
        let mut two = self.worth[n][e..e + 2].iter();
        let both = two.all(|worth| *worth > PAIR_WORTH.1);
        if stands_out && both {
            vec![(n, e), (n, e + 1)]
        } else {
            Vec::new()
        }
    }

    /// The few cells by themselves that are worth far more than all others but `known`.
    fn lone(&self, known: &[(usize, usize)]) -> Vec<(usize, usize)> {
        let mut cells: Vec<(f64, (usize, usize))> = Vec::new();
        for (n, row) in self.worth.iter().enumerate() {
            let others = row.iter().enumerate().map(|(e, worth)| (*worth, (n, e)));
            cells.extend(others.filter(|(worth, cell)| *worth > 0.0 && !known.contains(cell)));
        }
        cells.sort_by(|a, b| b.0.total_cmp(&a.0));
        let noise = self.greatest_noise();
        let stand_out = |count: &usize| {
            let next = cells.get(*count).map_or(0.0, |(worth, _)| *worth);
            let least = cells[*count - 1].0;
            least > LONE_WORTH.max(STANDS_OUT * next.max(noise))
        };
        let most = MOST_LONE.min(cells.len());
        let count = (1..=most).rev().find(stand_out).unwrap_or(0);
        let cells: Vec<(usize, usize)> = cells[..count].iter().map(|(_, cell)| *cell).collect();
        if cells.iter().all(|cell| self.clearly_lone(*cell)) {
            cells
        } else {
            Vec::new()
        }
    }

    fn clearly_lone(&self, (n, e): (usize, usize)) -> bool {
        let way = &self.ways[n][e];
        let inside = n >= LONE_OUTERMOST && n + LONE_OUTERMOST < self.ways.len();
        let middle = e > 0 && e + 1 < self.ends();
        let clear = way.scatters > LONE_SCATTERS && way.gone < LONE_WAY && way.apart >= LONE_APART;
        inside && middle && clear
    }

    /// Greatest worth of what went the other way.
    fn greatest_noise(&self) -> f64 {
        self.noise.iter().flatten().copied().fold(0.0, f64::max)
    }
}

/// What each two neighbours of a pick are worth together: the geometric mean.
fn pairs(row: &[f64]) -> impl Iterator<Item = f64> + '_ {
    let most = |worth: f64| worth.clamp(0.0, MOST_WORTH);
    row.windows(2)
        .map(move |both| (most(both[0]) * most(both[1])).sqrt())
}

/// How far weft and warp lie apart in a pick; 0 where that isn't known.
fn usual_apart(row: &[Way]) -> f64 {
    // `max` passes over what is no number.
    let apart: Vec<f64> = row.iter().map(|way| way.apart.max(0.0)).collect();
    median(&apart).unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use ndarray::Array2;

    use super::super::cell_ways::Spot;
    use super::super::rows::Fit;
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
        odd_cells(&Cells::fitted(&raw, &spots, &fit), None)
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
        assert_eq!(slip(&[(9, 6), (25, 3)]), [(9, 6), (25, 3)]);
        let all = [(9, 6), (17, 4), (17, 5), (30, 8)];
        assert_eq!(
            slip(&[(9, 6), (17, 4), (17, 5), (30, 8)]),
            all,
            "slips of both kinds"
        );
    }

    #[test]
    fn single_cells_all_over_the_band_are_cloth_that_is_not_understood() {
        let spread = |n: usize, e: usize| (n % 7, e) == (3, n % 11 + 1);
        assert_eq!(woven(|n, e| over(n, e) != spread(n, e)), []);
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
