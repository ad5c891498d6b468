//! Do the picks agree with the weft's turns at the selvedges?
//!
//! A weft goes from one selvedge to the other and turns there, so that the band reaches a little farther to the left
//! at one pick and to the right at the next. A spacing that the weave's repeat feigns, such as three for four
//! picks, doesn't beat so.
//!
//! # Method
//! 1. The sway of both selvedges (`columns`) less what is slower than turns; hairs bounded.
//! 2. In windows of some picks: the correlation of the sway with a wave that goes over once and back in two picks, at
//!    whatever phase, for the weft may have begun at either side.
//! 3. The same if all picks lay closer or wider by a factor. The factor that agrees best, and by how much.
//!
//! # Limits
//! Wefts that don't turn at every pick (two shuttles, fine yarn, a trimmed edge) say nothing either way.

use std::f64::consts::{LN_2, PI};

use super::columns::Columns;
use crate::stats::{gaps, median, without_slow};

/// Picks in a window.
const WINDOW_PICKS: f64 = 10.0;

/// Least samples of the sway in a window that says something.
const LEAST_SAMPLES: usize = 8;

/// What is slower than so many picks (the sigma of a Gaussian) is no turn.
pub(super) const SLOW_PICKS: f64 = 2.0;

/// A sway of so many times the usual one is a hair.
const MOST_TURN: f64 = 3.0;

/// Factors tried: so many steps either way, each a share of an octave.
const STEPS: i32 = 12;
const STEPS_AN_OCTAVE: f64 = 16.0;

/// How well picks agree with the turns.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Agreement {
    /// Of the picks as they lie, 0 to 1.
    pub(super) own: f64,
    /// Of as many times more picks as agree best.
    pub(super) best: f64,
    /// How many times more that is.
    pub(super) factor: f64,
}

impl Agreement {
    /// Of picks at such places, mm; `None` where the photo is too coarse to show turns, or there are too few picks.
    pub(super) fn of(columns: &Columns, centres_mm: &[f64]) -> Option<Self> {
        let sway = Sway::between(columns, centres_mm)?;
        let own = sway.agreement(1.0);
        let (best, factor) = (-STEPS..=STEPS)
            .map(|k| (f64::from(k) * LN_2 / STEPS_AN_OCTAVE).exp())
            .map(|factor| (sway.agreement(factor), factor))
            .max_by(|a, b| a.0.total_cmp(&b.0))?;
        Some(Self { own, best, factor })
    }

    /// By how much another number of picks agrees better.
    pub(super) fn against(&self) -> f64 {
        self.best - self.own
    }
}

/// Bounds what sticks out of a sway farther than turns do.
pub(super) fn without_hairs(sway: &mut [f64]) {
    let sizes: Vec<f64> = sway.iter().map(|a| a.abs()).collect();
    let most = MOST_TURN * median(&sizes).unwrap_or(0.0);
    sway.iter_mut().for_each(|a| *a = a.clamp(-most, most));
}

/// The sway of the selvedges between the first and the last pick.
struct Sway {
    /// At which pick each sample lies, from 0.
    picks: Vec<f64>,
    /// The sway there.
    sway: Vec<f64>,
}

impl Sway {
    fn between(columns: &Columns, centres_mm: &[f64]) -> Option<Self> {
        let gaps = gaps(centres_mm);
        let sigma = SLOW_PICKS * median(&gaps)? / columns.step_mm;
        if sigma < 1.0 {
            return None;
        }
        let quick = without_slow(&columns.sway_mm, sigma);
        let (first, last) = (centres_mm[0], centres_mm[centres_mm.len() - 1]);
        let (mut picks, mut sway) = (Vec::new(), Vec::new());
        let mut before = 0;
        for (row, quick) in quick.into_iter().enumerate() {
            let s_mm = columns.s0_mm + columns.step_mm * row as f64;
            if !(first..last).contains(&s_mm) {
                continue;
            }
            while centres_mm[before + 1] <= s_mm {
                before += 1;
            }
            picks.push(before as f64 + (s_mm - centres_mm[before]) / gaps[before].max(1e-9));
            sway.push(quick);
        }
        without_hairs(&mut sway);
        Some(Self { picks, sway })
    }

    /// How well it agrees with so many times more picks, 0 to 1.
    fn agreement(&self, factor: f64) -> f64 {
        let (mut sum, mut weight) = (0.0, 0.0);
        let mut from = 0;
        while from < self.picks.len() {
            let window = (self.picks[from] * factor / WINDOW_PICKS).floor();
            let beyond = (window + 1.0) * WINDOW_PICKS / factor;
            let to = from + self.picks[from..].partition_point(|k| *k < beyond).max(1);
            if to - from >= LEAST_SAMPLES {
                let n = (to - from) as f64;
                sum += n * self.in_window(from, to, factor);
                weight += n;
            }
            from = to;
        }
        if weight > 0.0 { sum / weight } else { 0.0 }
    }

    /// Correlation of the samples of one window with a wave of two picks at its best phase.
    fn in_window(&self, from: usize, to: usize, factor: f64) -> f64 {
        let (mut re, mut im, mut power) = (0.0, 0.0, 0.0);
        for (k, a) in self.picks[from..to].iter().zip(&self.sway[from..to]) {
            let (sin, cos) = (PI * factor * k).sin_cos();
            re += a * cos;
            im += a * sin;
            power += a * a;
        }
        let n = (to - from) as f64;
        (2.0 * (re * re + im * im) / (n * power).max(1e-12)).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use ndarray::Array3;

    use super::*;

    /// Columns 0.1 mm a row whose selvedges reach out at alternate sides at picks 2 mm apart.
    fn columns(turn_mm: f64) -> Columns {
        let meander = |row: usize| 0.8 * (0.01 * row as f64).sin();
        let turn = |row: usize| turn_mm * (PI * row as f64 / 20.0).cos();
        Columns {
            lab: Array3::zeros((1200, 4, 3)),
            s0_mm: 0.0,
            step_mm: 0.1,
            sway_mm: (0..1200).map(|row| turn(row) + meander(row)).collect(),
        }
    }

    /// So many picks over the 120 mm.
    fn picks(n: usize) -> Vec<f64> {
        let spacing = 120.0 / n as f64;
        (0..n).map(|k| (k as f64 + 0.5) * spacing).collect()
    }

    #[test]
    fn picks_that_take_turns_at_the_selvedges_agree_and_three_for_four_dont() {
        let right = Agreement::of(&columns(0.3), &picks(60)).expect("turns");
        assert!(right.own > 0.95 && right.against() < 0.01, "{right:?}");
        let wrong = Agreement::of(&columns(0.3), &picks(45)).expect("turns");
        assert!(wrong.own < 0.3 && wrong.against() > 0.6, "{wrong:?}");
        assert!((wrong.factor / (4.0 / 3.0) - 1.0).abs() < 0.03, "{wrong:?}");
    }

    #[test]
    fn selvedges_without_turns_speak_against_no_number() {
        let trimmed = Agreement::of(&columns(0.0), &picks(45)).expect("a sway");
        assert!(trimmed.against() < 0.12, "{trimmed:?}");
        assert!(Agreement::of(&columns(0.3), &picks(4000)).is_none());
    }
}
