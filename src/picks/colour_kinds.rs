//! Which kinds of colour does a row show, and how much of each?
//!
//! # Method
//! The colours of some rows are clustered (k-means in Lab). Of a row's samples each falls to the nearest cluster: the
//! shares of the clusters say what the row shows, wherever in it. Where only the body's rows were clustered, how far a
//! row's samples lie from all clusters counts as one share more.

use ndarray::Array2;

use crate::raster::{AT_ONCE, Nearest, relabelled};
use crate::stats::k_means;

/// Clusters of colour in the body: warp, one or two wefts, and their shadows.
const CLUSTERS: usize = 6;

/// The same in the body with its headers and some fringe.
const CLUSTERS_IN_ALL: usize = 12;

/// Rounds of k-means.
const ROUNDS: usize = 12;

/// The kinds of colour that rows show.
pub(super) struct Kinds {
    centres: Vec<[f64; 3]>,
    /// Whether how far a row lies from them all counts as one more.
    beyond: bool,
}

impl Kinds {
    /// Of the rows of the body: what else there is lies beyond them.
    pub(super) fn of_body(samples: &Array2<f32>, rows: (usize, usize)) -> Self {
        Self {
            centres: clusters(samples, rows, CLUSTERS),
            beyond: true,
        }
    }

    /// Of all rows, with what isn't body.
    pub(super) fn in_all(samples: &Array2<f32>, rows: (usize, usize)) -> Self {
        Self {
            centres: clusters(samples, rows, CLUSTERS_IN_ALL),
            beyond: false,
        }
    }

    /// How many shares a row has.
    pub(super) fn count(&self) -> usize {
        self.centres.len() + usize::from(self.beyond)
    }

    /// Share of each kind in a row, and how far the row lies from them all, about 0 to 1, where that counts.
    pub(super) fn shares(&self, samples: &Array2<f32>, i: usize) -> Vec<f64> {
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
pub(super) fn mean_of<'a>(rows: impl Iterator<Item = &'a Vec<f64>>, count: usize) -> Vec<f64> {
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
