//! Which cells were woven otherwise than the drawdown says, or the cloth's own repeat?
//!
//! # Method
//! 1. Cells beside one another in a pick that rather show the other yarn (`cell_odds`) are one slip of the shed, as
//!    likely as the likeliest of them.
//! 2. What tells a slip from a hair, a slub, a pick or an end that lies elsewhere than reckoned is how it stands among
//!    the others: how far above the next likely ones, of which a band has few; whether cells differ as much in the
//!    direction that no slip takes; whether others of the same pick are odd, or of the same ends in other picks; how
//!    far the cell has gone; where on the band it is. These are weighed by a logistic regression.
//!
//! # Limits
//! The weights were fitted to 2192 drawn bands whose count was right, 716 of them without slips and the others with one
//! to eight of one to six ends. With each fifth of the bands left out of the fit, 0.69 of the slips were told, 0.85 of
//! those in bands with one slip of two ends, and four bands of the 716 had one invented; 97 of 100 with the right
//! ends. The first and the last pick aren't judged: their neighbours are no picks. A weft of the warp's own colour
//! hides its slips. The same slip in two picks running is often taken for cloth that lies elsewhere.

use super::cell_odds::CellOdds;

/// Log odds from which a slip is told.
const TOLD: f64 = 2.9;

/// So many picks from where the spacing jumps nothing is told.
const NEAR_A_JUMP: usize = 3;

/// A run of more than this share of all ends is no slip of a few: the pick is of another row, or lies elsewhere.
const MOST_OF_A_PICK: f64 = 0.5;

/// Of so many likeliest runs slips are sought, and so far down the gap beneath them.
const CANDIDATES: usize = 14;
const DEEPEST: usize = 8;

/// Outermost picks, in which less is believed.
const OUTERMOST: usize = 3;

/// A cell has gone at most ten times too far, or a tenth of the way.
const GONE: (f64, f64) = (0.1, 10.0);

/// What each sign adds to the log odds of a slip.
struct Weights {
    usual: f64,
    /// Above what went the way that no slip goes, and above the next likely runs: logarithms of the ratios.
    noise: f64,
    gap: f64,
    /// Logarithm of the share of the way gone, and its square where that is more than all.
    gone: f64,
    over: f64,
    /// A neighbour's odds, those of other cells of the pick, of the picks beside it, of the ends in other picks:
    /// logarithms of the ratios to the cell's own.
    second: f64,
    same_pick: f64,
    near: f64,
    same_ends: f64,
    /// At the outermost end, at the one beside it, in an outermost pick.
    at_selvedge: f64,
    beside_selvedge: f64,
    outermost: f64,
    /// For each run that is as likely.
    each: f64,
    /// Warp shows where weft should.
    weft: f64,
}

const WEIGHTS: Weights = Weights {
    usual: -0.177,
    noise: 0.060,
    gap: 0.555,
    gone: 3.436,
    over: -3.363,
    second: 0.342,
    same_pick: -0.284,
    near: -0.108,
    same_ends: -0.143,
    at_selvedge: -3.898,
    beside_selvedge: -0.727,
    outermost: -1.124,
    each: -0.173,
    weft: 0.346,
};

/// Neighbouring ends of a pick, all from 0, that show the opposite of what they should.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Slip {
    pub(super) pick: usize,
    pub(super) first: usize,
    pub(super) last: usize,
    /// Log odds that it is one.
    pub(super) log_odds: f64,
}

impl Slip {
    /// Its cells, pick and end.
    pub(super) fn cells(self) -> impl Iterator<Item = (usize, usize)> {
        (self.first..=self.last).map(move |end| (self.pick, end))
    }
}

/// The slips among cells of these odds, by pick and end; `weft` says where the weft should show, `jump` is the pick
/// after which the spacing jumps.
pub(super) fn slips(
    odds: Vec<Vec<Option<CellOdds>>>,
    weft: &[Vec<bool>],
    jump: Option<usize>,
) -> Vec<Slip> {
    let judged = Judged::new(odds);
    let runs = judged.runs();
    let most = MOST_OF_A_PICK * judged.ends as f64;
    let is_judged = |run: &Run| {
        let near_a_jump = jump.is_some_and(|jump| run.pick.abs_diff(jump) <= NEAR_A_JUMP);
        !near_a_jump && (run.last + 1 - run.first) as f64 <= most
    };
    let slip = |rank: usize| {
        let run = &runs[rank];
        let log_odds = is_judged(run).then(|| judged.log_odds(&runs, rank, weft))?;
        (log_odds > TOLD).then_some(Slip {
            pick: run.pick,
            first: run.first,
            last: run.last,
            log_odds,
        })
    };
    let candidates = 0..runs.len().min(CANDIDATES);
    let mut found: Vec<Slip> = candidates.filter_map(slip).collect();
    found.sort_by_key(|slip| (slip.pick, slip.first));
    found
}

/// Cells beside one another in a pick that rather show the other yarn.
#[derive(Clone, Copy, Debug)]
struct Run {
    pick: usize,
    first: usize,
    last: usize,
    /// The likeliest of them, and its log odds.
    best: usize,
    odds: f64,
}

/// The odds of cells, without the first and the last pick.
struct Judged {
    odds: Vec<Vec<Option<CellOdds>>>,
    ends: usize,
    /// Greatest log odds in the direction that no slip takes.
    away: f64,
}

impl Judged {
    fn new(mut odds: Vec<Vec<Option<CellOdds>>>) -> Self {
        let picks = odds.len();
        for (_, row) in odds
            .iter_mut()
            .enumerate()
            .filter(|(n, _)| *n == 0 || *n + 1 == picks)
        {
            row.fill(None);
        }
        let away = odds.iter().flatten().flatten().map(|cell| cell.away);
        Self {
            ends: odds.first().map_or(0, Vec::len),
            away: away.fold(0.0, f64::max),
            odds,
        }
    }

    /// Log odds of a cell; 0 where they aren't known.
    fn of(&self, pick: usize, end: usize) -> f64 {
        let cell = self.odds.get(pick).and_then(|row| row.get(end)?.as_ref());
        cell.map_or(0.0, |cell| cell.log_odds)
    }

    /// All runs, the likeliest first.
    fn runs(&self) -> Vec<Run> {
        let mut runs = Vec::new();
        for pick in 0..self.odds.len() {
            let cells: Vec<usize> = (0..self.ends).filter(|&e| self.of(pick, e) > 0.0).collect();
            for run in cells.chunk_by(|a, b| a + 1 == *b) {
                let likelier =
                    |a: &&usize, b: &&usize| self.of(pick, **a).total_cmp(&self.of(pick, **b));
                if let Some(&best) = run.iter().rev().max_by(likelier) {
                    runs.push(Run {
                        pick,
                        first: run[0],
                        last: run[run.len() - 1],
                        best,
                        odds: self.of(pick, best),
                    });
                }
            }
        }
        runs.sort_by(|a, b| b.odds.total_cmp(&a.odds));
        runs
    }

    /// Log odds that the run of this rank is a slip.
    fn log_odds(&self, runs: &[Run], rank: usize, weft: &[Vec<bool>]) -> f64 {
        let Run {
            pick,
            first,
            last,
            best,
            odds,
        } = runs[rank];
        let level = logarithm(odds);
        let against = |cells: &mut dyn Iterator<Item = (usize, usize)>| {
            logarithm(cells.map(|(n, e)| self.of(n, e)).fold(0.0, f64::max)) - level
        };
        let of_rank = |k: usize| runs.get(k).map_or(0.0, |run| logarithm(run.odds));
        let gap = |k: &usize| of_rank(*k) - of_rank(k + 1);
        let widest = (rank..rank + DEEPEST)
            .rev()
            .max_by(|a, b| gap(a).total_cmp(&gap(b)))
            .unwrap_or(rank);
        let gone = self.odds[pick][best].map_or(1.0, |cell| cell.gone);
        let gone = gone.clamp(GONE.0, GONE.1).ln();
        let ends = first..=last;
        let around = first.saturating_sub(1)..=last + 1;
        let beside = [best.wrapping_sub(1), best + 1];
        let second = against(&mut beside.into_iter().map(|e| (pick, e)));
        let outside = (0..self.ends).filter(|e| !ends.contains(e));
        let same_pick = against(&mut outside.map(|e| (pick, e)));
        let picks_beside = [pick.wrapping_sub(1), pick + 1].into_iter();
        let near = against(&mut picks_beside.flat_map(|n| around.clone().map(move |e| (n, e))));
        let others = (0..self.odds.len()).filter(|n| *n != pick);
        let same_ends = against(&mut others.flat_map(|n| ends.clone().map(move |e| (n, e))));
        let from_selvedge = first.min(self.ends - 1 - last);
        let from_end = pick.min(self.odds.len() - 1 - pick);
        let when = |weight: f64, is: bool| if is { weight } else { 0.0 };
        let w = &WEIGHTS;
        w.usual
            + w.noise * (level - logarithm(self.away))
            + w.gap * (level - of_rank(widest + 1))
            + w.gone * gone
            + w.over * gone.max(0.0).powi(2)
            + w.second * second
            + w.same_pick * same_pick
            + w.near * near
            + w.same_ends * same_ends
            + when(w.at_selvedge, from_selvedge == 0)
            + when(w.beside_selvedge, from_selvedge == 1)
            + when(w.outermost, from_end < OUTERMOST)
            + w.each * (widest + 1) as f64
            + when(w.weft, weft[pick][best])
    }
}

/// The logarithm, of what is less than one 0.
fn logarithm(odds: f64) -> f64 {
    odds.max(1.0).ln()
}

#[cfg(test)]
mod tests {
    use ndarray::Array2;

    use super::super::cell_looks::{Looks, Spot};
    use super::super::cell_odds::cell_odds;
    use super::super::rows::Fit;
    use super::*;

    const ENDS: usize = 12;
    const PICKS: usize = 40;
    /// Samples a pick.
    const SPACING: usize = 14;

    /// The slips in plain weave of a red weft and a grey warp; `shown` says of pick and end whether the weft is seen.
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
        let looks = Looks::fitted(&raw, &spots, &fit);
        let found = slips(cell_odds(&looks), &looks.weft, None);
        found.into_iter().flat_map(Slip::cells).collect()
    }

    fn over(pick: usize, end: usize) -> bool {
        (pick + end).is_multiple_of(2)
    }

    #[test]
    fn slips_of_one_end_and_of_several_are_found() {
        let told = |cells: &[(usize, usize)]| {
            let found = woven(|n, e| over(n, e) != cells.contains(&(n, e)));
            assert_eq!(found, cells);
        };
        told(&[]);
        told(&[(17, 4), (17, 5)]);
        told(&[(9, 6)]);
        told(&[(9, 6), (25, 3)]);
        told(&[(9, 6), (17, 4), (17, 5), (30, 8)]);
        told(&[(21, 3), (21, 4), (21, 5), (21, 6), (21, 7)]);
    }

    #[test]
    fn odd_cells_all_over_the_band_are_cloth_that_is_not_understood() {
        let spread = |n: usize, e: usize| (n % 2, e) == (1, n % 11 + 1);
        assert_eq!(woven(|n, e| over(n, e) != spread(n, e)), []);
    }

    #[test]
    fn ends_that_a_pulled_in_selvedge_takes_along_are_not_mis_woven() {
        let pulled = |n: usize, e: usize| (18..22).contains(&n) && e > 6;
        let odd = woven(|n, e| over(n, if pulled(n, e) { e + 1 } else { e }));
        assert_eq!(odd, []);
    }

    #[test]
    fn a_whole_pick_in_the_wrong_row_is_no_slip() {
        assert_eq!(woven(|n, e| over(n, e) != (n == 20)), []);
    }

    #[test]
    fn nothing_is_told_where_the_spacing_jumps() {
        let mut odds = vec![vec![None; 8]; 30];
        for (n, row) in odds.iter_mut().enumerate() {
            for (e, cell) in row.iter_mut().enumerate() {
                let slipped = (n, e) == (12, 3);
                let log_odds = if slipped { 40.0 } else { -40.0 };
                *cell = Some(CellOdds {
                    log_odds,
                    away: -50.0,
                    gone: f64::from(u8::from(slipped)),
                });
            }
        }
        let weft = vec![vec![true; 8]; 30];
        let count = |jump| slips(odds.clone(), &weft, jump).len();
        assert_eq!((count(None), count(Some(20)), count(Some(14))), (1, 1, 0));
    }
}
