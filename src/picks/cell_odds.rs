//! How likely does each cell show the other yarn than it should?
//!
//! # Method
//! 1. The warp's usual look is its own end's (warps are striped): the median of the end's nearest cells that should
//!    show warp. The weft's is its own pick's (wefts change from pick to pick): the median of the pick's cells that
//!    should show weft, of the picks beside it too where those are few. Where an end's cells of one kind usually lie
//!    elsewhere than that, they lie so.
//! 2. What a cell's look differs by is scatter of its own yarn, or scatter and the way to the other yarn's look. The
//!    scatter of all cells of a kind is taken together, with what its 27 numbers have in common; the odds of the two
//!    are those of R. A. Fisher's linear discriminant ("The use of multiple measurements in taxonomic problems", *Annals
//!    of Eugenics* 7, 1936), for one direction a cell. What usual cells have in that direction is scaled by its
//!    median absolute deviation: yarns scatter with longer tails than a normal distribution has.
//!
//! # Limits
//! Odds of thousands of cells that aren't independent: hairs, slubs and misplaced picks make a few of them large. What
//! they are worth is for `slips` to say.

use nalgebra::{Cholesky, SMatrix};
use rayon::prelude::*;

use super::cell_looks::{LOOK, Look, Looks};
use crate::stats::{NORMAL_MAD, median};

/// So many of an end's nearest cells tell its warp's look.
const NEAREST: usize = 12;

/// Fewer cells don't tell a warp's look.
const LEAST_WARP: usize = 4;

/// Cells that are wished for to tell a weft's look, and fewest that do.
const WEFT_CELLS: (usize, usize) = (5, 3);

/// Picks at either side that are asked for it.
const WEFT_REACH: usize = 3;

/// Fewest cells of an end that tell where its cells of a kind usually lie.
const LEAST_ALIKE: usize = 6;

/// Of fewer cells of a kind the scatter isn't known.
const LEAST_OF_A_KIND: usize = 12;

/// What differs by more scatters than this counts as that many, each scatter greater by so many units of colour.
const CLIP: (f64, f64) = (3.0, 0.03);

/// Least scatter of a field, in units of colour, and share of its square that fields don't have in common: few
/// cells feign more than is there.
const LEAST_SCATTER: f64 = 0.05;
const OWN_SHARE: f64 = 0.1;

/// Least scatter of usual cells in their direction, of what the scatter together leads to expect.
const LEAST_SCALE: f64 = 0.3;

/// What a cell's look says of the yarn that it shows.
#[derive(Clone, Copy, Debug)]
pub(super) struct CellOdds {
    /// Log odds of the other yarn against the one that should show.
    pub(super) log_odds: f64,
    /// The same if the look differed as much in the opposite direction, which no slip does.
    pub(super) away: f64,
    /// Share of the way to the other yarn's look.
    pub(super) gone: f64,
    /// How far both yarns' looks lie apart, in scatters.
    pub(super) apart: f64,
}

impl CellOdds {
    /// Log odds if the cell looked as the other yarn's.
    pub(super) fn of_other(self) -> f64 {
        0.5 * self.apart * self.apart
    }
}

/// The odds of all cells, `odds[pick][end]`; `None` where a look or its scatter isn't known.
pub(super) fn cell_odds(looks: &Looks) -> Vec<Vec<Option<CellOdds>>> {
    let mut ways = ways(looks);
    centre(&mut ways, looks);
    let mut odds = vec![vec![None; looks.ends()]; looks.of.len()];
    for kind in 0..KINDS {
        let (cells, of_kind): (Vec<_>, Vec<Way>) = (0..looks.of.len())
            .flat_map(|n| (0..looks.ends()).map(move |e| (n, e)))
            .filter(|&(n, e)| looks.kind(n, e) == kind)
            .filter_map(|(n, e)| Some(((n, e), ways[n][e]?)))
            .unzip();
        for ((n, e), of) in cells.into_iter().zip(odds_of_kind(&of_kind)) {
            odds[n][e] = Some(of);
        }
    }
    odds
}

/// What a cell's look differs by from its own yarn's, and what it would if the other yarn showed.
#[derive(Clone, Copy)]
struct Way {
    off: Look,
    other: Look,
}

/// Kinds of cells: weft or warp, of the usual weft's picks or the rarer one's.
const KINDS: usize = 4;

impl Looks {
    fn kind(&self, n: usize, e: usize) -> usize {
        usize::from(self.weft[n][e]) + 2 * usize::from(self.rarer[n])
    }

    /// The warp's look at each cell: its end's, else the median of the ends beside it.
    fn warps(&self) -> Vec<Vec<Option<Look>>> {
        let picks = self.of.len();
        let of_end = |e: usize| -> Vec<Option<Look>> {
            let shown: Vec<usize> = (0..picks).filter(|&n| !self.weft[n][e]).collect();
            if shown.len() < LEAST_WARP {
                return vec![None; picks];
            }
            let near = |n: usize| nearest(&shown, n).map(|k| &self.of[k][e]);
            (0..picks)
                .map(|n| median_look(&near(n).collect::<Vec<_>>()))
                .collect()
        };
        let ends: Vec<_> = (0..self.ends()).into_par_iter().map(of_end).collect();
        (0..picks)
            .map(|n| {
                let known: Vec<&Look> = ends.iter().filter_map(|end| end[n].as_ref()).collect();
                let unknown = known.len() < ends.len();
                let usual = unknown.then(|| median_look(&known)).flatten();
                ends.iter().map(|end| end[n].or(usual)).collect()
            })
            .collect()
    }

    /// The weft's look in each pick.
    fn wefts(&self) -> Vec<Option<Look>> {
        let picks = self.of.len();
        let of_pick = |n: usize| {
            let mut shown: Vec<&Look> = self.shown(n).collect();
            for d in 1..=WEFT_REACH {
                if shown.len() >= WEFT_CELLS.0 {
                    break;
                }
                let beside = [n.checked_sub(d), Some(n + d).filter(|&k| k < picks)];
                for k in beside.into_iter().flatten() {
                    if self.rarer[k] == self.rarer[n] {
                        shown.extend(self.shown(k));
                    }
                }
            }
            median_look(&shown).filter(|_| shown.len() >= WEFT_CELLS.1)
        };
        (0..picks).into_par_iter().map(of_pick).collect()
    }

    /// The looks of a pick's cells that should show weft.
    fn shown(&self, n: usize) -> impl Iterator<Item = &Look> {
        let cells = self.of[n].iter().zip(&self.weft[n]);
        cells.filter(|(_, weft)| **weft).map(|(look, _)| look)
    }
}

/// The ways of all cells, `ways[pick][end]`.
fn ways(looks: &Looks) -> Vec<Vec<Option<Way>>> {
    let (warps, wefts) = (looks.warps(), looks.wefts());
    let way = |n: usize, e: usize| {
        let (warp, weft) = (warps[n][e]?, wefts[n]?);
        let (own, other) = if looks.weft[n][e] {
            (weft, warp)
        } else {
            (warp, weft)
        };
        Some(Way {
            off: looks.of[n][e] - own,
            other: other - own,
        })
    };
    (0..looks.of.len())
        .map(|n| (0..looks.ends()).map(|e| way(n, e)).collect())
        .collect()
}

/// Takes from each cell's way what the cells of its kind and end usually differ by.
fn centre(ways: &mut [Vec<Option<Way>>], looks: &Looks) {
    for e in 0..looks.ends() {
        for kind in 0..KINDS {
            let of_kind =
                |n: usize, row: &[Option<Way>]| row[e].filter(|_| looks.kind(n, e) == kind);
            let alike: Vec<Look> = ways
                .iter()
                .enumerate()
                .filter_map(|(n, row)| of_kind(n, row).map(|way| way.off))
                .collect();
            if alike.len() < LEAST_ALIKE {
                continue;
            }
            let Some(usual) = median_look(&alike.iter().collect::<Vec<_>>()) else {
                continue;
            };
            for (n, row) in ways.iter_mut().enumerate() {
                if let Some(way) = row[e].as_mut().filter(|_| looks.kind(n, e) == kind) {
                    way.off -= usual;
                    way.other -= usual;
                }
            }
        }
    }
}

/// The odds of cells of one kind; none where they are too few.
fn odds_of_kind(ways: &[Way]) -> Vec<CellOdds> {
    if ways.len() < LEAST_OF_A_KIND {
        return Vec::new();
    }
    let Some(factor) = scatter(ways).map(|scatter| scatter.unpack()) else {
        return Vec::new();
    };
    let whitened: Vec<(f64, f64)> = ways
        .par_iter()
        .map(|way| {
            let solved = |look: &Look| factor.solve_lower_triangular(look);
            let (Some(off), Some(other)) = (solved(&way.off), solved(&way.other)) else {
                return (0.0, 0.0);
            };
            let length = other.norm().max(1e-5);
            (off.dot(&other) / length, length)
        })
        .collect();
    let far: Vec<f64> = whitened.iter().map(|(off, _)| off.abs()).collect();
    let scale = (NORMAL_MAD * median(&far).unwrap_or(0.0)).max(LEAST_SCALE);
    let odds = |(off, length): &(f64, f64)| {
        let (z, apart) = (off / scale, length / scale);
        CellOdds {
            log_odds: apart * (z - 0.5 * apart),
            away: -apart * (z + 0.5 * apart),
            gone: off / length,
            apart,
        }
    };
    whitened.iter().map(odds).collect()
}

/// The scatter of what cells of one kind differ by, with what its numbers have in common.
fn scatter(ways: &[Way]) -> Option<Cholesky<f64, nalgebra::Const<LOOK>>> {
    let most = Look::from_fn(|i, _| {
        let far: Vec<f64> = ways.iter().map(|way| way.off[i].abs()).collect();
        CLIP.0 * (NORMAL_MAD * median(&far).unwrap_or(0.0) + CLIP.1)
    });
    let mut sum = SMatrix::<f64, LOOK, LOOK>::zeros();
    for way in ways {
        let off = way.off.zip_map(&most, |off, most| off.clamp(-most, most));
        sum.ger(1.0, &off, &off, 1.0);
    }
    sum /= ways.len() as f64;
    for i in 0..LOOK {
        sum[(i, i)] += OWN_SHARE * sum[(i, i)] + LEAST_SCATTER * LEAST_SCATTER;
    }
    sum.cholesky()
}

/// The middle look, number by number; `None` of none.
fn median_look(looks: &[&Look]) -> Option<Look> {
    if looks.is_empty() {
        return None;
    }
    let mut values = vec![0.0; looks.len()];
    Some(Look::from_fn(|i, _| {
        for (value, look) in values.iter_mut().zip(looks) {
            *value = look[i];
        }
        median(&values).unwrap_or(0.0)
    }))
}

/// The indices of `shown` nearest to `n`, `n` itself left out.
fn nearest(shown: &[usize], n: usize) -> impl Iterator<Item = usize> + '_ {
    let (mut below, mut above) = (
        shown.partition_point(|&k| k < n),
        shown.partition_point(|&k| k <= n),
    );
    std::iter::from_fn(move || {
        let lower = below.checked_sub(1).map(|k| n - shown[k]);
        let upper = shown.get(above).map(|k| k - n);
        if upper.is_some_and(|upper| lower.is_none_or(|lower| lower > upper)) {
            above += 1;
            return Some(shown[above - 1]);
        }
        below = below.checked_sub(1)?;
        Some(shown[below])
    })
    .take(NEAREST)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cell that differs by `off` in one number, in which the other yarn differs by four.
    fn way(off: f64) -> Way {
        let only = |value: f64| Look::from_fn(|i, _| if i == 4 { value } else { 0.0 });
        Way {
            off: only(off),
            other: only(4.0),
        }
    }

    #[test]
    fn odds_are_even_half_way_to_the_other_yarn() {
        let mut ways: Vec<Way> = (0..40)
            .map(|k| way(if k % 2 == 0 { 0.4 } else { -0.4 }))
            .collect();
        ways.extend([way(2.0), way(4.0)]);
        let odds = odds_of_kind(&ways);
        let [usual, half, slipped] = [odds[0], odds[40], odds[41]];
        assert!((usual.gone - 0.1).abs() < 1e-9 && (slipped.gone - 1.0).abs() < 1e-9);
        assert!(half.log_odds.abs() < 1e-9, "{half:?}");
        assert!(usual.log_odds < -5.0 && slipped.log_odds > 5.0);
        assert!(slipped.away < slipped.log_odds && usual.away < 0.0);
    }

    #[test]
    fn what_all_numbers_have_in_common_says_little() {
        // Light that falls on a whole cell: all numbers scatter alike.
        let light = |by: f64| Look::from_element(by);
        let mut other = Look::zeros();
        (other[1], other[4]) = (1.0, -1.0);
        let usual = |k: usize| Way {
            off: light(((k * 7) % 11) as f64 * 0.2 - 1.0),
            other,
        };
        let mut ways: Vec<Way> = (0..60).map(usual).collect();
        ways.push(Way {
            off: light(0.9),
            other,
        });
        ways.push(Way { off: other, other });
        let odds = odds_of_kind(&ways);
        assert!(odds[60].log_odds < -1.0, "{:?}", odds[60]);
        assert!(odds[61].log_odds > 3.0, "{:?}", odds[61]);
    }

    #[test]
    fn too_few_cells_of_a_kind_have_no_odds() {
        assert!(odds_of_kind(&vec![way(0.1); LEAST_OF_A_KIND - 1]).is_empty());
    }
}
