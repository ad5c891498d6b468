//! Do the weft's turns lie beyond the selvedge that was followed?
//!
//! A thin weft of nearly the ground's colour, or as grey as a shadow, may be left out where it turns: the outline then
//! follows the outer warp. In the photo such a turn hardly shows; all turns of a selvedge laid over one another do.
//!
//! # Method
//! 1. The weft turns once on each side in two picks. What lies beside a selvedge is folded over two picks, at the
//!    picks' own places: the median colour at each phase and distance.
//! 2. Known colours: cells beyond the selvedge whose colour the cloth just inside has, and no shadow. A shadow's
//!    colours lie on the straight way from the ground's towards black.
//! 3. A second edge: where a phase differs from the others from the selvedge on and up to an edge as sharp as
//!    yarn's. Shadows end softly, and what is printed on the ground doesn't begin at the selvedge.
//! 4. Either says that turns were missed. How far out it reaches bounds what the width lacks.
//!
//! Of 1887 drawn bands, on most of which the bounds were chosen, 22 show one of the signs and 8 of these are within
//! 0.15 mm of the true width; widths outside of their interval went from 78 to 67, and those more than 0.25 mm off
//! without any warning from 20 to 14. Of 300 others 3 show one: two too narrow by 0.15 mm or more, one right.
//!
//! # Limits
//! Turns of a colour and a light that the ground has to the last shade, turns that don't come at every second pick,
//! and a hand so uneven that they smear when folded. It takes eight picks.

use std::ops::Range;

use ndarray::{Array2, Array3};

use crate::band::BandTrace;
use crate::stats::{Smoother, median, quantile, without_slow};

/// Phases of two picks.
const PHASES: usize = 12;

/// Fewest picks that are folded.
const FEWEST_PICKS: usize = 8;

/// From so far inside to so far outside of the selvedge is folded, in picks, and how finely, in samples.
const REACH_PICKS: (f64, f64) = (-0.8, 1.4);
const STEP_SAMPLES: f64 = 0.5;

/// What is slower than so many picks (the sigma of a Gaussian) is the band's lie.
const SLOW_PICKS: f64 = 2.0;

/// Share of a phase's rows whose selvedge lies no farther out than the phase's.
const OUTER: f64 = 0.75;

/// So many samples from the selvedge nothing of its blur is left: for colours, and for an edge.
const BLUR_SAMPLES: (f64, f64) = (1.5, 2.5);

/// Turns reach no farther out, and from here on all is ground; in picks.
const FARTHEST_TURN: f64 = 0.75;
const GROUND_PICKS: f64 = 1.0;

/// A shadow's share of the ground's light.
const SHADOW: (f64, f64) = (0.3, 1.03);

/// How far a colour of the cloth is from any shadow, and one beyond the selvedge, CIE L*a*b*.
const NO_SHADOW: (f64, f64) = (4.0, 2.8);

/// A known colour is nearer than so many times the nearest shadow's.
const KNOWN: f64 = 0.6;

/// A turn lies at no more of the phases at one distance.
const MOST_PHASES: f64 = 0.8;

/// Known colours on so much of a pick by a pick are a turn.
const TURN_AREA: f64 = 0.01;

/// Sharpness of a yarn's edge over what is usual there, CIE L*a*b* a step, and the Gaussian (steps) that it is taken by.
const SHARP: f64 = 0.8;
const EDGE_SIGMA: f64 = 1.5;

/// A turn differs from the other phases by so much, CIE L*a*b*, and everywhere by such a share of its greatest difference.
const TURN_DIFFERS: f64 = 2.0;
const EVERYWHERE: f64 = 0.5;

/// How far out turns seem to lie beyond the selvedges that were followed, mm; `None` where nothing says so.
///
/// `centres_mm` are the picks' middles in the trace's own `s`.
#[must_use]
pub fn hidden_turns(trace: &BandTrace, centres_mm: &[f64]) -> Option<f64> {
    if centres_mm.len() < FEWEST_PICKS {
        return None;
    }
    let sides = [(&trace.left_mm, -1.0), (&trace.right_mm, 1.0)];
    let reaches = sides.into_iter().filter_map(|(edge_mm, outward)| {
        let folded = Folded::new(trace, (edge_mm, outward), centres_mm)?;
        let (known, second) = (folded.known_colours(), folded.second_edge());
        known.into_iter().chain(second).max_by(f64::total_cmp)
    });
    reaches.max_by(f64::total_cmp)
}

/// What lies beside one selvedge, folded over two picks.
struct Folded {
    /// Distance outward from the selvedge's slow run, mm.
    at_mm: Vec<f64>,
    /// CIE L*a*b*, of the shape (phases, distances, 3).
    lab: Array3<f64>,
    /// The selvedge at each phase, mm outward.
    edge_mm: [f64; PHASES],
    sample_mm: f64,
    pitch_mm: f64,
}

impl Folded {
    fn new(
        trace: &BandTrace,
        (edge_mm, outward): (&[f64], f64),
        centres_mm: &[f64],
    ) -> Option<Self> {
        let straight = &trace.straight;
        let step = straight.step_mm;
        let gaps: Vec<f64> = centres_mm
            .windows(2)
            .map(|pair| pair[1] - pair[0])
            .collect();
        let pitch_mm = median(&gaps).filter(|pitch| *pitch > 2.0 * step)?;
        let out: Vec<f64> = edge_mm.iter().map(|t| outward * t).collect();
        let quick = without_slow(&out, SLOW_PICKS * pitch_mm / step);
        let rows = rows_by_phase((trace, outward), centres_mm, &gaps);
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

    fn colour(&self, phase: usize, k: usize) -> [f64; 3] {
        [0, 1, 2].map(|plane| self.lab[[phase, k, plane]])
    }

    /// The steps whose distance lies between two, mm.
    fn steps(&self, from_mm: f64, to_mm: f64) -> Range<usize> {
        let first = self.at_mm.partition_point(|at| *at <= from_mm);
        first..self.at_mm.partition_point(|at| *at < to_mm).max(first)
    }

    fn innermost_mm(&self) -> f64 {
        self.edge_mm.iter().copied().fold(f64::MAX, f64::min)
    }

    /// How far beyond the selvedge colours lie that the cloth has and no shadow, mm; `None` where there are too few.
    fn known_colours(&self) -> Option<f64> {
        let inner = self.innermost_mm();
        let outside = self.steps(GROUND_PICKS * self.pitch_mm, f64::MAX);
        let ground = [0, 1, 2].map(|plane| {
            let all: Vec<f64> = (0..PHASES)
                .flat_map(|phase| outside.clone().map(move |k| self.lab[[phase, k, plane]]))
                .collect();
            median(&all).unwrap_or(0.0)
        });
        let inside = self.steps(
            inner + REACH_PICKS.0 * self.pitch_mm,
            inner - self.sample_mm,
        );
        let cloth: Vec<[f64; 3]> = (0..PHASES)
            .flat_map(|phase| inside.clone().map(move |k| self.colour(phase, k)))
            .filter(|lab| from_shadow(lab, &ground) > NO_SHADOW.0)
            .collect();
        let is_known = |lab: [f64; 3]| {
            let shadow = from_shadow(&lab, &ground);
            let near = |own: &[f64; 3]| distance(&lab, own) < KNOWN * shadow;
            shadow > NO_SHADOW.1 && cloth.iter().any(near)
        };
        let beyond = self.edge_mm.map(|edge| {
            self.steps(
                edge + BLUR_SAMPLES.0 * self.sample_mm,
                inner + FARTHEST_TURN * self.pitch_mm,
            )
        });
        let (mut cells, mut farthest) = (0, 0.0_f64);
        for k in 0..self.at_mm.len() {
            let phases: Vec<usize> = (0..PHASES).filter(|p| beyond[*p].contains(&k)).collect();
            let known: Vec<&usize> = phases
                .iter()
                .filter(|phase| is_known(self.colour(**phase, k)))
                .collect();
            // What all phases show is a blurred selvedge.
            if known.len() as f64 > MOST_PHASES * phases.len() as f64 {
                continue;
            }
            cells += known.len();
            for phase in known {
                farthest = farthest.max(self.at_mm[k] - self.edge_mm[*phase]);
            }
        }
        let cell = 2.0 / PHASES as f64 * STEP_SAMPLES * self.sample_mm / self.pitch_mm;
        (cells as f64 * cell > TURN_AREA).then_some(farthest)
    }

    /// How far beyond the selvedge a phase that differs from the others ends sharply, mm.
    fn second_edge(&self) -> Option<f64> {
        let sharp = self.sharpness();
        let usual: Vec<f64> = (0..self.at_mm.len())
            .map(|k| median(&sharp.each_ref().map(|phase| phase[k])).unwrap_or(0.0))
            .collect();
        let outermost = self.edge_mm.iter().copied().fold(f64::MIN, f64::max);
        let sought = self.steps(
            outermost + BLUR_SAMPLES.1 * self.sample_mm,
            outermost + FARTHEST_TURN * self.pitch_mm,
        );
        let colours = self.usual_colours();
        let mut farthest: Option<f64> = None;
        for (phase, (own, edge)) in sharp.iter().zip(self.edge_mm).enumerate() {
            let differs = |k: usize| distance(&self.colour(phase, k), &colours[k]);
            for k in sought.clone().skip(1) {
                let peaks = k + 1 < sought.end && own[k] >= own[k - 1] && own[k] > own[k + 1];
                let before = self.steps(edge, self.at_mm[k]);
                let within = self.steps(
                    edge + BLUR_SAMPLES.0 * self.sample_mm,
                    self.at_mm[k] - self.sample_mm,
                );
                if !peaks || within.is_empty() {
                    continue;
                }
                let valley = own[before].iter().copied().fold(f64::MAX, f64::min);
                let least = within.clone().map(differs).fold(f64::MAX, f64::min);
                let most = within.map(differs).fold(0.0, f64::max);
                let holds_on = least > EVERYWHERE * most && least > TURN_DIFFERS;
                if holds_on && own[k] - valley.max(usual[k]) > SHARP {
                    let reach = self.at_mm[k] - edge;
                    farthest = Some(farthest.map_or(reach, |f| f.max(reach)));
                }
            }
        }
        farthest
    }

    /// By how much the colour changes in a step outward, at each phase and distance.
    fn sharpness(&self) -> [Vec<f64>; PHASES] {
        let n = self.at_mm.len();
        let smoother = Smoother::new(n, EDGE_SIGMA);
        std::array::from_fn(|phase| {
            let [light, a, b] = [0, 1, 2].map(|plane| {
                let own: Vec<f64> = (0..n).map(|k| self.lab[[phase, k, plane]]).collect();
                smoother.smooth(&own)
            });
            let colour = |k: usize| [light[k], a[k], b[k]];
            (0..n)
                .map(|k| {
                    let (before, after) = (k.saturating_sub(1), (k + 1).min(n - 1));
                    0.5 * distance(&colour(after), &colour(before))
                })
                .collect()
        })
    }

    /// The usual colour of all phases at each distance.
    fn usual_colours(&self) -> Vec<[f64; 3]> {
        let usual = |k: usize, plane: usize| {
            let all: [f64; PHASES] = std::array::from_fn(|phase| self.lab[[phase, k, plane]]);
            median(&all).unwrap_or(0.0)
        };
        (0..self.at_mm.len())
            .map(|k| [0, 1, 2].map(|plane| usual(k, plane)))
            .collect()
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

/// A row's value at a column between samples; beyond its ends what stands there.
fn between(plane: &Array2<f32>, row: usize, column: f64) -> f64 {
    let column = column.clamp(0.0, (plane.ncols() - 1) as f64);
    let (before, after) = (column.floor() as usize, column.ceil() as usize);
    let share = column - before as f64;
    f64::from(plane[[row, before]]) * (1.0 - share) + f64::from(plane[[row, after]]) * share
}

/// How far a colour lies from the nearest that the ground has in some shadow.
fn from_shadow(lab: &[f64; 3], ground: &[f64; 3]) -> f64 {
    let dot = |a: &[f64; 3], b: &[f64; 3]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let light = dot(lab, ground) / dot(ground, ground).max(1e-9);
    let light = light.clamp(SHADOW.0, SHADOW.1);
    distance(lab, &ground.map(|v| v * light))
}

fn distance(a: &[f64; 3], b: &[f64; 3]) -> f64 {
    a.iter()
        .zip(b)
        .map(|(a, b)| (a - b).powi(2))
        .sum::<f64>()
        .sqrt()
}
