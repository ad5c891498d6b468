//! What lies beside a selvedge, with all picks' turns laid over one another.
//!
//! # Method
//! The weft turns once on each side in two picks. What lies beside a selvedge is folded over two picks, at the picks' own
//! places: the median colour at each phase and distance. A turn that hardly shows in the photo stands out there, and what
//! doesn't come with the picks, as a printed line or a hair, is smeared or gone.

use std::ops::Range;

use ndarray::{Array2, Array3};

use crate::band::BandTrace;
use crate::stats::{gaps, median, quantile, without_slow};

/// Phases of two picks.
pub(super) const PHASES: usize = 12;

/// Fewest picks that are folded.
const FEWEST_PICKS: usize = 8;

/// From so far inside to so far outside of the selvedge is folded, in picks, and how finely, in samples.
pub(super) const REACH_PICKS: (f64, f64) = (-0.8, 1.4);
/// See [`REACH_PICKS`].
pub(super) const STEP_SAMPLES: f64 = 0.5;

/// What is slower than so many picks (the sigma of a Gaussian) is the band's lie.
const SLOW_PICKS: f64 = 2.0;

/// Share of a phase's rows whose selvedge lies no farther out than the phase's.
const OUTER: f64 = 0.75;

/// Rows of a phase that its medians are taken of; of more, every second, third, …
const ENOUGH_ROWS: usize = 64;

/// A shadow's share of the ground's light.
const SHADOW: (f64, f64) = (0.3, 1.03);

/// What lies beside one selvedge, folded over two picks.
pub(super) struct Folded {
    /// Distance outward from the selvedge's slow run, mm.
    pub at_mm: Vec<f64>,
    /// CIE L*a*b*, of the shape (phases, distances, 3).
    pub lab: Array3<f64>,
    /// The selvedge at each phase, mm outward.
    pub edge_mm: [f64; PHASES],
    /// Distance from sample to sample, and usual distance from pick to pick, mm.
    pub sample_mm: f64,
    /// See `sample_mm`.
    pub pitch_mm: f64,
}

impl Folded {
    /// Of both selvedges, the weaver's left first; `None` for one that can't be folded: it takes eight picks.
    pub(super) fn both(trace: &BandTrace, centres_mm: &[f64]) -> [Option<Self>; 2] {
        let sides = [(&trace.left_mm, -1.0), (&trace.right_mm, 1.0)];
        sides.map(|(edge_mm, outward)| {
            let enough = centres_mm.len() >= FEWEST_PICKS;
            enough.then(|| Self::new(trace, (edge_mm, outward), centres_mm))?
        })
    }

    fn new(
        trace: &BandTrace,
        (edge_mm, outward): (&[f64], f64),
        centres_mm: &[f64],
    ) -> Option<Self> {
        let straight = &trace.straight;
        let step = straight.step_mm;
        let gaps = gaps(centres_mm);
        let pitch_mm = median(&gaps).filter(|pitch| *pitch > 2.0 * step)?;
        let out: Vec<f64> = edge_mm.iter().map(|t| outward * t).collect();
        let quick = without_slow(&out, SLOW_PICKS * pitch_mm / step);
        let rows = rows_by_phase((trace, outward), centres_mm, &gaps).map(thinned);
        let mut edges = [0.0; PHASES];
        for (edge, rows) in edges.iter_mut().zip(&rows) {
            let quick: Vec<f64> = rows.iter().map(|row| quick[*row]).collect();
            *edge = quantile(&quick, OUTER)?;
        }
        let steps = ((REACH_PICKS.1 - REACH_PICKS.0) * pitch_mm / (STEP_SAMPLES * step)) as usize;
        let at_mm: Vec<f64> = (0..steps)
            .map(|k| REACH_PICKS.0 * pitch_mm + k as f64 * STEP_SAMPLES * step)
            .collect();
        let lab = Array3::from_shape_fn((PHASES, steps, 3), |(phase, k, plane)| {
            let across = |row: &usize| {
                let slow = out[*row] - quick[*row];
                let column = (outward * (slow + at_mm[k]) - straight.t0_mm) / step;
                between(&straight.lab[plane], *row, column)
            };
            let seen: Vec<f64> = rows[phase].iter().map(across).collect();
            median(&seen).unwrap_or(0.0)
        });
        Some(Self {
            at_mm,
            lab,
            edge_mm: edges,
            sample_mm: step,
            pitch_mm,
        })
    }

    /// The colour at a phase and a step, CIE L*a*b*.
    pub(super) fn colour(&self, phase: usize, k: usize) -> [f64; 3] {
        [0, 1, 2].map(|plane| self.lab[[phase, k, plane]])
    }

    /// The steps whose distance lies between two, mm.
    pub(super) fn steps(&self, from_mm: f64, to_mm: f64) -> Range<usize> {
        let first = self.at_mm.partition_point(|at| *at <= from_mm);
        first..self.at_mm.partition_point(|at| *at < to_mm).max(first)
    }

    /// Where the selvedge reaches least far out, mm.
    pub(super) fn innermost_mm(&self) -> f64 {
        self.edge_mm.iter().copied().fold(f64::MAX, f64::min)
    }

    /// Where it reaches farthest out, mm.
    pub(super) fn outermost_mm(&self) -> f64 {
        self.edge_mm.iter().copied().fold(f64::MIN, f64::max)
    }

    /// The usual colour of what lies from so many picks on outward, CIE L*a*b*.
    pub(super) fn ground(&self, from_picks: f64) -> [f64; 3] {
        let outside = self.steps(from_picks * self.pitch_mm, f64::MAX);
        [0, 1, 2].map(|plane| {
            let all: Vec<f64> = (0..PHASES)
                .flat_map(|phase| outside.clone().map(move |k| self.lab[[phase, k, plane]]))
                .collect();
            median(&all).unwrap_or(0.0)
        })
    }

    /// How much of a square pick one step of one phase is.
    pub(super) fn cell(&self) -> f64 {
        2.0 / PHASES as f64 * STEP_SAMPLES * self.sample_mm / self.pitch_mm
    }
}

/// The rows of the straight band at each phase of two picks as it is at the selvedge, −1 the left and +1 the right one; but
/// for the outermost picks.
fn rows_by_phase(
    (trace, selvedge): (&BandTrace, f64),
    centres_mm: &[f64],
    gaps: &[f64],
) -> [Vec<usize>; PHASES] {
    let straight = &trace.straight;
    let last = centres_mm.len() - 2;
    let mut rows: [Vec<usize>; PHASES] = std::array::from_fn(|_| Vec::new());
    for row in 0..trace.left_mm.len() {
        let s_mm = straight.s_of(row);
        let s_mm = s_mm - selvedge * trace.lean.at_mm(s_mm);
        if !(centres_mm[1]..centres_mm[last]).contains(&s_mm) {
            continue;
        }
        let before = centres_mm.partition_point(|at| *at <= s_mm) - 1;
        let share = ((s_mm - centres_mm[before]) / gaps[before].max(1e-9)).min(1.0);
        let phase = 0.5 * ((before % 2) as f64 + share) * PHASES as f64;
        rows[(phase as usize).min(PHASES - 1)].push(row);
    }
    rows
}

/// So many of some rows, evenly spread, as tell what is usual.
fn thinned(rows: Vec<usize>) -> Vec<usize> {
    let every = rows.len().div_ceil(ENOUGH_ROWS).max(1);
    rows.into_iter().step_by(every).collect()
}

/// A row's value at a column between samples; beyond its ends what stands there.
fn between(plane: &Array2<f32>, row: usize, column: f64) -> f64 {
    let column = column.clamp(0.0, (plane.ncols() - 1) as f64);
    let (before, after) = (column.floor() as usize, column.ceil() as usize);
    let share = column - before as f64;
    f64::from(plane[[row, before]]) * (1.0 - share) + f64::from(plane[[row, after]]) * share
}

/// How far a colour lies from the nearest that the ground has in some shadow.
pub(super) fn from_shadow(lab: &[f64; 3], ground: &[f64; 3]) -> f64 {
    let dot = |a: &[f64; 3], b: &[f64; 3]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let light = dot(lab, ground) / dot(ground, ground).max(1e-9);
    let light = light.clamp(SHADOW.0, SHADOW.1);
    distance(lab, &ground.map(|v| v * light))
}

/// How far two colours lie apart.
pub(super) fn distance(a: &[f64; 3], b: &[f64; 3]) -> f64 {
    a.iter()
        .zip(b)
        .map(|(a, b)| (a - b).powi(2))
        .sum::<f64>()
        .sqrt()
}
