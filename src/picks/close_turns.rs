//! How much does the weft turn at the selvedges beside each place?
//!
//! Beyond the outermost pick there are no turns, and a header's thinner yarn makes smaller ones.
//!
//! # Method
//! 1. The sway of both selvedges (`beside`) less what is slower than turns; hairs bounded.
//! 2. Its share of a wave that goes over once and back in two picks, a pick either way of the place: how large, as the
//!    logarithm of what the picks of the middle usually show.
//! 3. That counts as much as the turns of the middle take turns: a smooth selvedge, or two wefts that turn as they
//!    please, say nothing.
//!
//! # Limits
//! A selvedge that hides its turns, and a photo that is too coarse for them, give noise, which step 3 makes small.

use std::f64::consts::PI;
use std::ops::Range;

use rustfft::num_complex::Complex64;

use super::likeness::Place;
use super::selvedge_turns::{SLOW_PICKS, without_hairs};
use crate::stats::{median, without_slow};

/// Selvedges that usually sway less are straight, mm: of 350 drawn ends none swayed less, one in a hundred less than
/// 0.017.
const LEAST_SWAY_MM: f64 = 0.01;

/// Bounds of the logarithm, before it is weighed.
const BOUNDS: (f64, f64) = (-2.0, 1.0);

/// Of each place, how much larger the turns are than the usual ones of `core`, as a weighed logarithm, 0 where nothing
/// can be told; `sway_mm` is the selvedges' at each sample.
pub(super) fn turns(sway_mm: &[f64], places: &[Place], core: &Range<usize>) -> Vec<f64> {
    let spacings: Vec<f64> = places[core.clone()].iter().map(|p| p.spacing).collect();
    let Some(spacing) = median(&spacings) else {
        return vec![0.0; places.len()];
    };
    let mut quick = without_slow(sway_mm, SLOW_PICKS * spacing);
    without_hairs(&mut quick);
    let waves: Vec<Complex64> = (0..places.len())
        .map(|k| {
            let wave = wave_at(&quick, &places[k]);
            if k % 2 == 0 { wave } else { -wave }
        })
        .collect();
    let inner = &waves[core.clone()];
    let sizes: Vec<f64> = inner.iter().map(|wave| wave.norm()).collect();
    let usual = median(&sizes).unwrap_or(0.0);
    let (sum, all) = (inner.iter().sum::<Complex64>(), sizes.iter().sum::<f64>());
    if usual < LEAST_SWAY_MM {
        return vec![0.0; places.len()];
    }
    let in_turn = sum.norm() / all;
    let size = |wave: &Complex64| (wave.norm() / usual).ln();
    waves
        .iter()
        .map(|wave| in_turn * size(wave).clamp(BOUNDS.0, BOUNDS.1))
        .collect()
}

/// The wave of two picks about a place; 0 where it lies beyond the samples.
fn wave_at(quick: &[f64], place: &Place) -> Complex64 {
    let Place {
        middle, spacing, ..
    } = *place;
    let from = (middle - spacing).max(0.0) as usize;
    let to = ((middle + spacing).max(0.0) as usize + 1).min(quick.len());
    let (mut sum, mut weights) = (Complex64::ZERO, 0.0);
    for (i, sway) in quick.iter().enumerate().take(to).skip(from) {
        let turn = PI * (i as f64 - middle) / spacing;
        let weight = 0.5 + 0.5 * turn.cos();
        sum += weight * sway * Complex64::cis(turn);
        weights += weight;
    }
    if weights > 0.0 {
        sum / weights
    } else {
        Complex64::ZERO
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Thirty places 14 samples apart, the selvedges turning beside places 5 to 24 alone; `turn` is the turn's size at
    /// each place of those.
    fn turned(turn: impl Fn(usize) -> f64) -> Vec<f64> {
        let places: Vec<Place> = (0..30)
            .map(|k| Place {
                middle: 14.0 * (k as f64 + 1.0),
                spacing: 14.0,
                phase: 0.5,
                inward: if k < 15 { 1.0 } else { -1.0 },
            })
            .collect();
        let sway: Vec<f64> = (0..440)
            .map(|i| {
                let pick = i as f64 / 14.0 - 1.0;
                let slow = 0.5 * (0.004 * i as f64).sin();
                let near = pick.round().max(0.0) as usize;
                let woven = (5..25).contains(&near);
                slow + if woven {
                    turn(near) * (PI * pick).cos()
                } else {
                    0.0
                }
            })
            .collect();
        turns(&sway, &places, &(9..21))
    }

    #[test]
    fn a_place_without_turns_is_told_from_those_with() {
        let turns = turned(|_| 0.3);
        assert!(turns[6..24].iter().all(|t| t.abs() < 0.3), "{turns:?}");
        assert!(turns[..4].iter().all(|t| *t < -1.5), "{turns:?}");
        assert!(turns[26..].iter().all(|t| *t < -1.5), "{turns:?}");
    }

    #[test]
    fn turns_of_no_order_say_little() {
        let astray = [1.0, 1.0, -1.0, 1.0, -1.0, -1.0, 1.0, -1.0, -1.0, -1.0];
        let turns = turned(|k| 0.3 * astray[k % 10]);
        assert!(turns.iter().all(|t| t.abs() < 0.8), "{turns:?}");
    }

    #[test]
    fn a_straight_selvedge_says_nothing() {
        assert!(turned(|_| 0.0).iter().all(|t| t.abs() < 1e-9));
    }
}
