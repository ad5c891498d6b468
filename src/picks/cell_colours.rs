//! Which colours do the cells at a place have, and which should they have?
//!
//! # Method
//! 1. The mean colour of each column about the place's middle, in units in which lightness counts half; the
//!    drawdown's row says whether it should show weft or warp.
//! 2. The weft's colour is the median of the middle's weft cells, one for each of two wefts; the warp's
//!    that of its column, for warps are striped.
//! 3. How far from its own yarn's colour a cell is, and how much nearer to it than to what else it could be.

use std::ops::Range;

use super::cloth::Cloth;
use super::likeness::Place;
use super::phase::STATES_A_PICK;
use super::rows::Fit;
use crate::stats::median;

/// Rows about a place's middle whose cells are looked at, spacings.
const MIDDLE: f64 = 0.2;

/// Share of an end at each of its flanks whose columns aren't looked at.
const FLANK: f64 = 0.15;

/// A difference in L*, a*, b* that counts as one.
pub(super) const UNITS: [f64; 3] = [6.0, 3.0, 3.0];

/// Farther apart than this, in those units, all colours are as different.
const FAR: f64 = 6.0;

/// Beyond this, one square distance less another says no more.
const SURE: f64 = 9.0;

/// Of fewer cells the colour of a weft isn't learnt.
const LEAST_CELLS: usize = 6;

/// The cells of the cloth: which columns show which yarn.
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

    /// Mean colour of each column about the middle of a place, in [`UNITS`].
    pub(super) fn colours_of(&self, place: &Place) -> Vec<[f64; 3]> {
        self.colours(place.middle, MIDDLE * place.spacing)
    }

    /// The same over the rows within `half` samples of a middle.
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
    pub(super) fn shown(&self, place: &Place) -> impl Iterator<Item = (usize, bool)> + '_ {
        let state = (place.phase * STATES_A_PICK as f64).round() as usize;
        let expected = &self.fit.expected[self.fit.row_at(state).0];
        let ends = self.ends.iter().enumerate();
        ends.filter_map(move |(j, end)| end.map(|end| (j, expected[end] > 0.0)))
    }

    /// The colour of the ground beside a place, as it would be in a column, in [`UNITS`].
    pub(super) fn ground(&self, place: &Place, column: usize) -> [f64; 3] {
        let [left, right] = &self.cloth.beside.ground[self.cloth.nearest(place.middle)];
        let across = (column as f64 + 0.5) / self.columns as f64;
        [0, 1, 2].map(|c| (left[c] + across * (right[c] - left[c])) / UNITS[c])
    }
}

/// The colours of weft and warp in the middle of the band, in [`UNITS`].
pub(super) struct Yarns {
    /// One, or two where a second weft is seen.
    pub(super) wefts: Vec<[f64; 3]>,
    /// Of each column: warps are striped.
    pub(super) warp: Vec<[f64; 3]>,
}

impl Yarns {
    /// Learns them from `core`, the places that are surely inside the body.
    pub(super) fn learn(
        cells: &Cells<'_>,
        (places, colours): (&[Place], &[Vec<[f64; 3]>]),
        core: &Range<usize>,
    ) -> Self {
        let mut by_kind: [Vec<&[f64; 3]>; 2] = Default::default();
        let mut by_column: Vec<Vec<&[f64; 3]>> = vec![Vec::new(); cells.columns];
        for n in core.clone() {
            let kind = usize::from(cells.cloth.shows_rarer(places[n].middle));
            for (j, weft) in cells.shown(&places[n]) {
                let shown = if weft {
                    &mut by_kind[kind]
                } else {
                    &mut by_column[j]
                };
                shown.push(&colours[n][j]);
            }
        }
        let enough = by_kind.iter().filter(|shown| shown.len() >= LEAST_CELLS);
        let mut wefts: Vec<[f64; 3]> = enough.filter_map(|shown| median_colour(shown)).collect();
        if wefts.is_empty() {
            let all: Vec<&[f64; 3]> = colours[core.clone()].iter().flatten().collect();
            wefts.push(median_colour(&all).unwrap_or_default());
        }
        let own: Vec<Option<[f64; 3]>> = by_column.iter().map(|c| median_colour(c)).collect();
        let usual = median_colour(&own.iter().flatten().collect::<Vec<_>>()).unwrap_or(wefts[0]);
        Self {
            wefts,
            warp: own.iter().map(|c| c.unwrap_or(usual)).collect(),
        }
    }

    /// For each place: the colour of weft cells and of warp cells (below 0: how far from theirs), how
    /// much rather weft cells look like weft than warp, and warp cells like warp than ground.
    pub(super) fn against(
        &self,
        cells: &Cells<'_>,
        (places, colours): (&[Place], &[Vec<[f64; 3]>]),
    ) -> [Vec<Option<f64>>; 4] {
        let mut seen: [Vec<Option<f64>>; 4] = Default::default();
        for (place, colours) in places.iter().zip(colours) {
            let mut sums = [[0.0; 3]; 2];
            for (j, weft) in cells.shown(place) {
                let to_wefts = self.wefts.iter().map(|w| squared(&colours[j], w));
                let to_weft = to_wefts.fold(f64::INFINITY, f64::min);
                let to_warp = squared(&colours[j], &self.warp[j]);
                let (own, other) = if weft {
                    (to_weft, to_warp)
                } else {
                    (to_warp, squared(&colours[j], &cells.ground(place, j)))
                };
                let sum = &mut sums[usize::from(weft)];
                sum[0] -= own.sqrt().min(FAR);
                sum[1] += (other - own).clamp(-SURE, SURE);
                sum[2] += 1.0;
            }
            let mean = |sum: [f64; 3], k: usize| (sum[2] > 0.0).then(|| sum[k] / sum[2]);
            seen[0].push(mean(sums[1], 0));
            seen[1].push(mean(sums[0], 0));
            seen[2].push(mean(sums[1], 1));
            seen[3].push(mean(sums[0], 1));
        }
        seen
    }
}

/// Median of each channel; `None` of nothing.
pub(super) fn median_colour(colours: &[&[f64; 3]]) -> Option<[f64; 3]> {
    let mut middle = [0.0; 3];
    for (c, middle) in middle.iter_mut().enumerate() {
        let channel: Vec<f64> = colours.iter().map(|colour| colour[c]).collect();
        *middle = median(&channel)?;
    }
    Some(middle)
}

/// Square of the distance of two colours in [`UNITS`].
pub(super) fn squared(a: &[f64; 3], b: &[f64; 3]) -> f64 {
    (0..3).map(|c| (a[c] - b[c]).powi(2)).sum()
}
