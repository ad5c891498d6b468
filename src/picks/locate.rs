//! From phases to picks: the middle of every pick of the body, and how many there are.
//!
//! # Method
//! 1. Where the followed phase passes a row's middle there is a pick, as far as the body goes (`body_picks`).
//! 2. Each is placed exactly, the repeat folded again along the places, a few times over.

use super::body_picks::of_the_body;
use super::cloth::Cloth;
use super::count_doubt::CountSigns;
use super::phase::Phases;
use super::place::{FIRST_STEPS, Placed, Placing, STEPS, fold_along, spacing_around};
use super::rows::Fit;
use super::seen_ends::SeenEnd;

/// Rounds of placing the picks and folding the repeat along them.
const PLACING_ROUNDS: usize = 3;

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
    let mut template = phases.template_of(&cloth.samples, cloth.body);
    for round in 1..=PLACING_ROUNDS {
        let (middles, row_phases) = lines(&found, fit);
        template = fold_along(&cloth.samples, &middles, &row_phases, &template);
        let placing = Placing {
            samples: &cloth.samples,
            bounds: cloth.inside(),
            template: &template,
            middles: &middles,
            phases: &row_phases,
        };
        let steps = if round < PLACING_ROUNDS {
            FIRST_STEPS
        } else {
            STEPS
        };
        let placed = in_order(&found, placing.run(steps, |_| true));
        for (f, placed) in found.iter_mut().zip(placed) {
            f.placed = placed;
        }
    }
    let (middles, row_phases) = lines(&found, fit);
    let placing = Placing {
        samples: &cloth.samples,
        bounds: cloth.inside(),
        template: &template,
        middles: &middles,
        phases: &row_phases,
    };
    let columns = cloth.samples.dim().1 / 3;
    let blocks = fit.expected[0].len().div_ceil(2).max(2);
    let halves = [0, 1].map(|half| placing.run(STEPS, |j| (j * blocks / columns) % 2 == half));
    Located {
        picks: found,
        halves,
        signs,
    }
}

/// The new places, but the old ones where two new ones would lie closer than picks can.
fn in_order(found: &[Found], mut placed: Vec<Placed>) -> Vec<Placed> {
    for n in 1..placed.len() {
        let spacing = spacing_around(found.len(), n, |k| found[k].placed.sample);
        if placed[n].sample - placed[n - 1].sample < CLOSEST * spacing {
            for k in [n - 1, n] {
                placed[k] = Placed {
                    sample: found[k].placed.sample,
                    u: placed[k].u.max(UNPLACED_U * spacing),
                };
            }
        }
    }
    placed
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
