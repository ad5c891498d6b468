//! How far does a selvedge stand out, or in, around each pick, when looked at with bumps of a given breadth?
//!
//! # Method
//! A Gaussian bump of a given half width, fitted by least squares together with a straight line to three half
//! widths on each side of a place: a creep of the selvedge isn't seen, a wave much longer than the bump hardly.
//! Near an end the window is cut off, and what is found there is less sure; its noise says by how much.

use std::f64::consts::LN_2;

/// The fit reaches so many half widths to each side.
const REACH: f64 = 3.0;

/// Fewest picks that a bump and a line are fitted to.
const FEWEST: usize = 6;

/// A bump whose square is less than this share of the half width, once its line is taken off, can't be told from
/// the line.
const LEAST_SQUARE: f64 = 0.05;

/// Bumps of one breadth around every pick.
pub(super) struct Bumps {
    /// Half of the breadth at half the height, picks.
    pub(super) half_width: f64,
    /// Height of the bump at each pick; `None` where it can't be told.
    pub(super) heights: Vec<Option<f64>>,
    /// How much less sure each is than the surest: 1 or more.
    pub(super) noise: Vec<f64>,
}

impl Bumps {
    /// Bumps of a row that has a value a pick.
    pub(super) fn new(row: &[f64], half_width: f64) -> Self {
        let fits: Vec<Option<(f64, f64)>> =
            (0..row.len()).map(|at| fit(row, at, half_width)).collect();
        let surest = fits
            .iter()
            .flatten()
            .map(|(_, square)| *square)
            .fold(0.0, f64::max);
        Self {
            half_width,
            heights: fits
                .iter()
                .map(|fit| fit.map(|(height, _)| height))
                .collect(),
            noise: fits
                .iter()
                .map(|fit| fit.map_or(1.0, |(_, square)| (surest / square).sqrt()))
                .collect(),
        }
    }

    /// Height at a pick, in what it would be worth at the surest one.
    pub(super) fn sure_height(&self, at: usize) -> Option<f64> {
        self.heights[at].map(|height| height / self.noise[at])
    }
}

/// The bump itself, 1 at its middle.
pub(super) fn bump(off: f64, half_width: f64) -> f64 {
    (-LN_2 * (off / half_width).powi(2)).exp()
}

/// Height of the bump at a pick, and the square of what its line leaves of it.
fn fit(row: &[f64], at: usize, half_width: f64) -> Option<(f64, f64)> {
    let reach = (REACH * half_width) as usize;
    let (from, to) = (at.saturating_sub(reach), (at + reach).min(row.len() - 1));
    let count = to + 1 - from;
    if count < FEWEST {
        return None;
    }
    let middle = (from + to) as f64 / 2.0;
    let bump = |k: usize| bump(k as f64 - at as f64, half_width);
    let (mut mean, mut slope, mut square) = (0.0, 0.0, 0.0);
    for k in from..=to {
        mean += bump(k);
        slope += bump(k) * (k as f64 - middle);
        square += (k as f64 - middle).powi(2);
    }
    let (mean, slope) = (mean / count as f64, slope / square);
    let (mut own, mut product) = (0.0, 0.0);
    for k in from..=to {
        let left = bump(k) - mean - slope * (k as f64 - middle);
        own += left * left;
        product += left * row[k];
    }
    (own > LEAST_SQUARE * half_width).then(|| (product / own, own))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bump_on_a_slope_has_its_height_wherever_it_lies() {
        for at in [2, 20, 38] {
            let row: Vec<f64> = (0..41)
                .map(|k| 0.1 * f64::from(k) - 1.5 * bump(f64::from(k - at), 3.0))
                .collect();
            let found = Bumps::new(&row, 3.0);
            let at = usize::try_from(at).unwrap_or(0);
            assert!((found.heights[at].expect("a fit") + 1.5).abs() < 1e-9);
            let near_an_end = at != 20;
            assert_eq!(found.noise[at] > 1.2, near_an_end, "{}", found.noise[at]);
        }
    }

    #[test]
    fn rows_of_five_have_no_bump() {
        assert!(
            Bumps::new(&[1.0; 5], 2.0)
                .heights
                .iter()
                .all(Option::is_none)
        );
        assert!(Bumps::new(&[], 2.0).heights.is_empty());
    }
}
