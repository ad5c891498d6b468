//! Kinds of ground: clusters of cells, each a normal distribution of colour and roughness.

use nalgebra::{SMatrix, SVector};

use crate::stats::{k_means, told_anew};

/// Kinds of ground told apart: a cutting mat has two (mat, lines), wood up to four.
pub(super) const CLUSTERS: usize = 4;

/// Rounds of k-means.
const ROUNDS: usize = 20;

/// L*, a*, b* and roughness.
pub(super) type V4 = SVector<f64, 4>;
type M4 = SMatrix<f64, 4, 4>;

/// One kind of ground.
#[derive(Debug)]
pub(super) struct Kind {
    mean: [f64; 4],
    inverse: [[f64; 4]; 4],
}

impl Kind {
    /// Squared Mahalanobis distance. Every cell asks every kind.
    pub(super) fn distance(&self, v: &V4) -> f64 {
        let (m, mean) = (&self.inverse, &self.mean);
        let d = [v.x - mean[0], v.y - mean[1], v.z - mean[2], v.w - mean[3]];
        // The inverse is as good as symmetric: what lies off its diagonal counts twice.
        let aside = |i: usize| (i + 1..4).map(|j| m[i][j] * d[j]).sum::<f64>();
        (0..4)
            .map(|i| d[i] * (m[i][i] * d[i] + 2.0 * aside(i)))
            .sum()
    }
}

/// The least squared distance to one of the kinds.
pub(super) fn least_distance(kinds: &[Kind], v: &V4) -> f32 {
    kinds
        .iter()
        .map(|k| k.distance(v))
        .fold(f64::INFINITY, f64::min) as f32
}

/// k-means: the centres, and which of them each point belongs to.
pub(super) fn clusters(points: &[V4]) -> (Vec<V4>, Vec<usize>) {
    k_means::<_, 4>(points, first_centres(points), ROUNDS, |label, centres| {
        told_anew(label, points, |p| nearest(centres, p))
    })
}

/// Share of the points that belong to a cluster.
pub(super) fn share(label: &[usize], k: usize) -> f64 {
    label.iter().filter(|l| **l == k).count() as f64 / label.len().max(1) as f64
}

/// The kind of a cluster's points.
pub(super) fn kind_of(points: &[V4], label: &[usize], k: usize, mean: V4) -> Kind {
    let own = points.iter().zip(label).filter(|(_, l)| **l == k);
    kind_around(own.map(|(p, _)| p), mean)
}

/// The kind of cells that are all of one ground.
pub(super) fn kind_from(points: &[V4]) -> Kind {
    let mean = points.iter().sum::<V4>() / points.len().max(1) as f64;
    kind_around(points.iter(), mean)
}

fn kind_around<'a>(points: impl Iterator<Item = &'a V4>, mean: V4) -> Kind {
    let mut covariance = M4::zeros();
    let mut n = 0.0;
    for p in points {
        let d = p - mean;
        covariance += d * d.transpose();
        n += 1.0;
    }
    // A floor for what the rim doesn't show: paper is never quite one colour.
    covariance = covariance / f64::max(n, 1.0) + M4::from_diagonal(&V4::new(1.5, 0.6, 0.6, 0.3));
    let inverse = covariance.try_inverse().unwrap_or_else(M4::identity);
    Kind {
        mean: mean.into(),
        inverse: inverse.transpose().into(),
    }
}

/// Starts far apart from each other: the mean, then always the point farthest from those taken.
fn first_centres(points: &[V4]) -> Vec<V4> {
    let mean = points.iter().sum::<V4>() / points.len() as f64;
    let mut centres = vec![mean];
    while centres.len() < CLUSTERS {
        let gap = |p: &V4| {
            centres
                .iter()
                .map(|c| (p - c).norm_squared())
                .fold(f64::INFINITY, f64::min)
        };
        let Some(far) = points.iter().max_by(|a, b| gap(a).total_cmp(&gap(b))) else {
            break;
        };
        centres.push(*far);
    }
    centres
}

fn nearest(centres: &[V4], p: &V4) -> usize {
    let mut best = (0, f64::INFINITY);
    for (k, centre) in centres.iter().enumerate() {
        let gap = (p - centre).norm_squared();
        if gap < best.1 {
            best = (k, gap);
        }
    }
    best.0
}
