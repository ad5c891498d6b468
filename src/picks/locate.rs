//! From phases to picks: the middle of every pick of the body, and how many there are.
//!
//! # Method
//! 1. Where the followed phase passes a row's middle, there is a pick.
//! 2. Picks are added or dropped at the ends until they fill the body (see `count`).
//! 3. Each is placed exactly, the repeat folded again along the places, a few times over.

use ndarray::Array2;

use super::cloth::Cloth;
use super::count::{Ends, settle};
use super::phase::{Phases, STATES_A_PICK};
use super::place::{Placed, Placing, fold_along};
use super::rows::Fit;

/// Rounds of placing the picks and folding the repeat along them.
const PLACING_ROUNDS: usize = 3;

/// One pick that was found.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Found {
    /// Row of the picture's repeat, from 0.
    pub(crate) row: usize,
    pub(crate) placed: Placed,
}

/// The picks and the repeat as folded along them.
pub(crate) struct Located {
    pub(crate) picks: Vec<Found>,
    pub(crate) template: Array2<f32>,
    pub(crate) halves: [Vec<Placed>; 2],
    pub(crate) confidence: f64,
}

impl Located {
    /// Samples a pick around pick `n`.
    pub(crate) fn spacing(&self, n: usize) -> f64 {
        let last = self.picks.len() - 1;
        let (a, b) = (n.saturating_sub(1), (n + 1).min(last));
        (self.picks[b].placed.sample - self.picks[a].placed.sample) / (b - a).max(1) as f64
    }
}

/// Finds the samples of all picks inside the body and refines them.
pub(crate) fn locate(
    cloth: &Cloth,
    phases: &Phases,
    fit: &Fit,
    doubts: (f64, f64, f64),
) -> Located {
    let rows = fit.expected.len();
    let first = (phases.picks[0] - fit.offset - 0.5).ceil() as i64;
    let last = (phases.picks[phases.picks.len() - 1] - fit.offset - 0.5).floor() as i64;
    let mut found: Vec<Found> = (first..=last)
        .map(|m| {
            let sample = crossing(&phases.picks, fit.offset + m as f64 + 0.5);
            let state =
                phases.states[(sample.round().max(0.0) as usize).min(phases.states.len() - 1)];
            let row = (state as f64 / STATES_A_PICK as f64 - fit.offset - 0.5).round() as i64;
            let row = usize::try_from(row.rem_euclid(rows as i64)).unwrap_or(0);
            Found {
                row,
                placed: Placed { sample, u: 1.0 },
            }
        })
        .collect();
    let body = cloth.edges;
    found.retain(|f| f.placed.sample > body.0 && f.placed.sample < body.1);
    let confidence = complete(&mut found, body, rows, doubts);
    let mut template = phases.template.clone();
    for _ in 0..PLACING_ROUNDS {
        let (middles, row_phases) = lines(&found, fit);
        template = fold_along(&cloth.samples, &middles, &row_phases, &template);
        let placing = Placing {
            samples: &cloth.samples,
            bounds: cloth.inside(),
            template: &template,
            middles: &middles,
            phases: &row_phases,
        };
        for (f, placed) in found.iter_mut().zip(placing.run(|_| true)) {
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
    let halves = [0, 1].map(|half| placing.run(|j| (j * blocks / columns) % 2 == half));
    Located {
        picks: found,
        template,
        halves,
        confidence,
    }
}

/// Middles (samples) and phases (picks) of the picks.
fn lines(found: &[Found], fit: &Fit) -> (Vec<f64>, Vec<f64>) {
    (
        found.iter().map(|f| f.placed.sample).collect(),
        found
            .iter()
            .map(|f| (fit.offset + f.row as f64 + 0.5).rem_euclid(fit.expected.len() as f64))
            .collect(),
    )
}

/// Adds and drops picks at the ends until they fill the body; how sure the count is, 0 to 1.
fn complete(
    found: &mut Vec<Found>,
    (from, to): (f64, f64),
    rows: usize,
    doubts: (f64, f64, f64),
) -> f64 {
    if found.len() < 6 {
        return 0.0;
    }
    let gap = |a: usize, b: usize, found: &[Found]| {
        (found[b].placed.sample - found[a].placed.sample) / (b - a) as f64
    };
    let n = found.len();
    let (gap_start, gap_finish) = (gap(1, 4, found), gap(n - 5, n - 2, found));
    let settled = settle(Ends {
        start: (found[0].placed.sample - from) / gap_start,
        finish: (to - found[n - 1].placed.sample) / gap_finish,
        start_u: doubts.0,
        finish_u: doubts.1,
        share_u: doubts.2,
    });
    for _ in 0..settled.start {
        let mut next = found[0];
        next.placed.sample -= gap_start;
        next.row = (next.row + rows - 1) % rows;
        found.insert(0, next);
    }
    for _ in 0..settled.finish {
        let mut next = found[found.len() - 1];
        next.placed.sample += gap_finish;
        next.row = (next.row + 1) % rows;
        found.push(next);
    }
    for _ in settled.start..0 {
        found.remove(0);
    }
    for _ in settled.finish..0 {
        found.pop();
    }
    settled.confidence
}

/// The fractional sample at which the unwrapped phase reaches `phase`: middle of the samples that
/// stand there.
fn crossing(picks: &[f64], phase: f64) -> f64 {
    let above = picks.partition_point(|v| *v < phase);
    if above == 0 || above >= picks.len() {
        return above as f64;
    }
    let (a, b) = (picks[above - 1], picks[above]);
    above as f64 - 1.0 + if b > a { (phase - a) / (b - a) } else { 0.5 }
}
