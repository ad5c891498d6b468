//! How far do a pick's neighbours pull its apparent centre?
//!
//! Where picks touch, each shows from one furrow to the next, and a furrow lies half way between
//! two picks: a pick whose neighbour has moved away shows more of itself on that side. Its apparent
//! centre is then off by κ times the second difference of the places, with κ = ¼ for picks that
//! touch all along and less for those that lie apart. The pull is common to the whole width, so two
//! halves of the width agree on it, and it makes an uneven beat look evener.
//!
//! Picks that are placed together, each column by the wefts that it shows, give way little. What is left of κ was, by
//! a straight-line fit of the places' errors against that difference on 459 drawn bands of an uneven beat, 0.06 at the median
//! (−0.01 to 0.17 for eight in ten) where both yarns are seen, 0.04 (−0.02 to 0.16) where the warp hides the weft, and
//! 0.05 (−0.03 to 0.44) where the weft hides the warp; on ten bands of another renderer −0.08 to 0.13. One
//! band doesn't tell its own κ, so it is part of every interval.

use crate::stats::gaps;

/// Root mean square of κ over the drawn bands, and some for what no straight line says.
const PULL: f64 = 0.18;

/// The same where the weft hides the warp, and picks press on each other all along.
const PACKED_PULL: f64 = 0.27;

/// One standard uncertainty of κ for mean squares of spacings: with the root mean square alone 92 of 100 spacing CVs lay
/// within their intervals, with this 95.
const SQUARE_PULL: f64 = 0.15;

/// The same where the weft hides the warp: there the spacing CV comes out at 0.84 to 1.29 of the truth for
/// eight bands in ten.
const PACKED_SQUARE_PULL: f64 = 0.3;

/// One standard uncertainty of κ in a place.
fn place_pull(packed: bool) -> f64 {
    if packed { PACKED_PULL } else { PULL }
}

/// One standard uncertainty of κ for mean squares of spacings.
pub(super) fn square_pull(packed: bool) -> f64 {
    if packed {
        PACKED_SQUARE_PULL
    } else {
        SQUARE_PULL
    }
}

/// Spacings at an end that stand for the one that isn't there.
const END_SPACINGS: usize = 4;

/// The second difference at each place; at the ends with the mean of the nearest spacings for the
/// neighbour that isn't there.
pub(super) fn second_difference(places: &[f64]) -> Vec<f64> {
    let steps = gaps(places);
    let near = END_SPACINGS.min(steps.len());
    if near == 0 {
        return vec![0.0; places.len()];
    }
    let mean = |few: &[f64]| few.iter().sum::<f64>() / few.len() as f64;
    let (first, last) = (mean(&steps[..near]), mean(&steps[steps.len() - near..]));
    let before = std::iter::once(first).chain(steps.iter().copied());
    let after = steps.iter().copied().chain(std::iter::once(last));
    before
        .zip(after)
        .map(|(before, after)| after - before)
        .collect()
}

/// One standard uncertainty of each place for the pull in it: κ times the second difference's rms
/// over the place and two neighbours on each side.
pub(super) fn pull_u(places: &[f64], packed: bool) -> Vec<f64> {
    let pull = second_difference(places);
    (0..pull.len())
        .map(|at| {
            let near = &pull[at.saturating_sub(2)..(at + 3).min(pull.len())];
            let square = near.iter().map(|d| d * d).sum::<f64>() / near.len() as f64;
            place_pull(packed) * square.sqrt()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn even_and_creeping_picks_are_pulled_nowhere() {
        let even: Vec<f64> = (0..20).map(|k| 2.5 * f64::from(k)).collect();
        assert!(second_difference(&even).iter().all(|d| d.abs() < 1e-12));
        assert!(pull_u(&even, true).iter().all(|u| *u < 1e-12));
    }

    #[test]
    fn a_slip_leaves_doubt_where_it_is_and_none_far_from_it() {
        let places: Vec<f64> = (0..30)
            .map(|k| 2.5 * f64::from(k) + if k >= 15 { 1.0 } else { 0.0 })
            .collect();
        let u = pull_u(&places, false);
        assert!(u[15] > 0.1 && u[5] < 1e-12 && u[25] < 1e-12, "{u:?}");
    }
}
