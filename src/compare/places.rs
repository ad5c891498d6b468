//! Who stands before whom, when every figure has its doubt?
//!
//! # Method
//! 1. Two bands can be told apart where they differ by more than z · √(u₁² + u₂²), with u their
//!    standard uncertainties. In a class of n there are n (n − 1) / 2 pairs, and with 95 % for each
//!    some pair would be ranked by luck alone: z is therefore the normal quantile that leaves 5 %
//!    for all pairs together (Bonferroni). Two bands alone get the plain 1.96.
//! 2. In order of the value, a place ends only where *every* band before it can be told apart from
//!    *every* band after it. So bands that can't be told apart always share a place, and whoever
//!    stands in an earlier place is better than all of the later ones.
//!
//! # Limits
//! A and C may share a place although they differ, when B lies between and can't be told from
//! either: being told apart isn't handed on, and a list of places can't show that. The number of
//! pairs that can be told apart stands beside the places.

use crate::measurement::Quantity;
use crate::stats::normal_quantile;

/// Share of classes in which some pair may be ranked by luck.
const LUCK: f64 = 0.05;
/// Half-widths of 95 % intervals are this many standard uncertainties.
const NORMAL: f64 = 1.96;

/// Indices of the values in places, best (lowest) first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Places {
    /// The places.
    pub(super) places: Vec<Vec<usize>>,
    /// Pairs that can be told apart.
    pub(super) told_apart: usize,
    /// All pairs.
    pub(super) pairs: usize,
}

/// By how many standard uncertainties of their difference two of `count` bands must differ.
pub(super) fn needed(count: usize) -> f64 {
    let pairs = (count * count.saturating_sub(1) / 2).max(1);
    normal_quantile(1.0 - LUCK / 2.0 / pairs as f64)
}

/// Puts `values` into places.
pub(super) fn place(values: &[Quantity]) -> Places {
    let count = values.len();
    let needed = needed(count);
    let mut order: Vec<usize> = (0..count).collect();
    order.sort_by(|&a, &b| values[a].value.total_cmp(&values[b].value).then(a.cmp(&b)));
    // `together[k]`: no place may end after the k-th in order.
    let mut together = vec![false; count];
    let mut told_apart = 0;
    for (i, &first) in order.iter().enumerate() {
        for (j, &second) in order.iter().enumerate().skip(i + 1) {
            let (a, b) = (values[first], values[second]);
            if (b.value - a.value) * NORMAL > needed * a.u95.hypot(b.u95) {
                told_apart += 1;
            } else {
                together[i..j].fill(true);
            }
        }
    }
    let mut places: Vec<Vec<usize>> = Vec::new();
    let mut open = false;
    for (k, &index) in order.iter().enumerate() {
        match places.last_mut().filter(|_| open) {
            Some(place) => place.push(index),
            None => places.push(vec![index]),
        }
        open = together[k];
    }
    for place in &mut places {
        place.sort_unstable();
    }
    Places {
        places,
        told_apart,
        pairs: count * count.saturating_sub(1) / 2,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn q(value: f64, u95: f64) -> Quantity {
        Quantity { value, u95 }
    }

    #[test]
    fn clear_differences_are_places_and_unclear_ones_are_shared() {
        let placed = place(&[q(9.0, 0.5), q(3.0, 0.5), q(9.3, 0.5)]);
        assert_eq!(placed.places, [vec![1], vec![0, 2]]);
        assert_eq!((placed.told_apart, placed.pairs), (2, 3));
    }

    #[test]
    fn a_band_that_cant_be_told_from_either_neighbour_joins_them() {
        let placed = place(&[q(1.0, 0.6), q(2.0, 0.6), q(3.0, 0.6), q(9.0, 0.6)]);
        assert_eq!(placed.places, [vec![0, 1, 2], vec![3]]);
        assert_eq!(placed.told_apart, 4);
    }

    #[test]
    fn a_doubtful_band_holds_all_places_together_that_it_may_belong_to() {
        let placed = place(&[q(1.0, 0.01), q(2.0, 0.01), q(2.5, 5.0), q(3.0, 0.01)]);
        assert_eq!(placed.places, [vec![0, 1, 2, 3]]);
    }

    #[test]
    fn two_bands_alone_need_the_plain_factor() {
        assert!((needed(2) - 1.96).abs() < 0.001);
        assert!((needed(12) - 3.37).abs() < 0.02);
        assert_eq!(place(&[q(1.0, 1.0), q(2.5, 1.0)]).places.len(), 2);
        assert_eq!(place(&[q(1.0, 1.0), q(2.4, 1.0)]).places.len(), 1);
        assert_eq!(place(&[]).places.len(), 0);
        assert_eq!(place(&[q(1.0, 1.0)]).places, [vec![0]]);
    }
}
