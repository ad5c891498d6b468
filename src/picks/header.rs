//! Where does the body begin and end between its headers?
//!
//! Header picks are woven with another yarn, often thinner, and dense fringe shows warp alone: their
//! rows show other colours than the body's, whatever their phase. So the *shares of colours* in a row are compared, not
//! their places.
//!
//! # Method
//! 1. For every row, over about one pick: its shares of the kinds of colour that the middle of the cloth shows
//!    (`colour_kinds`). Where the plan has a header, the kinds are those of the whole cloth, so that the header's own
//!    are among them.
//! 2. How unlike anything in the middle a row looks (`novelty`). A header is a run from an end of the cloth beyond what
//!    the middle ever shows; one that the plan has is looked for by its likely length as well (`planned_header`).

use ndarray::Array2;

use super::colour_kinds::{Kinds, mean_of};
use super::cover::Cover;
use super::novelty::Novelty;
use super::pitch::SAMPLES_A_PICK;
use super::planned_header::PlannedHeader;

/// So far beyond the body its headers' colours are looked for where their border is sharpened, picks.
const BEYOND_PICKS: usize = 4;

/// Headers, and fringe that was taken for cloth, take up at most this share of it at each end.
const LONGEST: f64 = 0.33;

/// A row is foreign beyond this many times the middle's 95th percentile distance.
const FOREIGN: f64 = 2.2;

/// A header takes up so much of a pick at least. Where the weft hides the warp, what is shorter is the outermost pick: half
/// of the ends show fringe beside it, where between two picks they show weft.
const LEAST_PICKS: f64 = 0.67;
/// See [`LEAST_PICKS`].
const LEAST_PICKS_WEFT_FACED: f64 = 1.8;

/// Rows of the middle are compared at every so many samples.
const NOVELTY_STEP: usize = 4;

/// The body's first and last sample (fractional borders) between headers; the whole where none is
/// seen. `samples` holds raw Lab, shape (rows along, columns · 3); `cloth` are the borders of the
/// cloth; `planned` is the header that the plan has, if it does, and `cover` says which yarn is seen.
pub(super) fn body_range(
    samples: &Array2<f32>,
    cloth: (usize, usize),
    planned: Option<PlannedHeader>,
    cover: Cover,
) -> (usize, usize) {
    let (from, to) = cloth;
    let length = to - from;
    if length < 8 * SAMPLES_A_PICK {
        return cloth;
    }
    let core = (from + length / 4, to - length / 4);
    let kinds = match planned {
        Some(_) => Kinds::in_all(samples, cloth),
        None => Kinds::of_body(samples, core),
    };
    let shares: Vec<Vec<f64>> = (from..to).map(|i| kinds.shares(samples, i)).collect();
    let shares = running_mean(&shares, SAMPLES_A_PICK);
    let known = (core.0 - from..core.1 - from)
        .step_by(NOVELTY_STEP)
        .map(|i| &shares[i])
        .collect();
    let unusual = Novelty::new(known, 2 * SAMPLES_A_PICK / NOVELTY_STEP);
    let over_usual = unusual.over_usual(&shares, 0.06);
    let longest = (LONGEST * length as f64) as usize;
    let run = |inward: &mut dyn Iterator<Item = f64>| match planned {
        Some(header) => header.run(inward, longest),
        None => foreign_run(inward, least_picks(cover), longest),
    };
    let start = run(&mut over_usual.iter().copied());
    let end = run(&mut over_usual.iter().rev().copied());
    (from + start, to - end)
}

/// The borders between headers and body to a fraction of a sample, at the ends where a header was `seen`; `planned`
/// says whether the plan has one.
pub(super) fn sharpened(
    samples: &Array2<f32>,
    body: (usize, usize),
    seen: (bool, bool),
    planned: bool,
) -> (Option<f64>, Option<f64>) {
    if seen == (false, false) {
        return (None, None);
    }
    let beyond = BEYOND_PICKS * SAMPLES_A_PICK;
    let kinds = if planned {
        let to = (body.1 + beyond).min(samples.dim().0);
        Kinds::in_all(samples, (body.0.saturating_sub(beyond), to))
    } else {
        Kinds::of_body(samples, body)
    };
    let near = |border: usize, inward: i64| sharpened_near(samples, &kinds, border, inward);
    (
        seen.0.then(|| near(body.0, 1)),
        seen.1.then(|| near(body.1, -1)),
    )
}

/// The border near `border`: where the rows' shares of colours change, by least squares. `inward` is +1 at the start of
/// the body, −1 at its finish.
fn sharpened_near(samples: &Array2<f32>, kinds: &Kinds, border: usize, inward: i64) -> f64 {
    let reach = (1.2 * SAMPLES_A_PICK as f64) as i64;
    let shy = SAMPLES_A_PICK as i64 / 4;
    let last = samples.dim().0 as i64 - 1;
    let mut border = border as i64;
    let mut best = border as f64;
    for _ in 0..3 {
        // k counts inward from the border; sample k lies at border + inward · k (less one backwards).
        let at = |k: i64| {
            if inward > 0 {
                border + k
            } else {
                border - 1 - k
            }
        };
        let seen: Vec<Option<Vec<f64>>> = (-reach..reach)
            .map(|k| {
                (0..=last)
                    .contains(&at(k))
                    .then(|| kinds.shares(samples, at(k) as usize))
            })
            .collect();
        let mean = |from: i64, to: i64| {
            let rows = (from..to).filter_map(|k| seen[(k + reach) as usize].as_ref());
            mean_of(rows, kinds.count())
        };
        let (header, cloth) = (mean(-reach, -shy), mean(shy, reach));
        let length: f64 = header
            .iter()
            .zip(&cloth)
            .map(|(h, b)| (b - h).powi(2))
            .sum();
        if length < 1e-6 {
            return best;
        }
        let q: Vec<f64> = seen
            .iter()
            .map(|row| {
                row.as_ref().map_or(0.0, |row| {
                    (0..kinds.count())
                        .map(|c| (row[c] - header[c]) * (cloth[c] - header[c]))
                        .sum::<f64>()
                        / length
                })
            })
            .collect();
        // Least squares of a step from 0 to 1: the step lies where the sum of (½ − q) turns.
        let mut sum = 0.0;
        let mut top = (f64::INFINITY, 0i64);
        for (k, value) in q.iter().enumerate() {
            if sum < top.0 {
                top = (sum, k as i64 - reach);
            }
            sum += value - 0.5;
        }
        let moved = if inward > 0 {
            border + top.1
        } else {
            border - top.1
        };
        best = moved as f64;
        if moved == border {
            break;
        }
        border = moved;
    }
    best
}

/// Fewest picks that a header which no plan names takes up.
fn least_picks(cover: Cover) -> f64 {
    match cover {
        Cover::Weft => LEAST_PICKS_WEFT_FACED,
        Cover::Both | Cover::Warp => LEAST_PICKS,
    }
}

/// Length of the run from the front that is unusual: up to where a pick and a half in a
/// row lie within it; 0 unless it is so many picks long and mostly foreign.
fn foreign_run(over_usual: impl Iterator<Item = f64>, least_picks: f64, longest: usize) -> usize {
    let (mut end, mut foreign) = (0, 0usize);
    for (k, times) in over_usual.take(longest + 2 * SAMPLES_A_PICK).enumerate() {
        if times > FOREIGN {
            end = k + 1;
            foreign += 1;
        } else if k >= end + SAMPLES_A_PICK * 3 / 2 {
            break;
        }
    }
    let enough = end as f64 >= least_picks * SAMPLES_A_PICK as f64 && foreign * 10 >= end * 7;
    if enough && end <= longest { end } else { 0 }
}

/// Centred running mean of `window` rows.
fn running_mean(rows: &[Vec<f64>], window: usize) -> Vec<Vec<f64>> {
    let half = window / 2;
    (0..rows.len())
        .map(|i| {
            let (a, b) = (i.saturating_sub(half), (i + half).min(rows.len() - 1));
            mean_of(rows[a..=b].iter(), rows[i].len())
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Foreign for so many picks, then as the middle.
    fn run(picks: f64, cover: Cover) -> usize {
        let foreign = (picks * SAMPLES_A_PICK as f64) as usize;
        let over_usual = (0..20 * SAMPLES_A_PICK).map(|k| if k < foreign { 3.0 } else { 0.5 });
        foreign_run(over_usual, least_picks(cover), 10 * SAMPLES_A_PICK)
    }

    #[test]
    fn one_odd_pick_is_a_header_unless_the_weft_hides_the_warp() {
        assert_eq!(run(1.0, Cover::Both), SAMPLES_A_PICK);
        assert_eq!(run(1.0, Cover::Weft), 0);
        assert_eq!(run(3.0, Cover::Weft), 3 * SAMPLES_A_PICK);
        assert_eq!(run(0.5, Cover::Both), 0);
    }
}
