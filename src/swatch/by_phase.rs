//! The picks of a swatch by their phase.

use super::follow::{Phase, follow};
use super::lay::Laid;
use super::pyramid::Level;
use super::spacing::Candidate;
use crate::picks::{PickLines, PickTrack, Weave};
use crate::stats::robust_sd;

/// Samples a pick at the size that the picks are followed at, at least where the photo has them.
const FOLLOWED_AT: f64 = 8.0;

/// Floor of a place's standard uncertainty, picks.
const PLACE_FLOOR: f64 = 0.03;

/// The picks followed through the size of the picture that suits them.
pub(super) struct ByPhase<'a> {
    level: &'a Level,
    pub(super) phase: Phase,
    /// Numbers of the picks whose middle is in view.
    numbers: Vec<f64>,
    /// The level's row of each of their middles.
    rows: Vec<f64>,
    /// Whether they look woven.
    pub(super) weave: Weave,
}

impl<'a> ByPhase<'a> {
    /// Follows one of the marks' repeats.
    pub(super) fn of(levels: &'a [Level], pick: &Candidate) -> Self {
        let px_a_pick = 1.0 / pick.along;
        let level = followed(levels, px_a_pick);
        let phase = follow(level, pick);
        let numbers = numbers(&phase);
        let rows = middles(&numbers, &phase.picks);
        let lines = PickLines {
            rows: &rows,
            slope: phase.slope,
            spacing: px_a_pick / level.factor,
        };
        let weave = Weave::of(&level.picture.view(), &lines);
        Self {
            level,
            phase,
            numbers,
            rows,
            weave,
        }
    }

    /// How many picks have their middle in view.
    pub(super) fn count(&self) -> usize {
        self.numbers.len()
    }

    /// The least and the greatest number of picks over the length that a part of the width counts.
    pub(super) fn counts(&self) -> (f64, f64) {
        let counts = self.phase.counts.iter();
        counts.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), c| {
            (a.min(*c), b.max(*c))
        })
    }

    /// Standard uncertainty of that number by how far the parts differ, picks.
    pub(super) fn count_u(&self) -> f64 {
        let counts = &self.phase.counts;
        robust_sd(counts).unwrap_or(0.0) / (counts.len() as f64).sqrt()
    }

    /// The picks in millimetres from the rectangle's start.
    pub(super) fn track(&self, laid: &Laid) -> PickTrack {
        let straight = &laid.trace.straight;
        let s_mm = |row: &f64| straight.s0_mm + straight.step_mm * self.level.finest_row(*row);
        let places = |rows: &[f64]| -> Vec<f64> {
            rows.iter()
                .map(|row| s_mm(row).clamp(0.0, laid.length_mm))
                .collect()
        };
        let (from, to) = ends(&self.phase);
        let centres_mm = places(&self.rows);
        let halves = self
            .phase
            .halves
            .each_ref()
            .map(|series| places(&middles(&self.numbers, series)));
        let spacing = laid.length_mm / (to - from).max(1.0);
        let apart: Vec<f64> = halves[0]
            .iter()
            .zip(&halves[1])
            .map(|(a, b)| 0.5 * (a - b))
            .collect();
        let u = robust_sd(&apart)
            .unwrap_or(0.0)
            .hypot(PLACE_FLOOR * spacing);
        PickTrack {
            centre_u_mm: vec![u; centres_mm.len()],
            noise_u_mm: vec![u; centres_mm.len()],
            centres_mm,
            halves_mm: Some((halves[0].clone(), halves[1].clone())),
            body_mm: (0.0, laid.length_mm),
            count_confidence: 1.0,
            weft_slope: Some(self.phase.slope),
            ..PickTrack::default()
        }
    }
}

/// The coarsest size at which a pick still has enough samples, else the finest.
fn followed(levels: &[Level], px_a_pick: f64) -> &Level {
    let fits = |level: &&Level| px_a_pick / level.factor >= FOLLOWED_AT;
    levels.iter().rev().find(fits).unwrap_or(&levels[0])
}

/// The phase at the rectangle's own edges, half a row beyond the outermost middles.
fn ends(phase: &Phase) -> (f64, f64) {
    let n = phase.picks.len();
    let half = |a: usize, b: usize| 0.5 * (phase.picks[b] - phase.picks[a]);
    (
        phase.picks[0] - half(0, 1),
        phase.picks[n - 1] + half(n - 2, n - 1),
    )
}

/// The picks whose middle is in view, by number.
fn numbers(phase: &Phase) -> Vec<f64> {
    let (from, to) = ends(phase);
    let all = from.ceil() as i64..=to.floor() as i64;
    all.map(|k| k as f64).collect()
}

/// The level's row of each of their middles, by one series of phases.
fn middles(numbers: &[f64], series: &[f64]) -> Vec<f64> {
    numbers.iter().map(|k| row_at(series, *k)).collect()
}

/// The fractional row at which the phase first reaches `value`; beyond the ends it goes on evenly.
fn row_at(phase: &[f64], value: f64) -> f64 {
    let n = phase.len();
    let k = phase
        .iter()
        .position(|p| *p >= value)
        .unwrap_or(n)
        .clamp(1, n - 1);
    let step = phase[k] - phase[k - 1];
    if step > 1e-9 {
        k as f64 - 1.0 + (value - phase[k - 1]) / step
    } else {
        k as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_phase_that_stands_still_gives_no_wild_place() {
        let phase = [0.1, 0.6, 0.6, 1.1, 1.6];
        assert!((row_at(&phase, 1.0) - 2.8).abs() < 1e-9);
        assert!((row_at(&phase, 0.6) - 1.0).abs() < 1e-9);
        assert!((row_at(&phase, 2.1) - 5.0).abs() < 1e-9);
    }
}
