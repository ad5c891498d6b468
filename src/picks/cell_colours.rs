//! Do the cells at a place have the colours that the drawdown says?
//!
//! # Method
//! 1. The mean colour of each column about the place's middle; the drawdown's row says whether it should
//!    show weft or warp.
//! 2. The weft's colour is the median of the middle's weft cells, one for each of two wefts; the warp's
//!    that of its column, for warps are striped.
//! 3. Squared distances in L*, a*, b*, lightness counting half: how far from its own colour a cell is, and
//!    how much nearer to it than to what else it could be.

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

/// The mean colour of each column at each place, and what the drawdown says it shows.
pub(super) struct CellColours {
    /// `colours[place][column]`.
    colours: Vec<Vec<[f64; 3]>>,
    /// Whether the column should show weft there; `None` beside the outermost ends.
    weft: Vec<Vec<Option<bool>>>,
    /// Whether a column lies in the middle of an end, not at its flanks.
    middle: Vec<bool>,
}

impl CellColours {
    pub(super) fn new(cloth: &Cloth, fit: &Fit, places: &[Place]) -> Self {
        let columns = cloth.raw.dim().1 / 3;
        let last = cloth.raw.dim().0 - 1;
        let ends: Vec<Option<(usize, f64)>> =
            (0..columns).map(|j| fit.end_at(j, columns)).collect();
        let middle = |(_, across): (usize, f64)| (FLANK..1.0 - FLANK).contains(&across);
        let mut cells = Self {
            colours: Vec::new(),
            weft: Vec::new(),
            middle: ends.iter().map(|end| end.is_some_and(middle)).collect(),
        };
        for place in places {
            let at =
                |d: f64| ((place.middle + d * place.spacing).round().max(0.0) as usize).min(last);
            let (from, to) = (at(-MIDDLE), at(MIDDLE));
            let n = (to + 1 - from) as f64;
            let colour = |j: usize| {
                [0, 1, 2].map(|c| {
                    (from..=to)
                        .map(|i| f64::from(cloth.raw[(i, 3 * j + c)]))
                        .sum::<f64>()
                        / n
                })
            };
            cells.colours.push((0..columns).map(colour).collect());
            let state = (place.phase * STATES_A_PICK as f64).round() as usize;
            let expected = &fit.expected[fit.row_at(state).0];
            let shows = |end: &Option<(usize, f64)>| end.map(|(e, _)| expected[e] > 0.0);
            cells.weft.push(ends.iter().map(shows).collect());
        }
        cells
    }

    /// For each place: the colour of weft cells and of warp cells (below 0: how far from theirs), how
    /// much rather weft cells look like weft than warp, and warp cells like warp than ground.
    pub(super) fn against(
        &self,
        colours: &Colours,
        cloth: &Cloth,
        places: &[Place],
    ) -> [Vec<Option<f64>>; 4] {
        let mut seen: [Vec<Option<f64>>; 4] = Default::default();
        for (n, place) in places.iter().enumerate() {
            let [left, right] = &cloth.beside.ground[cloth.nearest(place.middle)];
            let columns = self.colours[n].len() as f64;
            let mut sums = [[0.0; 3]; 2];
            for (j, colour) in self.colours[n].iter().enumerate() {
                let Some(weft) = self.weft[n][j].filter(|_| self.middle[j]) else {
                    continue;
                };
                let across = (j as f64 + 0.5) / columns;
                let ground = [0, 1, 2].map(|c| left[c] + across * (right[c] - left[c]));
                let to_weft = colours
                    .wefts
                    .iter()
                    .map(|w| squared(colour, w))
                    .fold(f64::INFINITY, f64::min);
                let to_warp = squared(colour, &colours.warp[j]);
                let sum = &mut sums[usize::from(weft)];
                let (own, other) = if weft {
                    (to_weft, to_warp)
                } else {
                    (to_warp, squared(colour, &ground))
                };
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

/// The colours of weft and warp in the middle of the band.
pub(super) struct Colours {
    /// One, or two where a second weft is seen.
    wefts: Vec<[f64; 3]>,
    /// Of each column: warps are striped.
    warp: Vec<[f64; 3]>,
}

impl Colours {
    pub(super) fn learn(
        cloth: &Cloth,
        cells: &CellColours,
        places: &[Place],
        core: &Range<usize>,
    ) -> Self {
        let columns = cloth.raw.dim().1 / 3;
        let rare = |n: usize| {
            let rarer = cloth.rarer.as_ref();
            rarer.is_some_and(|rarer| rarer[cloth.nearest(places[n].middle)])
        };
        let mut wefts: Vec<[f64; 3]> = [false, true]
            .iter()
            .filter_map(|&kind| {
                let of_kind: Vec<&[f64; 3]> = core
                    .clone()
                    .filter(|&n| rare(n) == kind)
                    .flat_map(|n| {
                        (0..columns)
                            .filter(move |&j| cells.middle[j] && cells.weft[n][j] == Some(true))
                            .map(move |j| &cells.colours[n][j])
                    })
                    .collect();
                median_colour(&of_kind).filter(|_| of_kind.len() > 5)
            })
            .collect();
        if wefts.is_empty() {
            let all: Vec<&[f64; 3]> = core.clone().flat_map(|n| &cells.colours[n]).collect();
            wefts.push(median_colour(&all).unwrap_or_default());
        }
        let by_column: Vec<Option<[f64; 3]>> = (0..columns)
            .map(|j| {
                let of_column: Vec<&[f64; 3]> = core
                    .clone()
                    .filter(|&n| cells.weft[n][j] == Some(false))
                    .map(|n| &cells.colours[n][j])
                    .collect();
                median_colour(&of_column)
            })
            .collect();
        let known: Vec<&[f64; 3]> = by_column.iter().flatten().collect();
        let usual = median_colour(&known).unwrap_or(wefts[0]);
        Self {
            wefts,
            warp: by_column.iter().map(|c| c.unwrap_or(usual)).collect(),
        }
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

/// Square of the distance of two colours, in [`UNITS`].
fn squared(a: &[f64; 3], b: &[f64; 3]) -> f64 {
    (0..3).map(|c| ((a[c] - b[c]) / UNITS[c]).powi(2)).sum()
}
