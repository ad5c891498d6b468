//! From phases to picks: the middle of every pick of the body, and how many there are.
//!
//! # Method
//! 1. Where the followed phase passes a row's middle there is a pick, as far as the body goes (`body_picks`).
//! 2. Each is placed by itself, against the repeat folded along the places (`place`).
//! 3. Then all are placed together (`together`), by the weft that is told from the warp so (`weft_told`), from where
//!    they lie without the share by which they gave way to their neighbours (`settle`): the repeat, folded along
//!    them, is the sharper.

use super::body_picks::of_the_body;
use super::cloth::Cloth;
use super::count_doubt::CountSigns;
use super::phase::Phases;
use super::place::{Placed, Placing, fold_along, spacing_around};
use super::rows::Fit;
use super::seen_ends::SeenEnd;
use super::settle::{level_rows, undo_give};
use super::together::Together;
use super::weft_told::{placed_together, weaves};

/// Two middles never lie closer than this share of the spacing.
const CLOSEST: f64 = 0.2;

/// Standard uncertainty of a pick that is only followed, not placed, spacings.
const UNPLACED_U: f64 = 0.2;

/// One pick that was found.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Found {
    /// Row of the picture's repeat, from 0.
    pub(crate) row: usize,
    pub(crate) placed: Placed,
}

/// The picks, placed on all columns and on two halves of them.
pub(crate) struct Located {
    pub(crate) picks: Vec<Found>,
    pub(crate) halves: [Vec<Placed>; 2],
    /// Middles of the picks, each placed by itself, samples.
    pub(crate) alone: Vec<f64>,
    /// What the count rests on; `None` where it couldn't be settled.
    pub(crate) signs: Option<CountSigns>,
}

impl Located {
    /// Samples a pick around pick `n`.
    pub(crate) fn spacing(&self, n: usize) -> f64 {
        spacing_around(self.picks.len(), n, |k| self.picks[k].placed.sample)
    }
}

/// What is known of the body's ends before its picks are told.
#[derive(Clone, Debug)]
pub(crate) struct EndsKnown {
    /// Where the body was seen to begin and to end.
    pub(crate) seen: [SeenEnd; 2],
    /// One standard uncertainty of what all middles share, picks.
    pub(crate) share_u: f64,
    /// Whether the drawdown is known.
    pub(crate) planned: bool,
    /// Whether a person said where the ends lie: then every place between them holds a pick, whatever
    /// it looks like.
    pub(crate) by_hand: bool,
}

/// Finds the samples of all picks inside the body and refines them.
pub(crate) fn locate(cloth: &Cloth, phases: &Phases, fit: &Fit, ends: &EndsKnown) -> Located {
    let (mut found, offset, signs) = of_the_body(cloth, phases, fit, ends);
    let fit = &Fit {
        offset,
        ..fit.clone()
    };
    let (middles, row_phases) = lines(&found, fit);
    let template = phases.template_of(&cloth.samples, cloth.body);
    let placing = Placing {
        samples: &cloth.samples,
        bounds: cloth.inside(),
        template: &fold_along(&cloth.samples, &middles, &row_phases, &template),
        middles: &middles,
        phases: &row_phases,
    };
    let (placed, fitted) = placing.run();
    put(&mut found, placed);
    let (middles, _) = lines(&found, fit);
    let together = Together::new(cloth, (row_phases, fitted), fit.expected.len());
    let start = without_give(&middles, &found, fit);
    let halves = match placed_together(&together, &start, weaves(cloth, fit, &found)) {
        Some(placed) => {
            let halves = placed.halves(&together, fit.expected[0].len());
            let all = moved(&found, &placed.middles);
            put(&mut found, all);
            halves.map(|half| moved(&found, &half))
        }
        None => [moved(&found, &middles), moved(&found, &middles)],
    };
    Located {
        picks: found,
        halves,
        alone: middles,
        signs,
    }
}

/// The middles less what they gave way; each row stays as far off as it lies.
fn without_give(middles: &[f64], found: &[Found], fit: &Fit) -> Vec<f64> {
    let mut level = middles.to_vec();
    let row_of: Vec<usize> = found.iter().map(|f| f.row).collect();
    level_rows(&mut level, &row_of, fit.expected.len());
    let back = undo_give(&level);
    let moves = back.iter().zip(&level).map(|(back, level)| back - level);
    middles.iter().zip(moves).map(|(m, by)| m + by).collect()
}

/// The picks at other middles.
fn moved(found: &[Found], middles: &[f64]) -> Vec<Placed> {
    let placed = found.iter().zip(middles);
    placed
        .map(|(f, &sample)| Placed {
            sample,
            u: f.placed.u,
        })
        .collect()
}

/// Puts the picks in their new places, but leaves them in the old ones where two new ones would lie closer than
/// picks can.
fn put(found: &mut [Found], placed: Vec<Placed>) {
    let old: Vec<f64> = found.iter().map(|f| f.placed.sample).collect();
    let spacing = |n: usize| spacing_around(old.len(), n, |k| old[k]);
    let mut put = placed;
    for n in 1..put.len() {
        if put[n].sample - put[n - 1].sample < CLOSEST * spacing(n) {
            for k in [n - 1, n] {
                put[k] = Placed {
                    sample: old[k],
                    u: put[k].u.max(UNPLACED_U * spacing(n)),
                };
            }
        }
    }
    for (found, placed) in found.iter_mut().zip(put) {
        found.placed = placed;
    }
}

/// Middles (samples) and phases (picks) of the picks.
pub(super) fn lines(found: &[Found], fit: &Fit) -> (Vec<f64>, Vec<f64>) {
    (
        found.iter().map(|f| f.placed.sample).collect(),
        found
            .iter()
            .map(|f| (fit.offset + f.row as f64 + 0.5).rem_euclid(fit.expected.len() as f64))
            .collect(),
    )
}
