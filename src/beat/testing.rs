//! Picks at known places, for the tests of this stage and of the findings.

use super::PickPlaces;
use crate::stats::Estimate;

/// Picks at the given spacings, known to 0.01 mm.
pub(crate) fn places_of(spacing: &[f64]) -> PickPlaces {
    let first = spacing.first().copied().unwrap_or(2.5) / 2.0;
    let last = spacing.last().copied().unwrap_or(2.5) / 2.0;
    let mut centres_mm = vec![first];
    for step in spacing {
        centres_mm.push(centres_mm[centres_mm.len() - 1] + step);
    }
    let length = centres_mm[centres_mm.len() - 1] + last;
    PickPlaces {
        centre_u_mm: vec![0.01; centres_mm.len()],
        noise_u_mm: vec![0.01; centres_mm.len()],
        own_u_mm: vec![0.01; centres_mm.len()],
        centres_mm,
        halves_mm: None,
        weft_hides_warp: false,
        rows: None,
        length_mm: Estimate::new(length, 0.05, 0.001 * length),
    }
}

/// `count` picks at an even spacing.
pub(crate) fn even_places(count: usize, pitch_mm: f64) -> PickPlaces {
    places_of(&vec![pitch_mm; count - 1])
}
