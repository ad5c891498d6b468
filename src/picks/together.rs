//! Where does every pick lie, once all are placed together?
//!
//! A pick that is placed by itself gives way to its neighbours: what is seen of it ends where they begin. Placed
//! together, in a picture of where each column's repeat is held (`weft_ways`), they don't.
//!
//! # Method
//! 1. In each column the repeat runs between the wefts that lie on top there, as the drawdown says (`weft_ways`).
//! 2. The samples are folded along it into what each column shows at each phase; the middles of all picks are
//!    moved to where the samples agree best with that (least squares, Gauss-Newton; a band matrix, for a
//!    sample depends on two wefts only). Each pick's tilt, gain and light are those that it had by itself.
//!
//! # What it is worth
//! On 554 drawn bands, 277 of which nothing was fitted to, against picks placed by themselves with a share of the second
//! difference taken off: the places' error, a wrong scale left aside, 0.022 -> 0.017 of a spacing (median; where the weft
//! hides the warp 0.037 -> 0.022), the share by which picks still give way 0.08 -> 0.06 (0.28 -> 0.06), spacing CVs
//! off by more than 1.5 points 145 -> 76.
//!
//! # Limits
//! The thickness of a yarn that is thick and thin moves what is seen of it, and no column knows.

use rayon::prelude::*;

use super::band_matrix::Band;
use super::cloth::Cloth;
use super::phase::STATES_A_PICK;
use super::place::{Fitted, spread};
use super::weft_ways::{At, Wefts};
use crate::band::place_across;

/// Gauss-Newton steps. (Folded again and moved again, picks that are hardly seen go astray: on those bands the mean
/// error was 0.0194 of a spacing after one round, 0.0201 after two.)
const STEPS: usize = 2;

/// Farthest move of one step, in gaps.
const FARTHEST: f64 = 0.2;

/// One colour, high-passed Lab.
type Colour = [f32; 3];

/// What all placing starts from.
pub(super) struct Together {
    /// Samples of each column.
    columns: Vec<Vec<Colour>>,
    /// First and last sample of the body.
    bounds: (usize, usize),
    /// Phase of each pick's middle within the repeat, picks.
    phases: Vec<f64>,
    /// How each pick looks beside the repeat.
    fitted: Vec<Fitted>,
    /// States of the repeat.
    states: usize,
}

/// The picks as one way of telling weft from warp places them.
pub(super) struct Placement {
    /// Middle of each, fractional samples.
    pub(super) middles: Vec<f64>,
    /// Mean square of what is left unexplained.
    pub(super) left: f64,
    weave: Weave,
}

/// What holds the repeat, and what it looks like.
struct Weave {
    /// For each column, the picks whose weft lies on top.
    on_top: Vec<Vec<usize>>,
    /// What each column shows at each state.
    template: Vec<Vec<Colour>>,
    /// No sample depends on picks so many apart.
    width: usize,
}

impl Together {
    /// Of picks at these phases, with what each by itself was fitted with, in a repeat of so many rows.
    pub(super) fn new(
        cloth: &Cloth,
        (phases, fitted): (Vec<f64>, Vec<Fitted>),
        rows: usize,
    ) -> Self {
        let samples = &cloth.samples;
        let colour = |i: usize, j: usize| [0, 1, 2].map(|c| samples[(i, 3 * j + c)]);
        let columns = (0..samples.dim().1 / 3)
            .into_par_iter()
            .map(|j| (0..samples.dim().0).map(|i| colour(i, j)).collect())
            .collect();
        Self {
            columns,
            bounds: cloth.inside(),
            phases,
            fitted,
            states: rows * STATES_A_PICK,
        }
    }

    /// Places all picks, `on_top` being for each column those whose weft lies on top; at least two picks.
    pub(super) fn place(&self, start: &[f64], on_top: Vec<Vec<usize>>) -> Placement {
        let spans = on_top.iter().flat_map(|picks| picks.windows(2));
        let weave = Weave {
            width: 1 + spans.map(|pair| pair[1] - pair[0]).max().unwrap_or(1),
            template: self.fold(start, &on_top),
            on_top,
        };
        let middles = self.moved(start.to_vec(), &weave, |_| true);
        Placement {
            left: self.normal(&self.wefts(&middles), &weave, |_| true).left(),
            middles,
            weave,
        }
    }

    fn wefts<'a>(&'a self, middles: &'a [f64]) -> Wefts<'a> {
        Wefts::new(middles, (&self.phases, &self.fitted), self.bounds)
    }

    /// Place across of a column, −1 to 1.
    fn across(&self, column: usize) -> f64 {
        place_across(column, self.columns.len())
    }

    /// What each column shows at each state, each sample spread over its neighbours.
    fn fold(&self, middles: &[f64], on_top: &[Vec<usize>]) -> Vec<Vec<Colour>> {
        let wefts = self.wefts(middles);
        let fold = |j: usize| {
            let mut sums = vec![[0.0f32; 4]; self.states];
            wefts.walk(&on_top[j], self.across(j), |i, at| {
                let x = at.phase * STATES_A_PICK as f64;
                let colour = self.columns[j][i];
                for (state, weight) in spread(x, self.states) {
                    let sum = &mut sums[state];
                    for (sum, value) in sum.iter_mut().zip(colour) {
                        *sum += weight * value;
                    }
                    sum[3] += weight;
                }
            });
            let mean = |[a, b, c, weight]: [f32; 4]| [a, b, c].map(|sum| sum / weight.max(1e-9));
            sums.into_iter().map(mean).collect()
        };
        (0..self.columns.len()).into_par_iter().map(fold).collect()
    }

    /// The middles after some steps.
    fn moved(
        &self,
        mut middles: Vec<f64>,
        weave: &Weave,
        take: impl Fn(usize) -> bool + Sync,
    ) -> Vec<f64> {
        for _ in 0..STEPS {
            let wefts = self.wefts(&middles);
            let moves = self.normal(&wefts, weave, &take).solved();
            let most: Vec<f64> = (0..middles.len())
                .map(|n| FARTHEST * wefts.usual(n))
                .collect();
            for ((middle, by), most) in middles.iter_mut().zip(moves).zip(most) {
                *middle += by.clamp(-most, most);
            }
        }
        middles
    }

    /// The normal equations of all middles, by the columns that `take` accepts.
    fn normal(
        &self,
        wefts: &Wefts<'_>,
        weave: &Weave,
        take: impl Fn(usize) -> bool + Sync,
    ) -> Band {
        let middles = wefts.middles;
        let borders: Vec<f64> = middles.windows(2).map(|p| 0.5 * (p[0] + p[1])).collect();
        let rows = self.columns.first().map_or(0, Vec::len);
        let nearest: Vec<usize> = (0..rows)
            .map(|i| borders.partition_point(|b| *b < i as f64))
            .collect();
        let of_column = |j: usize| {
            let mut normal = Band::new(middles.len(), weave.width);
            wefts.walk(&weave.on_top[j], self.across(j), |i, at| {
                let fit = &self.fitted[nearest[i]];
                let (square, product, rest) = self.beside(&weave.template[j], (j, i), (&at, fit));
                normal.add(&at, (square, product, rest));
            });
            normal
        };
        let parts: Vec<Band> = (0..self.columns.len())
            .into_par_iter()
            .filter(|&j| take(j))
            .map(of_column)
            .collect();
        let mut all = Band::new(middles.len(), weave.width);
        for part in &parts {
            all.join(part);
        }
        all
    }

    /// One sample beside the repeat: the repeat's slope squared, slope times what is left, and that squared.
    fn beside(
        &self,
        template: &[Colour],
        (column, sample): (usize, usize),
        (at, fit): (&At, &Fitted),
    ) -> (f64, f64, f64) {
        let x = at.phase * STATES_A_PICK as f64;
        let (passed, share) = (x.floor() as i64, (x - x.floor()) as f32);
        let states = self.states as i64;
        let around = [-1, 0, 1, 2].map(|d| &template[(passed + d).rem_euclid(states) as usize]);
        let seen = &self.columns[column][sample];
        let gain = 1.0 + fit.gain;
        let (mut square, mut product, mut left) = (0.0, 0.0, 0.0);
        for c in 0..3 {
            let [before, from, to, behind] = around.map(|colour| colour[c]);
            let value = f64::from(from + share * (to - from));
            let slope = 0.5 * ((to - before) + share * ((behind - from) - (to - before)));
            let slope = gain * f64::from(slope) * STATES_A_PICK as f64;
            let rest = f64::from(seen[c]) - gain * value - fit.offsets[c];
            square += slope * slope;
            product += slope * rest;
            left += rest * rest;
        }
        (square, product, left)
    }
}

impl Placement {
    /// The middles by two disjoint halves of the columns, blocks of ends dealt out in turn.
    pub(super) fn halves(&self, together: &Together, ends: usize) -> [Vec<f64>; 2] {
        let blocks = ends.div_ceil(2).max(2);
        let columns = together.columns.len();
        [0, 1].map(|half| {
            let own = |j: usize| (j * blocks / columns) % 2 == half;
            together.moved(self.middles.clone(), &self.weave, own)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GAP: f64 = 14.0;
    const PICKS: usize = 24;
    const COLUMNS: usize = 8;

    /// Middles of an uneven beat.
    fn uneven() -> Vec<f64> {
        let beat = |n: usize| GAP * (n as f64 + 1.0) + 2.0 * ((n * n % 7) as f64 - 3.0) / 3.0;
        (0..PICKS).map(beat).collect()
    }

    /// Plain weave: yarn as thick as half a gap where the weft lies on top.
    fn plain(middles: &[f64]) -> (Together, Vec<Vec<usize>>) {
        let rows = (GAP * (PICKS as f64 + 1.0)) as usize;
        let on_top: Vec<Vec<usize>> = (0..COLUMNS)
            .map(|j| (0..PICKS).filter(|n| (n + j) % 2 == 0).collect())
            .collect();
        let light = |j: usize, i: usize| {
            let near = on_top[j].iter().map(|&n| (i as f64 - middles[n]).abs());
            let near = near.fold(f64::INFINITY, f64::min);
            (-0.5 * (near / (0.25 * GAP)).powi(4)).exp() as f32
        };
        let columns =
            (0..COLUMNS).map(|j| (0..rows).map(|i| [10.0 * light(j, i), 0.0, 0.0]).collect());
        let together = Together {
            columns: columns.collect(),
            bounds: (0, rows - 1),
            phases: (0..PICKS).map(|n| (n % 2) as f64 + 0.5).collect(),
            fitted: vec![Fitted::default(); PICKS],
            states: 2 * STATES_A_PICK,
        };
        (together, on_top)
    }

    /// Root mean square of what all but the outermost are off, in gaps; what all have in common, which the folded
    /// repeat takes with it, left aside.
    fn off(found: &[f64], middles: &[f64]) -> f64 {
        let inner = 2..PICKS - 2;
        let errors: Vec<f64> = inner.map(|n| (found[n] - middles[n]) / GAP).collect();
        let mean = errors.iter().sum::<f64>() / errors.len() as f64;
        let square: f64 = errors.iter().map(|e| (e - mean) * (e - mean)).sum();
        (square / errors.len() as f64).sqrt()
    }

    #[test]
    fn an_uneven_beat_is_found_by_the_wefts_on_top() {
        let middles = uneven();
        let even: Vec<f64> = (0..PICKS).map(|n| GAP * (n as f64 + 1.0)).collect();
        let (together, on_top) = plain(&middles);
        let start: Vec<f64> = even
            .iter()
            .zip(&middles)
            .map(|(a, b)| 0.3 * a + 0.7 * b)
            .collect();
        let placed = together.place(&start, on_top);
        let (before, after) = (off(&start, &middles), off(&placed.middles, &middles));
        assert!(after < 0.3 * before, "{before} {after}");
        for half in placed.halves(&together, COLUMNS) {
            assert!(off(&half, &placed.middles) < 0.01);
        }
    }

    #[test]
    fn the_yarn_that_holds_the_repeat_leaves_less_unexplained() {
        let middles = uneven();
        let (together, on_top) = plain(&middles);
        let mut exchanged = on_top.clone();
        exchanged.rotate_left(1);
        let right = together.place(&middles, on_top);
        let wrong = together.place(&middles, exchanged);
        assert!(
            right.left < 0.5 * wrong.left,
            "{} {}",
            right.left,
            wrong.left
        );
        assert!(off(&right.middles, &middles) < 0.5 * off(&wrong.middles, &middles));
    }
}
