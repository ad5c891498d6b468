//! Which cells were woven otherwise than the drawdown says, or the cloth's own repeat?
//!
//! # Method
//! 1. Cells beside one another in a pick that rather show the other yarn (`cell_odds`) are one slip of the shed, as
//!    likely as the likeliest of them.
//! 2. What tells a slip from a hair, a slub, a pick or an end that lies elsewhere than reckoned is how it stands among
//!    the others (`slip_signs`).
//! 3. Would a slip that shows as the other yarn's cells do be told on this band? Where it wouldn't, that is said: what
//!    isn't found there may be woven all the same.
//!
//! # Limits
//! On 2192 drawn bands whose count was right, to which the weights were fitted, 204 of 256 slips of two ends were told, 660
//! of 1027 of single ends, 1341 of 2189 where a band had one to eight slips of one to six ends; three of 716 bands without
//! slips had one invented. With each fifth of the bands left out of the fit the rates are much the same. Where nothing
//! was said to have gone unseen, 352 of 431 single ends were told, elsewhere 21 of 137; 97 of 100 with the right ends.
//! The first and the last pick aren't judged: their neighbours are no picks. The same slip in two picks running is often
//! taken for cloth that lies elsewhere.

use super::cell_odds::CellOdds;
use super::slip_signs::{Signs, TOLD, gap, logarithm};
use crate::stats::median;

/// So many picks from where the spacing jumps nothing is told.
const NEAR_A_JUMP: usize = 3;

/// A run of more than this share of all ends is no slip of a few: the pick is of another row, or lies elsewhere.
const MOST_OF_A_PICK: f64 = 0.5;

/// Of so many likeliest runs slips are sought.
const CANDIDATES: usize = 14;

/// Log odds of a slip that isn't even looked at.
const NEVER: f64 = -9.0;

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

/// Why a slip of a single end might not be told from the rest of the cloth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unseen {
    /// Cells look much the same whichever yarn should show.
    Alike,
    /// Too many cells look as if the other yarn showed.
    Crowded,
}

impl Unseen {
    /// The same in words, and what to do about it.
    pub(super) fn why(self) -> &'static str {
        match self {
            Self::Alike => {
                "cells look much the same whichever yarn should lie on top, and an end woven the wrong way \
                 hardly shows; go over the band by eye, or take the photo sharper"
            }
            Self::Crowded => {
                "many cells look as if the other yarn lay on top, and an end woven the wrong way doesn't \
                 stand out among them; check that the plan is this band's, or take the photo sharper"
            }
        }
    }
}

/// What was woven otherwise, and what might have gone unseen.
pub(super) struct Slips {
    /// In the order of the band.
    pub(super) told: Vec<Slip>,
    /// Why others may not be among them.
    pub(super) unseen: Option<Unseen>,
}

/// The slips among cells of these odds, by pick and end; `weft` says where the weft should show, `jump` is the pick
/// after which the spacing jumps.
pub(super) fn slips(
    odds: Vec<Vec<Option<CellOdds>>>,
    weft: &[Vec<bool>],
    jump: Option<usize>,
) -> Slips {
    let judged = Judged::new(odds);
    let runs = judged.runs();
    let levels: Vec<f64> = runs.iter().map(|run| logarithm(run.odds)).collect();
    let most = MOST_OF_A_PICK * judged.ends as f64;
    let is_judged = |run: &Run| {
        let near_a_jump = jump.is_some_and(|jump| run.pick.abs_diff(jump) <= NEAR_A_JUMP);
        !near_a_jump && (run.last + 1 - run.first) as f64 <= most
    };
    let slip = |rank: usize| {
        let run = &runs[rank];
        let signs = is_judged(run).then(|| judged.signs(run, (&levels, rank), weft))?;
        let log_odds = signs.log_odds();
        (log_odds > TOLD).then_some(Slip {
            pick: run.pick,
            first: run.first,
            last: run.last,
            log_odds,
        })
    };
    let candidates = 0..runs.len().min(CANDIDATES);
    let mut told: Vec<Slip> = candidates.filter_map(slip).collect();
    told.sort_by_key(|slip| (slip.pick, slip.first));
    let unseen = if judged.usual_slip(&levels, weft) > TOLD {
        None
    } else if judged.usual_slip(&[], weft) > TOLD {
        Some(Unseen::Crowded)
    } else {
        Some(Unseen::Alike)
    };
    Slips { told, unseen }
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

    /// What speaks for a run of this rank; `levels` are all runs' logarithms of log odds.
    fn signs(&self, run: &Run, (levels, rank): (&[f64], usize), weft: &[Vec<bool>]) -> Signs {
        let &Run {
            pick,
            first,
            last,
            best,
            ..
        } = run;
        let level = levels[rank];
        let against = |cells: &mut dyn Iterator<Item = (usize, usize)>| {
            logarithm(cells.map(|(n, e)| self.of(n, e)).fold(0.0, f64::max)) - level
        };
        let ends = first..=last;
        let around = first.saturating_sub(1)..=last + 1;
        let beside = [best.wrapping_sub(1), best + 1];
        let outside = (0..self.ends).filter(|e| !ends.contains(e));
        let picks_beside = [pick.wrapping_sub(1), pick + 1].into_iter();
        let others = (0..self.odds.len()).filter(|n| *n != pick);
        let (gap, alike) = gap(levels, rank);
        Signs {
            noise: level - logarithm(self.away),
            gap,
            alike,
            gone: self.odds[pick][best].map_or(1.0, |cell| cell.gone),
            second: against(&mut beside.into_iter().map(|e| (pick, e))),
            same_pick: against(&mut outside.map(|e| (pick, e))),
            near: against(&mut picks_beside.flat_map(|n| around.clone().map(move |e| (n, e)))),
            same_ends: against(&mut others.flat_map(|n| ends.clone().map(move |e| (n, e)))),
            from_selvedge: first.min(self.ends - 1 - last),
            from_end: pick.min(self.odds.len() - 1 - pick),
            weft: weft[pick][best],
        }
    }

    /// Log odds of a slip of a single end that shows as usual cells of the other yarn do, among runs of these levels:
    /// the mean over the cells in which it could have happened.
    fn usual_slip(&self, levels: &[f64], weft: &[Vec<bool>]) -> f64 {
        let of_kind = |is_weft: bool| {
            let cells = self.odds.iter().zip(weft).flat_map(|(row, weft)| {
                let kind = row.iter().zip(weft).filter(|(_, weft)| **weft == is_weft);
                kind.filter_map(|(cell, _)| cell.map(|cell| cell.of_other()))
            });
            let cells: Vec<f64> = cells.collect();
            let level = logarithm(median(&cells)?);
            let rank = levels.partition_point(|other| *other > level);
            let mut levels = levels.to_vec();
            levels.insert(rank, level);
            let (gap, alike) = gap(&levels, rank);
            let signs = Signs {
                noise: level - logarithm(self.away),
                gap,
                alike,
                gone: 1.0,
                second: -level,
                same_pick: -level,
                near: -level,
                same_ends: -level,
                from_selvedge: self.ends,
                from_end: self.odds.len(),
                weft: is_weft,
            };
            let log_odds = if rank < CANDIDATES {
                signs.log_odds()
            } else {
                NEVER
            };
            Some((cells.len() as f64, log_odds))
        };
        let kinds: Vec<(f64, f64)> = [false, true].into_iter().filter_map(of_kind).collect();
        let cells: f64 = kinds.iter().map(|(count, _)| count).sum();
        if cells > 0.0 {
            kinds.iter().map(|(count, of)| count * of).sum::<f64>() / cells
        } else {
            NEVER
        }
    }
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

    /// The cells of slips in plain weave of a red weft and a grey warp; `shown` says of pick and end whether the weft is
    /// seen.
    fn woven(shown: impl Fn(usize, usize) -> bool) -> Vec<(usize, usize)> {
        let found = seen([45.0, 50.0, 30.0], shown);
        found.told.into_iter().flat_map(Slip::cells).collect()
    }

    /// What is seen of a weft of this colour.
    fn seen(weft: [f32; 3], shown: impl Fn(usize, usize) -> bool) -> Slips {
        let mut fit = Fit::unknown(2, ENDS, 0.0);
        for (r, row) in fit.expected.iter_mut().enumerate() {
            for (e, cell) in row.iter_mut().enumerate() {
                *cell = if over(r, e) { 1.0 } else { -1.0 };
            }
        }
        let raw = Array2::from_shape_fn((PICKS * SPACING, ENDS * 9), |(i, at)| {
            let (pick, end) = (i / SPACING, at / 9);
            let noise = ((pick * 31 + end * 17 + at % 3 * 7) % 13) as f32 * 0.3 - 1.8;
            let warp = [70.0, 0.0, 5.0];
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
        slips(cell_odds(&looks), &looks.weft, None)
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
    fn where_a_slip_would_go_unseen_that_is_said() {
        let red = [45.0, 50.0, 30.0];
        assert_eq!(seen(red, over).unseen, None);
        assert_eq!(seen([70.5, 0.3, 5.0], over).unseen, Some(Unseen::Alike));
        let spread = |n: usize, e: usize| (n % 2, e) == (1, n % 11 + 1);
        let crowded = seen(red, |n, e| over(n, e) != spread(n, e));
        assert_eq!(crowded.unseen, Some(Unseen::Crowded));
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
                    apart: 9.0,
                    gone: f64::from(u8::from(slipped)),
                });
            }
        }
        let weft = vec![vec![true; 8]; 30];
        let count = |jump| slips(odds.clone(), &weft, jump).told.len();
        assert_eq!((count(None), count(Some(20)), count(Some(14))), (1, 1, 0));
    }
}
