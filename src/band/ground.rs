//! What does the ground look like, and how unlike it is each cell?
//!
//! # Method
//! 1. The picture's rim (or the searched region's) is taken as ground.
//! 2. Its lightness gets a robust quadratic trend, which is taken out everywhere: lamps and
//!    windows light one side more.
//! 3. The rim falls into up to four kinds (paper and printed lines, light and dark wood).
//!    A kind seen in one place of the rim only, or on two of its sides, is no ground: it is
//!    fringe, or the band running out.
//! 4. Each cell's unlikeness is its least Mahalanobis distance to a kind.

use std::collections::BTreeMap;

use nalgebra::{SMatrix, SVector};
use rayon::prelude::*;

use super::cells::Cells;
use super::ground_kind::{Kind, V4, clusters, kind_of, least_distance, share};
use super::plain_ground::PlainGround;
use super::searched::Searched;

/// Smallest share of the rim that makes a kind of ground.
const LEAST_SHARE: f64 = 0.03;
/// Most cells of the rim that the ground is learned from, spread over it evenly: neighbours are alike.
const MOST_LEARNED: usize = 3000;
/// Stretches that the rim is cut into to see whether a kind is spread over it.
const SECTORS: usize = 32;
/// Share of the stretches that a kind must be seen in.
const SPREAD: f64 = 0.25;

/// Unlikeness to the ground of every cell, squared Mahalanobis distance; cells that aren't
/// searched get 0.
pub(super) fn unlikeness(cells: &Cells, searched: &Searched) -> Vec<f32> {
    let count = cells.features.len();
    let main = PlainGround::read(cells, searched).map_or_else(
        || {
            let own = |i: usize| searched.inside[i] && searched.ground[i] == searched.main;
            let inside: Vec<bool> = (0..count).map(own).collect();
            Main::Learned(main_ground(cells, &inside))
        },
        Main::Plain,
    );
    let others = other_grounds(cells, searched);
    (0..count)
        .into_par_iter()
        .map(|i| {
            if !searched.inside[i] {
                return 0.0;
            }
            let ground = searched.ground[i];
            let bare: V4 = cells.features[i].map(f64::from).into();
            if ground == searched.main {
                return match &main {
                    Main::Plain(plain) => plain.unlikeness(&bare, searched.place(i).x),
                    Main::Learned(learned) => learned.unlikeness(cells, i),
                };
            }
            others
                .iter()
                .find(|(number, _)| *number == ground)
                .map_or(0.0, |(_, kinds)| least_distance(kinds, &bare))
        })
        .collect()
}

/// The main ground, however it is known.
enum Main {
    /// A sheet's own.
    Plain(PlainGround),
    /// Any other, from the picture.
    Learned(MainGround),
}

/// The main ground, from the rim of the searched cells.
struct MainGround {
    trend: Trend,
    kinds: Vec<Kind>,
}

fn main_ground(cells: &Cells, inside: &[bool]) -> MainGround {
    let rim = rim_cells(cells, inside);
    let every = rim.len().div_ceil(MOST_LEARNED).max(1);
    let rim: Vec<usize> = rim.into_iter().step_by(every).collect();
    let trend = lightness_trend(cells, &rim);
    let points: Vec<V4> = rim.iter().map(|&i| trend.without(cells, i)).collect();
    let kinds = kinds_of(&points, &sides_of(cells, &rim));
    MainGround { trend, kinds }
}

impl MainGround {
    fn unlikeness(&self, cells: &Cells, i: usize) -> f32 {
        least_distance(&self.kinds, &self.trend.without(cells, i))
    }
}

/// The kinds of every ground but the main one, from the cells along the room's long sides.
fn other_grounds(cells: &Cells, searched: &Searched) -> Vec<(u8, Vec<Kind>)> {
    let mut by_ground: BTreeMap<u8, Vec<V4>> = BTreeMap::new();
    for (i, feature) in cells.features.iter().enumerate() {
        if searched.inside[i] && searched.flank[i] && searched.ground[i] != searched.main {
            let here = by_ground.entry(searched.ground[i]).or_default();
            here.push(feature.map(f64::from).into());
        }
    }
    by_ground
        .into_iter()
        .map(|(ground, points)| {
            let (centres, label) = clusters(&points);
            let kept = (0..centres.len()).filter(|&k| share(&label, k) >= LEAST_SHARE);
            let kinds = kept.map(|k| kind_of(&points, &label, k, centres[k]));
            (ground, kinds.collect())
        })
        .collect()
}

/// The cells along the rim of `inside`, in order around it.
fn rim_cells(cells: &Cells, inside: &[bool]) -> Vec<usize> {
    let (w, h) = (cells.width, cells.height);
    let at = |x: usize, y: usize| inside[y * w + x];
    let depth = (3.0 / cells.size_mm).round().max(2.0) as usize;
    let mut rim = Vec::new();
    let (mut sx, mut sy, mut n) = (0.0, 0.0, 0.0);
    for y in 0..h {
        for x in 0..w {
            if !at(x, y) {
                continue;
            }
            sx += x as f64;
            sy += y as f64;
            n += 1.0;
            let near = x < depth
                || y < depth
                || x + depth >= w
                || y + depth >= h
                || !at(x - depth, y)
                || !at(x + depth, y)
                || !at(x, y - depth)
                || !at(x, y + depth);
            if near {
                rim.push(y * w + x);
            }
        }
    }
    let (cx, cy) = (sx / f64::max(n, 1.0), sy / f64::max(n, 1.0));
    let angle = |i: usize| ((i / w) as f64 - cy).atan2((i % w) as f64 - cx);
    let mut in_order: Vec<(f64, usize)> = rim.into_iter().map(|i| (angle(i), i)).collect();
    in_order.sort_by(|a, b| a.0.total_cmp(&b.0));
    in_order.into_iter().map(|(_, i)| i).collect()
}

/// The side of the rim that each of its cells lies on: left, right, top, bottom.
fn sides_of(cells: &Cells, rim: &[usize]) -> Vec<u8> {
    let at = |i: usize| (i % cells.width, i / cells.width);
    let (mut lo, mut hi) = ((usize::MAX, usize::MAX), (0, 0));
    for &i in rim {
        let (x, y) = at(i);
        lo = (lo.0.min(x), lo.1.min(y));
        hi = (hi.0.max(x), hi.1.max(y));
    }
    rim.iter()
        .map(|&i| {
            let (x, y) = at(i);
            let gaps = [x - lo.0, hi.0 - x, y - lo.1, hi.1 - y];
            (0..4_u8).min_by_key(|&k| gaps[usize::from(k)]).unwrap_or(0)
        })
        .collect()
}

/// A quadratic surface of lightness over the picture.
#[derive(Debug)]
struct Trend([f64; 6]);

impl Trend {
    fn terms(cells: &Cells, i: usize) -> [f64; 6] {
        let x = 2.0 * (i % cells.width) as f64 / cells.width as f64 - 1.0;
        let y = 2.0 * (i / cells.width) as f64 / cells.height as f64 - 1.0;
        [1.0, x, y, x * x, x * y, y * y]
    }

    /// A cell's features with the trend taken out.
    fn without(&self, cells: &Cells, i: usize) -> V4 {
        let f = cells.features[i].map(f64::from);
        V4::new(f[0] - self.at(cells, i), f[1], f[2], f[3])
    }

    /// The trend at a cell, without its constant.
    fn at(&self, cells: &Cells, i: usize) -> f64 {
        let t = Self::terms(cells, i);
        (1..6).map(|k| self.0[k] * t[k]).sum()
    }
}

fn lightness_trend(cells: &Cells, rim: &[usize]) -> Trend {
    let mut weights = vec![1.0; rim.len()];
    let mut trend = Trend([0.0; 6]);
    for _ in 0..8 {
        let mut a = SMatrix::<f64, 6, 6>::identity() * 1e-3;
        let mut b = SVector::<f64, 6>::zeros();
        for (&i, &w) in rim.iter().zip(&weights) {
            let t = SVector::<f64, 6>::from(Trend::terms(cells, i));
            a += w * t * t.transpose();
            b += w * t * f64::from(cells.features[i][0]);
        }
        let Some(inverse) = a.try_inverse() else {
            break;
        };
        trend = Trend((inverse * b).into());
        let residual = |i: usize| f64::from(cells.features[i][0]) - trend.at(cells, i) - trend.0[0];
        let mut sizes: Vec<f64> = rim.iter().map(|&i| residual(i).abs()).collect();
        if sizes.is_empty() {
            break;
        }
        let middle = sizes.len() / 2;
        sizes.select_nth_unstable_by(middle, f64::total_cmp);
        let scale = 2.5 * (1.4826 * sizes[middle]).max(0.5);
        for (w, &i) in weights.iter_mut().zip(rim) {
            let r = residual(i) / scale;
            *w = if r.abs() < 1.0 {
                (1.0 - r * r).powi(2)
            } else {
                0.0
            };
        }
    }
    trend
}

/// Splits the rim into kinds: k-means, then those kinds that are spread over the rim.
fn kinds_of(points: &[V4], sides: &[u8]) -> Vec<Kind> {
    if points.is_empty() {
        return Vec::new();
    }
    let (centres, label) = clusters(points);
    let spread = |k: usize| {
        let hit = (0..SECTORS).filter(|s| {
            let range = s * points.len() / SECTORS..(s + 1) * points.len() / SECTORS;
            let n = range.len();
            range.filter(|&i| label[i] == k).count() * 50 > n
        });
        hit.count() as f64 / SECTORS as f64
    };
    // Fringe and a band that runs out show on two sides of the picture, ground on three or more.
    let seen_on = |k: usize| {
        let hit = (0..4_u8).filter(|&side| {
            let of_side = (0..points.len()).filter(|&i| sides[i] == side);
            let (mut own, mut all) = (0, 0);
            for i in of_side {
                all += 1;
                own += usize::from(label[i] == k);
            }
            own * 50 > all
        });
        hit.count()
    };
    let mut kept: Vec<usize> = (0..centres.len())
        .filter(|&k| share(&label, k) >= LEAST_SHARE && spread(k) >= SPREAD && seen_on(k) >= 3)
        .collect();
    if kept.is_empty() {
        kept = (0..centres.len()).collect();
        kept.sort_by(|a, b| spread(*b).total_cmp(&spread(*a)));
        kept.truncate(1);
    }
    kept.iter()
        .map(|&k| kind_of(points, &label, k, centres[k]))
        .collect()
}
