//! Do a place's cells show weft and warp as the drawdown says, and of which colour is the weft?
//!
//! # Method
//! 1. The mean colour of each column over the middle of the place, in units in which lightness counts half.
//! 2. The weft's colour is the median of the middle's weft cells, one for each of two wefts; the warp's
//!    that of its column, for warps are striped.
//! 3. Contrast: how far cells that should show weft lie ahead of those that should show warp, on the straight way
//!    from the warp's colour (0) to the weft's (1); a column counts by how far the two differ.

use std::ops::Range;

use super::cell_colours::{UNITS, median_colour};
use super::close_signs::quantile;
use super::cloth::Cloth;
use super::likeness::Place;
use super::phase::STATES_A_PICK;
use super::rows::Fit;

/// Share of an end at each of its flanks whose columns aren't looked at.
const FLANK: f64 = 0.15;

/// Rows about a middle that are looked at, spacings: where it was expected, and where it is sought.
pub(super) const ROWS: (f64, f64) = (0.2, 0.15);

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

/// The cells of the cloth: where each column shows which yarn.
pub(super) struct Cells<'a> {
    cloth: &'a Cloth,
    fit: &'a Fit,
    columns: usize,
    /// The end of each column in the middle of one.
    ends: Vec<Option<usize>>,
}

impl<'a> Cells<'a> {
    pub(super) fn new(cloth: &'a Cloth, fit: &'a Fit) -> Self {
        let columns = cloth.raw.dim().1 / 3;
        let middle = |(_, across): &(usize, f64)| (FLANK..1.0 - FLANK).contains(across);
        let end = |j| fit.end_at(j, columns).filter(middle).map(|(end, _)| end);
        Self {
            cloth,
            fit,
            columns,
            ends: (0..columns).map(end).collect(),
        }
    }

    /// Mean colour of each column over the rows within `half` samples of a middle, in [`UNITS`].
    pub(super) fn colours(&self, middle: f64, half: f64) -> Vec<[f64; 3]> {
        let last = self.cloth.raw.dim().0 - 1;
        let row = |at: f64| (at.round().max(0.0) as usize).min(last);
        let (from, to) = (row(middle - half), row(middle + half));
        let mut sums = vec![[0.0f64; 3]; self.columns];
        for i in from..=to {
            let row = self.cloth.raw.row(i);
            let (row, _) = row.to_slice().unwrap_or_default().as_chunks::<3>();
            for (sum, lab) in sums.iter_mut().zip(row) {
                for (sum, value) in sum.iter_mut().zip(lab) {
                    *sum += f64::from(*value);
                }
            }
        }
        let n = (to + 1 - from) as f64;
        for sum in &mut sums {
            for (value, unit) in sum.iter_mut().zip(UNITS) {
                *value /= n * unit;
            }
        }
        sums
    }

    /// Each column that shows a cell's middle, and whether it should show weft.
    fn shown(&self, place: &Place) -> impl Iterator<Item = (usize, bool)> + '_ {
        let state = (place.phase * STATES_A_PICK as f64).round() as usize;
        let expected = &self.fit.expected[self.fit.row_at(state).0];
        let ends = self.ends.iter().enumerate();
        ends.filter_map(move |(j, end)| end.map(|end| (j, expected[end] > 0.0)))
    }

    /// Mean colour of the cells that should show weft.
    pub(super) fn mean_weft(&self, place: &Place, colours: &[[f64; 3]]) -> Option<[f64; 3]> {
        let (mut sum, mut n) = ([0.0; 3], 0.0);
        for (j, _) in self.shown(place).filter(|(_, weft)| *weft) {
            for (sum, value) in sum.iter_mut().zip(colours[j]) {
                *sum += value;
            }
            n += 1.0;
        }
        (n > 0.0).then(|| sum.map(|s| s / n))
    }
}

/// The yarns' colours, as the middle of the band shows them.
pub(super) struct Yarns {
    /// One, or two where a second weft is seen.
    wefts: Vec<[f64; 3]>,
    /// Of each column.
    warp: Vec<[f64; 3]>,
    /// Of each pick of the middle.
    picks: Vec<[f64; 3]>,
}

impl Yarns {
    pub(super) fn learn(
        cells: &Cells<'_>,
        (places, colours): (&[Place], &[Vec<[f64; 3]>]),
        core: &Range<usize>,
    ) -> Self {
        let mut by_kind: [Vec<&[f64; 3]>; 2] = Default::default();
        let mut by_column: Vec<Vec<&[f64; 3]>> = vec![Vec::new(); cells.columns];
        for n in core.clone() {
            let rarer = cells.cloth.rarer.as_ref();
            let kind = rarer.is_some_and(|rarer| rarer[cells.cloth.nearest(places[n].middle)]);
            for (j, weft) in cells.shown(&places[n]) {
                let shown = if weft {
                    &mut by_kind[usize::from(kind)]
                } else {
                    &mut by_column[j]
                };
                shown.push(&colours[n][j]);
            }
        }
        let enough = by_kind.iter().filter(|shown| shown.len() > 5);
        let mut wefts: Vec<[f64; 3]> = enough.filter_map(|shown| median_colour(shown)).collect();
        if wefts.is_empty() {
            let all: Vec<&[f64; 3]> = colours[core.clone()].iter().flatten().collect();
            wefts.push(median_colour(&all).unwrap_or_default());
        }
        let own: Vec<Option<[f64; 3]>> = by_column.iter().map(|c| median_colour(c)).collect();
        let usual = median_colour(&own.iter().flatten().collect::<Vec<_>>()).unwrap_or(wefts[0]);
        let picks = core.clone();
        Self {
            wefts,
            warp: own.iter().map(|c| c.unwrap_or(usual)).collect(),
            picks: picks
                .filter_map(|n| cells.mean_weft(&places[n], &colours[n]))
                .collect(),
        }
    }

    /// The greatest contrast about a place's middle, and how far from it that is, spacings.
    pub(super) fn contrast(&self, cells: &Cells<'_>, place: &Place) -> (f64, f64) {
        let (reach, steps) = SOUGHT;
        let mut best = (f64::NEG_INFINITY, 0.0);
        for k in -steps..=steps {
            let off = reach * f64::from(k) / f64::from(steps);
            let middle = place.middle + off * place.spacing;
            let colours = cells.colours(middle, ROWS.1 * place.spacing);
            let contrast = self.contrast_of(cells, place, &colours) - OFF_COST * off.abs();
            if contrast > best.0 {
                best = (contrast, off);
            }
        }
        best
    }

    /// How far cells that should show weft lie ahead of the others on the way from warp to weft.
    fn contrast_of(&self, cells: &Cells<'_>, place: &Place, colours: &[[f64; 3]]) -> f64 {
        let weft_cells = || cells.shown(place).filter(|(_, weft)| *weft);
        let distance = |weft: &[f64; 3]| -> f64 {
            weft_cells()
                .map(|(j, _)| squared(&colours[j], weft).sqrt())
                .sum()
        };
        let by_distance = |a: &&[f64; 3], b: &&[f64; 3]| distance(a).total_cmp(&distance(b));
        let Some(weft) = self.wefts.iter().min_by(by_distance) else {
            return 0.0;
        };
        let mut sums = [(0.0, 0.0); 2];
        for (j, shows_weft) in cells.shown(place) {
            let warp = &self.warp[j];
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
    pub(super) fn known(&self, cells: &Cells<'_>, place: &Place, colours: &[[f64; 3]]) -> f64 {
        let cloth = cells.cloth;
        let [left, right] = &cloth.beside.ground[cloth.nearest(place.middle)];
        let some = self.picks.iter().step_by((self.picks.len() / KNOWN).max(1));
        let (mut sum, mut n) = (0.0, 0.0f64);
        for (j, _) in cells.shown(place).filter(|(_, weft)| *weft) {
            let across = (j as f64 + 0.5) / cells.columns as f64;
            let ground = [0, 1, 2].map(|c| (left[c] + across * (right[c] - left[c])) / UNITS[c]);
            let to_weft = some.clone().map(|weft| squared(&colours[j], weft));
            let to_weft = to_weft.fold(f64::INFINITY, f64::min).sqrt();
            let other = squared(&colours[j], &self.warp[j]).min(squared(&colours[j], &ground));
            sum += 1.0 / (1.0 + (-SHARPNESS * (other.sqrt() - to_weft)).exp());
            n += 1.0;
        }
        sum / n.max(1.0)
    }

    /// How far a pick's weft lies from the second nearest of the middle's; 0 where it shows none.
    pub(super) fn novelty(&self, weft: Option<[f64; 3]>) -> f64 {
        weft.map_or(0.0, |weft| self.nearest(&weft, 1))
    }

    /// What is usual for that among the picks of the middle themselves: nine in ten lie nearer.
    pub(super) fn usual_novelty(&self) -> f64 {
        let own = self.picks.iter().map(|weft| self.nearest(weft, 2));
        quantile(own.collect(), 0.9).max(LEAST_NOVELTY)
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

fn squared(a: &[f64; 3], b: &[f64; 3]) -> f64 {
    (0..3).map(|c| (a[c] - b[c]).powi(2)).sum()
}
