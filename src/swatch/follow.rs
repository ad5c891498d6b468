//! Where is every pick, once its spacing is about known?
//!
//! # Method
//! 1. At a size where a pick is eight to sixteen samples long, cut the picture into strips a few
//!    picks wide, and turn each mark of each strip into a complex wave: how far it is into the
//!    pick's cycle at every row.
//! 2. From row to row the waves of all strips and marks together say by how much the cycle goes on;
//!    added up, that is the phase. Strips where the weft is hidden or slips count little, for their
//!    waves are short. Repeated along the phase found, with a narrower filter.
//! 3. The strips' own offsets (a slanting or bowed weft) are smoothed along the cloth; their mean is
//!    the row's offset at the middle of the width.
//! 4. A short filter at last gives each pick its own place.
//!
//! # Limits
//! The spacing may change along the cloth, by no more than about a fifth within a few picks.

use rayon::prelude::*;
use rustfft::num_complex::Complex;

use super::marks::{MARKS, Mark, marks};
use super::pyramid::Level;
use super::spacing::Candidate;
use super::waves::{Wave, one_voice, smooth, strip_sum, turns};
use crate::stats::{gaussian_smooth, median};

/// Picks to a strip's width.
const STRIP_PICKS: f64 = 3.0;

/// Standard deviations of the filters along the cloth, picks, one round each.
const ROUNDS: [f64; 3] = [1.4, 2.0, 3.0];

/// Picks over which the first frequency is settled, and the frequencies tried: natural logarithm of
/// a step, and steps to each side.
const STEADY_PICKS: f64 = 24.0;
const STEADY_STEP: f64 = 0.004;
const STEADY_STEPS: i32 = 25;

/// Standard deviation, picks, over which a round's steps are smoothed for the next.
const STEADIED_PICKS: f64 = 5.0;

/// A wave shorter than this share of the usual one is faint: a pick may be lost or won there.
const FAINT_SHARE: f64 = 0.3;

/// The same for the strips' offsets, and for a pick's own place.
const OFFSET_PICKS: f64 = 7.0;
const OWN_PICKS: f64 = 0.5;

/// Groups of strips whose counts are held against each other.
const GROUPS: usize = 4;

/// The pick's phase along the cloth.
#[derive(Clone, Debug)]
pub(super) struct Phase {
    /// Phase in picks at each row of the level: whole numbers in the middle of a pick.
    pub(super) picks: Vec<f64>,
    /// The same from two disjoint halves of the width.
    pub(super) halves: [Vec<f64>; 2],
    /// Picks over the whole length by each group of strips.
    pub(super) counts: Vec<f64>,
    /// How much of the strips' waves points the same way, 0 to 1.
    pub(super) together: f64,
    /// Slope of the weft against square: rows of the picture to a column, positive where it comes
    /// later on the weaver's right.
    pub(super) slope: f64,
    /// Stretches, at least half a pick long, where the weft is faint.
    pub(super) faint: usize,
}

/// Follows the picks through one size of the picture.
pub(super) fn follow(level: &Level, pick: &Candidate) -> Phase {
    let (along, across) = (pick.along * level.factor, pick.across * level.factor);
    let spacing = 1.0 / along;
    let strips = Strips::new(level, spacing, across);
    let rows = level.picture.nrows();
    let everyone: Vec<usize> = (0..strips.count).collect();
    let along = strips.steadiest(along);
    let mut phase: Vec<f64> = (0..rows).map(|i| along * i as f64).collect();
    for (round, sigma) in ROUNDS.into_iter().enumerate() {
        let waves = strips.waves(&phase, sigma * spacing);
        let steps = strips.steps(&waves, &everyone);
        advance(&mut phase, &steadied(&steps, round, spacing));
    }
    let waves = strips.waves(&phase, ROUNDS[ROUNDS.len() - 1] * spacing);
    let offsets = strips.offsets(&waves, OFFSET_PICKS * spacing);
    let counts = groups(strips.count)
        .iter()
        .map(|group| {
            let steps = strips.steps(&waves, group);
            whole_length(&phase) + steps.iter().sum::<f64>()
        })
        .collect();
    let own = strips.waves(&phase, OWN_PICKS * spacing);
    let place = |take: &[usize]| strips.placed(&phase, &own, &offsets, take, spacing);
    let half =
        |k: usize| -> Vec<usize> { everyone.iter().copied().filter(|b| b % 2 == k).collect() };
    let (picks, together) = place(&everyone);
    let halves = [0, 1].map(|k| {
        let take = half(k);
        if take.is_empty() {
            picks.clone()
        } else {
            place(&take).0
        }
    });
    Phase {
        picks,
        halves,
        counts,
        together,
        slope: strips.slope(&offsets, along, across),
        faint: strips.faint(&own, &offsets, spacing),
    }
}

/// Picks from the outer edge of the first row to the outer edge of the last.
fn whole_length(phase: &[f64]) -> f64 {
    let n = phase.len();
    let (first, last) = (phase[1] - phase[0], phase[n - 1] - phase[n - 2]);
    phase[n - 1] - phase[0] + 0.5 * (first + last)
}

/// The steps of a round as the next one starts from: smoothed but for the last, so that a slip where
/// the weft is faint doesn't stay.
fn steadied(steps: &[f64], round: usize, spacing: f64) -> Vec<f64> {
    if round + 1 == ROUNDS.len() {
        return steps.to_vec();
    }
    gaussian_smooth(steps, STEADIED_PICKS * spacing)
}

/// Adds the steps (picks from each row to the next) to the phase.
fn advance(phase: &mut [f64], steps: &[f64]) {
    let mut sum = 0.0;
    for (value, step) in phase.iter_mut().skip(1).zip(steps) {
        sum += step;
        *value += sum;
    }
}

/// The strips dealt into neighbourhoods across the width.
fn groups(count: usize) -> Vec<Vec<usize>> {
    let groups = GROUPS.min(count);
    (0..groups)
        .map(|g| (g * count / groups..(g + 1) * count / groups).collect())
        .collect()
}

/// One complex series a strip and mark: the strip's sum at the weft's slant.
struct Strips {
    /// `[strip][mark]`, each one value a row.
    sums: Vec<Vec<Wave>>,
    count: usize,
    /// Width of a strip, samples.
    strip_width: f64,
    /// The mark whose waves the places are read from.
    lead: usize,
}

impl Strips {
    fn new(level: &Level, spacing: f64, across: f64) -> Self {
        let all = marks(&level.picture);
        let (rows, columns) = level.picture.dim();
        let width = (STRIP_PICKS * spacing).min(columns as f64);
        let count = ((columns as f64 / width).floor() as usize).max(1);
        let middle = 0.5 * (columns as f64 - 1.0);
        let turn: Wave = (0..columns)
            .map(|j| {
                Complex::from_polar(1.0, -std::f64::consts::TAU * across * (j as f64 - middle))
            })
            .collect();
        let mut sums: Vec<Vec<Wave>> = (0..count)
            .into_par_iter()
            .map(|b| {
                let (from, to) = (b * columns / count, (b + 1) * columns / count);
                all.iter()
                    .map(|mark| strip_sum(mark, &turn, from, to))
                    .collect()
            })
            .collect();
        // Each mark by its own spread, so that none drowns the others.
        for k in 0..MARKS {
            let square: f64 = sums.iter().flat_map(|s| &s[k]).map(Complex::norm_sqr).sum();
            let scale = if square > 0.0 {
                (square / (rows * count) as f64).sqrt().recip()
            } else {
                0.0
            };
            for strip in &mut sums {
                strip[k].iter_mut().for_each(|z| *z *= scale);
            }
        }
        let mut strips = Self {
            sums,
            count,
            strip_width: columns as f64 / count as f64,
            lead: 0,
        };
        strips.lead = strips.strongest(1.0 / spacing, spacing);
        strips
    }

    /// The mark with the most power at the pick's own frequency.
    fn strongest(&self, along: f64, spacing: f64) -> usize {
        let rows = self.sums[0][0].len();
        let phase: Vec<f64> = (0..rows).map(|i| along * i as f64).collect();
        let waves = self.waves(&phase, spacing);
        let power = |k: usize| -> f64 {
            waves
                .iter()
                .flat_map(|w| &w[k])
                .map(Complex::norm_sqr)
                .sum()
        };
        // Brightness, crown and furrow say where the middle is; flanks lie beside it.
        [Mark::Brightness, Mark::Crown, Mark::Furrow]
            .into_iter()
            .map(|mark| mark as usize)
            .max_by(|&a, &b| power(a).total_cmp(&power(b)))
            .unwrap_or(0)
    }

    /// The frequency near `along` that the strips' waves agree on over [`STEADY_PICKS`]: a start
    /// that leans neither way, for where the weft is faint the phase goes on as it started.
    fn steadiest(&self, along: f64) -> f64 {
        let rows = self.sums[0][0].len();
        let length = ((STEADY_PICKS / along) as usize).clamp(8, rows);
        let hop = (length / 2).max(1);
        let window: Vec<f64> = (0..length)
            .map(|i| 0.5 - 0.5 * (std::f64::consts::TAU * (i as f64 + 0.5) / length as f64).cos())
            .collect();
        let power = |frequency: f64| -> f64 {
            let turn: Wave = window
                .iter()
                .enumerate()
                .map(|(i, w)| {
                    Complex::from_polar(*w, -std::f64::consts::TAU * frequency * i as f64)
                })
                .collect();
            let of = |sum: &Wave| -> f64 {
                (0..=rows - length)
                    .step_by(hop)
                    .map(|from| {
                        let part = sum[from..from + length].iter().zip(&turn);
                        part.map(|(z, t)| z * t).sum::<Complex<f64>>().norm_sqr()
                    })
                    .sum()
            };
            self.sums.iter().flatten().map(of).sum()
        };
        let tries: Vec<f64> = (-STEADY_STEPS..=STEADY_STEPS)
            .map(|k| along * (STEADY_STEP * f64::from(k)).exp())
            .collect();
        let powers: Vec<f64> = tries.par_iter().map(|f| power(*f)).collect();
        let best = (0..tries.len()).max_by(|&a, &b| powers[a].total_cmp(&powers[b]));
        best.map_or(along, |k| tries[k])
    }

    /// The waves against `phase`, smoothed over `sigma` rows.
    fn waves(&self, phase: &[f64], sigma: f64) -> Vec<Vec<Wave>> {
        let back: Wave = phase
            .iter()
            .map(|p| Complex::from_polar(1.0, -std::f64::consts::TAU * p))
            .collect();
        self.sums
            .par_iter()
            .map(|marks| {
                marks
                    .iter()
                    .map(|sum| {
                        let turned: Wave = sum.iter().zip(&back).map(|(z, b)| z * b).collect();
                        smooth(&turned, sigma)
                    })
                    .collect()
            })
            .collect()
    }

    /// Picks to add to the phase from each row to the next, by the strips in `take`: every strip has
    /// one voice, for where two picks lie far apart their furrow is darker, and would outvote the rest.
    fn steps(&self, waves: &[Vec<Wave>], take: &[usize]) -> Vec<f64> {
        let rows = waves[0][0].len();
        let voices: Vec<Wave> = take
            .iter()
            .map(|&b| {
                let step = |i: usize| -> Complex<f64> {
                    waves[b]
                        .iter()
                        .map(|wave| wave[i] * wave[i - 1].conj())
                        .sum()
                };
                one_voice((1..rows).map(step).collect())
            })
            .collect();
        let sums: Vec<Complex<f64>> = (0..rows - 1)
            .map(|i| voices.iter().map(|voice| voice[i]).sum())
            .collect();
        turns(&sums)
    }

    /// Each strip's offset at each row, in picks against the middle of the width.
    fn offsets(&self, waves: &[Vec<Wave>], sigma: f64) -> Vec<Vec<f64>> {
        let slow: Vec<Wave> = waves
            .par_iter()
            .map(|w| smooth(&w[self.lead], sigma))
            .collect();
        let rows = slow[0].len();
        let mut offsets = vec![vec![0.0; rows]; self.count];
        for i in 0..rows {
            // From strip to strip the offset goes on by less than half a pick.
            for b in 1..self.count {
                let step = (slow[b][i] * slow[b - 1][i].conj()).arg() / std::f64::consts::TAU;
                offsets[b][i] = offsets[b - 1][i] + step;
            }
            let mean = offsets.iter().map(|o| o[i]).sum::<f64>() / self.count as f64;
            offsets.iter_mut().for_each(|o| o[i] -= mean);
        }
        offsets
    }

    /// Rows to a column by which the weft lies later on the right.
    fn slope(&self, offsets: &[Vec<f64>], along: f64, across: f64) -> f64 {
        let rows = offsets[0].len() as f64;
        let mean = |b: usize| offsets[b].iter().sum::<f64>() / rows;
        let apart = (self.count - 1) as f64 * self.strip_width;
        let own = if self.count > 1 {
            (mean(self.count - 1) - mean(0)) / apart
        } else {
            0.0
        };
        -(across + own) / along
    }

    /// Stretches, at least half a pick long, where all strips together show little of the weft.
    fn faint(&self, own: &[Vec<Wave>], offsets: &[Vec<f64>], spacing: f64) -> usize {
        let rows = own[0][0].len();
        let lengths: Vec<f64> = (0..rows)
            .map(|i| {
                let turned = (0..self.count).map(|b| {
                    let back = -std::f64::consts::TAU * offsets[b][i];
                    own[b][self.lead][i] * Complex::from_polar(1.0, back)
                });
                turned.sum::<Complex<f64>>().norm()
            })
            .collect();
        let least = FAINT_SHARE * median(&lengths).unwrap_or(0.0);
        let (mut stretches, mut run) = (0, 0.0);
        for length in lengths.iter().chain([&f64::INFINITY]) {
            if *length < least {
                run += 1.0;
            } else {
                stretches += usize::from(run >= 0.5 * spacing);
                run = 0.0;
            }
        }
        stretches
    }

    /// The phase at the middle of the width with each pick's own place, and how much of the waves
    /// points the same way.
    fn placed(
        &self,
        phase: &[f64],
        own: &[Vec<Wave>],
        offsets: &[Vec<f64>],
        take: &[usize],
        spacing: f64,
    ) -> (Vec<f64>, f64) {
        let (mut along, mut all) = (0.0, 0.0);
        let mut mean = Complex::new(0.0, 0.0);
        let mut last = 0.0;
        let own: Vec<f64> = (0..phase.len())
            .map(|i| {
                let mut sum = Complex::new(0.0, 0.0);
                for &b in take {
                    let z = own[b][self.lead][i];
                    sum += z * Complex::from_polar(1.0, -std::f64::consts::TAU * offsets[b][i]);
                    all += z.norm();
                }
                along += sum.norm();
                mean += sum;
                let angle = sum.arg() / std::f64::consts::TAU;
                // It goes on from row to row without a jump.
                last = angle - (angle - last).round();
                last
            })
            .collect();
        let slow = gaussian_smooth(&own, OFFSET_PICKS * spacing);
        let furrow = if self.lead == Mark::Furrow as usize {
            0.5
        } else {
            0.0
        };
        let common = mean.arg() / std::f64::consts::TAU + furrow;
        let placed = (0..phase.len())
            .map(|i| phase[i] + common + own[i] - slow[i])
            .collect();
        (placed, if all > 0.0 { along / all } else { 0.0 })
    }
}
