//! Which repeat is the pick?
//!
//! # Method
//! 1. For every distance from [`LEAST_PERIOD`] samples to a quarter of the cloth, and every
//!    direction within [`MOST_TILT`] of the weaving's: the powers of the five marks at that
//!    repeat, multiplied. Flanks and furrows come once to a pick whatever its colour, so that the
//!    pick stands out from its double, its half and a stripe. (Brightness alone chose right on 54 of
//!    72 drawn bands of any weave and colour, flanks alone on 60.)
//! 2. Plain weave says it once more: neighbouring ends are in antiphase, so its strongest repeats
//!    lie at half the pick's frequency, to both sides. A pair like that speaks for the pick at twice
//!    its frequency, even where the pick itself hardly shows (ends packed over a hidden weft).
//!    How far aslant it lies counts too: a twill's own lines repeat as its picks do.
//! 3. Where a plan says how many picks to expect, its word counts by its usual error.
//! 4. By that, or by that and what strips of the cloth say (`strips`): the best, and how far it stands above the best other one; and the best of those that are much finer: where
//!    checks or ribs repeat more clearly than the threads that they are made of, these are seen there.

use super::marks::Mark;
use super::pyramid::Level;
use super::spectrum::{BINS, Spectrum};

/// Shortest period that is looked at, samples: below it, only the picture's own grid would show.
pub(super) const LEAST_PERIOD: f64 = 2.3;

/// Periods that one level looks at, samples; the finest also looks at shorter ones.
const PERIODS: (f64, f64) = (5.0, 7.1);

/// Farthest that the weft may lie from square to the weaving, as a tangent: 12°.
const MOST_TILT: f64 = 0.2126;

/// Spread of how far aslant a person lays cloth or holds a camera, as a tangent: 4°; a twill's own lines lie farther.
/// Common practice, no source.
const TILT_SPREAD: f64 = 0.07;

/// Exponents of the marks' powers: brightness, flanks (rising and falling added), crown, furrow.
const WEIGHTS: [f64; 4] = [0.5, 1.5, 0.5, 1.0];

/// Weight of the antiphase pair.
const PAIR_WEIGHT: f64 = 1.5;

/// Power of the pair from which it counts, against even noise.
const PAIR_FLOOR: f64 = 10.0;

/// How much a mean of few patches is distrusted: the strongest of many bins of plain noise stands
/// higher, the fewer patches are averaged.
const FEW_PATCHES: f64 = 2.0;

/// Two spacings nearer than this (natural logarithm) are one.
const SAME: f64 = 0.2;

/// A spacing is much finer from so many times as many threads on: what comes twice to a pick may be its flanks.
const MUCH_FINER: f64 = 2.3;

/// Spread (natural logarithm) of how far cloth misses its plan, and the most that this may weigh.
const PLAN_SPREAD: (f64, f64) = (0.25, 4.0);

/// What a point of the marks' score is worth (natural logarithm) where nothing else speaks.
const SCORE_WORTH: f64 = 1.5;

/// A repeat that may be the pick.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Candidate {
    /// Cycles a finest sample along.
    pub(super) along: f64,
    /// Cycles a finest sample across.
    pub(super) across: f64,
    /// How much speaks for it, natural logarithm.
    pub(super) score: f64,
    /// How likely it is beforehand, natural logarithm: 0 where it lies square and as the plan says, if there is one.
    pub(super) usual: f64,
    /// Power of the antiphase pair that spoke for it.
    pub(super) pair: f64,
}

/// A repeat and what it is worth, a logarithm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Worth {
    pub(super) candidate: Candidate,
    pub(super) worth: f64,
}

impl Worth {
    /// The repeats that stand above those beside them, by the marks alone; `all` are in order.
    pub(super) fn by_marks(all: &[Candidate]) -> Vec<Self> {
        let worth = |c: &Candidate| SCORE_WORTH * (c.score + c.usual);
        peaks(all, worth)
            .map(|candidate| Self {
                candidate,
                worth: worth(&candidate),
            })
            .collect()
    }
}

/// The best repeat, the best other one, and the best of those that are much finer.
#[derive(Clone, Copy, Debug)]
pub(super) struct Choice {
    pub(super) best: Candidate,
    pub(super) other: Option<Candidate>,
    /// How much more is worth (natural logarithm of the odds) the best one than the best other one.
    pub(super) margin: f64,
    /// The same by the marks alone; 0 where they choose another one.
    pub(super) margin_by_marks: f64,
    /// By the marks' score.
    pub(super) finer: Option<Candidate>,
}

impl Choice {
    /// The one that is worth most; `all` are the marks' repeats in order. `None` without any.
    pub(super) fn of(all: &[Candidate], worths: &[Worth]) -> Option<Self> {
        let most = |a: &&Worth, b: &&Worth| a.worth.total_cmp(&b.worth);
        let best = worths.iter().max_by(most)?;
        let ratio = |c: &Candidate| c.along / best.candidate.along;
        let others = worths
            .iter()
            .filter(|w| ratio(&w.candidate).ln().abs() > SAME);
        let other = others.max_by(most);
        let finer = peaks(all, |c| c.score).filter(|c| ratio(c) > MUCH_FINER);
        let margin = other.map_or(f64::INFINITY, |w| best.worth - w.worth);
        Some(Self {
            best: best.candidate,
            other: other.map(|w| w.candidate),
            margin,
            margin_by_marks: margin,
            finer: finer.max_by(|a, b| a.score.total_cmp(&b.score)),
        })
    }

    /// The same beside what the marks alone choose.
    pub(super) fn beside(self, by_marks: &Self) -> Self {
        let same = (self.best.along / by_marks.best.along).ln().abs() <= SAME;
        Self {
            margin_by_marks: if same { by_marks.margin } else { 0.0 },
            ..self
        }
    }
}

/// Those that stand no lower than the ones beside them.
fn peaks(all: &[Candidate], height: impl Fn(&Candidate) -> f64) -> impl Iterator<Item = Candidate> {
    let heights: Vec<f64> = all.iter().map(height).collect();
    let peak = move |k: usize| {
        (k == 0 || heights[k] >= heights[k - 1])
            && (k + 1 == heights.len() || heights[k] >= heights[k + 1])
    };
    (0..all.len()).filter(move |&k| peak(k)).map(|k| all[k])
}

/// All repeats that may be the pick, in order; `planned` is the planned spacing in finest samples.
pub(super) fn repeats(levels: &[Level], planned: Option<f64>) -> Vec<Candidate> {
    let mut all: Vec<Candidate> = levels
        .iter()
        .flat_map(|level| candidates(level, &Spectrum::of(&level.picture)))
        .map(|candidate| weighed(candidate, planned))
        .collect();
    all.sort_by(|a, b| a.along.total_cmp(&b.along));
    all
}

/// With the plan's word.
fn weighed(mut candidate: Candidate, planned: Option<f64>) -> Candidate {
    if let Some(planned) = planned {
        let off = (1.0 / candidate.along / planned).ln() / PLAN_SPREAD.0;
        candidate.usual -= (0.5 * off * off).min(PLAN_SPREAD.1);
    }
    candidate
}

/// One candidate for each bin along that a level looks at: the direction with the most to say.
fn candidates(level: &Level, spectrum: &Spectrum) -> Vec<Candidate> {
    let finest = level.factor < 1.1;
    let shortest = if finest { LEAST_PERIOD } else { PERIODS.0 };
    let bins = BINS as f64;
    let distrust =
        WEIGHTS.iter().sum::<f64>() * (1.0 + FEW_PATCHES / (spectrum.patches as f64).sqrt()).ln();
    let (from, to) = (
        (bins / PERIODS.1).ceil() as usize,
        (bins / shortest).floor() as usize,
    );
    (from..=to)
        .map(|u| {
            let reach = ((u as f64 * MOST_TILT).round() as i64).max(1);
            let usual = |v: i64| -0.5 * (v as f64 / u as f64 / TILT_SPREAD).powi(2);
            let (score, across) = (-reach..=reach)
                .map(|v| (score(spectrum, u, v), v))
                .max_by(|a, b| {
                    let worth = |(score, v): &(f64, i64)| score + usual(*v);
                    worth(a)
                        .total_cmp(&worth(b))
                        .then(b.1.abs().cmp(&a.1.abs()))
                })
                .unwrap_or((f64::NEG_INFINITY, 0));
            let pair = antiphase(spectrum, u);
            Candidate {
                along: u as f64 / bins / level.factor,
                across: across as f64 / bins / level.factor,
                score: score + PAIR_WEIGHT * (1.0 + pair / PAIR_FLOOR).ln() - distrust,
                usual: usual(across),
                pair,
            }
        })
        .collect()
}

/// What the five marks say of one repeat.
fn score(spectrum: &Spectrum, along: usize, across: i64) -> f64 {
    let power = |mark: Mark| spectrum.at(mark as usize, along, across).max(1e-3);
    let flanks = power(Mark::Rising) + power(Mark::Falling);
    let parts = [
        power(Mark::Brightness),
        flanks,
        power(Mark::Crown),
        power(Mark::Furrow),
    ];
    parts
        .iter()
        .zip(WEIGHTS)
        .map(|(part, weight)| weight * part.ln())
        .sum()
}

/// The strongest pair of brightness at half the frequency along, mirrored across: the geometric mean
/// of its two powers.
fn antiphase(spectrum: &Spectrum, along: usize) -> f64 {
    let half = along / 2;
    let near = |v: i64| {
        (half.saturating_sub(1)..=half + 1)
            .flat_map(|u| (v - 1..=v + 1).map(move |v| (u, v)))
            .map(|(u, v)| spectrum.at(Mark::Brightness as usize, u, v))
            .fold(0.0, f64::max)
    };
    let last = BINS as i64 / 2 - 4;
    // Ends from a third to three times as dense as picks.
    let from = (half as i64 / 3).max(4);
    (from..=last.min(3 * half as i64))
        .map(|v| (near(v) * near(-v)).sqrt())
        .fold(0.0, f64::max)
}
