//! Do a place's cells show weft and warp as the drawdown says, and of which colour is the weft?
//!
//! The cells' colours and those that the yarns have in the middle of the band are `cell_colours`'s.
//! Contrast: how far cells that should show weft lie ahead of those that should show warp, on the straight way
//! from the warp's colour (0) to the weft's (1); a column counts by how far the two differ.

use std::ops::Range;

use super::cell_colours::{Cells, Yarns, squared};
use super::likeness::Place;
use crate::stats::quantile;

/// Rows about a middle that are looked at where a place is sought, spacings.
const SOUGHT_ROWS: f64 = 0.15;

/// A place is sought so far about its expected middle, in so many steps either way, spacings.
const SOUGHT: (f64, i32) = (0.5, 5);

/// What lying off by a spacing costs in contrast.
const OFF_COST: f64 = 0.08;

/// How sharply nearer to a known weft's colour than to another is told, per unit of colour.
const SHARPNESS: f64 = 1.5;

/// Of so many picks of the middle the wefts' colours are known.
const KNOWN: usize = 40;

/// Least distance between the weft colours of two picks that is a difference, units.
const LEAST_NOVELTY: f64 = 0.25;

/// What the middle of the band shows, to hold a place's cells against.
pub(super) struct Middle<'a> {
    cells: &'a Cells<'a>,
    yarns: Yarns,
    /// Mean colour of the weft in each pick.
    picks: Vec<[f64; 3]>,
}

impl<'a> Middle<'a> {
    pub(super) fn learn(
        cells: &'a Cells<'a>,
        (places, colours): (&[Place], &[Vec<[f64; 3]>]),
        core: &Range<usize>,
    ) -> Self {
        let own = |n: usize| mean_weft(cells, &places[n], &colours[n]);
        Self {
            cells,
            yarns: Yarns::learn(cells, (places, colours), core),
            picks: core.clone().filter_map(own).collect(),
        }
    }

    /// The greatest contrast about a place's middle, and how far from it that is, spacings.
    pub(super) fn contrast(&self, place: &Place) -> (f64, f64) {
        let (reach, steps) = SOUGHT;
        let mut best = (f64::NEG_INFINITY, 0.0);
        for k in -steps..=steps {
            let off = reach * f64::from(k) / f64::from(steps);
            let middle = place.middle + off * place.spacing;
            let colours = self.cells.colours(middle, SOUGHT_ROWS * place.spacing);
            let contrast = self.contrast_of(place, &colours) - OFF_COST * off.abs();
            if contrast > best.0 {
                best = (contrast, off);
            }
        }
        best
    }

    /// How far cells that should show weft lie ahead of the others on the way from warp to weft.
    fn contrast_of(&self, place: &Place, colours: &[[f64; 3]]) -> f64 {
        let (cells, yarns) = (self.cells, &self.yarns);
        let weft_cells = || cells.shown(place).filter(|(_, weft)| *weft);
        let distance = |weft: &[f64; 3]| -> f64 {
            weft_cells()
                .map(|(j, _)| squared(&colours[j], weft).sqrt())
                .sum()
        };
        let by_distance = |a: &&[f64; 3], b: &&[f64; 3]| distance(a).total_cmp(&distance(b));
        let Some(weft) = yarns.wefts.iter().min_by(by_distance) else {
            return 0.0;
        };
        let mut sums = [(0.0, 0.0); 2];
        for (j, shows_weft) in cells.shown(place) {
            let warp = &yarns.warp[j];
            let way = [0, 1, 2].map(|c| weft[c] - warp[c]);
            let length: f64 = way.iter().map(|v| v * v).sum();
            let gone: f64 = (0..3).map(|c| (colours[j][c] - warp[c]) * way[c]).sum();
            // Where the two colours hardly differ, a column hardly counts.
            let worth = length / (length + 1.0);
            let sum = &mut sums[usize::from(shows_weft)];
            sum.0 += worth * gone / length.max(1e-9);
            sum.1 += worth;
        }
        let mean = |(sum, worth): (f64, f64)| sum / worth.max(1e-9);
        mean(sums[1]) - mean(sums[0])
    }

    /// How far the weft's cells are rather of a known weft's colour than of warp or ground, mean.
    pub(super) fn known(&self, place: &Place, colours: &[[f64; 3]]) -> f64 {
        let some = self.picks.iter().step_by((self.picks.len() / KNOWN).max(1));
        let (mut sum, mut n) = (0.0, 0.0f64);
        for (j, _) in self.cells.shown(place).filter(|(_, weft)| *weft) {
            let to_weft = some.clone().map(|weft| squared(&colours[j], weft));
            let to_weft = to_weft.fold(f64::INFINITY, f64::min).sqrt();
            let to_warp = squared(&colours[j], &self.yarns.warp[j]);
            let other = to_warp.min(squared(&colours[j], &self.cells.ground(place, j)));
            sum += 1.0 / (1.0 + (-SHARPNESS * (other.sqrt() - to_weft)).exp());
            n += 1.0;
        }
        sum / n.max(1.0)
    }

    /// How far a place's weft lies from the second nearest of the middle's; 0 where it shows none.
    pub(super) fn novelty(&self, place: &Place, colours: &[[f64; 3]]) -> f64 {
        mean_weft(self.cells, place, colours).map_or(0.0, |weft| self.nearest(&weft, 1))
    }

    /// What is usual for that among the picks of the middle themselves: nine in ten lie nearer.
    pub(super) fn usual_novelty(&self) -> f64 {
        let own = self.picks.iter().map(|weft| self.nearest(weft, 2));
        let usual = quantile(&own.collect::<Vec<f64>>(), 0.9);
        usual.unwrap_or(0.0).max(LEAST_NOVELTY)
    }

    /// Distance to the nearest of the middle's picks but so many; 0 where there are too few.
    fn nearest(&self, weft: &[f64; 3], but: usize) -> f64 {
        let mut least = [f64::INFINITY; 3];
        for pick in &self.picks {
            let square = squared(weft, pick);
            if square < least[2] {
                least[2] = square;
                least.sort_by(f64::total_cmp);
            }
        }
        if least[2].is_finite() {
            least[but].sqrt()
        } else {
            0.0
        }
    }
}

/// Mean colour of the cells that should show weft.
fn mean_weft(cells: &Cells<'_>, place: &Place, colours: &[[f64; 3]]) -> Option<[f64; 3]> {
    let (mut sum, mut n) = ([0.0; 3], 0.0);
    for (j, _) in cells.shown(place).filter(|(_, weft)| *weft) {
        for (sum, value) in sum.iter_mut().zip(colours[j]) {
            *sum += value;
        }
        n += 1.0;
    }
    (n > 0.0).then(|| sum.map(|s| s / n))
}
