//! Where does the body begin and end between its headers?
//!
//! Header picks are woven with another yarn, often thinner, and dense fringe shows warp alone: their
//! rows show other colours than the body's, whatever their phase. So the *shares of colours* in a row are compared, not their places.
//!
//! # Method
//! 1. Cluster the colours of the middle of the cloth (k-means in Lab).
//! 2. For every row, over about one pick: which share of it falls to each cluster, and how far its
//!    samples lie from the clusters at all.
//!    Where the plan has a header, the colours of the whole cloth are clustered instead, so that the header's own are
//!    among them.
//! 3. How far a row's shares lie from the rows of the middle that are most like it, in units of how far
//!    the middle's own rows lie from one another: stripes of several colours are many kinds of usual
//!    rows. A header is a run from an end of the cloth beyond what the middle ever shows; one that the plan has is
//!    looked for by its likely length as well (`planned_header`).

use ndarray::Array2;

use super::pitch::SAMPLES_A_PICK;
use super::planned_header::PlannedHeader;
use crate::raster::{AT_ONCE, Nearest, relabelled};
use crate::stats::{k_means, quantile};

/// Clusters of colour in the body: warp, one or two wefts, and their shadows.
const CLUSTERS: usize = 6;

/// The same in the body with its headers and some fringe.
const CLUSTERS_IN_ALL: usize = 12;

/// So far beyond the body its headers' colours are looked for where their border is sharpened, picks.
const BEYOND_PICKS: usize = 4;

/// Rounds of k-means.
const ROUNDS: usize = 12;

/// Headers, and fringe that was taken for cloth, take up at most this share of it at each end.
const LONGEST: f64 = 0.33;

/// A row is foreign beyond this many times the middle's 95th percentile distance.
const FOREIGN: f64 = 2.2;

/// The body's first and last sample (fractional borders) between headers; the whole where none is
/// seen. `samples` holds raw Lab, shape (rows along, columns · 3); `cloth` are the borders of the
/// cloth; `planned` is the header that the plan has, if it does.
pub(super) fn body_range(
    samples: &Array2<f32>,
    cloth: (usize, usize),
    planned: Option<PlannedHeader>,
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
    let usual = unusual.usual.max(0.06);
    let over_usual: Vec<f64> = shares.iter().map(|s| unusual.of(s) / usual).collect();
    let longest = (LONGEST * length as f64) as usize;
    let run = |inward: &mut dyn Iterator<Item = f64>| match planned {
        Some(header) => header.run(inward, longest),
        None => foreign_run(inward, longest),
    };
    let start = run(&mut over_usual.iter().copied());
    let end = run(&mut over_usual.iter().rev().copied());
    (from + start, to - end)
}

/// How unlike anything in the body's middle each of `picks` looks by its colours: the distance of its
/// colour shares from the most alike of the picks `core`, over the 95th percentile of such distances
/// among those themselves. `picks` are the first and last sample of each.
pub(crate) fn unusual_colours(
    samples: &Array2<f32>,
    picks: &[(usize, usize)],
    core: std::ops::Range<usize>,
) -> Vec<f64> {
    let kinds = Kinds::of_body(samples, (picks[core.start].0, picks[core.end - 1].1));
    let shares: Vec<Vec<f64>> = picks
        .iter()
        .map(|&(a, b)| {
            let rows: Vec<Vec<f64>> = (a..=b).map(|i| kinds.shares(samples, i)).collect();
            mean_of(rows.iter(), kinds.count())
        })
        .collect();
    let unusual = Novelty::new(shares[core].iter().collect(), 1);
    let usual = unusual.usual.max(0.04);
    shares.iter().map(|s| unusual.of(s) / usual).collect()
}

/// Rows of the middle are compared at every so many samples.
const NOVELTY_STEP: usize = 4;

/// So many of the most alike rows are averaged over.
const ALIKE: usize = 3;

/// How far colour shares lie from all those of the middle.
struct Novelty<'a> {
    known: Vec<&'a Vec<f64>>,
    /// 95th percentile among the known ones themselves.
    usual: f64,
}

impl<'a> Novelty<'a> {
    /// Known shares; neighbours nearer than `apart` entries don't count for one another.
    fn new(known: Vec<&'a Vec<f64>>, apart: usize) -> Self {
        let own: Vec<f64> = (0..known.len())
            .map(|i| {
                let others = known
                    .iter()
                    .enumerate()
                    .filter(|(j, _)| j.abs_diff(i) > apart)
                    .map(|(_, s)| *s);
                nearest_shares(known[i], others)
            })
            .collect();
        Self {
            usual: quantile(&own, 0.95).unwrap_or(0.0),
            known,
        }
    }

    fn of(&self, shares: &[f64]) -> f64 {
        nearest_shares(shares, self.known.iter().copied())
    }
}

/// Mean distance to the [`ALIKE`] most alike of `others`.
fn nearest_shares<'a>(shares: &[f64], others: impl Iterator<Item = &'a Vec<f64>>) -> f64 {
    let mut least = [f64::INFINITY; ALIKE];
    for other in others {
        let d: f64 = shares.iter().zip(other).map(|(a, b)| (a - b).abs()).sum();
        if d < least[ALIKE - 1] {
            least[ALIKE - 1] = d;
            least.sort_by(f64::total_cmp);
        }
    }
    let n = least.iter().filter(|d| d.is_finite()).count().max(1);
    least.iter().filter(|d| d.is_finite()).sum::<f64>() / n as f64
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

/// Length of the run from the front that is unusual: up to where a pick and a half in a
/// row lie within it; 0 unless it is two thirds of a pick long and mostly foreign.
fn foreign_run(over_usual: impl Iterator<Item = f64>, longest: usize) -> usize {
    let (mut end, mut foreign) = (0, 0usize);
    for (k, times) in over_usual.take(longest + 2 * SAMPLES_A_PICK).enumerate() {
        if times > FOREIGN {
            end = k + 1;
            foreign += 1;
        } else if k >= end + SAMPLES_A_PICK * 3 / 2 {
            break;
        }
    }
    let enough = end >= SAMPLES_A_PICK * 2 / 3 && foreign * 10 >= end * 7;
    if enough && end <= longest { end } else { 0 }
}

/// The kinds of colour that rows show.
struct Kinds {
    centres: Vec<[f64; 3]>,
    /// Whether how far a row lies from them all counts as one more.
    beyond: bool,
}

impl Kinds {
    /// Of the rows of the body: what else there is lies beyond them.
    fn of_body(samples: &Array2<f32>, rows: (usize, usize)) -> Self {
        Self {
            centres: clusters(samples, rows, CLUSTERS),
            beyond: true,
        }
    }

    /// Of all rows, with what isn't body.
    fn in_all(samples: &Array2<f32>, rows: (usize, usize)) -> Self {
        Self {
            centres: clusters(samples, rows, CLUSTERS_IN_ALL),
            beyond: false,
        }
    }

    /// How many shares a row has.
    fn count(&self) -> usize {
        self.centres.len() + usize::from(self.beyond)
    }

    /// Share of each kind in a row, and how far the row lies from them all, about 0 to 1, where that counts.
    fn shares(&self, samples: &Array2<f32>, i: usize) -> Vec<f64> {
        let row = samples.row(i);
        let (colours, _) = row.to_slice().unwrap_or_default().as_chunks::<3>();
        let columns = colours.len() as f64;
        let mut shares = vec![0.0; self.count()];
        for some in colours.chunks(AT_ONCE) {
            let found = Nearest::of(some.iter().copied(), &self.centres);
            for (k, gap) in found.own.iter().zip(found.gap).take(some.len()) {
                shares[*k as usize] += 1.0 / columns;
                if self.beyond {
                    shares[self.centres.len()] += (f64::from(gap).sqrt() / 25.0).min(2.0) / columns;
                }
            }
        }
        shares
    }
}

/// Mean of rows of so many shares.
fn mean_of<'a>(rows: impl Iterator<Item = &'a Vec<f64>>, count: usize) -> Vec<f64> {
    let mut mean = vec![0.0; count];
    let mut n = 0.0f64;
    for row in rows {
        mean.iter_mut()
            .zip(row)
            .for_each(|(sum, share)| *sum += share);
        n += 1.0;
    }
    mean.iter_mut().for_each(|sum| *sum /= n.max(1.0));
    mean
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

/// The centres of `n` clusters; k-means from evenly spread lightness quantiles: deterministic.
fn clusters(samples: &Array2<f32>, core: (usize, usize), n: usize) -> Vec<[f64; 3]> {
    let mut colours: Vec<[f64; 3]> = Vec::new();
    for i in (core.0..core.1).step_by(3) {
        let row = samples.row(i);
        let (row, _) = row.to_slice().unwrap_or_default().as_chunks::<3>();
        colours.extend(row.iter().map(|lab| lab.map(f64::from)));
    }
    let relabel = |label: &mut [usize], centres: &[[f64; 3]]| relabelled(label, &colours, centres);
    k_means::<_, 3>(&colours, quantiles(&colours, n), ROUNDS, relabel).0
}

/// Colours at evenly spread quantiles of lightness; of equally light ones the first counts as darker.
fn quantiles(colours: &[[f64; 3]], n: usize) -> Vec<[f64; 3]> {
    let mut order: Vec<usize> = (0..colours.len()).collect();
    let darker = |a: &usize, b: &usize| {
        let lightness = colours[*a][0].total_cmp(&colours[*b][0]);
        lightness.then(a.cmp(b))
    };
    let (mut from, mut colour) = (0, [0.0; 3]);
    (0..n)
        .map(|k| {
            let at = (2 * k + 1) * colours.len() / (2 * n);
            // What lies before `from` is in its place already.
            if (from..colours.len()).contains(&at) {
                let (_, found, _) = order[from..].select_nth_unstable_by(at - from, darker);
                (from, colour) = (at + 1, colours[*found]);
            }
            colour
        })
        .collect()
}
