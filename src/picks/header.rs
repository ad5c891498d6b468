//! Where does the body begin and end between its headers?
//!
//! Header picks are woven with another yarn, often thinner, and dense fringe shows warp alone: their
//! rows show other colours than the body's, whatever their phase. So the *shares of colours* in a row are compared, not their places.
//!
//! # Method
//! 1. Cluster the colours of the middle of the cloth (k-means in Lab).
//! 2. For every row, over about one pick: which share of it falls to each cluster, and how far its
//!    samples lie from the clusters at all.
//! 3. How far a row's shares lie from the rows of the middle that are most like it, in units of how far
//!    the middle's own rows lie from one another: stripes of several colours are many kinds of usual
//!    rows. A header is a run from an end of the cloth beyond what the middle ever shows.

use ndarray::Array2;

use super::pitch::SAMPLES_A_PICK;
use crate::raster::{AT_ONCE, Nearest, relabelled};
use crate::stats::{k_means, quantile};

/// Clusters of colour in the body: warp, one or two wefts, and their shadows.
const CLUSTERS: usize = 6;

/// Rounds of k-means.
const ROUNDS: usize = 12;

/// Headers, and fringe that was taken for cloth, take up at most this share of it at each end.
const LONGEST: f64 = 0.33;

/// A row is foreign beyond this many times the middle's 95th percentile distance.
const FOREIGN: f64 = 2.2;

/// The body's first and last sample (fractional borders) between headers; the whole where none is
/// seen. `samples` holds raw Lab, shape (rows along, columns · 3); `cloth` are the borders of the
/// cloth.
pub(crate) fn body_range(samples: &Array2<f32>, cloth: (usize, usize)) -> (usize, usize) {
    let (from, to) = cloth;
    let length = to - from;
    if length < 8 * SAMPLES_A_PICK {
        return cloth;
    }
    let core = (from + length / 4, to - length / 4);
    let centres = clusters(samples, core);
    let shares: Vec<Vec<f64>> = (from..to)
        .map(|i| row_shares(samples, i, &centres))
        .collect();
    let shares = running_mean(&shares, SAMPLES_A_PICK);
    let known = (core.0 - from..core.1 - from)
        .step_by(NOVELTY_STEP)
        .map(|i| &shares[i])
        .collect();
    let unusual = Novelty::new(known, 2 * SAMPLES_A_PICK / NOVELTY_STEP);
    let limit = FOREIGN * unusual.usual.max(0.06);
    let d: Vec<f64> = shares.iter().map(|s| unusual.of(s)).collect();
    let longest = (LONGEST * length as f64) as usize;
    let start = foreign_run(d.iter().copied(), limit, longest);
    let end = foreign_run(d.iter().rev().copied(), limit, longest);
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
    let centres = clusters(samples, (picks[core.start].0, picks[core.end - 1].1));
    let shares: Vec<Vec<f64>> = picks
        .iter()
        .map(|&(a, b)| {
            let rows: Vec<Vec<f64>> = (a..=b).map(|i| row_shares(samples, i, &centres)).collect();
            (0..=CLUSTERS)
                .map(|c| rows.iter().map(|r| r[c]).sum::<f64>() / rows.len().max(1) as f64)
                .collect()
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

/// The border between header and body near `border`, to a fraction of a sample: where the rows'
/// shares of colours change, by least squares. `inward` is +1 at the start of the body, −1 at its
/// finish.
pub(crate) fn sharpen(
    samples: &Array2<f32>,
    body: (usize, usize),
    border: usize,
    inward: i64,
) -> f64 {
    let centres = clusters(samples, body);
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
                    .then(|| row_shares(samples, at(k) as usize, &centres))
            })
            .collect();
        let mean = |from: i64, to: i64| {
            let rows: Vec<&Vec<f64>> = (from..to)
                .filter_map(|k| seen[(k + reach) as usize].as_ref())
                .collect();
            (0..=CLUSTERS)
                .map(|c| rows.iter().map(|r| r[c]).sum::<f64>() / rows.len().max(1) as f64)
                .collect::<Vec<f64>>()
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
                    (0..=CLUSTERS)
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

/// Length of the run from the front that lies beyond the limit: up to where a pick and a half in a
/// row lie within it; 0 unless it is two thirds of a pick long and mostly foreign.
fn foreign_run(distances: impl Iterator<Item = f64>, limit: f64, longest: usize) -> usize {
    let (mut end, mut foreign) = (0, 0usize);
    for (k, d) in distances.take(longest + 2 * SAMPLES_A_PICK).enumerate() {
        if d > limit {
            end = k + 1;
            foreign += 1;
        } else if k >= end + SAMPLES_A_PICK * 3 / 2 {
            break;
        }
    }
    let enough = end >= SAMPLES_A_PICK * 2 / 3 && foreign * 10 >= end * 7;
    if enough && end <= longest { end } else { 0 }
}

/// Share of each cluster in a row, and (last) how far the row lies from them all, about 0 to 1.
fn row_shares(samples: &Array2<f32>, i: usize, centres: &[[f64; 3]]) -> Vec<f64> {
    let row = samples.row(i);
    let (colours, _) = row.to_slice().unwrap_or_default().as_chunks::<3>();
    let columns = colours.len() as f64;
    let mut shares = vec![0.0; CLUSTERS + 1];
    for some in colours.chunks(AT_ONCE) {
        let found = Nearest::of(some.iter().copied(), centres);
        for (k, gap) in found.own.iter().zip(found.gap).take(some.len()) {
            shares[*k as usize] += 1.0 / columns;
            shares[CLUSTERS] += (f64::from(gap).sqrt() / 25.0).min(2.0) / columns;
        }
    }
    shares
}

/// Centred running mean of `window` rows.
fn running_mean(rows: &[Vec<f64>], window: usize) -> Vec<Vec<f64>> {
    let half = window / 2;
    (0..rows.len())
        .map(|i| {
            let (a, b) = (i.saturating_sub(half), (i + half).min(rows.len() - 1));
            (0..rows[i].len())
                .map(|c| rows[a..=b].iter().map(|r| r[c]).sum::<f64>() / (b + 1 - a) as f64)
                .collect()
        })
        .collect()
}

/// k-means from evenly spread lightness quantiles: deterministic.
fn clusters(samples: &Array2<f32>, core: (usize, usize)) -> Vec<[f64; 3]> {
    let mut colours: Vec<[f64; 3]> = Vec::new();
    for i in (core.0..core.1).step_by(3) {
        let row = samples.row(i);
        let (row, _) = row.to_slice().unwrap_or_default().as_chunks::<3>();
        colours.extend(row.iter().map(|lab| lab.map(f64::from)));
    }
    let relabel = |label: &mut [usize], centres: &[[f64; 3]]| relabelled(label, &colours, centres);
    k_means::<_, 3>(&colours, quantiles(&colours), ROUNDS, relabel).0
}

/// Colours at evenly spread quantiles of lightness; of equally light ones the first counts as darker.
fn quantiles(colours: &[[f64; 3]]) -> Vec<[f64; 3]> {
    let mut order: Vec<usize> = (0..colours.len()).collect();
    let darker = |a: &usize, b: &usize| {
        let lightness = colours[*a][0].total_cmp(&colours[*b][0]);
        lightness.then(a.cmp(b))
    };
    let (mut from, mut colour) = (0, [0.0; 3]);
    (0..CLUSTERS)
        .map(|k| {
            let at = (2 * k + 1) * colours.len() / (2 * CLUSTERS);
            // What lies before `from` is in its place already.
            if (from..colours.len()).contains(&at) {
                let (_, found, _) = order[from..].select_nth_unstable_by(at - from, darker);
                (from, colour) = (at + 1, colours[*found]);
            }
            colour
        })
        .collect()
}
